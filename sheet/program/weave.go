package program

// A batch reads its leaves here and there. Where an instruction is the only one
// to read a leaf, it does so itself, by the list of places, instead of having
// them gathered into a row first. A build with vectors gathers: a vector is
// loaded from a row.

// strand is values that stand here and there: v[at[0]], v[at[1]] and so on.
type strand struct {
	v  []float64
	at []uint16
}

// inRow are the places of values that stand in a row.
var inRow [blockLanes]uint16

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

// loops returns the loops over strands of an instruction's first operation.
func (in *instr) loops() *weaving { return &weavings[in.first()] }

// first is the operation, or of two the first.
func (in *instr) first() opcode {
	if ops[in.op].d == kept {
		return ops[in.op].pair.first
	}
	return in.op
}

// plan finds the instructions that are to read leaves themselves. Registers are
// those of code in the making: leaf k stands in ^k.
func (s *shape) plan(code []instr) {
	var reads [shapeLeaves]int
	for i := range code {
		code[i].operands(func(reg *int32) {
			if k := ^*reg; k >= 0 && k < s.leaves {
				reads[k]++
			}
		})
	}
	for i := range min(len(code), 64) {
		in := &code[i]
		if in.loops().one == nil {
			continue
		}
		operands := []int32{in.a, in.b}
		if in.loops().each == nil {
			operands = operands[:1]
		}
		for _, reg := range operands {
			if k := ^reg; k >= 0 && k < s.leaves && reads[k] == 1 {
				s.pending |= 1 << k
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
		if s.woven>>i&1 == 0 || i >= 64 || !mc.weave(&code[i]) {
			mc.runCode(code[i : i+1])
		}
	}
}

// weave runs an instruction that reads leaves where they stand. It reports
// whether it did: where not, they stand in a row now.
func (mc *Machine) weave(in *instr) bool {
	a, x := mc.strand(in.a)
	loops, pair := in.loops(), ops[in.op].d == kept
	var d []float64
	switch {
	case !pair:
		d = mc.to(in.dst)
	case in.d == junk:
		d = mc.b.spare[2][:mc.b.n]
	default:
		d = mc.to(in.d)
	}
	ok := false
	if loops.each == nil {
		ok = a.at != nil && loops.one(d, a, 0)
	} else {
		b, y := mc.strand(in.b)
		switch {
		case a.at != nil && b.at != nil:
			ok = loops.each(d, a, b)
		case a.at != nil:
			ok = loops.one(d, a, y)
		case b.at == nil:
		case loops.from == nil:
			ok = loops.one(d, b, x)
		default:
			ok = loops.from(d, x, b)
		}
	}
	mc.settleLeaf(in.a, ok)
	mc.settleLeaf(in.b, ok)
	if !ok {
		return false
	}
	if pair {
		p := ops[in.op].pair
		between, c := wide{v: d}, mc.operand(in.c)
		if p.turned {
			between, c = c, between
		}
		mc.apply2(in.dst, &ops[p.second], between, c)
	}
	return true
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

// settleLeaf is for a register that may be a pending leaf: it is no longer, and
// where it has not been read it stands in a row now.
func (mc *Machine) settleLeaf(reg int32, read bool) {
	b := &mc.b
	slot := int(reg) - len(mc.wide)
	if slot < 0 || slot >= shapeLeaves || b.pending[slot].at == nil {
		return
	}
	p := b.pending[slot]
	b.pending[slot].at = nil
	if !read {
		b.vec[slot] = b.room[slot][:b.n]
		gatherNear(b.vec[slot], p.v, p.at)
	}
}
