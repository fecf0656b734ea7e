package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/unit"
)

// binaryMemo caches the type of an operation on two compatible types, so that a
// large sheet does not add the same exponents again.
type binaryMemo struct {
	op      Op
	a, b, t TypeID
}

const memoSize = 1 << 10

func (c *checker) memo(op Op, a, b TypeID) *binaryMemo {
	h := uint32(a)*0x9E3779B1 ^ uint32(b)*0x85EBCA6B ^ uint32(op)*0xC2B2AE35
	return &c.binary[h>>16&(memoSize-1)]
}

// number reports whether the operand id is a number, with an error if it is
// not. An operand of unknown type is not reported.
func (c *checker) number(id NodeID, what string) bool {
	t := c.m.Nodes[id].Type()
	if t == unknownType {
		return false
	}
	if form := c.m.Types[t].Form; form != Number {
		r := c.fail(c.span(id), diag.FormMismatch, "%s needs numbers, and %s is %s", what, c.quote(id), formName(form))
		if form == Truth {
			r.help("to count it, write if %s then 1 else 0", c.quote(id))
		}
		return false
	}
	return true
}

// inferArithmetic types + - * /.
func (c *checker) inferArithmetic(id NodeID) {
	n := c.m.Nodes[id]
	a, b := c.m.Nodes[n.A].Type(), c.m.Nodes[n.B].Type()
	memo := c.memo(n.Op, a, b)
	t := memo.t
	if memo.op != n.Op || memo.a != a || memo.b != b {
		what := opWord(n.Op)
		if left, right := c.number(n.A, what), c.number(n.B, what); !left || !right {
			return
		}
		if t = c.combine(id, n, a, b); t == unknownType {
			return
		}
		*memo = binaryMemo{n.Op, a, b, t}
	}
	u := unitID(0)
	if n.Op == Add || n.Op == Sub {
		u = c.firstUnit(t, n.A, n.B)
	} else {
		u = c.scaledUnit(t, n.A, n.B)
	}
	c.set(id, t, u)
	if n.Op == Add || n.Op == Sub {
		c.bareMeets(id, n.A, n.B)
		c.passReading(id, n.A, n.B)
	} else {
		c.passBare(id, n.A, n.B)
	}
}

// opWord is the name of an operation in messages.
func opWord(op Op) string {
	return [...]string{
		Add: "+", Sub: "-", Mul: "*", Div: "/", Pow: "^", Neg: "-",
		Less: "<", LessEqual: "<=", Greater: ">", GreaterEqual: ">=", Equal: "=", NotEqual: "<>", And: "and", Or: "or", Not: "not", ops: "",
	}[op]
}

// combine returns the type of an arithmetic operation on two numbers.
func (c *checker) combine(id NodeID, n Node, a, b TypeID) TypeID {
	ta, tb := c.m.Types[a], c.m.Types[b]
	t := Type{MayBlank: ta.MayBlank || tb.MayBlank}
	ok := true
	if (n.Op == Mul || n.Op == Div) && c.pointScaled(n) {
		return unknownType
	}
	switch n.Op {
	case Mul:
		t.Measure, ok = ta.Measure.Mul(tb.Measure)
	case Div:
		if _, problem := unit.DivKind(ta.Measure, tb.Measure); problem != "" {
			c.kindProblem(id, problem)
			return unknownType
		}
		t.Measure, ok = ta.Measure.Div(tb.Measure)
	default:
		return c.sum(id, n, ta, tb)
	}
	if !ok {
		c.exponentBound(id)
		return unknownType
	}
	return c.m.intern(t)
}

func (c *checker) exponentBound(id NodeID) {
	c.fail(c.span(id), diag.ExponentBound, "the dimension of %s is too large: no exponent may exceed %d", c.quote(id), unit.MaxExponent)
}

// sum returns the type of a sum or difference.
func (c *checker) sum(id NodeID, n Node, ta, tb Type) TypeID {
	a, b := ta.Measure, tb.Measure
	kind := unit.AddKind
	if n.Op == Sub {
		kind = unit.SubKind
	}
	k, problem := kind(a.Kind, b.Kind)
	a.Kind, b.Kind = unit.Plain, unit.Plain
	if p := unit.Meets(a, b); p != "" {
		c.mismatch(p, opWord(n.Op), n.A, n.B)
		return unknownType
	}
	if problem != "" {
		c.kindProblem(id, problem)
		return unknownType
	}
	if n.Op == Add && c.kelvinOnPoint(id, n, ta.Measure, tb.Measure) {
		return unknownType
	}
	t := Type{MayBlank: ta.MayBlank || tb.MayBlank, Measure: unit.Join(a, b)}
	t.Measure.Kind = k
	return c.m.intern(t)
}

// mismatch reports two incompatible operands.
func (c *checker) mismatch(p unit.Problem, what string, a, b NodeID) report {
	message, help := c.m.Units.MismatchText(what, c.measure(a), c.measure(b), c.quote(a), c.quote(b))
	r := c.fail(c.span(a).To(c.span(b)), problemCode(p), "%s", message)
	r.d.Help = help
	if !c.plainStart(r, a, b) {
		c.plainStart(r, b, a)
	}
	return r
}

// plainStart names the likely mistake if the column read at id starts as a
// plain number only because its start was written without a unit.
func (c *checker) plainStart(r report, id, other NodeID) bool {
	n := c.m.Nodes[id]
	if n.Op != ColumnRef && n.Op != PrevRef {
		return false
	}
	col := c.m.Columns[n.Ref()]
	if col.Start == 0 || !c.isBare(col.Start) {
		return false
	}
	at, file := c.span(col.Start), c.fileOf(&col.Quantity)
	start := quoteText(file, at) + " " + c.m.Units.Preferred(c.measure(other)).Symbol
	r.help("%s starts as a plain number: write start %s", col.Name, start).
		related(file, at, "the start of %s", col.Name)
	if file == c.file {
		r.repair(at, start, "write start %s", start)
	}
	return true
}

func (c *checker) measure(id NodeID) unit.Measure { return c.m.TypeOf(id).Measure }

// meet returns the type of two operands that must be compatible in what: they
// have the same form, dimension and counts, and are not a point and a
// difference.
func (c *checker) meet(what string, a, b NodeID) TypeID {
	x, y := c.m.Nodes[a].Type(), c.m.Nodes[b].Type()
	if x == unknownType || y == unknownType {
		return unknownType
	}
	if x == y {
		return x
	}
	tx, ty := c.m.Types[x], c.m.Types[y]
	if tx.Form != ty.Form {
		c.fail(c.span(a).To(c.span(b)), diag.FormMismatch, "%s: %s is %s, but %s is %s",
			what, c.quote(a), formName(tx.Form), c.quote(b), formName(ty.Form))
		return unknownType
	}
	t := Type{Form: tx.Form, MayBlank: tx.MayBlank || ty.MayBlank}
	if tx.Form == Number {
		if p := unit.Meets(tx.Measure, ty.Measure); p != "" {
			c.meetFails(p, what, a, b)
			return unknownType
		}
		t.Measure = unit.Join(tx.Measure, ty.Measure)
	}
	return c.m.intern(t)
}

// meetFails reports incompatible operands, with a correction for a point and a
// difference.
func (c *checker) meetFails(p unit.Problem, what string, a, b NodeID) {
	r := c.mismatch(p, what, a, b)
	if p == unit.KindsDiffer {
		relative := a
		if c.measure(b).Kind == unit.Relative {
			relative = b
		}
		c.offerAmbient(r, relative)
	}
}

// inferNeg types a leading minus.
func (c *checker) inferNeg(id NodeID) {
	n := c.m.Nodes[id]
	if !c.number(n.A, "-") {
		return
	}
	t := c.m.Nodes[n.A].Type()
	if _, problem := unit.NegKind(c.measure(n.A).Kind); problem != "" {
		c.kindProblem(id, problem)
		return
	}
	c.set(id, t, c.fitting(t, c.shown[n.A]))
	c.passReading(id, n.A)
}

// inferPower types a power. If the base has a dimension, the exponent is a
// constant that is read as an exact fraction.
func (c *checker) inferPower(id NodeID) {
	n := c.m.Nodes[id]
	if left, right := c.number(n.A, "^"), c.number(n.B, "^"); !left || !right {
		return
	}
	base, exponent := c.m.TypeOf(n.A), c.m.TypeOf(n.B)
	if !exponent.Measure.Dimensionless() {
		c.fail(c.span(n.B), diag.DimensionMismatch, "an exponent is a plain number; %s is %s", c.quote(n.B), c.m.describe(c.m.Nodes[n.B].Type()))
		return
	}
	t := Type{MayBlank: base.MayBlank || exponent.MayBlank}
	if !base.Measure.Dimensionless() || base.Measure.Counts != (unit.Counts{}) {
		num, den, ok := c.exactExponent(n)
		if !ok && base.Measure.Dimensionless() {
			c.set(id, c.m.intern(t), 0) // a count to any power is a number
			return
		}
		if !ok {
			return
		}
		if t.Measure, ok = base.Measure.Pow(num, den); !ok {
			c.exponentBound(id)
			return
		}
	}
	c.set(id, c.m.intern(t), 0)
}

// exactExponent returns the exponent of n as a fraction, or reports why there
// is none.
func (c *checker) exactExponent(n Node) (num, den int, ok bool) {
	quiet := c.measure(n.A).Dimensionless()
	v, constant := c.constant(n.B)
	if !constant {
		if !quiet {
			c.fail(c.span(n.B), diag.PowerVaries, "%s has a dimension (%s), so its exponent must be a constant: otherwise the dimension of the result would change with %s",
				c.quote(n.A), c.m.describe(c.m.Nodes[n.A].Type()), c.quote(n.B)).
				help("divide the base by a value of its own dimension first")
		}
		return 0, 0, false
	}
	num, den, ok = fraction(v)
	if !ok && !quiet {
		c.fail(c.span(n.B), diag.PowerFraction, "%s has a dimension (%s), so its exponent must be a fraction such as 2, 0.5 or (1/3); %s is none",
			c.quote(n.A), c.m.describe(c.m.Nodes[n.A].Type()), c.quote(n.B))
	}
	return num, den, ok
}

// constant returns the value of a formula of literals.
func (c *checker) constant(id NodeID) (float64, bool) {
	n := c.m.Nodes[id]
	if n.Op == Const {
		return n.Num(), true
	}
	if n.Op == Neg {
		v, ok := c.constant(n.A)
		return -v, ok
	}
	if n.Op < Add || n.Op > Div {
		return 0, false
	}
	a, ok := c.constant(n.A)
	b, ok2 := c.constant(n.B)
	switch n.Op {
	case Add:
		a += b
	case Sub:
		a -= b
	case Mul:
		a *= b
	case Div:
		a /= b
	}
	return a, ok && ok2
}

// fraction returns v as a fraction with a small denominator whose value is
// exactly v.
func fraction(v float64) (num, den int, ok bool) {
	const most = 1000
	if v > most || v < -most {
		return 0, 0, false
	}
	for den = 1; den <= 12; den++ {
		scaled := float64(v * float64(den))
		num = int(scaled + 0.5)
		if scaled < 0 {
			num = -int(-scaled + 0.5)
		}
		if float64(num)/float64(den) == v {
			return num, den, true
		}
	}
	return 0, 0, false
}

// inferComparison types a comparison; texts and logical values have operations of
// their own.
func (c *checker) inferComparison(id NodeID) {
	n := c.m.Nodes[id]
	t := c.meet(opWord(n.Op), n.A, n.B)
	if t == unknownType {
		return
	}
	typ := c.m.Types[t]
	if typ.Form != Number {
		switch n.Op {
		case Equal:
			c.m.Nodes[id].Op = SameText
		case NotEqual:
			c.m.Nodes[id].Op = NotSameText
		default:
			c.fail(c.span(id), diag.FormMismatch, "%s orders numbers; %s is %s, which can only be equal (=) or not (<>)", opWord(n.Op), c.quote(n.A), formName(typ.Form))
			return
		}
	}
	c.set(id, c.m.mayBlank(truthType, typ.MayBlank), 0)
	c.bareMeets(id, n.A, n.B)
}

// truth reports whether operand id is a condition, with an error if it is not.
func (c *checker) truth(id NodeID, what string) bool {
	t := c.m.Nodes[id].Type()
	if t == unknownType {
		return false
	}
	if form := c.m.Types[t].Form; form != Truth {
		example := "> 0"
		if form == Text {
			example = `= "…"`
		}
		c.fail(c.span(id), diag.FormMismatch, "%s needs a condition, and %s is %s", what, c.quote(id), formName(form)).
			help("compare it, as in %s %s", c.quote(id), example)
		return false
	}
	return true
}

func (c *checker) inferIf(id NodeID) {
	n := c.m.Nodes[id]
	cond := c.truth(n.A, "if")
	then, other := c.m.BranchesOf(&n)
	t := c.meet("then and else", then, other)
	if !cond || t == unknownType {
		return
	}
	t = c.m.mayBlank(t, c.m.TypeOf(n.A).MayBlank)
	c.set(id, t, c.firstUnit(t, then, other))
	c.bareMeets(id, then, other)
	c.passReading(id, then, other)
}

func (c *checker) inferLogic(id NodeID) {
	n := c.m.Nodes[id]
	what := opWord(n.Op)
	ok := c.truth(n.A, what)
	blank := c.m.TypeOf(n.A).MayBlank
	if n.Op != Not {
		ok = c.truth(n.B, what) && ok
		blank = blank || c.m.TypeOf(n.B).MayBlank
	}
	if ok {
		c.set(id, c.m.mayBlank(truthType, blank), 0)
	}
}
