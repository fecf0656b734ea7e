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
)

// Field is one column of an answer.
type Field struct {
	Name string `json:"name"`
	Unit string `json:"unit,omitempty"`
	// Additional metadata for Parquet: the kind of its numbers, whether it is
	// given or computed, its label.
	kind, role, label string
	// step is the precision to which a workbook shows its numbers; 0 for none.
	step float64
}

// FieldOf returns the field of a cell or an entry.
func FieldOf(name string, q *check.Quantity) Field {
	f := fieldIn(name, q.Unit)
	f.role = kindOf(q)
	if q.Details != nil {
		f.label = q.Origin.Label
		if !q.Given {
			f.step = q.To
		}
	}
	return f
}

// head is the field's name with its unit, for CSV and workbooks.
func (f Field) head() string {
	if f.Unit == "" {
		return f.Name
	}
	return f.Name + " " + f.Unit
}

// Records is an answer as a table: a value in a row is a float64, a string, a
// bool, or nil if there is none.
type Records struct {
	Fields []Field
	Rows   [][]any
	set    string // SetText of the sheet
	mixed  bool   // rows have quantities of their own: a column has no format of its own
}

// AnswerKinds are the endings of files that an answer can be written to.
var AnswerKinds = []string{".csv", ".xlsx", ".json", ".parquet"}

// AnswerKind returns which of AnswerKinds ends the name of a file.
func AnswerKind(file string) (string, error) { return kindAmong(file, "an answer", AnswerKinds) }

// LoggedKinds are the endings of files that a log beside its sheet can be written
// to.
var LoggedKinds = []string{".xlsx", ".svg", ".png", ".csv", ".json", ".parquet"}

// LoggedKind returns which of LoggedKinds ends the name of a file.
func LoggedKind(file string) (string, error) { return kindAmong(file, "a log", LoggedKinds) }

// kindAmong returns which of kinds ends the name of a file.
func kindAmong(file, of string, kinds []string) (string, error) {
	for _, kind := range kinds {
		if strings.HasSuffix(strings.ToLower(file), kind) {
			return kind, nil
		}
	}
	return "", fmt.Errorf("%s ends in no format of %s (there are %s)", file, of, strings.Join(kinds, " "))
}

// WriteRecords writes r as kind, ".csv" or ".parquet" with the metadata o.
func WriteRecords(w io.Writer, kind string, r Records, o Origin) error {
	if kind == ".parquet" {
		return writeParquet(w, r, o)
	}
	out := bufio.NewWriter(w)
	line := appendHead(nil, r.Fields, r.set)
	for _, values := range r.Rows {
		for i := range r.Fields {
			if i > 0 {
				line = append(line, ',')
			}
			line = appendPlain(line, valueAt(values, i))
		}
		line = appendEnd(line, r.set)
	}
	_, _ = out.Write(line)
	return out.Flush()
}

// appendHead writes the line of names; set is the text of setField.
func appendHead(line []byte, fields []Field, set string) []byte {
	for i, f := range fields {
		if i > 0 {
			line = append(line, ',')
		}
		line = append(line, quoted(harmless(f.head()))...)
	}
	if set != "" {
		set = setField
	}
	return appendEnd(line, set)
}

// appendEnd ends a line, after a field with set if there is one.
func appendEnd(line []byte, set string) []byte {
	if set != "" {
		line = append(append(line, ','), quoted(harmless(set))...)
	}
	return append(line, '\r', '\n')
}

// appendPlain writes one value of a record.
func appendPlain(line []byte, v any) []byte {
	switch v := v.(type) {
	case float64:
		return appendNumber(line, v)
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

// plain returns the value v of q for a record; nil for a blank and a fault.
func plain(s *sheet.Sheet, q *check.Quantity, v float64) any {
	switch {
	case v != v:
		return nil
	case q.Type.Form == check.Number:
		return q.Unit.Number(v)
	case q.Type.Form == check.Truth:
		return v != 0
	}
	return s.Model.Texts[int(v)]
}

// MaxBookRows is the number of records that fit in a workbook below its heads.
const MaxBookRows = excelize.TotalRows - bookHeads
