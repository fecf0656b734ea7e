package export

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"

	"gearleaf/export/parquet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// Origin is the metadata of a Parquet file about the origin of its rows.
type Origin struct {
	Format  string // "gearleaf sweep"
	Program string // the version of the program
	Sheet   string // the worksheet's file
	Title   string
	Sum     string // the SHA-256 of all files that the worksheet reads
	Set     string // SetText of the worksheet
	More    [][2]string
}

// metaPrefix begins the names of the metadata of a file.
const metaPrefix = "gearleaf."

// columnMeta is the metadata of a column: pairs in each of its chunks, and JSON
// in the list of columns in the file's metadata, which more readers support.
type columnMeta struct {
	Name  string `json:"name"`
	Unit  string `json:"unit,omitempty"`
	Kind  string `json:"kind"`
	Role  string `json:"role,omitempty"`
	Label string `json:"label,omitempty"`
}

func (m columnMeta) pairs() []parquet.Pair {
	out := []parquet.Pair{}
	for _, p := range []parquet.Pair{{Key: "unit", Value: m.Unit}, {Key: "kind", Value: m.Kind}, {Key: "role", Value: m.Role}, {Key: "label", Value: m.Label}} {
		if p.Value != "" {
			out = append(out, p)
		}
	}
	return out
}

// kindNames are the kinds of numbers.
var kindNames = map[unit.Kind]string{
	unit.Plain: "plain", unit.Absolute: "absolute", unit.Relative: "relative", unit.ByVolume: "by volume", unit.ByMass: "by mass",
}

// fieldIn returns the field of numbers in u.
func fieldIn(name string, u unit.Unit) Field {
	return Field{Name: name, Unit: symbol(u), kind: kindNames[u.Measure.Kind]}
}

// tableOf describes the Parquet file of some fields.
func tableOf(fields []Field, forms []parquet.Form, o Origin) parquet.Table {
	t := parquet.Table{By: "gearleaf"}
	if o.Program != "" {
		t.By += " version " + o.Program
	}
	add := func(key, value string) {
		if value != "" {
			t.About = append(t.About, parquet.Pair{Key: metaPrefix + key, Value: value})
		}
	}
	add("format", o.Format)
	add("version", "1")
	add("sheet", o.Sheet)
	add("title", o.Title)
	add("sheet_sha256", o.Sum)
	add("set", o.Set)
	for _, more := range o.More {
		add(more[0], more[1])
	}
	list := []columnMeta{}
	taken := map[string]bool{}
	for i, f := range fields {
		m := columnMeta{single(f.Name, taken), f.Unit, kindIn(f, forms[i]), f.role, f.label}
		list = append(list, m)
		t.Columns = append(t.Columns, parquet.Column{Name: m.Name, Form: forms[i], About: m.pairs()})
	}
	text, _ := json.Marshal(list) // texts alone: it cannot fail
	add("columns", string(text))
	return t
}

// single returns a name that no earlier column has: an input that is also shown
// occurs twice.
func single(name string, taken map[string]bool) string {
	out := name
	for n := 2; taken[out] || out == ""; n++ {
		out = name + "_" + strconv.Itoa(n)
	}
	taken[out] = true
	return out
}

// kindIn returns the kind of a column's values.
func kindIn(f Field, form parquet.Form) string {
	switch form {
	case parquet.Text:
		return "text"
	case parquet.Truth:
		return "yes or no"
	}
	return cmp.Or(f.kind, kindNames[unit.Plain])
}

// columnForm returns the form of the values of q.
func columnForm(q *check.Quantity) parquet.Form {
	switch q.Type.Form {
	case check.Text:
		return parquet.Text
	case check.Truth:
		return parquet.Truth
	}
	return parquet.Number
}

// parquetRows writes a Parquet file by rows.
type parquetRows struct {
	w       *parquet.Writer
	forms   []parquet.Form
	columns []parquet.Values
	n       int // rows in columns
}

// rowsAtOnce is the number of rows that are passed to the writer at a time.
const rowsAtOnce = 1024

func newParquetRows(w io.Writer, fields []Field, forms []parquet.Form, o Origin) *parquetRows {
	return &parquetRows{w: parquet.NewWriter(w, tableOf(fields, forms, o)), forms: forms, columns: make([]parquet.Values, len(forms))}
}

// add adds a row, which may end early.
func (p *parquetRows) add(row []any) error {
	for i, form := range p.forms {
		addValue(&p.columns[i], form, valueAt(row, i))
	}
	if p.n++; p.n < rowsAtOnce {
		return nil
	}
	return p.flush()
}

func (p *parquetRows) flush() error {
	err := p.w.Write(p.n, p.columns)
	for i := range p.columns {
		p.columns[i] = parquet.Values{Numbers: p.columns[i].Numbers[:0], Texts: p.columns[i].Texts[:0]}
	}
	p.n = 0
	return err
}

func (p *parquetRows) close() error {
	if err := p.flush(); err != nil {
		return err
	}
	return p.w.Close()
}

// writeParquet writes records. A column of numbers only is numeric, a column of
// logical values only is logical; any other has texts.
func writeParquet(w io.Writer, r Records, o Origin) error {
	forms := make([]parquet.Form, len(r.Fields))
	for i := range forms {
		forms[i] = r.formAt(i)
	}
	out := newParquetRows(w, r.Fields, forms, o)
	for _, row := range r.Rows {
		if err := out.add(row); err != nil {
			return err
		}
	}
	return out.close()
}

// valueAt returns the i-th value of a record, which may end early.
func valueAt(row []any, i int) any {
	if i < len(row) {
		return row[i]
	}
	return nil
}

// formAt returns the form of a column.
func (r Records) formAt(i int) parquet.Form {
	numbers, truths, texts := 0, 0, 0
	for _, row := range r.Rows {
		switch valueAt(row, i).(type) {
		case float64, int:
			numbers++
		case bool:
			truths++
		case string:
			texts++
		}
	}
	switch {
	case numbers > 0 && truths+texts == 0:
		return parquet.Number
	case truths > 0 && numbers+texts == 0:
		return parquet.Truth
	}
	return parquet.Text
}

// addValue adds one value of a row.
func addValue(to *parquet.Values, form parquet.Form, v any) {
	if form == parquet.Text {
		to.Texts = append(to.Texts, plainText(v))
		return
	}
	number := math.NaN()
	switch v := v.(type) {
	case float64:
		number = v
	case int:
		number = float64(v)
	case bool:
		number = truthNumber(v)
	}
	to.Numbers = append(to.Numbers, number)
}

// plainText is any value as a text, nothing for nil.
func plainText(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case bool:
		return truth(v)
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return fmt.Sprint(v)
}

func truthNumber(v bool) float64 {
	if v {
		return 1
	}
	return 0
}
