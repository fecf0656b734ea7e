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

// strands returns the operands that an instruction of a shape can read as
// strands, none where it has no loops for that.
func (in *instr) strands() []int32 {
	row := &ops[in.op]
	switch {
	case row.pair.chooses:
		return []int32{in.a, in.b, in.c, in.d}
	case row.d == kept && weavings[row.pair.first].one != nil && in.d == junk:
		return []int32{in.a, in.b, in.c}
	case row.d == kept && weavings[row.pair.first].one != nil || weavings[in.op].each != nil:
		return []int32{in.a, in.b}
	case weavings[in.op].one != nil:
		return []int32{in.a}
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
			if i < 64 {
				count(reg, &woven)
			}
		}
	}
	for k, n := range reads {
		if n > 0 && n <= wovenReads && woven[k] == n {
			s.pending |= 1 << k
		}
	}
	for i := range min(len(code), 64) {
		in := &code[i]
		operands := in.strands()
		if len(operands) > 2 {
			s.woven |= 1 << i
		}
		for _, reg := range operands {
			if k := ^reg; k >= 0 && k < s.leaves && s.pending>>k&1 == 1 {
				s.woven |= 1 << i
			}
		}
	}
}

// weaves reports whether leaves are read where they stand.
func (mc *Machine) weaves() bool { return pairVectors == nil || mc.p.singly }

// runShape runs the code of a shape over the block.
func (mc *Machine) runShape(s *shape, code []instr) {
	if s.woven == 0 || !mc.weaves() {
		mc.runCode(code)
		return
	}
	for i := range code {
		if s.woven>>i&1 == 0 || i >= 64 {
			mc.runCode(code[i : i+1])
		} else if in := &code[i]; !mc.weave(in) {
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
func (mc *Machine) weave(in *instr) bool {
	row := &ops[in.op]
	switch {
	case row.pair.chooses:
		a, b, c, e := mc.spun(in.a, 0), mc.spun(in.b, 1), mc.spun(in.c, 2), mc.spun(in.d, 3)
		if row.pair.first == opLess {
			c, e = e, c
		}
		return chooseWoven(mc.to(in.dst), a, b, c, e)
	case row.d != kept:
		return mc.weaveOne(mc.to(in.dst), in, &weavings[in.op])
	case in.d == junk:
		return mc.weavePair(in, row.pair)
	}
	d := mc.to(in.d)
	if !mc.weaveOne(d, in, &weavings[row.pair.first]) {
		return false
	}
	between, c := wide{v: d}, mc.operand(in.c)
	if row.pair.turned {
		between, c = c, between
	}
	mc.apply2(in.dst, &ops[row.pair.second], between, c)
	return true
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
func (mc *Machine) weavePair(in *instr, p pair) bool {
	left, right := in.a, in.b
	a, _ := mc.strand(left)
	b, y := mc.strand(right)
	if a.at == nil && b.at == nil {
		return false // the first is the same for all lanes
	}
	if a.at == nil && (p.first == opAdd || p.first == opMul) {
		left, right = right, left
		a = b
		b, y = mc.strand(right)
	}
	loops, d := &pairWeavings[in.op], mc.to(in.dst)
	c, z := mc.strand(in.c)
	switch {
	case c.at == nil:
		return loops.one(d, mc.spun(left, 0), mc.spun(right, 1), z)
	case b.at == nil:
		return loops.by(d, a, y, c)
	}
	return loops.each(d, mc.spun(left, 0), b, c)
}

// strand returns a register as a strand, or what all lanes share.
func (mc *Machine) strand(reg int32) (strand, float64) {
	if slot := int(reg) - len(mc.wide); slot >= 0 && slot < shapeLeaves && mc.b.pending[slot].at != nil {
		return mc.b.pending[slot], 0
	}
	w := mc.operand(reg)
	if w.v == nil {
		return strand{}, w.s
	}
	return strand{w.v, inRow[:len(w.v)]}, 0
}

// spun returns a register as a strand in any case.
func (mc *Machine) spun(reg int32, spare int) strand {
	s, v := mc.strand(reg)
	if s.at == nil {
		mc.b.lone[spare][0] = v
		return strand{mc.b.lone[spare][:], lone[:mc.b.n]}
	}
	return s
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
