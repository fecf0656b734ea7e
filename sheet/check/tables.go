package check

import (
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// tableWork is the checker's state of a table until its columns are typed.
type tableWork struct {
	table *Table
	until nodes
	// formulas of the columns that have a start, whose types do not depend
	// on them.
	formulas []columnFormula
	// blank says that a column of the loop can be blank in a live row;
	// blanks says the same of columns with a start outside it.
	blank  bool
	blanks map[*Column]bool
}

// nodes is a range of the arena and the node at its root.
type nodes struct{ lo, hi, root NodeID }

type columnFormula struct {
	column *Column
	nodes
	start nodes
	hasPi bool
}

// addTable adds a table and its columns to the model.
func (c *checker) addTable(t *Table) {
	if c.columns == nil {
		c.columns = map[columnKey]*Column{}
	}
	t.Index = len(c.m.Tables)
	c.m.Tables = append(c.m.Tables, t)
	for _, decl := range columnDecls(t.decl) {
		c.addColumn(t, decl)
	}
}

// columnDecls returns the columns of a table: first those between bars.
func columnDecls(t *syntax.Table) []*syntax.Cell {
	if t.Grid == nil {
		return t.Columns
	}
	return append(gridColumns(t), t.Columns...)
}

// gridColumns makes a given column of each head between bars; the unit of the
// head applies to its bare numbers.
func gridColumns(t *syntax.Table) []*syntax.Cell {
	columns := syntax.GridColumns(t)
	return columns[:len(columns):len(columns)]
}

func (c *checker) addColumn(t *Table, decl *syntax.Cell) {
	if first := c.columnOf(t, decl.Name.Text); first != nil {
		c.fail(decl.Name.Span, diag.NameDuplicate, "the table %s has a column %q already", t.Name, decl.Name.Text).
			related(c.file, c.decl(&first.Quantity).Name.Span, "the first %q", decl.Name.Text).
			help("give one of them another name")
		return
	}
	col := &Column{Table: t}
	origin := t.Origin
	origin.Label, origin.Note = "", decl.Note()
	if decl.Label != nil {
		origin.Label = decl.Label.Text
	}
	col.Quantity = Quantity{
		Name: decl.Name.Text, Look: c.m.look(unknownType, 0), Origin: &origin, Details: NoDetails,
		Index: int32(len(c.m.Columns)), place: t.place, Given: decl.Given,
	}
	c.m.Columns = append(c.m.Columns, col)
	c.columnDecls = append(c.columnDecls, decl)
	t.Columns = append(t.Columns, col)
	c.columns[columnKey{int32(t.Index), col.Name}] = col
	if c.subjects != nil {
		c.subjects = append(c.subjects, subject{})
	}
}

// readTables reads the given columns of the sheet's tables.
func (c *checker) readTables() {
	for _, t := range c.m.Tables {
		c.file = c.m.Files[t.Origin.File].File
		c.readTable(t)
	}
	fields := 0
	for _, t := range c.m.Tables {
		if fields += t.Rows * len(t.Columns); fields > source.MaxFields {
			c.file = c.m.Files[t.Origin.File].File
			c.fail(t.decl.Name.Span, diag.TooLarge, "the tables up to %s have more than %d fields together", t.Name, source.MaxFields)
			return
		}
	}
}

// readTable reads the given columns of t and determines its number of rows.
func (c *checker) readTable(t *Table) {
	rows := rowCount{table: t}
	if n := t.decl.Rows; n != nil {
		c.readRows(t, &rows)
	}
	var csv *CSV
	if t.decl.From != nil {
		if csv = c.openCSV(t); csv != nil {
			rows.agree(c, csv.Rows, t.decl.From.Span, "the file "+t.decl.From.Text)
		}
	}
	c.readFile(t, csv)
	for _, col := range t.Columns {
		if col.Given {
			c.subjects[c.columnSubject(col.Index)].state = settled
		}
		c.file = c.fileOf(&col.Quantity)
		switch {
		case !col.Given, c.decl(&col.Quantity).From != nil:
		default:
			if len(c.decl(&col.Quantity).Values) == 0 && !syntax.InGrid(c.decl(&col.Quantity)) {
				continue // the parser has reported it
			}
			rows.agree(c, len(c.decl(&col.Quantity).Values), c.decl(&col.Quantity).Name.Span, "the column "+col.Name)
			c.readColumn(col)
		}
	}
	c.file = c.m.Files[t.Origin.File].File
	t.Rows = rows.n
	switch {
	case len(t.Columns) == 0:
		c.noColumns(t)
	case !rows.known && t.Fault == "":
		c.fail(t.decl.Name.Span, diag.TableRows, "the table %s has no number of rows", t.Name).
			help("give it a column of values, a file, or write table %s rows 100", t.Name)
	}
}

// noColumns refuses a table without a column, unless the parser has refused a
// line of the file that may have been one.
func (c *checker) noColumns(t *Table) {
	if len(c.m.Files[t.Origin.File].tree.Broken()) > 0 {
		return
	}
	help := "give it one on a line of its own that begins with a blank, as in   name : 1, 2, 3"
	if t.decl.From != nil {
		help = "name the columns of the file, as in   speed : from \"Speed\" km/h"
	}
	c.fail(t.decl.Name.Span, diag.TableColumns, "the table %s has no column", t.Name).help("%s", help)
}

// rowCount is the number of rows that the parts of a table agree on.
type rowCount struct {
	table *Table
	n     int
	known bool
	span  source.Span
	what  string
	odd   bool // a disagreement has been reported
}

// agree processes the number of rows of one part.
func (r *rowCount) agree(c *checker, n int, span source.Span, what string) {
	switch {
	case !r.known:
		r.n, r.known, r.span, r.what = n, true, span, what
		if n > source.MaxRows {
			c.fail(span, diag.TooLarge, "a table can have %d rows; %s has %d", source.MaxRows, what, n)
			r.n = 0
		}
	case r.n != n && !r.odd:
		r.odd = true
		c.fail(span, diag.ColumnLength, "%s has %s, and %s has %d: the columns of a table are equally long", what, plural(n, "value"), r.what, r.n).
			related(c.file, r.span, "%s", r.what).
			help("in a table between bars, a field may be left empty")
	}
}

// readRows reads `rows N`.
func (c *checker) readRows(t *Table, rows *rowCount) {
	n := t.decl.Rows
	if n.Unit != nil || n.Value < 1 || n.Value > source.MaxRows || n.Value != float64(int(n.Value)) {
		c.fail(n.Span, diag.TableRows, "rows takes a whole number from 1 to %d", source.MaxRows)
		rows.known, rows.odd = true, true
		return
	}
	rows.agree(c, int(n.Value), n.Span, "rows")
}

// readColumn reads a column of literals.
func (c *checker) readColumn(col *Column) {
	decl := c.decl(&col.Quantity)
	bare, ok := c.columnUnit(decl)
	if !ok {
		return
	}
	col.Values = make([]float64, 0, len(decl.Values))
	kind := columnKind{unit: bare, typ: c.m.units[bare].Type}
	for _, e := range decl.Values {
		lit, d := c.m.readLiteral(e, bare)
		if d != nil {
			c.place(d)
			lit.value = kernel.Blank
		} else {
			c.columnValue(col, &kind, lit, e)
		}
		col.Values = append(col.Values, lit.value)
	}
	c.describeColumn(col, kind)
	for i, e := range decl.Values {
		c.keepTyped(&col.Quantity, e, col.Values[i])
	}
	c.admitColumn(col)
}

// columnUnit returns the unit of the bare numbers of a column.
func (c *checker) columnUnit(decl *syntax.Cell) (unitID, bool) {
	if decl.FromUnit == nil {
		return c.m.valueUnit(decl.Values), true
	}
	u, err := c.m.findUnit(decl.FromUnit.Text)
	if err != nil {
		c.place(badUnit(err, decl.FromUnit.Span))
	}
	return u, err == nil
}

// columnKind is the common form of a column's values so far.
type columnKind struct {
	typ   TypeID
	unit  unitID
	known bool // a value has been seen
	blank bool
}

// columnValue adds a value to a column, or reports why it does not fit.
func (c *checker) columnValue(col *Column, k *columnKind, lit literal, e syntax.Expr) {
	if lit.typ == unknownType {
		k.blank = true
		return
	}
	if !k.known {
		k.known = true
		if k.unit == 0 || c.m.Types[lit.typ].Form != Number {
			k.typ, k.unit = lit.typ, lit.unit
		}
	}
	have, want := c.m.Types[lit.typ], c.m.Types[k.typ]
	if have.Form != want.Form {
		c.fail(e.Pos(), diag.FormMismatch, "the column %s holds %ss, and this is %s", col.Name, bareForm(want.Form), formName(have.Form))
		return
	}
	if have.Form != Number || lit.typ == k.typ {
		return
	}
	if p := unit.Meets(want.Measure, have.Measure); p != "" {
		message, help := c.m.Units.MismatchText("column", want.Measure, have.Measure, col.Name, syntax.String(e))
		c.fail(e.Pos(), problemCode(p), "%s", message).d.Help = help
		return
	}
	k.typ = c.m.intern(Type{Measure: unit.Join(want.Measure, have.Measure)})
}

// bareForm names a form without its article.
func bareForm(f Form) string { return [...]string{"number", "yes or no value", "text"}[f] }

// describeColumn fills in the type, the unit and the clauses of a given
// column.
func (c *checker) describeColumn(col *Column, k columnKind) {
	sub := &c.subjects[c.columnSubject(col.Index)]
	sub.typ, sub.unit = c.describeGiven(&col.Quantity, c.decl(&col.Quantity), literal{typ: k.typ, unit: k.unit})
	sub.typ = c.m.mayBlank(sub.typ, k.blank)
	col.Look = col.mayBlank(k.blank)
	c.columnSpread(&col.Quantity, c.decl(&col.Quantity))
}

// columnSpread reads the ± or sd of a column.
func (c *checker) columnSpread(q *Quantity, decl *syntax.Cell) {
	if n := decl.Tolerance; n != nil && n.Unit != nil && n.Unit.Text == "%" && !strings.HasSuffix(c.valueText(decl), "%") {
		c.fail(n.Span, diag.ClauseForm, "± in percent means another spread in each row: give %s one in its own unit", q.Name)
		return
	}
	c.readSpread(q, decl, 0)
}

// admitColumn refuses values that are not among the choices, or not whole.
func (c *checker) admitColumn(col *Column) {
	for i, v := range col.Values {
		if d := c.m.AdmitValue(&col.Quantity, v, c.decl(&col.Quantity).Values[i].Pos()); d != nil {
			c.place(d)
		}
	}
}
