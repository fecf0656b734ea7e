package check

import (
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/unit"
)

// kindProblem reports an operation that breaks a rule on points and
// differences, with a correction.
func (c *checker) kindProblem(id NodeID, problem unit.KindProblem) {
	n := c.m.Nodes[id]
	what, difference := kindWords(c.problemMeasure(n))
	switch problem {
	case unit.SharesMeet:
		c.mismatch(unit.KindsDiffer, opWord(n.Op), n.A, n.B)
	case unit.AbsolutePlusAbsolute:
		c.fail(c.span(id), diag.KindSum, "%s and %s are both absolute %ss: two points on a scale have no sum", c.quote(n.A), c.quote(n.B), what).
			help("their mean is %s + (%s - %s) / 2; if one of them is meant as a difference, give it a unit such as %s", c.quote(n.A), c.quote(n.B), c.quote(n.A), difference)
	case unit.RelativeMinusAbsolute:
		c.fail(c.span(id), diag.KindDifference, "%s is %s and %s is absolute: a point cannot be taken from a difference", c.quote(n.A), relativeWord(what), c.quote(n.B)).
			help("swap the two, or write plain(%s)", c.quote(n.B))
	case unit.RelativeOverAbsolute:
		if what == "temperature" {
			c.fail(c.span(id), diag.KindQuotient, "%s is a temperature difference and %s is absolute: their quotient is not a ratio of temperatures", c.quote(n.A), c.quote(n.B)).
				help("a ratio is (%s + %s) / %s; a rise as a share of a temperature is plain(%s) / %s", c.quote(n.B), c.quote(n.A), c.quote(n.B), c.quote(n.A), c.quote(n.B))
			return
		}
		r := c.fail(c.span(id), diag.KindQuotient, "%s is %s and %s is absolute: their quotient means nothing, as the gauge value leaves out what it counts from", c.quote(n.A), relativeWord(what), c.quote(n.B))
		c.offerAmbient(r, n.A)
	case unit.AbsoluteOverRelative:
		r := c.fail(c.span(id), diag.KindQuotient, "%s is absolute and %s is %s: their quotient means nothing, as the one leaves out what it counts from", c.quote(n.A), c.quote(n.B), relativeWord(what))
		if what == "temperature" {
			r.help("how often a difference goes into a temperature is plain(%s) / %s", c.quote(n.A), c.quote(n.B))
			return
		}
		c.offerAmbient(r, n.B)
	case unit.NegatedAbsolute:
		c.fail(c.span(id), diag.KindNegated, "%s is an absolute %s: minus a point on a scale means nothing", c.quote(n.A), what).
			help("write -plain(%s) if the number alone is meant; a difference has a unit such as %s", c.quote(n.A), difference).
			repair(c.span(n.A), "plain("+c.quote(n.A)+")", "drop the kind on purpose")
	case unit.SumOfAbsolute:
		name := c.quote(id)
		inner := strings.TrimPrefix(name, "sum")
		c.fail(c.span(id), diag.KindColumnSum, "the column holds absolute %ss: points on a scale have a mean, not a sum", what).
			help("write mean%s", inner).
			repair(c.span(id), "mean"+inner, "write mean%s", inner)
	}
}

// kelvinOnPoint refuses a temperature in K in front of a point on a scale, 300
// K + 20 degC: after it, K is a difference; in front, it is ambiguous.
func (c *checker) kelvinOnPoint(id NodeID, n Node, a, b unit.Measure) bool {
	if a.Kind != unit.Plain || b.Kind != unit.Absolute || b.Dim != kelvin || c.shown[n.A] == 0 {
		return false
	}
	left, right := c.quote(n.A), c.quote(n.B)
	symbol := c.m.units[c.shown[n.A]].Symbol
	r := c.fail(c.span(id), diag.KindSum, "%s is in %s, which may be a temperature or a difference, and %s is a point on a scale: two temperatures have no sum", left, symbol, right).
		help("if %s is a difference, write %s + %s; the mean of two temperatures is %s + (%s - plain(%s)) / 2", left, right, left, right, left, right)
	if whole := c.file.Slice(c.span(id)); !c.muted(r) {
		a, b := c.file.Slice(c.span(n.A)), c.file.Slice(c.span(n.B))
		if strings.HasPrefix(whole, a) && strings.HasSuffix(whole, b) {
			r.repair(c.span(id), b+whole[len(a):len(whole)-len(b)]+a, "swap the two: a difference")
		}
	}
	return true
}

// kelvin is the dimension of temperatures.
var kelvin = unit.Dimension{unit.Temperature: {Num: 1}}

// pointScaled refuses a literal on a scale of temperature that is multiplied
// or divided by a number: row * 1 degC is 274.15 K in the first row.
func (c *checker) pointScaled(n Node) bool {
	literal, by := n.A, n.B
	if n.Op == Mul && c.m.Nodes[n.B].Op == Const {
		literal, by = n.B, n.A
	}
	u := c.m.units[max(c.shown[literal], 0)]
	if c.m.Nodes[literal].Op != Const || u.Offset == 0 || !c.measure(by).Dimensionless() || c.m.TypeOf(by).Form != Number {
		return false
	}
	text := c.quote(literal)
	difference := strings.TrimSuffix(text, u.Symbol) + "delta" + strings.TrimPrefix(u.Symbol, "deg")
	r := c.fail(c.span(literal), diag.KindProduct, "%s is a point on a scale, %s: a multiple of it is not a multiple of a difference", text, unit.Unit{Symbol: "K", Scale: 1}.Format(c.m.Nodes[literal].Num(), 0)).
		help("a difference is written %s; a point so far up the scale is 0 %s + %s times %s", difference, u.Symbol, difference, c.quote(by))
	r.repair(c.span(literal), "plain("+text+")", "keep the value: write plain(%s)", text).
		repair(c.span(literal), difference, "change the value: write %s", difference)
	if !c.muted(r) {
		r.d.Repairs[len(r.d.Repairs)-1].Changes = true
	}
	return true
}

// problemMeasure returns the measure whose kind is in question.
func (c *checker) problemMeasure(n Node) unit.Measure {
	if n.Op == Aggregate {
		return c.m.Types[c.subjects[c.columnSubject(n.Ref())].typ].Measure
	}
	return c.measure(n.A)
}

// kindWords returns the name of values of m, and a unit of differences.
func kindWords(m unit.Measure) (what, difference string) {
	if m.Dim == (unit.Dimension{unit.Temperature: {Num: 1}}) {
		return "temperature", "deltaC"
	}
	return "pressure", "psig or kPad"
}

func relativeWord(what string) string {
	if what == "temperature" {
		return "a temperature difference"
	}
	return "a relative pressure"
}

// offerKind offers the repair of an operand whose kind is wrong at its place.
func (c *checker) offerKind(r report, id NodeID, want unit.Kind) {
	switch {
	case c.muted(r):
	case want == unit.Absolute:
		c.offerAmbient(r, id)
	case want == unit.Relative:
		text := c.quote(id)
		if cell := c.ambientCell(c.measure(id)); cell != nil {
			r.help("the difference from ambient is %s - %s", text, cell.Name).
				repair(c.span(id), wrapped(text)+" - "+cell.Name, "subtract %s", cell.Name)
		} else if r.d.Help == "" {
			r.help("subtract the pressure or temperature that it counts from")
		}
	}
}

// offerAmbient offers to add the reference of a relative value.
func (c *checker) offerAmbient(r report, id NodeID) {
	if c.muted(r) {
		return
	}
	text := c.quote(id)
	cell := c.ambientCell(c.measure(id))
	switch {
	case cell != nil && strings.HasSuffix(text, "…"):
		r.help("add what it counts from: %s", cell.Name)
	case cell != nil:
		r.help("the absolute value is %s + %s", text, cell.Name).
			repair(c.span(id), "("+text+" + "+cell.Name+")", "add %s", cell.Name)
	case r.d.Help == "":
		r.help("add the ambient value that it counts from, an absolute one: %s + ambient_pressure", text)
	}
}

// wrapped puts brackets around anything but a name.
func wrapped(text string) string {
	if strings.ContainsAny(text, " +-*/^") {
		return "(" + text + ")"
	}
	return text
}

// ambientCell returns the cell that is most likely the reference of values
// relative to ambient: an absolute one of the same dimension with such a name,
// otherwise the only one.
func (c *checker) ambientCell(m unit.Measure) *Cell {
	var only *Cell
	several := false
	for i, cell := range c.m.Cells {
		if i >= len(c.subjects) || c.subjects[i].state != settled {
			continue
		}
		t := c.m.Types[c.subjects[i].typ]
		if t.Form != Number || t.Measure.Dim != m.Dim || t.Measure.Kind != unit.Absolute || cell.Plugged {
			continue
		}
		for _, word := range [...]string{"ambient", "atmospher", "barometer", "barometric", "station"} {
			if strings.Contains(cell.Name, word) {
				return cell
			}
		}
		several = several || only != nil
		only = cell
	}
	if several {
		return nil
	}
	return only
}
