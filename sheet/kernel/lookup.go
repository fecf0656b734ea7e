package kernel

import (
	"fmt"
	"math"
)

// Curve is two columns prepared for one form of look-up: blanks are skipped,
// the order is checked, slopes are computed. Preparing again a Curve with the
// capacity for its rows does not allocate.
type Curve struct {
	form   LookupForm
	x, y   []float64
	hint   int // interval of the last look-up; never changes a result
	state  curveState
	turned int // row, from 0, at which xs turn back or do not change

	order []int32 // Pick only: rows in the order of their keys, once they are needed
	picks int     // look-ups since Prepare
	// FirstAt only: the highest and the lowest value up to each row.
	highest, lowest []float64

	// What Near needs of that interval.
	low, high      float64 // an x between them is certainly inside
	x0, y0, dx, dy float64
	s0, s1         float64 // Monotone only: the slopes at its ends
	start          float64 // x0, if it is certainly the row of an exact hit
	remembered     int     // the interval, -1 for none

	// Statistics only: the line by least squares, the squares of x about its
	// mean, and the standard deviation of the points about the line.
	meanX, meanY, gradient float64
	squares, residual      float64
}

type curveState uint8

const (
	sound  curveState = iota
	faulty            // an entry is a fault
	empty             // no row has both values
	turning
	still
)

// NewCurve returns a Curve with the capacity for rows rows.
func NewCurve(form LookupForm, rows int) *Curve {
	c := &Curve{form: form, x: make([]float64, 0, rows), y: make([]float64, 0, rows)}
	c.forget()
	return c
}

// Prepare reads the live entries of two columns of one table, which have the
// same length.
func (c *Curve) Prepare(xs, ys []float64) {
	c.x, c.y = c.x[:0], c.y[:0]
	c.dropIndex()
	c.state, c.hint = sound, 0
	c.forget()
	for i := c.takeRising(xs, ys); i < len(xs); i++ {
		c.take(i, xs[i], ys[i])
		if c.state == faulty {
			return
		}
	}
	if c.state == sound && len(c.x) == 0 {
		c.state = empty
	}
	if c.state == sound && c.form.Statistic() {
		c.regress()
	}
}

// Fail makes every look-up a fault, because the number of rows of the table is
// not known.
func (c *Curve) Fail() {
	c.state = faulty
	c.forget()
}

// takeRising adds the leading rows that are numbers and rise, as most columns
// do, and returns their number.
func (c *Curve) takeRising(xs, ys []float64) int {
	x, y, n := c.x[:len(xs)], c.y[:len(xs)], 0
	for n < len(xs) && ys[n] == ys[n] && xs[n] == xs[n] && (n == 0 || xs[n] > xs[n-1]) {
		x[n], y[n] = xs[n], ys[n]
		n++
	}
	c.x, c.y = c.x[:n], c.y[:n]
	return n
}

// take adds row i, unless it has a blank.
func (c *Curve) take(i int, x, y float64) {
	if x != x || y != y {
		if IsFault(x) || IsFault(y) {
			c.state = faulty
		}
		return
	}
	if n := len(c.x); n > 0 && c.state == sound && c.ordered() {
		switch last := c.x[n-1]; {
		case x < last:
			c.state, c.turned = turning, i
		case x == last && c.form == Monotone:
			c.state, c.turned = still, i
		}
	}
	c.x, c.y = append(c.x, x), append(c.y, y)
}

// ordered reports whether the form needs monotonic xs.
func (c *Curve) ordered() bool { return c.form < FirstAt }

// At returns the look-up's value at x: a blank at a blank, and a fault beyond
// the ends (except for Clamped) and if the columns do not allow a look-up.
func (c *Curve) At(x float64) float64 {
	switch {
	case c.low < x && x < c.high: // as in Near, without a call
		if y := c.y0 + float64(c.dy*((x-c.x0)/c.dx)); y-y == 0 {
			return y
		}
	case x == c.start:
		return c.y0
	}
	return c.search(x)
}

// search is At without the interval of the last look-up.
func (c *Curve) search(x float64) float64 {
	switch {
	case c.state == faulty:
		return Fault
	case x != x:
		return settleOne(x)
	case c.state != sound:
		return Fault
	case c.form == Pick:
		return c.pick(x)
	case c.form == FirstAt:
		return c.firstAt(x)
	case c.form.Statistic():
		return c.statistic(x)
	}
	return c.between(x)
}

// Look is a look-up made once: Prepare and At.
func Look(form LookupForm, x float64, xs, ys []float64) float64 {
	c := NewCurve(form, len(xs))
	c.Prepare(xs, ys)
	return c.At(x)
}

// between returns the value at x of a curve whose x are monotonic.
func (c *Curve) between(x float64) float64 {
	n := len(c.x)
	i := c.interval(x)
	if i != c.remembered && i >= 0 {
		c.remember(i)
	}
	switch {
	case i < 0 && c.form == Clamped:
		return c.y[0]
	case i < 0:
		return Fault
	case Same(c.x[i], x): // a hit is exact; i is the last of equal rows
		return c.y[i]
	case i == n-1 && c.form == Clamped:
		return c.y[i]
	case i == n-1:
		return Fault
	case c.form == Monotone:
		return number(c.cubic(i, x))
	}
	return line(x, c.x[i], c.x[i+1], c.y[i], c.y[i+1])
}

// Near returns the result of At, any NaN for a fault, if x is certainly in the
// interval of the last look-up or is its start; otherwise ok is false. It is
// the fast path of repeated look-ups.
func (c *Curve) Near(x float64) (y float64, ok bool) {
	if c.low < x && x < c.high {
		return c.y0 + float64(c.dy*((x-c.x0)/c.dx)), true
	}
	return c.y0, x == c.start
}

var nowhere = math.NaN()

// forget discards Near's interval.
func (c *Curve) forget() {
	c.low, c.high, c.start, c.remembered = nowhere, nowhere, nowhere, -1
}

// remember prepares interval i for Near. The margin is four times the
// tolerance, so no x inside it equals one of the ends.
func (c *Curve) remember(i int) {
	c.forget()
	c.remembered = i
	c.x0, c.y0 = c.x[i], c.y[i]
	if i+1 == len(c.x) {
		c.start = c.x0
		return
	}
	next := c.x[i+1]
	if !AtLeast(c.x0, next) {
		c.start = c.x0
	}
	if c.form == Monotone {
		c.s0, c.s1 = c.slope(i), c.slope(i+1)
	} else {
		margin := float64(4 * Tolerance * Higher(math.Abs(c.x0), math.Abs(next)))
		c.low, c.high = c.x0+margin, next-margin
		c.dx, c.dy = next-c.x0, c.y[i+1]-c.y0
	}
}

// interval returns the last row whose x is not above x, within the tolerance,
// or -1. It first tries the row of the previous look-up.
func (c *Curve) interval(x float64) int {
	n := len(c.x)
	if h := c.hint; AtLeast(x, c.x[h]) && (h+1 == n || !AtLeast(x, c.x[h+1])) {
		return h
	}
	low, high := -1, n // x[low] is not above x, x[high] is
	for high-low > 1 {
		if mid := (low + high) / 2; AtLeast(x, c.x[mid]) {
			low = mid
		} else {
			high = mid
		}
	}
	if c.hint = low; low < 0 {
		c.hint = 0
	}
	return low
}

// line returns the value at x of the straight line through two points.
func line(x, x0, x1, y0, y1 float64) float64 {
	return number(y0 + float64((y1-y0)*((x-x0)/(x1-x0))))
}

// number returns v, or a fault if it is not finite.
func number(v float64) float64 {
	if finite(v) {
		return v
	}
	return Fault
}

// firstAt returns y at the first place where the column crosses x.
func (c *Curve) firstAt(x float64) float64 {
	if y, ok := c.indexed(x); ok {
		return y
	}
	for i, at := range c.x {
		if Same(at, x) {
			return c.y[i]
		}
		if i > 0 && (c.x[i-1] < x) != (at < x) {
			return line(x, c.x[i-1], at, c.y[i-1], c.y[i])
		}
	}
	return Fault
}

// pick returns y of the first row whose x is the key.
func (c *Curve) pick(key float64) float64 {
	if y, ok := c.indexed(key); ok {
		return y
	}
	for i, at := range c.x {
		if Same(at, key) {
			return c.y[i]
		}
	}
	return Fault
}

// LookCause describes why a look-up at the number x in columns without faults
// is a fault. labels names the two columns; show writes a value of the first.
func LookCause(form LookupForm, x float64, xs, ys []float64, labelX, labelY string, show func(float64) string) string {
	c := NewCurve(form, len(xs))
	c.Prepare(xs, ys)
	switch {
	case c.state == empty:
		return fmt.Sprintf("no row has both %s and %s", labelX, labelY)
	case c.state == turning:
		return fmt.Sprintf("%s turns back in row %d; first_at reads a column that does", labelX, c.turned+1)
	case c.state == still:
		return fmt.Sprintf("%s does not rise in row %d, as lookup_monotone needs", labelX, c.turned+1)
	case form == Pick:
		return fmt.Sprintf("%s has no row %s", labelX, show(x))
	case form == FirstAt:
		return fmt.Sprintf("%s never reaches %s", labelX, show(x))
	case form == EffectiveFreedom:
		return fmt.Sprintf("%s must be above zero in every row, and one of %s too", labelY, labelX)
	case form.Statistic() && c.squares == 0:
		return fmt.Sprintf("a line needs two different values of %s", labelX)
	case form.Statistic() && len(c.x) < 3:
		return fmt.Sprintf("the spread about a line needs three rows; %s and %s have %d", labelX, labelY, len(c.x))
	}
	low, high := c.x[0], c.x[len(c.x)-1]
	if form.Statistic() {
		return tooLarge
	}
	if i := c.interval(x); i >= 0 && (i < len(c.x)-1 || Same(x, high)) {
		return tooLarge
	}
	return fmt.Sprintf("off the end of %s: %s is beyond %s..%s", labelX, show(x), show(low), show(high))
}

// slope is the slope of the monotone cubic at row i: inside, the weighted
// harmonic mean of the neighbouring slopes (Fritsch and Butland 1984); at the
// ends, from three points, limited to prevent overshoot.
func (c *Curve) slope(i int) float64 {
	n := len(c.x)
	switch {
	case n == 2:
		return c.rise(0)
	case i == 0:
		return outer(c.step(0), c.step(1), c.rise(0), c.rise(1))
	case i == n-1:
		return outer(c.step(n-2), c.step(n-3), c.rise(n-2), c.rise(n-3))
	}
	return inner(c.step(i-1), c.step(i), c.rise(i-1), c.rise(i))
}

func (c *Curve) step(i int) float64 { return c.x[i+1] - c.x[i] }
func (c *Curve) rise(i int) float64 { return (c.y[i+1] - c.y[i]) / c.step(i) }

// inner is the slope between two intervals of widths h0 and h1 that rise by d0
// and d1: 0 at a turning point.
func inner(h0, h1, d0, d1 float64) float64 {
	if !(d0 > 0 && d1 > 0) && !(d0 < 0 && d1 < 0) {
		return 0
	}
	w0, w1 := float64(2*h1)+h0, h1+float64(2*h0)
	return (w0 + w1) / (w0/d0 + w1/d1)
}

// outer is the slope at an end: h and d belong to the last interval, h1 and d1
// to the one beside it.
func outer(h, h1, d, d1 float64) float64 {
	s := (float64((float64(2*h)+h1)*d) - float64(h*d1)) / (h + h1)
	switch {
	case Sign(s) != Sign(d):
		return 0
	case Sign(d) != Sign(d1) && math.Abs(s) > math.Abs(3*d):
		return 3 * d
	}
	return s
}

// cubic returns the Hermite cubic of interval i, which is remembered, at x.
func (c *Curve) cubic(i int, x float64) float64 {
	h, d := c.step(i), c.rise(i)
	s := x - c.x[i]
	c2 := (float64(3*d) - float64(2*c.s0) - c.s1) / h
	c3 := (c.s0 - float64(2*d) + c.s1) / float64(h*h)
	return c.y[i] + float64(s*(c.s0+float64(s*(c2+float64(s*c3)))))
}
