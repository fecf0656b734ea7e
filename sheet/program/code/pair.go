package code

import "gearleaf/sheet/kernel"

// Pair is the two operations of a superinstruction, one after the other. Each
// result is rounded. If something else reads the first result, it is stored in
// the register of operand D; the truth of a choice is not.
type Pair struct {
	First, Second Op
	Turned        bool // the first result is the second's right operand
}

// Unread is the register that nothing reads, for a superinstruction's first
// result that nothing else needs.
const Unread = 0

// joined has the superinstruction of two operations, the second of which reads
// the first result as its left or as its right operand; Move is none.
var joined [Count][Count]struct{ left, right Op }

func init() {
	o := AddAdd
	for _, first := range [...]Op{Add, Sub, Mul, Div} {
		for _, second := range [...]struct {
			name   string
			op     Op
			turned bool
		}{{"add", Add, false}, {"sub", Sub, false}, {"from", Sub, true}, {"mul", Mul, false}, {"div", Div, false}, {"into", Div, true}} {
			Ops[o] = pairRow(second.name, Pair{first, second.op, second.turned})
			o++
		}
	}
	Ops[IfLess] = choice("if-less", Less, kernel.Less)
	Ops[IfGreaterEqual] = choice("if-moreeq", GreaterEqual, kernel.GreaterEqual)
	for o := range Count {
		p := Ops[o].Pair
		switch at := &joined[p.First][p.Second]; {
		case p == Pair{}:
		case p.Turned:
			at.right = o
		case p.Second == Add || p.Second == Mul: // the order of the operands does not matter
			at.left, at.right = o, o
		default:
			at.left = o
		}
	}
}

func pairRow(name string, p Pair) Row {
	f, g := Ops[p.First].F2, Ops[p.Second].F2
	row := Row{
		Name: Ops[p.First].Name + "-" + name, A: Register, B: Register, C: Register, D: Between, Pair: p,
		F3: func(a, b, c float64) float64 { return g(f(a, b), c) },
	}
	if p.Turned {
		row.F3 = func(a, b, c float64) float64 { return g(c, f(a, b)) }
	}
	return row
}

func choice(name string, first Op, f func(a, b float64) float64) Row {
	return Row{
		Name: name, A: Register, B: Register, C: Register, D: Register,
		Pair: Pair{First: first, Second: If},
		F4:   func(a, b, c, d float64) float64 { return kernel.If(f(a, b), c, d) },
	}
}

// Join returns the superinstruction of two instructions, the second of which
// reads the first result as its left operand or, if right is set, as its right
// one; ok is false if there is none. It is the opposite of Split.
func Join(first, second Instr, right bool) (in Instr, ok bool) {
	for _, f := range [...]Instr{first, first.Turned()} {
		o, other := joined[f.Op][second.Op].left, second.B
		if right {
			o, other = joined[f.Op][second.Op].right, second.A
		}
		if o != Move {
			return Instr{Op: o, A: f.A, B: f.B, C: other, D: second.C}, true
		}
	}
	return second, false
}

// Split returns the two instructions of a superinstruction, with the first
// result in register between; ok is false if in is not one.
func (in Instr) Split(between int32) (first, second Instr, ok bool) {
	p := Ops[in.Op].Pair
	if p == (Pair{}) {
		return in, in, false
	}
	first = Instr{Op: p.First, Dst: between, A: in.A, B: in.B}
	second = Instr{Op: p.Second, Dst: in.Dst, A: between, B: in.C}
	switch {
	case p.Second == If:
		second.C = in.D
	case p.Turned:
		second.A, second.B = in.C, between
	}
	return first, second, true
}
