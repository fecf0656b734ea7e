package export

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet/unit"
)

// A binding is the precedence of the outermost operator of a formula's text,
// from the lowest.
type binding uint8

const (
	compares binding = iota + 1
	adds
	multiplies
	raises
	atom
)

// term is a formula being converted to text. For a number the value in SI is
// k·text + c: units are folded into the factor k, and the zeros of temperature
// scales into c, so a product of five cells has one constant, and a difference
// of two temperatures none. A constant has no text.
//
// guards are formulas that may be blank: if one is, the term is blank.
// risky says that the term may be a fault; a fault has precedence over a
// blank. perRow says that the text has marks for a table's rows.
type term struct {
	text   string
	bind   binding
	k, c   float64
	under  bool // text is a divisor: the value is k/text + c
	whole  bool // surely a whole number of moderate size, when k is 1 and c 0
	signed bool // a number, to which k and c apply
	risky  bool
	perRow bool
	typed  bool // a person enters it, if the text is a reference
	depth  int  // functions and brackets inside each other
	guards []string
}

// number returns a constant; one that is too large is a fault.
func number(c float64) term {
	if math.IsInf(c, 0) || math.IsNaN(c) {
		return noValue()
	}
	return term{c: c, signed: true, bind: atom, whole: c == math.Trunc(c)}
}

// quantity returns a reference to a number whose unit has scale k and SI
// value c at zero.
func quantity(ref string, k, c float64) term {
	return term{text: ref, bind: atom, k: k, c: c, signed: true}
}

// plainTerm returns a term for a text or a logical value.
func plainTerm(text string, bind binding) term { return term{text: text, bind: bind} }

func (t term) constant() bool { return t.signed && t.text == "" }

// reference reports whether the text is that of a cell, and nothing else.
func (t term) reference() bool {
	return t.bind == atom && t.text != "" && !strings.ContainsAny(t.text, `("`)
}

// entry returns a term that is read where a spreadsheet takes a text for a large
// number, in comparisons, leaves it out, among arguments, or passes it on: of an
// entry the sum with 0, which is a fault then.
func (t term) entry() term {
	if t.typed && t.bind == atom && (t.reference() || strings.HasPrefix(t.text, "INDEX(")) {
		t.text, t.bind = "0+"+t.text, adds
	}
	return t
}

// carry gives a strict operation on x and y their properties of blanks, faults
// and rows.
func (t term) carry(xs ...term) term {
	t.guards = nil
	for i, x := range xs {
		t.risky = t.risky || x.risky
		t.perRow = t.perRow || x.perRow
		t.depth = max(t.depth, x.depth+1)
		others := false
		for j, y := range xs {
			others = others || i != j && len(y.guards) > 0
		}
		t.guards = appendGuards(t.guards, x, others)
	}
	return t
}

// appendGuards adds the guards of x. If another operand may be blank, that
// blank must not hide a fault of x: x itself becomes a guard, because comparing
// a fault gives the fault. A value in a cell of its own needs only the cell as
// its guard.
func appendGuards(guards []string, x term, others bool) []string {
	add := x.guards
	switch {
	case !others || !x.risky:
	case x.reference():
		add = []string{x.text}
	default:
		add = []string{x.closed()}
	}
	for _, g := range add {
		if !slices.Contains(guards, g) {
			guards = append(guards, g)
		}
	}
	return guards
}

// after returns t, which follows cond, without the guards of cond: they have
// been tested when t is computed.
func (t term) after(cond term) term {
	var left []string
	for _, g := range t.guards {
		if !slices.Contains(cond.guards, g) {
			left = append(left, g)
		}
	}
	t.guards = left
	return t
}

// closed returns the text, in SI, with its guards around it.
func (t term) closed() string { return t.in(1, 0).guarded() }

// guardsItself reports whether the text is a branch that may be blank: within a
// longer formula it would be there twice.
func (t term) guardsItself() bool {
	return len(t.guards) == 1 && t.guards[0] == t.text && strings.HasPrefix(t.text, "IF(")
}

// guarded returns the text with its guards around it; k and c are left out.
func (t term) guarded() string {
	if t.guardsItself() {
		return t.text // blank by itself; a mere reference to an empty cell would be 0
	}
	return guard(t.guards, t.text)
}

func guard(guards []string, text string) string {
	switch len(guards) {
	case 0:
		return text
	case 1:
		return "IF(" + blankTest(guards[0]) + `,"",` + text + ")"
	}
	tests := make([]string, len(guards))
	for i, g := range guards {
		tests[i] = blankTest(g)
	}
	return "IF(OR(" + strings.Join(tests, ",") + `),"",` + text + ")"
}

// blankTest brackets where the text could be misread; a formula with an
// operator in it is recognised by its characters.
func blankTest(g string) string {
	if strings.ContainsAny(g, "<>=+-*/^& ") && !strings.HasPrefix(g, "IF(") {
		return "(" + g + `)=""`
	}
	return g + `=""`
}

// bracket returns the text, in brackets if its precedence is lower than need.
func (t term) bracket(need binding) string {
	if t.bind < need {
		return "(" + t.text + ")"
	}
	return t.text
}

// in returns t as a text whose value is (SI − c)/k, with nothing folded.
func (t term) in(k, c float64) term {
	if !t.signed {
		return t
	}
	if t.constant() {
		r := t
		r.text = literal(snap(tidy((t.c-c)/k, (math.Abs(t.c)+math.Abs(c))/math.Abs(k))))
		r.bind = atom
		if strings.HasPrefix(r.text, "-") {
			r.bind = adds
		}
		r.k, r.c = 1, 0
		return r
	}
	r := t.factored(t.k / k)
	if near(t.c, c, math.Abs(t.c)+math.Abs(c)) {
		return r
	}
	return r.shifted(zeros(t.c, -c, t.k, k) / k)
}

// factored returns the text times factor.
func (t term) factored(factor float64) term {
	r := t
	r.k, r.c, r.under = 1, 0, false
	factor = snap(factor)
	if t.under {
		r.text, r.bind = literal(factor)+"/"+t.bracket(raises), multiplies
		if factor < 0 {
			r.bind = adds
		}
		r.whole = false
		return r
	}
	if factor == 1 {
		return r
	}
	r.whole = false
	r.bind = multiplies
	if factor == -1 {
		r.text, r.bind = "-"+t.bracket(multiplies), adds
		if t.bind == raises {
			r.text = "-(" + t.text + ")"
		}
		return r
	}
	if inverse := snap(1 / factor); len(literal(inverse)) < 8 && len(literal(factor)) > 9 {
		r.text = t.bracket(multiplies) + "/" + positive(inverse)
		return r
	}
	r.text = t.bracket(multiplies) + "*" + positive(factor)
	return r
}

// shifted returns the text plus by.
func (t term) shifted(by float64) term {
	by = snap(by)
	if by == 0 {
		return t
	}
	t.whole = t.whole && by == math.Trunc(by)
	t.text, t.bind = t.bracket(adds)+signedLiteral(by), adds
	return t
}

// settled returns t with c included in the text, for operations that need a
// true zero.
func (t term) settled() term {
	if t.constant() || near(t.c, 0, 1) {
		return t
	}
	if t.under {
		return t.in(1, 0)
	}
	r := t.shifted(t.c / t.k)
	r.c = 0
	return r
}

// plus returns x + sign·y.
func plus(x, y term, sign float64) term {
	both := term{signed: true, bind: adds}.carry(x, y)
	switch {
	case x.constant() && y.constant():
		return number(x.c + float64(sign*y.c))
	case y.constant():
		return raisedBy(x, sign*y.c)
	case x.constant():
		return takenFrom(x.c, y, sign)
	}
	if x.under {
		x = x.in(1, 0)
	}
	if y.under {
		y = y.in(1, 0)
	}
	if plainer(x.k, y.k) {
		x, y = x.in(1, x.c), y.in(1, y.c)
	}
	k, ratio := common(x.k, y.k)
	left := x
	right := y.factored(math.Abs(snap(ratio)))
	op := "+"
	if (ratio < 0) != (sign < 0) {
		op = "-"
	}
	need := adds
	if op == "-" || right.bind == adds {
		need = multiplies
	}
	if strings.HasPrefix(right.text, "-") {
		need = atom
	}
	both.k, both.c = k, zeros(x.c, sign*y.c, y.k, k)
	both.text = left.bracket(adds) + op + right.bracket(need)
	both.whole = x.whole && y.whole && k == 1 && math.Abs(ratio) == 1
	return both
}

// raisedBy returns x plus a constant. It is added to the zero of a temperature,
// otherwise it keeps its place in the formula.
func raisedBy(x term, by float64) term {
	if x.c != 0 || x.under {
		x.c = zeros(x.c, by, 1, x.k)
		x.whole = false
		return x
	}
	r := x.shifted(by / x.k)
	r.k, r.whole = x.k, r.whole && x.k == 1
	return r
}

// zeros returns the sum of the zeros of two terms. If most of it cancels, as for
// 459.67 and 491.67, the rest is written in one of two units with its correct
// digits: 32, not 31.999999999999936.
func zeros(a, b float64, units ...float64) float64 {
	for _, k := range units {
		k = math.Abs(k)
		if rest := (a + b) / k; rest != 0 {
			if clean := tidy(rest, (math.Abs(a)+math.Abs(b))/k); clean != rest {
				return clean * k
			}
		}
	}
	return a + b
}

// takenFrom returns a constant plus sign·y.
func takenFrom(c float64, y term, sign float64) term {
	r := y
	r.k, r.whole = sign*y.k, y.whole && c == math.Trunc(c)
	if y.c != 0 || y.under || c == 0 {
		r.c = c + float64(sign*y.c)
		return r
	}
	r.k = y.k
	op := "+"
	if sign < 0 {
		op = "-"
	}
	need := multiplies
	if strings.HasPrefix(y.text, "-") {
		need = atom
	}
	r.text, r.bind = literal(snap(c/y.k))+op+y.bracket(need), adds
	r.whole = r.whole && y.k == 1
	return r
}

// plainer reports whether a sum is easier to read with the factors of both terms
// than with their ratio: the coefficients of a polynomial stay as they are
// published.
func plainer(kx, ky float64) bool {
	const short = 12
	return len(literal(kx)) <= short && len(literal(ky)) <= short && len(literal(math.Abs(snap(ky/kx)))) > short
}

// common returns the factor to take out of a sum of two terms, the first
// one's, and the ratio that stays on the second.
func common(kx, ky float64) (k, ratio float64) {
	if near(kx, ky, kx) {
		return kx, 1
	}
	return kx, ky / kx
}

// times returns x·y.
func times(x, y term) term {
	x, y = x.settled(), y.settled()
	r := term{signed: true, bind: multiplies}.carry(x, y)
	switch {
	case x.constant() && y.constant():
		return number(x.c * y.c)
	case x.constant():
		return scaled(y, x.c)
	case y.constant():
		return scaled(x, y.c)
	}
	if far(x.k * y.k) {
		x, y = x.in(1, 0), y.in(1, 0)
		r.risky = true
	}
	r.k = x.k * y.k
	switch {
	case x.under && y.under:
		r.under = true
		r.text = x.bracket(multiplies) + "*" + y.bracket(multiplies)
	case x.under:
		r.text = y.bracket(multiplies) + "/" + x.bracket(raises)
	case y.under:
		r.text = x.bracket(multiplies) + "/" + y.bracket(raises)
	default:
		r.text = x.bracket(multiplies) + "*" + y.bracket(multiplies)
		r.whole = x.whole && y.whole
	}
	return r
}

// scaled returns x times a constant. A constant of 0 keeps the faults of x.
func scaled(x term, by float64) term {
	if by == 0 {
		x = x.in(1, 0)
		x.text, x.bind = x.bracket(multiplies)+"*0", multiplies
		return x
	}
	if far(x.k * by) {
		x = x.in(1, 0)
		x.text, x.bind, x.risky = x.bracket(multiplies)+"*"+positive(by), multiplies, true
		return x
	}
	x.k *= by
	x.whole = x.whole && by == math.Trunc(by)
	return x
}

// over returns x/y.
func over(x, y term) term {
	x, y = x.settled(), y.settled()
	if y.constant() {
		if y.c == 0 {
			return noValue()
		}
		if x.constant() {
			return number(x.c / y.c)
		}
		if far(x.k / y.c) {
			x = x.in(1, 0)
			x.text, x.bind, x.risky = x.bracket(multiplies)+"/"+positive(y.c), multiplies, true
			return x
		}
		x.k /= y.c
		x.whole = false
		return x
	}
	r := term{signed: true, bind: multiplies}.carry(x, y)
	r.risky = true
	if x.constant() {
		return inverted(r, x.c, y)
	}
	if far(x.k / y.k) {
		x, y = x.in(1, 0), y.in(1, 0)
	}
	r.k = x.k / y.k
	switch {
	case x.under && y.under:
		r.text = y.bracket(multiplies) + "/" + x.bracket(raises)
	case x.under:
		r.under = true
		r.text = x.bracket(multiplies) + "*" + y.bracket(multiplies)
	case y.under:
		r.text = x.bracket(multiplies) + "*" + y.bracket(multiplies)
	default:
		r.text = x.bracket(multiplies) + "/" + y.bracket(raises)
	}
	return r
}

// inverted returns a constant over y.
func inverted(r term, c float64, y term) term {
	r.k = c / y.k
	r.text, r.bind, r.under = y.text, y.bind, !y.under
	if c == 0 {
		r.k = 1 / y.k
		return scaled(r, 0)
	}
	return r
}

// far reports whether a factor is so near the limits of floating point that it
// must not be folded: the product might be finite although the factor is not,
// or the reverse. The product may be too large, which is a fault.
func far(k float64) bool {
	m := math.Abs(k)
	return !(m > 1e-150 && m < 1e150)
}

// noValue returns a term that is a fault.
func noValue() term {
	return term{text: "NA()", bind: atom, k: 1, signed: true, risky: true}
}

// near reports whether a and b are equal except for rounding, on the scale of
// size.
func near(a, b, size float64) bool { return math.Abs(a-b) <= 4e-16*math.Abs(size) }

// snap removes the error of a few roundings from a factor: 12.000000000000002
// is 12, and 273.15 − 273.15 is 0.
func snap(v float64) float64 {
	for digits := 1; digits <= 12; digits++ {
		s := unit.Significant(v, digits)
		if near(s, v, v) {
			return s
		}
	}
	return v
}

// tidy is snap for a difference of two numbers about as large as size, which
// has a rounding error of that size: 459.67 − 427.67 is 32.
func tidy(v, size float64) float64 {
	for digits := 1; digits <= 10; digits++ {
		s := unit.Significant(v, digits)
		if near(s, v, size) {
			return s
		}
	}
	return v
}

// literal writes a number so that every spreadsheet reads the same: 17 digits
// where they are needed, an exponent only for long numbers.
func literal(v float64) string {
	if v == 0 {
		return "0"
	}
	if m := math.Abs(v); m >= 1e-6 && m < 1e15 {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'E', -1, 64)
}

// positive writes a factor, in brackets if it is negative.
func positive(v float64) string {
	if v < 0 {
		return "(" + literal(v) + ")"
	}
	return literal(v)
}

// signedLiteral writes a number with its sign in front, as a summand.
func signedLiteral(v float64) string {
	if v < 0 {
		return literal(v)
	}
	return "+" + literal(v)
}
