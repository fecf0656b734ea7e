package program

import (
	"slices"

	"gearleaf/sheet/kernel"
)

// A pair is two operations in one instruction: half the choosing, and the
// value between them is at hand when it is wanted. Each still rounds for
// itself; nothing is ever rounded as one. Where something else reads the
// value between, the pair leaves it in register d.
type pair struct {
	first, second opcode
	turned        bool // the first result is the second's right operand
	chooses       bool // the first is a comparison that the second chooses by
}

// junk is the register that nobody reads: where a pair leaves a value between
// that nothing else wants.
const junk = 0

// firsts and seconds are the operations of the pairs, in the order of their
// opcodes: each of the firsts, followed by each of the seconds.
var (
	firsts  = [...]opcode{opAdd, opSub, opMul, opDiv}
	seconds = [...]struct {
		name   string
		op     opcode
		turned bool
	}{
		{"add", opAdd, false},
		{"sub", opSub, false},
		{"from", opSub, true},
		{"mul", opMul, false},
		{"div", opDiv, false},
		{"into", opDiv, true},
	}
)

func init() {
	for i, first := range firsts {
		for k, s := range seconds {
			ops[int(opAddAdd)+i*len(seconds)+k] = pairRow(first, s.op, s.turned, s.name)
		}
	}
	for o, lanes := range pairLanes {
		ops[o].pairLanes = lanes
	}
	ops[opIfLess].pair = pair{first: opLess, second: opIf, chooses: true}
	ops[opIfMoreEqual].pair = pair{first: opGreaterEqual, second: opIf, chooses: true}
}

func pairRow(first, second opcode, turned bool, name string) op {
	f, g := ops[first].f2, ops[second].f2
	row := op{
		name: ops[first].name + "-" + name, a: register, b: register, c: register, d: kept,
		pair: pair{first: first, second: second, turned: turned},
		f3:   func(a, b, c float64) float64 { return g(f(a, b), c) },
	}
	if turned {
		row.f3 = func(a, b, c float64) float64 { return g(c, f(a, b)) }
	}
	return row
}

func ifLess(a, b, c, d float64) float64      { return kernel.If(less(a, b), c, d) }
func ifMoreEqual(a, b, c, d float64) float64 { return kernel.If(moreEqual(a, b), c, d) }

// pairUp joins each operation with the first that reads it.
func (c *compiler) pairUp() {
	c.countReads()
	values := c.f.values
	for i := range values {
		v := &values[i]
		if _, ok := second(v.op, false); !ok && v.op != opIf || c.uses[i] == dead {
			continue
		}
		for _, right := range []bool{false, true} {
			at := ref(v.a)
			if right {
				at = ref(v.b)
			}
			if at.kind() == toValue && c.joins(at.index(), int32(i), right) {
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
	if v.op == opIf {
		in, ok := joinIf(inner.instr, v.instr)
		if ok = ok && !right && c.reads[i].n == 1; ok {
			v.instr = in
		}
		return ok
	}
	other := v.b
	if right {
		other = v.a
	}
	in, ok := joinPair(inner.instr, v.instr, other, right)
	if !ok || v.a == v.b {
		return false
	}
	v.instr, v.inner, inner.within = in, i, true
	return true
}

// joinPair joins an operation with one that reads it, on its right or on its
// left, and other.
func joinPair(inner, by instr, other int32, right bool) (instr, bool) {
	if inner.op == opLook && by.op == opMul {
		return instr{op: opLookMul, a: inner.a, b: inner.c, c: other}, true
	}
	first := slices.Index(firsts[:], inner.op)
	k, _ := second(by.op, right)
	if first < 0 || k < 0 {
		return by, false
	}
	return instr{op: opAddAdd + opcode(first*len(seconds)+k), a: inner.a, b: inner.b, c: other}, true
}

// second returns the place in seconds of an operation whose left operand, or
// right one, is the first's result: -1 where only the other one can be.
func second(o opcode, right bool) (int, bool) {
	found, ok := -1, false
	for k := range seconds {
		s := &seconds[k]
		if s.op != o {
			continue
		}
		ok = true
		if s.turned == right || (right && (o == opAdd || o == opMul)) {
			found = k
		}
	}
	return found, ok
}

// reading is how often a value is read, and by which value that is not dead
// first.
type reading struct{ n, first int32 }

func (c *compiler) countReads() {
	c.reads = append(c.reads[:0], make([]reading, len(c.f.values))...)
	for i := range c.f.values {
		if c.uses[i] == dead {
			continue
		}
		c.f.values[i].operands(func(at *int32) {
			if r := ref(*at); r.kind() == toValue {
				if n := &c.reads[r.index()]; n.n == 0 {
					n.first = int32(i)
				}
				c.reads[r.index()].n++
			}
		})
	}
	for _, r := range c.results {
		if r.from.kind() == toValue {
			c.reads[r.from.index()].n++
		}
	}
}

// joinIf joins a comparison with the choice by it.
func joinIf(first, choice instr) (instr, bool) {
	in := instr{a: first.a, b: first.b, c: choice.b, d: choice.c}
	if first.op == opGreater || first.op == opLessEqual {
		in.a, in.b = in.b, in.a
	}
	switch first.op {
	case opLess, opGreater:
		in.op = opIfLess
	case opGreaterEqual, opLessEqual:
		in.op = opIfMoreEqual
	default:
		return in, false
	}
	return in, true
}
