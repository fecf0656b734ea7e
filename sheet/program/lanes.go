package program

import (
	"math"

	"gearleaf/sheet/kernel"
)

// The loops below do the four operations that are most of a sheet's work, bare:
// each reports whether all that it leaves are numbers, and where not, the
// block is computed again by the kernel. No operand is the result's own room,
// so that it is still there then.
//
// Four lanes are in work at a time, and four sums tell of what is no number:
// any such value, taken from itself, leaves none, and a single sum would have
// to wait for itself. Slices are cut to one length, so that the compiler drops
// its bound checks.

func addLanes(d []float64, a, b wide) bool {
	switch {
	case b.v == nil:
		return addOne(d, a.v, b.s)
	case a.v == nil:
		return addOne(d, b.v, a.s)
	}
	return addEach(d, a.v, b.v)
}

// addEach leaves x + y in d.
func addEach(d, x, y []float64) bool {
	x = x[:len(d)]
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]+y[0], x[1]+y[1], x[2]+y[2], x[3]+y[3]
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] + y[i]
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// addOne leaves x + s in d.
func addOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]+s, x[1]+s, x[2]+s, x[3]+s
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] + s
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

func subLanes(d []float64, a, b wide) bool {
	switch {
	case b.v == nil:
		return subOne(d, a.v, b.s)
	case a.v == nil:
		return subFrom(d, a.s, b.v)
	}
	return subEach(d, a.v, b.v)
}

// subEach leaves x - y in d.
func subEach(d, x, y []float64) bool {
	x = x[:len(d)]
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]-y[0], x[1]-y[1], x[2]-y[2], x[3]-y[3]
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] - y[i]
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// subOne leaves x - s in d.
func subOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]-s, x[1]-s, x[2]-s, x[3]-s
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] - s
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// subFrom leaves s - y in d.
func subFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := s-y[0], s-y[1], s-y[2], s-y[3]
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := s - y[i]
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

func mulLanes(d []float64, a, b wide) bool {
	switch {
	case b.v == nil:
		return mulOne(d, a.v, b.s)
	case a.v == nil:
		return mulOne(d, b.v, a.s)
	}
	return mulEach(d, a.v, b.v)
}

// mulEach leaves x * y in d.
func mulEach(d, x, y []float64) bool {
	x = x[:len(d)]
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]*y[0], x[1]*y[1], x[2]*y[2], x[3]*y[3]
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] * y[i]
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// mulOne leaves x * s in d.
func mulOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]*s, x[1]*s, x[2]*s, x[3]*s
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] * s
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

func divLanes(d []float64, a, b wide) bool {
	switch {
	case b.v == nil:
		return divOne(d, a.v, b.s)
	case a.v == nil:
		return divFrom(d, a.s, b.v)
	}
	return divEach(d, a.v, b.v)
}

// divEach leaves x / y in d.
func divEach(d, x, y []float64) bool {
	x = x[:len(d)]
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]/y[0], x[1]/y[1], x[2]/y[2], x[3]/y[3]
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] / y[i]
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// divOne leaves x / s in d.
func divOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]/s, x[1]/s, x[2]/s, x[3]/s
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] / s
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// divFrom leaves s / y in d.
func divFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := s/y[0], s/y[1], s/y[2], s/y[3]
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := s / y[i]
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

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
// lanes have little in common.
func moreEqualLanes(d []float64, a, b wide) bool {
	switch {
	case b.v == nil:
		for i, x := range a.v[:len(d)] {
			v, sure := atLeastMoved(x, b.s)
			if !sure {
				v = kernel.GreaterEqual(x, b.s)
			}
			d[i] = v
		}
	case a.v == nil:
		for i, y := range b.v[:len(d)] {
			v, sure := atLeastMoved(a.s, y)
			if !sure {
				v = kernel.GreaterEqual(a.s, y)
			}
			d[i] = v
		}
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			v, sure := atLeastMoved(x[i], y[i])
			if !sure {
				v = kernel.GreaterEqual(x[i], y[i])
			}
			d[i] = v
		}
	}
	return true
}

// atLeastMoved returns a >= b; sure is false where they are so close, or no
// numbers, that the kernel has to look.
func atLeastMoved(a, b float64) (v float64, sure bool) {
	t := a - b
	bits := uint64(0)
	if t > 0 {
		bits = oneBits
	}
	return math.Float64frombits(bits), math.Abs(t) > kernel.Tolerance*(math.Abs(a)+math.Abs(b))
}

const oneBits = 0x3FF0_0000_0000_0000 // of the number 1

// lessLanes is the contrary of moreEqualLanes.
func lessLanes(d []float64, a, b wide) bool {
	moreEqualLanes(d, a, b)
	for i, v := range d {
		d[i] = kernel.Not(v)
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
	e := 0.0
	switch {
	case b.v == nil:
		for i, x := range a.v[:len(d)] {
			d[i] = leastMoved(x, b.s)
			e += x - x
		}
		return e+(b.s-b.s) == 0
	case a.v == nil:
		for i, y := range b.v[:len(d)] {
			d[i] = leastMoved(a.s, y)
			e += y - y
		}
		return e+(a.s-a.s) == 0
	}
	x, y := a.v[:len(d)], b.v[:len(d)]
	for i := range d {
		x, y := x[i], y[i]
		d[i] = leastMoved(x, y)
		e += (x - x) + (y - y)
	}
	return e == 0
}

func higherLanes(d []float64, a, b wide) bool {
	e := 0.0
	switch {
	case b.v == nil:
		for i, x := range a.v[:len(d)] {
			d[i] = mostMoved(x, b.s)
			e += x - x
		}
		return e+(b.s-b.s) == 0
	case a.v == nil:
		for i, y := range b.v[:len(d)] {
			d[i] = mostMoved(a.s, y)
			e += y - y
		}
		return e+(a.s-a.s) == 0
	}
	x, y := a.v[:len(d)], b.v[:len(d)]
	for i := range d {
		x, y := x[i], y[i]
		d[i] = mostMoved(x, y)
		e += (x - x) + (y - y)
	}
	return e == 0
}

// absLanes and sqrtLanes are for one operand. What is not a number stays so,
// and a blank stays a blank, when it loses its sign.
func absLanes(d []float64, a, _ wide) bool {
	for i, x := range a.v[:len(d)] {
		d[i] = math.Abs(x)
	}
	return true
}

func sqrtLanes(d []float64, a, _ wide) bool {
	e := 0.0
	for i, x := range a.v[:len(d)] {
		v := math.Sqrt(x)
		d[i] = v
		e += v - v
	}
	return e == 0
}

// powLanes is for one exponent in all lanes.
func powLanes(d []float64, a, b wide) bool {
	if b.v != nil {
		return false
	}
	kernel.Powers(d, a.v, b.s)
	return true
}

// andLanes and orLanes choose, too: `if a then b else no`, `if a then yes
// else b`.
func andLanes(d []float64, a, b wide) bool {
	e := 0.0
	for i := range d {
		x, u := a.at(i), uint64(0)
		if w := math.Float64bits(b.at(i)); x == 1 {
			u = w
		}
		d[i] = math.Float64frombits(u)
		e += math.Abs(x * (x - 1))
	}
	return e == 0
}

func orLanes(d []float64, a, b wide) bool {
	e := 0.0
	for i := range d {
		x, u := a.at(i), uint64(oneBits)
		if w := math.Float64bits(b.at(i)); x != 1 {
			u = w
		}
		d[i] = math.Float64frombits(u)
		e += math.Abs(x * (x - 1))
	}
	return e == 0
}

// ifLanes chooses between b and c by a, which differs from lane to lane.
func ifLanes(d, a, b, c []float64) {
	a, b, c = a[:len(d)], b[:len(d)], c[:len(d)]
	e := 0.0
	for i, cond := range a {
		u := math.Float64bits(c[i])
		if w := math.Float64bits(b[i]); cond == 1 {
			u = w
		}
		d[i] = math.Float64frombits(u)
		e += cond * (cond - 1)
	}
	if e == 0 {
		return
	}
	for i, cond := range a {
		d[i] = kernel.If(cond, b[i], c[i])
	}
}

// at returns the value in lane i.
func (w wide) at(i int) float64 {
	if w.v == nil {
		return w.s
	}
	return w.v[i]
}
