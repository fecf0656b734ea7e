package check

import (
	"slices"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
)

// joinedTable is a table that several worksheets have.
type joinedTable struct {
	files []int // that have a part of it, the first part's file first
	// again are the given columns that a sheet parallel to the first one also
	// gives: they must agree or be restated above.
	again []givenAgain
	// restated are the lengths that a sheet above gives its columns.
	restated []givenAgain
	// plugged are the given columns that another sheet computes.
	plugged []givenAgain
}

// givenAgain is a given column in one more worksheet.
type givenAgain struct {
	file int
	col  *Column
	decl *syntax.Cell
}

// joinTable processes a table whose name another worksheet's table has: tables
// of one name are one table. New columns are added. A given column that both
// have must agree, or the sheet that uses both restates it; a computed one must
// have the same formula. A given column that another sheet computes is replaced
// by the computed one, as for cells.
func (c *checker) joinTable(file int, decl *syntax.Table, t *Table) {
	if c.merge.joined == nil {
		c.merge.joined = map[*Table]*joinedTable{}
	}
	j := c.merge.joined[t]
	if j == nil {
		j = &joinedTable{files: []int{t.Origin.File}}
		c.merge.joined[t] = j
	}
	for _, f := range j.files {
		if f == file {
			c.duplicate(decl.Name, t.Origin.File, t.decl.Name)
			return
		}
	}
	if decl.Rows != nil || decl.From != nil || decl.Until != nil {
		c.fail(decl.Name.Span, diag.NameDuplicate, "another worksheet has a table %s: its rows, its file and its until are there", t.Name).
			related(c.in.Files[t.Origin.File].Tree.File, t.decl.Name.Span, "the other %s", t.Name).
			help("keep only the columns here, or give one of the tables another name")
		return
	}
	j.files = append(j.files, file)
	for _, col := range columnDecls(decl) {
		c.joinColumn(file, j, t, col)
	}
}

// joinColumn processes a column of a table that another worksheet has declared
// first.
func (c *checker) joinColumn(file int, j *joinedTable, t *Table, decl *syntax.Cell) {
	col := c.columnOf(t, decl.Name.Text)
	switch {
	case col == nil:
		c.addColumn(t, decl)
		if col = c.columnOf(t, decl.Name.Text); col != nil {
			origin := *col.Origin
			origin.File, origin.Section, origin.from = file, c.merge.section[file], c.m.Files[file]
			col.Origin, col.place = &origin, c.merge.place
		}
	case decl.Given && !col.Given && c.merge.reach[file][col.Origin.File]:
		c.fail(decl.Name.Span, diag.OverrideComputed, "%s.%s is computed there, so values cannot replace it here", t.Name, col.Name).
			related(c.fileOf(&col.Quantity), c.decl(&col.Quantity).Name.Span, "the other %s", col.Name).
			help("override one of the givens that it is computed from, or give this column another name")
	case decl.Given && !col.Given:
		j.plugged = append(j.plugged, givenAgain{file, col, decl})
	case !decl.Given && col.Given:
		c.plugColumn(file, j, col, decl)
	case !decl.Given:
		c.sameFormula(t, col, decl)
	case c.merge.reach[file][col.Origin.File]:
		j.restated = append(j.restated, givenAgain{file, col, decl})
		c.restate(file, t, decl)
	default:
		j.again = append(j.again, givenAgain{file, col, decl})
	}
}

// plugColumn takes a given column from the worksheet that computes it: the
// formula replaces the values.
func (c *checker) plugColumn(file int, j *joinedTable, col *Column, decl *syntax.Cell) {
	j.plugged = append(j.plugged, givenAgain{col.Origin.File, col, c.decl(&col.Quantity)})
	again := j.again[:0]
	for _, a := range j.again {
		if a.col == col {
			j.plugged = append(j.plugged, a)
		} else {
			again = append(again, a)
		}
	}
	j.again = again
	origin := *col.Origin
	origin.File, origin.Section, origin.from = file, c.merge.section[file], c.m.Files[file]
	col.Given, col.Origin, col.place = false, &origin, c.merge.place
	c.columnDecls[col.Index] = decl
}

// sameFormula refuses a second computed column of one name, unless its formula
// is the same.
func (c *checker) sameFormula(t *Table, col *Column, decl *syntax.Cell) {
	here, there := columnFormulaText(decl), columnFormulaText(c.decl(&col.Quantity))
	if here == there {
		return
	}
	name := t.Name + "." + col.Name
	c.fail(decl.Span, diag.ComputedTwice, "two worksheets compute %s differently: here %s = %s, there %s = %s",
		name, col.Name, shorten(here), col.Name, shorten(there)).
		related(c.fileOf(&col.Quantity), c.decl(&col.Quantity).Span, "the other %s", col.Name).
		help("give one of them another name")
}

func columnFormulaText(decl *syntax.Cell) string {
	text := syntax.String(decl.Formula)
	if decl.Special != nil && decl.Start != nil {
		text += " start " + syntax.String(decl.Start)
	}
	return text
}

// restate overrides the entries of a column that is stated again above its
// worksheet one by one, as `table.column[row] : value` does.
func (c *checker) restate(file int, t *Table, decl *syntax.Cell) {
	unit := restatedUnit(decl)
	for i, v := range decl.Values {
		if n, ok := v.(*syntax.Number); ok && n.Unit == nil && unit != nil {
			v = &syntax.Number{Span: n.Span, Value: n.Value, Unit: unit}
		}
		entry := &syntax.Cell{Lead: decl.Lead, Name: t.decl.Name, Given: true, Values: []syntax.Expr{v}}
		entry.Name.Span = decl.Name.Span
		entry.Special = &syntax.Special{
			Column: decl.Name,
			Entry:  &syntax.Number{Span: v.Pos(), Value: float64(i + 1)},
		}
		c.merge.entries = append(c.merge.entries, entryOverride{file, entry})
	}
}

// restatedUnit is the unit of the bare numbers of a column: that of its head,
// or that of its last value.
func restatedUnit(decl *syntax.Cell) *syntax.UnitRef {
	if decl.Special != nil && decl.FromUnit != nil {
		return decl.FromUnit
	}
	if n := len(decl.Values); n > 0 {
		if last, ok := decl.Values[n-1].(*syntax.Number); ok {
			return last.Unit
		}
	}
	return nil
}

// settleJoined compares the parts of joined tables once everything is read and
// overridden.
func (c *checker) settleJoined() {
	for _, t := range c.m.Tables {
		j := c.merge.joined[t]
		if j == nil {
			continue
		}
		for _, r := range j.restated {
			c.sameLength(r)
		}
		for _, a := range j.again {
			if c.sameLength(a) && c.agreeAgain(a) {
				over := restated(j.above(a.col))
				c.joinClauses(&a.col.Quantity, a.col.Values, over, a.decl, c.columnSpread)
			}
		}
	}
}

// restateColumns applies the clauses of columns that a sheet above restates. As
// for single givens, they apply if several worksheets give the column;
// otherwise the column keeps the clauses of its worksheet.
func (c *checker) restateColumns() {
	for _, t := range c.m.Tables {
		j := c.merge.joined[t]
		if j == nil {
			continue
		}
		for _, r := range j.restated {
			several := slices.ContainsFunc(j.again, func(a givenAgain) bool { return a.col == r.col })
			c.file = c.in.Files[r.file].Tree.File
			c.overrideClauses(&r.col.Quantity, r.decl, several)
			if !several {
				continue
			}
			c.restateClauses(&r.col.Quantity, []conflict{{file: r.file, decl: r.decl}})
			if spread(r.decl) != nil {
				c.columnSpread(&r.col.Quantity, r.decl)
			}
		}
	}
}

// above returns the lines of sheets above that state a column again.
func (j *joinedTable) above(col *Column) []conflict {
	var lines []conflict
	for _, r := range j.restated {
		if r.col == col {
			lines = append(lines, conflict{file: r.file, decl: r.decl})
		}
	}
	return lines
}

// settlePlugged checks the given columns that another sheet computes against
// its formula, once formulas have their types.
func (c *checker) settlePlugged() {
	for _, t := range c.m.Tables {
		if j := c.merge.joined[t]; j != nil {
			for _, p := range j.plugged {
				c.fitsPlug(p)
			}
		}
	}
}

// fitsPlug refuses a given column whose values do not have the measure of the
// formula that replaces them.
func (c *checker) fitsPlug(p givenAgain) {
	if c.subjects[c.columnSubject(p.col.Index)].typ == unknownType {
		return // its formula has been reported
	}
	c.file = c.in.Files[p.file].Tree.File
	bare := c.bareUnit(&p.col.Quantity, p.decl)
	for _, e := range p.decl.Values {
		_, d := c.m.readFor(&p.col.Quantity, e, bare)
		if d != nil {
			c.place(d)
			return
		}
	}
	c.keepRange(p, bare)
}

// keepRange keeps the range of a given column for the formula that replaces its
// values; two ranges both apply.
func (c *checker) keepRange(p givenAgain, bare unitID) {
	q := &p.col.Quantity
	further := Quantity{Name: q.Name, Look: q.Look, Origin: q.Origin, Details: NoDetails}
	switch c.readRange(&further, p.decl, bare); {
	case further.Range == nil:
	case q.Range == nil:
		q.own().Range = further.Range
	default:
		q.own().Range = &[2]float64{max(q.Range[0], further.Range[0]), min(q.Range[1], further.Range[1])}
	}
}

// sameLength refuses a column that is stated again with more or fewer values.
func (c *checker) sameLength(g givenAgain) bool {
	have, want := len(g.decl.Values), len(g.col.Values)
	if have == want {
		return true
	}
	c.file = c.in.Files[g.file].Tree.File
	c.fail(g.decl.Name.Span, diag.ColumnLength, "%s.%s has %s here and %d in the other worksheet", g.col.Table.Name, g.col.Name, plural(have, "value"), want).
		related(c.fileOf(&g.col.Quantity), c.decl(&g.col.Quantity).Name.Span, "the other %s", g.col.Name).
		help("the tables of one name are one table, so their columns are equally long")
	return false
}

// agreeAgain compares a given column in a second worksheet with the first; it
// reports whether they agree.
func (c *checker) agreeAgain(a givenAgain) bool {
	c.file = c.in.Files[a.file].Tree.File
	bare := c.bareUnit(&a.col.Quantity, a.decl)
	for row, e := range a.decl.Values {
		lit, d := c.m.readFor(&a.col.Quantity, e, bare)
		if d != nil {
			c.place(d)
			return false
		}
		if c.settledAbove(a, row) || sameValue(&a.col.Quantity, lit.value, a.col.Values[row]) {
			continue
		}
		name := a.col.Table.Name + "." + a.col.Name
		here, there := c.m.show(&a.col.Quantity, lit.value), c.m.show(&a.col.Quantity, a.col.Values[row])
		c.fail(e.Pos(), diag.GivenConflict, "two worksheets give %s[%d] differently: %s here, %s there", name, row+1, here, there).
			related(c.fileOf(&a.col.Quantity), c.decl(&a.col.Quantity).Span, "the other %s", a.col.Name).
			help("resolve this in the sheet that uses both: below the uses, write table %s and the column %s again", a.col.Table.Name, a.col.Name)
		return false
	}
	return true
}

// settledAbove reports whether a sheet that uses both has overridden the row.
func (c *checker) settledAbove(a givenAgain, row int) bool {
	for _, o := range c.merge.entries {
		n, ok := unwrap(o.decl.Entry).(*syntax.Number)
		if ok && int(n.Value) == row+1 && o.decl.Name.Text == a.col.Table.Name && o.decl.Column.Text == a.col.Name && c.merge.reach[o.file][a.file] {
			return true
		}
	}
	return false
}

// sameValue reports whether two values of q are equal, with the tolerance of
// the language.
func sameValue(q *Quantity, a, b float64) bool {
	if kernel.IsBlank(a) || kernel.IsBlank(b) {
		return kernel.IsBlank(a) && kernel.IsBlank(b)
	}
	return a == b || q.Type.Form == Number && near(a, b)
}
