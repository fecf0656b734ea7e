//go:build goexperiment.simd && amd64

package program

import (
	"simd/archsimd"
	"unsafe"
)

// The loops below do four lanes in one machine instruction, in a build with
// GOEXPERIMENT=simd on a processor with AVX2. Addition, subtraction,
// multiplication, division and square root round as they do one by one, and
// comparisons and choices are exact, so the bits are those of every build;
// powers, intrinsics and look-ups stay as they are. Each operation clears the
// upper halves of the registers when it is done: ordinary code would run at
// half its speed otherwise.

func init() {
	if !archsimd.X86.AVX2() {
		return
	}
	for o, f := range map[opcode]func(d []float64, a, b wide) bool{
		opAdd: addVectors, opSub: subVectors, opMul: mulVectors, opDiv: divVectors,
		opLower: lowerVectors, opHigher: higherVectors, opAbs: absVectors, opSqrt: sqrtVectors,
		opGreaterEqual: moreEqualVectors, opLess: lessVectors,
		opLessEqual: func(d []float64, a, b wide) bool { return moreEqualVectors(d, b, a) },
		opGreater:   func(d []float64, a, b wide) bool { return lessVectors(d, b, a) },
	} {
		ops[o].vectors = f
	}
	ifVectors = ifFour
}

type vector = archsimd.Float64x4

// at4 and put4 read and write the four lanes that begin at p. Going by the
// first lane alone leaves the loops one check of bounds, which the compiler
// then sees is not needed; every loop stops four lanes before the end.
func at4(p *float64) vector     { return archsimd.LoadFloat64x4((*[4]float64)(unsafe.Pointer(p))) }
func put4(p *float64, v vector) { v.Store((*[4]float64)(unsafe.Pointer(p))) }

// numbers reports whether four sums of what is 0 for a number are 0. It ends
// the work with vectors.
func numbers(e vector) bool {
	var s [4]float64
	e.Store(&s)
	archsimd.ClearAVXUpperBits()
	return s[0]+s[1]+s[2]+s[3] == 0
}

// forms are the loops of an operation: two operands, or one of them the same
// in all lanes. They leave the last few lanes alone.
type forms struct {
	each func(d, x, y []float64) bool
	one  func(d, x []float64, s float64) bool
	from func(d []float64, s float64, y []float64) bool
}

// run runs the form that suits the operands, and the ordinary loop for the
// lanes behind the last four.
func (f *forms) run(d []float64, a, b wide, lanes func(d []float64, a, b wide) bool) bool {
	ok := false
	switch {
	case b.v == nil:
		ok = f.one(d, a.v[:len(d)], b.s)
	case a.v == nil:
		ok = f.from(d, a.s, b.v[:len(d)])
	default:
		ok = f.each(d, a.v[:len(d)], b.v[:len(d)])
	}
	i := len(d) &^ 3
	return (i == len(d) || lanes(d[i:], a.rest(i), b.rest(i))) && ok
}

// rest is the lanes from i on.
func (w wide) rest(i int) wide {
	if w.v != nil {
		w.v = w.v[i:]
	}
	return w
}

func addVectors(d []float64, a, b wide) bool {
	f := forms{addFourEach, addFourOne, addFourFrom}
	return f.run(d, a, b, addLanes)
}

func addFourEach(d, x, y []float64) bool {
	x, y = x[:len(d)], y[:len(d)]
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p, q := at4(&x[i]), at4(&y[i])
		p2, q2 := at4(&x[i+4]), at4(&y[i+4])
		v, w := p.Add(q), p2.Add(q2)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		p, q := at4(&x[i]), at4(&y[i])
		v := p.Add(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func addFourOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	q := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p := at4(&x[i])
		p2 := at4(&x[i+4])
		v, w := p.Add(q), p2.Add(q)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		p := at4(&x[i])
		v := p.Add(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func addFourFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	p := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		q := at4(&y[i])
		q2 := at4(&y[i+4])
		v, w := p.Add(q), p.Add(q2)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		q := at4(&y[i])
		v := p.Add(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func subVectors(d []float64, a, b wide) bool {
	f := forms{subFourEach, subFourOne, subFourFrom}
	return f.run(d, a, b, subLanes)
}

func subFourEach(d, x, y []float64) bool {
	x, y = x[:len(d)], y[:len(d)]
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p, q := at4(&x[i]), at4(&y[i])
		p2, q2 := at4(&x[i+4]), at4(&y[i+4])
		v, w := p.Sub(q), p2.Sub(q2)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		p, q := at4(&x[i]), at4(&y[i])
		v := p.Sub(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func subFourOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	q := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p := at4(&x[i])
		p2 := at4(&x[i+4])
		v, w := p.Sub(q), p2.Sub(q)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		p := at4(&x[i])
		v := p.Sub(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func subFourFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	p := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		q := at4(&y[i])
		q2 := at4(&y[i+4])
		v, w := p.Sub(q), p.Sub(q2)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		q := at4(&y[i])
		v := p.Sub(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func mulVectors(d []float64, a, b wide) bool {
	f := forms{mulFourEach, mulFourOne, mulFourFrom}
	return f.run(d, a, b, mulLanes)
}

func mulFourEach(d, x, y []float64) bool {
	x, y = x[:len(d)], y[:len(d)]
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p, q := at4(&x[i]), at4(&y[i])
		p2, q2 := at4(&x[i+4]), at4(&y[i+4])
		v, w := p.Mul(q), p2.Mul(q2)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		p, q := at4(&x[i]), at4(&y[i])
		v := p.Mul(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func mulFourOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	q := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p := at4(&x[i])
		p2 := at4(&x[i+4])
		v, w := p.Mul(q), p2.Mul(q)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		p := at4(&x[i])
		v := p.Mul(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func mulFourFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	p := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		q := at4(&y[i])
		q2 := at4(&y[i+4])
		v, w := p.Mul(q), p.Mul(q2)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		q := at4(&y[i])
		v := p.Mul(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func divVectors(d []float64, a, b wide) bool {
	f := forms{divFourEach, divFourOne, divFourFrom}
	return f.run(d, a, b, divLanes)
}

func divFourEach(d, x, y []float64) bool {
	x, y = x[:len(d)], y[:len(d)]
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p, q := at4(&x[i]), at4(&y[i])
		p2, q2 := at4(&x[i+4]), at4(&y[i+4])
		v, w := p.Div(q), p2.Div(q2)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		p, q := at4(&x[i]), at4(&y[i])
		v := p.Div(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func divFourOne(d, x []float64, s float64) bool {
	x = x[:len(d)]
	q := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		p := at4(&x[i])
		p2 := at4(&x[i+4])
		v, w := p.Div(q), p2.Div(q)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		p := at4(&x[i])
		v := p.Div(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}

func divFourFrom(d []float64, s float64, y []float64) bool {
	y = y[:len(d)]
	p := archsimd.BroadcastFloat64x4(s)
	var e, f vector
	i := 0
	for ; i+8 <= len(d); i += 8 {
		q := at4(&y[i])
		q2 := at4(&y[i+4])
		v, w := p.Div(q), p.Div(q2)
		put4(&d[i], v)
		put4(&d[i+4], w)
		e, f = e.Add(v.Sub(v)), f.Add(w.Sub(w))
	}
	for ; i+4 <= len(d); i += 4 {
		q := at4(&y[i])
		v := p.Div(q)
		put4(&d[i], v)
		e = e.Add(v.Sub(v))
	}
	return numbers(e.Add(f))
}
