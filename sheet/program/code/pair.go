package code

import "gearleaf/sheet/kernel"

// Pair is the two operations of a superinstruction, one after the other. Each
// result is rounded. If something else reads the first result, it is stored in
// the register of operand D.
type Pair struct {
	First, Second Op
	Turned        bool // the first result is the second's right operand
	Chooses       bool // the first is a comparison, the second an If on it
}

// Unread is the register that nothing reads, for a superinstruction's first
// result that nothing else needs.
const Unread = 0

// Firsts and Seconds are the operations of the superinstructions, in the
// order of their codes: each of Firsts, followed by each of Seconds.
var (
	Firsts  = [...]Op{Add, Sub, Mul, Div}
	Seconds = [...]Second{
		{"add", Add, false},
		{"sub", Sub, false},
		{"from", Sub, true},
		{"mul", Mul, false},
		{"div", Div, false},
		{"into", Div, true},
	}
)

// Second is the second operation of a superinstruction.
type Second struct {
	Name   string
	Op     Op
	Turned bool
}

func init() {
	for i, first := range Firsts {
		for k, s := range Seconds {
			Ops[PairOf(i, k)] = pairRow(first, s)
		}
	}
	Ops[IfLess] = choice("if-less", Less, kernel.Less)
	Ops[IfGreaterEqual] = choice("if-moreeq", GreaterEqual, kernel.GreaterEqual)
}

// PairOf returns the superinstruction of the first in place i of Firsts and
// the second in place k of Seconds.
func PairOf(i, k int) Op { return AddAdd + Op(i*len(Seconds)+k) }

func pairRow(first Op, s Second) Row {
	f, g := Ops[first].F2, Ops[s.Op].F2
	row := Row{
		Name: Ops[first].Name + "-" + s.Name, A: Register, B: Register, C: Register, D: Between,
		Pair: Pair{First: first, Second: s.Op, Turned: s.Turned},
		F3:   func(a, b, c float64) float64 { return g(f(a, b), c) },
	}
	if s.Turned {
		row.F3 = func(a, b, c float64) float64 { return g(c, f(a, b)) }
	}
	return row
}

func choice(name string, first Op, f func(a, b float64) float64) Row {
	return Row{
		Name: name, A: Register, B: Register, C: Register, D: Register,
		Pair: Pair{First: first, Second: If, Chooses: true},
		F4:   func(a, b, c, d float64) float64 { return kernel.If(f(a, b), c, d) },
	}
}

// Split returns the two instructions of a superinstruction, with the first
// result in register between; ok is false if in is not one.
func (in Instr) Split(between int32) (first, second Instr, ok bool) {
	p := Ops[in.Op].Pair
	switch {
	case p.Second == Move:
		return in, in, false
	case p.Chooses:
		return Instr{Op: p.First, Dst: between, A: in.A, B: in.B}, Instr{Op: If, Dst: in.Dst, A: between, B: in.C, C: in.D}, true
	}
	first = Instr{Op: p.First, Dst: between, A: in.A, B: in.B}
	if p.First == Look {
		first.B, first.C = 0, in.B
	}
	second = Instr{Op: p.Second, Dst: in.Dst, A: between, B: in.C}
	if p.Turned {
		second.A, second.B = in.C, between
	}
	return first, second, true
}
