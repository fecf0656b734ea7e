package check

import (
	"fmt"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
)

// ownValids builds the conditions that a function's body states.
func (c *checker) ownValids(s *scope, in *Instance) {
	for _, v := range in.Decl.Valid {
		lo := NodeID(len(c.m.Nodes))
		root := c.build(s, v.Cond)
		c.inferRange(lo, NodeID(len(c.m.Nodes)))
		if !c.truth(root, "valid") {
			continue
		}
		text := in.Name + ": valid for " + syntax.String(v.Cond)
		if v.Message != nil {
			text += " (" + v.Message.Text + ")"
		}
		in.Valids = append(in.Valids, Valid{Cond: root, Text: text})
	}
}

// innerValids carries the conditions of the functions that a body calls out
// to its own callers, each guarded by the branches that the call stands in.
func (c *checker) innerValids(in *Instance) {
	if !c.valids {
		return
	}
	walk := c.newValidWalk()
	for _, step := range in.Steps {
		walk.visit(step)
	}
	walk.visit(in.Result)
	in.Valids = append(in.Valids, walk.found...)
}

// validWalk collects the conditions of validity of all calls in a formula.
type validWalk struct {
	c     *checker
	guard []guard
	seen  map[NodeID]bool
	found []Valid        // one of each text
	place map[string]int // in found
}

// guard is a branch that a call stands in: its conditions count only where
// cond is taken or, with otherwise, where it is not.
type guard struct {
	cond      NodeID
	otherwise bool
}

func (c *checker) newValidWalk() *validWalk {
	return &validWalk{c: c, seen: map[NodeID]bool{}, place: map[string]int{}}
}

// emit takes in a condition. What says the same is told once, so the
// conditions are joined.
func (w *validWalk) emit(cond NodeID, text string) {
	i, known := w.place[text]
	if !known {
		w.place[text] = len(w.found)
		w.found = append(w.found, Valid{Cond: cond, Text: text})
		return
	}
	c := w.c
	first := w.found[i].Cond
	t := c.m.mayBlank(truthType, c.m.TypeOf(first).MayBlank || c.m.TypeOf(cond).MayBlank)
	w.found[i].Cond = c.node(Node{Op: And, Type: t, A: first, B: cond, Span: c.span(cond)})
}

// visit looks at the node id and below. A node that hangs in two places (the
// middle of a chain of comparisons) counts where it is computed first.
func (w *validWalk) visit(id NodeID) {
	if id == 0 || w.seen[id] {
		return
	}
	n := w.c.m.Nodes[id]
	if n.Op <= RowRef || n.Op == ParamRef || n.Op == StepRef || n.Op == Aggregate {
		return
	}
	w.seen[id] = true
	switch n.Op {
	case Call:
		for _, a := range w.c.m.Args[n.A : n.A+n.B] {
			w.visit(a)
		}
		w.call(n)
	case Intrinsic:
		for _, a := range w.c.m.Args[n.A : n.A+n.B] {
			w.visit(a)
		}
	case If:
		w.visit(n.A)
		w.branch(guard{n.A, false}, n.B)
		w.branch(guard{n.A, true}, n.C)
	case And, Or:
		w.visit(n.A)
		w.branch(guard{n.A, n.Op == Or}, n.B)
	case Lookup:
		w.visit(n.A)
		if kernel.LookupForm(n.C) == kernel.Clamped {
			w.clamped(n)
		}
	case IndexAt:
		w.visit(n.A)
	default:
		w.visit(n.A)
		w.visit(n.B)
	}
}

func (w *validWalk) branch(g guard, id NodeID) {
	w.guard = append(w.guard, g)
	w.visit(id)
	w.guard = w.guard[:len(w.guard)-1]
}

// call emits the conditions of one call, guarded.
func (w *validWalk) call(n Node) {
	c := w.c
	blank := false
	for _, a := range c.m.Args[n.A : n.A+n.B] {
		blank = blank || c.m.TypeOf(a).MayBlank
	}
	truth := c.m.mayBlank(truthType, blank)
	for i, v := range c.m.Instances[n.Ref].Valids {
		cond := c.node(Node{Op: ValidCall, Type: truth, A: n.A, B: n.B, C: NodeID(i), Ref: n.Ref, Span: n.Span})
		for g := len(w.guard) - 1; g >= 0; g-- {
			cond = c.guarded(w.guard[g], cond)
		}
		w.emit(cond, v.Text)
	}
}

// clamped emits that a look-up, which never fails, stays on its curve.
func (w *validWalk) clamped(n Node) {
	c := w.c
	xs := c.m.Columns[n.Ref]
	name := xs.Table.Name + "." + xs.Name
	truth := c.m.mayBlank(truthType, c.m.TypeOf(n.A).MayBlank)
	end := func(how kernel.Aggregate) NodeID {
		return c.node(Node{Op: Aggregate, Type: c.m.present(c.m.Nodes[n.A].Type), Ref: n.Ref, A: NodeID(how), Span: n.Span})
	}
	above := c.node(Node{Op: LessEqual, Type: truth, A: end(kernel.Min), B: n.A, Span: n.Span})
	below := c.node(Node{Op: LessEqual, Type: truth, A: n.A, B: end(kernel.Max), Span: n.Span})
	cond := c.node(Node{Op: And, Type: truth, A: above, B: below, Span: n.Span})
	for g := len(w.guard) - 1; g >= 0; g-- {
		cond = c.guarded(w.guard[g], cond)
	}
	w.emit(cond, fmt.Sprintf("lookup_clamped: valid for min(%[1]s) <= %[2]s <= max(%[1]s) (off its ends the curve is not known, the end's value stands)", name, c.quote(n.A)))
}

// guarded returns the condition that cond holds where g is taken.
func (c *checker) guarded(g guard, cond NodeID) NodeID {
	n := Node{Op: If, Type: c.m.mayBlank(truthType, c.m.TypeOf(g.cond).MayBlank || c.m.TypeOf(cond).MayBlank), A: g.cond, B: cond, C: c.yes(), Span: c.span(cond)}
	if g.otherwise {
		n.B, n.C = n.C, n.B
	}
	return c.node(n)
}

func (c *checker) yes() NodeID { return c.node(Node{Op: Const, Type: truthType, Num: 1}) }

// cellAdvices adds the conditions that a cell should keep to the model.
func (c *checker) cellAdvices(cell *Cell) {
	w := c.newValidWalk()
	w.visit(cell.Formula)
	for _, v := range w.found {
		c.m.Advices = append(c.m.Advices, &Advice{Cell: cell, Cond: v.Cond, Text: v.Text})
	}
}

// columnAdvices does the same for a column. With a start, the formula counts
// from the second row on.
func (c *checker) columnAdvices(col *Column) {
	w := c.newValidWalk()
	if col.Start == 0 {
		w.visit(col.Formula)
	} else {
		row := c.node(Node{Op: RowRef, Type: numberType})
		one := c.node(Node{Op: Const, Type: numberType, Num: 1})
		first := c.node(Node{Op: Equal, Type: truthType, A: row, B: one})
		w.branch(guard{first, false}, col.Start)
		w.branch(guard{first, true}, col.Formula)
	}
	for _, v := range w.found {
		c.m.Advices = append(c.m.Advices, &Advice{Column: col, Cond: v.Cond, Text: v.Text})
	}
}

// rangeAdvice adds the condition that a given stays inside its range.
func (c *checker) rangeAdvice(q *Quantity, cell *Cell, col *Column) {
	if q.Range == nil {
		return
	}
	t := q.Type
	t.MayBlank = false
	typ := c.m.intern(t)
	ref := Node{Op: CellRef, Type: c.m.mayBlank(typ, q.Type.MayBlank), Span: q.Decl.Name.Span}
	if cell != nil {
		ref.Ref = int32(cell.Index)
	} else {
		ref.Op, ref.Ref = ColumnRef, int32(col.Index)
	}
	span := q.Decl.Range.Span
	lo := c.node(Node{Op: Const, Type: typ, Num: q.Range[0], Span: span})
	hi := c.node(Node{Op: Const, Type: typ, Num: q.Range[1], Span: span})
	value := c.node(ref)
	truth := c.m.mayBlank(truthType, q.Type.MayBlank)
	above := c.node(Node{Op: LessEqual, Type: truth, A: lo, B: value, Span: span})
	below := c.node(Node{Op: LessEqual, Type: truth, A: value, B: hi, Span: span})
	cond := c.node(Node{Op: And, Type: truth, A: above, B: below, Span: span})
	c.m.Advices = append(c.m.Advices, &Advice{Cell: cell, Column: col, Cond: cond, Text: "outside its range " + c.rangeText(q)})
}

// rangeText writes a range as it is written, with the unit of its value.
func (c *checker) rangeText(q *Quantity) string {
	r := q.Decl.Range
	text := c.file.Slice(r.Lo.Pos().To(r.Hi.Pos()))
	if n, ok := r.Hi.(*syntax.Number); ok && n.Unit == nil {
		if u := c.valueText(q.Decl); u != "" {
			text += " " + u
		}
	}
	return text
}
