package kernel

import (
	"fmt"
	"math"
)

// Floor returns the largest whole number not above x. A number that is whole
// within the tolerance is rounded to it, so 8.4/1.4 is 6 for Floor and Ceil.
func Floor(x float64) float64 {
	if n := nearest(x); Same(x, n) {
		return n
	}
	return math.Floor(x)
}

// Ceil returns the smallest whole number not below x, with the tolerance of
// Floor.
func Ceil(x float64) float64 {
	if n := nearest(x); Same(x, n) {
		return n
	}
	return math.Ceil(x)
}

// nearest returns the whole number nearest to x; halves are rounded away from
// zero.
func nearest(x float64) float64 {
	t := math.Trunc(x)
	if math.Abs(x-t) >= 0.5 {
		t += math.Copysign(1, x)
	}
	return t
}

// Round returns the nearest whole number; halves, within the tolerance, are
// rounded away from zero.
func Round(x float64) float64 {
	low := math.Floor(math.Abs(x))
	if low > 1e11 { // the tolerance covers the distance between halves
		return nearest(x)
	}
	if AtLeast(math.Abs(x), low+0.5) {
		low++
	}
	return math.Copysign(low, x)
}

// Mod returns the remainder of a after the largest whole multiple of b that
// fits; it has the sign of b. The remainder of a whole multiple, within the
// tolerance, is 0; a divisor of 0 is a fault.
func Mod(a, b float64) float64 {
	if b == 0 {
		return math.NaN()
	}
	if q := a / b; Same(q, nearest(q)) {
		return 0
	}
	r := rest(math.Abs(a), math.Abs(b))
	if a < 0 {
		r = -r
	}
	if r != 0 && (r < 0) != (b < 0) {
		r += b
	}
	return r
}

// rest is the exact remainder of a divided by b; both are above zero, and a/b
// is below 2^41.
func rest(a, b float64) float64 {
	if b < 0x1p-900 {
		return float64(rest(float64(a*0x1p200), float64(b*0x1p200)) * 0x1p-200)
	}
	for a >= b {
		t := math.Float64frombits(math.Float64bits(b)&mantissaBits | math.Float64bits(a)&exponentBits)
		if t > a {
			t = float64(0.5 * t)
		}
		a -= t
	}
	return a
}

// Row returns the place, counted from 0, of the row with the index v, or -1 if
// v is not a whole number from 1 to live.
func Row(v float64, live int) int {
	n := nearest(v)
	if !Same(v, n) || n < 1 || n > float64(live) {
		return -1
	}
	return int(n) - 1
}

// Index returns entry v of a column, counted from 1: a fault outside it, at a
// blank entry, and if v is not whole.
func Index(v float64, column []float64) float64 {
	if v != v {
		return settleOne(v)
	}
	i := Row(v, len(column))
	if i < 0 || column[i] != column[i] {
		return Fault
	}
	return column[i]
}

// IndexCause describes why Index is a fault, v being a number; label names the
// column.
func IndexCause(v float64, column []float64, label string) string {
	switch n := nearest(v); {
	case !Same(v, n):
		return fmt.Sprintf("%s has no row %.6g: a row is a whole number", label, v)
	case len(column) == 0:
		return label + " has no rows"
	case n < 1 || n > float64(len(column)):
		return fmt.Sprintf("off the end of %s: row %.0f is beyond 1..%d", label, n, len(column))
	case IsBlank(column[int(n)-1]):
		return fmt.Sprintf("row %.0f of %s is blank", n, label)
	}
	return ""
}
