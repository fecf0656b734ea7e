package export

import (
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/unit"
)

// boundsPlan is a condition as a number between others, in one unit.
type boundsPlan struct {
	is, least, most side
	unit            unit.Unit
	worst           *worstPlan // of a limit over rows
}

// side is the number that a limit is about, or a bound of it.
type side struct {
	text  string // its formula; empty for a side that a limit does not have
	value float64
	si    float64
	typed bool    // a given or a number of the worksheet: shown as it is there
	to    float64 // the step to which its own cell is shown; 0 for none
	// cell is the formula of its cell on the tab of limits, and shown the value
	// there, rounded; exact refers to the cell with its value, which is the same
	// one if it was typed.
	cell  string
	shown float64
	exact string
}

// literal reports whether a side is a number of the limit's text.
func (s *side) literal() bool {
	_, err := strconv.ParseFloat(s.text, 64)
	return s.typed && err == nil
}

// there reports whether a limit has the side.
func (s *side) there() bool { return s.text != "" }

// planBounds finds the sides of a limit, where its condition holds a number
// between others.
func (b *book) planBounds(c *checkPlan) {
	is, least, most := b.sides(c.limit.Cond)
	if is == 0 || c.limit.Unit.Scale == 0 {
		return
	}
	p := noBounds()
	p.unit = shownUnit(c.limit.Unit)
	if c.limit.Table != nil {
		p.worst = b.planWorst(c, is, least, most)
		if p.worst.find == "" {
			return
		}
	}
	for _, s := range []struct {
		of *side
		id check.NodeID
	}{{&p.is, is}, {&p.least, least}, {&p.most, most}} {
		if s.id != 0 && !b.planSide(c, p, s.of, s.id) {
			return
		}
	}
	p.show(c.row)
	c.bounds = p
}

// noBounds returns a plan without any side.
func noBounds() *boundsPlan {
	p := &boundsPlan{}
	for _, s := range p.sides() {
		s.value, s.shown, s.si = math.NaN(), math.NaN(), kernel.Blank
	}
	return p
}

// sides returns the value and its bounds, in the order of their columns.
func (p *boundsPlan) sides() [3]*side { return [3]*side{&p.is, &p.least, &p.most} }

// planSide prints a side and finds its value; it returns false if a spreadsheet
// has no formula for it.
func (b *book) planSide(c *checkPlan, p *boundsPlan, s *side, id check.NodeID) bool {
	row := -1
	if p.worst != nil && b.perRow(id) {
		row = p.worst.row
		s.text = b.sideIn(b.tables[c.limit.Table.Index], id, p.unit, "$"+letters(limitWorstColumn)+thisRow)
		s.si = kernel.Blank // if no row has a margin
	} else {
		s.text = b.sideOf(c, id, p.unit)
	}
	if row >= 0 || !b.perRow(id) {
		s.si = b.value(id, row)
	}
	if s.si == s.si {
		s.value = p.unit.Number(s.si)
	}
	if v, err := strconv.ParseFloat(s.text, 64); err == nil {
		s.value, s.typed = v, b.m.Node(id).Op == check.Const || unit.Significant(v, typedDigits) == v
	}
	if q := b.quantityOf(id); q != nil && q.Unit.Symbol == p.unit.Symbol {
		s.typed = q.Given
	}
	s.to, _ = b.shownStep(id, p.unit.Scale)
	return s.text != ""
}

// shownStep returns the largest step to which the quantities are shown that an
// expression is made of, 0 for none; it reports whether it is a sum, one of them, or
// a multiple.
func (b *book) shownStep(id check.NodeID, scale float64) (step float64, sum bool) {
	n, q := b.m.Node(id), b.quantityOf(id)
	if how := kernel.Aggregate(n.A); n.Op == check.Aggregate && how != kernel.Count && how != kernel.Mean {
		q = &b.m.Columns[n.Ref()].Quantity
	}
	if q != nil && !q.Given {
		return q.To, q.To != 0 && q.Unit.Scale == scale
	}
	var operands []check.NodeID
	if q != nil || n.Op == check.Const {
		return 0, true
	}
	switch n.Op {
	case check.Intrinsic:
		if name := b.m.IntrinsicOf(n).Name; name != "abs" && name != "min" && name != "max" {
			return 0, false
		}
		operands = b.m.ArgsOf(n)
	case check.Mul:
		if b.fixed(n.A) {
			return b.shownStep(n.B, scale)
		}
		if b.fixed(n.B) {
			return b.shownStep(n.A, scale)
		}
	case check.Add, check.Sub, check.Neg:
		operands = b.m.AppendOperands(nil, n)
	}
	for _, id := range operands {
		s, ok := b.shownStep(id, scale)
		if !ok {
			return 0, false
		}
		step = max(step, s)
	}
	return step, len(operands) > 0
}

// quantityOf returns the quantity that an expression names, if it is no more
// than a name.
func (b *book) quantityOf(id check.NodeID) *check.Quantity {
	switch n := b.m.Node(id); n.Op {
	case check.CellRef:
		return &b.computing(b.m.Cells[n.Ref()]).Quantity
	case check.ColumnRef, check.IndexAt:
		return &b.m.Columns[n.Ref()].Quantity
	}
	return nil
}

// show rounds the sides as their own cells are, or to the digits of the margin if
// that is smaller than the step; row is that of the limit on its tab.
func (p *boundsPlan) show(row int) {
	for i, s := range p.sides() {
		s.cell, s.shown, s.exact = s.text, s.value, at(limitIsColumn+i, row)
		if s.typed || !s.there() {
			continue
		}
		s.exact = at(limitExactColumn+i, row)
		digits, now := at(limitDigitsColumn, row), p.digits()
		if own := unit.OwnDecimals(s.value, s.to); p.step() > s.to {
			text := strconv.Itoa(own)
			if s.to == 0 {
				text = "IFERROR(5-" + sizeOf(s.exact) + ",0)"
			}
			digits = "MAX(" + text + "," + digits + ")"
			if s.value == s.value {
				now = max(own, now)
			}
		}
		s.cell, s.shown = "ROUND(ROUND("+s.exact+",12),"+digits+")", rounded(s.value, now)
		if s.rounds() {
			step, least := literal(s.to), strconv.Itoa(unit.Decimals(p.step()))
			s.cell = "IF(AND(ABS(N(" + at(limitExactMarginColumn, row) + "))>=" + step + "," + at(limitDigitsColumn, row) + "=" + least + ")," + roundedText(s.exact, step, false) + "," + s.cell + ")"
			if math.Abs(p.margin()) >= s.to && p.digits() == unit.Decimals(p.step()) {
				s.shown = roundTo(s.value, s.to)
			}
		}
		s.cell = "IFERROR(" + s.cell + `,"")`
	}
}

// rounds reports whether the own cell of a side is rounded to a step to which no
// number format rounds.
func (s *side) rounds() bool { return s.to != 0 && !s.typed && !byFormat(s.to) }

// marginOf returns how far a value is within its bounds.
func (p *boundsPlan) marginOf(value, least, most float64) float64 {
	if value != value || p.least.there() && least != least || p.most.there() && most != most || !p.is.there() {
		return math.NaN()
	}
	return marginOf(value, least, most, p.least.there(), p.most.there())
}

// margin returns how far the value is within its bounds, below 0 outside; it is
// not a number where a side has no value. It is that of the values before they
// are rounded to a step: 37 of 37.5 at most has 0.5 left, to whatever step it is
// shown. What is beyond twelve digits of the sides is the rounding of a difference.
func (p *boundsPlan) margin() float64 {
	return rounded(p.marginOf(p.is.value, p.least.value, p.most.value), p.marginPlaces())
}

// marginPlaces returns the decimals of the sides' first twelve digits.
func (p *boundsPlan) marginPlaces() int {
	large := 0.0
	for _, s := range p.sides() {
		if s.value == s.value {
			large = max(large, math.Abs(s.value))
		}
	}
	if large == 0 {
		return typedDigits
	}
	return min(typedDigits-magnitude(large), fullDigits) // what is smaller, LibreOffice takes for 0
}

// marginText returns the formula of the margin.
func (p *boundsPlan) marginText() string {
	value, least, most := p.is.exact, p.least.exact, p.most.exact
	text := "MIN(" + value + "-" + least + "," + most + "-" + value + ")"
	var entries []string
	for _, s := range append([]*side{&p.is}, p.bounds()...) {
		entries = append(entries, s.exact)
	}
	switch {
	case !p.least.there():
		text = most + "-" + value
	case !p.most.there():
		text = value + "-" + least
	}
	return "IF(COUNT(" + strings.Join(entries, ",") + ")=" + strconv.Itoa(len(entries)) + ",ROUND(" + text + "," + strconv.Itoa(p.marginPlaces()) + `),"")`
}

// bounds returns the bounds that a limit has.
func (p *boundsPlan) bounds() []*side {
	var all []*side
	for _, s := range []*side{&p.least, &p.most} {
		if s.there() {
			all = append(all, s)
		}
	}
	return all
}

// typed reports whether all sides are shown as they were typed.
func (p *boundsPlan) typed() bool {
	for _, s := range p.sides() {
		if s.there() && !s.typed {
			return false
		}
	}
	return true
}

// step returns the largest step of the sides that are cells of their own, 0 for
// none.
func (p *boundsPlan) step() float64 {
	step := 0.0
	for _, s := range p.sides() {
		if s.there() && !s.typed {
			step = max(step, s.to)
		}
	}
	return step
}

// typedDigits is the largest number of digits that people type.
const typedDigits = 12

// typedPlaces returns the decimals of the typed bounds: 37.5 at most is not 38.
func (p *boundsPlan) typedPlaces() int {
	places := 0
	for _, s := range p.bounds() {
		if s.typed && s.value == s.value {
			own := unit.Decimals(math.Abs(s.value))
			if !s.literal() {
				own = min(own, mostTested)
			}
			places = max(places, own)
		}
	}
	return places
}

// places returns the decimals of a margin that is not small, and of the sides:
// those of the largest step, else six significant digits of the value.
func (p *boundsPlan) places() int {
	places := unit.Decimals(p.step())
	switch v := p.is.value; {
	case p.step() != 0:
	case v == v && rounded(v, typedDigits) != 0:
		places = 5 - magnitude(v)
	default:
		places = 2
	}
	return max(places, p.typedPlaces())
}

// digits returns to how many decimals a margin is shown, and what is compared: two
// digits of a margin that is smaller than a step.
func (p *boundsPlan) digits() int {
	places, m := p.places(), p.margin()
	if m == m && m != 0 && (p.step() == 0 || math.Abs(m) < p.step()) {
		places = max(places, 1-magnitude(m))
	}
	return max(places, 0)
}

// digitsText is the formula of digits.
func (p *boundsPlan) digitsText(row int) string {
	margin := at(limitExactMarginColumn, row)
	places, small := "IFERROR(5-"+sizeOf("ROUND("+p.is.exact+",12)")+",2)", "IFERROR(1-"+sizeOf(margin)+",0)"
	if step := p.step(); step != 0 {
		places, small = strconv.Itoa(unit.Decimals(step)), "IFERROR(IF(ABS("+margin+")<"+literal(step)+",1-"+sizeOf(margin)+",0),0)"
	}
	for _, s := range p.bounds() {
		if s.literal() {
			places += "," + strconv.Itoa(unit.Decimals(math.Abs(s.value)))
		} else if s.typed {
			places += "," + decimalsOf(s.exact)
		}
	}
	return "MAX(0," + places + "," + small + ")"
}

// mostTested is the largest number of decimals of an entered bound.
const mostTested = 6

// decimalsOf is the formula of the decimals of an entered number. It is rounded on
// both sides: gnumeric has longer numbers, and not every program tests a list of
// decimals at once.
func decimalsOf(cell string) string {
	text := strconv.Itoa(mostTested)
	for n := mostTested - 1; n >= 0; n-- {
		places := strconv.Itoa(n)
		text = "IF(ROUND(" + cell + "," + places + ")=ROUND(" + cell + ",9)," + places + "," + text + ")"
	}
	return text
}

// sizeOf is the formula of magnitude.
func sizeOf(cell string) string { return "INT(LOG10(ABS(" + cell + "))+1E-12)" }

// magnitude returns the power of ten of the first digit of v.
func magnitude(v float64) int { return int(math.Floor(float64(math.Log10(math.Abs(v))) + 1e-12)) }

// sides returns the value that a condition bounds, and its lower and upper
// bounds; both are the other side of an equality. There is no value for another
// kind of condition.
func (b *book) sides(cond check.NodeID) (is, least, most check.NodeID) {
	n := b.m.Node(cond)
	if n.Op == check.And {
		return b.between(n.A, n.B)
	}
	if n.Op == check.Equal {
		if b.fixed(n.A) {
			return n.B, n.A, n.A
		}
		return n.A, n.B, n.B
	}
	small, large := b.ordered(cond)
	switch {
	case small == 0:
		return 0, 0, 0
	case b.fixed(small) || n.A == large && !b.fixed(large):
		return large, small, 0
	}
	return small, 0, large
}

// between returns the sides of a chain, lo <= x <= hi.
func (b *book) between(one, two check.NodeID) (is, least, most check.NodeID) {
	s1, l1 := b.ordered(one)
	s2, l2 := b.ordered(two)
	switch {
	case s1 == 0 || s2 == 0:
	case b.alike(l1, s2):
		return l1, s1, l2
	case b.alike(l2, s1):
		return l2, s2, l1
	}
	return 0, 0, 0
}

// ordered returns the two sides of a comparison, the smaller first; 0 if it
// is none.
func (b *book) ordered(id check.NodeID) (small, large check.NodeID) {
	switch n := b.m.Node(id); n.Op {
	case check.Less, check.LessEqual:
		return n.A, n.B
	case check.Greater, check.GreaterEqual:
		return n.B, n.A
	}
	return 0, 0
}

// fixed reports whether an expression reads nothing.
func (b *book) fixed(id check.NodeID) bool {
	reads := false
	b.walk(id, func(n *check.Node) {
		switch n.Op {
		case check.CellRef, check.ColumnRef, check.PrevRef, check.NextRef, check.RowRef, check.Aggregate, check.Lookup, check.IndexAt:
			reads = true
		}
	})
	return !reads
}

// alike reports whether two expressions are the same.
func (b *book) alike(x, y check.NodeID) bool {
	if x == y {
		return true
	}
	m, n := b.m.Node(x), b.m.Node(y)
	if m.Op != n.Op || m.Type() != n.Type() {
		return false
	}
	switch m.Op {
	case check.Const:
		return m.Num() == n.Num()
	case check.CellRef, check.ColumnRef:
		return m.Ref() == n.Ref()
	case check.Call, check.Intrinsic, check.Lookup, check.If, check.Aggregate, check.IndexAt:
		return false // not compared: such a chain shows no sides
	}
	p, q := b.m.AppendOperands(nil, m), b.m.AppendOperands(nil, n)
	if len(p) == 0 || len(p) != len(q) {
		return false
	}
	for i := range p {
		if !b.alike(p[i], q[i]) {
			return false
		}
	}
	return true
}

// sideOf prints one side of a limit in a unit.
func (b *book) sideOf(c *checkPlan, id check.NodeID, u unit.Unit) string {
	p := b.printer(nil, false, c.subject(b.m))
	p.want = u
	t := p.short(p.term(id).in(u.Scale, u.Offset*u.Scale), p.its("side"))
	if p.failed != "" {
		return ""
	}
	return t.guarded()
}

func (b *book) perRow(id check.NodeID) bool {
	rows := false
	b.walk(id, func(n *check.Node) {
		switch n.Op {
		case check.ColumnRef, check.PrevRef, check.NextRef, check.RowRef:
			rows = true
		}
	})
	return rows
}

// value returns what the engine computes for an expression; row is that of its
// table, from 0, or -1. It is not a number where it is at fault or blank.
func (b *book) value(id check.NodeID, row int) float64 {
	if n := b.m.Node(id); n.Op == check.ColumnRef {
		return b.r.Entry(b.m.Columns[n.Ref()], row).V // fast: of every row of a long table
	}
	return b.read(id, row)
}
