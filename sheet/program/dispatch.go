package program

import (
	"math"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// dispatch runs instructions from i on up to one that takes more than a few
// machine instructions, or whose result is not a number: a fault, a blank, an
// overflow. It returns the index of that instruction, which slow runs, or the
// number of instructions. Its loop makes no calls: with a call in it, the
// compiler would keep the loop's variables in memory. An operation without a
// case here runs by its row in code.Ops alone; a test compares each case with
// that row.
//
// Operands are read as registers before the operation is known, so a machine
// has at least as many registers as columns, curves and functions.
func dispatch(instrs []code.Instr, r []float64, columns [][]float64, near []*kernel.Curve, row, i int) int {
	for ; uint(i) < uint(len(instrs)); i++ {
		in := &instrs[i]
		a := *at(r, in.A)
		var v float64
		switch in.Op {
		case code.Move:
			v = a
		case code.Add:
			v = a + *at(r, in.B)
		case code.Sub:
			v = a - *at(r, in.B)
		case code.Mul:
			v = a * *at(r, in.B)
		case code.Div:
			v = a / *at(r, in.B)
		case code.Neg:
			v = -a
		case code.Abs:
			v = math.Abs(a)
		case code.Sqrt:
			v = math.Sqrt(a)
		case code.Lower:
			v = least(a, *at(r, in.B))
		case code.Higher:
			v = most(a, *at(r, in.B))
		case code.Less:
			v = below(a, *at(r, in.B), 1)
		case code.GreaterEqual:
			v = below(a, *at(r, in.B), 0)
		case code.Greater:
			v = below(*at(r, in.B), a, 1)
		case code.LessEqual:
			v = below(*at(r, in.B), a, 0)
		case code.If:
			v = choose(a, *at(r, in.B), *at(r, in.C))
		case code.And:
			v = choose(a, *at(r, in.B), 0)
		case code.Or:
			v = choose(a, 1, *at(r, in.B))
		case code.Not:
			v = 1 - a
		case code.IfLess:
			v = choose(below(a, *at(r, in.B), 1), *at(r, in.C), *at(r, in.D))
		case code.IfGreaterEqual:
			v = choose(below(a, *at(r, in.B), 0), *at(r, in.C), *at(r, in.D))
		case code.Look:
			var ok bool
			if v, ok = near[in.C].Near(a); !ok {
				return i
			}
		case code.AddAdd:
			t := a + *at(r, in.B)
			*at(r, in.D), v = t, t+*at(r, in.C)
		case code.AddSub:
			t := a + *at(r, in.B)
			*at(r, in.D), v = t, t-*at(r, in.C)
		case code.AddFrom:
			t := a + *at(r, in.B)
			*at(r, in.D), v = t, *at(r, in.C)-t
		case code.AddMul:
			t := a + *at(r, in.B)
			*at(r, in.D), v = t, t**at(r, in.C)
		case code.AddDiv:
			t := a + *at(r, in.B)
			*at(r, in.D), v = t, t / *at(r, in.C)
		case code.AddInto:
			t := a + *at(r, in.B)
			*at(r, in.D), v = t, *at(r, in.C)/divisor(t)
		case code.SubAdd:
			t := a - *at(r, in.B)
			*at(r, in.D), v = t, t+*at(r, in.C)
		case code.SubSub:
			t := a - *at(r, in.B)
			*at(r, in.D), v = t, t-*at(r, in.C)
		case code.SubFrom:
			t := a - *at(r, in.B)
			*at(r, in.D), v = t, *at(r, in.C)-t
		case code.SubMul:
			t := a - *at(r, in.B)
			*at(r, in.D), v = t, t**at(r, in.C)
		case code.SubDiv:
			t := a - *at(r, in.B)
			*at(r, in.D), v = t, t / *at(r, in.C)
		case code.SubInto:
			t := a - *at(r, in.B)
			*at(r, in.D), v = t, *at(r, in.C)/divisor(t)
		case code.MulAdd:
			t := float64(a * *at(r, in.B))
			*at(r, in.D), v = t, t+*at(r, in.C)
		case code.MulSub:
			t := float64(a * *at(r, in.B))
			*at(r, in.D), v = t, t-*at(r, in.C)
		case code.MulFrom:
			t := float64(a * *at(r, in.B))
			*at(r, in.D), v = t, *at(r, in.C)-t
		case code.MulMul:
			t := float64(a * *at(r, in.B))
			*at(r, in.D), v = t, t**at(r, in.C)
		case code.MulDiv:
			t := float64(a * *at(r, in.B))
			*at(r, in.D), v = t, t / *at(r, in.C)
		case code.MulInto:
			t := float64(a * *at(r, in.B))
			*at(r, in.D), v = t, *at(r, in.C)/divisor(t)
		case code.DivAdd:
			t := a / *at(r, in.B)
			*at(r, in.D), v = t, t+*at(r, in.C)
		case code.DivSub:
			t := a / *at(r, in.B)
			*at(r, in.D), v = t, t-*at(r, in.C)
		case code.DivFrom:
			t := a / *at(r, in.B)
			*at(r, in.D), v = t, *at(r, in.C)-t
		case code.DivMul:
			t := a / *at(r, in.B)
			*at(r, in.D), v = t, t**at(r, in.C)
		case code.DivDiv:
			t := a / *at(r, in.B)
			*at(r, in.D), v = t, t / *at(r, in.C)
		case code.DivInto:
			t := a / *at(r, in.B)
			*at(r, in.D), v = t, *at(r, in.C)/divisor(t)
		case code.Load:
			v = columns[in.A][row]
		case code.RowNumber:
			v = float64(row + 1)
		default:
			return i
		}
		if !finite(v) {
			return i
		}
		*at(r, in.Dst) = v
	}
	return i
}

// at is register i.
func at(r []float64, i int32) *float64 { return &r[uint32(i)] }

// finite reports whether v is a number.
func finite(v float64) bool { return math.Float64bits(v)&exponent != exponent }

const exponent = 0x7ff << 52

// divisor returns t, or a NaN if t is not a number: after an overflow c / t would
// be zero.
func divisor(t float64) float64 {
	if t-t != 0 {
		return t - t
	}
	return t
}

// least is the smaller of two numbers, a NaN if one is not a number.
func least(x, y float64) float64 {
	if y < x || y != y {
		return y
	}
	return x
}

// most is the larger of two numbers, a NaN if one is not a number.
func most(x, y float64) float64 {
	if y > x || y != y {
		return y
	}
	return x
}

// below returns yes if x is less than y by more than any tolerance, the
// opposite if it is not less, and a NaN if only the kernel can decide.
func below(x, y, yes float64) float64 {
	switch {
	case x >= y:
		return 1 - yes
	case kernel.Below(x, y):
		return yes
	}
	return math.NaN()
}

// choose returns yes or no according to cond, a NaN if cond is not a logical
// value.
func choose(cond, yes, no float64) float64 {
	switch cond {
	case 1:
		return yes
	case 0:
		return no
	}
	return math.NaN()
}
