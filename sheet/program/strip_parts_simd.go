//go:build goexperiment.simd && amd64

package program

import (
	"simd/archsimd"
	"unsafe"
)

// What the loop over strips is made of.

// never reports what never holds; with a k that falls each time, the compiler
// cannot know.
func (in *stripStep) never(k uint16) bool { return in.call > mostCalls+k }

// add adds what is to be a number to the sum.
func (r *stripRun) add(v vector) {
	v.MulAdd(zeros.v(), archsimd.LoadFloat64x4(&r.sum)).Store(&r.sum)
}

// stripVectors is how many vectors a strip has.
const stripVectors = stripLanes / 4

// vectors is the strip at a place.
func (r *stripRun) vectors(room uint8, at int32) *[stripVectors][4]float64 {
	return (*[stripVectors][4]float64)(unsafe.Add(r.room[room&3], int(at)))
}

// mark keeps the marks that are set in m, too.
func (r *stripRun) mark(m archsimd.Uint64x4) {
	archsimd.LoadUint64x4(&r.marks).And(m).Store(&r.marks)
}

func total(a, b, c, d vector) vector { return a.Add(b).Add(c.Add(d)) }

func lowerFour(x, y vector) vector   { return y.Merge(x, y.Less(x)) }
func lowestFour(x, y vector) vector  { return x.Merge(y, x.Less(y)) }
func higherFour(x, y vector) vector  { return y.Merge(x, y.Greater(x)) }
func highestFour(x, y vector) vector { return x.Merge(y, x.Greater(y)) }

func negative(x vector, signs archsimd.Uint64x4) vector {
	return x.AsUint64x4().Xor(signs).AsFloat64x4()
}

// divided is a divided by s: at p there is -s, behind it its rounded inverse y, and
// what that lacks, low. a·(y + low) rounds to a neighbour of the quotient, if not to the
// quotient itself, and is put right as in fusion.run.
func divided(a vector, p *[stripVectors][4]float64) vector {
	less, y, low := archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&p[1]), archsimd.LoadFloat64x4(&p[2])
	q := a.MulAdd(y, a.Mul(low))
	return q.MulAdd(less, a).MulAdd(y, q)
}

// atLeastFour is the truth of x >= y, and all bits set where that is sure.
func atLeastFour(x, y vector) (vector, archsimd.Uint64x4) {
	signs := sign.v().AsUint64x4()
	is := x.GreaterEqual(y)
	sure := is.Or(x.Sub(y).Less(size(x, signs).Add(size(y, signs)).Mul(nearest.v())))
	return asBits(is).And(yes.v().AsUint64x4()).AsFloat64x4(), asBits(sure)
}

// atLeastOne and atMostOne are the truth of x >= s and of s >= x, near being what
// x is surely on the other side of when it is beyond.
func atLeastOne(x, s, near vector) (vector, archsimd.Uint64x4) {
	is := x.GreaterEqual(s)
	return asBits(is).And(yes.v().AsUint64x4()).AsFloat64x4(), asBits(is.Or(x.Less(near)))
}

func atMostOne(x, s, near vector) (vector, archsimd.Uint64x4) {
	is := x.LessEqual(s)
	return asBits(is).And(yes.v().AsUint64x4()).AsFloat64x4(), asBits(is.Or(x.Greater(near)))
}

// chooseOf is y where x is yes and z where it is no, and all bits set where it is
// one of them.
func chooseOf(x, y, z vector) (vector, archsimd.Uint64x4) {
	is := x.Equal(yes.v())
	return y.Merge(z, is), asBits(is.Or(x.Equal(zeros.v())))
}

func asBits(m archsimd.Mask64x4) archsimd.Uint64x4 { return m.ToInt64x4().AsUint64x4() }
