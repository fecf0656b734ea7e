package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// findLoop finds the columns of a table that are computed row by row: those
// that prev or until depends on, and the columns that they read in the same
// row. In them, a reference to a whole column or to the next row would read
// values that are not computed yet. A column with prev on which no other
// depends is not one of them: it may read rows on both sides, for example for a
// difference over two rows.
func (c *checker) findLoop(w *tableWork) {
	why := map[*Column]string{}
	formula := map[*Column]columnFormula{}
	var queue []*Column
	depend := func(i int32, reason string) {
		col := c.m.Columns[i]
		if col.Table == w.table && !col.Given && why[col] == "" {
			why[col] = reason
			queue = append(queue, col)
		}
	}
	for _, f := range w.formulas {
		formula[f.column] = f
		c.file = c.fileOf(&f.column.Quantity)
		c.seedLoop(f, depend)
	}
	c.file = c.m.Files[w.table.Origin.File].File
	c.checkUntil(w, depend)
	for len(queue) > 0 {
		col := queue[0]
		queue = queue[1:]
		col.Looped = true
		c.eachNode(formula[col], func(_ NodeID, n *Node) {
			if n.Op == ColumnRef {
				depend(n.Ref(), col.Name+" is, which reads it")
			}
		})
	}
	for _, f := range w.formulas {
		if f.column.Looped {
			c.file = c.fileOf(&f.column.Quantity)
			c.checkLooped(w, f, why[f.column])
		}
	}
	for _, f := range w.formulas {
		if f.column.Start != 0 && !f.column.Looped {
			c.looksAtBlanks(w, f.column, formula)
		}
	}
}

// looksAtBlanks reports whether a column can be blank in a live row, before its
// type is known, and stores the result in w.
func (c *checker) looksAtBlanks(w *tableWork, col *Column, formulas map[*Column]columnFormula) bool {
	if col.Given {
		return col.Type.MayBlank
	}
	if found, known := w.blanks[col]; known {
		return found
	}
	w.blanks[col] = false // where it depends on itself
	found := false
	c.eachNode(formulas[col], func(_ NodeID, n *Node) {
		switch n.Op {
		case NextRef:
			found = true
		case ColumnRef, PrevRef:
			found = c.looksAtBlanks(w, c.m.Columns[n.Ref()], formulas) || found
		}
	})
	w.blanks[col] = found
	return found
}

// eachNode calls look for every node of a column's start and formula.
func (c *checker) eachNode(f columnFormula, look func(id NodeID, n *Node)) {
	for id := f.start.lo; id < f.start.hi; id++ {
		look(id, &c.m.Nodes[id])
	}
	for id := f.lo; id < f.hi; id++ {
		look(id, &c.m.Nodes[id])
	}
}

// seedLoop finds the columns that one column makes part of the loop.
func (c *checker) seedLoop(f columnFormula, depend func(int32, string)) {
	col := f.column
	for id := f.start.lo; id < f.start.hi; id++ {
		if n := &c.m.Nodes[id]; n.Op == PrevRef {
			c.fail(c.span(id), diag.StartPrev, "start is the value of the first row, and there is no row before it")
		}
	}
	missing := source.Span{}
	for id := f.lo; id < f.hi; id++ {
		if n := &c.m.Nodes[id]; n.Op == PrevRef {
			depend(n.Ref(), "prev in "+col.Name+" depends on it")
			missing = c.span(id)
		}
	}
	if missing != (source.Span{}) && col.Start == 0 {
		c.fail(c.decl(&col.Quantity).Name.Span, diag.StartMissing, "%s depends on the row before, but has no value for the first row", col.Name).
			related(c.file, missing, "the row before").
			help("write start and a value after the formula, as in start 0")
	}
}

// checkUntil finds what until depends on, and refuses references beyond its
// row.
func (c *checker) checkUntil(w *tableWork, depend func(int32, string)) {
	for id := w.until.lo; id < w.until.hi; id++ {
		switch n := &c.m.Nodes[id]; n.Op {
		case ColumnRef:
			depend(n.Ref(), "until depends on it")
		case PrevRef, NextRef:
			c.fail(c.span(id), diag.LoopWhole, "until refers to its own row only").
				help("give %s a column of its own and name that in until", c.quote(id))
		default:
			if c.readsWhole(n, w.table) {
				c.fail(c.span(id), diag.LoopWhole, "until ends the table, so it cannot refer to a whole column of it")
			}
		}
	}
}

// readsWhole reports whether n reads a whole column of t, or another row.
func (c *checker) readsWhole(n *Node, t *Table) bool {
	switch n.Op {
	case Aggregate, IndexAt:
		return c.m.Columns[n.Ref()].Table == t
	case Lookup:
		xs, _, _ := c.m.LookupOf(n)
		return c.m.Columns[xs].Table == t
	}
	return false
}

// checkLooped refuses in a column of the loop references beyond its row and the
// row before.
func (c *checker) checkLooped(w *tableWork, f columnFormula, why string) {
	c.eachNode(f, func(id NodeID, n *Node) {
		switch n.Op {
		case ColumnRef, PrevRef:
			read := c.m.Columns[n.Ref()]
			w.blank = w.blank || read.Given && read.Type.MayBlank
		}
		if n.Op != NextRef && !c.readsWhole(n, w.table) {
			return
		}
		c.fail(c.span(id), diag.LoopWhole, "%s is computed row by row (%s), so it cannot refer to rows further down", f.column.Name, why).
			help("put %s into a column that no prev and no until depends on", c.quote(id))
	})
}
