package program

import (
	"math"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// On a large sheet, cells of one shape are computed together: cells whose
// formulas are the same but for the cells that they read, and that do not
// lean on one another. Their results are numbered in a row, so that a batch
// is lanes like any others, and its code is made once.

const (
	batchSheet  = 2000 // fewer scalars are better off together: see joint.go
	batchLeast  = 8    // fewer cells of one shape are not worth a batch
	shapeLeaves = 12   // how many cells a formula of a batch reads at most
	shapeBytes  = 300  // and how long its signature may be
)

// shape is code over the first registers of the frame, one for each cell that
// the formula reads; its result is left in the register behind them.
type shape struct {
	code   code
	leaves int32
	slots  int32
}

// batch is cells of one shape. Their results stand in a row from reg on.
type batch struct {
	shape  int32
	reg    int32
	tasks  []int32
	leaves []leaf
}

// leaf is where the cells of a batch read one of their operands: cell i in
// from + near[i], mostly, or in far[i] or, where both are nil, in from + i·step.
type leaf struct {
	near       []uint16
	far        []int32
	from, step int32
}

// newLeaf lays out an operand's registers.
func newLeaf(at []int32) leaf {
	if step := at[1] - at[0]; evenly(at, step) {
		return leaf{from: at[0], step: step}
	}
	from := slices.Min(at)
	if slices.Max(at)-from > math.MaxUint16 {
		return leaf{far: slices.Clone(at)}
	}
	l := leaf{near: make([]uint16, len(at)), from: from}
	for i, r := range at {
		l.near[i] = uint16(r - from)
	}
	return l
}

// evenly reports whether registers are all one, or stand in a row.
func evenly(at []int32, step int32) bool {
	if step != 0 && step != 1 {
		return false
	}
	for i, r := range at {
		if r != at[0]+int32(i)*step {
			return false
		}
	}
	return true
}

// of returns the register that cell i of the batch reads.
func (l *leaf) of(i int32) int32 {
	switch {
	case l.near != nil:
		return l.from + int32(l.near[i])
	case l.far != nil:
		return l.far[i]
	}
	return l.from + i*l.step
}

// batch compiles batch i of a grouping.
func (c *compiler) batch(gr *grouping, i int32) {
	p := c.p
	b := &p.batches[i]
	b.shape = c.shape(gr, b)
	b.reg = int32(len(p.initial)) // behind the shape's constants
	c.leaves(gr, b)
	for _, number := range b.tasks {
		reg := c.global(kernel.Fault)
		p.cellReg[p.g.CellIndex(int(number))] = reg
		p.tasks[number] = task{
			kind: scalarTask, reg: reg, slots: p.shapes[b.shape].slots, batch: i + 1, tabled: alone,
		}
	}
}

// leaves lays out what the cells of a batch read.
func (c *compiler) leaves(gr *grouping, b *batch) {
	n := len(b.tasks)
	count := int(c.p.shapes[b.shape].leaves)
	c.leafRoom = slices.Grow(c.leafRoom[:0], n*count)
	room := c.leafRoom[:n*count]
	for lane, number := range b.tasks {
		for k, cell := range gr.leavesOf(number) {
			room[k*n+lane] = c.p.cellReg[cell]
		}
	}
	b.leaves = make([]leaf, count)
	for k := range b.leaves {
		b.leaves[k] = newLeaf(room[k*n : (k+1)*n])
	}
}

// shape returns the number of a batch's shape, which its first batch has to
// compile.
func (c *compiler) shape(gr *grouping, b *batch) int32 {
	if c.shapeAt == nil {
		c.shapeAt = map[int32]int32{}
	}
	at, known := c.shapeAt[b.shape]
	if known {
		return at
	}
	f := c.f
	cells := gr.leavesOf(b.tasks[0])
	c.begin(false)
	f.local, f.visited = map[int32]ref{}, map[check.NodeID]ref{}
	for _, cell := range cells {
		f.local[cell] = makeRef(toRegister, c.pin())
	}
	c.out(c.p.g.CellOf(int(b.tasks[0])).Formula, c.pin())
	t := task{tabled: alone}
	c.lower(&t)
	f.local, f.visited = nil, nil
	at = int32(len(c.p.shapes))
	c.p.shapes = append(c.p.shapes, shape{code: t.body, leaves: int32(len(cells)), slots: t.slots})
	c.shapeAt[b.shape] = at
	return at
}

// runBatch computes all cells of a batch on which all lanes agree.
func (mc *Machine) runBatch(b *batch) {
	s := &mc.p.shapes[b.shape]
	code := mc.code(s.code)
	own := mc.b.room[s.leaves]
	mc.b.rows = true
	for from := 0; from < len(b.tasks); from += blockLanes {
		mc.b.n = min(blockLanes, len(b.tasks)-from)
		clear(mc.b.vec[:s.slots])
		for k := range b.leaves {
			mc.loadLeaf(&b.leaves[k], k, from)
		}
		d := mc.r[int(b.reg)+from:][:mc.b.n]
		mc.b.room[s.leaves] = d
		mc.runCode(code)
		mc.land(mc.out()+s.leaves, d)
	}
	mc.b.room[s.leaves] = own
}

// loadLeaf brings an operand of the cells from from on into a slot of the
// frame.
func (mc *Machine) loadLeaf(l *leaf, slot, from int) {
	b := &mc.b
	switch {
	case l.near != nil:
		b.vec[slot] = b.room[slot][:b.n]
		gatherNear(b.vec[slot], mc.r[l.from:], l.near[from:from+b.n])
	case l.far != nil:
		b.vec[slot] = b.room[slot][:b.n]
		gather(b.vec[slot], mc.r, l.far[from:from+b.n])
	case l.step == 1:
		b.vec[slot] = mc.r[int(l.from)+from:][:b.n]
	default:
		mc.r[int(mc.out())+slot] = mc.r[l.from]
	}
}

// gatherNear leaves in d what stands in the places of r listed.
func gatherNear(d, r []float64, at []uint16) {
	d = d[:len(at)]
	i := 0
	for ; i+4 <= len(at); i += 4 {
		at := at[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = r[at[0]], r[at[1]], r[at[2]], r[at[3]]
	}
	for ; i < len(at); i++ {
		d[i] = r[at[i]]
	}
}

// gather leaves in d what stands in the registers listed.
func gather(d, r []float64, at []int32) {
	d = d[:len(at)]
	i := 0
	for ; i+4 <= len(at); i += 4 {
		at := at[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		d[0], d[1], d[2], d[3] = r[uint32(at[0])], r[uint32(at[1])], r[uint32(at[2])], r[uint32(at[3])]
	}
	for ; i < len(at); i++ {
		d[i] = r[uint32(at[i])]
	}
}

// batchScalar computes one cell of a batch on which all lanes agree.
func (mc *Machine) batchScalar(t *task) {
	b := &mc.p.batches[t.batch-1]
	s := &mc.p.shapes[b.shape]
	frame := mc.r[len(mc.wide):]
	for k := range b.leaves {
		frame[k] = mc.r[b.leaves[k].of(t.reg-b.reg)]
	}
	mc.scalar(mc.code(s.code), 0)
	mc.r[t.reg] = frame[s.leaves]
}

// batchLanes computes one cell of a batch for a block of lanes.
func (mc *Machine) batchLanes(t *task) {
	b := &mc.p.batches[t.batch-1]
	s := &mc.p.shapes[b.shape]
	for k := range b.leaves {
		w := mc.operand(b.leaves[k].of(t.reg - b.reg))
		mc.b.vec[k] = w.v
		mc.r[int(mc.out())+k] = w.s
	}
	mc.runCode(mc.code(s.code))
	mc.land(mc.out()+s.leaves, mc.to(t.reg))
}
