package program

import (
	"math"

	"gearleaf/sheet/kernel"
)

// quick runs code on one value a register, from instruction i on, until it
// comes to one that takes more than a few machine instructions, or whose
// result is not a number: a fault, a blank, an overflow. It returns the
// place of that one, which slow runs, or the end of the code.
//
// It chooses once for all instructions of one opcode that stand together:
// stretch.go sees to it that many do. Nothing in its loops is a call: with
// one, the compiler would keep the loop's own variables in memory. It is a
// second spelling of the operations, for speed; a test holds it to the first.
func quick(code []instr, r []float64, near []*kernel.Curve, i int) int {
	if i >= len(code) {
		return i
	}
	in := &code[i]
	for {
		switch in.op {
		case opMove:
			for in.op == opMove {
				v := *at(r, in.a)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAdd:
			for in.op == opAdd {
				v := *at(r, in.a) + *at(r, in.b)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSub:
			for in.op == opSub {
				v := *at(r, in.a) - *at(r, in.b)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMul:
			for in.op == opMul {
				v := *at(r, in.a) * *at(r, in.b)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDiv:
			for in.op == opDiv {
				v := *at(r, in.a) / *at(r, in.b)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opNeg:
			for in.op == opNeg {
				v := -*at(r, in.a)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opLess:
			for in.op == opLess {
				x, y := *at(r, in.a), *at(r, in.b)
				switch {
				case x >= y:
					*at(r, in.dst) = 0
				case kernel.Below(x, y):
					*at(r, in.dst) = 1
				default:
					return i
				}
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opLessEqual:
			for in.op == opLessEqual {
				x, y := *at(r, in.a), *at(r, in.b)
				switch {
				case y >= x:
					*at(r, in.dst) = 1
				case kernel.Below(y, x):
					*at(r, in.dst) = 0
				default:
					return i
				}
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opGreater:
			for in.op == opGreater {
				x, y := *at(r, in.a), *at(r, in.b)
				switch {
				case y >= x:
					*at(r, in.dst) = 0
				case kernel.Below(y, x):
					*at(r, in.dst) = 1
				default:
					return i
				}
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opGreaterEqual:
			for in.op == opGreaterEqual {
				x, y := *at(r, in.a), *at(r, in.b)
				switch {
				case x >= y:
					*at(r, in.dst) = 1
				case kernel.Below(x, y):
					*at(r, in.dst) = 0
				default:
					return i
				}
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opIf:
			for in.op == opIf {
				by := in.b
				switch *at(r, in.a) {
				case 1:
				case 0:
					by = in.c
				default:
					return i
				}
				v := *at(r, by)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAnd:
			for in.op == opAnd {
				v := 0.0
				switch *at(r, in.a) {
				case 1:
					v = *at(r, in.b)
				case 0:
				default:
					return i
				}
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opOr:
			for in.op == opOr {
				v := 1.0
				switch *at(r, in.a) {
				case 1:
				case 0:
					v = *at(r, in.b)
				default:
					return i
				}
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opNot:
			for in.op == opNot {
				v := 1 - *at(r, in.a)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAbs:
			for in.op == opAbs {
				v := math.Abs(*at(r, in.a))
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSqrt:
			for in.op == opSqrt {
				v := math.Sqrt(*at(r, in.a))
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opLower:
			for in.op == opLower {
				v := least(*at(r, in.a), *at(r, in.b))
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opHigher:
			for in.op == opHigher {
				v := most(*at(r, in.a), *at(r, in.b))
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opLook:
			for in.op == opLook {
				v, ok := near[in.c].Near(*at(r, in.a))
				if !ok || !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opLookMul:
			for in.op == opLookMul {
				t, ok := near[in.b].Near(*at(r, in.a))
				v := t * *at(r, in.c)
				if *at(r, in.d) = t; !ok || !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAddAdd:
			for in.op == opAddAdd {
				t := *at(r, in.a) + *at(r, in.b)
				v := t + *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAddSub:
			for in.op == opAddSub {
				t := *at(r, in.a) + *at(r, in.b)
				v := t - *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAddFrom:
			for in.op == opAddFrom {
				t := *at(r, in.a) + *at(r, in.b)
				v := *at(r, in.c) - t
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAddMul:
			for in.op == opAddMul {
				t := *at(r, in.a) + *at(r, in.b)
				v := t * *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAddDiv:
			for in.op == opAddDiv {
				t := *at(r, in.a) + *at(r, in.b)
				v := t / *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAddInto:
			for in.op == opAddInto {
				t := *at(r, in.a) + *at(r, in.b)
				v := *at(r, in.c) / sure(t)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAddLower:
			for in.op == opAddLower {
				t := *at(r, in.a) + *at(r, in.b)
				v := least(sure(t), *at(r, in.c))
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opAddHigher:
			for in.op == opAddHigher {
				t := *at(r, in.a) + *at(r, in.b)
				v := most(sure(t), *at(r, in.c))
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSubAdd:
			for in.op == opSubAdd {
				t := *at(r, in.a) - *at(r, in.b)
				v := t + *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSubSub:
			for in.op == opSubSub {
				t := *at(r, in.a) - *at(r, in.b)
				v := t - *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSubFrom:
			for in.op == opSubFrom {
				t := *at(r, in.a) - *at(r, in.b)
				v := *at(r, in.c) - t
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSubMul:
			for in.op == opSubMul {
				t := *at(r, in.a) - *at(r, in.b)
				v := t * *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSubDiv:
			for in.op == opSubDiv {
				t := *at(r, in.a) - *at(r, in.b)
				v := t / *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSubInto:
			for in.op == opSubInto {
				t := *at(r, in.a) - *at(r, in.b)
				v := *at(r, in.c) / sure(t)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSubLower:
			for in.op == opSubLower {
				t := *at(r, in.a) - *at(r, in.b)
				v := least(sure(t), *at(r, in.c))
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opSubHigher:
			for in.op == opSubHigher {
				t := *at(r, in.a) - *at(r, in.b)
				v := most(sure(t), *at(r, in.c))
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMulAdd:
			for in.op == opMulAdd {
				t := float64(*at(r, in.a) * *at(r, in.b))
				v := t + *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMulSub:
			for in.op == opMulSub {
				t := float64(*at(r, in.a) * *at(r, in.b))
				v := t - *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMulFrom:
			for in.op == opMulFrom {
				t := float64(*at(r, in.a) * *at(r, in.b))
				v := *at(r, in.c) - t
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMulMul:
			for in.op == opMulMul {
				t := float64(*at(r, in.a) * *at(r, in.b))
				v := t * *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMulDiv:
			for in.op == opMulDiv {
				t := float64(*at(r, in.a) * *at(r, in.b))
				v := t / *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMulInto:
			for in.op == opMulInto {
				t := float64(*at(r, in.a) * *at(r, in.b))
				v := *at(r, in.c) / sure(t)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMulLower:
			for in.op == opMulLower {
				t := float64(*at(r, in.a) * *at(r, in.b))
				v := least(sure(t), *at(r, in.c))
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opMulHigher:
			for in.op == opMulHigher {
				t := float64(*at(r, in.a) * *at(r, in.b))
				v := most(sure(t), *at(r, in.c))
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDivAdd:
			for in.op == opDivAdd {
				t := *at(r, in.a) / *at(r, in.b)
				v := t + *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDivSub:
			for in.op == opDivSub {
				t := *at(r, in.a) / *at(r, in.b)
				v := t - *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDivFrom:
			for in.op == opDivFrom {
				t := *at(r, in.a) / *at(r, in.b)
				v := *at(r, in.c) - t
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDivMul:
			for in.op == opDivMul {
				t := *at(r, in.a) / *at(r, in.b)
				v := t * *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDivDiv:
			for in.op == opDivDiv {
				t := *at(r, in.a) / *at(r, in.b)
				v := t / *at(r, in.c)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDivInto:
			for in.op == opDivInto {
				t := *at(r, in.a) / *at(r, in.b)
				v := *at(r, in.c) / sure(t)
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDivLower:
			for in.op == opDivLower {
				t := *at(r, in.a) / *at(r, in.b)
				v := least(sure(t), *at(r, in.c))
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opDivHigher:
			for in.op == opDivHigher {
				t := *at(r, in.a) / *at(r, in.b)
				v := most(sure(t), *at(r, in.c))
				if *at(r, in.d) = t; !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opIfLess:
			for in.op == opIfLess {
				by := in.d
				if x, y := *at(r, in.a), *at(r, in.b); !(x >= y) {
					if by = in.c; !kernel.Below(x, y) {
						return i
					}
				}
				v := *at(r, by)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		case opIfMoreEqual:
			for in.op == opIfMoreEqual {
				by := in.c
				if x, y := *at(r, in.a), *at(r, in.b); !(x >= y) {
					if by = in.d; !kernel.Below(x, y) {
						return i
					}
				}
				v := *at(r, by)
				if !finite(v) {
					return i
				}
				*at(r, in.dst) = v
				if i++; uint(i) >= uint(len(code)) {
					return i
				}
				in = &code[i]
			}
		default:
			return i
		}
	}
}

// at is register i.
func at(r []float64, i int32) *float64 { return &r[uint32(i)] }

// finite reports whether v is a number.
func finite(v float64) bool { return math.Float64bits(v)&exponent != exponent }

const exponent = 0x7ff << 52

// sure returns t, not a number where it is none: after an overflow c / t would
// look like zero, and the smaller of t and c like c.
func sure(t float64) float64 {
	if t-t != 0 {
		return t - t
	}
	return t
}

// least is the smaller of two numbers, not a number where one is not.
func least(x, y float64) float64 {
	if y < x || y != y {
		return y
	}
	return x
}

// most is the larger of two numbers, not a number where one is not.
func most(x, y float64) float64 {
	if y > x || y != y {
		return y
	}
	return x
}
