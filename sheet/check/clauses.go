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

// settleClauses joins the clauses of givens that have the same value in
// several worksheets.
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
		over := restated(c.merge.lines[id])
		for _, k := range c.merge.beside[id] {
			c.file = c.in.Files[k.file].Tree.File
			c.joinClauses(&cell.Quantity, []float64{cell.Value}, over, k.decl, func(q *Quantity, decl *syntax.Cell) { c.readSpread(q, decl, cell.Value) })
		}
	}
}

// restated returns the clauses that the lines above state for a given; if two
// state the same clause, the outer one applies.
func restated(lines []conflict) *syntax.Cell {
	all := &syntax.Cell{Special: &syntax.Special{}, Clauses: &syntax.Clauses{}}
	for _, l := range lines {
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
func (c *checker) restateClauses(q *Quantity, lines []conflict) {
	bare := c.m.unitOf(q.Unit)
	file := c.file
	defer func() { c.file = file }()
	for _, l := range lines {
		c.file = c.in.Files[l.file].Tree.File
		if l.decl.Range != nil {
			q.own().Range = nil
			c.readRange(q, l.decl, bare)
		}
		if len(l.decl.Choice) > 0 {
			q.own().Choice = nil
			c.readChoice(q, l.decl, bare)
		}
	}
}

// joinClauses adds to q, which has the given values, the clauses of decl,
// another given of its name; over contains the clauses that sheets above
// restate, and read reads a ± or sd.
func (c *checker) joinClauses(q *Quantity, values []float64, over, decl *syntax.Cell, read func(*Quantity, *syntax.Cell)) {
	further := Quantity{Name: q.Name, Look: q.Look, Origin: q.Origin, Details: NoDetails}
	bare := c.bareUnit(q, decl)
	if decl.Range != nil && over.Range == nil {
		c.readRange(&further, decl, bare)
		switch {
		case further.Range == nil:
		case q.Range == nil:
			q.own().Range = further.Range
		case !sameRange(*q.Range, *further.Range):
			c.clauseConflict(q, values, decl.Range.Span, "range")
		}
	}
	if len(decl.Choice) > 0 && len(over.Choice) == 0 {
		c.joinChoice(q, values, &further, decl, bare)
	}
	if spread(decl) != nil && spread(over) == nil {
		read(&further, decl)
		switch {
		case further.Tolerance == Exact: // it has been refused
		case q.Tolerance == Exact:
			own := q.own()
			own.Tolerance, own.Spread = further.Tolerance, further.Spread
		case q.Tolerance != further.Tolerance || !kernel.Same(q.Spread, further.Spread):
			c.clauseConflict(q, values, spread(decl).Span, "tolerance")
		}
	}
	if q.To == 0 && decl.To != nil {
		if to := c.readTo(decl.To, q); to != 0 {
			q.own().To = to
		}
	}
}

// bareUnit returns the unit of the bare numbers of decl, another declaration
// of q.
func (c *checker) bareUnit(q *Quantity, decl *syntax.Cell) unitID {
	if ref := restatedUnit(decl); ref != nil {
		if u, err := c.m.findUnit(ref.Text); err == nil {
			return u
		}
	}
	return c.m.unitOf(q.Unit)
}

func (c *checker) joinChoice(q *Quantity, values []float64, further *Quantity, decl *syntax.Cell, bare unitID) {
	span := decl.Choice[0].Pos().To(decl.Choice[len(decl.Choice)-1].Pos())
	c.readChoice(further, decl, bare)
	switch {
	case further.Choice == nil:
	case q.Choice == nil:
		q.own().Choice = further.Choice
		for _, v := range values {
			if d := c.m.AdmitValue(q, v, span); d != nil {
				c.place(d)
				return
			}
		}
	case !sameChoice(q, q.Choice, further.Choice):
		c.clauseConflict(q, values, span, "choice")
	}
}

// spread returns the ± or sd of a declaration, nil for none.
func spread(decl *syntax.Cell) *syntax.Number {
	if decl.Tolerance != nil {
		return decl.Tolerance
	}
	return decl.Deviation
}

func (c *checker) clauseConflict(q *Quantity, values []float64, span source.Span, clause string) {
	first := c.decl(q)
	r := c.fail(span, diag.ClauseConflict, "two worksheets give %s the same value, but not the same %s", q.Name, clause).
		related(c.fileOf(q), first.Span, "the other %s", q.Name)
	if len(values) > 1 {
		r.help("resolve this in the sheet that uses both: below the uses, write the table and its column %s again, with the %s that counts", q.Name, clause)
		return
	}
	r.help("resolve this in the sheet that uses both: below the uses, write %s : %s with the %s that counts", q.Name, c.m.show(q, values[0]), clause)
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
