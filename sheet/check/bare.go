package check

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/unit"
)

// The unit of a bare literal is 1 in a formula and the shown unit in a clause.
// So a bare 85 beside a value that is shown in percent would mean 8500 %. If
// such a literal, or a sum or product of literals, is combined with a value
// that is shown or declared in a unit whose factor is not 1, it is an error
// that offers both readings.
//
// Each node has a reading unit, the unit in which people read its value: the
// shown unit, and for a sum, a branch or the like of shares, which is shown
// as a plain number, the unit of its operands. Few nodes need an entry in
// checker.read; the others follow from checker.shown.

// bareUnit is the entry in checker.read of an operation on literals.
const bareUnit unitID = -1

// isBare reports whether node id is a literal without a unit, or an operation
// on such literals.
func (c *checker) isBare(id NodeID) bool {
	n := &c.m.Nodes[id]
	if n.Op == Const {
		return c.shown[id] == 0 && n.Type() == numberType && !c.isConstantName(id)
	}
	return len(c.read) > 0 && c.read[id] == bareUnit
}

// isConstantName reports whether a Const was written as a name: a constant of
// the library has its unit. pi is a number.
func (c *checker) isConstantName(id NodeID) bool {
	at := c.span(id)
	if int(at.Start) >= len(c.file.Text) {
		return false
	}
	first := c.file.Text[at.Start]
	return (first >= 'a' && first <= 'z' || first == '_') && !strings.HasPrefix(c.file.Slice(at), "pi")
}

// readIn returns the unit with a factor other than 1 in which people read
// node id, 0 for none.
func (c *checker) readIn(id NodeID) unitID {
	u := c.shown[id]
	if u == 0 && len(c.read) > 0 {
		u = max(c.read[id], 0)
	}
	if u == 0 && c.m.Types[c.m.Nodes[id].Type()].Measure.Counts != (unit.Counts{}) {
		u = c.m.preferred(c.m.present(c.m.Nodes[id].Type()))
	}
	return c.scaled(u)
}

// scaled returns u if it is a unit of numbers or counts with a factor other
// than 1, else 0.
func (c *checker) scaled(u unitID) unitID {
	if info := &c.m.units[u]; info.Scale == 1 || !info.Measure.Dimensionless() {
		return 0
	}
	return u
}

// passReading gives the result of an operation the reading unit of its
// operands, if it keeps their measure and is shown as a plain number.
func (c *checker) passReading(id NodeID, operands ...NodeID) {
	if c.shown[id] != 0 || c.m.Nodes[id].Type() == unknownType || !c.m.TypeOf(id).Measure.Dimensionless() {
		return
	}
	bare := true
	for _, o := range operands {
		if u := c.readIn(o); u != 0 {
			c.setReading(id, u)
			return
		}
		bare = bare && c.isBare(o)
	}
	if bare {
		c.setReading(id, bareUnit)
	}
}

// passBare marks the result of an operation on bare literals as one.
func (c *checker) passBare(id NodeID, a, b NodeID) {
	if c.isBare(a) && c.isBare(b) {
		c.setReading(id, bareUnit)
	}
}

func (c *checker) setReading(id NodeID, u unitID) {
	if c.read == nil {
		c.read = map[NodeID]unitID{}
	}
	c.read[id] = u
}

// bareMeets refuses a literal without a unit among the operands of node id if
// another of them is read in a unit.
func (c *checker) bareMeets(id NodeID, operands ...NodeID) {
	if !slices.ContainsFunc(operands, func(o NodeID) bool { return c.readIn(o) != 0 }) {
		return // as for most operations: no given is read
	}
	for i, o := range operands {
		bare, given := c.isBare(o), c.bareGiven(o)
		if !bare && given == nil {
			continue
		}
		for j, other := range operands {
			if i == j {
				continue
			}
			u := c.readIn(other)
			if u != 0 && given != nil {
				c.adviseGiven(given, o, other, u)
				return
			}
			if u != 0 && !c.isWhole(id, o, other) {
				c.bareFails(bareUse{literal: o, unit: u, other: other, alone: c.aloneInLimit(other) || c.m.Nodes[id].Op == Add || c.m.Nodes[id].Op == Sub})
				return
			}
		}
	}
}

// bareGiven returns the given that node id names if it has no unit and is more
// than the whole; nil otherwise. A share may be given without a unit, as 0.04.
func (c *checker) bareGiven(id NodeID) *Cell {
	n := &c.m.Nodes[id]
	if n.Op != CellRef || c.shown[id] != 0 || n.Type() != numberType {
		return nil
	}
	if cell := c.m.Cells[n.Ref()]; cell.Given && math.Abs(cell.Value) > 1 {
		return cell
	}
	return nil
}

// adviseGiven reports a given without a unit that is combined with a value in
// unit u. It may be intended, so it is not an error.
func (c *checker) adviseGiven(given *Cell, id, other NodeID, u unitID) {
	in := c.m.units[u].Unit
	value := unit.FormatNumber(given.Value, 0)
	c.advise(c.span(id), diag.BareGiven, "%s is in %s, and %s is %s without a unit: here it counts %s %s",
		c.quote(other), in.Symbol, given.Name, value, unit.FormatNumber(given.Value/in.Scale, 0), in.Symbol).
		help("write %s : %s %s, or plain(%s) if a plain number is meant", given.Name, value, in.Symbol, c.quote(other))
}

// isWhole reports whether the literal is the 1 of 1 - x, 1 + x or x - 1 with x
// a share, that is, the whole of which x is a part.
func (c *checker) isWhole(id, literal, share NodeID) bool {
	n := &c.m.Nodes[id]
	if l := &c.m.Nodes[literal]; l.Op != Const || l.Num() != 1 || c.measure(share).Counts != (unit.Counts{}) {
		return false
	}
	return n.Op == Sub || n.Op == Add && n.A == literal
}

// aloneInLimit reports whether node id is a column that a limit compares; such
// a column is alone in its operand.
func (c *checker) aloneInLimit(id NodeID) bool {
	return c.m.Nodes[id].Op == ColumnRef && c.owner == nil && c.loop
}

// bareArguments refuses bare literals where f declares a parameter in a unit
// with a factor.
func (c *checker) bareArguments(f *function, args []NodeID) {
	for i, a := range args {
		if !c.isBare(a) {
			continue
		}
		u := c.scaled(f.unitOf(i))
		if p := f.params[i]; u == 0 && p.form == likeAnother && f.params[p.like].form == anything {
			u = c.readIn(args[p.like])
		}
		if u != 0 {
			c.bareFails(bareUse{literal: a, unit: u, name: f.decl.Params[i].Name.Text}).
				related(f.file, f.decl.Params[i].Name.Span, "%s", f.usage())
		}
	}
}

// bareStart refuses a column whose start is a bare literal and whose formula
// is read in a unit with a factor.
func (c *checker) bareStart(col *Column, root NodeID) {
	u := c.scaled(c.subjects[c.columnSubject(col.Index)].unit)
	if u == 0 {
		u = c.readIn(root)
	}
	if u != 0 && c.isBare(col.Start) {
		c.bareFails(bareUse{literal: col.Start, unit: u, name: col.Name})
	}
}

// wholeOf refuses floor, ceil and round of a value that is read in a unit with
// a factor: they count whole ones, not whole percents or degrees.
func (c *checker) wholeOf(name string, args []NodeID) {
	if len(args) != 1 {
		return
	}
	u := c.readIn(args[0])
	if u == 0 {
		return
	}
	text, symbol := c.file.Slice(c.span(args[0])), c.m.units[u].Symbol
	kept, other := "plain("+text+")", bracketed(text)+" / 1 "+symbol
	r := c.fail(c.span(args[0]), diag.BareNumber, "%s counts whole ones, and %s is in %s", name, c.quote(args[0]), symbol).
		help("write %s(%s) * 1 %s; or %s(%s) to keep the value", name, other, symbol, name, kept).
		repair(c.span(args[0]), kept, "keep the value: write %s(%s)", name, kept).
		repair(c.span(args[0]), other, "change the value: write %s(%s)", name, other)
	r.d.Repairs[len(r.d.Repairs)-1].Changes = true
}

// bareUse is a literal without a unit in a place that needs one.
type bareUse struct {
	literal NodeID
	unit    unitID // the expected one
	other   NodeID // the value that it meets, 0 if a parameter or column names the unit
	name    string // what is read in the unit, where there is no other
	alone   bool   // plain(other) is not a remedy
}

// bareFails reports a literal without a unit, unless it is 0. The repair that
// keeps the value comes first.
func (c *checker) bareFails(use bareUse) report {
	v, known := c.constant(use.literal)
	if known && v == 0 {
		return report{&c.spare}
	}
	u, span := c.m.units[use.unit].Unit, c.span(use.literal)
	name := use.name
	if use.other != 0 {
		name = c.quote(use.other)
	}
	r := c.fail(span, diag.BareNumber, "%s is in %s, and %s has no unit: here it counts %s", name, u.Symbol, c.quote(use.literal), c.counted(use, v, known))
	if c.muted(r) {
		return r
	}
	text := c.file.Slice(span)
	written := withUnit(text, u.Symbol)
	switch kept := c.keptLiteral(use, v, known); {
	case kept == "":
		at := c.span(use.other)
		r.help("write %s; or plain(%s), where the number itself is meant", written, c.quote(use.other)).
			repairs("keep the value: write plain("+c.quote(use.other)+")",
				diag.Edit{Span: source.Span{Start: at.Start, End: at.Start}, New: "plain("},
				diag.Edit{Span: source.Span{Start: at.End, End: at.End}, New: ")"})
	default:
		r.help("write %s to keep the value, %s to change it", kept, written).
			repair(span, kept, "keep the value: write %s", kept)
	}
	r.repair(span, written, "change the value: write %s", written)
	r.d.Repairs[len(r.d.Repairs)-1].Changes = true
	return r
}

// counted writes the value of a bare literal in a unit.
func (c *checker) counted(use bareUse, v float64, known bool) string {
	switch {
	case !known:
		return "1 each"
	case c.m.units[use.unit].Measure.Counts[unit.Turn].Num != 0:
		return (unit.Unit{Symbol: "turn", Scale: 1}).Format(v, 0)
	}
	return c.m.units[use.unit].Format(v, 0)
}

// keptLiteral returns the literal with a unit that keeps its value, or "" where
// plain(…) of the other value is easier to read. A share beyond the whole is
// easier to read as a number.
func (c *checker) keptLiteral(use bareUse, v float64, known bool) string {
	u, text := c.m.units[use.unit].Unit, c.file.Slice(c.span(use.literal))
	if u.Measure.Counts[unit.Turn].Num != 0 {
		return withUnit(text, "turn")
	}
	if use.other != 0 && !use.alone && !(known && math.Abs(v) <= 1) {
		return ""
	}
	whole := u.Clean(1)
	if !isNumeral(text) {
		return bracketed(text) + " * " + strconv.FormatFloat(whole, 'f', -1, 64) + " " + u.Symbol
	}
	shown := u.Clean(v)
	const noise = 4e-16 // 70 % is 0.7 but for the last bit
	if math.Abs(u.SI(shown)-v) > noise*math.Abs(v) {
		return "plain(" + text + ")"
	}
	return strconv.FormatFloat(shown, 'f', -1, 64) + " " + u.Symbol
}

// withUnit writes a literal, or a formula of literals, in a unit.
func withUnit(text, symbol string) string {
	if isNumeral(text) {
		return text + " " + symbol
	}
	return bracketed(text) + " * 1 " + symbol
}

// isNumeral reports whether text is one number, its sign included.
func isNumeral(text string) bool {
	_, err := strconv.ParseFloat(strings.ReplaceAll(strings.ReplaceAll(text, "_", ""), "- ", "-"), 64)
	return err == nil
}

// bracketed puts brackets around text unless it is a name, a call or in
// brackets as a whole.
func bracketed(text string) string {
	if !strings.ContainsAny(text, " +-*/^") {
		return text
	}
	depth := 0
	for i, r := range text {
		switch r {
		case '(':
			depth++
		case ')':
			depth--
		}
		if depth == 0 && i < len(text)-1 {
			return "(" + text + ")"
		}
	}
	return text
}
