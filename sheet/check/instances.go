package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// makeInstance checks a function's body for the types of its parameters.
func (c *checker) makeInstance(b *body) call {
	f := b.function
	failed := call{instance: -1}
	if f.busy || f.decl.Body == nil {
		return failed // this has been reported
	}
	if c.depth >= source.MaxDepth {
		c.failIn(f.file, f.decl.Name.Span, diag.TooLarge, "calls of functions nest more than %d deep", source.MaxDepth)
		return failed
	}
	if len(c.m.Nodes)-c.built > source.MaxBodies {
		c.failIn(f.file, f.decl.Name.Span, diag.TooLarge, "the functions that this sheet calls have more than %d operations, counted once for each set of types", source.MaxBodies)
		return failed
	}
	saved := c.work
	f.busy = true
	c.depth++
	c.work = work{file: f.file, body: b}
	defer func() {
		c.work = saved
		f.busy = false
		c.depth--
	}()
	in := &Instance{Name: f.decl.Name.Text, File: f.file, Unit: unit.Unit{Scale: 1}, from: f.from, place: f.place}
	if f.library {
		in.library = f.decl
	}
	for _, t := range b.types {
		in.Params = append(in.Params, c.m.Types[t])
	}
	before := len(c.list)
	s := &scope{body: b}
	for _, st := range f.decl.Steps {
		in.Steps = append(in.Steps, c.makeStep(s, st))
	}
	lo := NodeID(len(c.m.Nodes))
	in.Result = c.build(s, f.decl.Body)
	c.inferRange(lo, NodeID(len(c.m.Nodes)))
	typ, u := c.resultType(b, in.Result)
	in.Type = typ
	if u != 0 {
		in.Unit = c.m.units[u].Unit
	}
	c.ownValids(s, in)
	c.innerValids(in)
	c.measureInstance(f, in)
	if typ == unknownType || c.list[min(before, len(c.list)):].Errors() {
		return failed
	}
	c.m.Instances = append(c.m.Instances, in)
	return call{instance: int32(len(c.m.Instances) - 1), typ: typ, unit: u, hasPi: c.hasPi && f.decl.Result == nil}
}

// makeStep builds and types one step of a body.
func (c *checker) makeStep(s *scope, decl *syntax.Cell) NodeID {
	b := s.body
	lo := NodeID(len(c.m.Nodes))
	root := c.build(s, decl.Formula)
	c.inferRange(lo, NodeID(len(c.m.Nodes)))
	if decl.As != nil {
		if t, u, ok := c.applyAs(decl.As, c.m.Nodes[root].Type(), decl.Name.Text); ok {
			c.set(root, t, u)
		}
	}
	for _, p := range b.function.decl.Params {
		if p.Name.Text == decl.Name.Text {
			c.fail(decl.Name.Span, diag.NameDuplicate, "%s is a parameter already: a step needs a name of its own", p.Name.Text).
				related(b.function.file, p.Name.Span, "the parameter %s", p.Name.Text)
		}
	}
	for _, before := range b.steps {
		if before.name == decl.Name.Text {
			c.fail(decl.Name.Span, diag.NameDuplicate, "the step %s is defined twice", before.name)
		}
	}
	b.steps = append(b.steps, step{decl.Name.Text, root})
	return root
}

// resultType returns the type of a function's result: the declared one, with
// which the body must be compatible, or the body's own.
func (c *checker) resultType(b *body, root NodeID) (TypeID, unitID) {
	have := c.m.Nodes[root].Type()
	ref := b.function.decl.Result
	if have == unknownType || ref == nil {
		return have, 0
	}
	h := c.m.Types[have]
	if ref.Text == "text" {
		if h.Form != Text {
			c.fail(c.span(root), diag.FormMismatch, "%s is declared as a text, and its last line is %s", b.function.decl.Name.Text, formName(h.Form))
			return unknownType, 0
		}
		return have, 0
	}
	u, err := c.resultUnit(b, ref.Text)
	if err != nil {
		c.place(badUnit(err, ref.Span))
		return unknownType, 0
	}
	if h.Form != Number {
		c.fail(c.span(root), diag.FormMismatch, "%s is declared as a number in %s, and its last line is %s", b.function.decl.Name.Text, ref.Text, formName(h.Form))
		return unknownType, 0
	}
	want := c.m.units[u]
	if p := unit.Meets(h.Measure, want.Measure); p != "" {
		message, help := c.m.Units.MismatchText(b.function.decl.Name.Text, h.Measure, want.Measure, "its last line", "the result it declares, "+ref.Text+",")
		c.fail(c.span(root), problemCode(p), "%s", message).related(c.file, ref.Span, "declared here").d.Help = help
		return unknownType, 0
	}
	c.resultTurns(b, root, want.Type)
	return c.m.mayBlank(want.Type, h.MayBlank), u
}

// resultUnit reads the unit of a result, which may be made of parameters:
// price/life.
func (c *checker) resultUnit(b *body, text string) (unitID, *unit.ParseError) {
	named := false
	u, err := c.m.Units.ParseIn(text, func(name string) (unit.Unit, bool) {
		for i, p := range b.function.decl.Params {
			if p.Name.Text == name && c.m.Types[b.types[i]].Form == Number {
				named = true
				return unit.Unit{Symbol: name, Scale: 1, Measure: c.m.Types[b.types[i]].Measure}, true
			}
		}
		return unit.Unit{}, false
	})
	switch {
	case err != nil:
		return 0, err
	case named:
		return c.m.preferred(c.m.intern(Type{Measure: u.Measure})), nil
	}
	return c.m.findUnit(text)
}

// resultTurns advises if a function of the sheet declares a power as its result
// but leaves turns in it.
func (c *checker) resultTurns(b *body, root NodeID, want TypeID) {
	m := c.m.TypeOf(root).Measure
	if b.function.library || c.hasPi || m.Counts[unit.Turn].Num == 0 || turning(c.m.Types[want].Measure.Dim) == "" {
		return
	}
	c.advise(c.span(root), diag.TurnsLeft, "the result of %s has turns left in it: a turn is 2 pi radians, and there is no pi or rad in the formula", b.function.decl.Name.Text).
		help("shaft_power(torque, speed) and shaft_torque(power, speed) take it into account")
}

// measureInstance counts the operations of an instance with all its calls
// expanded.
func (c *checker) measureInstance(f *function, in *Instance) {
	size := 0
	for _, id := range append(in.Steps[:len(in.Steps):len(in.Steps)], in.Result) {
		size += c.size(id)
	}
	in.Size = size
	if size > source.MaxExpanded {
		c.fail(f.decl.Name.Span, diag.TooLarge, "%s has more than %d operations when its calls are expanded", in.Name, source.MaxExpanded).
			help("a table computes such things row by row")
	}
}

// isSmall reports whether a formula is certainly within the bound: so few nodes
// cannot expand to more than 2^16, even if each had all earlier nodes as
// operands.
func (c *checker) isSmall(f nodes) bool {
	const few = 16
	if f.hi-f.lo > few {
		return false
	}
	for id := f.lo; id < f.hi; id++ {
		if op := c.m.Nodes[id].Op; op == Call || op == ValidCall {
			return false
		}
	}
	return true
}

// size counts the operations below root with all calls expanded; beyond the
// bound it stops counting.
func (c *checker) size(root NodeID) int {
	total := 0
	c.sizes = append(c.sizes[:0], root)
	for len(c.sizes) > 0 && total <= source.MaxExpanded {
		id := c.sizes[len(c.sizes)-1]
		c.sizes = c.sizes[:len(c.sizes)-1]
		n := &c.m.Nodes[id]
		total++
		if n.Op == Call {
			total += c.m.Instances[n.Ref()].Size
		}
		c.sizes = c.m.AppendOperands(c.sizes, n)
	}
	return total
}
