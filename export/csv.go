package export

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// csvWriter writes RFC 4180: fields between commas, lines ended by CR LF,
// quotes where a field needs them. A quote sign precedes a text that a
// spreadsheet would read as a formula (OWASP ASVS 5, 1.2.10); numbers are
// unchanged.
type csvWriter struct {
	out       *bufio.Writer
	n         int // fields on this line
	separator string
	point     string // before the decimals of a number
	set       string // the last field of a line; empty for none
}

// newCSV begins a file with the options o.
func newCSV(w io.Writer, o Options) *csvWriter {
	c := &csvWriter{out: bufio.NewWriter(w), separator: ",", point: "."}
	if o.Decimal == DecimalComma {
		c.separator, c.point = ";", ","
	}
	if o.Decimal != "" {
		_, _ = c.out.WriteString("\uFEFF")
	}
	return c
}

func (c *csvWriter) field(s string) {
	c.next()
	if s != "" {
		_, _ = c.out.WriteString(quotedAmong(s, c.separator))
	}
}

// next begins a field.
func (c *csvWriter) next() {
	if c.n > 0 {
		_, _ = c.out.WriteString(c.separator)
	}
	c.n++
}

// quoted puts s into quotes if RFC 4180 requires them.
func quoted(s string) string { return quotedAmong(s, ",") }

// quotedAmong is quoted with another separator of fields.
func quotedAmong(s, separator string) string {
	if strings.ContainsAny(s, "\"\r\n"+separator) || s != strings.TrimSpace(s) {
		return `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
	}
	return s
}

// text writes a text that a user may have chosen.
func (c *csvWriter) text(s string) { c.field(harmless(s)) }

// harmless prevents a spreadsheet from reading s as a formula.
func harmless(s string) string {
	s = strings.ReplaceAll(s, "\x00", "\uFFFD")
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// number writes a number with every digit it has.
func (c *csvWriter) number(v float64) {
	c.next()
	text := appendNumber(c.out.AvailableBuffer(), v)
	if i := bytes.IndexByte(text, '.'); c.point == "," && i >= 0 {
		text[i] = ','
	}
	_, _ = c.out.Write(text)
}

// appendNumber writes a number with every digit it has, with an exponent only if it
// is very large or very small.
func appendNumber(b []byte, v float64) []byte {
	if size := math.Abs(v); size >= 1e-5 && size < 1e15 {
		return strconv.AppendFloat(b, v, 'f', -1, 64)
	}
	return strconv.AppendFloat(b, v, 'g', -1, 64)
}

// endHead ends the line of names.
func (c *csvWriter) endHead(s *sheet.Sheet) {
	set := SetText(s)
	if set != "" {
		c.set = setField
	}
	c.end()
	c.set = set
}

// end ends a line.
func (c *csvWriter) end() {
	if c.set != "" {
		c.text(c.set)
	}
	_, _ = c.out.WriteString("\r\n")
	c.n = 0
}

// figure writes a value: a number, a text, or nothing.
func (c *csvWriter) figure(f figure) {
	if f.numeric {
		c.number(f.number)
		return
	}
	c.text(f.text)
}

// writeCSV writes one table, or every value of the sheet, one per line.
func writeCSV(w io.Writer, s *sheet.Sheet, r *sheet.Result, o Options) (Report, error) {
	c := newCSV(w, o)
	if o.Table == "" {
		c.everything(s, r)
		return Report{}, c.out.Flush()
	}
	t, err := tableNamed(s, o.Table)
	if err != nil {
		return Report{}, err
	}
	c.table(s, r, t)
	return Report{}, c.out.Flush()
}

// tableNamed returns a table of the sheet itself.
func tableNamed(s *sheet.Sheet, name string) (*check.Table, error) {
	for _, t := range ownTables(s.Model) {
		if t.Name == name {
			return t, nil
		}
	}
	return nil, fmt.Errorf("there is no table %q in this sheet%s", name, tablesOf(s.Model))
}

// tablesOf lists the tables of a sheet for a message.
func tablesOf(m *check.Model) string {
	var names []string
	for _, t := range ownTables(m) {
		names = append(names, t.Name)
	}
	if len(names) == 0 {
		return ": it has none"
	}
	return "; there are " + strings.Join(names, ", ")
}

// table writes the live rows of one table under names with units.
func (c *csvWriter) table(s *sheet.Sheet, r *sheet.Result, t *check.Table) {
	for _, col := range t.Columns {
		name := col.Name
		if u := symbol(col.Unit); u != "" {
			name += " " + u
		}
		c.text(name)
	}
	c.endHead(s)
	rows, _ := r.Live(t)
	for row := range rows {
		for _, col := range t.Columns {
			f := bareFigure(s, &col.Quantity, r.Entry(col, row))
			if f.fault != "" {
				f.text = "fault"
			}
			c.figure(f)
		}
		c.end()
	}
}

// everything writes a line for each scalar, entry and limit.
func (c *csvWriter) everything(s *sheet.Sheet, r *sheet.Result) {
	for _, h := range []string{"kind", "section", "name", "row", "value", "unit", "label", "fault"} {
		c.field(h)
	}
	c.endHead(s)
	_ = eachValue(s, r, func(v valueLine) error {
		c.line(v)
		return nil
	})
}

func (c *csvWriter) line(v valueLine) {
	c.field(v.kind)
	c.text(v.section)
	c.text(v.name)
	c.next()
	if v.row > 0 {
		_, _ = c.out.Write(strconv.AppendInt(c.out.AvailableBuffer(), int64(v.row), 10))
	}
	c.figure(v.value)
	c.text(v.unit)
	c.text(v.label)
	c.text(v.value.fault)
	c.end()
}

// valueLine is a line of the list of every value: of a scalar, an entry of a
// table or a limit.
type valueLine struct {
	kind, section, name string
	row                 int // from 1; 0 for none
	value               figure
	unit, label         string
}

// eachValue calls do with every line until it returns an error.
func eachValue(s *sheet.Sheet, r *sheet.Result, do func(valueLine) error) error {
	line := func(q *check.Quantity, name string, row int, v sheet.Value) error {
		return do(valueLine{kindOf(q), q.Origin.Section, name, row, bareFigure(s, q, v), symbol(q.Unit), q.Origin.Label})
	}
	for _, cell := range ownCells(s.Model) {
		if err := line(&cell.Quantity, cell.Name, 0, r.Cell(cell)); err != nil {
			return err
		}
	}
	for _, t := range ownTables(s.Model) {
		rows, _ := r.Live(t)
		for _, col := range t.Columns {
			for row := range rows {
				if err := line(&col.Quantity, t.Name+"."+col.Name, row+1, r.Entry(col, row)); err != nil {
					return err
				}
			}
		}
	}
	for _, l := range s.Model.Limits {
		if err := do(limitState(l, r)); err != nil {
			return err
		}
	}
	return nil
}

func limitState(l *check.Limit, r *sheet.Result) valueLine {
	state, row := r.Limit(l)
	place := 0
	if l.Table != nil && state != sheet.Kept {
		place = row + 1
	}
	return valueLine{limitKind(l), l.Origin.Section, l.Text, place, figure{text: state.String()}, "", l.Message}
}

func kindOf(q *check.Quantity) string {
	if q.Given {
		return "given"
	}
	return "computed"
}

func limitKind(l *check.Limit) string {
	if l.Advise {
		return "advise"
	}
	return "limit"
}
