package export

import (
	"cmp"
	"math"
	"strconv"

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
	// there: rounded where its own cell is.
	cell  string
	shown float64
	exact string // the formula of its value before it is rounded
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
	p.round(c.row)
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
		s.value, s.typed = v, unit.Significant(v, mostDigits) == v
	}
	if q := b.quantityOf(id); q != nil && q.Unit.Symbol == p.unit.Symbol {
		s.typed, s.to = q.Given, q.To
	}
	return s.text != ""
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

// round rounds the sides as their own cells are, unless the value then seems to be
// on the other side of a bound; row is that of the limit on its tab.
func (p *boundsPlan) round(row int) {
	var exact [3]string
	for i, s := range p.sides() {
		s.cell, s.shown, s.exact = s.text, s.value, at(limitIsColumn+i, row)
		if s.rounds() {
			s.exact = s.text
		}
		exact[i] = s.exact
	}
	for _, i := range []int{1, 2, 0} {
		s := p.sides()[i]
		if !s.rounds() {
			continue
		}
		near, texts := roundedText(s.text, literal(s.to), false), exact
		if i == 0 {
			texts[1], texts[2] = at(limitLeastColumn, row), at(limitMostColumn, row)
		}
		texts[i] = near
		s.cell = "IFERROR(IF(SIGN(" + p.marginText(texts) + ")=SIGN(" + p.marginText(exact) + ")," + near + "," + s.text + ")," + s.text + ")"
		s.shown = roundTo(s.value, s.to)
		least, most := p.least.value, p.most.value
		switch i {
		case 0:
			least, most = p.least.shown, p.most.shown
		case 1:
			least = s.shown
		case 2:
			most = s.shown
		}
		value := p.is.value
		if i == 0 {
			value = s.shown
		}
		if cmp.Compare(p.marginOf(value, least, most), 0) != cmp.Compare(p.marginOf(p.is.value, p.least.value, p.most.value), 0) {
			s.shown = s.value
		}
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
// are rounded to a coarse step: 37 of 37.5 at most, shown as 35, has 0.5 left.
func (p *boundsPlan) margin() float64 { return p.marginOf(p.is.value, p.least.value, p.most.value) }

// marginText returns the formula of the margin, from those of the value and its
// bounds.
func (p *boundsPlan) marginText(sides [3]string) string {
	value, least, most := sides[0], sides[1], sides[2]
	switch {
	case !p.least.there():
		return most + "-" + value
	case !p.most.there():
		return value + "-" + least
	}
	return "MIN(" + value + "-" + least + "," + most + "-" + value + ")"
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

// typed reports whether all of these sides are shown as they were typed.
func typed(sides ...*side) bool {
	for _, s := range sides {
		if !s.typed {
			return false
		}
	}
	return true
}

// step returns the step of the sides that are cells of their own, 0 for none.
func (p *boundsPlan) step() float64 {
	for _, s := range append([]*side{&p.is}, p.bounds()...) {
		if s.to != 0 {
			return s.to
		}
	}
	return 0
}

// mostDigits is how many digits people type at most, and to how many decimals a
// small margin is shown.
const mostDigits = 9

// digits returns to how many decimals a margin is shown, and what is compared:
// those of the step of a side, else six significant digits, and two digits of a
// small margin.
func (p *boundsPlan) digits() int {
	places := p.places()
	if m := p.margin(); m == m && !isZero(m) {
		places = max(places, 1-magnitude(m))
	}
	return min(max(places, 0), mostDigits)
}

// places returns the decimals without regard to the margin.
func (p *boundsPlan) places() int {
	if step := p.step(); step != 0 {
		places := unit.Decimals(step)
		for _, s := range p.bounds() { // 37.5 at most is not 38
			if s.typed && s.value == s.value {
				places = max(places, unit.Decimals(s.value))
			}
		}
		return places
	}
	if v := p.is.shown; v == v && !isZero(v) {
		return 5 - magnitude(v)
	}
	return 2
}

// digitsText is the formula of digits.
func (p *boundsPlan) digitsText(row int) string {
	places := "IFERROR(5-" + sizeOf(at(limitIsColumn, row)) + ",2)"
	if p.step() != 0 {
		places = strconv.Itoa(p.places())
	}
	return "MIN(" + strconv.Itoa(mostDigits) + ",MAX(0," + places + "," + smallMargin(row, "") + "))"
}

// smallMargin is the formula of the decimals that show two digits of a margin; 0 of
// none.
func smallMargin(row int, fixed string) string {
	return "IFERROR(1-" + sizeOf(fixed+at(limitMarginColumn, row)) + ",0)"
}

// sizeOf is the formula of magnitude.
func sizeOf(cell string) string { return "INT(LOG10(ABS(ROUND(" + cell + ",12)))+1E-12)" }

// isZero reports whether a value is no more than the rounding of a difference, which
// spreadsheets take for 0.
func isZero(v float64) bool { return math.Abs(v) < 5e-13 }

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
