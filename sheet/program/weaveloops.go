package program

import "math"

// The loops below are those of lanes.go over strands: two lanes at a time, and
// each reports whether all that it leaves are numbers.

var weavings = [opcodes]weaving{
	opAdd:    {each: addWoven, one: addWovenOne},
	opSub:    {each: subWoven, one: subWovenOne, from: subWovenFrom},
	opMul:    {each: mulWoven, one: mulWovenOne},
	opDiv:    {each: divWoven, one: divWovenOne, from: divWovenFrom},
	opLower:  {each: lowerWoven, one: lowerWovenOne, from: lowerWovenFrom},
	opHigher: {each: higherWoven, one: higherWovenOne, from: higherWovenFrom},
	opAbs:    {one: absWoven},
	opSqrt:   {one: sqrtWoven},
}

// addWoven leaves x + y in d.
func addWoven(d []float64, a, b strand) bool {
	x, at := a.v, a.at[:len(d)]
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := x[at[0]]+y[bt[0]], x[at[1]]+y[bt[1]]
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := x[at[i]] + y[bt[i]]
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// addWovenOne leaves x + s in d.
func addWovenOne(d []float64, a strand, s float64) bool {
	x, at := a.v, a.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := x[at[0]]+s, x[at[1]]+s
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := x[at[i]] + s
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// subWoven leaves x - y in d.
func subWoven(d []float64, a, b strand) bool {
	x, at := a.v, a.at[:len(d)]
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := x[at[0]]-y[bt[0]], x[at[1]]-y[bt[1]]
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := x[at[i]] - y[bt[i]]
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// subWovenOne leaves x - s in d.
func subWovenOne(d []float64, a strand, s float64) bool {
	x, at := a.v, a.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := x[at[0]]-s, x[at[1]]-s
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := x[at[i]] - s
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// subWovenFrom leaves s - y in d.
func subWovenFrom(d []float64, s float64, b strand) bool {
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := s-y[bt[0]], s-y[bt[1]]
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := s - y[bt[i]]
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// mulWoven leaves x * y in d.
func mulWoven(d []float64, a, b strand) bool {
	x, at := a.v, a.at[:len(d)]
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := float64(x[at[0]]*y[bt[0]]), float64(x[at[1]]*y[bt[1]])
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := float64(x[at[i]] * y[bt[i]])
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// mulWovenOne leaves x * s in d.
func mulWovenOne(d []float64, a strand, s float64) bool {
	x, at := a.v, a.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := float64(x[at[0]]*s), float64(x[at[1]]*s)
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := float64(x[at[i]] * s)
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// divWoven leaves x / y in d.
func divWoven(d []float64, a, b strand) bool {
	x, at := a.v, a.at[:len(d)]
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := x[at[0]]/y[bt[0]], x[at[1]]/y[bt[1]]
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := x[at[i]] / y[bt[i]]
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// divWovenOne leaves x / s in d.
func divWovenOne(d []float64, a strand, s float64) bool {
	x, at := a.v, a.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := x[at[0]]/s, x[at[1]]/s
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := x[at[i]] / s
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// divWovenFrom leaves s / y in d.
func divWovenFrom(d []float64, s float64, b strand) bool {
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := s/y[bt[0]], s/y[bt[1]]
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := s / y[bt[i]]
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// lowerWoven leaves the smaller of x and y in d.
func lowerWoven(d []float64, a, b strand) bool {
	x, at := a.v, a.at[:len(d)]
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		x0, y0, x1, y1 := x[at[0]], y[bt[0]], x[at[1]], y[bt[1]]
		d[0], d[1] = leastMoved(x0, y0), leastMoved(x1, y1)
		e, f = e+((x0-x0)+(y0-y0)), f+((x1-x1)+(y1-y1))
	}
	for ; i < len(d); i++ {
		x0, y0 := x[at[i]], y[bt[i]]
		d[i] = leastMoved(x0, y0)
		e += (x0 - x0) + (y0 - y0)
	}
	return e+f == 0
}

// lowerWovenOne leaves the smaller of x and s in d.
func lowerWovenOne(d []float64, a strand, s float64) bool {
	x, at := a.v, a.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		x0, x1 := x[at[0]], x[at[1]]
		d[0], d[1] = leastMoved(x0, s), leastMoved(x1, s)
		e, f = e+(x0-x0), f+(x1-x1)
	}
	for ; i < len(d); i++ {
		x0 := x[at[i]]
		d[i] = leastMoved(x0, s)
		e += (x0 - x0)
	}
	return e+f+(s-s) == 0
}

// lowerWovenFrom leaves the smaller of s and y in d.
func lowerWovenFrom(d []float64, s float64, b strand) bool {
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		y0, y1 := y[bt[0]], y[bt[1]]
		d[0], d[1] = leastMoved(s, y0), leastMoved(s, y1)
		e, f = e+(y0-y0), f+(y1-y1)
	}
	for ; i < len(d); i++ {
		y0 := y[bt[i]]
		d[i] = leastMoved(s, y0)
		e += (y0 - y0)
	}
	return e+f+(s-s) == 0
}

// higherWoven leaves the larger of x and y in d.
func higherWoven(d []float64, a, b strand) bool {
	x, at := a.v, a.at[:len(d)]
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		x0, y0, x1, y1 := x[at[0]], y[bt[0]], x[at[1]], y[bt[1]]
		d[0], d[1] = mostMoved(x0, y0), mostMoved(x1, y1)
		e, f = e+((x0-x0)+(y0-y0)), f+((x1-x1)+(y1-y1))
	}
	for ; i < len(d); i++ {
		x0, y0 := x[at[i]], y[bt[i]]
		d[i] = mostMoved(x0, y0)
		e += (x0 - x0) + (y0 - y0)
	}
	return e+f == 0
}

// higherWovenOne leaves the larger of x and s in d.
func higherWovenOne(d []float64, a strand, s float64) bool {
	x, at := a.v, a.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		x0, x1 := x[at[0]], x[at[1]]
		d[0], d[1] = mostMoved(x0, s), mostMoved(x1, s)
		e, f = e+(x0-x0), f+(x1-x1)
	}
	for ; i < len(d); i++ {
		x0 := x[at[i]]
		d[i] = mostMoved(x0, s)
		e += (x0 - x0)
	}
	return e+f+(s-s) == 0
}

// higherWovenFrom leaves the larger of s and y in d.
func higherWovenFrom(d []float64, s float64, b strand) bool {
	y, bt := b.v, b.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		bt := bt[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		y0, y1 := y[bt[0]], y[bt[1]]
		d[0], d[1] = mostMoved(s, y0), mostMoved(s, y1)
		e, f = e+(y0-y0), f+(y1-y1)
	}
	for ; i < len(d); i++ {
		y0 := y[bt[i]]
		d[i] = mostMoved(s, y0)
		e += (y0 - y0)
	}
	return e+f+(s-s) == 0
}

// absWoven leaves x without its sign in d.
func absWoven(d []float64, a strand, _ float64) bool {
	x, at := a.v, a.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := math.Abs(x[at[0]]), math.Abs(x[at[1]])
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := math.Abs(x[at[i]])
		d[i] = p
		e += p - p
	}
	return e+f == 0
}

// sqrtWoven leaves the square root of x in d.
func sqrtWoven(d []float64, a strand, _ float64) bool {
	x, at := a.v, a.at[:len(d)]
	var e, f float64
	i := 0
	for ; i+2 <= len(d); i += 2 {
		at := at[i : i+2 : i+2]
		d := d[i : i+2 : i+2]
		p, q := math.Sqrt(x[at[0]]), math.Sqrt(x[at[1]])
		d[0], d[1] = p, q
		e, f = e+(p-p), f+(q-q)
	}
	for ; i < len(d); i++ {
		p := math.Sqrt(x[at[i]])
		d[i] = p
		e += p - p
	}
	return e+f == 0
}
