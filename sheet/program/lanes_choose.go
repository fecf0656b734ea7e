package program

import (
	"math"

	"gearleaf/sheet/kernel"
)

// moreEqual returns a >= b, plain cases first.
func moreEqual(a, b float64) float64 {
	if v := atLeast(a, b); v == v {
		return v
	}
	return kernel.GreaterEqual(a, b)
}

// less returns a < b, plain cases first.
func less(a, b float64) float64 {
	if v := atLeast(a, b); v == v {
		return 1 - v
	}
	return kernel.Less(a, b)
}

// atLeast returns a >= b where that takes no closer look, else nothing that
// is a number.
func atLeast(a, b float64) float64 {
	switch {
	case a >= b:
		return 1
	case kernel.Below(a, b):
		return 0
	}
	return unsure
}

var unsure = math.NaN()

// moreEqualLanes chooses by moves, not by branches, which guess wrong where
// lanes have little in common. It is sure of a >= b itself and of what
// kernel.Below is sure of; where any lane is neither, the kernel goes over all.
func moreEqualLanes(d []float64, a, b wide) bool {
	switch {
	case b.v == nil:
		return moreEqualOne(d, a.v, b.s)
	case a.v == nil:
		return moreEqualFrom(d, a.s, b.v)
	}
	return moreEqualEach(d, a.v, b.v)
}

func moreEqualEach(d, x, y []float64) bool {
	x = x[:len(d)]
	y = y[:len(d)]
	sure := 1
	for i := range d {
		x, y := x[i], y[i]
		is, below := holds(x >= y), holds(x-y < -kernel.Tolerance*(math.Abs(x)+math.Abs(y)))
		d[i] = math.Float64frombits(uint64(-is) & oneBits)
		sure &= is | below
	}
	return sure == 1
}

// closeTo is a little more than twice the tolerance: what is below s by more
// than that part of s is surely below it, whatever its own size.
const closeTo = 3 * kernel.Tolerance

func moreEqualOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	low, sure := s-float64(closeTo*math.Abs(s)), 1
	for i, x := range x {
		is := holds(x >= s)
		d[i] = math.Float64frombits(uint64(-is) & oneBits)
		sure &= is | holds(x < low)
	}
	return sure == 1
}

func moreEqualFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	high, sure := s+float64(closeTo*math.Abs(s)), 1
	for i, y := range y {
		is := holds(s >= y)
		d[i] = math.Float64frombits(uint64(-is) & oneBits)
		sure &= is | holds(y > high)
	}
	return sure == 1
}

// holds is 1 for what is true, without a branch.
func holds(b bool) int {
	n := 0
	if b {
		n = 1
	}
	return n
}

const oneBits = 0x3FF0_0000_0000_0000 // of the number 1

// lessLanes is the contrary of moreEqualLanes.
func lessLanes(d []float64, a, b wide) bool {
	if !moreEqualLanes(d, a, b) {
		return false
	}
	for i, v := range d {
		d[i] = 1 - v
	}
	return true
}

func lessEqualLanes(d []float64, a, b wide) bool { return moreEqualLanes(d, b, a) }

func moreLanes(d []float64, a, b wide) bool { return lessLanes(d, b, a) }

// leastMoved is the smaller of two numbers.
func leastMoved(x, y float64) float64 {
	u := math.Float64bits(x)
	if w := math.Float64bits(y); y < x {
		u = w
	}
	return math.Float64frombits(u)
}

// mostMoved is the larger of two numbers.
func mostMoved(x, y float64) float64 {
	u := math.Float64bits(x)
	if w := math.Float64bits(y); y > x {
		u = w
	}
	return math.Float64frombits(u)
}

func lowerLanes(d []float64, a, b wide) bool {
	switch {
	case b.v == nil:
		return lowerOne(d, a.v, b.s) && b.s-b.s == 0
	case a.v == nil:
		return lowerFrom(d, a.s, b.v) && a.s-a.s == 0
	}
	return lowerEach(d, a.v, b.v)
}

func lowerEach(d, x, y []float64) bool {
	x = x[:len(d)]
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = leastMoved(x[0], y[0]), leastMoved(x[1], y[1]), leastMoved(x[2], y[2]), leastMoved(x[3], y[3])
		e, f, g, h = e+(x[0]-x[0]), f+(x[1]-x[1]), g+(x[2]-x[2]), h+(x[3]-x[3])
		e, f, g, h = e+(y[0]-y[0]), f+(y[1]-y[1]), g+(y[2]-y[2]), h+(y[3]-y[3])
	}
	for ; i < len(d); i++ {
		d[i] = leastMoved(x[i], y[i])
		e += (x[i] - x[i]) + (y[i] - y[i])
	}
	return e+f+g+h == 0
}

func lowerOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = leastMoved(x[0], s), leastMoved(x[1], s), leastMoved(x[2], s), leastMoved(x[3], s)
		e, f, g, h = e+(x[0]-x[0]), f+(x[1]-x[1]), g+(x[2]-x[2]), h+(x[3]-x[3])
	}
	for ; i < len(d); i++ {
		d[i] = leastMoved(x[i], s)
		e += x[i] - x[i]
	}
	return e+f+g+h == 0
}

func lowerFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = leastMoved(s, y[0]), leastMoved(s, y[1]), leastMoved(s, y[2]), leastMoved(s, y[3])
		e, f, g, h = e+(y[0]-y[0]), f+(y[1]-y[1]), g+(y[2]-y[2]), h+(y[3]-y[3])
	}
	for ; i < len(d); i++ {
		d[i] = leastMoved(s, y[i])
		e += y[i] - y[i]
	}
	return e+f+g+h == 0
}

func higherLanes(d []float64, a, b wide) bool {
	switch {
	case b.v == nil:
		return higherOne(d, a.v, b.s) && b.s-b.s == 0
	case a.v == nil:
		return higherFrom(d, a.s, b.v) && a.s-a.s == 0
	}
	return higherEach(d, a.v, b.v)
}

func higherEach(d, x, y []float64) bool {
	x = x[:len(d)]
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = mostMoved(x[0], y[0]), mostMoved(x[1], y[1]), mostMoved(x[2], y[2]), mostMoved(x[3], y[3])
		e, f, g, h = e+(x[0]-x[0]), f+(x[1]-x[1]), g+(x[2]-x[2]), h+(x[3]-x[3])
		e, f, g, h = e+(y[0]-y[0]), f+(y[1]-y[1]), g+(y[2]-y[2]), h+(y[3]-y[3])
	}
	for ; i < len(d); i++ {
		d[i] = mostMoved(x[i], y[i])
		e += (x[i] - x[i]) + (y[i] - y[i])
	}
	return e+f+g+h == 0
}

func higherOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = mostMoved(x[0], s), mostMoved(x[1], s), mostMoved(x[2], s), mostMoved(x[3], s)
		e, f, g, h = e+(x[0]-x[0]), f+(x[1]-x[1]), g+(x[2]-x[2]), h+(x[3]-x[3])
	}
	for ; i < len(d); i++ {
		d[i] = mostMoved(x[i], s)
		e += x[i] - x[i]
	}
	return e+f+g+h == 0
}

func higherFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = mostMoved(s, y[0]), mostMoved(s, y[1]), mostMoved(s, y[2]), mostMoved(s, y[3])
		e, f, g, h = e+(y[0]-y[0]), f+(y[1]-y[1]), g+(y[2]-y[2]), h+(y[3]-y[3])
	}
	for ; i < len(d); i++ {
		d[i] = mostMoved(s, y[i])
		e += y[i] - y[i]
	}
	return e+f+g+h == 0
}

// andLanes and orLanes choose, too: `if a then b else no`, `if a then yes
// else b`. They are for a that differs from lane to lane.
func andLanes(d []float64, a, b wide) bool {
	if a.v == nil {
		return false
	}
	return bothLanes(d, a.v, b, 1)
}

func orLanes(d []float64, a, b wide) bool {
	if a.v == nil {
		return false
	}
	return bothLanes(d, a.v, b, 0)
}

// bothLanes leaves b where a is asks, and a itself, the other truth, elsewhere.
func bothLanes(d, a []float64, b wide, asks float64) bool {
	a = a[:len(d)]
	sure, other := 1, 1-asks
	if b.v == nil {
		w := math.Float64bits(b.s)
		for i, x := range a {
			is := holds(x == asks)
			d[i] = math.Float64frombits(uint64(-is)&w | uint64(is-1)&math.Float64bits(other))
			sure &= is | holds(x == other)
		}
		return sure == 1
	}
	for i, y := range b.v[:len(d)] {
		x := a[i]
		is := holds(x == asks)
		d[i] = math.Float64frombits(uint64(-is)&math.Float64bits(y) | uint64(is-1)&math.Float64bits(other))
		sure &= is | holds(x == other)
	}
	return sure == 1
}

// ifLanes chooses between b and c by a, which differs from lane to lane.
func ifLanes(d, a, b, c []float64) {
	a, b, c = a[:len(d)], b[:len(d)], c[:len(d)]
	sure := 1
	for i, cond := range a {
		is := holds(cond == 1)
		d[i] = math.Float64frombits(uint64(-is)&math.Float64bits(b[i]) | uint64(is-1)&math.Float64bits(c[i]))
		sure &= is | holds(cond == 0)
	}
	if sure == 1 {
		return
	}
	for i, cond := range a {
		d[i] = kernel.If(cond, b[i], c[i])
	}
}

// pickLanes is ifLanes for truths that are surely yes or no: the lowest bit of
// the exponent tells them apart.
func pickLanes(d, a, b, c []float64) {
	a, b, c = a[:len(d)], b[:len(d)], c[:len(d)]
	for i, cond := range a {
		yes := -(math.Float64bits(cond) >> 52 & 1)
		d[i] = math.Float64frombits(yes&math.Float64bits(b[i]) | ^yes&math.Float64bits(c[i]))
	}
}
