package lower

import (
	"slices"

	"gearleaf/sheet/program/code"
)

// fuse makes superinstructions: each operation joins its first reader, if there
// is a superinstruction for the pair.
func (c *compiler) fuse() {
	c.countReads()
	values := c.f.values
	for i := range values {
		v := &values[i]
		if _, ok := second(v.Op, false); !ok && v.Op != code.If || c.uses[i] == dead {
			continue
		}
		for _, right := range []bool{false, true} {
			at := Ref(v.A)
			if right {
				at = Ref(v.B)
			}
			if at.Kind() == InValues && c.joins(at.Index(), int32(i), right) {
				break
			}
		}
	}
}

// joins makes value i and value by, which reads it, one instruction, if they
// can be.
func (c *compiler) joins(i, by int32, right bool) bool {
	inner, v := &c.f.values[i], &c.f.values[by]
	if inner.at != v.at || c.reads[i].first != by {
		return false
	}
	if v.Op == code.If {
		in, ok := joinIf(inner.Instr, v.Instr)
		if ok = ok && !right && c.reads[i].n == 1; ok {
			v.Instr = in
		}
		return ok
	}
	other := v.B
	if right {
		other = v.A
	}
	in, ok := joinPair(inner.Instr, v.Instr, other, right)
	if !ok || v.A == v.B {
		return false
	}
	v.Instr, v.inner, inner.within = in, i, true
	return true
}

// joinPair joins an operation with one that reads it, on its right or on its
// left, and other.
func joinPair(inner, by code.Instr, other int32, right bool) (code.Instr, bool) {
	if inner.Op == code.Look && by.Op == code.Mul {
		return code.Instr{Op: code.LookMul, A: inner.A, B: inner.C, C: other}, true
	}
	first := slices.Index(code.Firsts[:], inner.Op)
	k, _ := second(by.Op, right)
	if first < 0 || k < 0 {
		return by, false
	}
	return code.Instr{Op: code.PairOf(first, k), A: inner.A, B: inner.B, C: other}, true
}

// second returns the place in code.Seconds of an operation whose left or right
// operand is the first's result: -1 if only the other operand can be.
func second(o code.Op, right bool) (int, bool) {
	found, ok := -1, false
	for k := range code.Seconds {
		s := &code.Seconds[k]
		if s.Op != o {
			continue
		}
		ok = true
		if s.Turned == right || (right && (o == code.Add || o == code.Mul)) {
			found = k
		}
	}
	return found, ok
}

// reading is the number of reads of a value, and its first reader that is not
// dead.
type reading struct{ n, first int32 }

func (c *compiler) countReads() {
	c.reads = append(c.reads[:0], make([]reading, len(c.f.values))...)
	for i := range c.f.values {
		if c.uses[i] == dead {
			continue
		}
		c.f.values[i].Registers(func(at *int32) {
			if r := Ref(*at); r.Kind() == InValues {
				if n := &c.reads[r.Index()]; n.n == 0 {
					n.first = int32(i)
				}
				c.reads[r.Index()].n++
			}
		})
	}
	for _, r := range c.results {
		if r.from.Kind() == InValues {
			c.reads[r.from.Index()].n++
		}
	}
}

// joinIf joins a comparison with the choice by it.
func joinIf(first, choice code.Instr) (code.Instr, bool) {
	in := code.Instr{A: first.A, B: first.B, C: choice.B, D: choice.C}
	if first.Op == code.Greater || first.Op == code.LessEqual {
		in.A, in.B = in.B, in.A
	}
	switch first.Op {
	case code.Less, code.Greater:
		in.Op = code.IfLess
	case code.GreaterEqual, code.LessEqual:
		in.Op = code.IfGreaterEqual
	default:
		return in, false
	}
	return in, true
}
