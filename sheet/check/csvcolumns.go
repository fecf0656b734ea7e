package check

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// openCSV reads the file of t, nil if it cannot be read. A file that cannot
// be read is a fault of the table; a mistake in it stops the computation.
func (c *checker) openCSV(t *Table) *CSV {
	if c.in.CSV == nil || t.Library {
		t.Fault = t.decl.From.Text + " cannot be read here"
		return nil
	}
	var heads []string
	for _, col := range t.Columns {
		if from := c.decl(&col.Quantity).From; from != nil {
			heads = append(heads, from.Text)
		}
	}
	csv, err := c.in.CSV(t.Origin.File, t.decl.From.Text, heads)
	var mistake CSVError
	switch {
	case errors.As(err, &mistake):
		c.fail(t.decl.From.Span, diag.CSVMistake, "%s", mistake.Message).d.Help = mistake.Help
		t.Fault = mistake.Message
		return nil
	case err != nil:
		t.Fault = err.Error()
		return nil
	}
	c.doubts(t, csv)
	return csv
}

// mostDoubts is the number of doubts about one file that are reported.
const mostDoubts = 3

// doubts reports problems in the file of t.
func (c *checker) doubts(t *Table, csv *CSV) {
	for i, doubt := range csv.Doubts {
		if more := len(csv.Doubts) - i; i == mostDoubts && more > 1 {
			c.advise(t.decl.From.Span, diag.CSVDoubt, "%s: %d more lines are doubtful", csv.name(t), more)
			return
		}
		c.advise(t.decl.From.Span, diag.CSVDoubt, "%s, %s", csv.name(t), doubt)
	}
}

func (f *CSV) name(t *Table) string {
	if f.Name != "" {
		return f.Name
	}
	return t.decl.From.Text
}

// fileColumn is a column that is read from a file.
type fileColumn struct {
	col     *Column
	at      int // its place in the file
	kind    columnKind
	form    Form
	decided bool // the form is known
	bad     bool // a field that does not belong has been reported
}

// readFile reads the columns of t that come from its file; csv is nil if it
// could not be read.
func (c *checker) readFile(t *Table, csv *CSV) {
	var columns []*fileColumn
	for _, col := range t.Columns {
		decl := c.decl(&col.Quantity)
		if !col.Given || decl.From == nil {
			continue
		}
		c.file = c.fileOf(&col.Quantity)
		if t.decl.From == nil {
			c.fail(decl.From.Span, diag.FromOutside, "the table %s has no file to take %q from", t.Name, decl.From.Text).
				help("write table %s from \"file.csv\"", t.Name)
			continue
		}
		u, ok := c.columnUnit(decl)
		if !ok {
			continue
		}
		f := &fileColumn{col: col, at: -1, kind: columnKind{typ: c.m.units[u].Type, unit: u}, decided: decl.FromUnit != nil}
		if csv != nil {
			f.at = c.header(col, csv)
		}
		columns = append(columns, f)
	}
	if csv != nil {
		c.readFields(columns, csv)
	}
	for _, f := range columns {
		c.finishFileColumn(f, csv)
	}
}

// finishFileColumn describes a column whose fields have been read.
func (c *checker) finishFileColumn(f *fileColumn, csv *CSV) {
	col := f.col
	c.file = c.fileOf(&col.Quantity)
	switch f.form {
	case Truth:
		f.kind.typ, f.kind.unit = truthType, 0
	case Text:
		f.kind.typ, f.kind.unit = textType, 0
	case Number:
		if f.at >= 0 && !f.bad {
			c.headUnit(col, csv.Heads[f.at], f.kind.unit)
		}
	}
	c.describeColumn(col, f.kind)
	for i, v := range col.Values {
		if d := c.m.AdmitValue(&col.Quantity, v, c.decl(&col.Quantity).From.Span); d != nil {
			d.Message += "; it is in " + csv.name(col.Table) + ", line " + itoa(csv.Line(i))
			c.place(d)
			return
		}
	}
}

// headUnit refuses a column that is not read in the unit of its head.
func (c *checker) headUnit(col *Column, h Head, u unitID) {
	declared := c.m.units[u].Unit
	offers := c.m.HeadUnit(h, declared)
	if offers == nil {
		return
	}
	decl := c.decl(&col.Quantity)
	// The unit follows the head and replaces an existing one.
	at, reads := source.Span{Start: decl.From.Span.End, End: decl.From.Span.End}, "as plain numbers"
	if decl.FromUnit != nil {
		at.End = decl.FromUnit.Span.End
		reads = "in " + declared.Symbol
	}
	r := c.fail(decl.From.Span, diag.CSVUnit, "the heading %q says %s, but %s reads the column %s", h.Text, h.Says(), col.Name, reads)
	var lines []string
	for _, offer := range offers {
		u, err := c.m.Units.Parse(offer) // a plain number, where the offer is no unit
		if offer != "" && err != nil {
			r.help("%s", c.m.ToRead(col.Name, decl.From.Text, offer))
			return
		}
		line := strings.TrimRight(" "+offer, " ") + c.shownAs(decl, u, declared)
		r.repair(at, line, "write from %q%s", decl.From.Text, line)
		lines = append(lines, strings.TrimSpace(line))
	}
	r.help("%s", strings.TrimRight(fmt.Sprintf("write %s : from %q %s", col.Name, decl.From.Text, strings.Join(lines, ", or ")), " "))
}

// shownAs returns the clause that shows a column in the sheet's unit, if its
// head has another unit of the same measure.
func (c *checker) shownAs(decl *syntax.Cell, offered, declared unit.Unit) string {
	if decl.As != nil || decl.FromUnit == nil || unit.Meets(offered.Measure, declared.Measure) != "" {
		return ""
	}
	return " as " + declared.Symbol
}

// header finds a column of the file by its head.
func (c *checker) header(col *Column, csv *CSV) int {
	want := c.decl(&col.Quantity).From
	for _, text := range []func(Head) string{func(h Head) string { return h.Text }, func(h Head) string { return h.Name }} {
		at := -1
		for i, h := range csv.Heads {
			if strings.TrimSpace(text(h)) != strings.TrimSpace(want.Text) {
				continue
			}
			if at >= 0 {
				c.fail(want.Span, diag.CSVMistake, "%s has two columns headed %q", csv.name(col.Table), want.Text)
				return -1
			}
			at = i
		}
		if at >= 0 {
			return at
		}
	}
	r := c.fail(want.Span, diag.CSVColumn, "%s has no column headed %q", csv.name(col.Table), want.Text)
	n := newSuggester(want.Text)
	var heads []string
	for _, h := range csv.Heads {
		n.try(strings.TrimSpace(h.Text))
		n.try(h.Name)
		heads = append(heads, h.Text)
	}
	if n.best != "" {
		r.help("did you mean %q?", n.best).repair(want.Span, syntax.Quote(n.best), "write %q", n.best)
	} else {
		r.help("its headings are %s", shorten(strings.Join(heads, ", ")))
	}
	return -1
}

// readFields reads the fields of columns, row by row.
func (c *checker) readFields(columns []*fileColumn, csv *CSV) {
	for _, f := range columns {
		f.col.Values = make([]float64, csv.Rows)
	}
	csv.Each(func(row int, fields [][]byte) bool {
		for _, f := range columns {
			if f.at >= 0 && !f.bad {
				c.readField(f, csv, row, fields[f.at])
			}
		}
		return true
	})
}

// readField reads one field. In a column without a unit, the first field that
// is not empty determines whether the column holds numbers, yes and no, or
// texts.
func (c *checker) readField(f *fileColumn, csv *CSV, row int, field []byte) {
	if len(field) == 0 || f.decided && f.form == Number && csv.Blank(field) {
		f.col.Values[row], f.kind.blank = kernel.Blank, true
		return
	}
	if !f.decided {
		f.form, f.decided = fieldForm(csv, field), true
	}
	v, ok := c.field(csv, f, field)
	if !ok {
		f.bad = true
		c.file = c.fileOf(&f.col.Quantity)
		c.fail(c.decl(&f.col.Quantity).From.Span, diag.CSVMistake, "%s, line %d: %q is not %s", csv.name(f.col.Table), csv.Line(row), shorten(string(field)), formName(f.form)).
			help("correct the file, or leave the field empty")
	}
	f.col.Values[row] = v
}

// fieldForm returns the form of a field's value.
func fieldForm(csv *CSV, field []byte) Form {
	switch string(field) {
	case "yes", "no":
		return Truth
	}
	if _, ok := csv.Number(field); ok {
		return Number
	}
	return Text
}

// field returns the value of a field that must have the form of its column.
func (c *checker) field(csv *CSV, f *fileColumn, field []byte) (float64, bool) {
	switch f.form {
	case Text:
		return c.m.text(string(field)), true
	case Truth:
		yes := string(field) == "yes"
		return kernel.Truth(yes), yes || string(field) == "no"
	}
	v, ok := csv.Number(field)
	if !ok {
		return 0, false
	}
	return c.m.si(v, f.kind.unit)
}

// faulty makes every given value of a table whose file cannot be read a fault,
// including the columns that the sheet itself lists.
func (t *Table) faulty() {
	for _, c := range t.Columns {
		if c.Given {
			c.Values = slices.Repeat([]float64{kernel.Fault}, len(c.Values))
		}
	}
}
