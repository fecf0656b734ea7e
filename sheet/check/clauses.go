package check

import (
	"slices"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// If several worksheets give one name the same value, a clause (range, choice,
// ± or sd) that only one of them states applies. Clauses that differ are an
// error until the sheet that uses them restates the given with its own clauses;
// then that line applies.

// settleClauses joins the clauses of givens that have the same value in several
// worksheets.
func (c *checker) settleClauses() {
	ids := make([]int32, 0, len(c.merge.beside))
	for id := range c.merge.beside {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		cell := c.m.Cells[id]
		if cell.Type.Form == Truth || c.subjects[id].typ == unknownType {
			continue
		}
		for _, k := range c.merge.beside[id] {
			c.file = c.in.Files[k.file].Tree.File
			c.joinClauses(cell, k.decl)
		}
	}
}

// restated returns the clauses that the sheets above state for cell; of two
// that state the same clause, the outer one counts.
func (c *checker) restated(cell *Cell) *syntax.Cell {
	all := &syntax.Cell{Special: &syntax.Special{}, Clauses: &syntax.Clauses{}}
	for _, l := range c.merge.lines[cell.Index] {
		d := l.decl
		if d.Range != nil {
			all.Range = d.Range
		}
		if len(d.Choice) > 0 {
			all.Choice = d.Choice
		}
		if spread(d) != nil {
			all.Tolerance, all.Deviation, all.Values = d.Tolerance, d.Deviation, d.Values
		}
	}
	return all
}

// restateClauses replaces the clauses of a given in several worksheets by those
// of the line that restates it.
func (c *checker) restateClauses(cell *Cell) {
	bare := c.m.unitOf(cell.Unit)
	file := c.file
	defer func() { c.file = file }()
	for _, l := range c.merge.lines[cell.Index] {
		c.file = c.in.Files[l.file].Tree.File
		if l.decl.Range != nil {
			cell.own().Range = nil
			c.readRange(&cell.Quantity, l.decl, bare)
		}
		if len(l.decl.Choice) > 0 {
			cell.own().Choice = nil
			c.readChoice(&cell.Quantity, l.decl, bare)
		}
	}
}

// joinClauses adds to cell the clauses of decl, another given of its name.
func (c *checker) joinClauses(cell *Cell, decl *syntax.Cell) {
	over := c.restated(cell)
	further := Quantity{Name: cell.Name, Look: cell.Look, Origin: cell.Origin, Details: NoDetails}
	bare := c.m.unitOf(cell.Unit)
	if len(decl.Values) == 1 {
		if lit, d := c.m.readLiteral(decl.Values[0], bare); d == nil && lit.unit != 0 {
			bare = lit.unit
		}
	}
	if decl.Range != nil && over.Range == nil {
		c.readRange(&further, decl, bare)
		switch {
		case further.Range == nil:
		case cell.Range == nil:
			cell.own().Range = further.Range
		case !sameRange(*cell.Range, *further.Range):
			c.clauseConflict(cell, decl, decl.Range.Span, "range")
		}
	}
	if len(decl.Choice) > 0 && len(over.Choice) == 0 {
		c.joinChoice(cell, &further, decl, bare)
	}
	if spread(decl) != nil && spread(over) == nil {
		c.readSpread(&further, decl, cell.Value)
		switch {
		case cell.Tolerance == Exact:
			own := cell.own()
			own.Tolerance, own.Spread = further.Tolerance, further.Spread
		case cell.Tolerance != further.Tolerance || !kernel.Same(cell.Spread, further.Spread):
			c.clauseConflict(cell, decl, spread(decl).Span, "tolerance")
		}
	}
	if cell.To == 0 && decl.To != nil {
		if to := c.readTo(decl.To, &cell.Quantity); to != 0 {
			cell.own().To = to
		}
	}
}

func (c *checker) joinChoice(cell *Cell, further *Quantity, decl *syntax.Cell, bare unitID) {
	span := decl.Choice[0].Pos().To(decl.Choice[len(decl.Choice)-1].Pos())
	c.readChoice(further, decl, bare)
	switch {
	case further.Choice == nil:
	case cell.Choice == nil:
		cell.own().Choice = further.Choice
		if d := c.m.AdmitValue(&cell.Quantity, cell.Value, span); d != nil {
			c.place(d)
		}
	case !sameChoice(&cell.Quantity, cell.Choice, further.Choice):
		c.clauseConflict(cell, decl, span, "choice")
	}
}

// spread returns the ± or sd of a declaration, nil for none.
func spread(decl *syntax.Cell) *syntax.Number {
	if decl.Tolerance != nil {
		return decl.Tolerance
	}
	return decl.Deviation
}

func (c *checker) clauseConflict(cell *Cell, decl *syntax.Cell, span source.Span, clause string) {
	first := c.decl(&cell.Quantity)
	c.fail(span, diag.ClauseConflict, "two worksheets give %s alike, but not with the same %s", cell.Name, clause).
		related(c.fileOf(&cell.Quantity), first.Span, "the other %s", cell.Name).
		help("settle it in the sheet that uses both: below the uses, write %s : %s with the %s that counts", cell.Name, c.m.show(&cell.Quantity, cell.Value), clause)
}

func sameRange(a, b [2]float64) bool { return kernel.Same(a[0], b[0]) && kernel.Same(a[1], b[1]) }

// sameChoice reports whether two lists hold the same values, in any order.
func sameChoice(q *Quantity, a, b []float64) bool {
	within := func(a, b []float64) bool {
		for _, v := range a {
			if !slices.ContainsFunc(b, func(w float64) bool { return sameValue(q, v, w) }) {
				return false
			}
		}
		return true
	}
	return within(a, b) && within(b, a)
}
