package check

import (
	"errors"
	"strconv"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
)

// csvFile is the file of a table; csv is nil where it could not be read.
type csvFile struct {
	csv *CSV
}

// openCSV reads the file of t. A file that cannot be read is a fault of the
// table; a mistake in it stops the computation.
func (c *checker) openCSV(t *Table) *csvFile {
	if c.in.CSV == nil || t.Library {
		t.Fault = t.decl.From.Text + " cannot be read here"
		return &csvFile{}
	}
	csv, err := c.in.CSV(t.Origin.File, t.decl.From.Text)
	var mistake CSVError
	switch {
	case errors.As(err, &mistake):
		c.fail(t.decl.From.Span, diag.CSVMistake, "%s", mistake.Message)
		t.Fault = mistake.Message
		return &csvFile{}
	case err != nil:
		t.Fault = err.Error()
		return &csvFile{}
	}
	c.checkRagged(t, csv)
	return &csvFile{csv}
}

// checkRagged reports the first row that has not as many fields as the head.
func (c *checker) checkRagged(t *Table, csv *CSV) {
	odd, first := 0, -1
	for i, row := range csv.Rows {
		if len(row) != len(csv.Head) {
			if odd++; first < 0 {
				first = i
			}
		}
	}
	if odd > 0 {
		r := c.fail(t.decl.From.Span, diag.CSVMistake, "%s has %s in its head and %d in line %d", csv.name(t), plural(len(csv.Head), "field"), len(csv.Rows[first]), csv.line(first))
		if odd > 1 {
			r.help("%s of this file have other fields than its head", plural(odd, "line"))
		}
	}
}

func (f *CSV) name(t *Table) string {
	if f.Name != "" {
		return f.Name
	}
	return t.decl.From.Text
}

func (f *CSV) line(row int) int {
	if row < len(f.Lines) {
		return f.Lines[row]
	}
	return row + 2
}

// readFrom reads a column from the table's file.
func (c *checker) readFrom(col *Column, file *csvFile) {
	decl := c.decl(&col.Quantity)
	if file == nil {
		c.fail(decl.From.Span, diag.FromOutside, "the table %s has no file to take %q from", col.Table.Name, decl.From.Text).
			help("write table %s from \"file.csv\"", col.Table.Name)
		return
	}
	u, ok := c.columnUnit(decl)
	if !ok {
		return
	}
	k := columnKind{typ: c.m.units[u].Type, unit: u}
	at := -1
	if file.csv != nil {
		at = c.header(col, file.csv)
	}
	if at >= 0 {
		c.readFields(col, file.csv, at, &k)
	}
	c.describeColumn(col, k)
	for i, v := range col.Values {
		if d := c.m.admitValue(&col.Quantity, v, decl.From.Span); d != nil {
			d.Message += "; it stands in " + file.csv.name(col.Table) + ", line " + itoa(file.csv.line(i))
			c.place(d)
			return
		}
	}
}

// header finds a column of the file by its head.
func (c *checker) header(col *Column, csv *CSV) int {
	at := -1
	want := c.decl(&col.Quantity).From
	for i, h := range csv.Head {
		if strings.TrimSpace(h) != strings.TrimSpace(want.Text) {
			continue
		}
		if at >= 0 {
			c.fail(want.Span, diag.CSVMistake, "%s has two columns headed %q", csv.name(col.Table), want.Text)
			return -1
		}
		at = i
	}
	if at < 0 {
		r := c.fail(want.Span, diag.CSVColumn, "%s has no column headed %q", csv.name(col.Table), want.Text)
		n := newSuggester(want.Text)
		for _, h := range csv.Head {
			n.try(strings.TrimSpace(h))
		}
		if n.best != "" {
			r.help("did you mean %q?", n.best).repair(want.Span, `"`+strings.ReplaceAll(n.best, `"`, `""`)+`"`, "write %q", n.best)
		} else {
			r.help("its heads are %s", shorten(strings.Join(csv.Head, ", ")))
		}
	}
	return at
}

// readFields reads the fields of one column. Without a unit the first field
// that holds something tells numbers from yes and no from texts.
func (c *checker) readFields(col *Column, csv *CSV, at int, k *columnKind) {
	col.Values = make([]float64, len(csv.Rows))
	form := Number
	decided := c.decl(&col.Quantity).FromUnit != nil
	for i, row := range csv.Rows {
		field := ""
		if at < len(row) {
			field = strings.TrimSpace(row[at])
		}
		if field == "" {
			col.Values[i], k.blank = kernel.Blank, true
			continue
		}
		if !decided {
			form, decided = fieldForm(field), true
		}
		v, ok := c.field(form, field, k.unit)
		if !ok {
			c.fail(c.decl(&col.Quantity).From.Span, diag.CSVMistake, "%s, line %d: %q is not %s", csv.name(col.Table), csv.line(i), shorten(field), formName(form)).
				help("correct the file, or leave the field empty")
			return
		}
		col.Values[i] = v
	}
	switch form {
	case Truth:
		k.typ, k.unit = truthType, 0
	case Text:
		k.typ, k.unit = textType, 0
	}
}

// fieldForm tells what a field holds.
func fieldForm(field string) Form {
	switch field {
	case "yes", "no":
		return Truth
	}
	if _, ok := parseField(field); ok {
		return Number
	}
	return Text
}

// field returns the value of a field that must have the given form.
func (c *checker) field(form Form, field string, u unitID) (float64, bool) {
	switch form {
	case Text:
		return c.m.text(field), true
	case Truth:
		return kernel.Truth(field == "yes"), field == "yes" || field == "no"
	}
	v, ok := parseField(field)
	if !ok {
		return 0, false
	}
	return c.m.si(v, u)
}

// parseField reads a decimal number, nothing fancier.
func parseField(field string) (float64, bool) {
	if strings.Trim(field, "0123456789+-.eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(field, 64)
	return v, err == nil
}
