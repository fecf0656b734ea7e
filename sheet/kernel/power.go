package kernel

import "math"

// Exponential, logarithm and their powers consist of additions, multiplications
// and divisions, each rounded, to give the same bits on every processor.
// math.Exp and math.Log do not: some processors have assembly for them, with or
// without fused multiply-add.
//
// WebAssembly's two lanes use the same operations. Therefore there are no
// tables, and a number is rounded to a whole one by adding a large number.

const (
	ln2High = 6.93147180369123816490e-01 // the upper 33 bits of ln 2: a multiple up to 2^20 is exact
	ln2Low  = 1.90821492927058770002e-10 // the rest

	// wholeAt, added to a small number and subtracted again, rounds it to a
	// whole number; in between, the lowest bits are that whole number.
	wholeAt = 0x1.8p52

	// The exponents for which expPlain is valid: its result is an ordinary
	// number.
	expLeast, expMost = -708, 709
)

// expCoefficients are those of g in e^r = 1 + r + r² g(r), from r^0 on, by
// Remez's exchange for |r| ≤ ½ ln 2: relative to e^r the error stays below
// 2^-60.
var expCoefficients = [11]float64{
	0.5, 0x1.555555555555bp-3, 0x1.5555555555503p-5, 0x1.111111110ec5dp-7, 0x1.6c16c16c3048cp-10, 0x1.a01a01b37e37fp-13,
	0x1.a01a01368f8a2p-16, 0x1.71ddf020cdedcp-19, 0x1.27e5b44634161p-22, 0x1.af6be7e49d961p-26, 0x1.1e3d2d1a6d39ap-29,
}

// Exp returns e to the power x, within one unit in the last place.
func Exp(x float64) float64 {
	if x >= expLeast && x <= expMost {
		return expPlain(x)
	}
	switch {
	case x > expMost+1:
		return math.Inf(1)
	case x < expLeast-40:
		return 0
	}
	return expAtEnd(x, 0) // NaN for a NaN
}

// expPlain is e^x for x from expLeast to expMost.
func expPlain(x float64) float64 {
	y, n := expParts(x)
	return math.Float64frombits(math.Float64bits(y) + math.Float64bits(n)<<52)
}

// expParts is e^x as y, near 1, times 2 to the whole number n - wholeAt.
func expParts(x float64) (y, n float64) {
	n = float64(x*(1/math.Ln2)) + wholeAt
	k := n - wholeAt
	high, low := x-float64(k*ln2High), float64(k*ln2Low)
	r := high - low
	r2 := float64(r * r)
	r4 := float64(r2 * r2)
	p := (expCoefficients[0] + float64(r*expCoefficients[1])) + float64(r2*(expCoefficients[2]+float64(r*expCoefficients[3])))
	q := (expCoefficients[4] + float64(r*expCoefficients[5])) + float64(r2*(expCoefficients[6]+float64(r*expCoefficients[7])))
	t := (expCoefficients[8] + float64(r*expCoefficients[9])) + float64(r2*expCoefficients[10])
	g := p + float64(r4*(q+float64(r4*t)))
	return 1 + (high + (float64(r2*g) - low)), n
}

// expAtEnd is e^x times 1 + more, more being small, for any x not far beyond
// the ends of the scale; a NaN for a NaN.
func expAtEnd(x, more float64) float64 {
	y, n := expParts(x)
	return scale(y+float64(y*more), int(n-wholeAt))
}

// The coefficients, the constants and the algorithm of lnPlain are those of
// FreeBSD's msun, e_log.c, which has this notice:
//
//	Copyright (C) 1993 by Sun Microsystems, Inc. All rights reserved.
//
//	Developed at SunSoft, a Sun Microsystems, Inc. business.
//	Permission to use, copy, modify, and distribute this
//	software is freely granted, provided that this notice
//	is preserved.
const (
	ln1 = 6.666666666666735130e-01
	ln2 = 3.999999999940941908e-01
	ln3 = 2.857142874366239149e-01
	ln4 = 2.222219843214978396e-01
	ln5 = 1.818357216161805012e-01
	ln6 = 1.531383769920937332e-01
	ln7 = 1.479819860511658591e-01
)

const (
	mantissaBits = 1<<52 - 1
	exponentBits = 0x7FF0_0000_0000_0000
	rootHalfBits = 0x3FE6_A09E_0000_0000 // of a number just below √½
	leastOrdinal = 1 << 52               // the bits of the least number that is not subnormal
	infinityBits = 0x7FF0_0000_0000_0000
)

// ordinary reports whether x is above zero and neither subnormal nor infinite.
func ordinary(x float64) bool { return math.Float64bits(x)-leastOrdinal < infinityBits-leastOrdinal }

// Ln returns the natural logarithm of x, within one unit in the last place.
func Ln(x float64) float64 {
	switch {
	case ordinary(x):
		return lnPlain(x, bias)
	case x > 0 && x <= math.MaxFloat64:
		return lnPlain(float64(x*0x1p54), bias+54)
	case x == 0:
		return math.Inf(-1)
	case x < 0:
		return math.NaN()
	}
	return x // infinity or NaN
}

// bias is the bias of exponents in the bits of a number.
const bias = 1023

// lnPlain is ln x for an ordinary x = 2^k (1+f), 1+f between √½ and √2. less is
// the bias of x's exponent, larger if x has been scaled.
func lnPlain(x, less float64) float64 {
	u := math.Float64bits(x) + (oneBits - rootHalfBits)
	k := wholeOf(u>>52) - less
	f := math.Float64frombits(u&mantissaBits+rootHalfBits) - 1
	s := f / (2 + f)
	z := float64(s * s)
	w := float64(z * z)
	even := float64(w * (ln2 + float64(w*(ln4+float64(w*ln6)))))
	odd := float64(z * (ln1 + float64(w*(ln3+float64(w*(ln5+float64(w*ln7)))))))
	half := float64(float64(0.5*f) * f)
	rest := float64(s * (half + (odd + even)))
	return float64(k*ln2High) - ((half - (rest + float64(k*ln2Low))) - f)
}

// wholeOf is u, which is below 2^52, as a float64: 2^52 with u in its lowest
// bits is 2^52 + u.
func wholeOf(u uint64) float64 { return math.Float64frombits(u|wholeBits) - 0x1p52 }

const wholeBits = 0x4330_0000_0000_0000 // of the number 2^52

const oneBits = 0x3FF0_0000_0000_0000 // of the number 1

// nearOne bounds |b · ln a| for exp(b · ln a): the error of the product, half a
// unit in its last place, becomes an error of the result.
const nearOne = 30

// fraction returns a^b of numbers; a NaN if a is below zero and b is not whole.
func fraction(a, b float64) float64 {
	if ordinary(a) {
		if e := float64(b * lnPlain(a, bias)); math.Abs(e) < nearOne {
			return expPlain(e)
		}
	}
	return anyPower(a, b)
}

// anyPower is a^b in the other cases of fraction.
func anyPower(a, b float64) float64 {
	switch {
	case a != a || b != b:
		return math.NaN()
	case a == 0 && b < 0:
		return math.Inf(1)
	case a == 0:
		return 0
	case a > 0:
		return farPower(a, b)
	case math.Floor(b) != b:
		return math.NaN()
	case math.Floor(0.5*b) != 0.5*b:
		return -farPower(-a, b)
	}
	return farPower(-a, b)
}

// farPower is a^b of numbers, a above zero, far from 1: b · ln a is computed in
// two parts, so its error does not grow with its size.
func farPower(a, b float64) float64 {
	if a == 1 {
		return 1
	}
	high, low := lnParts(a)
	e := float64(b * high)
	switch {
	case e > expMost+1:
		return math.Inf(1)
	case e < expLeast-40:
		return 0
	}
	_, rest := product(b, high)
	return expAtEnd(e, rest+float64(b*low))
}

// lnParts is ln a in two parts, a above zero. It sums 2 artanh(f/(2+f)); all
// terms after the first are so small that one part is enough.
func lnParts(a float64) (high, low float64) {
	less := float64(bias)
	if a < 0x1p-1022 {
		a, less = float64(a*0x1p54), bias+54
	}
	u := math.Float64bits(a) + (oneBits - rootHalfBits)
	k := float64(int(u>>52)) - less
	f := math.Float64frombits(u&mantissaBits+rootHalfBits) - 1
	d := 2 + f
	s := f / d
	sd, over := product(s, d)
	more := ((f - sd - over) - float64(s*((2-d)+f))) / d
	z := float64(s * s)
	w := float64(z * z)
	even := float64(w * (ln2 + float64(w*(ln4+float64(w*ln6)))))
	odd := float64(z * (ln1 + float64(w*(ln3+float64(w*(ln5+float64(w*ln7)))))))
	rest := float64(s*(odd+even)) + float64(2*more) + float64(k*ln2Low)
	first := float64(k * ln2High)
	sum := first + float64(2*s)
	over = sum - first
	rest += (first - (sum - over)) + (float64(2*s) - over)
	high = sum + rest
	return high, (sum - high) + rest
}

// The ranges in which Exp, Ln and Pow consist of expPlain and lnPlain alone,
// for code that computes several lanes at a time.
const (
	// LeastExponent and MostExponent are the ends of expPlain.
	LeastExponent, MostExponent = expLeast, expMost
	// ExponentBias is the second argument of lnPlain for an ordinary number.
	ExponentBias = bias
	// NearOne is the exclusive bound of the b · ln a of which Pow takes
	// expPlain.
	NearOne = nearOne
)

// OfExponential reports whether Pow computes a power with the exponent b by an
// exponential: b is neither a whole number for repeated squaring nor a half.
func OfExponential(b float64) bool {
	n := int(b)
	return b == b && b != 0.5 && (float64(n) != b || n > maxWhole || n < -maxWhole)
}
