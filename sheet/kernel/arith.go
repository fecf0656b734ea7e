package kernel

import (
	"fmt"
	"math"
)

// finite reports whether v is a number: v - v of an infinity or a NaN is a
// NaN.
func finite(v float64) bool {
	v = float64(v) // a product is not fused with the subtraction
	return v-v == 0
}

// settle returns the value of an operation on a and b whose plain result was
// not a finite number.
func settle(a, b float64) float64 {
	if a != a || b != b {
		return Join(a, b)
	}
	return Fault
}

// settleOne is settle for one operand.
func settleOne(a float64) float64 {
	if IsBlank(a) {
		return Blank
	}
	return Fault
}

// Add returns a + b, a fault if that is too large for a number.
func Add(a, b float64) float64 {
	if r := a + b; r-r == 0 {
		return r
	}
	return settle(a, b)
}

// Sub returns a - b.
func Sub(a, b float64) float64 {
	if r := a - b; r-r == 0 {
		return r
	}
	return settle(a, b)
}

// Mul returns a * b. The conversion rounds the product, so no architecture
// fuses it with a later sum.
func Mul(a, b float64) float64 {
	if r := float64(a * b); r-r == 0 {
		return r
	}
	return settle(a, b)
}

// Div returns a / b, a fault if b is zero.
func Div(a, b float64) float64 {
	if r := a / b; r-r == 0 {
		return r
	}
	return settle(a, b)
}

// Neg returns -a.
func Neg(a float64) float64 {
	if a == a {
		return -a
	}
	return settleOne(a)
}

// maxWhole is the largest exponent whose power is computed by multiplication.
const maxWhole = 64

// Pow returns a to the power b.
//
// A whole exponent from -64 to 64 uses repeated squaring: at most |b| - 1
// roundings accumulate, so the relative error stays below 64 · 2^-53, 7.2e-15.
// Roots by halves are square roots, and other powers are exp(b · ln a), with an
// error of the same size. A negative number has whole powers only, and zero no
// negative ones; 0^0 is 1.
func Pow(a, b float64) float64 {
	if n := int(b); float64(n) == b && n <= maxWhole && n >= -maxWhole {
		if r := whole(a, n); r-r == 0 {
			return r
		}
		return settle(a, b)
	}
	r := math.Sqrt(a)
	if b != 0.5 {
		r = fraction(a, b)
	}
	if r-r == 0 {
		return r
	}
	return settle(a, b)
}

// whole returns a^n by repeated squaring, with |n| at most maxWhole.
func whole(a float64, n int) float64 {
	switch n {
	case 0:
		return a - a + 1 // 1, or a NaN for a NaN
	case 1:
		return a
	case 2:
		return float64(a * a)
	}
	if n < 0 {
		p := whole(a, -n)
		if m := math.Abs(p); m > 0x1p-1000 && m < 0x1p1000 {
			return 1 / p
		}
		return anyPower(a, float64(n)) // near the ends 1/p would lose its digits
	}
	r := 1.0
	for ; n > 0; n >>= 1 {
		if n&1 != 0 {
			r = float64(r * a)
		}
		a = float64(a * a)
	}
	return r
}

// tooLarge is the default cause of a fault.
const tooLarge = "the result is too large for a number"

// DivCause describes why a / b is a fault, both being numbers.
func DivCause(_, b float64) string {
	if b == 0 {
		return "division by zero"
	}
	return tooLarge
}

// SumCause describes why a + b, a - b or a * b is a fault.
func SumCause(_, _ float64) string { return tooLarge }

// PowCause describes why a ^ b is a fault, both being numbers.
func PowCause(a, b float64) string {
	switch {
	case a == 0 && b < 0:
		return "zero to a negative power, which divides by zero"
	case a < 0 && b == 0.5:
		return "the square root of a negative number"
	case a < 0 && math.Floor(b) != b:
		return fmt.Sprintf("a negative number to the power %.6g, which is not whole", b)
	}
	return tooLarge
}
