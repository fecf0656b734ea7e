package kernel

import "math"

// Tolerance is the difference, relative to the larger of two numbers, up to
// which they are equal.
const Tolerance = 1e-12

// AtLeast reports a >= b with tolerance: a − b ≥ −1e-12·max(|a|,|b|). It is
// false if either is a NaN.
func AtLeast(a, b float64) bool {
	return a >= b || nearly(a, b)
}

// nearly reports whether a and b are equal with tolerance. A product with
// the larger of two is the larger of two products.
func nearly(a, b float64) bool {
	d := math.Abs(a - b)
	return d <= Tolerance*math.Abs(a) || d <= Tolerance*math.Abs(b)
}

// Same reports whether a and b are equal numbers, with tolerance.
func Same(a, b float64) bool { return a == b || nearly(a, b) }

// Least returns the least number that is at least b with tolerance: for finite
// numbers, AtLeast(a, b) is a >= Least(b). A comparison with a constant
// therefore needs no tolerance. The greatest a of AtLeast(b, a) is -Least(-b).
func Least(b float64) float64 {
	least := math.Nextafter(b-float64(Tolerance*math.Abs(b)), math.Inf(-1)) // just below it
	for !AtLeast(least, b) {
		least = math.Nextafter(least, math.Inf(1))
	}
	return least
}

// Bounded reports whether b has a Least: next to the largest numbers there may
// be none.
func Bounded(b float64) bool { return math.Abs(b) < math.MaxFloat64/2 }

// GreaterEqual returns the truth of a >= b.
func GreaterEqual(a, b float64) float64 {
	switch {
	case a != a || b != b:
		return Join(a, b)
	case AtLeast(a, b):
		return 1
	}
	return 0
}

// LessEqual returns the truth of a <= b.
func LessEqual(a, b float64) float64 { return GreaterEqual(b, a) }

// Less returns the truth of a < b, which is that of not a >= b.
func Less(a, b float64) float64 { return Not(GreaterEqual(a, b)) }

// Greater returns the truth of a > b, which is that of not a <= b.
func Greater(a, b float64) float64 { return Not(GreaterEqual(b, a)) }

// Equal returns the truth of a = b on numbers, with tolerance.
func Equal(a, b float64) float64 {
	switch {
	case a != a || b != b:
		return Join(a, b)
	case Same(a, b):
		return 1
	}
	return 0
}

// NotEqual returns the truth of a <> b on numbers.
func NotEqual(a, b float64) float64 { return Not(Equal(a, b)) }

// SameText returns the truth of a = b on texts and logical values, exactly.
func SameText(a, b float64) float64 {
	switch {
	case a != a || b != b:
		return Join(a, b)
	case a == b:
		return 1
	}
	return 0
}

// NotSameText returns the truth of a <> b on texts and logical values.
func NotSameText(a, b float64) float64 { return Not(SameText(a, b)) }

// Not returns no for yes and yes for no.
func Not(a float64) float64 {
	if a == a {
		return 1 - a
	}
	return settleOne(a)
}

// If returns then if cond is yes and otherwise if it is no; the other operand
// has no effect. A condition that is a fault or a blank is the result.
func If(cond, then, otherwise float64) float64 {
	switch cond {
	case 1:
		return then
	case 0:
		return otherwise
	}
	return settleOne(cond)
}

// And returns `if a then b else no`.
func And(a, b float64) float64 { return If(a, b, 0) }

// Or returns `if a then yes else b`.
func Or(a, b float64) float64 { return If(a, 1, b) }

// Below reports that b is larger than a by more than any tolerance, in as few
// steps as possible: a fast loop tests it before it calls Less and the others.
// It is false if either is not a number.
func Below(a, b float64) bool {
	return a-b < -Tolerance*(math.Abs(a)+math.Abs(b))
}
