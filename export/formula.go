package export

import (
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/unit"
)

// A formula is printed once for all rows of a table. Marks replace what differs
// between rows and tabs; no text of a user contains them.
const (
	tabMark  = "\x01" // around a tab's name and "!": left out on that tab
	thisRow  = "\x02" // the row's number on the tab
	priorRow = "\x03" // the one above
	laterRow = "\x04" // the one below
)

// Bounds of one formula: a spreadsheet takes 8,192 characters and 64 levels.
const (
	maxFormula   = 8192
	longTerm     = 60  // a longer part is a step of its own, to keep formulas readable
	longRow      = 160 // in each of many rows, where every step costs a column
	manyRows     = 200
	longFixed    = 32 // so is a longer part of a row's formula that is the same in every row
	deepTerm     = 30
	simpleTerm   = 28 // a term this short may be written twice
	maxTextConst = 255
)

// printer turns nodes of the checked tree into formulas.
type printer struct {
	b *book
	m *check.Model
	// table is the table whose row is being printed, nil for a scalar; top says
	// that the row is its first.
	table *tablePlan
	top   bool
	early bool   // the condition of the table's until depends on it in the same row
	about string // the quantity, by which its steps are called
	env   *call
	// want is the shown unit of the value being printed, for branches of
	// constants only.
	want unit.Unit
	// failed is why a formula cannot be expressed in a spreadsheet.
	failed string
}

// call is the arguments and steps of a function being written out.
type call struct {
	inst   *check.Instance
	args   []check.NodeID
	outer  *call
	params []*term
	steps  []*term
}

// term returns the formula of a node that is part of another.
func (p *printer) term(id check.NodeID) term {
	return p.short(p.operation(id), p.part())
}

// short returns a term, or a reference to a step that holds a long one.
func (p *printer) short(t term, s stepLabel) term {
	long := longTerm
	if p.costly(t) {
		long = longRow
	}
	if len(unmarked(t.text)) > long || t.depth > deepTerm || t.guardsItself() && len(unmarked(t.text)) > simpleTerm {
		return p.step(t, s)
	}
	return t
}

// costly reports whether a step for a term is a column of many cells.
func (p *printer) costly(t term) bool { return t.perRow && p.table.t.Rows > manyRows }

// operands returns the terms of both operands of an operation. An operand that
// is the same in every row is computed once.
func (p *printer) operands(n *check.Node) (x, y term) {
	x, y = p.term(n.A), p.term(n.B)
	x, y = p.beside(x, y), p.beside(y, x)
	switch {
	case x.perRow:
		y = p.once(y)
	case y.perRow:
		x = p.once(x)
	}
	return x, y
}

// beside returns x, or a reference to a step that holds it where the result tests x
// besides reading it: a blank of the other operand does not hide a fault of x.
func (p *printer) beside(x, other term) term {
	if len(other.guards) > 0 && x.risky && strings.Contains(x.text, "IF(") && len(unmarked(x.text)) > simpleTerm {
		return p.step(x, p.part())
	}
	return x
}

// once returns a reference to a step for a long part of a row's formula that is
// the same in every row.
func (p *printer) once(x term) term {
	if x.perRow || x.constant() || p.table == nil || len(unmarked(x.text)) <= longFixed {
		return x
	}
	return p.step(x, p.part())
}

func (p *printer) operation(id check.NodeID) term {
	n := p.m.Node(id)
	switch n.Op {
	case check.Const:
		return p.constant(n)
	case check.CellRef, check.ColumnRef, check.PrevRef, check.NextRef, check.RowRef:
		return p.reference(n)
	case check.ParamRef:
		return p.param(int(n.Ref()))
	case check.StepRef:
		return p.stepOf(int(n.Ref()))
	case check.Add:
		x, y := p.operands(n)
		return plus(x, y, 1)
	case check.Sub:
		x, y := p.operands(n)
		return plus(x, y, -1)
	case check.Mul:
		x, y := p.operands(n)
		return times(x, y)
	case check.Div:
		x, y := p.operands(n)
		return over(x, y)
	case check.Pow:
		x, y := p.operands(n)
		return p.power(x, y)
	case check.Neg:
		return times(p.term(n.A), number(-1))
	case check.Less, check.LessEqual, check.Greater, check.GreaterEqual, check.Equal, check.NotEqual:
		return p.compare(n.Op, p.compared(n.A, n.B), p.compared(n.B, n.A))
	case check.SameText, check.NotSameText:
		return p.same(n)
	case check.If:
		then, other := p.m.BranchesOf(n)
		return p.branch(p.term(n.A), p.term(then), p.term(other))
	case check.And:
		return p.both(p.term(n.A), p.term(n.B))
	case check.Or:
		return p.either(p.term(n.A), p.term(n.B))
	case check.Not:
		return not(p.term(n.A))
	case check.Call, check.ValidCall:
		return p.call(n)
	case check.Intrinsic:
		return p.intrinsic(n)
	case check.Aggregate:
		return p.aggregate(n)
	case check.Lookup:
		return p.lookup(n)
	case check.IndexAt:
		return p.index(n)
	}
	return p.fail("an operation that a spreadsheet does not have")
}

// fail records why there is no formula; the cell then holds its value.
func (p *printer) fail(why string) term {
	if p.failed == "" {
		p.failed = why
	}
	return noValue()
}

func (p *printer) constant(n *check.Node) term {
	switch p.m.Types[n.Type()].Form {
	case check.Text:
		return plainTerm(quoteText(p.m.Texts[int(n.Num())]), atom)
	case check.Truth:
		return plainTerm(truthText(n.Num()), atom)
	}
	if n.Num() != n.Num() {
		return noValue()
	}
	return number(n.Num())
}

func truthText(v float64) string {
	if v != 0 {
		return "TRUE"
	}
	return "FALSE"
}

// quoteText writes a text constant: quotes doubled, marks gone, and in pieces,
// because a spreadsheet allows 255 characters each.
func quoteText(s string) string {
	runes := []rune(clean(s))
	var pieces []string
	for len(runes) > maxTextConst {
		pieces = append(pieces, string(runes[:maxTextConst]))
		runes = runes[maxTextConst:]
	}
	pieces = append(pieces, string(runes))
	for i, piece := range pieces {
		pieces[i] = `"` + strings.ReplaceAll(piece, `"`, `""`) + `"`
	}
	if len(pieces) == 1 {
		return pieces[0]
	}
	return "CONCATENATE(" + strings.Join(pieces, ",") + ")"
}

// reference returns a cell's or a column's term.
func (p *printer) reference(n *check.Node) term {
	switch n.Op {
	case check.CellRef:
		c := p.m.Cells[n.Ref()]
		return p.b.cell(c)
	case check.RowRef:
		return p.rowNumber()
	}
	mark := map[check.Op]string{check.ColumnRef: thisRow, check.PrevRef: priorRow, check.NextRef: laterRow}[n.Op]
	col := p.m.Columns[n.Ref()]
	column := p.table.columnRef(col)
	if n.Op == check.ColumnRef && p.early {
		column = p.table.ahead(col)
	}
	ref := p.rowRef(column, mark)
	t := of(&col.Quantity, ref)
	t.typed = t.typed && p.table.entries[col] == ""
	t.perRow = !p.top
	if n.Op == check.NextRef || p.b.blank.columns[col.Index] {
		t.guards = []string{ref}
	}
	return t
}

// rowNumber returns the number of the row: beside a table on a tab of its own,
// computed for a short one in the lines of another tab.
func (p *printer) rowNumber() term {
	if p.table.host != nil && p.top {
		return number(1)
	}
	if p.table.host != nil {
		list := p.table.ref("$A$" + strconv.Itoa(p.table.first) + ":$A")
		t := quantity("ROWS("+list+thisRow+")", 1, 0)
		t.whole, t.perRow = true, true
		return t
	}
	t := quantity(p.rowRef(p.table.ref("$A"), thisRow), 1, 0)
	t.whole, t.perRow = true, !p.top
	return t
}

// rowRef appends the row's mark to a column's reference, or its number if it is
// known.
func (p *printer) rowRef(column, mark string) string {
	if !p.top {
		return column + mark
	}
	return column + map[string]string{
		thisRow: p.table.rowText(0), priorRow: p.table.rowText(-1), laterRow: p.table.rowText(1),
	}[mark]
}

// of returns the term of a reference to a quantity, which has its shown unit on
// its tab.
func of(q *check.Quantity, ref string) term {
	var t term
	switch q.Type.Form {
	case check.Number:
		u := cellUnit(q.Unit)
		t = quantity(ref, u.Scale, u.Offset*u.Scale)
		t.typed = q.Given
		t.whole = q.Whole && q.Given
	case check.Truth:
		t = truthOf(q, ref)
	default:
		t = plainTerm(ref, atom)
	}
	t.risky = !q.Given || q.Type.Form == check.Truth
	return t
}

// shownUnit gives a number without a unit the plain one.
func shownUnit(u unit.Unit) unit.Unit {
	if u.Scale == 0 {
		u.Scale = 1
	}
	return u
}

// branch returns IF(cond, then, otherwise): as in the language, only the branch
// taken has an effect.
func (p *printer) branch(cond, then, otherwise term) term {
	r := term{bind: atom}.carry(cond)
	r.guards = cond.guards
	r.signed = then.signed
	r.k = 1
	if then.signed {
		r.k, r.c = p.frame(then, otherwise)
		then, otherwise = then.in(r.k, r.c).entry(), otherwise.in(r.k, r.c).entry()
	}
	then, otherwise = then.after(cond), otherwise.after(cond)
	r.text = "IF(" + cond.text + "," + then.guarded() + "," + otherwise.guarded() + ")"
	r.risky = cond.risky || then.risky || otherwise.risky
	r.perRow = cond.perRow || then.perRow || otherwise.perRow
	r.depth = 1 + max(cond.depth, then.depth, otherwise.depth)
	if len(then.guards)+len(otherwise.guards) == 0 {
		return r
	}
	r.text = guard(cond.guards, r.text)
	r.guards = []string{r.text}
	return r
}

// frame returns the factor and zero in which two branches are expressed.
func (p *printer) frame(x, y term) (k, c float64) {
	switch {
	case !x.constant() && !x.under:
		return x.k, x.c
	case !y.constant() && !y.under:
		return y.k, y.c
	case x.constant() && y.constant() && p.want.Scale != 0:
		return p.want.Scale, p.want.Offset * p.want.Scale
	}
	return 1, 0
}

func not(x term) term {
	r := term{bind: atom}.carry(x)
	r.text = "NOT(" + x.text + ")"
	return r
}

// same compares texts and logical values exactly.
func (p *printer) same(n *check.Node) term {
	x, y := p.term(n.A), p.term(n.B)
	r := term{bind: atom}.carry(x, y)
	if p.m.TypeOf(n.A).Form == check.Text {
		r.text = "EXACT(" + x.text + "," + y.text + ")"
	} else {
		r.text = p.sameTruth(x, y)
	}
	if n.Op == check.NotSameText {
		return not(r)
	}
	return r
}

func (p *printer) sameTruth(x, y term) string {
	switch {
	case y.text == "TRUE":
		return x.text
	case y.text == "FALSE":
		return "NOT(" + x.text + ")"
	}
	y = p.simple(y, p.its("side"))
	return "IF(" + x.text + "," + y.text + ",NOT(" + y.text + "))"
}

// comparison has the sign of each comparison, and the sign of the tolerance on
// its right side.
var comparison = map[check.Op][2]string{
	check.Less:         {"<", "-"},
	check.LessEqual:    {"<=", "+"},
	check.Greater:      {">", "+"},
	check.GreaterEqual: {">=", "-"},
	check.Equal:        {"=", "<="},
	check.NotEqual:     {"<>", ">"},
}

// compare compares numbers with the language's tolerance, a part of the larger
// side. If the tolerance matters, the sides are equal to twelve digits, so the
// formula computes it from one side. Whole numbers and comparisons with 0 need
// none.
func (p *printer) compare(op check.Op, x, y term) term {
	if x.constant() && y.constant() {
		return plainTerm(truthText(compareConstants(op, x.c, y.c)), atom)
	}
	if x.constant() {
		return p.compare(mirrored[op], y, x)
	}
	if y.constant() && y.c != 0 && !x.under && x.k > 0 && !(x.whole && y.whole && x.k == 1) {
		return compareWith(op, x, y.c)
	}
	x, y = x.settled(), y.settled()
	k := y.k
	if !x.constant() && !x.under {
		k = x.k
	} else if y.constant() || y.under {
		k = 1
	}
	if k < 0 {
		k = 1
	}
	zero := x.constant() && x.c == 0 || y.constant() && y.c == 0
	exact := x.whole && y.whole && k == 1
	x, y = x.in(k, 0), y.in(k, 0)
	r := term{bind: compares}
	if zero || exact {
		x, y = x.entry(), y.entry()
		r = r.carry(x, y)
		r.text = x.bracket(adds) + comparison[op][0] + y.bracket(adds)
		return r
	}
	if len(unmarked(x.text)) < len(unmarked(y.text)) {
		x, y, op = y, x, mirrored[op]
	}
	y = p.simple(y, p.its("side"))
	x = x.entry()
	r = r.carry(x, y)
	tolerance := size(y) + "*1E-12"
	if op == check.Equal || op == check.NotEqual {
		r.text = "ABS(" + x.bracket(adds) + "-" + y.bracket(multiplies) + ")" + comparison[op][1] + tolerance
		return r
	}
	r.text = x.bracket(adds) + comparison[op][0] + y.bracket(adds) + comparison[op][1] + tolerance
	return r
}

// mirrored is each comparison with its sides exchanged.
var mirrored = map[check.Op]check.Op{
	check.Less: check.Greater, check.LessEqual: check.GreaterEqual, check.Greater: check.Less, check.GreaterEqual: check.LessEqual,
	check.Equal: check.Equal, check.NotEqual: check.NotEqual,
}

// compareWith compares x with a constant other than 0, in the unit and from the
// zero of x. The tolerance is a part of the constant.
func compareWith(op check.Op, x term, c float64) term {
	// The factor has the rounding of several units; the tolerance is far larger.
	const roundings = 8
	at := tidy((c-x.c)/x.k, roundings*(math.Abs(c)+math.Abs(x.c))/x.k)
	whole := tidy(math.Abs(c)/x.k, roundings*math.Abs(c)/x.k)
	if op != check.Equal && op != check.NotEqual {
		x = x.entry()
	}
	r := term{bind: compares}.carry(x)
	switch {
	case op == check.Equal || op == check.NotEqual:
		r.text = "ABS(" + x.shifted(-at).text + ")" + comparison[op][1] + literal(whole) + "*1E-12"
	case at == -whole:
		flipped := map[string]string{"+": "-", "-": "+"}
		r.text = x.bracket(adds) + comparison[op][0] + literal(at) + "*(1" + flipped[comparison[op][1]] + "1E-12)"
	case at == whole:
		r.text = x.bracket(adds) + comparison[op][0] + literal(at) + "*(1" + comparison[op][1] + "1E-12)"
	default:
		r.text = x.bracket(adds) + comparison[op][0] + literal(at) + comparison[op][1] + literal(whole) + "*1E-12"
	}
	return r
}

// compared returns one side of a comparison. A difference that is compared with 0
// keeps its sign.
func (p *printer) compared(id, other check.NodeID) term {
	if p.b == nil || !p.b.zero(other) {
		return p.term(id)
	}
	return p.short(p.withSign(id), p.part())
}

// withSign returns a term whose differences keep their signs if these determine
// the sign of the whole: in products, quotients and sizes.
func (p *printer) withSign(id check.NodeID) term {
	n := p.m.Node(id)
	switch n.Op {
	case check.Sub:
		return p.signed(n)
	case check.Neg:
		return times(p.withSign(n.A), number(-1))
	case check.Mul:
		return times(p.withSign(n.A), p.withSign(n.B))
	case check.Div:
		return over(p.withSign(n.A), p.withSign(n.B))
	case check.Intrinsic:
		if args := p.m.ArgsOf(n); p.m.IntrinsicOf(n).Name == "abs" {
			return absolute(p.withSign(args[0]))
		}
	}
	return p.term(id)
}

// signed returns a difference with the sign that it has in the language.
// LibreOffice rounds a difference that is small relative to both sides to 0, in
// every subtraction, but not in the mean of x and -y, computed by MEDIAN.
func (p *printer) signed(n *check.Node) term {
	x, y := p.term(n.A), p.term(n.B)
	whole := plus(x, y, -1)
	if x.constant() || y.constant() || whole.constant() {
		return whole
	}
	k := 1.0
	if !x.under && x.k > 0 {
		k = x.k
	}
	left, right := x.in(k, x.c), y.in(k, x.c)
	if right.bind != atom || strings.HasPrefix(right.text, "-") {
		right.text = "(" + right.text + ")"
	}
	// As an argument a cell with a text, or without anything, is left out; in a sum
	// it is a number, or an error.
	if left.bind == atom && !strings.Contains(left.text, "(") {
		left.text = "0+" + left.text
	}
	whole.text, whole.bind = "MEDIAN("+left.text+",-"+right.text+")", atom
	whole.k, whole.c, whole.under, whole.whole = 2*k, 0, false, false
	return whole
}

// size returns the text of |x|.
func size(x term) string {
	if strings.Trim(x.text, "0123456789.") == "" {
		return x.text
	}
	return "ABS(" + x.text + ")"
}

func compareConstants(op check.Op, a, b float64) float64 {
	switch op {
	case check.Less:
		return kernel.Less(a, b)
	case check.LessEqual:
		return kernel.LessEqual(a, b)
	case check.Greater:
		return kernel.Greater(a, b)
	case check.GreaterEqual:
		return kernel.GreaterEqual(a, b)
	case check.Equal:
		return kernel.Equal(a, b)
	}
	return kernel.NotEqual(a, b)
}

// simple returns x if its text may be written more than once, else a
// reference to a step that holds it.
func (p *printer) simple(x term, s stepLabel) term {
	if len(unmarked(x.text)) <= simpleTerm || x.constant() {
		return x
	}
	return p.step(x, s)
}

// power returns x^y.
func (p *printer) power(x, y term) term {
	y = y.settled()
	if !y.constant() && x.constant() && x.c > 0 {
		base := x.in(1, 0)
		r := term{signed: true, bind: raises, k: 1, risky: true}.carry(base, y)
		r.text = base.bracket(atom) + "^" + y.in(1, 0).bracket(atom)
		return r
	}
	if !y.constant() {
		return p.openPower(x.settled().in(1, 0), y.in(1, 0))
	}
	x = x.settled()
	if x.constant() {
		if v := kernel.Pow(x.c, y.c); v == v {
			return number(v)
		}
		return noValue()
	}
	if y.c == 1 {
		return x
	}
	if x.under || x.k < 0 && y.c != math.Trunc(y.c) {
		x = x.in(1, 0)
	}
	r := term{signed: true, bind: raises, k: kernel.Pow(x.k, y.c)}.carry(x)
	r.whole = x.whole && y.whole && y.c > 0
	r.risky = x.risky || y.c < 0 || y.c != math.Trunc(y.c)
	if math.IsInf(r.k, 0) || r.k != r.k || r.k == 0 {
		x = x.in(1, 0)
		r.k = 1
	}
	return p.raised(r, x, y.c)
}

// raised writes x^y into r. Spreadsheets differ on chains of powers and on a
// leading minus, so both get brackets; one of them takes odd roots of
// negative numbers, where the language has none.
func (p *printer) raised(r, x term, y float64) term {
	if y == 0.5 {
		r.text, r.bind = "SQRT("+x.text+")", atom
		return r
	}
	exponent := fraction(y)
	if exponent[0] == '-' || strings.Contains(exponent, "E") {
		exponent = "(" + exponent + ")"
	}
	if root := math.Abs(1 / y); math.Abs(root-math.Round(root)) < 1e-9*root && int(math.Round(root))%2 == 1 && root > 1.5 {
		x = p.simple(x, p.its("radicand"))
		r.text = "IF(" + x.bracket(adds) + "<0,NA()," + x.bracket(atom) + "^" + exponent + ")"
		r.bind = atom
		return r
	}
	r.text = x.bracket(atom) + "^" + exponent
	return r
}

// fraction writes a number as a fraction of two digits if it is one: (2/7), not
// 0.2857142857142857.
func fraction(y float64) string {
	text := literal(y)
	for d := 3.0; d < 10 && significantDigits(text) > shortNumber; d++ {
		if n := math.Round(y * d); n/d == y {
			return "(" + literal(n) + "/" + literal(d) + ")"
		}
	}
	return text
}

// openPower returns x^y for an exponent that is not a constant.
func (p *printer) openPower(x, y term) term {
	x, y = p.simple(x, p.its("base")), p.simple(y, p.its("exponent"))
	r := term{signed: true, bind: atom, k: 1}.carry(x, y)
	r.risky = true
	raised := x.bracket(atom) + "^" + y.bracket(atom)
	r.text = "IF(" + y.bracket(adds) + "=0,1+0*" + x.bracket(atom) +
		",IF(" + x.bracket(adds) + ">=0," + raised +
		",IF(" + y.bracket(adds) + "=INT(" + y.text + ")," + raised + ",NA())))"
	return r
}
