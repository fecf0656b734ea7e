package kernel

import "math"

// A runtime angle is in turns (rpm is turn/min, a turn counts as 1), so
// subtracting whole and quarter turns is exact: sin(180 deg) is 0, and not
// 1.2e-16. The remainder is converted to radians in two parts, and radians to
// turns by two parts, so the error is about one unit in the last place.
//
// The coefficients and the algorithms of sinParts, cosParts, atanParts and arcRest
// are those of FreeBSD's msun, k_sin.c, k_cos.c, s_atan.c and e_asin.c,
// with the same notice as those of lnPlain.

const (
	fullHigh = 2 * 3.141592653589793116   // 2 π
	fullLow  = 2 * 1.2246467991473532e-16 // the rest
	perHigh  = 0x1.45f306dc9c883p-3       // 1/(2 π)
	perLow   = -0x1.6b01ec5417056p-57     // the rest
)

const (
	sin1 = -1.66666666666666324348e-01
	sin2 = 8.33333333332248946124e-03
	sin3 = -1.98412698298579493134e-04
	sin4 = 2.75573137070700676789e-06
	sin5 = -2.50507602534068634195e-08
	sin6 = 1.58969099521155010221e-10

	cos1 = 4.16666666666666019037e-02
	cos2 = -1.38888888888741095749e-03
	cos3 = 2.48015872894767294178e-05
	cos4 = -2.75573143513906633035e-07
	cos5 = 2.08757232129817482790e-09
	cos6 = -1.13596475577881948265e-11
)

// octant splits x, in turns, into a count q of quarter turns, 0 to 3, and an exact
// remainder of at most an eighth of a turn in either direction, in radians.
func octant(x float64) (q int, high, low float64) {
	x -= math.Trunc(x)
	n := nearest(float64(4 * x))
	r := x - float64(0.25*n)
	p, e := product(r, fullHigh)
	return int(n) & 3, p, e + float64(r*fullLow)
}

// sinParts returns the sine of x + tail radians, at most π/4, in two parts.
func sinParts(x, tail float64) (high, low float64) {
	z := float64(x * x)
	v := float64(z * x)
	r := sin2 + float64(z*(sin3+float64(z*sin4))) + float64(float64(z*float64(z*z))*(sin5+float64(z*sin6)))
	less := (float64(z*(float64(0.5*tail)-float64(v*r))) - tail) - float64(v*sin1)
	h := x - less
	return h, (x - h) - less
}

// cosParts returns the cosine of x + tail radians likewise.
func cosParts(x, tail float64) (high, low float64) {
	z := float64(x * x)
	w := float64(z * z)
	r := float64(z*(cos1+float64(z*(cos2+float64(z*cos3))))) + float64(float64(w*w)*(cos4+float64(z*(cos5+float64(z*cos6)))))
	half := float64(0.5 * z)
	top := 1 - half
	more := ((1 - top) - half) + (float64(z*r) - float64(x*tail))
	h := top + more
	return h, (top - h) + more
}

// Sin returns the sine of x turns.
func Sin(x float64) float64 {
	q, r, tail := octant(x)
	s, _ := sinParts(r, tail)
	c, _ := cosParts(r, tail)
	switch q {
	case 1:
		return c
	case 2:
		return -s
	case 3:
		return -c
	}
	return s
}

// Cos returns the cosine of x turns.
func Cos(x float64) float64 {
	q, r, tail := octant(x)
	s, _ := sinParts(r, tail)
	c, _ := cosParts(r, tail)
	switch q {
	case 1:
		return -s
	case 2:
		return -c
	case 3:
		return s
	}
	return c
}

// Tan returns the tangent of x turns; a quarter turn has none.
func Tan(x float64) float64 {
	q, r, tail := octant(x)
	s, sLow := sinParts(r, tail)
	c, cLow := cosParts(r, tail)
	if q&1 == 1 {
		s, sLow, c, cLow = -c, -cLow, s, sLow
	}
	if c == 0 || math.Abs(s) < 0x1p-900 {
		return s / c
	}
	t := s / c
	p, e := product(t, c)
	return t + (((s-p)-e)+(sLow-float64(t*cLow)))/c
}

const (
	atan0  = 3.33333333333329318027e-01
	atan1  = -1.99999999998764832476e-01
	atan2  = 1.42857142725034663711e-01
	atan3  = -1.11111104054623557880e-01
	atan4  = 9.09088713343650656196e-02
	atan5  = -7.69187620504482999495e-02
	atan6  = 6.66107313738753120669e-02
	atan7  = -5.83357013379057348645e-02
	atan8  = 4.97687799461593236017e-02
	atan9  = -3.65315727442169155270e-02
	atan10 = 1.62858201153657823623e-02
)

// atanParts returns the angle in radians, in two parts, whose tangent is x, a
// number that is not negative.
func atanParts(x float64) (high, low float64) {
	switch {
	case x < 0.4375:
		return x, -float64(x * atanSeries(x))
	case x < 0.6875: // from the angle of 1/2
		t := (x + x - 1) / (2 + x)
		return 4.63647609000806093515e-01, t + (2.26987774529616870924e-17 - float64(t*atanSeries(t)))
	case x < 1.1875: // of 1
		t := (x - 1) / (x + 1)
		return 7.85398163397448278999e-01, t + (3.06161699786838301793e-17 - float64(t*atanSeries(t)))
	case x < 2.4375: // of 3/2
		t := (x - 1.5) / (1 + float64(1.5*x))
		return 9.82793723247329054082e-01, t + (1.39033110312309984516e-17 - float64(t*atanSeries(t)))
	}
	t := -1 / x // of infinity
	return 1.57079632679489655800e+00, t + (6.12323399573676603587e-17 - float64(t*atanSeries(t)))
}

// atanSeries is 1 - atan x / x for a small x.
func atanSeries(x float64) float64 {
	z := float64(x * x)
	w := float64(z * z)
	even := float64(w * (atan8 + float64(w*atan10)))
	even = float64(z * (atan0 + float64(w*(atan2+float64(w*(atan4+float64(w*(atan6+even))))))))
	odd := float64(w * (atan1 + float64(w*(atan3+float64(w*(atan5+float64(w*(atan7+float64(w*atan9)))))))))
	return even + odd
}

// turns converts an angle in radians, in two parts, to turns.
func turns(high, low float64) (turn, rest float64) {
	sum := high + low
	low = (high - sum) + low
	p, e := product(sum, perHigh)
	return p, e + (float64(sum*perLow) + float64(low*perHigh))
}

// least is the size below which an angle equals its sine and its tangent.
const least = 0x1p-500

// Atan returns the angle whose tangent is x, in turns.
func Atan(x float64) float64 {
	a := math.Abs(x)
	if a < least {
		return float64(x * perHigh)
	}
	t, rest := turns(atanParts(a))
	return math.Copysign(t+rest, x)
}

// Atan2 returns the angle of the point (x, y), in turns.
func Atan2(y, x float64) float64 {
	a, half := 0.0, 0.0
	if math.Copysign(1, x) < 0 {
		half = 0.5
	}
	if y != 0 {
		a = Atan(math.Abs(y) / math.Abs(x))
	}
	return math.Copysign(math.Abs(half-a), y)
}

// Direction is Atan2, except that the origin has no direction. The sign of a
// zero is ignored: spreadsheets lose it, and a sum or a product may have
// either.
func Direction(y, x float64) float64 {
	if x == 0 && y == 0 {
		return math.NaN()
	}
	return Atan2(y+0, x)
}

const (
	arcP0 = 1.66666666666666657415e-01
	arcP1 = -3.25565818622400915405e-01
	arcP2 = 2.01212532134862925881e-01
	arcP3 = -4.00555345006794114027e-02
	arcP4 = 7.91534994289814532176e-04
	arcP5 = 3.47933107596021167570e-05
	arcQ1 = -2.40339491173441421878e+00
	arcQ2 = 2.02094576023350569471e+00
	arcQ3 = -6.88283971605453293030e-01
	arcQ4 = 7.70381505559019352791e-02
)

// arcRest is asin x / x - 1 at z = x·x, z at most 1/4.
func arcRest(z float64) float64 {
	p := float64(z * (arcP3 + float64(z*(arcP4+float64(z*arcP5)))))
	p = float64(z * (arcP0 + float64(z*(arcP1+float64(z*(arcP2+p))))))
	q := float64(z * (arcQ2 + float64(z*(arcQ3+float64(z*arcQ4)))))
	return p / (1 + float64(z*(arcQ1+q)))
}

// asinTurns returns the angle whose sine is x, from 0 to 1/2, in turns.
func asinTurns(x float64) (turn, rest float64) {
	if x < least {
		return float64(x * perHigh), 0
	}
	return turns(x, float64(x*arcRest(float64(x*x))))
}

// acosTurns returns the angle whose cosine is x, from 1/2 to 1, in turns: twice
// the angle whose sine is the root of (1-x)/2, which keeps its digits near 1.
func acosTurns(x float64) (turn, rest float64) {
	z := float64(0.5 * (1 - x))
	if z == 0 {
		return 0, 0
	}
	s := math.Sqrt(z)
	top, _ := halves(s)
	more := (z - float64(top*top)) / (s + top)
	return turns(float64(2*top), float64(2*(float64(arcRest(z)*s)+more)))
}

// Asin returns the angle whose sine is x, in turns.
func Asin(x float64) float64 {
	a := math.Abs(x)
	switch {
	case !(a <= 1):
		return math.NaN()
	case a <= 0.5:
		t, rest := asinTurns(a)
		return math.Copysign(t+rest, x)
	}
	t, rest := acosTurns(a)
	return math.Copysign((0.25-t)-rest, x)
}

// Acos returns the angle whose cosine is x, in turns.
func Acos(x float64) float64 {
	a := math.Abs(x)
	switch {
	case !(a <= 1):
		return math.NaN()
	case a <= 0.5:
		t, rest := asinTurns(a)
		if x < 0 {
			t, rest = -t, -rest
		}
		return (0.25 - t) - rest
	}
	t, rest := acosTurns(a)
	if x < 0 {
		return (0.5 - t) - rest
	}
	return t + rest
}
