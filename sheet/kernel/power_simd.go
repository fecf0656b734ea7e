//go:build goexperiment.simd && amd64

package kernel

import (
	"math"
	"simd/archsimd"
	"unsafe"
)

type vector = archsimd.Float64x4

// quad is a constant in all four lanes, as it is loaded. Where the compiler
// spreads a scalar over a vector, or shifts by a constant, it fetches that with
// an ordinary instruction, and any of those, while the upper halves of the
// registers are in use, costs as much as a hundred with vectors.
type quad [4]float64

func quadOf(v float64) quad { return quad{v, v, v, v} }

// bitsQuad is quadOf for the number with the bits u.
func bitsQuad(u uint64) quad { return quadOf(math.Float64frombits(u)) }

func (q *quad) v() vector            { return archsimd.LoadFloat64x4((*[4]float64)(q)) }
func (q *quad) u() archsimd.Uint64x4 { return q.v().AsUint64x4() }

// at is the address of the four lanes of v that begin at i.
func at(v []float64, i int) *[4]float64 { return (*[4]float64)(unsafe.Pointer(&v[i])) }

// PowersByFour is Powers with four lanes in one machine instruction, for a
// processor with AVX2: the same operations in the same order, and so the same
// bits.
func PowersByFour(d, a []float64, b float64) {
	if plainExponent(b) && len(d) >= 4 && plainPowers(d, a[:len(d)], b) {
		return
	}
	Powers(d, a, b)
}

// plainPowers is PowersByFour where lanes are ordinary and their powers near
// 1; it reports whether they are. The last four lanes may be computed twice.
func plainPowers(d, a []float64, b float64) bool {
	each, c := quadOf(b), &fours
	exponent := each.v()
	sure := exponent.Equal(exponent)
	for i := 0; ; i += 4 {
		if i > len(d)-4 {
			if i >= len(d) {
				break
			}
			i = len(d) - 4
		}
		x := archsimd.LoadFloat64x4(at(a, i))
		e := exponent.Mul(lnFour(x))
		near := e.AsUint64x4().And(c.unsigned.u()).AsFloat64x4().Less(c.most.v())
		u := x.AsInt64x4()
		sure = sure.And(near).And(u.Greater(c.low.u().AsInt64x4())).And(c.high.u().AsInt64x4().Greater(u))
		expFour(e).Store(at(d, i))
	}
	bits := sure.ToBits()
	archsimd.ClearAVXUpperBits()
	return bits == 15
}

// init lets Exps and Lns go four lanes at a time; the last four may be computed
// twice.
func init() {
	if archsimd.X86.AVX2() {
		expFours, lnFours = exponentials, logarithms
	}
}

func exponentials(d, x []float64) bool {
	c := &fours
	sure := c.one.v().Less(c.two.v())
	for i := 0; ; i += 4 {
		if i > len(d)-4 {
			if i >= len(d) {
				break
			}
			i = len(d) - 4
		}
		v := archsimd.LoadFloat64x4(at(x, i))
		sure = sure.And(v.GreaterEqual(c.expLeast.v())).And(v.LessEqual(c.expMost.v()))
		expFour(v).Store(at(d, i))
	}
	bits := sure.ToBits()
	archsimd.ClearAVXUpperBits()
	return bits == 15
}

func logarithms(d, x []float64) bool {
	c := &fours
	sure := c.one.v().Less(c.two.v())
	for i := 0; ; i += 4 {
		if i > len(d)-4 {
			if i >= len(d) {
				break
			}
			i = len(d) - 4
		}
		v := archsimd.LoadFloat64x4(at(x, i))
		u := v.AsInt64x4()
		sure = sure.And(u.Greater(c.low.u().AsInt64x4())).And(c.high.u().AsInt64x4().Greater(u))
		lnFour(v).Store(at(d, i))
	}
	bits := sure.ToBits()
	archsimd.ClearAVXUpperBits()
	return bits == 15
}

// fours are the constants of all that follows.
var fours = struct {
	unsigned, most, low, high               quad // what plainPowers asks of lanes
	expLeast, expMost                       quad // what exponentials do
	root, mantissa, rootHalf, whole, biased quad // a number in its parts
	one, two, half, ln2High, ln2Low         quad
	ln1, ln2, ln3, ln4, ln5, ln6, ln7       quad
	shift, perLn2, wholeAt                  quad
	exp                                     [len(expCoefficients)]quad
}{
	unsigned: bitsQuad(1<<63 - 1), most: quadOf(nearOne), low: bitsQuad(leastOrdinal - 1), high: bitsQuad(infinityBits),
	expLeast: quadOf(expLeast), expMost: quadOf(expMost),
	root: bitsQuad(oneBits - rootHalfBits), mantissa: bitsQuad(mantissaBits), rootHalf: bitsQuad(rootHalfBits),
	// A whole number below 2^52 becomes a fraction when it stands in the low
	// bits of 2^52, which is then taken away.
	whole: quadOf(0x1p52), biased: quadOf(0x1p52 + bias),
	one: quadOf(1), two: quadOf(2), half: quadOf(0.5), ln2High: quadOf(ln2High), ln2Low: quadOf(ln2Low),
	ln1: quadOf(ln1), ln2: quadOf(ln2), ln3: quadOf(ln3), ln4: quadOf(ln4), ln5: quadOf(ln5), ln6: quadOf(ln6), ln7: quadOf(ln7),
	shift: bitsQuad(52), perLn2: quadOf(1 / math.Ln2), wholeAt: quadOf(wholeAt),
}

func init() {
	for i, c := range expCoefficients {
		fours.exp[i] = quadOf(c)
	}
}

// lnFour is lnPlain with bias.
func lnFour(x vector) vector {
	c := &fours
	u := x.AsUint64x4().Add(c.root.u())
	k := u.ShiftRight(c.shift.u()).Or(c.whole.u()).AsFloat64x4().Sub(c.biased.v())
	f := u.And(c.mantissa.u()).Add(c.rootHalf.u()).AsFloat64x4().Sub(c.one.v())
	s := f.Div(c.two.v().Add(f))
	z := s.Mul(s)
	w := z.Mul(z)
	even := w.Mul(c.ln2.v().Add(w.Mul(c.ln4.v().Add(w.Mul(c.ln6.v())))))
	odd := z.Mul(c.ln1.v().Add(w.Mul(c.ln3.v().Add(w.Mul(c.ln5.v().Add(w.Mul(c.ln7.v())))))))
	half := c.half.v().Mul(f).Mul(f)
	rest := s.Mul(half.Add(odd.Add(even)))
	return k.Mul(c.ln2High.v()).Sub(half.Sub(rest.Add(k.Mul(c.ln2Low.v()))).Sub(f))
}

// expFour is expPlain.
func expFour(x vector) vector {
	c, e := &fours, &fours.exp
	n := x.Mul(c.perLn2.v()).Add(c.wholeAt.v())
	k := n.Sub(c.wholeAt.v())
	high, low := x.Sub(k.Mul(c.ln2High.v())), k.Mul(c.ln2Low.v())
	r := high.Sub(low)
	r2 := r.Mul(r)
	r4 := r2.Mul(r2)
	p := e[0].v().Add(r.Mul(e[1].v())).Add(r2.Mul(e[2].v().Add(r.Mul(e[3].v()))))
	q := e[4].v().Add(r.Mul(e[5].v())).Add(r2.Mul(e[6].v().Add(r.Mul(e[7].v()))))
	t := e[8].v().Add(r.Mul(e[9].v())).Add(r2.Mul(e[10].v()))
	g := p.Add(r4.Mul(q.Add(r4.Mul(t))))
	y := c.one.v().Add(high.Add(r2.Mul(g).Sub(low)))
	return y.AsUint64x4().Add(n.AsUint64x4().ShiftLeft(c.shift.u())).AsFloat64x4()
}
