//go:build goexperiment.simd && amd64

package program

import (
	"simd/archsimd"
	"unsafe"

	"gearleaf/sheet/kernel"
)

func init() {
	if archsimd.X86.AVX2() && archsimd.X86.FMA() {
		runStrips, powers = (*stripRun).run, kernel.PowersByFour
	}
}

// run goes on with the code under way, strip by strip, until all lanes are
// through, or there is a call. Nothing but the accumulator stays in registers
// from one instruction to the next, and what never holds is asked between its
// parts: the compiler would fetch all operands of an instruction first, run out
// of registers, and keep the accumulator in memory for all instructions.
func (r *stripRun) run() {
	code, at := r.under, r.at
	var x0, x1, x2, x3, x4, x5, x6, x7 vector
	for {
		for ; uint(at) < uint(len(code)); at++ {
			in := &code[at]
			if in.ra != nowhere {
				p := r.vectors(in.ra, in.a)
				x0 = archsimd.LoadFloat64x4(&p[0])
				x1 = archsimd.LoadFloat64x4(&p[1])
				x2 = archsimd.LoadFloat64x4(&p[2])
				x3 = archsimd.LoadFloat64x4(&p[3])
				x4 = archsimd.LoadFloat64x4(&p[4])
				x5 = archsimd.LoadFloat64x4(&p[5])
				x6 = archsimd.LoadFloat64x4(&p[6])
				x7 = archsimd.LoadFloat64x4(&p[7])
			}
			p := r.vectors(in.rb, in.b)
			switch in.op {
			case stripMove:
			case stripAdd:
				x0 = x0.Add(archsimd.LoadFloat64x4(&p[0]))
				x1 = x1.Add(archsimd.LoadFloat64x4(&p[1]))
				x2 = x2.Add(archsimd.LoadFloat64x4(&p[2]))
				x3 = x3.Add(archsimd.LoadFloat64x4(&p[3]))
				if in.never(5) {
					return
				}
				x4 = x4.Add(archsimd.LoadFloat64x4(&p[4]))
				x5 = x5.Add(archsimd.LoadFloat64x4(&p[5]))
				x6 = x6.Add(archsimd.LoadFloat64x4(&p[6]))
				x7 = x7.Add(archsimd.LoadFloat64x4(&p[7]))
			case stripAddOne:
				y := archsimd.LoadFloat64x4(&p[0])
				x0 = x0.Add(y)
				x1 = x1.Add(y)
				x2 = x2.Add(y)
				x3 = x3.Add(y)
				x4 = x4.Add(y)
				x5 = x5.Add(y)
				x6 = x6.Add(y)
				x7 = x7.Add(y)
			case stripSub:
				x0 = x0.Sub(archsimd.LoadFloat64x4(&p[0]))
				x1 = x1.Sub(archsimd.LoadFloat64x4(&p[1]))
				x2 = x2.Sub(archsimd.LoadFloat64x4(&p[2]))
				x3 = x3.Sub(archsimd.LoadFloat64x4(&p[3]))
				if in.never(5) {
					return
				}
				x4 = x4.Sub(archsimd.LoadFloat64x4(&p[4]))
				x5 = x5.Sub(archsimd.LoadFloat64x4(&p[5]))
				x6 = x6.Sub(archsimd.LoadFloat64x4(&p[6]))
				x7 = x7.Sub(archsimd.LoadFloat64x4(&p[7]))
			case stripSubOne:
				y := archsimd.LoadFloat64x4(&p[0])
				x0 = x0.Sub(y)
				x1 = x1.Sub(y)
				x2 = x2.Sub(y)
				x3 = x3.Sub(y)
				x4 = x4.Sub(y)
				x5 = x5.Sub(y)
				x6 = x6.Sub(y)
				x7 = x7.Sub(y)
			case stripFrom:
				x0 = archsimd.LoadFloat64x4(&p[0]).Sub(x0)
				x1 = archsimd.LoadFloat64x4(&p[1]).Sub(x1)
				x2 = archsimd.LoadFloat64x4(&p[2]).Sub(x2)
				x3 = archsimd.LoadFloat64x4(&p[3]).Sub(x3)
				if in.never(5) {
					return
				}
				x4 = archsimd.LoadFloat64x4(&p[4]).Sub(x4)
				x5 = archsimd.LoadFloat64x4(&p[5]).Sub(x5)
				x6 = archsimd.LoadFloat64x4(&p[6]).Sub(x6)
				x7 = archsimd.LoadFloat64x4(&p[7]).Sub(x7)
			case stripFromOne:
				y := archsimd.LoadFloat64x4(&p[0])
				x0 = y.Sub(x0)
				x1 = y.Sub(x1)
				x2 = y.Sub(x2)
				x3 = y.Sub(x3)
				x4 = y.Sub(x4)
				x5 = y.Sub(x5)
				x6 = y.Sub(x6)
				x7 = y.Sub(x7)
			case stripMul:
				x0 = x0.Mul(archsimd.LoadFloat64x4(&p[0]))
				x1 = x1.Mul(archsimd.LoadFloat64x4(&p[1]))
				x2 = x2.Mul(archsimd.LoadFloat64x4(&p[2]))
				x3 = x3.Mul(archsimd.LoadFloat64x4(&p[3]))
				if in.never(5) {
					return
				}
				x4 = x4.Mul(archsimd.LoadFloat64x4(&p[4]))
				x5 = x5.Mul(archsimd.LoadFloat64x4(&p[5]))
				x6 = x6.Mul(archsimd.LoadFloat64x4(&p[6]))
				x7 = x7.Mul(archsimd.LoadFloat64x4(&p[7]))
			case stripMulOne:
				y := archsimd.LoadFloat64x4(&p[0])
				x0 = x0.Mul(y)
				x1 = x1.Mul(y)
				x2 = x2.Mul(y)
				x3 = x3.Mul(y)
				x4 = x4.Mul(y)
				x5 = x5.Mul(y)
				x6 = x6.Mul(y)
				x7 = x7.Mul(y)
			case stripDiv:
				x0 = x0.Div(archsimd.LoadFloat64x4(&p[0]))
				x1 = x1.Div(archsimd.LoadFloat64x4(&p[1]))
				x2 = x2.Div(archsimd.LoadFloat64x4(&p[2]))
				x3 = x3.Div(archsimd.LoadFloat64x4(&p[3]))
				if in.never(5) {
					return
				}
				x4 = x4.Div(archsimd.LoadFloat64x4(&p[4]))
				x5 = x5.Div(archsimd.LoadFloat64x4(&p[5]))
				x6 = x6.Div(archsimd.LoadFloat64x4(&p[6]))
				x7 = x7.Div(archsimd.LoadFloat64x4(&p[7]))
			case stripDivOne:
				y := archsimd.LoadFloat64x4(&p[0])
				x0 = x0.Div(y)
				x1 = x1.Div(y)
				x2 = x2.Div(y)
				x3 = x3.Div(y)
				x4 = x4.Div(y)
				x5 = x5.Div(y)
				x6 = x6.Div(y)
				x7 = x7.Div(y)
			case stripInto:
				x0 = archsimd.LoadFloat64x4(&p[0]).Div(x0)
				x1 = archsimd.LoadFloat64x4(&p[1]).Div(x1)
				x2 = archsimd.LoadFloat64x4(&p[2]).Div(x2)
				x3 = archsimd.LoadFloat64x4(&p[3]).Div(x3)
				if in.never(5) {
					return
				}
				x4 = archsimd.LoadFloat64x4(&p[4]).Div(x4)
				x5 = archsimd.LoadFloat64x4(&p[5]).Div(x5)
				x6 = archsimd.LoadFloat64x4(&p[6]).Div(x6)
				x7 = archsimd.LoadFloat64x4(&p[7]).Div(x7)
			case stripIntoOne:
				y := archsimd.LoadFloat64x4(&p[0])
				x0 = y.Div(x0)
				x1 = y.Div(x1)
				x2 = y.Div(x2)
				x3 = y.Div(x3)
				x4 = y.Div(x4)
				x5 = y.Div(x5)
				x6 = y.Div(x6)
				x7 = y.Div(x7)
			case stripDivide:
				r.mark(suits(x0).And(suits(x1)).And(suits(x2).And(suits(x3))))
				if in.never(20) {
					return
				}
				r.mark(suits(x4).And(suits(x5)).And(suits(x6).And(suits(x7))))
				if in.never(19) {
					return
				}
				x0 = divided(x0, p)
				x1 = divided(x1, p)
				if in.never(7) {
					return
				}
				x2 = divided(x2, p)
				x3 = divided(x3, p)
				if in.never(5) {
					return
				}
				x4 = divided(x4, p)
				x5 = divided(x5, p)
				if in.never(3) {
					return
				}
				x6 = divided(x6, p)
				x7 = divided(x7, p)
			case stripLower:
				r.add(total(x0, x1, x2, x3).Add(total(x4, x5, x6, x7)))
				if in.rb != inShared {
					r.add(total(archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&p[1]), archsimd.LoadFloat64x4(&p[2]), archsimd.LoadFloat64x4(&p[3])))
					r.add(total(archsimd.LoadFloat64x4(&p[4]), archsimd.LoadFloat64x4(&p[5]), archsimd.LoadFloat64x4(&p[6]), archsimd.LoadFloat64x4(&p[7])))
				}
				x0 = lowerFour(x0, archsimd.LoadFloat64x4(&p[0]))
				x1 = lowerFour(x1, archsimd.LoadFloat64x4(&p[1]))
				if in.never(7) {
					return
				}
				x2 = lowerFour(x2, archsimd.LoadFloat64x4(&p[2]))
				x3 = lowerFour(x3, archsimd.LoadFloat64x4(&p[3]))
				if in.never(5) {
					return
				}
				x4 = lowerFour(x4, archsimd.LoadFloat64x4(&p[4]))
				x5 = lowerFour(x5, archsimd.LoadFloat64x4(&p[5]))
				if in.never(3) {
					return
				}
				x6 = lowerFour(x6, archsimd.LoadFloat64x4(&p[6]))
				x7 = lowerFour(x7, archsimd.LoadFloat64x4(&p[7]))
			case stripLowest:
				r.add(total(x0, x1, x2, x3).Add(total(x4, x5, x6, x7)))
				if in.rb != inShared {
					r.add(total(archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&p[1]), archsimd.LoadFloat64x4(&p[2]), archsimd.LoadFloat64x4(&p[3])))
					r.add(total(archsimd.LoadFloat64x4(&p[4]), archsimd.LoadFloat64x4(&p[5]), archsimd.LoadFloat64x4(&p[6]), archsimd.LoadFloat64x4(&p[7])))
				}
				x0 = lowestFour(x0, archsimd.LoadFloat64x4(&p[0]))
				x1 = lowestFour(x1, archsimd.LoadFloat64x4(&p[1]))
				if in.never(7) {
					return
				}
				x2 = lowestFour(x2, archsimd.LoadFloat64x4(&p[2]))
				x3 = lowestFour(x3, archsimd.LoadFloat64x4(&p[3]))
				if in.never(5) {
					return
				}
				x4 = lowestFour(x4, archsimd.LoadFloat64x4(&p[4]))
				x5 = lowestFour(x5, archsimd.LoadFloat64x4(&p[5]))
				if in.never(3) {
					return
				}
				x6 = lowestFour(x6, archsimd.LoadFloat64x4(&p[6]))
				x7 = lowestFour(x7, archsimd.LoadFloat64x4(&p[7]))
			case stripHigher:
				r.add(total(x0, x1, x2, x3).Add(total(x4, x5, x6, x7)))
				if in.rb != inShared {
					r.add(total(archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&p[1]), archsimd.LoadFloat64x4(&p[2]), archsimd.LoadFloat64x4(&p[3])))
					r.add(total(archsimd.LoadFloat64x4(&p[4]), archsimd.LoadFloat64x4(&p[5]), archsimd.LoadFloat64x4(&p[6]), archsimd.LoadFloat64x4(&p[7])))
				}
				x0 = higherFour(x0, archsimd.LoadFloat64x4(&p[0]))
				x1 = higherFour(x1, archsimd.LoadFloat64x4(&p[1]))
				if in.never(7) {
					return
				}
				x2 = higherFour(x2, archsimd.LoadFloat64x4(&p[2]))
				x3 = higherFour(x3, archsimd.LoadFloat64x4(&p[3]))
				if in.never(5) {
					return
				}
				x4 = higherFour(x4, archsimd.LoadFloat64x4(&p[4]))
				x5 = higherFour(x5, archsimd.LoadFloat64x4(&p[5]))
				if in.never(3) {
					return
				}
				x6 = higherFour(x6, archsimd.LoadFloat64x4(&p[6]))
				x7 = higherFour(x7, archsimd.LoadFloat64x4(&p[7]))
			case stripHighest:
				r.add(total(x0, x1, x2, x3).Add(total(x4, x5, x6, x7)))
				if in.rb != inShared {
					r.add(total(archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&p[1]), archsimd.LoadFloat64x4(&p[2]), archsimd.LoadFloat64x4(&p[3])))
					r.add(total(archsimd.LoadFloat64x4(&p[4]), archsimd.LoadFloat64x4(&p[5]), archsimd.LoadFloat64x4(&p[6]), archsimd.LoadFloat64x4(&p[7])))
				}
				x0 = highestFour(x0, archsimd.LoadFloat64x4(&p[0]))
				x1 = highestFour(x1, archsimd.LoadFloat64x4(&p[1]))
				if in.never(7) {
					return
				}
				x2 = highestFour(x2, archsimd.LoadFloat64x4(&p[2]))
				x3 = highestFour(x3, archsimd.LoadFloat64x4(&p[3]))
				if in.never(5) {
					return
				}
				x4 = highestFour(x4, archsimd.LoadFloat64x4(&p[4]))
				x5 = highestFour(x5, archsimd.LoadFloat64x4(&p[5]))
				if in.never(3) {
					return
				}
				x6 = highestFour(x6, archsimd.LoadFloat64x4(&p[6]))
				x7 = highestFour(x7, archsimd.LoadFloat64x4(&p[7]))
			case stripAtLeast:
				var sure archsimd.Uint64x4
				x0, sure = atLeastFour(x0, archsimd.LoadFloat64x4(&p[0]))
				r.mark(sure)
				if in.never(9) {
					return
				}
				x1, sure = atLeastFour(x1, archsimd.LoadFloat64x4(&p[1]))
				r.mark(sure)
				if in.never(8) {
					return
				}
				x2, sure = atLeastFour(x2, archsimd.LoadFloat64x4(&p[2]))
				r.mark(sure)
				if in.never(7) {
					return
				}
				x3, sure = atLeastFour(x3, archsimd.LoadFloat64x4(&p[3]))
				r.mark(sure)
				if in.never(6) {
					return
				}
				x4, sure = atLeastFour(x4, archsimd.LoadFloat64x4(&p[4]))
				r.mark(sure)
				if in.never(5) {
					return
				}
				x5, sure = atLeastFour(x5, archsimd.LoadFloat64x4(&p[5]))
				r.mark(sure)
				if in.never(4) {
					return
				}
				x6, sure = atLeastFour(x6, archsimd.LoadFloat64x4(&p[6]))
				r.mark(sure)
				if in.never(3) {
					return
				}
				x7, sure = atLeastFour(x7, archsimd.LoadFloat64x4(&p[7]))
				r.mark(sure)
			case stripAtMost:
				var sure archsimd.Uint64x4
				x0, sure = atLeastFour(archsimd.LoadFloat64x4(&p[0]), x0)
				r.mark(sure)
				if in.never(9) {
					return
				}
				x1, sure = atLeastFour(archsimd.LoadFloat64x4(&p[1]), x1)
				r.mark(sure)
				if in.never(8) {
					return
				}
				x2, sure = atLeastFour(archsimd.LoadFloat64x4(&p[2]), x2)
				r.mark(sure)
				if in.never(7) {
					return
				}
				x3, sure = atLeastFour(archsimd.LoadFloat64x4(&p[3]), x3)
				r.mark(sure)
				if in.never(6) {
					return
				}
				x4, sure = atLeastFour(archsimd.LoadFloat64x4(&p[4]), x4)
				r.mark(sure)
				if in.never(5) {
					return
				}
				x5, sure = atLeastFour(archsimd.LoadFloat64x4(&p[5]), x5)
				r.mark(sure)
				if in.never(4) {
					return
				}
				x6, sure = atLeastFour(archsimd.LoadFloat64x4(&p[6]), x6)
				r.mark(sure)
				if in.never(3) {
					return
				}
				x7, sure = atLeastFour(archsimd.LoadFloat64x4(&p[7]), x7)
				r.mark(sure)
			case stripAtLeastOne:
				q := r.vectors(in.rc, in.c)
				var sure archsimd.Uint64x4
				x0, sure = atLeastOne(x0, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
				if in.never(9) {
					return
				}
				x1, sure = atLeastOne(x1, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
				if in.never(8) {
					return
				}
				x2, sure = atLeastOne(x2, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
				if in.never(7) {
					return
				}
				x3, sure = atLeastOne(x3, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
				if in.never(6) {
					return
				}
				x4, sure = atLeastOne(x4, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
				if in.never(5) {
					return
				}
				x5, sure = atLeastOne(x5, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
				if in.never(4) {
					return
				}
				x6, sure = atLeastOne(x6, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
				if in.never(3) {
					return
				}
				x7, sure = atLeastOne(x7, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
			case stripAtMostOne:
				q := r.vectors(in.rc, in.c)
				var sure archsimd.Uint64x4
				x0, sure = atMostOne(x0, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
				if in.never(9) {
					return
				}
				x1, sure = atMostOne(x1, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
				if in.never(8) {
					return
				}
				x2, sure = atMostOne(x2, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
				if in.never(7) {
					return
				}
				x3, sure = atMostOne(x3, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
				if in.never(6) {
					return
				}
				x4, sure = atMostOne(x4, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
				if in.never(5) {
					return
				}
				x5, sure = atMostOne(x5, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
				if in.never(4) {
					return
				}
				x6, sure = atMostOne(x6, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
				if in.never(3) {
					return
				}
				x7, sure = atMostOne(x7, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
			case stripChoose:
				q := r.vectors(in.rc, in.c)
				var sure archsimd.Uint64x4
				x0, sure = chooseOf(x0, archsimd.LoadFloat64x4(&p[0]), archsimd.LoadFloat64x4(&q[0]))
				r.mark(sure)
				if in.never(9) {
					return
				}
				x1, sure = chooseOf(x1, archsimd.LoadFloat64x4(&p[1]), archsimd.LoadFloat64x4(&q[1]))
				r.mark(sure)
				if in.never(8) {
					return
				}
				x2, sure = chooseOf(x2, archsimd.LoadFloat64x4(&p[2]), archsimd.LoadFloat64x4(&q[2]))
				r.mark(sure)
				if in.never(7) {
					return
				}
				x3, sure = chooseOf(x3, archsimd.LoadFloat64x4(&p[3]), archsimd.LoadFloat64x4(&q[3]))
				r.mark(sure)
				if in.never(6) {
					return
				}
				x4, sure = chooseOf(x4, archsimd.LoadFloat64x4(&p[4]), archsimd.LoadFloat64x4(&q[4]))
				r.mark(sure)
				if in.never(5) {
					return
				}
				x5, sure = chooseOf(x5, archsimd.LoadFloat64x4(&p[5]), archsimd.LoadFloat64x4(&q[5]))
				r.mark(sure)
				if in.never(4) {
					return
				}
				x6, sure = chooseOf(x6, archsimd.LoadFloat64x4(&p[6]), archsimd.LoadFloat64x4(&q[6]))
				r.mark(sure)
				if in.never(3) {
					return
				}
				x7, sure = chooseOf(x7, archsimd.LoadFloat64x4(&p[7]), archsimd.LoadFloat64x4(&q[7]))
				r.mark(sure)
			case stripPick:
				q := r.vectors(in.rc, in.c)
				x0 = archsimd.LoadFloat64x4(&p[0]).Merge(archsimd.LoadFloat64x4(&q[0]), x0.Equal(yes.v()))
				x1 = archsimd.LoadFloat64x4(&p[1]).Merge(archsimd.LoadFloat64x4(&q[1]), x1.Equal(yes.v()))
				if in.never(8) {
					return
				}
				x2 = archsimd.LoadFloat64x4(&p[2]).Merge(archsimd.LoadFloat64x4(&q[2]), x2.Equal(yes.v()))
				x3 = archsimd.LoadFloat64x4(&p[3]).Merge(archsimd.LoadFloat64x4(&q[3]), x3.Equal(yes.v()))
				if in.never(6) {
					return
				}
				x4 = archsimd.LoadFloat64x4(&p[4]).Merge(archsimd.LoadFloat64x4(&q[4]), x4.Equal(yes.v()))
				x5 = archsimd.LoadFloat64x4(&p[5]).Merge(archsimd.LoadFloat64x4(&q[5]), x5.Equal(yes.v()))
				if in.never(4) {
					return
				}
				x6 = archsimd.LoadFloat64x4(&p[6]).Merge(archsimd.LoadFloat64x4(&q[6]), x6.Equal(yes.v()))
				x7 = archsimd.LoadFloat64x4(&p[7]).Merge(archsimd.LoadFloat64x4(&q[7]), x7.Equal(yes.v()))
			case stripSqrt:
				x0 = x0.Sqrt()
				x1 = x1.Sqrt()
				x2 = x2.Sqrt()
				x3 = x3.Sqrt()
				x4 = x4.Sqrt()
				x5 = x5.Sqrt()
				x6 = x6.Sqrt()
				x7 = x7.Sqrt()
			case stripAbs:
				signs := sign.v().AsUint64x4()
				x0 = size(x0, signs)
				x1 = size(x1, signs)
				x2 = size(x2, signs)
				x3 = size(x3, signs)
				x4 = size(x4, signs)
				x5 = size(x5, signs)
				x6 = size(x6, signs)
				x7 = size(x7, signs)
			case stripNeg:
				signs := sign.v().AsUint64x4()
				x0 = negative(x0, signs)
				x1 = negative(x1, signs)
				x2 = negative(x2, signs)
				x3 = negative(x3, signs)
				x4 = negative(x4, signs)
				x5 = negative(x5, signs)
				x6 = negative(x6, signs)
				x7 = negative(x7, signs)
			case stripEach:
				archsimd.ClearAVXUpperBits()
				r.at = at
				return
			}
			if in.then != 0 {
				if in.then == thenSees {
					r.add(total(x0, x1, x2, x3).Add(total(x4, x5, x6, x7)))
				} else {
					y := yes.v()
					x0, x1, x2, x3 = y.Sub(x0), y.Sub(x1), y.Sub(x2), y.Sub(x3)
					x4, x5, x6, x7 = y.Sub(x4), y.Sub(x5), y.Sub(x6), y.Sub(x7)
				}
			}
			if in.rd != nowhere {
				p := r.vectors(in.rd, in.d)
				x0.Store(&p[0])
				x1.Store(&p[1])
				x2.Store(&p[2])
				x3.Store(&p[3])
				x4.Store(&p[4])
				x5.Store(&p[5])
				x6.Store(&p[6])
				x7.Store(&p[7])
			}
		}
		if r.lane += stripLanes; r.lane > r.lanes-stripLanes {
			if r.lane >= r.lanes {
				break
			}
			r.lane = r.lanes - stripLanes
		}
		r.room[inLanes] = unsafe.Add(r.first, r.lane*8)
		at = 0
	}
	archsimd.ClearAVXUpperBits()
	r.at = at
}

var zeros = quadOf(0)
