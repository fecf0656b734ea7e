package program

import (
	"math"

	"gearleaf/sheet/kernel"
)

// A batch reads its leaves here and there. An instruction may do so itself, by
// the list of places, so that they need not be gathered into a row first; and
// two operations in one then go over the cells once. A build with vectors
// gathers: a vector is loaded from a row.

// strand is values that stand here and there: v[at[0]], v[at[1]] and so on.
type strand struct {
	v  []float64
	at []uint16
}

// inRow are the places of values that stand in a row, and lone those of one
// that all lanes share.
var inRow, lone [blockLanes]uint16

func init() {
	for i := range inRow {
		inRow[i] = uint16(i)
	}
}

// weaving is an operation's loops over strands: over two, over one and a value
// that all lanes share, over such a value and one. They are like those of
// lanes.go. Where one operand is all there is, each and from are nil; where
// operands may change places, from is.
type weaving struct {
	each func(d []float64, a, b strand) bool
	one  func(d []float64, a strand, s float64) bool
	from func(d []float64, s float64, b strand) bool
}

// how is a way in which an instruction of a shape runs.
type how uint8

const (
	inRows     how = iota // all its operands stand in rows, or are shared
	oneWoven              // an operation with loops over strands
	firstWoven            // two operations, of which the first has them; what it makes is kept
	pairWoven             // two operations in one loop
	choiceWoven
)

// way returns how an instruction can run.
func (in *instr) way() how {
	row := &ops[in.op]
	switch {
	case row.pair.chooses:
		return choiceWoven
	case row.d != kept && weavings[in.op].one != nil:
		return oneWoven
	case row.d != kept || weavings[row.pair.first].one == nil:
		return inRows
	case in.d != junk:
		return firstWoven
	}
	return pairWoven
}

// strands returns the operands that an instruction can read as strands.
func (in *instr) strands() []int32 {
	switch in.way() {
	case choiceWoven:
		return []int32{in.a, in.b, in.c, in.d}
	case pairWoven:
		return []int32{in.a, in.b, in.c}
	case firstWoven:
		return []int32{in.a, in.b}
	case oneWoven:
		if weavings[in.op].each == nil {
			return []int32{in.a}
		}
		return []int32{in.a, in.b}
	}
	return nil
}

// wovenReads is how often a leaf is read at most where it stands: more often,
// a row of them is worth while.
const wovenReads = 2

// plan finds the leaves that are read where they stand, and the instructions
// that do so or go over the cells once for two operations. Registers are those
// of code in the making: leaf k stands in ^k.
func (s *shape) plan(code []instr) {
	var reads, woven [shapeLeaves]int
	count := func(reg int32, of *[shapeLeaves]int) {
		if k := ^reg; k >= 0 && k < s.leaves {
			of[k]++
		}
	}
	for i := range code {
		code[i].operands(func(reg *int32) { count(*reg, &reads) })
		for _, reg := range code[i].strands() {
			count(reg, &woven)
		}
	}
	for k, n := range reads {
		if n > 0 && n <= wovenReads && woven[k] == n {
			s.pending |= 1 << k
		}
	}
	s.ways = make([]how, len(code))
	for i := range code {
		in := &code[i]
		operands := in.strands()
		woven := len(operands) > 2
		for _, reg := range operands {
			k := ^reg
			woven = woven || k >= 0 && k < s.leaves && s.pending>>k&1 == 1
		}
		if woven {
			s.ways[i] = in.way()
		}
	}
}

// weaves reports whether leaves are read where they stand.
func (mc *Machine) weaves() bool { return pairVectors == nil || mc.p.singly }

// runShape runs the code of a shape over the block.
func (mc *Machine) runShape(s *shape, code []instr) {
	if !mc.weaves() {
		mc.runCode(code)
		return
	}
	for i, way := range s.ways {
		if way == inRows {
			mc.runCode(code[i : i+1])
		} else if in := &code[i]; !mc.weave(in, way) {
			for _, reg := range in.strands() {
				mc.gatherLeaf(reg)
			}
			mc.runCode(code[i : i+1])
		}
	}
	for k := range s.leaves {
		mc.b.pending[k].at = nil
	}
}

// weave runs an instruction on strands, and reports whether what it leaves is
// right.
func (mc *Machine) weave(in *instr, way how) bool {
	switch way {
	case oneWoven:
		return mc.weaveOne(mc.to(in.dst), in, &weavings[in.op])
	case pairWoven:
		return mc.weavePair(in)
	case choiceWoven:
		return mc.weaveChoice(in)
	}
	p := &ops[in.op].pair
	d := mc.to(in.d)
	if !mc.weaveOne(d, in, &weavings[p.first]) {
		return false
	}
	between, c := wide{v: d}, mc.operand(in.c)
	if p.turned {
		between, c = c, between
	}
	mc.apply2(in.dst, &ops[p.second], between, c)
	return true
}

// weaveChoice runs a choice by a comparison.
func (mc *Machine) weaveChoice(in *instr) bool {
	a, b, c, e := mc.spun(in.a, 0), mc.spun(in.b, 1), mc.spun(in.c, 2), mc.spun(in.d, 3)
	if in.op == opIfLess {
		c, e = e, c
	}
	return chooseWoven(mc.to(in.dst), a, b, c, e)
}

// weaveOne leaves one operation on an instruction's first operands in d.
func (mc *Machine) weaveOne(d []float64, in *instr, loops *weaving) bool {
	a, x := mc.strand(in.a)
	if loops.each == nil {
		return a.at != nil && loops.one(d, a, 0)
	}
	b, y := mc.strand(in.b)
	switch {
	case a.at != nil && b.at != nil:
		return loops.each(d, a, b)
	case a.at != nil:
		return loops.one(d, a, y)
	case b.at == nil:
		return false
	case loops.from == nil:
		return loops.one(d, b, x)
	}
	return loops.from(d, x, b)
}

// weavePair runs two operations in one go.
func (mc *Machine) weavePair(in *instr) bool {
	a, x := mc.strand(in.a)
	b, y := mc.strand(in.b)
	if a.at == nil {
		if b.at == nil {
			return false // the first is the same for all lanes
		}
		if in.commutes() {
			a, x, b, y = b, y, a, x
		}
	}
	loops, d := &pairWeavings[in.op], mc.to(in.dst)
	c, z := mc.strand(in.c)
	switch {
	case c.at == nil:
		return loops.one(d, mc.spin(a, x, 0), mc.spin(b, y, 1), z)
	case b.at == nil:
		return loops.by(d, a, y, c)
	}
	return loops.each(d, mc.spin(a, x, 0), b, c)
}

// strand returns a register as a strand, or what all lanes share.
func (mc *Machine) strand(reg int32) (strand, float64) {
	slot := int(reg) - len(mc.wide)
	if slot < 0 {
		return strand{}, mc.r[reg]
	}
	b := &mc.b
	if slot < shapeLeaves && b.pending[slot].at != nil {
		return b.pending[slot], 0
	}
	if v := b.vec[slot]; v != nil {
		return strand{v[:b.n], inRow[:b.n]}, 0
	}
	return strand{}, mc.r[reg]
}

// spin makes a strand of what all lanes share.
func (mc *Machine) spin(s strand, v float64, spare int) strand {
	if s.at != nil {
		return s
	}
	mc.b.lone[spare][0] = v
	return strand{mc.b.lone[spare][:], lone[:mc.b.n]}
}

// spun returns a register as a strand in any case.
func (mc *Machine) spun(reg int32, spare int) strand {
	s, v := mc.strand(reg)
	return mc.spin(s, v, spare)
}

// gatherLeaf lays a leaf that is pending out in a row.
func (mc *Machine) gatherLeaf(reg int32) {
	b := &mc.b
	slot := int(reg) - len(mc.wide)
	if slot < 0 || slot >= shapeLeaves || b.pending[slot].at == nil {
		return
	}
	p := b.pending[slot]
	b.pending[slot].at = nil
	b.vec[slot] = b.room[slot][:b.n]
	gatherNear(b.vec[slot], p.v, p.at)
}

// chooseWoven leaves yes where x is at least y and no elsewhere, by moves as in
// moreEqualLanes.
func chooseWoven(d []float64, a, b, yes, no strand) bool {
	x, at := a.v, a.at[:len(d)]
	y, bt := b.v, b.at[:len(d)]
	yt, nt := yes.at[:len(d)], no.at[:len(d)]
	sure := 1
	for i := range d {
		x, y := x[at[i]], y[bt[i]]
		is, below := holds(x >= y), holds(x-y < -kernel.Tolerance*(math.Abs(x)+math.Abs(y)))
		u, w := math.Float64bits(yes.v[yt[i]]), math.Float64bits(no.v[nt[i]])
		d[i] = math.Float64frombits(uint64(-is)&u | uint64(is-1)&w)
		sure &= is | below
	}
	return sure == 1
}
