//go:build goexperiment.simd && amd64

package program

import (
	"simd/archsimd"
	"unsafe"
)

// question is what chooseFour asks of two operands a and b: whether a >= b,
// within the tolerance, or what the fields make of that.
type question struct {
	equal    bool // b is yes: is a yes, all else being no? Anything but yes and no wants a closer look
	mirrored bool // b >= a
	contrary bool // the contrary
}

// chooseFour leaves c in d where a compares with b as asked, and e elsewhere.
// It reports whether that is right: where not, two are so close, or no numbers,
// that the kernel has to look, or there are too few lanes.
func chooseFour(rooms *sharedRoom, d []float64, a, b, c, e wide, asks question) bool {
	if len(d) < turn {
		return false
	}
	if asks.mirrored {
		a, b = b, a
	}
	if asks.contrary {
		c, e = e, c
	}
	n := len(d)
	f := choice{
		d: unsafe.Pointer(unsafe.SliceData(d)), n: n,
		a: a.feeds(n, &rooms[0]), b: b.feeds(n, &rooms[1]), c: c.feeds(n, &rooms[2]), e: e.feeds(n, &rooms[3]),
	}
	if asks.equal {
		return f.byTruth()
	}
	return f.bySize()
}

// choice is what the loops of chooseFour work on.
type choice struct {
	d          unsafe.Pointer
	n          int
	a, b, c, e feed
}

// half is how many lanes these loops take in one turn.
const half = turn / 2

// bySize is the loop where a >= b decides. It is sure of a >= b itself, and of
// the contrary where kernel.Below is.
func (f *choice) bySize() bool {
	sign, least := sign.v().AsUint64x4(), nearest.v()
	sure := least.Less(least.Sub(least))
	for i := 0; ; i += half {
		if i > f.n-half {
			if i >= f.n {
				break
			}
			i = f.n - half
		}
		a, b := f.a.from(i), f.b.from(i)
		x0, x1, y0, y1 := four(a, 0), four(a, 1), four(b, 0), four(b, 1)
		is0, is1 := x0.GreaterEqual(y0), x1.GreaterEqual(y1)
		below0 := x0.Sub(y0).Less(size(x0, sign).Add(size(y0, sign)).Mul(least))
		below1 := x1.Sub(y1).Less(size(x1, sign).Add(size(y1, sign)).Mul(least))
		sure = sure.And(is0.Or(below0)).And(is1.Or(below1))
		f.put(i, is0, is1)
	}
	return all(sure)
}

// byTruth is the loop where a truth decides.
func (f *choice) byTruth() bool {
	one := yes.v()
	zero := one.Sub(one)
	sure := zero.Less(one)
	for i := 0; ; i += half {
		if i > f.n-half {
			if i >= f.n {
				break
			}
			i = f.n - half
		}
		a := f.a.from(i)
		x0, x1 := four(a, 0), four(a, 1)
		is0, is1 := x0.Equal(one), x1.Equal(one)
		sure = sure.And(is0.Or(x0.Equal(zero))).And(is1.Or(x1.Equal(zero)))
		f.put(i, is0, is1)
	}
	return all(sure)
}

// put leaves the lanes of one turn.
func (f *choice) put(i int, is0, is1 archsimd.Mask64x4) {
	c, e, to := f.c.from(i), f.e.from(i), unsafe.Add(f.d, 8*i)
	put(to, 0, four(c, 0).Merge(four(e, 0), is0))
	put(to, 1, four(c, 1).Merge(four(e, 1), is1))
}

func size(v vector, sign archsimd.Uint64x4) vector { return v.AsUint64x4().AndNot(sign).AsFloat64x4() }

// all reports whether a mask is set in all lanes. It ends the work with
// vectors.
func all(mask archsimd.Mask64x4) bool {
	bits := mask.ToBits()
	archsimd.ClearAVXUpperBits()
	return bits == 15
}
