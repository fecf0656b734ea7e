package export

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// csvWriter writes RFC 4180: fields between commas, lines ended by CR LF,
// quotes where a field needs them. A text that a spreadsheet would take for a
// formula gets a quote sign before it (OWASP ASVS 5, 1.2.10); numbers do not.
type csvWriter struct {
	out       *bufio.Writer
	n         int // fields on this line
	separator string
	point     string // before the decimals of a number
}

// newCSV begins the file that o asks for.
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
	if c.n > 0 {
		_, _ = c.out.WriteString(c.separator)
	}
	c.n++
	_, _ = c.out.WriteString(quotedAmong(s, c.separator))
}

// quoted puts s into quotes where RFC 4180 asks for them.
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

// harmless keeps a spreadsheet from taking s for a formula.
func harmless(s string) string {
	s = strings.ReplaceAll(s, "\x00", "\uFFFD")
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// number writes a number with every digit it has.
func (c *csvWriter) number(v float64) {
	c.field(strings.Replace(strconv.FormatFloat(v, 'g', -1, 64), ".", c.point, 1))
}

func (c *csvWriter) end() {
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
	for _, t := range ownTables(s.Model) {
		if t.Name == o.Table {
			c.table(s, r, t)
			return Report{}, c.out.Flush()
		}
	}
	return Report{}, fmt.Errorf("there is no table %q in this sheet%s", o.Table, tablesOf(s.Model))
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
	c.end()
	rows, _ := r.Live(t)
	for row := range rows {
		for _, col := range t.Columns {
			f := figureOf(s, &col.Quantity, r.Entry(col, row))
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
	c.end()
	for _, cell := range ownCells(s.Model) {
		c.line(s, &cell.Quantity, cell.Name, "", r.Cell(cell))
	}
	for _, t := range ownTables(s.Model) {
		rows, _ := r.Live(t)
		for _, col := range t.Columns {
			for row := range rows {
				c.line(s, &col.Quantity, t.Name+"."+col.Name, strconv.Itoa(row+1), r.Entry(col, row))
			}
		}
	}
	for _, l := range s.Model.Limits {
		c.limit(l, r)
	}
}

func (c *csvWriter) line(s *sheet.Sheet, q *check.Quantity, name, row string, v sheet.Value) {
	f := figureOf(s, q, v)
	c.field(kindOf(q))
	c.text(q.Origin.Section)
	c.text(name)
	c.field(row)
	c.figure(f)
	c.text(symbol(q.Unit))
	c.text(q.Origin.Label)
	c.text(f.fault)
	c.end()
}

func (c *csvWriter) limit(l *check.Limit, r *sheet.Result) {
	state, row := r.Limit(l)
	place := ""
	if l.Table != nil && state != sheet.Kept {
		place = strconv.Itoa(row + 1)
	}
	c.field(limitKind(l))
	c.text(l.Origin.Section)
	c.text(limitText(nil, l))
	c.field(place)
	c.field(state.String())
	c.field("")
	c.text(l.Message)
	c.field("")
	c.end()
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
