package kernel

import (
	"fmt"
	"math"
	"strings"
)

// The functions below are what rows of intrinsics carry as F1 and F2. They
// are called with numbers only (Apply sees to that) and answer a NaN or an
// infinity outside their domain.
//
// Sqrt, Abs, Floor, Ceil, Round, Mod, Min and Max are exact or correctly
// rounded and give the same bits everywhere, and so do Exp, Ln and powers, which
// power.go writes out. Log10, Cbrt, Hypot and the angles are those of Go's
// library; they agree across architectures to a few units in the last place.

// An angle in flight is in turns (rpm is turn/min, a turn counts as 1), so
// that quarter turns are exact: sin(180 deg) is 0, and not 1.2e-16.

// octant returns x, in turns, as a quarter count q in 0..3 and a rest of at
// most an eighth of a turn either way, which is exact.
func octant(x float64) (q int, rest float64) {
	x = math.Mod(x, 1)
	n := math.Round(x * 4)
	return int(n) & 3, x - n*0.25 // the product is exact, fused or not
}

// Sin returns the sine of x turns.
func Sin(x float64) float64 {
	q, r := octant(x)
	r *= 2 * math.Pi
	switch q {
	case 1:
		return math.Cos(r)
	case 2:
		return -math.Sin(r)
	case 3:
		return -math.Cos(r)
	}
	return math.Sin(r)
}

// Cos returns the cosine of x turns.
func Cos(x float64) float64 {
	q, r := octant(x)
	r *= 2 * math.Pi
	switch q {
	case 1:
		return -math.Sin(r)
	case 2:
		return -math.Cos(r)
	case 3:
		return math.Sin(r)
	}
	return math.Cos(r)
}

// Tan returns the tangent of x turns; a quarter turn has none.
func Tan(x float64) float64 {
	q, r := octant(x)
	t := math.Tan(2 * math.Pi * r)
	if q&1 == 1 {
		return -1 / t
	}
	return t
}

// turns returns an angle in radians as one in turns.
func turns(radians float64) float64 { return radians / (2 * math.Pi) }

// Asin returns the angle whose sine is x, in turns.
func Asin(x float64) float64 { return turns(math.Asin(x)) }

// Acos returns the angle whose cosine is x, in turns.
func Acos(x float64) float64 { return turns(math.Acos(x)) }

// Atan returns the angle whose tangent is x, in turns.
func Atan(x float64) float64 { return turns(math.Atan(x)) }

// Atan2 returns the angle of the point (x, y), in turns.
func Atan2(y, x float64) float64 { return turns(math.Atan2(y, x)) }

// Abs returns x without its sign.
func Abs(x float64) float64 { return math.Abs(x) }

// Sqrt returns the square root of x.
func Sqrt(x float64) float64 { return math.Sqrt(x) }

// Cbrt returns the cube root of x, which may be negative.
func Cbrt(x float64) float64 { return math.Cbrt(x) }

// Log10 returns the decimal logarithm of x, exact for 1, 10, 100 and so on.
func Log10(x float64) float64 {
	r := math.Log10(x)
	if n := math.Round(r); n >= 0 && n <= 22 && math.Abs(r-n) < 1e-9 && math.Pow10(int(n)) == x {
		return n
	}
	return r
}

// Sign returns -1, 0 or 1.
func Sign(x float64) float64 {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// Lower returns the smaller of two numbers.
func Lower(a, b float64) float64 {
	if b < a {
		return b
	}
	return a
}

// Higher returns the larger of two numbers.
func Higher(a, b float64) float64 {
	if b > a {
		return b
	}
	return a
}

// Hypot returns the long side of a right-angled triangle.
func Hypot(a, b float64) float64 { return math.Hypot(a, b) }

// Gcd returns the greatest common divisor of two whole numbers; others have
// none.
func Gcd(a, b float64) float64 {
	m, n := math.Round(math.Abs(a)), math.Round(math.Abs(b))
	if !Same(math.Abs(a), m) || !Same(math.Abs(b), n) || m > 1<<53 || n > 1<<53 {
		return math.NaN()
	}
	i, k := uint64(m), uint64(n) // which take a fraction of the time of math.Mod
	for k != 0 {
		i, k = k, i%k
	}
	return float64(i)
}

// Apply1 returns the intrinsic's value for one argument in flight. A row
// without F1 keeps its argument.
func (r *Intrinsic) Apply1(x float64) float64 {
	if x != x {
		return settleOne(x)
	}
	if r.F1 == nil {
		return x
	}
	if v := r.F1(x); finite(v) {
		return v
	}
	return Fault
}

// Apply2 returns the intrinsic's value for two arguments in flight.
func (r *Intrinsic) Apply2(x, y float64) float64 {
	if x != x || y != y {
		return Join(x, y)
	}
	if v := r.F2(x, y); finite(v) {
		return v
	}
	return Fault
}

// Apply returns the intrinsic's value for any number of arguments: more
// than two fold from the left.
func (r *Intrinsic) Apply(args ...float64) float64 {
	switch len(args) {
	case 0:
		return r.Apply1(0)
	case 1:
		return r.Apply1(args[0])
	}
	v := args[0]
	for _, a := range args[1:] {
		v = r.Apply2(v, a)
	}
	return v
}

// Cause says why the intrinsic is a fault for args, all of them numbers.
func (r *Intrinsic) Cause(args ...float64) string {
	if r.Name == "sqrt" && len(args) == 1 && args[0] < 0 {
		return "the square root of a negative number"
	}
	if r.Domain == "" {
		return fmt.Sprintf("%s: %s", r.Name, tooLarge)
	}
	said := make([]string, len(args))
	for i, a := range args {
		said[i] = fmt.Sprintf("%.6g", a)
	}
	if len(args) == 1 {
		return fmt.Sprintf("%s takes %s, not %s", r.Name, r.Domain, said[0])
	}
	return fmt.Sprintf("%s takes %s, and this is %s(%s)", r.Name, r.Domain, r.Name, strings.Join(said, ", "))
}

// AbsValue, Root, LowerValue and HigherValue are Abs, Sqrt, Lower and Higher
// for values in flight, as Apply1 and Apply2 run them.

// AbsValue returns a without its sign.
func AbsValue(a float64) float64 {
	if a == a {
		return math.Abs(a)
	}
	return settleOne(a)
}

// Root returns the square root of a, a fault where a is below zero.
func Root(a float64) float64 {
	if r := math.Sqrt(a); r == r {
		return r
	}
	return settleOne(a)
}

// LowerValue returns the smaller of a and b.
func LowerValue(a, b float64) float64 {
	if a != a || b != b {
		return Join(a, b)
	}
	return Lower(a, b)
}

// HigherValue returns the larger of a and b.
func HigherValue(a, b float64) float64 {
	if a != a || b != b {
		return Join(a, b)
	}
	return Higher(a, b)
}
