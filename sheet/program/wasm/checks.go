package wasm

import (
	"maps"
	"slices"
	"strings"

	"gearleaf/sheet/program/code"
)

// The checks of the fast form. It checks each live-out value, and each operand
// that an operation can hide: a comparison turns an infinity into a logical
// value, a division by one gives 0. An operand whose fault shows in a checked
// value needs no check.

// checksOf returns the registers whose values have to be checked, and the live-in
// registers among them. The list sets each register once.
func checksOf(list []code.Instr, out map[int32]bool) (checks map[int32]bool, inputs []int32) {
	checks, truths := map[int32]bool{}, map[int32]bool{}
	for i := range list {
		for _, o := range readsOf(&list[i]) {
			if o.hidden && !(o.kind == code.Truth && truths[o.reg]) {
				checks[o.reg] = true
			}
		}
		// A logical value is never checked: its operands are.
		truths[list[i].Dst] = code.Ops[list[i].Op].Result == code.Truth
	}
	for r := range out {
		if !truths[r] {
			checks[r] = true
		}
	}
	shown := map[int32]bool{}
	for _, in := range slices.Backward(list) {
		if !checks[in.Dst] && !shown[in.Dst] || in.Op == code.If || truths[in.Dst] {
			continue
		}
		for _, o := range readsOf(&in) {
			shown[o.reg] = shown[o.reg] || !o.hidden
		}
	}
	maps.DeleteFunc(checks, func(r int32, _ bool) bool { return shown[r] })
	others := maps.Clone(checks)
	for i := range list {
		delete(others, list[i].Dst)
	}
	return checks, slices.Sorted(maps.Keys(others))
}

// operand is a register that an instruction reads.
type operand struct {
	kind   code.Operand
	reg    int32
	name   string // in the texts of a row
	hidden bool   // the result can be a number if this is not
}

// readsOf returns the operands that are registers.
func readsOf(in *code.Instr) []operand {
	row := &code.Ops[in.Op]
	var out []operand
	for _, o := range [...]operand{{kind: row.A, reg: in.A, name: "a"}, {kind: row.B, reg: in.B, name: "b"}, {kind: row.C, reg: in.C, name: "c"}} {
		if o.kind.IsRegister() {
			o.hidden = o.kind == code.Truth || strings.Contains(row.Hides, o.name)
			out = append(out, o)
		}
	}
	return out
}
