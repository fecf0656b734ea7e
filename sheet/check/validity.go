package check

import (
	"fmt"
	"strings"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// ownValids builds the conditions that a function's body states.
func (c *checker) ownValids(s *scope, in *Instance) {
	for _, v := range s.body.function.decl.Valid {
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

// innerValids passes the conditions of the functions that a body calls on to
// the callers of the body, each guarded by the branches around the call.
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
	found []Valid        // one for each text
	place map[string]int // in found
}

// guard is a branch around a call: its conditions apply only if cond holds or,
// with otherwise, if it does not.
type guard struct {
	cond      NodeID
	otherwise bool
}

func (c *checker) newValidWalk() *validWalk {
	return &validWalk{c: c, seen: map[NodeID]bool{}, place: map[string]int{}}
}

// emit adds a condition. Conditions with the same message are joined, so the
// message is reported once.
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
	w.found[i].Cond = c.node(operation(And, t, first, cond), c.span(cond))
}

// visit walks the node id and those below. A node with two parents (the middle
// of a chain of comparisons) is visited where it is computed first.
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
		for _, a := range w.c.m.ArgsOf(&n) {
			w.visit(a)
		}
		w.call(id)
	case Intrinsic:
		for _, a := range w.c.m.ArgsOf(&n) {
			w.visit(a)
		}
	case If:
		w.visit(n.A)
		then, other := w.c.m.BranchesOf(&n)
		w.branch(guard{n.A, false}, then)
		w.branch(guard{n.A, true}, other)
	case And, Or:
		w.visit(n.A)
		w.branch(guard{n.A, n.Op == Or}, n.B)
	case Lookup:
		w.visit(n.A)
		if _, _, form := w.c.m.LookupOf(&n); form == kernel.Clamped {
			w.clamped(id)
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
func (w *validWalk) call(id NodeID) {
	c := w.c
	n := c.m.Nodes[id]
	blank := false
	for _, a := range c.m.ArgsOf(&n) {
		blank = blank || c.m.TypeOf(a).MayBlank
	}
	truth := c.m.mayBlank(truthType, blank)
	for i, v := range c.m.Instances[n.Ref()].Valids {
		cond := c.node(operation(ValidCall, truth, n.A, c.m.putArgs(NodeID(n.Ref()), NodeID(i))), c.span(id))
		for g := len(w.guard) - 1; g >= 0; g-- {
			cond = c.guarded(w.guard[g], cond)
		}
		w.emit(cond, v.Text)
	}
}

// clamped emits the condition that x of a clamped look-up is on its curve; the
// look-up itself never fails.
func (w *validWalk) clamped(id NodeID) {
	c := w.c
	n, span := c.m.Nodes[id], c.span(id)
	column, _, _ := c.m.LookupOf(&n)
	xs := c.m.Columns[column]
	name := xs.Table.Name + "." + xs.Name
	truth := c.m.mayBlank(truthType, c.m.TypeOf(n.A).MayBlank)
	end := func(how kernel.Aggregate) NodeID {
		return c.node(operation(Aggregate, c.m.present(c.m.Nodes[n.A].Type()), NodeID(how), NodeID(column)), span)
	}
	above := c.node(operation(LessEqual, truth, end(kernel.Min), n.A), span)
	below := c.node(operation(LessEqual, truth, n.A, end(kernel.Max)), span)
	cond := c.node(operation(And, truth, above, below), span)
	for g := len(w.guard) - 1; g >= 0; g-- {
		cond = c.guarded(w.guard[g], cond)
	}
	w.emit(cond, fmt.Sprintf("lookup_clamped: valid for min(%[1]s) <= %[2]s <= max(%[1]s) (beyond its ends the curve is not known; the value of the end is used)", name, c.quote(n.A)))
}

// guarded returns the condition that cond holds where g is taken.
func (c *checker) guarded(g guard, cond NodeID) NodeID {
	n := Draft{Op: If, Type: c.m.mayBlank(truthType, c.m.TypeOf(g.cond).MayBlank || c.m.TypeOf(cond).MayBlank), A: g.cond, B: cond, C: c.yes()}
	if g.otherwise {
		n.B, n.C = n.C, n.B
	}
	return c.node(c.m.pack(n), c.span(cond))
}

func (c *checker) yes() NodeID { return c.node(number(truthType, 1), source.Span{}) }

// cellAdvices adds the conditions that a cell should keep to the model.
func (c *checker) cellAdvices(cell *Cell) {
	w := c.newValidWalk()
	w.visit(cell.Formula)
	for _, v := range w.found {
		c.m.Advices = append(c.m.Advices, &Advice{Cell: cell, Cond: v.Cond, Text: v.Text})
	}
}

// columnAdvices does the same for a column. With a start, the formula applies
// from the second row on.
func (c *checker) columnAdvices(col *Column) {
	w := c.newValidWalk()
	if col.Start == 0 {
		w.visit(col.Formula)
	} else {
		row := c.node(operation(RowRef, numberType, 0, 0), source.Span{})
		one := c.node(number(numberType, 1), source.Span{})
		first := c.node(operation(Equal, truthType, row, one), source.Span{})
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
	op, index := CellRef, int32(0)
	if cell != nil {
		index = cell.Index
	} else {
		op, index = ColumnRef, col.Index
	}
	span := c.decl(q).Name.Span
	lo := c.node(number(typ, q.Range[0]), span)
	hi := c.node(number(typ, q.Range[1]), span)
	value := c.node(reference(op, c.m.mayBlank(typ, q.Type.MayBlank), index), c.decl(q).Name.Span)
	truth := c.m.mayBlank(truthType, q.Type.MayBlank)
	above := c.node(operation(LessEqual, truth, lo, value), span)
	below := c.node(operation(LessEqual, truth, value, hi), span)
	cond := c.node(operation(And, truth, above, below), span)
	c.m.Advices = append(c.m.Advices, &Advice{Cell: cell, Column: col, Cond: cond, Text: "outside its range " + c.rangeText(q, cell, col)})
}

// rangeText writes a range as in the text, with the unit of its value, or in
// the shown unit if another worksheet has stated it.
func (c *checker) rangeText(q *Quantity, cell *Cell, col *Column) string {
	r := c.decl(q).Range
	if r == nil || cell != nil && len(c.merge.beside[cell.Index]) > 0 || col != nil && c.merge.joined[col.Table] != nil {
		u := q.Unit
		return strings.TrimSuffix(unit.FormatTyped(u.Clean(q.Range[0]))+".."+unit.FormatTyped(u.Clean(q.Range[1]))+" "+u.Symbol, " ")
	}
	text := c.file.Slice(r.Lo.Pos().To(r.Hi.Pos()))
	if n, ok := r.Hi.(*syntax.Number); ok && n.Unit == nil {
		if u := c.valueText(c.decl(q)); u != "" {
			text += " " + u
		}
	}
	return text
}
