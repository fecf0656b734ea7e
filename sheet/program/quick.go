package program

import (
	"math"

	"gearleaf/sheet/kernel"
)

// quick runs code on one value a register, from instruction i on, until it
// comes to one that needs more than a few machine instructions, or whose
// result is not a number: a fault, a blank, an overflow. It returns the index
// of that instruction, which slow runs, or the length of the code. Its loop
// calls nothing: with a call in it, the compiler would keep the loop's own
// variables in memory. A test compares it with the kernel, opcode by opcode.
func quick(code []instr, r []float64, near []*kernel.Curve, i int) int {
	for ; uint(i) < uint(len(code)); i++ {
		in := &code[i]
		a := *at(r, in.a)
		var v float64
		switch in.op {
		case opMove:
			v = a
		case opAdd:
			v = a + *at(r, in.b)
		case opSub:
			v = a - *at(r, in.b)
		case opMul:
			v = a * *at(r, in.b)
		case opDiv:
			v = a / *at(r, in.b)
		case opNeg:
			v = -a
		case opAbs:
			v = math.Abs(a)
		case opSqrt:
			v = math.Sqrt(a)
		case opLower:
			v = least(a, *at(r, in.b))
		case opHigher:
			v = most(a, *at(r, in.b))
		case opLess:
			v = below(a, *at(r, in.b), 1)
		case opGreaterEqual:
			v = below(a, *at(r, in.b), 0)
		case opGreater:
			v = below(*at(r, in.b), a, 1)
		case opLessEqual:
			v = below(*at(r, in.b), a, 0)
		case opIf:
			v = choose(a, *at(r, in.b), *at(r, in.c))
		case opAnd:
			v = choose(a, *at(r, in.b), 0)
		case opOr:
			v = choose(a, 1, *at(r, in.b))
		case opNot:
			v = 1 - a
		case opIfLess:
			v = choose(below(a, *at(r, in.b), 1), *at(r, in.c), *at(r, in.d))
		case opIfMoreEqual:
			v = choose(below(a, *at(r, in.b), 0), *at(r, in.c), *at(r, in.d))
		case opLook:
			var ok bool
			if v, ok = near[in.c].Near(a); !ok {
				return i
			}
		case opLookMul:
			t, ok := near[in.b].Near(a)
			if *at(r, in.d) = t; !ok {
				return i
			}
			v = t * *at(r, in.c)
		case opAddAdd:
			t := a + *at(r, in.b)
			*at(r, in.d), v = t, t+*at(r, in.c)
		case opAddSub:
			t := a + *at(r, in.b)
			*at(r, in.d), v = t, t-*at(r, in.c)
		case opAddFrom:
			t := a + *at(r, in.b)
			*at(r, in.d), v = t, *at(r, in.c)-t
		case opAddMul:
			t := a + *at(r, in.b)
			*at(r, in.d), v = t, t**at(r, in.c)
		case opAddDiv:
			t := a + *at(r, in.b)
			*at(r, in.d), v = t, t / *at(r, in.c)
		case opAddInto:
			t := a + *at(r, in.b)
			*at(r, in.d), v = t, *at(r, in.c)/divisor(t)
		case opSubAdd:
			t := a - *at(r, in.b)
			*at(r, in.d), v = t, t+*at(r, in.c)
		case opSubSub:
			t := a - *at(r, in.b)
			*at(r, in.d), v = t, t-*at(r, in.c)
		case opSubFrom:
			t := a - *at(r, in.b)
			*at(r, in.d), v = t, *at(r, in.c)-t
		case opSubMul:
			t := a - *at(r, in.b)
			*at(r, in.d), v = t, t**at(r, in.c)
		case opSubDiv:
			t := a - *at(r, in.b)
			*at(r, in.d), v = t, t / *at(r, in.c)
		case opSubInto:
			t := a - *at(r, in.b)
			*at(r, in.d), v = t, *at(r, in.c)/divisor(t)
		case opMulAdd:
			t := float64(a * *at(r, in.b))
			*at(r, in.d), v = t, t+*at(r, in.c)
		case opMulSub:
			t := float64(a * *at(r, in.b))
			*at(r, in.d), v = t, t-*at(r, in.c)
		case opMulFrom:
			t := float64(a * *at(r, in.b))
			*at(r, in.d), v = t, *at(r, in.c)-t
		case opMulMul:
			t := float64(a * *at(r, in.b))
			*at(r, in.d), v = t, t**at(r, in.c)
		case opMulDiv:
			t := float64(a * *at(r, in.b))
			*at(r, in.d), v = t, t / *at(r, in.c)
		case opMulInto:
			t := float64(a * *at(r, in.b))
			*at(r, in.d), v = t, *at(r, in.c)/divisor(t)
		case opDivAdd:
			t := a / *at(r, in.b)
			*at(r, in.d), v = t, t+*at(r, in.c)
		case opDivSub:
			t := a / *at(r, in.b)
			*at(r, in.d), v = t, t-*at(r, in.c)
		case opDivFrom:
			t := a / *at(r, in.b)
			*at(r, in.d), v = t, *at(r, in.c)-t
		case opDivMul:
			t := a / *at(r, in.b)
			*at(r, in.d), v = t, t**at(r, in.c)
		case opDivDiv:
			t := a / *at(r, in.b)
			*at(r, in.d), v = t, t / *at(r, in.c)
		case opDivInto:
			t := a / *at(r, in.b)
			*at(r, in.d), v = t, *at(r, in.c)/divisor(t)
		default:
			return i
		}
		if !finite(v) {
			return i
		}
		*at(r, in.dst) = v
	}
	return i
}

// at is register i.
func at(r []float64, i int32) *float64 { return &r[uint32(i)] }

// finite reports whether v is a number.
func finite(v float64) bool { return math.Float64bits(v)&exponent != exponent }

const exponent = 0x7ff << 52

// divisor returns t, or a NaN if t is no number: after an overflow c / t would
// be zero.
func divisor(t float64) float64 {
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

// below returns yes where x is less than y by more than any tolerance, the
// opposite where it is not less, and a NaN where only the kernel can decide.
func below(x, y, yes float64) float64 {
	switch {
	case x >= y:
		return 1 - yes
	case kernel.Below(x, y):
		return yes
	}
	return math.NaN()
}

// choose returns yes or no by a truth, a NaN where cond is none.
func choose(cond, yes, no float64) float64 {
	switch cond {
	case 1:
		return yes
	case 0:
		return no
	}
	return math.NaN()
}
