package wasm

import (
	"slices"
	"strings"

	"gearleaf/sheet/program/code"
)

// The checks of the fast form. It checks each live-out value, and each operand
// that an operation can hide: a comparison turns an infinity into a logical
// value, a division by one gives 0. An operand whose fault shows in a checked
// value needs no check.

// source is a value in a list of instructions: the instruction that makes it
// or, below zero, a register that the list reads and has not set.
type source int32

// checksOf returns the instructions whose results have to be checked, and the
// live-in registers to check.
func checksOf(list []code.Instr, out []int32) (checks []bool, inputs []int32) {
	made := map[int32]source{}
	at := func(r int32) source {
		if s, ok := made[r]; ok {
			return s
		}
		return source(-1 - r)
	}
	want, sure := map[source]bool{}, map[source]bool{}
	operands := make([][]operand, len(list))
	for i := range list {
		operands[i] = operandsOf(&list[i], at)
		for _, o := range operands[i] {
			if o.hidden && !(o.truth && isTruth(list, o.from)) {
				want[o.from] = true
			}
		}
		made[list[i].Dst] = source(i)
	}
	for _, r := range out {
		if s := at(r); !isTruth(list, s) {
			want[s] = true
		}
	}
	for i := len(list) - 1; i >= 0; i-- {
		if !want[source(i)] && !sure[source(i)] || list[i].Op == code.If || code.Ops[list[i].Op].Result == code.Truth {
			continue
		}
		for _, o := range operands[i] {
			if !o.hidden {
				sure[o.from] = true
			}
		}
	}
	checks = make([]bool, len(list))
	for s := range want {
		switch {
		case sure[s]:
		case s >= 0:
			checks[s] = true
		default:
			inputs = append(inputs, int32(-1-s))
		}
	}
	slices.Sort(inputs)
	return checks, inputs
}

// operand is a register that an instruction reads.
type operand struct {
	from          source
	hidden, truth bool
}

func operandsOf(in *code.Instr, at func(int32) source) []operand {
	var out []operand
	for _, o := range readsOf(in) {
		truth := o.kind == code.Truth
		out = append(out, operand{at(o.reg), truth || strings.Contains(code.Ops[in.Op].Hides, o.name), truth})
	}
	return out
}

// namedOperand is an operand with its name in the texts of a row.
type namedOperand struct {
	kind code.Operand
	reg  int32
	name string
}

// readsOf returns the operands that are registers.
func readsOf(in *code.Instr) []namedOperand {
	row := &code.Ops[in.Op]
	all := []namedOperand{{row.A, in.A, "a"}, {row.B, in.B, "b"}, {row.C, in.C, "c"}}
	return slices.DeleteFunc(all, func(o namedOperand) bool { return !o.kind.IsRegister() })
}

// isTruth reports whether a value is the result of a comparison, or of other
// logical values: its operands have been checked.
func isTruth(list []code.Instr, s source) bool {
	return s >= 0 && code.Ops[list[s].Op].Result == code.Truth
}
