package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// The tab of limits lists them in the sheet's order, with both sides and the
// margin. The front lists them in the order that this tab computes: broken,
// advised, waiting, kept.

// The columns of that tab; the last five are hidden.
const (
	limitColumn = iota + 1
	limitStateColumn
	limitMarginColumn
	limitUnitColumn
	limitIsColumn
	limitLeastColumn
	limitMostColumn
	limitRowColumn
	limitReasonColumn
	limitFromColumn
	limitDigitsColumn
	limitKeyColumn
	limitOrderColumn
	limitWorstColumn  // the number of the worst row
	limitWaitedColumn // the reason, with what a limit waited on when it was written
)

const (
	limitsHead = 3 // rows above the first limit
	mostListed = 8 // how many limits the front lists
	fewListed  = 5 // and at least, of a sheet that uses others
	leastOrder = 3 // how many the verdict names
)

// boundsPlan is a condition as a number between others, in one unit.
type boundsPlan struct {
	is, least, most    string // formulas; empty for a side that is not there
	isV, leastV, mostV float64
	unit               unit.Unit
	places             int
	worst              *worstPlan // of a limit over rows
}

// limits lays out the block of limits of the front.
func (y *layouter) limits() {
	n := len(y.m.Limits)
	if n == 0 {
		return
	}
	own, several := 0, false
	for i, l := range y.m.Limits {
		if l.Origin.File == 0 {
			own++
		} else {
			several = true
		}
		y.checks = append(y.checks, checkPlan{row: limitsHead + 1 + i, limit: l})
	}
	y.listed = min(n, mostListed)
	if several {
		y.listed = min(n, max(fewListed, min(own, mostListed)))
	}
	y.front.add(line{})
	y.front.add(line{kind: headLine, text: limitsTab})
	for k := range y.listed {
		y.front.add(line{kind: limitLine, chk: k})
	}
	if y.listed < n {
		y.front.add(line{kind: moreLine})
	}
}

// planBounds finds the sides of a limit, where its condition holds a number
// between others.
func (b *book) planBounds(c *checkPlan) {
	is, least, most := b.sides(c.limit.Cond)
	if is == 0 {
		return
	}
	q := b.likeness(is, least, most)
	if q == nil {
		return
	}
	p := &boundsPlan{unit: shownUnit(q.Unit)}
	if c.limit.Table == nil {
		b.planSides(p, is, least, most)
	} else {
		b.planWorst(c, p, is, least, most)
	}
	if p.is == "" {
		return
	}
	p.places = b.placesFor(q, p)
	c.bounds = p
}

// planSides prints both sides of a limit, and finds their values.
func (b *book) planSides(p *boundsPlan, is, least, most check.NodeID) {
	p.is, p.isV = b.sideOf(is, p.unit), p.shown(b.value(is))
	p.leastV, p.mostV = math.NaN(), math.NaN()
	if least != 0 {
		p.least, p.leastV = b.sideOf(least, p.unit), p.shown(b.value(least))
	}
	if most != 0 {
		p.most, p.mostV = b.sideOf(most, p.unit), p.shown(b.value(most))
	}
}

func (p *boundsPlan) shown(si float64) float64 {
	if si != si {
		return si
	}
	return p.unit.Number(si)
}

// margin returns the distance of the value from its bounds; below 0 outside.
func (p *boundsPlan) margin() float64 {
	m := math.NaN()
	if p.least != "" {
		m = p.isV - p.leastV
	}
	if p.most != "" {
		if up := p.mostV - p.isV; m != m || up < m {
			m = up
		}
	}
	return m
}

// placesFor returns the decimals in which the sides of a limit are shown: those
// of the value's `to`, and enough for two digits of the margin.
func (b *book) placesFor(q *check.Quantity, p *boundsPlan) int {
	places := 2
	switch {
	case q.To != 0:
		places = unit.Decimals(q.To)
	case p.isV == p.isV && p.isV != 0:
		places = 4 - int(math.Floor(math.Log10(math.Abs(p.isV))))
	}
	if m := math.Abs(p.margin()); m == m && m > 0 {
		places = max(places, 1-int(math.Floor(math.Log10(m))))
	}
	return min(max(places, 0), 6)
}

// sides returns the value that a condition bounds, and its lower and upper
// bounds; no value for another kind of condition.
func (b *book) sides(cond check.NodeID) (is, least, most check.NodeID) {
	n := b.m.Node(cond)
	if n.Op == check.And {
		return b.between(n.A, n.B)
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

// alike reports whether two expressions are equal.
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

// likeness returns the first quantity in the sides with their measure: its unit
// and precision are theirs, too.
func (b *book) likeness(ids ...check.NodeID) *check.Quantity {
	want := b.m.TypeOf(ids[0])
	if want.Form != check.Number {
		return nil
	}
	var found *check.Quantity
	take := func(q *check.Quantity) {
		same := q.Type.Measure.Dim == want.Measure.Dim && q.Type.Measure.Counts == want.Measure.Counts
		if found == nil && q.Type.Form == check.Number && same {
			found = q
		}
	}
	for _, id := range ids {
		if id == 0 {
			continue
		}
		b.walk(id, func(n *check.Node) {
			switch n.Op {
			case check.CellRef:
				take(&b.m.Cells[n.Ref()].Quantity)
			case check.ColumnRef, check.Aggregate, check.IndexAt:
				take(&b.m.Columns[n.Ref()].Quantity)
			}
		})
	}
	if found == nil && want.Measure == (unit.Measure{}) {
		found = &check.Quantity{Look: &check.Look{Type: want, Unit: unit.Unit{Symbol: "1", Scale: 1}}, Details: check.NoDetails}
	}
	return found
}

// sideOf prints one side of a limit in a unit.
func (b *book) sideOf(id check.NodeID, u unit.Unit) string {
	p := b.printer(nil, false, "limit")
	p.want = u
	t := p.term(id).in(u.Scale, u.Offset*u.Scale)
	if p.failed != "" || len(t.text) > longTerm {
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

// value computes a simple expression; a NaN if it is not simple. The value is
// for readers that do not recompute.
func (b *book) value(id check.NodeID) float64 { return b.valueIn(id, -1) }

// valueIn does so in a row of a table, if that is not below 0.
func (b *book) valueIn(id check.NodeID, row int) float64 {
	if id == 0 {
		return math.NaN()
	}
	n := b.m.Node(id)
	switch n.Op {
	case check.ColumnRef, check.PrevRef, check.NextRef:
		if n.Op == check.PrevRef {
			row--
		} else if n.Op == check.NextRef {
			row++
		}
		if c := b.m.Columns[n.Ref()]; row >= 0 && row < c.Table.Rows {
			return b.r.Entry(c, row).V
		}
		return math.NaN()
	case check.Const:
		return n.Num()
	case check.CellRef:
		c := b.m.Cells[n.Ref()]
		for c.Plugged {
			c = b.m.Cells[b.m.Node(c.Formula).Ref()]
		}
		return b.r.Cell(c).V
	case check.Add:
		return b.valueIn(n.A, row) + b.valueIn(n.B, row)
	case check.Sub:
		return b.valueIn(n.A, row) - b.valueIn(n.B, row)
	case check.Mul:
		return b.valueIn(n.A, row) * b.valueIn(n.B, row)
	case check.Div:
		return b.valueIn(n.A, row) / b.valueIn(n.B, row)
	case check.Neg:
		return -b.valueIn(n.A, row)
	case check.Intrinsic:
		if f := b.m.Intrinsics[n.Ref()]; f.F1 != nil {
			if args := b.m.ArgsOf(n); len(args) == 1 {
				return f.F1(b.valueIn(args[0], row))
			}
		}
	}
	return math.NaN()
}

// limitCount returns the numbers of limits and of advise lines.
func (b *book) limitCount() (limits, advises int) {
	for _, l := range b.m.Limits {
		if l.Advise {
			advises++
		} else {
			limits++
		}
	}
	return limits, advises
}

// limitList returns the range of a column of the tab of limits, with an empty
// row at its end: not every program can index a single cell.
func (b *book) limitList(column int) string {
	last := limitsHead + len(b.m.Limits) + 1
	return limitsTab + "!" + fixed(column, limitsHead+1) + ":" + fixed(column, last)
}

// ranked returns a column's entry for the limit that is at place k of the
// order, counted from 0.
func (b *book) ranked(column, k int) string {
	return "INDEX(" + b.limitList(column) + "," + limitsTab + "!" + fixed(limitOrderColumn, limitsHead+1+k) + ")"
}

// verdict is the formula that names the broken limits and their number, with
// its present text.
func (wb *workbook) verdict() (formula, now string) {
	limits, advises := wb.limitCount()
	all := strconv.Itoa(limits)
	count := func(word string) string { return "COUNTIF(" + wb.limitList(limitStateColumn) + `,"` + word + `")` }
	nb, na, nw := count(broken), count(advised), count(waiting)
	kept := `"All ` + all + ` limits are kept"`
	if limits == 1 {
		kept = `"The limit is kept"`
	}
	if limits == 0 {
		kept = `"This sheet has no limits"`
	}
	formula = "IF(" + nb + ">0," + nb + `&" of ` + all + ` limits "&IF(` + nb + `=1,"is","are")&" broken: "&` + wb.ranked(limitColumn, 0)
	for k := 1; k < min(leastOrder, limits); k++ {
		formula += "&IF(" + nb + ">" + strconv.Itoa(k) + `,"; "&` + wb.ranked(limitColumn, k) + `,"")`
	}
	formula += "&IF(" + nb + `>3,"; and "&(` + nb + `-3)&" more","")` + `,IF(` + nw + `>0,"No limit is seen to be broken",` + kept + "))"
	formula += "&IF(" + nw + `>0,". "&` + nw + `&" cannot be judged: a value is missing or at fault","")`
	if advises > 0 {
		formula += "&IF(" + na + `>0,". "&` + na + `&" of ` + strconv.Itoa(advises) + ` advices not kept","")`
	}
	return formula, wb.verdictNow(limits, advises, strings.Trim(kept, `"`))
}

func (wb *workbook) verdictNow(limits, advises int, allKept string) string {
	counts := map[string]int{}
	var names []string
	for _, i := range wb.order() {
		c := &wb.checks[i]
		state := wb.stateOf(c)
		counts[state]++
		if state == broken && len(names) < leastOrder {
			names = append(names, c.limit.Text)
		}
	}
	var out string
	switch n := counts[broken]; {
	case n > 0:
		verb := "are"
		if n == 1 {
			verb = "is"
		}
		out = fmt.Sprintf("%d of %d limits %s broken: %s", n, limits, verb, strings.Join(names, "; "))
		if n > 3 {
			out += fmt.Sprintf("; and %d more", n-3)
		}
	case counts[waiting] > 0:
		out = "No limit is seen to be broken"
	default:
		out = allKept
	}
	if n := counts[waiting]; n > 0 {
		out += fmt.Sprintf(". %d cannot be judged: a value is missing or at fault", n)
	}
	if n := counts[advised]; n > 0 && advises > 0 {
		out += fmt.Sprintf(". %d of %d advices not kept", n, advises)
	}
	return clean(out)
}

// weights order the states of limits.
var weights = map[string]int{broken: 0, advised: 1, waiting: 2, kept: 3}

// order returns the limits' checks, those that need attention first.
func (wb *workbook) order() []int {
	if wb.ordered != nil {
		return wb.ordered
	}
	out := make([]int, 0, len(wb.m.Limits))
	for _, word := range []string{broken, advised, waiting, kept} {
		for i := range wb.m.Limits {
			if wb.stateOf(&wb.checks[i]) == word {
				out = append(out, i)
			}
		}
	}
	wb.ordered = out
	return out
}
