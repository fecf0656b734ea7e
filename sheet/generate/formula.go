package generate

import (
	"fmt"
	"strconv"
	"strings"
)

// level is the precedence of a formula.
type level int

const (
	branch level = iota
	either
	both
	negation
	comparison
	addition
	product
	sign
	power
	primary
)

// formula is a text with the level of its outermost operator.
type formula struct {
	text string
	level
}

// at returns f, in brackets if its precedence is lower than least.
func (f formula) at(least level) string {
	if f.level < least {
		return "(" + f.text + ")"
	}
	return f.text
}

// join writes a binary operator that binds to the left.
func join(a formula, op string, at level, b formula) formula {
	return formula{a.at(at) + " " + op + " " + b.at(at+1), at}
}

func add(a, b formula) formula    { return join(a, "+", addition, b) }
func sub(a, b formula) formula    { return join(a, "-", addition, b) }
func times(a, b formula) formula  { return join(a.noPoint(), "*", product, b.noPoint()) }
func over(a, b formula) formula   { return join(a.noPoint(), "/", product, b.noPoint()) }
func raised(a, b formula) formula { return formula{a.at(primary) + "^" + b.at(primary), power} }

func literal(text string) formula {
	if strings.Contains(text, " ") {
		return formula{text, product}
	}
	return formula{text, primary}
}

// noPoint returns f, or the same as a sum if it is a literal on a scale of
// temperature, which a product refuses.
func (f formula) noPoint() formula {
	number, unit, _ := strings.Cut(f.text, " ")
	if _, err := strconv.ParseFloat(number, 64); err == nil && (unit == "degC" || unit == "degF") {
		return formula{f.text + " + 0 deltaC", addition}
	}
	return f
}

func call(name string, args ...formula) formula {
	texts := make([]string, len(args))
	for i, a := range args {
		texts[i] = a.text
	}
	return formula{name + "(" + strings.Join(texts, ", ") + ")", primary}
}

func ifElse(c, a, b formula) formula {
	return formula{fmt.Sprintf("if %s then %s else %s", c.at(either), a.at(either), b.text), branch}
}

// scope is the names that a formula may read, by quantity.
type scope struct {
	names [quantities + 2][]string
	outer *scope
}

func (s *scope) add(q quantity, name string) { s.names[q] = append(s.names[q], name) }

// formula returns a formula of q, depth operators deep at most.
func (w *writer) formula(q quantity, depth int) formula {
	switch {
	case depth <= 0:
		return w.leaf(q)
	case q == truth:
		return w.condition(depth)
	case q == words:
		return w.wording(depth)
	case w.Faults && w.chance(25):
		return w.faulty(q, depth)
	}
	if f, ok := w.special(q, depth); ok {
		return f
	}
	return w.common(q, depth)
}

// leaf returns a name of q in scope, or a literal.
func (w *writer) leaf(q quantity) formula {
	for s := w.scope; s != nil; s = s.outer {
		if names := s.names[q]; len(names) > 0 && !w.chance(4) {
			return formula{choose(w, names), primary}
		}
	}
	return w.literal(q)
}

// common returns one of the formulas that every quantity has.
func (w *writer) common(q quantity, depth int) formula {
	sub := func() formula { return w.formula(q, depth-1) }
	switch w.rnd.IntN(9) {
	case 0, 1:
		return w.sum(q, depth)
	case 2:
		return times(w.tame(depth-1), sub())
	case 3:
		if q.facts().point {
			return w.leaf(q)
		}
		return over(sub(), add(call("abs", w.formula(ratio, depth-1)), literal("1")))
	case 4:
		return call(choose(w, []string{"min", "max"}), sub(), sub())
	case 5:
		return ifElse(w.condition(depth-1), sub(), sub())
	case 6:
		return w.called(q, depth)
	case 7:
		return w.ofTable(q, depth)
	}
	return w.single(q, depth)
}

// sum returns an addition or subtraction that suits the kind of q.
func (w *writer) sum(q quantity, depth int) formula {
	a := w.formula(q, depth-1)
	other := q
	if q.facts().point {
		other = q.facts().step
	}
	if w.chance(2) {
		return add(a, w.formula(other, depth-1))
	}
	return sub(a, w.formula(other, depth-1))
}

// single returns a formula of one operand.
func (w *writer) single(q quantity, depth int) formula {
	x := w.formula(q, depth-1)
	switch {
	case q.facts().point:
		return call("max", x, w.leaf(q), w.leaf(q))
	case w.chance(2):
		return formula{"-" + x.at(power), sign}
	}
	return call("abs", x)
}

// tame returns a number between −1 and 1, so products stay bounded.
func (w *writer) tame(depth int) formula {
	if depth <= 0 || w.chance(3) {
		return literal(choose(w, []string{"0.5", "0.25", "0.9", "0.1", "1"}))
	}
	x := w.formula(ratio, depth-1)
	return over(x, add(literal("1"), call("abs", x)))
}

// above returns a divisor of q that is never zero.
func (w *writer) above(q quantity, depth int) formula {
	return add(call("abs", w.formula(q, depth-1)), literal(q.facts().decent))
}

// special returns a formula that only q has; ok is false if none was chosen.
func (w *writer) special(q quantity, depth int) (f formula, ok bool) {
	if w.chance(2) {
		return f, false
	}
	of := func(q quantity) formula { return w.formula(q, depth-1) }
	switch q {
	case ratio:
		return w.ratio(depth), true
	case length:
		if w.chance(2) {
			return call("sqrt", call("abs", of(area))), true
		}
		return times(of(speed), w.leaf(timing)), true
	case area:
		return w.squared(depth), true
	case timing:
		return over(of(length), w.above(speed, depth)), true
	case speed:
		return w.velocity(depth), true
	case thrust:
		return over(of(speed), w.above(timing, depth)), true
	case force:
		return times(of(mass), of(thrust)), true
	case mass:
		return over(of(force), w.above(thrust, depth)), true
	case pressurePlain:
		return over(of(force), w.above(area, depth)), true
	case pressureRelative:
		return formula{of(pressureAbsolute).at(addition) + " - " + of(pressureAbsolute).at(product), addition}, true
	case heatStep:
		return formula{of(heatPoint).at(addition) + " - " + of(heatPoint).at(product), addition}, true
	}
	return f, false
}

func (w *writer) squared(depth int) formula {
	if w.chance(2) {
		return raised(w.formula(length, depth-1), literal("2"))
	}
	return times(w.leaf(length), w.formula(length, depth-1))
}

func (w *writer) velocity(depth int) formula {
	switch w.rnd.IntN(3) {
	case 0:
		return over(w.formula(length, depth-1), w.above(timing, depth))
	case 1:
		return times(w.formula(thrust, depth-1), w.leaf(timing))
	}
	return over(times(w.formula(turning, depth-1), w.leaf(length)), literal("1 turn"))
}

// ratio returns a formula for a plain number.
func (w *writer) ratio(depth int) formula {
	x := w.formula(ratio, depth-1)
	switch w.rnd.IntN(14) {
	case 0:
		return call(choose(w, []string{"floor", "ceil", "round", "sign"}), x)
	case 1:
		return call("sqrt", call("abs", x))
	case 2:
		return raised(call("min", call("abs", x), literal("50")), literal(choose(w, []string{"2", "3", "0.5", "1.4"})))
	case 3:
		return raised(call("cbrt", x), literal("3"))
	case 4:
		return call("mod", x, literal(choose(w, []string{"2", "3", "1.4", "0.7"})))
	case 5:
		return call("ln", add(literal("1"), call("abs", x)))
	case 6:
		return call("exp", w.tame(depth))
	case 7:
		return call(choose(w, []string{"sin", "cos"}), times(w.tame(depth), literal("80 deg")))
	case 8:
		return over(w.formula(teeth, depth-1), w.above(teeth, depth))
	case 9:
		return w.quotient(depth)
	case 10:
		return call("hypot", x, w.leaf(ratio))
	case 11:
		return raised(add(literal("0.2"), call("abs", w.tame(depth))), w.tame(depth))
	case 12:
		return times(x, w.tame(depth))
	}
	return call("round", times(literal("10"), w.tame(depth)))
}

// quotient divides two of one quantity.
func (w *writer) quotient(depth int) formula {
	q := choose(w, []quantity{length, area, timing, speed, mass, force, pressureRelative, heatStep, turning})
	return over(w.formula(q, depth-1), w.above(q, depth))
}

// wording returns a formula for a text.
func (w *writer) wording(depth int) formula {
	return ifElse(w.condition(depth-1), w.leaf(words), w.formula(words, depth-1))
}

// condition returns a formula for a logical value.
func (w *writer) condition(depth int) formula {
	if depth <= 0 {
		return w.leaf(truth)
	}
	switch w.rnd.IntN(8) {
	case 0:
		return join(w.condition(depth-1), "and", both, w.condition(depth-1))
	case 1:
		return join(w.condition(depth-1), "or", either, w.condition(depth-1))
	case 2:
		return formula{"not " + w.condition(depth-1).at(primary), negation}
	case 3:
		return w.chain(depth)
	case 4:
		if w.Texts {
			return join(w.leaf(words), choose(w, []string{"=", "<>"}), comparison, w.leaf(words))
		}
	}
	q := quantity(w.rnd.IntN(int(quantities)))
	return join(w.formula(q, depth-1), choose(w, []string{"<", "<=", ">", ">=", "=", "<>"}), comparison, w.leaf(q))
}

// chain returns a comparison of three.
func (w *writer) chain(depth int) formula {
	q := quantity(w.rnd.IntN(int(quantities)))
	op := [2]string{"<", "<="}
	a, x, b := w.leaf(q), w.formula(q, depth-1), w.leaf(q)
	return formula{fmt.Sprintf("%s %s %s %s %s", a.at(addition), choose(w, op[:]), x.at(addition), choose(w, op[:]), b.at(addition)), comparison}
}

// faulty returns a formula of q that cannot be computed, or that can be only
// because its faulty part is in a branch that is not taken.
func (w *writer) faulty(q quantity, depth int) formula {
	x := w.leaf(ratio)
	bad := choose(w, []formula{
		over(literal("1"), sub(x, x)),
		over(sub(x, x), sub(x, x)),
		call("sqrt", sub(literal("-1"), call("abs", x))),
		call("ln", sub(x, x)),
		call("exp", add(literal("1000"), call("abs", x))),
		times(add(literal("1e300"), x), literal("1e300")),
		raised(add(literal("9"), call("abs", x)), literal("900")),
		raised(sub(literal("-2"), call("abs", x)), literal("0.5")),
		call("asin", literal("1.5")),
	})
	if bad.text[:4] == "asin" {
		bad = call("cos", bad)
	}
	switch w.rnd.IntN(4) {
	case 0:
		return ifElse(w.condition(depth-1), w.leaf(q), times(bad, w.leaf(q)))
	case 1:
		return ifElse(join(bad, ">", comparison, literal("0")), w.leaf(q), w.leaf(q))
	case 2:
		return over(w.leaf(q), add(literal("1"), call("abs", bad)))
	}
	return times(bad, w.leaf(q))
}
