package export

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// Field is one column of an answer.
type Field struct {
	Name string `json:"name"`
	Unit string `json:"unit,omitempty"`
	// What else a Parquet file says of it: the kind of its numbers, whether it
	// is given or computed, its label.
	kind, role, label string
}

// FieldOf returns the field of a cell or an entry.
func FieldOf(name string, q *check.Quantity) Field {
	f := fieldIn(name, q.Unit)
	f.role = kindOf(q)
	if q.Details != nil {
		f.label = q.Origin.Label
	}
	return f
}

// head is the field's name with its unit, as CSV and a workbook have it.
func (f Field) head() string {
	if f.Unit == "" {
		return f.Name
	}
	return f.Name + " " + f.Unit
}

// Records is an answer as a table: a value in a row is a float64, a string, a
// bool, or nil where there is none.
type Records struct {
	Fields []Field
	Rows   [][]any
}

// AnswerKinds are the endings of files that an answer can be written to.
var AnswerKinds = []string{".csv", ".xlsx", ".json", ".parquet"}

// AnswerKind returns which of AnswerKinds ends the name of a file.
func AnswerKind(file string) (string, error) { return kindAmong(file, "an answer", AnswerKinds) }

// kindAmong returns which of kinds ends the name of a file.
func kindAmong(file, of string, kinds []string) (string, error) {
	for _, kind := range kinds {
		if strings.HasSuffix(strings.ToLower(file), kind) {
			return kind, nil
		}
	}
	return "", fmt.Errorf("%s ends in no format of %s (there are %s)", file, of, strings.Join(kinds, " "))
}

// WriteRecords writes r as kind, ".csv", ".xlsx" or ".parquet", which says o.
func WriteRecords(w io.Writer, kind string, r Records, o Origin) error {
	switch kind {
	case ".parquet":
		return writeParquet(w, r, o)
	case ".xlsx":
		b := recordBook{tab: "Answer", fields: r.Fields}
		return b.write(w, func(row func([]any) error) error {
			for _, values := range r.Rows {
				if err := row(values); err != nil {
					return err
				}
			}
			return nil
		})
	}
	out := bufio.NewWriter(w)
	line := appendHead(nil, r.Fields)
	for _, values := range r.Rows {
		for i, v := range values {
			if i > 0 {
				line = append(line, ',')
			}
			line = appendPlain(line, v)
		}
		line = append(line, '\r', '\n')
	}
	_, _ = out.Write(line)
	return out.Flush()
}

// appendHead writes the line of names.
func appendHead(line []byte, fields []Field) []byte {
	for i, f := range fields {
		if i > 0 {
			line = append(line, ',')
		}
		line = append(line, quoted(harmless(f.head()))...)
	}
	return append(line, '\r', '\n')
}

// appendPlain writes one value of a record.
func appendPlain(line []byte, v any) []byte {
	switch v := v.(type) {
	case float64:
		return strconv.AppendFloat(line, v, 'g', 15, 64)
	case string:
		return append(line, quoted(harmless(v))...)
	case bool:
		return append(line, truth(v)...)
	case int:
		return strconv.AppendInt(line, int64(v), 10)
	}
	return line
}

func truth(v bool) string {
	if v {
		return "yes"
	}
	return "no"
}

// appendNumber writes an SI value in u: fifteen digits, without the noise of
// the conversion.
func appendNumber(line []byte, u unit.Unit, v float64) []byte {
	if u.Offset != 0 {
		return strconv.AppendFloat(line, u.Clean(v), 'g', 15, 64)
	}
	return strconv.AppendFloat(line, u.Shown(v)+0, 'g', 15, 64)
}

// plain returns the value v of q as a record has it; nil for a blank and a
// fault.
func plain(s *sheet.Sheet, q *check.Quantity, v float64) any {
	switch {
	case v != v:
		return nil
	case q.Type.Form == check.Number:
		return q.Unit.Clean(v)
	case q.Type.Form == check.Truth:
		return v != 0
	}
	return s.Model.Texts[int(v)]
}

// MaxBookRows is how many records a workbook holds below its heads.
const MaxBookRows = excelize.TotalRows - bookHeads

// bookHeads is how many rows of heads are above the records: names and units.
const bookHeads = 2

// recordBook is a workbook of records: a tab of them, and a tab of charts.
type recordBook struct {
	tab    string
	title  string // of the sheet, at the foot of each page
	fields []Field
	// formats are the number formats of the columns; of those that have none a
	// number shows all its digits.
	formats []string
	// charted are the columns that are drawn, each over the first one.
	charted []int
}

// write writes records to a workbook as they come.
func (b *recordBook) write(w io.Writer, rows func(row func([]any) error) error) error {
	f := excelize.NewFile()
	defer func() { _ = f.Close() }()
	if err := f.SetDefaultFont(fontName); err != nil {
		return err
	}
	if err := f.SetSheetName("Sheet1", b.tab); err != nil {
		return err
	}
	if err := paper(f, b.tab, b.title, len(b.fields) > 7, "$1:$2"); err != nil {
		return err
	}
	st := &styles{f: f, known: map[styleKey]int{}}
	text := newTabRows()
	n, err := b.writeRows(f, st, text, rows)
	if err != nil {
		return err
	}
	if err := b.charts(f, n); err != nil {
		return err
	}
	if st.err != nil {
		return st.err
	}
	packWith(f, text)
	return f.Write(w)
}

// writeRows writes heads and records, and returns how many records there are.
func (b *recordBook) writeRows(f *excelize.File, st *styles, text *tabRows, rows func(row func([]any) error) error) (int, error) {
	out, err := streamRows(f, text, b.tab)
	if err != nil {
		return 0, err
	}
	panes := &excelize.Panes{Freeze: true, YSplit: bookHeads, TopLeftCell: at(1, bookHeads+1), ActivePane: "bottomLeft"}
	if err := out.SetPanes(panes); err != nil {
		return 0, err
	}
	names, units := make([]any, len(b.fields)), make([]any, len(b.fields))
	looks := make([]int, len(b.fields))
	for i, field := range b.fields {
		names[i], units[i] = head(st, clean(field.Name), columnLook), head(st, clean(field.Unit), columnUnitLook)
		looks[i] = st.of(shutLook, b.format(i), false)
		if err := out.SetColWidth(i+1, i+1, float64(min(max(utf8.RuneCountInString(field.Name)+2, 10), 40))); err != nil {
			return 0, err
		}
	}
	if err := out.SetRow("A1", names); err != nil {
		return 0, err
	}
	if err := out.SetRow("A2", units); err != nil {
		return 0, err
	}
	n, left := 0, st.of(labelLook, "", true)
	err = rows(func(values []any) error {
		n++
		out.begin(bookHeads + n)
		for i, v := range values {
			look := looks[min(i, len(looks)-1)]
			switch v := v.(type) {
			case nil:
				continue
			case string:
				look = left
			case bool:
				out.cell(i+1, excelize.Cell{Value: truth(v), StyleID: left})
				continue
			}
			out.cell(i+1, excelize.Cell{Value: v, StyleID: look})
		}
		out.end()
		return nil
	})
	if err != nil {
		return n, err
	}
	return n, out.Flush()
}

func (b *recordBook) format(i int) string {
	if i < len(b.formats) {
		return b.formats[i]
	}
	return ""
}

// charts draws the charted columns over the first, on a tab of their own.
func (b *recordBook) charts(f *excelize.File, records int) error {
	if len(b.charted) == 0 || records < 2 {
		return nil
	}
	if _, err := f.NewSheet(chartsTab); err != nil {
		return err
	}
	if err := paper(f, chartsTab, b.title, false, ""); err != nil {
		return err
	}
	column := func(i int) string {
		return quoteSheet(b.tab) + "!" + fixed(i+1, bookHeads+1) + ":" + fixed(i+1, bookHeads+records)
	}
	for k, i := range b.charted {
		title := b.fields[i].Name + " over " + b.fields[0].Name
		err := f.AddChart(chartsTab, at(1, 1+k*chartRows), &excelize.Chart{
			Type:      excelize.Scatter,
			Dimension: excelize.ChartDimension{Width: chartWidth, Height: chartHeight},
			Title:     chartText(clean(title), 13, true),
			Legend:    excelize.ChartLegend{Position: "none"},
			XAxis:     axis(clean(b.fields[0].head())), YAxis: axis(clean(b.fields[i].head())),
			Format:       excelize.GraphicOptions{AltText: clean(title)},
			Border:       excelize.LineOptions{Type: excelize.LineNone},
			ShowBlanksAs: "gap",
			Series: []excelize.ChartSeries{{
				Name: quoteSheet(b.tab) + "!" + fixed(i+1, 1), Fill: tone(seriesColours[0]),
				Categories: column(0), Values: column(i),
				Line:   excelize.LineOptions{Type: excelize.LineSolid, Width: 1.75, Fill: tone(seriesColours[0])},
				Marker: excelize.ChartMarker{Symbol: "none"},
			}},
		})
		if err != nil {
			return err
		}
	}
	return nil
}
