package check

import (
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/unit"
)

// inferIntrinsic types a call of an intrinsic by the rule of its row.
func (c *checker) inferIntrinsic(id NodeID) {
	n := c.m.Nodes[id]
	in := &c.m.Intrinsics[n.Ref()]
	args := c.m.ArgsOf(&n)
	blank, ok := false, true
	for _, a := range args {
		ok = c.number(a, in.Name) && ok
		blank = blank || c.m.TypeOf(a).MayBlank
	}
	if !ok {
		return
	}
	t, u := c.ruleType(in, id, args)
	if t == unknownType {
		return
	}
	c.set(id, c.m.mayBlank(t, blank), u)
	c.bareMeets(id, args...)
	switch in.Rule {
	case kernel.KeepsMeasure:
		c.passReading(id, args...)
	case kernel.PureCount:
		c.wholeOf(in.Name, args)
	}
}

// ruleType returns the type and unit of an intrinsic's result.
func (c *checker) ruleType(in *kernel.Intrinsic, id NodeID, args []NodeID) (TypeID, unitID) {
	switch in.Rule {
	case kernel.KeepsMeasure:
		if in.Name == "hypot" && c.pointsSquared(args) {
			return unknownType, 0
		}
		t := c.meetAll(in.Name, args)
		return t, c.firstUnit(t, args...)
	case kernel.RootOf:
		m, ok := c.measure(args[0]).Pow(1, in.Root)
		if !ok {
			c.exponentBound(id)
			return unknownType, 0
		}
		return c.m.intern(Type{Measure: m}), 0
	case kernel.OfAngle:
		return c.ofAngle(in, args[0]), 0
	case kernel.ToAngle, kernel.ToAngleOfTwo:
		if in.Rule == kernel.ToAngle && !c.pureNumber(in, args) {
			return unknownType, 0
		}
		if in.Rule == kernel.ToAngleOfTwo && c.meetAll(in.Name, args) == unknownType {
			return unknownType, 0
		}
		return c.m.intern(Type{Measure: unit.Measure{Counts: unit.Counts{unit.Turn: {Num: 1}}}}), 0
	case kernel.SignOf:
		return numberType, 0
	case kernel.DropsKind:
		m := c.measure(args[0])
		m.Kind = unit.Plain
		return c.m.intern(Type{Measure: m}), 0
	}
	return c.pureType(in, args), 0
}

// pointsSquared refuses points on a scale in hypot, which adds their squares.
func (c *checker) pointsSquared(args []NodeID) bool {
	for _, a := range args {
		if m := c.measure(a); m.Kind == unit.Absolute {
			what, difference := kindWords(m)
			c.fail(c.span(a), diag.KindSum, "hypot adds squares, and %s is an absolute %s: points on a scale have no sum", c.quote(a), what).
				help("a difference has a unit such as %s; plain(%s) drops the kind on purpose", difference, c.quote(a)).
				repair(c.span(a), "plain("+c.file.Slice(c.span(a))+")", "drop the kind on purpose")
			return true
		}
	}
	return false
}

// pureType types functions of plain numbers; some keep counts.
func (c *checker) pureType(in *kernel.Intrinsic, args []NodeID) TypeID {
	if !c.pureNumber(in, args) {
		return unknownType
	}
	if in.Rule != kernel.PureCount {
		return numberType
	}
	return c.m.intern(Type{Measure: unit.Measure{Counts: c.measure(args[0]).Counts}})
}

// pureNumber reports arguments that have a dimension.
func (c *checker) pureNumber(in *kernel.Intrinsic, args []NodeID) bool {
	for _, a := range args {
		if m := c.measure(a); !m.Dimensionless() {
			c.fail(c.span(a), diag.DimensionMismatch, "%s takes a number without a dimension; %s is %s", in.Name, c.quote(a), c.m.Units.Describe(m)).
				help("divide by the unit that is meant, as in %s", c.overUnits(in, args))
			return false
		}
	}
	return true
}

// overUnits writes a call whose arguments are divided by their units.
func (c *checker) overUnits(in *kernel.Intrinsic, args []NodeID) string {
	texts := make([]string, len(args))
	for i, a := range args {
		texts[i] = c.quote(a)
		if m := c.measure(a); !m.Dimensionless() {
			texts[i] = wrapped(texts[i]) + " / 1 " + c.m.Units.Preferred(m).Symbol
		}
	}
	return in.Name + "(" + strings.Join(texts, ", ") + ")"
}

// ofAngle types a function of an angle, which refuses a plain number, because
// it could be degrees or radians.
func (c *checker) ofAngle(in *kernel.Intrinsic, a NodeID) TypeID {
	m := c.measure(a)
	if m.Dimensionless() && m.Counts[unit.Turn] == (unit.Exponent{Num: 1}) {
		return numberType
	}
	text := c.quote(a)
	r := c.fail(c.span(a), diag.AngleNeeded, "%s takes an angle; %s is %s", in.Name, text, c.m.Units.Describe(m))
	if m.Dimensionless() {
		r.help("say what it counts: %s(%s * 1 deg) or %s(%s * 1 rad)", in.Name, text, in.Name, text).
			repair(c.span(a), text+" * 1 deg", "count degrees").
			repair(c.span(a), text+" * 1 rad", "count radians")
	}
	return unknownType
}

// meetAll returns the type of arguments that must all be compatible.
func (c *checker) meetAll(what string, args []NodeID) TypeID {
	t := c.m.present(c.m.Nodes[args[0]].Type())
	for i := 1; i < len(args); i++ {
		if c.meet(what, args[0], args[i]) == unknownType {
			return unknownType
		}
		next := c.m.TypeOf(args[i]).Measure
		if p := unit.Meets(c.m.Types[t].Measure, next); p != "" {
			c.meetFails(p, what, args[i-1], args[i])
			return unknownType
		}
		t = c.m.intern(Type{Measure: unit.Join(c.m.Types[t].Measure, next)})
	}
	return t
}

// inferAggregate types a reduction of a whole column. It is never blank.
func (c *checker) inferAggregate(id NodeID) {
	n := c.m.Nodes[id]
	how := kernel.Aggregate(n.A)
	sub := &c.subjects[c.columnSubject(n.Ref())]
	if how == kernel.Count {
		c.set(id, numberType, 0)
		return
	}
	if sub.state != settled || sub.typ == unknownType {
		return
	}
	t := c.m.present(sub.typ)
	typ := c.m.Types[t]
	col := c.m.Columns[n.Ref()]
	if typ.Form != Number && how != kernel.First && how != kernel.Last {
		c.fail(c.span(id), diag.FormMismatch, "%s needs numbers, and the column %s holds %ss", how, col.Name, bareForm(typ.Form)).
			help("of such a column there is first, last and count")
		return
	}
	if how == kernel.Sum {
		if _, problem := unit.SumKind(typ.Measure.Kind); problem != "" {
			c.kindProblem(id, problem)
			return
		}
	}
	c.hasPi = c.hasPi || sub.hasPi
	c.set(id, t, sub.unit)
}

// inferLookup types a look-up: x is compatible with the first column, the
// result is of the second.
func (c *checker) inferLookup(id NodeID) {
	n := c.m.Nodes[id]
	xsColumn, ysColumn, form := c.m.LookupOf(&n)
	xs, ys := &c.subjects[c.columnSubject(xsColumn)], &c.subjects[c.columnSubject(ysColumn)]
	x := c.m.Nodes[n.A].Type()
	if x == unknownType || xs.state != settled || ys.state != settled || xs.typ == unknownType || ys.typ == unknownType {
		return
	}
	c.valids = c.valids || form == kernel.Clamped
	if !c.lookupForms(id, form, c.m.Types[ys.typ].Form) || form.Statistic() && !c.points(id, xs) {
		return
	}
	if form.Statistic() && c.span(n.A) == c.span(id) { // no x was written
		c.statistic(id, form, xs, ys)
		return
	}
	have, want := c.m.Types[x], c.m.Types[xs.typ]
	col := c.m.Columns[xsColumn]
	if have.Form != want.Form || form != kernel.Pick && have.Form != Number {
		c.fail(c.span(n.A), diag.FormMismatch, "this is looked up in the column %s, which holds %ss; %s is %s", col.Name, bareForm(want.Form), c.quote(n.A), formName(have.Form))
		return
	}
	if have.Form == Number {
		if p := unit.Meets(have.Measure, want.Measure); p != "" {
			message, help := c.m.Units.MismatchText("look-up", have.Measure, want.Measure, c.quote(n.A), "the column "+col.Name)
			r := c.fail(c.span(n.A), problemCode(p), "%s", message)
			r.d.Help = help
			if p == unit.KindsDiffer {
				c.offerKind(r, n.A, want.Measure.Kind)
			}
			return
		}
	}
	if u := c.scaled(xs.unit); u != 0 && c.isBare(n.A) {
		c.bareFails(bareUse{literal: n.A, unit: u, name: "the column " + col.Name})
	}
	if form.Statistic() {
		c.statistic(id, form, xs, ys)
		return
	}
	c.set(id, c.m.mayBlank(c.m.present(ys.typ), have.MayBlank), ys.unit)
}

// points reports whether the first column of a statistic holds numbers.
func (c *checker) points(id NodeID, xs *subject) bool {
	if form := c.m.Types[xs.typ].Form; form != Number {
		c.fail(c.span(id), diag.FormMismatch, "a statistic takes two columns of numbers; the first holds %ss", bareForm(form))
		return false
	}
	return true
}

// statistic types a statistic of two columns: a value of ys on the line, a
// difference of ys about it, or its slope. At a blank x it is blank.
func (c *checker) statistic(id NodeID, form kernel.LookupForm, xs, ys *subject) {
	t, u := c.m.Types[c.m.present(ys.typ)], ys.unit
	switch form {
	case kernel.LineAt:
	case kernel.EffectiveFreedom:
		t, u = c.m.Types[numberType], 0
	default:
		t.Measure.Kind, _ = unit.SubKind(t.Measure.Kind, t.Measure.Kind)
	}
	if form == kernel.Slope || form == kernel.SlopeSD {
		x, ok := c.m.Types[xs.typ].Measure, true
		if t.Measure, ok = t.Measure.Div(x); !ok {
			c.exponentBound(id)
			return
		}
		t.Measure.Kind, u = unit.Plain, 0
	}
	x := c.m.Types[c.m.Nodes[c.m.Nodes[id].A].Type()]
	typ := c.m.mayBlank(c.m.intern(t), x.MayBlank)
	c.set(id, typ, c.fitting(typ, u))
}

// lookupForms reports an interpolating look-up of values that cannot be
// interpolated.
func (c *checker) lookupForms(id NodeID, form kernel.LookupForm, ys Form) bool {
	if form == kernel.Pick || ys == Number {
		return true
	}
	c.fail(c.span(id), diag.FormMismatch, "a look-up goes straight from row to row, and the values it reads are %ss", bareForm(ys)).
		help("pick(key, keys, values) takes the row whose key is exactly this")
	return false
}

// inferIndex types table.column[row]. An index to a blank is a fault, so the
// value is never blank.
func (c *checker) inferIndex(id NodeID) {
	n := c.m.Nodes[id]
	row := c.m.Nodes[n.A].Type()
	if row != unknownType {
		if t := c.m.Types[row]; t.Form != Number || !t.Measure.Dimensionless() {
			c.fail(c.span(n.A), diag.EntryRow, "the row in brackets is a number, counted from 1; %s is %s", c.quote(n.A), c.m.describe(row))
			return
		}
	}
	sub := &c.subjects[c.columnSubject(n.Ref())]
	if row == unknownType || sub.state != settled || sub.typ == unknownType {
		return
	}
	t := c.m.mayBlank(c.m.present(sub.typ), c.m.Types[row].MayBlank)
	c.set(id, t, sub.unit)
}
