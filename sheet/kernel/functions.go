package kernel

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// The functions below are F1 and F2 of the rows of intrinsics. They are called
// with numbers only (Apply ensures that) and return a NaN or an infinity
// outside their domain.
//
// They consist of additions, multiplications, divisions and square roots, each
// rounded, and so give the same bits on every processor.

// Abs returns x without its sign.
func Abs(x float64) float64 { return math.Abs(x) }

// Sqrt returns the square root of x.
func Sqrt(x float64) float64 { return math.Sqrt(x) }

// The constants and the algorithm of Cbrt are those of FreeBSD's msun,
// s_cbrt.c, with the same notice as those of lnPlain.
const (
	cbrt0 = 1.87595182427177009643
	cbrt1 = -1.88497979543377169875
	cbrt2 = 1.621429720105354466140
	cbrt3 = -0.758397934778766047437
	cbrt4 = 0.145996192886612446982

	cbrtBias  = 715094163 // (1023 - 1023/3 - 0.03306235651) · 2^20
	cbrtUpper = 0xFFFF_FFFF_C000_0000
)

// Cbrt returns the cube root of x, which may be negative.
func Cbrt(x float64) float64 {
	a := math.Abs(x)
	switch {
	case x == 0 || !finite(x):
		return x
	case a < 0x1p-1000:
		return float64(Cbrt(float64(x*0x1p300)) * 0x1p-100)
	}
	t := math.Float64frombits((math.Float64bits(a)>>32/3 + cbrtBias) << 32) // to 5 bits
	r := float64(float64(t*t) * (t / a))
	t = float64(t * ((cbrt0 + float64(r*(cbrt1+float64(r*cbrt2)))) + float64(float64(float64(r*r)*r)*(cbrt3+float64(r*cbrt4)))))
	t = math.Float64frombits((math.Float64bits(t) + 0x80000000) & cbrtUpper) // to 23 bits, so that t·t is exact
	r = a / float64(t*t)
	t += float64(t * ((r - t) / (t + t + r)))
	return math.Copysign(t, x)
}

// 1/ln 10 in two parts.
const (
	perTenHigh = 0x1.bcb7b1526e50ep-2
	perTenLow  = 0x1.95355baaafad3p-57
)

// Log10 returns the decimal logarithm of x, exact for powers of ten.
func Log10(x float64) float64 {
	if !(x > 0 && x <= math.MaxFloat64) {
		return Ln(x)
	}
	high, low := lnParts(x)
	p, e := product(high, perTenHigh)
	return p + (e + (float64(high*perTenLow) + float64(low*perTenHigh)))
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
func Hypot(a, b float64) float64 {
	long, short := Higher(math.Abs(a), math.Abs(b)), Lower(math.Abs(a), math.Abs(b))
	if long == 0 {
		return 0
	}
	q := short / long
	return float64(long * math.Sqrt(1+float64(q*q)))
}

// Gcd returns the greatest common divisor of two whole numbers; others have
// none.
func Gcd(a, b float64) float64 {
	m, n := nearest(math.Abs(a)), nearest(math.Abs(b))
	if !Same(math.Abs(a), m) || !Same(math.Abs(b), n) || m > 1<<53 || n > 1<<53 {
		return math.NaN()
	}
	i, k := uint64(m), uint64(n) // which take a fraction of the time of math.Mod
	for k != 0 {
		i, k = k, i%k
	}
	return float64(i)
}

// Apply1 returns the intrinsic's value for one argument, a runtime value. A row
// without F1 returns its argument.
func (r *Intrinsic) Apply1(x float64) float64 {
	if x != x {
		return settleOne(x)
	}
	if r.F1 == nil {
		return x
	}
	return Settled(x, r.F1(x))
}

// Apply2 returns the intrinsic's value for two arguments, runtime values.
func (r *Intrinsic) Apply2(x, y float64) float64 {
	if x != x || y != y {
		return Join(x, y)
	}
	return SettledTwo(x, y, r.F2(x, y))
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

// Cause describes why the intrinsic is a fault for args, all of them numbers.
func (r *Intrinsic) Cause(args ...float64) string {
	if r.Name == "sqrt" && len(args) == 1 && args[0] < 0 {
		return "the square root of a negative number"
	}
	if r.Domain == "" {
		return fmt.Sprintf("%s: %s", r.Name, tooLarge)
	}
	said := make([]string, len(args))
	for i, a := range args {
		said[i] = argument(a)
	}
	if len(args) == 1 {
		return fmt.Sprintf("%s takes %s, not %s", r.Name, r.Domain, said[0])
	}
	return fmt.Sprintf("%s takes %s, and this is %s(%s)", r.Name, r.Domain, r.Name, strings.Join(said, ", "))
}

// argument writes a refused argument with enough digits to distinguish it from
// the nearest whole number.
func argument(a float64) string {
	text := fmt.Sprintf("%.6g", a)
	if short, _ := strconv.ParseFloat(text, 64); short == math.Trunc(short) && a != short {
		return strconv.FormatFloat(a, 'f', -1, 64)
	}
	return text
}

// AbsValue, Root, LowerValue and HigherValue are Abs, Sqrt, Lower and Higher
// for runtime values, as Apply1 and Apply2 run them.

// AbsValue returns a without its sign.
func AbsValue(a float64) float64 {
	if a == a {
		return math.Abs(a)
	}
	return settleOne(a)
}

// Root returns the square root of a, a fault if a is below zero.
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

// Settled returns the runtime value of a function at a, whose plain result there
// is v: a blank or a fault if a is one, a fault if v is not finite.
func Settled(a, v float64) float64 {
	switch {
	case a != a:
		return settleOne(a)
	case finite(v):
		return v
	}
	return Fault
}

// SettledTwo is Settled for a function of a and b.
func SettledTwo(a, b, v float64) float64 {
	switch {
	case a != a || b != b:
		return Join(a, b)
	case finite(v):
		return v
	}
	return Fault
}
