//go:build goexperiment.simd && amd64

package program

import (
	"simd/archsimd"

	"gearleaf/sheet/kernel"
)

func lowerVectors(d []float64, a, b wide) bool {
	f := forms{lowerFourEach, lowerFourOne, lowerFourFrom}
	return f.run(d, a, b, lowerLanes)
}

func lowerFourEach(d, x, y []float64) bool {
	x, y = x[:len(d)], y[:len(d)]
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p, q := at4(&x[i]), at4(&y[i])
		p2, q2 := at4(&x[i+4]), at4(&y[i+4])
		v, w := q.Merge(p, q.Less(p)), q2.Merge(p2, q2.Less(p2))
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(p.Sub(p).Add(q.Sub(q))), f.Add(p2.Sub(p2).Add(q2.Sub(q2)))
	}
	for ; i+4 <= len(d); i += 4 {
		p, q := at4(&x[i]), at4(&y[i])
		v := q.Merge(p, q.Less(p))
		put4(&d[i], v)
		e = e.Add(p.Sub(p).Add(q.Sub(q)))
	}
	return numbers(e.Add(f))
}

func lowerFourOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	q := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p := at4(&x[i])
		p2 := at4(&x[i+4])
		v, w := q.Merge(p, q.Less(p)), q.Merge(p2, q.Less(p2))
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(p.Sub(p).Add(q.Sub(q))), f.Add(p2.Sub(p2).Add(q.Sub(q)))
	}
	for ; i+4 <= len(d); i += 4 {
		p := at4(&x[i])
		v := q.Merge(p, q.Less(p))
		put4(&d[i], v)
		e = e.Add(p.Sub(p).Add(q.Sub(q)))
	}
	return numbers(e.Add(f))
}

func lowerFourFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	p := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		q := at4(&y[i])
		q2 := at4(&y[i+4])
		v, w := q.Merge(p, q.Less(p)), q2.Merge(p, q2.Less(p))
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(p.Sub(p).Add(q.Sub(q))), f.Add(p.Sub(p).Add(q2.Sub(q2)))
	}
	for ; i+4 <= len(d); i += 4 {
		q := at4(&y[i])
		v := q.Merge(p, q.Less(p))
		put4(&d[i], v)
		e = e.Add(p.Sub(p).Add(q.Sub(q)))
	}
	return numbers(e.Add(f))
}

func higherVectors(d []float64, a, b wide) bool {
	f := forms{higherFourEach, higherFourOne, higherFourFrom}
	return f.run(d, a, b, higherLanes)
}

func higherFourEach(d, x, y []float64) bool {
	x, y = x[:len(d)], y[:len(d)]
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p, q := at4(&x[i]), at4(&y[i])
		p2, q2 := at4(&x[i+4]), at4(&y[i+4])
		v, w := q.Merge(p, q.Greater(p)), q2.Merge(p2, q2.Greater(p2))
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(p.Sub(p).Add(q.Sub(q))), f.Add(p2.Sub(p2).Add(q2.Sub(q2)))
	}
	for ; i+4 <= len(d); i += 4 {
		p, q := at4(&x[i]), at4(&y[i])
		v := q.Merge(p, q.Greater(p))
		put4(&d[i], v)
		e = e.Add(p.Sub(p).Add(q.Sub(q)))
	}
	return numbers(e.Add(f))
}

func higherFourOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	q := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p := at4(&x[i])
		p2 := at4(&x[i+4])
		v, w := q.Merge(p, q.Greater(p)), q.Merge(p2, q.Greater(p2))
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(p.Sub(p).Add(q.Sub(q))), f.Add(p2.Sub(p2).Add(q.Sub(q)))
	}
	for ; i+4 <= len(d); i += 4 {
		p := at4(&x[i])
		v := q.Merge(p, q.Greater(p))
		put4(&d[i], v)
		e = e.Add(p.Sub(p).Add(q.Sub(q)))
	}
	return numbers(e.Add(f))
}

func higherFourFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	p := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		q := at4(&y[i])
		q2 := at4(&y[i+4])
		v, w := q.Merge(p, q.Greater(p)), q2.Merge(p, q2.Greater(p))
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(p.Sub(p).Add(q.Sub(q))), f.Add(p.Sub(p).Add(q2.Sub(q2)))
	}
	for ; i+4 <= len(d); i += 4 {
		q := at4(&y[i])
		v := q.Merge(p, q.Greater(p))
		put4(&d[i], v)
		e = e.Add(p.Sub(p).Add(q.Sub(q)))
	}
	return numbers(e.Add(f))
}

func absVectors(d []float64, a, _ wide) bool {
	x := a.v[:len(d)]
	sign := archsimd.BroadcastUint64x4(1 << 63)
	for i := 0; i+4 <= len(d); i += 4 {
		put4(&d[i], at4(&x[i]).AsUint64x4().AndNot(sign).AsFloat64x4())
	}
	archsimd.ClearAVXUpperBits()
	i := len(d) &^ 3
	return absLanes(d[i:], a.rest(i), wide{})
}

func sqrtVectors(d []float64, a, _ wide) bool {
	x := a.v[:len(d)]
	var e vector
	for i := 0; i+4 <= len(d); i += 4 {
		v := at4(&x[i]).Sqrt()
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	ok := numbers(e)
	i := len(d) &^ 3
	return sqrtLanes(d[i:], a.rest(i), wide{}) && ok
}

func moreEqualVectors(d []float64, a, b wide) bool {
	compareFour(d, a, b)
	i := len(d) &^ 3
	return moreEqualLanes(d[i:], a.rest(i), b.rest(i))
}

// lessVectors is the contrary of moreEqualVectors.
func lessVectors(d []float64, a, b wide) bool {
	moreEqualVectors(d, a, b)
	for i, v := range d {
		d[i] = kernel.Not(v)
	}
	return true
}

// compareFour leaves the truth of a >= b. Where two are so close, or no
// numbers, that the kernel has to look, it does.
func compareFour(d []float64, a, b wide) {
	c := closeness{
		sign: archsimd.BroadcastUint64x4(1 << 63), tolerance: archsimd.BroadcastFloat64x4(kernel.Tolerance),
		one: archsimd.BroadcastFloat64x4(1),
	}
	p, q := archsimd.BroadcastFloat64x4(a.s), archsimd.BroadcastFloat64x4(b.s)
	for i := 0; i+4 <= len(d); i += 4 {
		if a.v != nil {
			p = at4(&a.v[i])
		}
		if b.v != nil {
			q = at4(&b.v[i])
		}
		v, sure := c.of(p, q)
		put4(&d[i], v)
		if sure != 15 {
			for k := i; k < i+4; k++ {
				d[k] = kernel.GreaterEqual(a.at(k), b.at(k))
			}
		}
	}
	archsimd.ClearAVXUpperBits()
}

// closeness is what comparing four lanes needs at hand.
type closeness struct {
	sign           archsimd.Uint64x4
	tolerance, one vector
}

// of returns the truths of p >= q, with a bit in sure for each that stands.
func (c *closeness) of(p, q vector) (v vector, sure uint8) {
	by := p.Sub(q)
	sizes := c.size(p).Add(c.size(q))
	var zero vector
	return c.one.Masked(by.Greater(zero)), c.size(by).Greater(sizes.Mul(c.tolerance)).ToBits()
}

func (c *closeness) size(v vector) vector { return v.AsUint64x4().AndNot(c.sign).AsFloat64x4() }

// ifFour chooses between b and c by a.
func ifFour(d, a, b, c []float64) {
	a, b, c = a[:len(d)], b[:len(d)], c[:len(d)]
	one := archsimd.BroadcastFloat64x4(1)
	var e vector
	for i := 0; i+4 <= len(d); i += 4 {
		cond := at4(&a[i])
		put4(&d[i], at4(&b[i]).Merge(at4(&c[i]), cond.Equal(one)))
		e = e.Add(cond.Mul(cond.Sub(one)))
	}
	ok := numbers(e)
	if i := len(d) &^ 3; ok {
		ifLanes(d[i:], a[i:], b[i:], c[i:])
	} else {
		ifLanes(d, a, b, c)
	}
}
