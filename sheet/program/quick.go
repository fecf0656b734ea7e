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
// Nothing in its loop is a call: with one, the compiler would keep the loop's
// own variables in memory. It is a second spelling of the operations, for
// speed; a test holds it to the first.
func quick(code []instr, r []float64, near []*kernel.Curve, i int) int {
	for ; i < len(code); i++ {
		in := &code[i]
		op, a, b, c, dst := in.op, in.a, in.b, in.c, in.dst
		if op >= opCall1 {
			return i
		}
		x, y := r[a], r[b]
		var v float64
		switch op {
		case opMove:
			v = x
		case opAdd:
			v = x + y
		case opSub:
			v = x - y
		case opMul:
			v = x * y
		case opDiv:
			v = x / y
		case opNeg:
			v = -x
		case opLess:
			switch {
			case x >= y:
				v = 0
			case kernel.Below(x, y):
				v = 1
			default:
				return i
			}
		case opLessEqual:
			switch {
			case y >= x:
				v = 1
			case kernel.Below(y, x):
				v = 0
			default:
				return i
			}
		case opGreater:
			switch {
			case y >= x:
				v = 0
			case kernel.Below(y, x):
				v = 1
			default:
				return i
			}
		case opGreaterEqual:
			switch {
			case x >= y:
				v = 1
			case kernel.Below(x, y):
				v = 0
			default:
				return i
			}
		case opIf:
			switch x {
			case 1:
				v = y
			case 0:
				v = r[c]
			default:
				return i
			}
		case opAnd:
			switch x {
			case 1:
				v = y
			case 0:
				v = 0
			default:
				return i
			}
		case opOr:
			switch x {
			case 1:
				v = 1
			case 0:
				v = y
			default:
				return i
			}
		case opNot:
			v = 1 - x
		case opAbs:
			v = math.Abs(x)
		case opSqrt:
			v = math.Sqrt(x)
		case opLower:
			v = least(x, y)
		case opHigher:
			v = most(x, y)
		case opLook:
			v = near[c].Near(x)
		case opAddAdd:
			t := x + y
			v, r[in.d] = t+r[c], t
		case opAddSub:
			t := x + y
			v, r[in.d] = t-r[c], t
		case opAddFrom:
			t := x + y
			v, r[in.d] = r[c]-t, t
		case opAddMul:
			t := x + y
			v, r[in.d] = float64(t*r[c]), t
		case opAddDiv:
			t := x + y
			v, r[in.d] = t/r[c], t
		case opAddInto:
			t := x + y
			v, r[in.d] = r[c]/sure(t), t
		case opAddLower:
			t := x + y
			v, r[in.d] = least(sure(t), r[c]), t
		case opAddHigher:
			t := x + y
			v, r[in.d] = most(sure(t), r[c]), t
		case opSubAdd:
			t := x - y
			v, r[in.d] = t+r[c], t
		case opSubSub:
			t := x - y
			v, r[in.d] = t-r[c], t
		case opSubFrom:
			t := x - y
			v, r[in.d] = r[c]-t, t
		case opSubMul:
			t := x - y
			v, r[in.d] = float64(t*r[c]), t
		case opSubDiv:
			t := x - y
			v, r[in.d] = t/r[c], t
		case opSubInto:
			t := x - y
			v, r[in.d] = r[c]/sure(t), t
		case opSubLower:
			t := x - y
			v, r[in.d] = least(sure(t), r[c]), t
		case opSubHigher:
			t := x - y
			v, r[in.d] = most(sure(t), r[c]), t
		case opMulAdd:
			t := float64(x * y)
			v, r[in.d] = t+r[c], t
		case opMulSub:
			t := float64(x * y)
			v, r[in.d] = t-r[c], t
		case opMulFrom:
			t := float64(x * y)
			v, r[in.d] = r[c]-t, t
		case opMulMul:
			t := float64(x * y)
			v, r[in.d] = float64(t*r[c]), t
		case opMulDiv:
			t := float64(x * y)
			v, r[in.d] = t/r[c], t
		case opMulInto:
			t := float64(x * y)
			v, r[in.d] = r[c]/sure(t), t
		case opMulLower:
			t := float64(x * y)
			v, r[in.d] = least(sure(t), r[c]), t
		case opMulHigher:
			t := float64(x * y)
			v, r[in.d] = most(sure(t), r[c]), t
		case opDivAdd:
			t := x / y
			v, r[in.d] = t+r[c], t
		case opDivSub:
			t := x / y
			v, r[in.d] = t-r[c], t
		case opDivFrom:
			t := x / y
			v, r[in.d] = r[c]-t, t
		case opDivMul:
			t := x / y
			v, r[in.d] = float64(t*r[c]), t
		case opDivDiv:
			t := x / y
			v, r[in.d] = t/r[c], t
		case opDivInto:
			t := x / y
			v, r[in.d] = r[c]/sure(t), t
		case opDivLower:
			t := x / y
			v, r[in.d] = least(sure(t), r[c]), t
		case opDivHigher:
			t := x / y
			v, r[in.d] = most(sure(t), r[c]), t
		case opIfLess:
			switch {
			case x >= y:
				v = r[in.d]
			case kernel.Below(x, y):
				v = r[c]
			default:
				return i
			}
		case opIfMoreEqual:
			switch {
			case x >= y:
				v = r[c]
			case kernel.Below(x, y):
				v = r[in.d]
			default:
				return i
			}
		default:
			return i
		}
		if v-v != 0 {
			return i
		}
		r[dst] = v
	}
	return i
}

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
