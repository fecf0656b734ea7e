package unit

import "math"

// MaxExponent bounds the absolute exponent of a base dimension; maxNumerator
// and maxDenominator bound its fraction.
const (
	MaxExponent    = 20
	maxNumerator   = 120
	maxDenominator = 12
)

// exponent returns num/den in lowest terms; false when it is out of bounds.
func exponent(num, den int64) (Exponent, bool) {
	if num == 0 {
		return Exponent{}, den != 0
	}
	if den == 0 {
		return Exponent{}, false
	}
	if g := gcd(num, den); g > 1 {
		num, den = num/g, den/g
	}
	if den < 0 {
		num, den = -num, -den
	}
	limit := min(MaxExponent*den, maxNumerator)
	if den > maxDenominator || num > limit || num < -limit {
		return Exponent{}, false
	}
	if den == 1 {
		den = 0
	}
	return Exponent{Num: int8(num), Den: int8(den)}, true
}

// gcd returns the greatest common divisor of a and b, positive.
func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	if a < 0 {
		return -a
	}
	return a
}

// ratio returns e as numerator and positive denominator.
func (e Exponent) ratio() (num, den int64) {
	if e.Den == 0 {
		return int64(e.Num), 1
	}
	return int64(e.Num), int64(e.Den)
}

// plus returns e + sign·f.
func (e Exponent) plus(f Exponent, sign int64) (Exponent, bool) {
	if f == (Exponent{}) {
		return e, true
	}
	a, b := e.ratio()
	c, d := f.ratio()
	return exponent(a*d+sign*c*b, b*d)
}

// times returns e · num/den.
func (e Exponent) times(num, den int64) (Exponent, bool) {
	if e.Num == 0 {
		return e, true
	}
	a, b := e.ratio()
	return exponent(a*num, b*den)
}

// Dimensionless reports whether m has no dimension; counts do not matter, as
// a count is a number of things.
func (m Measure) Dimensionless() bool { return m.Dim == Dimension{} }

// Mul returns the measure of a product; false when an exponent is out of
// bounds.
func (m Measure) Mul(n Measure) (Measure, bool) {
	product, ok := m.combine(n, 1)
	product.Kind, _ = MulKind(m, n)
	return product, ok
}

// Div returns the measure of a quotient; false when an exponent is out of
// bounds. DivKind says whether the kinds allow it.
func (m Measure) Div(n Measure) (Measure, bool) {
	quotient, ok := m.combine(n, -1)
	quotient.Kind, _ = DivKind(m, n)
	return quotient, ok
}

// Pow returns the measure of a power with the exponent num/den; false when an
// exponent is out of bounds or den is 0. Powers are plain.
func (m Measure) Pow(num, den int) (Measure, bool) {
	if den == 0 {
		return Measure{}, false
	}
	if m.Dim == (Dimension{}) && m.Counts == (Counts{}) {
		return Measure{}, true
	}
	if num == math.MinInt || den == math.MinInt {
		return Measure{}, false
	}
	n, d := int64(num), int64(den)
	if g := gcd(n, d); g > 1 {
		n, d = n/g, d/g
	}
	const far = MaxExponent * maxDenominator * maxDenominator
	if n > far || n < -far || d > far || d < -far {
		return Measure{}, false
	}
	return m.power(n, d)
}

// power multiplies every exponent of m by num/den, which is small.
func (m Measure) power(num, den int64) (p Measure, ok bool) {
	for i, e := range m.Dim {
		if p.Dim[i], ok = e.times(num, den); !ok {
			return Measure{}, false
		}
	}
	for i, e := range m.Counts {
		if p.Counts[i], ok = e.times(num, den); !ok {
			return Measure{}, false
		}
	}
	return p, true
}

// combine adds sign times the exponents of n to those of m.
func (m Measure) combine(n Measure, sign int64) (c Measure, ok bool) {
	for i, e := range m.Dim {
		if c.Dim[i], ok = e.plus(n.Dim[i], sign); !ok {
			return Measure{}, false
		}
	}
	for i, e := range m.Counts {
		if c.Counts[i], ok = e.plus(n.Counts[i], sign); !ok {
			return Measure{}, false
		}
	}
	return c, true
}
