package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// The formula alone suggests the display unit of a computed cell without `as`.
// Each node passes a suggestion, or none, to the node that reads it:
//
//	a call            the function's declared result unit
//	a name            the unit that cell is shown in; so for a column read by
//	                  prev, next, an index, an aggregate or a look-up
//	+ − min max if …  the first operand's suggestion that fits the result
//	× ÷               where one operand alone has a dimension and the result
//	                  has its measure: that operand's suggestion
//
// A formula without one is shown in the preferred unit of its measure; a
// number without dimension in none, unless it is a call or a name.

// fitting returns u if values of type t can be shown in it and have a
// dimension, else 0.
func (c *checker) fitting(t TypeID, u unitID) unitID {
	if u == 0 {
		return 0
	}
	own, want := c.m.units[u].Type, c.m.present(t)
	if own == want && want != numberType {
		return u
	}
	a, b := c.m.Types[own].Measure, c.m.Types[want].Measure
	if b == (unit.Measure{}) || a.Dim != b.Dim || a.Kind != b.Kind || unit.Meets(a, b) != "" {
		return 0
	}
	return u
}

// firstUnit returns the first suggestion among operands that fits t.
func (c *checker) firstUnit(t TypeID, operands ...NodeID) unitID {
	for _, id := range operands {
		if u := c.fitting(t, c.shown[id]); u != 0 {
			return u
		}
	}
	return 0
}

// scaledUnit returns the suggestion for a product or quotient of a and b.
func (c *checker) scaledUnit(t TypeID, a, b NodeID) unitID {
	want := c.m.present(t)
	x, y := c.m.present(c.m.Nodes[a].Type()), c.m.present(c.m.Nodes[b].Type())
	switch {
	case want == numberType:
		return 0
	case want == x && c.m.Types[y].Measure.Dimensionless():
		return c.fitting(t, c.shown[a])
	case want == y && c.m.Types[x].Measure.Dimensionless():
		return c.fitting(t, c.shown[b])
	}
	return 0
}

// applyAs checks `as` on a value of type t and returns its type, whose kind the
// unit may fix, and the unit. A number that cannot be shown in the unit has no
// type: either the formula or the unit may be wrong, and no further error is
// reported for it.
func (c *checker) applyAs(as *syntax.UnitRef, t TypeID, name string) (TypeID, unitID, bool) {
	id, err := c.m.findUnit(as.Text)
	if err != nil {
		c.place(badUnit(err, as.Span))
		return t, 0, false
	}
	typ := c.m.Types[t]
	if t == unknownType {
		return t, id, true
	}
	if typ.Form != Number {
		c.fail(as.Span, diag.ClauseForm, "%s is %s: as is for numbers only", name, formName(typ.Form))
		return t, 0, false
	}
	u := c.m.units[id].Unit
	if p := unit.Meets(typ.Measure, u.Measure); p != "" {
		c.asFails(as, p, name, typ.Measure, u)
		return unknownType, 0, false
	}
	if typ.Measure.Kind == unit.Plain {
		typ.Measure.Kind = u.Measure.Kind
	}
	return c.m.intern(typ), id, true
}

// asFails reports a unit in which a value cannot be shown.
func (c *checker) asFails(as *syntax.UnitRef, p unit.Problem, name string, m unit.Measure, u unit.Unit) {
	if p == unit.KindsDiffer {
		r := c.fail(as.Span, diag.KindMismatch, "%s is %s; %s shows %s", name, c.m.Units.Describe(m), u.Symbol, c.m.Units.Describe(u.Measure))
		r.help("show it in a unit of its own kind, such as %s", c.m.Units.Preferred(m).Symbol).
			repair(as.Span, c.m.Units.Preferred(m).Symbol, "write as %s", c.m.Units.Preferred(m).Symbol)
		return
	}
	message, help := c.m.Units.MismatchText("as", m, u.Measure, name, u.Symbol)
	if m == (unit.Measure{}) {
		help = "correct the formula, or leave out as " + u.Symbol
	}
	r := c.fail(as.Span, problemCode(p), "%s", message)
	r.d.Help = help
}

// turnsLeft advises if a power, torque or acceleration still counts turns: the
// formula multiplied by a speed in rpm without 2 pi.
func (c *checker) turnsLeft(q *Quantity, t TypeID) {
	m := c.m.Types[t].Measure
	if c.hasPi || m.Counts[unit.Turn].Num == 0 || t == unknownType {
		return
	}
	what := turning(m.Dim)
	if what == "" || c.decl(q) == nil || c.decl(q).As != nil && hasRadian(c.decl(q).As.Text) {
		return
	}
	c.advise(c.decl(q).Name.Span, diag.TurnsLeft, "%s is %s with turns left in it: a turn is 2 pi radians, and there is no pi or rad in the formula", q.Name, what).
		help("shaft_power(torque, speed) and shaft_torque(power, speed) take it into account")
}

// turning names the quantities in which a remaining turn is a mistake.
func turning(d unit.Dimension) string {
	e := func(length, mass, time int8) unit.Dimension {
		var d unit.Dimension
		d[unit.Length].Num, d[unit.Mass].Num, d[unit.Time].Num = length, mass, time
		return d
	}
	switch d {
	case e(2, 1, -3):
		return "a power"
	case e(2, 1, -2):
		return "a torque"
	case e(1, 0, -2):
		return "an acceleration"
	}
	return ""
}
