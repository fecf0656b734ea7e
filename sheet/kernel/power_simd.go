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
	if plainExponent(b) && len(d) >= 8 && plainPowers(d, a[:len(d)], b) {
		return
	}
	Powers(d, a, b)
}

// plainPowers is PowersByFour where lanes are ordinary and their powers near
// 1; it reports whether they are. Logarithms and exponentials are chains of
// operations that wait for one another: eight lanes are in work side by side,
// and all logarithms come first, so that those of several eights are under way
// at once. The last eight lanes may be computed twice.
func plainPowers(d, a []float64, b float64) bool {
	each, c := quadOf(b), &fours
	sure := c.one.v().Less(c.two.v())
	for i := 0; i <= len(d)-8; i += 8 {
		x, y := archsimd.LoadFloat64x4(at(a, i)), archsimd.LoadFloat64x4(at(a, i+4))
		s, t := lnEight(x, y)
		s, t = each.v().Mul(s), each.v().Mul(t)
		sure = sure.And(c.near(s)).And(c.near(t)).And(c.ordinary(x)).And(c.ordinary(y))
		s.Store(at(d, i))
		t.Store(at(d, i+4))
	}
	for i := 0; i <= len(d)-8; i += 8 {
		s, t := expEight(archsimd.LoadFloat64x4(at(d, i)), archsimd.LoadFloat64x4(at(d, i+4)))
		s.Store(at(d, i))
		t.Store(at(d, i+4))
	}
	if len(d)%8 != 0 {
		i := len(d) - 8
		x, y := archsimd.LoadFloat64x4(at(a, i)), archsimd.LoadFloat64x4(at(a, i+4))
		s, t := lnEight(x, y)
		s, t = each.v().Mul(s), each.v().Mul(t)
		sure = sure.And(c.near(s)).And(c.near(t)).And(c.ordinary(x)).And(c.ordinary(y))
		s, t = expEight(s, t)
		s.Store(at(d, i))
		t.Store(at(d, i+4))
	}
	bits := sure.ToBits()
	archsimd.ClearAVXUpperBits()
	return bits == 15
}

// init lets Exps and Lns go eight lanes at a time; the last eight may be computed
// twice.
func init() {
	if archsimd.X86.AVX2() {
		expEights, lnEights = exponentials, logarithms
	}
}

func exponentials(d, x []float64) bool {
	c := &fours
	sure := c.one.v().Less(c.two.v())
	for i := 0; ; i += 8 {
		if i > len(d)-8 {
			if i >= len(d) {
				break
			}
			i = len(d) - 8
		}
		s, t := archsimd.LoadFloat64x4(at(x, i)), archsimd.LoadFloat64x4(at(x, i+4))
		sure = sure.And(c.plain(s)).And(c.plain(t))
		s, t = expEight(s, t)
		s.Store(at(d, i))
		t.Store(at(d, i+4))
	}
	bits := sure.ToBits()
	archsimd.ClearAVXUpperBits()
	return bits == 15
}

func logarithms(d, x []float64) bool {
	c := &fours
	sure := c.one.v().Less(c.two.v())
	for i := 0; ; i += 8 {
		if i > len(d)-8 {
			if i >= len(d) {
				break
			}
			i = len(d) - 8
		}
		s, t := archsimd.LoadFloat64x4(at(x, i)), archsimd.LoadFloat64x4(at(x, i+4))
		sure = sure.And(c.ordinary(s)).And(c.ordinary(t))
		s, t = lnEight(s, t)
		s.Store(at(d, i))
		t.Store(at(d, i+4))
	}
	bits := sure.ToBits()
	archsimd.ClearAVXUpperBits()
	return bits == 15
}

// constants are those of all that follows, and fours what they are.
type constants struct {
	unsigned, most, low, high               quad // what plainPowers asks of lanes
	expLeast, expMost                       quad // what exponentials do
	root, mantissa, rootHalf, whole, biased quad // a number in its parts
	one, two, half, ln2High, ln2Low         quad
	ln1, ln2, ln3, ln4, ln5, ln6, ln7       quad
	shift, perLn2, wholeAt                  quad
	exp                                     [len(expCoefficients)]quad
}

var fours = constants{
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

// lnEight is lnPlain with bias, of four lanes and four more.
func lnEight(x, y vector) (vector, vector) {
	c := &fours
	u, v := x.AsUint64x4().Add(c.root.u()), y.AsUint64x4().Add(c.root.u())
	k, l := c.exponent(u), c.exponent(v)
	f, g := c.fraction(u), c.fraction(v)
	s, t := f.Div(c.two.v().Add(f)), g.Div(c.two.v().Add(g))
	z, zz := s.Mul(s), t.Mul(t)
	w, ww := z.Mul(z), zz.Mul(zz)
	even, even2 := w.Mul(c.ln6.v()), ww.Mul(c.ln6.v())
	odd, odd2 := w.Mul(c.ln7.v()), ww.Mul(c.ln7.v())
	even, even2 = w.Mul(c.ln4.v().Add(even)), ww.Mul(c.ln4.v().Add(even2))
	odd, odd2 = w.Mul(c.ln5.v().Add(odd)), ww.Mul(c.ln5.v().Add(odd2))
	even, even2 = w.Mul(c.ln2.v().Add(even)), ww.Mul(c.ln2.v().Add(even2))
	odd, odd2 = w.Mul(c.ln3.v().Add(odd)), ww.Mul(c.ln3.v().Add(odd2))
	odd, odd2 = z.Mul(c.ln1.v().Add(odd)), zz.Mul(c.ln1.v().Add(odd2))
	half, half2 := c.half.v().Mul(f).Mul(f), c.half.v().Mul(g).Mul(g)
	rest, rest2 := s.Mul(half.Add(odd.Add(even))), t.Mul(half2.Add(odd2.Add(even2)))
	low, low2 := rest.Add(k.Mul(c.ln2Low.v())), rest2.Add(l.Mul(c.ln2Low.v()))
	return k.Mul(c.ln2High.v()).Sub(half.Sub(low).Sub(f)), l.Mul(c.ln2High.v()).Sub(half2.Sub(low2).Sub(g))
}

// exponent and fraction are k and f of lnPlain, of its u.
func (c *constants) exponent(u archsimd.Uint64x4) vector {
	return u.ShiftRight(c.shift.u()).Or(c.whole.u()).AsFloat64x4().Sub(c.biased.v())
}

func (c *constants) fraction(u archsimd.Uint64x4) vector {
	return u.And(c.mantissa.u()).Add(c.rootHalf.u()).AsFloat64x4().Sub(c.one.v())
}

// ordinary, near and plain are where lanes are ordinary numbers above zero,
// near enough to 0 for a power, and fit for a plain exponential.
func (c *constants) ordinary(x vector) archsimd.Mask64x4 {
	u := x.AsInt64x4()
	return u.Greater(c.low.u().AsInt64x4()).And(c.high.u().AsInt64x4().Greater(u))
}

func (c *constants) near(x vector) archsimd.Mask64x4 {
	return x.AsUint64x4().And(c.unsigned.u()).AsFloat64x4().Less(c.most.v())
}

func (c *constants) plain(x vector) archsimd.Mask64x4 {
	return x.GreaterEqual(c.expLeast.v()).And(x.LessEqual(c.expMost.v()))
}

// expEight is expPlain, of four lanes and four more.
func expEight(x, y vector) (vector, vector) {
	c, e := &fours, &fours.exp
	n, m := x.Mul(c.perLn2.v()).Add(c.wholeAt.v()), y.Mul(c.perLn2.v()).Add(c.wholeAt.v())
	k, l := n.Sub(c.wholeAt.v()), m.Sub(c.wholeAt.v())
	high, high2 := x.Sub(k.Mul(c.ln2High.v())), y.Sub(l.Mul(c.ln2High.v()))
	low, low2 := k.Mul(c.ln2Low.v()), l.Mul(c.ln2Low.v())
	r, s := high.Sub(low), high2.Sub(low2)
	r2, s2 := r.Mul(r), s.Mul(s)
	r4, s4 := r2.Mul(r2), s2.Mul(s2)
	t, u := e[8].v().Add(r.Mul(e[9].v())), e[8].v().Add(s.Mul(e[9].v()))
	t, u = t.Add(r2.Mul(e[10].v())), u.Add(s2.Mul(e[10].v()))
	q, v := e[6].v().Add(r.Mul(e[7].v())), e[6].v().Add(s.Mul(e[7].v()))
	q, v = e[4].v().Add(r.Mul(e[5].v())).Add(r2.Mul(q)), e[4].v().Add(s.Mul(e[5].v())).Add(s2.Mul(v))
	q, v = q.Add(r4.Mul(t)), v.Add(s4.Mul(u))
	p, w := e[2].v().Add(r.Mul(e[3].v())), e[2].v().Add(s.Mul(e[3].v()))
	p, w = e[0].v().Add(r.Mul(e[1].v())).Add(r2.Mul(p)), e[0].v().Add(s.Mul(e[1].v())).Add(s2.Mul(w))
	p, w = p.Add(r4.Mul(q)), w.Add(s4.Mul(v))
	p, w = c.one.v().Add(high.Add(r2.Mul(p).Sub(low))), c.one.v().Add(high2.Add(s2.Mul(w).Sub(low2)))
	return c.scaled(p, n), c.scaled(w, m)
}

// scaled is y times 2 to the whole number in the low bits of n.
func (c *constants) scaled(y, n vector) vector {
	return y.AsUint64x4().Add(n.AsUint64x4().ShiftLeft(c.shift.u())).AsFloat64x4()
}
