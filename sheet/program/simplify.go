package program

import (
	"math"
	"reflect"

	"gearleaf/sheet/kernel"
)

// simplify replaces an operation by a cheaper one that gives the same bits
// for every operand, faults and blanks included, or by an operand that is
// its result: then ok is true.
func (f *formula) simplify(in *instr) (r ref, ok bool) {
	switch in.op {
	case opMul:
		return f.product(in)
	case opDiv:
		return f.quotient(in)
	case opSub:
		if v, known := f.constantAt(in.b); known && v == 0 && !math.Signbit(v) {
			return ref(in.a), true
		}
	case opPow:
		return f.power(in)
	case opIf:
		switch {
		case f.is(in.a, 1):
			return ref(in.b), true
		case f.is(in.a, 0):
			return ref(in.c), true
		}
	case opCall1, opCall2:
		return f.direct(in)
	}
	return 0, false
}

// constantAt returns an operand's value where it is a constant.
func (f *formula) constantAt(operand int32) (float64, bool) {
	if r := ref(operand); r.kind() == toConstant {
		return f.pool[r.index()], true
	}
	return 0, false
}

// is reports whether an operand is the constant v.
func (f *formula) is(operand int32, v float64) bool {
	c, ok := f.constantAt(operand)
	return ok && c == v
}

// product leaves factors of 1 out.
func (f *formula) product(in *instr) (ref, bool) {
	switch {
	case f.is(in.b, 1):
		return ref(in.a), true
	case f.is(in.a, 1):
		return ref(in.b), true
	}
	return 0, false
}

// quotient leaves a divisor of 1 out and multiplies by the inverse of a power
// of two: both are the same number, so both round to the same.
func (f *formula) quotient(in *instr) (ref, bool) {
	v, known := f.constantAt(in.b)
	switch {
	case !known:
	case v == 1:
		return ref(in.a), true
	case inverts(v):
		in.op, in.b = opMul, int32(f.constant(1/v))
	}
	return 0, false
}

// inverts reports whether 1/v is exact and an ordinary number.
func inverts(v float64) bool {
	fraction, exponent := math.Frexp(v)
	return math.Abs(fraction) == 0.5 && exponent > -1000 && exponent < 1000
}

// power makes squares products and halves roots, as kernel.Pow does.
func (f *formula) power(in *instr) (ref, bool) {
	v, known := f.constantAt(in.b)
	switch {
	case !known:
	case v == 1:
		return ref(in.a), true
	case v == 2:
		in.op, in.b = opMul, in.a
	case v == 0.5:
		*in = instr{op: opSqrt, a: in.a}
	}
	return 0, false
}

// directs are the kernels that have an opcode of their own.
var directs = map[uintptr]opcode{
	whereIs(kernel.Abs): opAbs, whereIs(kernel.Sqrt): opSqrt, whereIs(kernel.Lower): opLower, whereIs(kernel.Higher): opHigher,
}

// whereIs tells functions apart. A kernel is a package's own function, not a
// closure, so that its place is its identity.
func whereIs(f any) uintptr { return reflect.ValueOf(f).Pointer() }

// direct replaces the call of an intrinsic by an opcode, where its kernel has
// one, or by its argument, where it has none.
func (f *formula) direct(in *instr) (ref, bool) {
	row := &f.p.m.Intrinsics[in.c]
	switch {
	case in.op == opCall2:
		if o, ok := directs[whereIs(row.F2)]; ok {
			*in = instr{op: o, a: in.a, b: in.b}
		}
	case row.F1 == nil:
		return ref(in.a), true
	default:
		if o, ok := directs[whereIs(row.F1)]; ok {
			*in = instr{op: o, a: in.a}
		}
	}
	return 0, false
}

// The kernels above as Intrinsic.Apply1 and Apply2 run them.

func abs(a float64) float64 {
	if a == a {
		return math.Abs(a)
	}
	return kernel.Join(a, a)
}

func sqrt(a float64) float64 {
	switch r := math.Sqrt(a); {
	case r == r:
		return r
	case a != a:
		return kernel.Join(a, a)
	}
	return kernel.Fault
}

func lower(a, b float64) float64 {
	if a != a || b != b {
		return kernel.Join(a, b)
	}
	return kernel.Lower(a, b)
}

func higher(a, b float64) float64 {
	if a != a || b != b {
		return kernel.Join(a, b)
	}
	return kernel.Higher(a, b)
}
