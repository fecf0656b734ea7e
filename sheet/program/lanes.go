package program

import (
	"math"
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
		p, q, r, t := float64(x[0]*y[0]), float64(x[1]*y[1]), float64(x[2]*y[2]), float64(x[3]*y[3])
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := float64(x[i] * y[i])
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
		p, q, r, t := float64(x[0]*s), float64(x[1]*s), float64(x[2]*s), float64(x[3]*s)
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := float64(x[i] * s)
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

// absLanes and sqrtLanes are for one operand. What is not a number stays so,
// and a blank stays a blank, when it loses its sign.
func absLanes(d []float64, a, _ wide) bool {
	x := a.v[:len(d)]
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = math.Abs(x[0]), math.Abs(x[1]), math.Abs(x[2]), math.Abs(x[3])
	}
	for ; i < len(d); i++ {
		d[i] = math.Abs(x[i])
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

// at returns the value in lane i.
func (w wide) at(i int) float64 {
	if w.v == nil {
		return w.s
	}
	return w.v[i]
}
