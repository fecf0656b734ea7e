package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// buildFormulas makes the nodes of every formula of the sheet.
func (c *checker) buildFormulas() {
	for _, cell := range c.m.Cells {
		c.buildCell(cell)
	}
	own := len(c.m.Tables) // building may add tables of the library
	for _, t := range c.m.Tables[:own] {
		c.buildTable(t)
	}
	c.buildLimits()
	c.work = work{}
	c.built = len(c.m.Nodes)
}

// buildRange builds one formula and returns its place in the arena.
func (c *checker) buildRange(s *scope, e syntax.Expr) nodes {
	lo := NodeID(len(c.m.Nodes))
	root := c.build(s, e)
	return nodes{lo, NodeID(len(c.m.Nodes)), root}
}

func (c *checker) buildCell(cell *Cell) {
	sub, decl := &c.subjects[cell.Index], c.decl(&cell.Quantity)
	switch {
	case cell.Plugged:
		c.file = c.fileOf(&cell.Quantity)
		lo := NodeID(len(c.m.Nodes))
		from, _ := c.m.names.find(cell.Name)
		cell.Formula = c.node(reference(CellRef, unknownType, from), decl.Name.Span)
		sub.nodes = nodes{lo, lo + 1, cell.Formula}
	case decl.Given:
		sub.state = settled
	default:
		c.work = work{file: c.fileOf(&cell.Quantity)}
		c.givenClauses(decl)
		built := c.buildRange(&c.outside, decl.Formula)
		sub = &c.subjects[cell.Index] // a table of the library may have been added, with its columns
		sub.nodes, sub.hasPi = built, c.hasPi
		cell.Formula = built.root
	}
}

// givenClauses refuses on a computed cell the clauses that only a given has.
func (c *checker) givenClauses(decl *syntax.Cell) {
	refuse := func(span source.Span, clause string) {
		c.fail(span, diag.ClauseGiven, "%s is computed, and %s is for givens only", decl.Name.Text, clause).
			help("write what a computed value must keep in a line of its own: limit %s <= …", decl.Name.Text)
	}
	numberClauses(decl, refuse)
	if len(decl.Choice) > 0 {
		refuse(decl.Choice[0].Pos(), "choice")
	}
}

// numberClauses calls refuse for each clause of decl that only a given number
// can have.
func numberClauses(decl *syntax.Cell, refuse func(span source.Span, clause string)) {
	if decl.Tolerance != nil {
		refuse(decl.Tolerance.Span, "±")
	}
	if decl.Deviation != nil {
		refuse(decl.Deviation.Span, "sd")
	}
	if decl.Range != nil {
		refuse(decl.Range.Span, "range")
	}
}

// buildTable builds the formulas of a table and finds the columns that are
// computed row by row.
func (c *checker) buildTable(t *Table) {
	c.work = work{file: c.m.Files[t.Origin.File].File}
	w := &tableWork{table: t, blanks: map[*Column]bool{}}
	s := &scope{table: t}
	for _, col := range t.Columns {
		if !col.Given {
			c.buildComputed(w, s, col)
		}
	}
	c.file = c.m.Files[t.Origin.File].File
	c.owner, c.hasPi = nil, false
	if t.decl.Until != nil {
		w.until = c.buildRange(s, t.decl.Until)
		t.Until = w.until.root
	}
	c.findLoop(w)
	c.loops = append(c.loops, w)
}

func (c *checker) buildComputed(w *tableWork, s *scope, col *Column) {
	decl := c.decl(&col.Quantity)
	c.file = c.fileOf(&col.Quantity)
	c.owner, c.hasPi = col, false
	c.givenClauses(decl)
	var start nodes
	if decl.Start != nil {
		start = c.buildRange(s, decl.Start)
		col.Start = start.root
	}
	formula := c.buildRange(s, decl.Formula)
	col.Formula = formula.root
	sub := &c.subjects[c.columnSubject(col.Index)]
	sub.nodes, sub.hasPi = formula, c.hasPi
	if decl.Start != nil {
		sub.nodes = start
	}
	w.formulas = append(w.formulas, columnFormula{column: col, nodes: formula, start: start, hasPi: c.hasPi})
}

// finishSubject settles the type of a subject whose nodes are all typed.
func (c *checker) finishSubject(s int32) {
	sub := &c.subjects[s]
	sub.state = settled
	sub.hasPi, sub.valids = c.hasPi, c.valids
	if s < int32(len(c.m.Cells)) {
		cell := c.m.Cells[s]
		if cell.Plugged {
			c.finishPlug(sub, cell)
			return
		}
		c.finishQuantity(sub, &cell.Quantity)
		return
	}
	col := c.m.Columns[int(s)-len(c.m.Cells)]
	c.finishQuantity(sub, &col.Quantity)
	if col.Start != 0 && c.startBlank(col) {
		sub.typ = c.m.mayBlank(sub.typ, true)
		col.Look = col.mayBlank(true)
	}
}

// startBlank reports whether a column with a start can be blank in a live row
// because it, or its loop, reads a value that can be blank.
func (c *checker) startBlank(col *Column) bool {
	w := c.loops[col.Table.Index]
	if col.Looped {
		return w.blank
	}
	return w.blanks[col]
}

// finishQuantity finds the type and shown unit of a computed quantity.
func (c *checker) finishQuantity(sub *subject, q *Quantity) {
	decl := c.decl(q)
	root := sub.root
	t, u := c.m.Nodes[root].Type(), c.shown[root]
	if !c.isSmall(sub.nodes) && c.size(root) > source.MaxExpanded {
		c.fail(decl.Name.Span, diag.TooLarge, "the formula of %s has more than %d operations when its calls are expanded", q.Name, source.MaxExpanded).
			help("a table computes such things row by row")
	}
	if t != unknownType && c.m.Types[t].Form != Number {
		q.Look = c.m.look(t, 0)
		sub.typ = t
		c.formClauses(q, decl)
		return
	}
	fixed := false
	if decl.As != nil {
		var as unitID
		if t, as, fixed = c.applyAs(decl.As, t, q.Name); fixed {
			u = as
		}
	}
	if t == unknownType {
		return
	}
	if u == 0 && !fixed {
		u = c.m.preferred(c.m.present(t))
	}
	sub.typ, sub.unit = t, u
	q.Look = c.m.look(t, u)
	if to := c.readTo(decl.To, q); to != 0 {
		q.own().To = to
	}
	c.turnsLeft(q, t)
}

// finishPlug checks that a given may be taken from the cell that computes it.
func (c *checker) finishPlug(sub *subject, cell *Cell) {
	from := c.m.Cells[c.m.Nodes[cell.Formula].Ref()]
	have, own := c.m.Nodes[cell.Formula].Type(), sub.typ
	sub.typ = have
	if have == unknownType || own == unknownType {
		return
	}
	h, w := c.m.Types[have], cell.Type
	same := h.Form == w.Form
	if same && h.Form == Number {
		same = h.Measure.Dim == w.Measure.Dim && h.Measure.Kind == w.Measure.Kind && unit.Meets(h.Measure, w.Measure) == ""
	}
	if !same {
		c.fail(c.decl(&cell.Quantity).Name.Span, diag.PlugMismatch, "%s is %s here, but the worksheet that computes it makes it %s", cell.Name, c.m.describe(c.m.intern(w)), c.m.describe(have)).
			related(c.fileOf(&from.Quantity), c.decl(&from.Quantity).Name.Span, "%s is computed here", from.Name).
			help("give one of them another name, or let them measure the same")
		return
	}
	sub.typ = own
}

// inferTable types the formulas on which no type depends: the formulas of
// columns with a start, and until.
func (c *checker) inferTable(w *tableWork) {
	for _, f := range w.formulas {
		if f.column.Start != 0 {
			c.inferStarted(f)
		}
	}
	if w.until.root != 0 {
		c.work = work{file: c.m.Files[w.table.Origin.File].File, loop: true}
		c.inferRange(w.until.lo, w.until.hi)
		c.truth(w.until.root, "until")
		c.boundCondition(w.until.root)
	}
}

// inferStarted types the formula of a column whose start has determined its
// type, and compares the two.
func (c *checker) inferStarted(f columnFormula) {
	col := f.column
	c.work = work{file: c.fileOf(&col.Quantity), owner: col, hasPi: f.hasPi}
	c.inferRange(f.lo, f.hi)
	sub := &c.subjects[c.columnSubject(col.Index)]
	sub.valids = sub.valids || c.valids
	if c.size(f.root) > source.MaxExpanded {
		c.fail(c.decl(&col.Quantity).Name.Span, diag.TooLarge, "the formula of %s has more than %d operations when its calls are expanded", col.Name, source.MaxExpanded)
	}
	have := c.m.Nodes[f.root].Type()
	if have == unknownType || sub.typ == unknownType {
		return
	}
	h, w := c.m.Types[have], c.m.Types[sub.typ]
	if h.Form != w.Form {
		c.fail(c.decl(&col.Quantity).Start.Pos(), diag.FormMismatch, "%s starts as %s, and its formula is %s", col.Name, formName(w.Form), formName(h.Form))
		return
	}
	if h.Form != Number {
		return
	}
	c.bareStart(col, f.root)
	if p := unit.Meets(w.Measure, h.Measure); p != "" {
		message, help := c.m.Units.MismatchText(col.Name, w.Measure, h.Measure, "start "+c.quote(col.Start), c.quote(f.root))
		r := c.fail(c.decl(&col.Quantity).Start.Pos(), problemCode(p), "%s", message)
		if r.d.Help = help; w.Measure.Dimensionless() {
			r.help("give the start its unit, as in start 0 %s", c.m.Units.Preferred(h.Measure).Symbol)
		}
	}
}

// finish completes the model: advices in reading order, and everything that is
// kept after the check.
func (c *checker) finish() {
	defer c.letGo()
	for _, e := range c.m.outline {
		switch e.kind {
		case cellItem:
			for i := e.index; i <= e.index+e.more; i++ {
				c.finishCell(c.m.Cells[i])
			}
		case tableItem:
			for _, col := range c.m.Tables[e.index].Columns {
				c.finishColumn(col)
			}
		}
	}
	for i := range c.subjects {
		if c.subjects[i].typ == unknownType {
			c.m.untyped = append(c.m.untyped, int32(i))
		}
	}
	c.boundWork()
	for _, t := range c.m.Tables {
		if t.Fault != "" {
			t.faulty()
		}
	}
	if c.m.tooMany {
		c.failIn(c.in.Files[0].Tree.File, source.Span{}, diag.TooLarge, "the values of this sheet have more than %d dimensions", source.MaxMeasures)
	}
	c.list = distinct(c.list)
	c.list.Sort()
}

func (c *checker) finishCell(cell *Cell) {
	sub := &c.subjects[cell.Index]
	if cell.Range == nil && !sub.valids || sub.typ == unknownType {
		return
	}
	c.work = work{file: c.fileOf(&cell.Quantity)}
	if sub.valids {
		c.cellAdvices(cell)
	}
	c.rangeAdvice(&cell.Quantity, cell, nil)
}

func (c *checker) finishColumn(col *Column) {
	c.work = work{file: c.fileOf(&col.Quantity)}
	if sub := &c.subjects[c.columnSubject(col.Index)]; !col.Given && sub.valids {
		c.columnAdvices(col)
	}
	c.rangeAdvice(&col.Quantity, nil, col)
	if col.Table.decl.Until != nil {
		col.Look = col.mayBlank(true)
	}
}

// distinct drops repeated diagnostics: a function's body is checked once for
// each set of types.
func distinct(list diag.List) diag.List {
	type key struct {
		file    *source.File
		span    source.Span
		code    diag.Code
		message string
	}
	seen := map[key]bool{}
	kept := list[:0]
	for _, d := range list {
		k := key{d.File, d.Span, d.Code, d.Message}
		if !seen[k] {
			seen[k] = true
			kept = append(kept, d)
		}
	}
	return kept
}
