package export

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// Field is one column of an answer.
type Field struct {
	Name string `json:"name"`
	Unit string `json:"unit,omitempty"`
}

// FieldOf returns the field of a cell or an entry.
func FieldOf(name string, q *check.Quantity) Field { return Field{Name: name, Unit: symbol(q.Unit)} }

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

// AnswerKind returns how an answer is written to a file of that name, ".csv",
// ".xlsx" or ".json".
func AnswerKind(file string) (string, error) {
	for _, kind := range []string{".csv", ".xlsx", ".json"} {
		if strings.HasSuffix(strings.ToLower(file), kind) {
			return kind, nil
		}
	}
	return "", fmt.Errorf("%s ends in no format of an answer (there are .csv .xlsx .json)", file)
}

// WriteRecords writes r as kind, ".csv" or ".xlsx".
func WriteRecords(w io.Writer, kind string, r Records) error {
	if kind == ".xlsx" {
		return writeBook(w, r.Fields, func(row func([]any) error) error {
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

// MaxBookRows is how many records a workbook holds below its head.
const MaxBookRows = excelize.TotalRows - 1

// writeBook writes records to a workbook as they come.
func writeBook(w io.Writer, fields []Field, rows func(row func([]any) error) error) error {
	f := excelize.NewFile()
	defer func() { _ = f.Close() }()
	tab := newTabRows()
	out, err := streamRows(f, tab, "Sheet1")
	if err != nil {
		return err
	}
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return err
	}
	panes := &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}
	if err := out.SetPanes(panes); err != nil {
		return err
	}
	head := make([]any, len(fields))
	for i, field := range fields {
		head[i] = excelize.Cell{Value: field.head(), StyleID: bold}
		if err := out.SetColWidth(i+1, i+1, float64(min(max(len(field.head())+2, 10), 60))); err != nil {
			return err
		}
	}
	n := 0
	row := func(values []any) error {
		n++
		return out.SetRow("A"+strconv.Itoa(n), values)
	}
	if err := row(head); err != nil {
		return err
	}
	if err := rows(row); err != nil {
		return err
	}
	if err := out.Flush(); err != nil {
		return err
	}
	packWith(f, tab)
	return f.Write(w)
}
