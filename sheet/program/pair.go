package program

import "gearleaf/sheet/kernel"

// A pair is two operations in one instruction: half the choosing, and the
// value between them never leaves the processor. Each still rounds for
// itself; nothing is ever rounded as one.
type pair struct {
	first, second opcode
	turned        bool // the first result is the second's right operand
	four          bool // the first is a comparison that the second chooses by
}

// pairNames are what can follow each of the four sums and products, in the
// order of the opcodes.
var pairNames = [...]struct {
	name   string
	second opcode
	turned bool
}{
	{"add", opAdd, false}, {"sub", opSub, false}, {"from", opSub, true},
	{"mul", opMul, false}, {"div", opDiv, false}, {"into", opDiv, true},
}

func init() {
	for i, first := range [...]opcode{opAdd, opSub, opMul, opDiv} {
		for k, p := range pairNames {
			ops[int(opAddAdd)+i*len(pairNames)+k] = pairRow(first, p.second, p.turned, p.name)
		}
	}
	ops[opIfLess].pair = pair{first: opLess, second: opIf, four: true}
	ops[opIfMoreEqual].pair = pair{first: opGreaterEqual, second: opIf, four: true}
}

func pairRow(first, second opcode, turned bool, name string) op {
	f, g := ops[first].f2, ops[second].f2
	row := op{
		name: ops[first].name + "-" + name, a: register, b: register, c: register,
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

// pairUp joins each operation with one whose result nothing else reads.
func (c *compiler) pairUp() {
	reads := c.countReads()
	values := c.f.values
	for i := range values {
		v := &values[i]
		if !isArithmetic(v.op) && v.op != opIf {
			continue
		}
		for _, turned := range []bool{false, true} {
			at := ref(v.a)
			if turned {
				at = ref(v.b)
			}
			if at.kind() != toValue || reads[at.index()] != 1 {
				continue
			}
			inner := &values[at.index()]
			if joined, ok := join(inner.instr, v.instr, turned); ok && inner.at == v.at {
				v.instr = joined
				reads[at.index()] = 0
				break
			}
		}
	}
}

// countReads counts how often each value is read.
func (c *compiler) countReads() []int32 {
	c.reads = append(c.reads[:0], make([]int32, len(c.f.values))...)
	count := func(r ref) {
		if r.kind() == toValue {
			c.reads[r.index()]++
		}
	}
	for i := range c.f.values {
		c.f.values[i].operands(func(at *int32) { count(ref(*at)) })
	}
	for _, r := range c.results {
		count(r.from)
	}
	return c.reads
}

// join returns the one instruction for first and, after it, second, which
// reads the result of first as its left operand, or as its right one.
func join(first, second instr, right bool) (instr, bool) {
	if second.op == opIf {
		return joinIf(first, second, right)
	}
	if !isArithmetic(first.op) || !isArithmetic(second.op) {
		return instr{}, false
	}
	other := second.b
	if right {
		other = second.a
	}
	k := map[opcode]int{opAdd: 0, opSub: 1, opMul: 3, opDiv: 4}[second.op]
	if right && (second.op == opSub || second.op == opDiv) {
		k++
	}
	o := int(opAddAdd) + int(first.op-opAdd)*len(pairNames) + k
	return instr{op: opcode(o), a: first.a, b: first.b, c: other}, true
}

func isArithmetic(o opcode) bool { return o >= opAdd && o <= opDiv }

// joinIf joins a comparison with the choice by it.
func joinIf(first, second instr, right bool) (instr, bool) {
	in := instr{a: first.a, b: first.b, c: second.b, d: second.c}
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
	return in, !right
}
