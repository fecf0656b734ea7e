//go:build goexperiment.simd && amd64

package program

import (
	"math"
	"simd/archsimd"
	"unsafe"

	"gearleaf/sheet/kernel"
)

// The loops of this build do four lanes in one machine instruction, on a
// processor with AVX2 and FMA. Addition, subtraction, multiplication, division
// and square root round as they do one by one, and comparisons and choices are
// exact, so the bits are those of every build; intrinsics and look-ups stay as
// they are. Each loop clears the upper halves of the registers when it is
// done: ordinary code would run at half its speed otherwise.

func init() {
	if !archsimd.X86.AVX2() || !archsimd.X86.FMA() {
		return
	}
	for o, second := range map[opcode]joined{
		opAdd: thenAdd, opSub: thenSub, opMul: thenMul, opDiv: thenDiv, opLower: thenLower, opHigher: thenHigher,
	} {
		ops[o].vectors = func(d []float64, a, b wide) bool { return fuse(new(sharedRoom), d, nil, a, wide{}, b, nothing, second) }
	}
	for o, c := range map[opcode]question{
		opGreaterEqual: {}, opLess: {contrary: true}, opLessEqual: {mirrored: true}, opGreater: {mirrored: true, contrary: true},
	} {
		ops[o].vectors = func(d []float64, a, b wide) bool { return chooseFour(new(sharedRoom), d, a, b, wide{s: 1}, wide{}, c) }
	}
	ops[opAbs].vectors, ops[opSqrt].vectors, ops[opPow].vectors = absVectors, sqrtVectors, powVectors
	pairVectors = fusePair
	chooseVectors = func(rooms *sharedRoom, d []float64, a, b, c, e wide, compares opcode) bool {
		switch compares {
		case opLess:
			return chooseFour(rooms, d, a, b, c, e, question{contrary: true})
		case opGreaterEqual:
			return chooseFour(rooms, d, a, b, c, e, question{})
		}
		return chooseFour(rooms, d, a, wide{s: 1}, c, e, question{equal: true})
	}
}

type vector = archsimd.Float64x4

// feed is where a loop reads an operand: step bytes on from one lane to the
// next. An operand that is the same in all lanes is laid out once for the
// lanes of one turn, with a step of 0, so that one loop serves for either
// sort. Going by addresses leaves the loops no bounds to check; feed itself
// sees to it that the lanes are there.
type feed struct {
	at   unsafe.Pointer
	step uintptr
}

// feeds returns where n lanes of w are read. w.s is laid out in room.
func (w wide) feeds(n int, room *[turn]float64) feed {
	if w.v != nil {
		return feed{unsafe.Pointer(unsafe.SliceData(w.v[:n])), 8}
	}
	spread(room, w.s)
	return feed{unsafe.Pointer(room), 0}
}

// spread fills room with s, by vectors: what is written a number at a time
// cannot be read as a vector at once. It is a function of its own so that no
// ordinary instruction comes in between.
//
//go:noinline
func spread(room *[turn]float64, s float64) {
	at, v := unsafe.Pointer(room), archsimd.BroadcastFloat64x4(s)
	put(at, 0, v)
	put(at, 1, v)
	put(at, 2, v)
	put(at, 3, v)
	archsimd.ClearAVXUpperBits()
}

// quads fills two quads.
//
//go:noinline
func quads(p, q *quad, s, r float64) {
	archsimd.BroadcastFloat64x4(s).Store((*[4]float64)(p))
	archsimd.BroadcastFloat64x4(r).Store((*[4]float64)(q))
	archsimd.ClearAVXUpperBits()
}

// from is the address of lane i.
func (f feed) from(i int) unsafe.Pointer { return unsafe.Add(f.at, uintptr(i)*f.step) }

// four reads vector k of a turn, and put writes it.
func four(at unsafe.Pointer, k int) vector {
	return archsimd.LoadFloat64x4((*[4]float64)(unsafe.Add(at, 32*k)))
}

func put(at unsafe.Pointer, k int, v vector) { v.Store((*[4]float64)(unsafe.Add(at, 32*k))) }

// quad is a value in all four lanes, as it is loaded. Where the compiler spreads
// a scalar over a vector it fetches it with an ordinary instruction, and any of
// those, while the upper halves of the registers are in use, costs as much as a
// hundred with vectors.
type quad [4]float64

func quadOf(v float64) quad { return quad{v, v, v, v} }

func (q *quad) v() vector { return archsimd.LoadFloat64x4((*[4]float64)(q)) }

// sign, mark and the others are what the loops need.
var (
	sign, mark   = quadOf(math.Copysign(0, -1)), quadOf(math.Float64frombits(1 << 62))
	yes, nearest = quadOf(1), quadOf(-kernel.Tolerance)
)

// at4 and put4 read and write the four lanes that begin at p.
func at4(p *float64) vector     { return archsimd.LoadFloat64x4((*[4]float64)(unsafe.Pointer(p))) }
func put4(p *float64, v vector) { v.Store((*[4]float64)(unsafe.Pointer(p))) }

// joined is one half of what fuse does: the first operation or the second.
type joined uint8

const (
	nothing joined = iota // the first operand alone
	thenAdd
	thenSub
	thenFrom // the other operand less this one
	thenMul
	thenDiv
	thenInto // the other operand divided by this one
	thenDivide
	thenLower
	thenHigher
)

// joins are the halves of pairs, by their opcodes; turned ones stand for
// themselves.
var joins = [opcodes]joined{
	opAdd: thenAdd, opSub: thenSub, opMul: thenMul, opDiv: thenDiv, opLower: thenLower, opHigher: thenHigher,
}

func fusePair(rooms *sharedRoom, d, keep []float64, a, b, c wide, p pair) bool {
	second := joins[p.second]
	switch {
	case p.turned && p.second == opSub:
		second = thenFrom
	case p.turned && p.second == opDiv:
		second = thenInto
	}
	return fuse(rooms, d, keep, a, b, c, joins[p.first], second)
}

// fuse leaves in d what second makes of the first result and c, and in keep,
// unless it is nil, the first result itself. It reports whether all is right:
// where not, something was not a number, or there are too few lanes.
//
// The last turn goes back as far as it must to be a whole one. No operand is
// the room of a result, so that lanes may be computed twice.
func fuse(rooms *sharedRoom, d, keep []float64, a, b, c wide, first, second joined) bool {
	if len(d) < turn {
		return false
	}
	f := fusion{d: unsafe.Pointer(unsafe.SliceData(d)), n: len(d), first: first, second: second}
	if keep != nil {
		f.keep = unsafe.Pointer(unsafe.SliceData(keep[:len(d)]))
	}
	f.a, f.b, f.c = a.feeds(f.n, &rooms[0]), b.feeds(f.n, &rooms[1]), c.feeds(f.n, &rooms[2])
	divisor := b
	if first == thenDiv && b.v == nil && divides(b.s) {
		f.first = thenDivide
	} else if divisor = c; second == thenDiv && c.v == nil && divides(c.s) {
		f.second = thenDivide
	} else {
		return f.run()
	}
	quads(&f.less, &f.inverse, -divisor.s, 1/divisor.s)
	if f.run() {
		return true
	}
	f.first, f.second = first, second
	return f.run()
}

// fusion is what the loop of fuse works on.
type fusion struct {
	d, keep       unsafe.Pointer
	n             int
	a, b, c       feed
	first, second joined
	less, inverse quad // the divisor of thenDivide, below zero, and 1 divided by it
}

// run is the loop. A sum of 0 times what it leaves tells of anything that is not
// a number (and of numbers too large to add, which does no harm); where a second
// operation could hide that, its operands are in the sum too.
//
// A division by what is the same in all lanes is a product with the inverse,
// put right twice: a·y, then twice q + (a - q·s)·y with what is left exact.
// The first time brings it within one unit in the last place, whence the
// second time rounds as a division does (Markstein, IBM Journal of Research and
// Development 34, 1990, page 111: y is the rounded inverse, and its digits are
// not all ones). Nothing may come near the ends of the scale or be zero: of an
// a that suits, just one of the two highest bits of the exponent is set, and of
// all of them the marks keep what every one had.
func (f *fusion) run() bool {
	var zero, e vector
	marks := mark.v().AsUint64x4()
	first, second, keep := f.first, f.second, f.keep
	for i := 0; ; i += turn {
		if i > f.n-turn {
			if i >= f.n {
				break
			}
			i = f.n - turn
		}
		at := f.a.from(i)
		x0, x1, x2, x3 := four(at, 0), four(at, 1), four(at, 2), four(at, 3)
		if first != nothing {
			at = f.b.from(i)
			y0, y1, y2, y3 := four(at, 0), four(at, 1), four(at, 2), four(at, 3)
			switch first {
			case thenAdd:
				x0, x1, x2, x3 = x0.Add(y0), x1.Add(y1), x2.Add(y2), x3.Add(y3)
			case thenSub:
				x0, x1, x2, x3 = x0.Sub(y0), x1.Sub(y1), x2.Sub(y2), x3.Sub(y3)
			case thenMul:
				x0, x1, x2, x3 = x0.Mul(y0), x1.Mul(y1), x2.Mul(y2), x3.Mul(y3)
			case thenDiv:
				x0, x1, x2, x3 = x0.Div(y0), x1.Div(y1), x2.Div(y2), x3.Div(y3)
			case thenDivide:
				marks = marks.And(suits(x0).And(suits(x1))).And(suits(x2).And(suits(x3)))
				s, y := f.less.v(), f.inverse.v()
				x0, x1, x2, x3 = quotient(x0, s, y), quotient(x1, s, y), quotient(x2, s, y), quotient(x3, s, y)
			}
			if keep != nil {
				to := unsafe.Add(keep, 8*i)
				put(to, 0, x0)
				put(to, 1, x1)
				put(to, 2, x2)
				put(to, 3, x3)
			}
		}
		at = f.c.from(i)
		y0, y1, y2, y3 := four(at, 0), four(at, 1), four(at, 2), four(at, 3)
		if second >= thenInto {
			e = x0.Add(x1).Add(x2.Add(x3)).MulAdd(zero, e)
		}
		switch second {
		case thenAdd:
			x0, x1, x2, x3 = x0.Add(y0), x1.Add(y1), x2.Add(y2), x3.Add(y3)
		case thenSub:
			x0, x1, x2, x3 = x0.Sub(y0), x1.Sub(y1), x2.Sub(y2), x3.Sub(y3)
		case thenFrom:
			x0, x1, x2, x3 = y0.Sub(x0), y1.Sub(x1), y2.Sub(x2), y3.Sub(x3)
		case thenMul:
			x0, x1, x2, x3 = x0.Mul(y0), x1.Mul(y1), x2.Mul(y2), x3.Mul(y3)
		case thenDiv:
			x0, x1, x2, x3 = x0.Div(y0), x1.Div(y1), x2.Div(y2), x3.Div(y3)
		case thenInto:
			x0, x1, x2, x3 = y0.Div(x0), y1.Div(x1), y2.Div(x2), y3.Div(x3)
		case thenDivide:
			marks = marks.And(suits(x0).And(suits(x1))).And(suits(x2).And(suits(x3)))
			s, y := f.less.v(), f.inverse.v()
			x0, x1, x2, x3 = quotient(x0, s, y), quotient(x1, s, y), quotient(x2, s, y), quotient(x3, s, y)
		case thenLower:
			e = y0.Add(y1).Add(y2.Add(y3)).MulAdd(zero, e)
			x0, x1 = y0.Merge(x0, y0.Less(x0)), y1.Merge(x1, y1.Less(x1))
			x2, x3 = y2.Merge(x2, y2.Less(x2)), y3.Merge(x3, y3.Less(x3))
		case thenHigher:
			e = y0.Add(y1).Add(y2.Add(y3)).MulAdd(zero, e)
			x0, x1 = y0.Merge(x0, y0.Greater(x0)), y1.Merge(x1, y1.Greater(x1))
			x2, x3 = y2.Merge(x2, y2.Greater(x2)), y3.Merge(x3, y3.Greater(x3))
		}
		to := unsafe.Add(f.d, 8*i)
		put(to, 0, x0)
		put(to, 1, x1)
		put(to, 2, x2)
		put(to, 3, x3)
		e = x0.Add(x1).Add(x2.Add(x3)).MulAdd(zero, e)
	}
	return numbers(e, marks)
}

// quotient is a divided by s, less being -s and y its inverse.
func quotient(a, less, y vector) vector {
	q := a.Mul(y)
	q = q.MulAdd(less, a).MulAdd(y, q)
	return q.MulAdd(less, a).MulAdd(y, q)
}

// suits has bit 62 set where a can be divided by an inverse: its size is from
// 2^-511 to 2^513.
func suits(a vector) archsimd.Uint64x4 {
	u := a.AsUint64x4()
	return u.Add(u).Xor(u)
}

// numbers reports whether sums of what is 0 for a number are 0, and bit 62 of
// all marks is set. It ends the work with vectors.
func numbers(e vector, marks archsimd.Uint64x4) bool {
	var s [4]float64
	var m [4]uint64
	e.Store(&s)
	marks.Store(&m)
	archsimd.ClearAVXUpperBits()
	return s[0]+s[1]+s[2]+s[3] == 0 && m[0]&m[1]&m[2]&m[3]>>62&1 == 1
}

func absVectors(d []float64, a, _ wide) bool {
	x := a.v[:len(d)]
	sign := sign.v().AsUint64x4()
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
	ok := numbers(e, mark.v().AsUint64x4())
	i := len(d) &^ 3
	return sqrtLanes(d[i:], a.rest(i), wide{}) && ok
}

// powVectors is for one exponent in all lanes.
func powVectors(d []float64, a, b wide) bool {
	if b.v != nil {
		return false
	}
	kernel.PowersByFour(d, a.v, b.s)
	return true
}

// rest is the lanes from i on.
func (w wide) rest(i int) wide {
	if w.v != nil {
		w.v = w.v[i:]
	}
	return w
}
