package lower

import (
	"math"
	"reflect"

	"gearleaf/sheet/check"
	"gearleaf/sheet/program/code"
)

// simplify replaces an operation by a cheaper one that gives the same bits for
// every operand, including faults and blanks, or by an operand that is its
// result: then ok is true.
func (f *formula) simplify(in *code.Instr) (r Ref, ok bool) {
	switch in.Op {
	case code.Mul:
		return f.product(in)
	case code.Div:
		return f.quotient(in)
	case code.Sub:
		if v, known := f.constantAt(in.B); known && v == 0 && !math.Signbit(v) {
			return Ref(in.A), true
		}
	case code.Pow:
		return f.power(in)
	case code.If:
		switch {
		case f.is(in.B, 1) && f.is(in.C, 0):
			return Ref(in.A), true
		case f.is(in.A, 1):
			return Ref(in.B), true
		case f.is(in.A, 0):
			return Ref(in.C), true
		}
	case code.Less, code.LessEqual, code.Greater, code.GreaterEqual, code.Equal, code.NotEqual:
		if _, known := f.constantAt(in.A); known {
			*in = in.Turned()
		}
	case code.Call1, code.Call2:
		return f.direct(in)
	}
	return 0, false
}

// constantAt returns an operand's value if it is a constant.
func (f *formula) constantAt(operand int32) (float64, bool) {
	if r := Ref(operand); r.Kind() == Constant {
		return f.pool[r.Index()], true
	}
	return 0, false
}

// is reports whether an operand is the constant v.
func (f *formula) is(operand int32, v float64) bool {
	c, ok := f.constantAt(operand)
	return ok && c == v
}

// product leaves factors of 1 out.
func (f *formula) product(in *code.Instr) (Ref, bool) {
	switch {
	case f.is(in.B, 1):
		return Ref(in.A), true
	case f.is(in.A, 1):
		return Ref(in.B), true
	}
	return 0, false
}

// quotient leaves a divisor of 1 out and multiplies by the inverse of a power
// of two: both are the same number, so the rounded results are equal.
func (f *formula) quotient(in *code.Instr) (Ref, bool) {
	v, known := f.constantAt(in.B)
	switch {
	case !known:
	case v == 1:
		return Ref(in.A), true
	case inverts(v):
		in.Op, in.B = code.Mul, int32(f.constant(1/v))
	}
	return 0, false
}

// inverts reports whether 1/v is exact and an ordinary number.
func inverts(v float64) bool {
	fraction, exponent := math.Frexp(v)
	return math.Abs(fraction) == 0.5 && exponent > -1000 && exponent < 1000
}

// power turns squares into products and exponents of 0.5 into roots, as
// kernel.Pow does.
func (f *formula) power(in *code.Instr) (Ref, bool) {
	v, known := f.constantAt(in.B)
	switch {
	case !known:
	case v == 1:
		return Ref(in.A), true
	case v == 2:
		in.Op, in.B = code.Mul, in.A
	case v == 0.5:
		*in = code.Instr{Op: code.Sqrt, A: in.A}
	}
	return 0, false
}

// directs are the operations that replace the call of a kernel function.
var directs = map[uintptr]code.Op{}

// lowered are the operations of nodes of the checked tree that depend on their
// operands alone.
var lowered = map[check.Op]code.Op{}

func init() {
	for o := range code.Count {
		if f := code.Ops[o].Direct; f != nil {
			directs[whereIs(f)] = o
		}
		if n := code.Ops[o].Node; n != 0 {
			lowered[n] = o
		}
	}
}

// whereIs identifies a function by its address. A kernel function is a
// top-level function, not a closure, so the address is unique.
func whereIs(f any) uintptr { return reflect.ValueOf(f).Pointer() }

// direct replaces the call of an intrinsic by an operation, if its kernel
// function has one, or by its argument, if the row has no function.
func (f *formula) direct(in *code.Instr) (Ref, bool) {
	row := &f.p.Model.Intrinsics[in.C]
	switch {
	case in.Op == code.Call2:
		if o, ok := directs[whereIs(row.F2)]; ok {
			*in = code.Instr{Op: o, A: in.A, B: in.B}
		}
	case row.F1 == nil:
		return Ref(in.A), true
	default:
		if o, ok := directs[whereIs(row.F1)]; ok {
			*in = code.Instr{Op: o, A: in.A}
		}
	}
	return 0, false
}

// fold computes an operation on constants.
func (f *formula) fold(in code.Instr) (Ref, bool) {
	if in.Op == code.Move {
		return 0, false // a move is explicit
	}
	constant := code.Ops[in.Op].Applies()
	var arg [4]float64
	n := 0
	in.Registers(func(o *int32) {
		if r := Ref(*o); r.Kind() == Constant {
			arg[n] = f.pool[r.Index()]
		} else {
			constant = false
		}
		n++
	})
	if !constant {
		return 0, false
	}
	return f.constant(in.Apply(f.p.Model, arg)), true
}
