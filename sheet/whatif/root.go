package whatif

import "math"

// machineEpsilon is the distance from 1 to the next float64.
const machineEpsilon = 0x1p-52

// zero is the result of a search for a zero: the better end of the last
// bracket, x, the other end, and the values at both. broken says that the
// function had no value in between.
type zero struct {
	x, fx, other, fother float64
	broken               bool
}

// brent finds a zero of f between a and b, at which f has opposite signs, to
// the last bits of a float64.
//
// Source: R. P. Brent, Algorithms for Minimization without Derivatives
// (1973), ch. 4, procedure zero.
func brent(f func(float64) float64, a, fa, b, fb float64) zero {
	c, fc := a, fa
	d := b - a
	e := d
	for {
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		tolerance := machineEpsilon * math.Abs(b)
		m := (c - b) / 2
		if math.Abs(m) <= tolerance || fb == 0 {
			return zero{x: b, fx: fb, other: c, fother: fc}
		}
		if math.Abs(e) < tolerance || math.Abs(fa) <= math.Abs(fb) {
			d, e = m, m
		} else if step, good := interpolate(a, fa, b, fb, c, fc, m, tolerance, e); good {
			d, e = step, d
		} else {
			d, e = m, m
		}
		a, fa = b, fb
		if math.Abs(d) > tolerance {
			b += d
		} else {
			b += math.Copysign(max(tolerance, math.SmallestNonzeroFloat64), m)
		}
		fb = f(b)
		if fb != fb {
			return zero{x: b, fx: fb, broken: true}
		}
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			d = b - a
			e = d
		}
	}
}

// interpolate proposes a step from b by the secant or the inverse parabola;
// good is false if bisection is the better choice.
func interpolate(a, fa, b, fb, c, fc, m, tolerance, e float64) (step float64, good bool) {
	var p, q float64
	s := fb / fa
	if a == c {
		p, q = 2*m*s, 1-s
	} else {
		r, t := fb/fc, fa/fc
		p = s * (float64(2*m*t*(t-r)) - float64((b-a)*(r-1)))
		q = (t - 1) * (r - 1) * (s - 1)
	}
	if p > 0 {
		q = -q
	} else {
		p = -p
	}
	if 2*p < min(float64(3*m*q)-math.Abs(tolerance*q), math.Abs(e*q)) {
		return p / q, true
	}
	return 0, false
}
