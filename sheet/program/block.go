package program

import "gearleaf/sheet/kernel"

// block is what a run of instructions works on: lanes of scenarios in one
// row, or rows of a table on which all lanes agree.
type block struct {
	n    int
	from int  // the first lane
	row  int  // the row under way, or the first of the rows
	rows bool // lanes are rows

	vec   [][]float64 // frame registers that differ within the block; nil where they do not
	room  [][]float64 // their own room
	watch bool        // notice whether values move
	spare [3][]float64
	old   []float64
	over  []bool     // lanes whose table ends above the row under way
	live  []liveRows // loops: how far each lane's table goes
	saved [][]float64
}

// makeRoom gives slots registers of the frame room for a block.
func (b *block) makeRoom(slots int) {
	if b.over == nil {
		b.over, b.live = make([]bool, blockLanes), make([]liveRows, blockLanes)
		b.old = make([]float64, blockLanes)
		for i := range b.spare {
			b.spare[i] = make([]float64, blockLanes)
		}
	}
	for len(b.room) < slots {
		b.room = append(b.room, make([]float64, blockLanes))
		b.vec = append(b.vec, nil)
	}
}

// wide is an operand of a block: v, or s for every lane where v is nil.
type wide struct {
	v []float64
	s float64
}

// startBlock begins code that uses slots registers of the frame on the lanes
// from from on.
func (mc *Machine) startBlock(slots int32, from int) {
	b := &mc.b
	b.n, b.from, b.row, b.rows = min(blockLanes, mc.lanes-from), from, 0, false
	clear(b.vec[:slots])
}

// operand returns what a register holds.
func (mc *Machine) operand(reg int32) wide {
	if slot := int(reg) - len(mc.wide); slot >= 0 {
		if v := mc.b.vec[slot]; v != nil {
			return wide{v: v[:mc.b.n]}
		}
	} else if w := mc.wide[reg]; w != nil && !mc.b.rows {
		return wide{v: w[mc.b.from : mc.b.from+mc.b.n]}
	}
	return wide{s: mc.r[reg]}
}

// to returns the room of a register whose value differs within the block.
func (mc *Machine) to(reg int32) []float64 {
	b := &mc.b
	if slot := int(reg) - len(mc.wide); slot >= 0 {
		b.vec[slot] = b.room[slot]
		return b.room[slot][:b.n]
	}
	return mc.wide[reg][b.from : b.from+b.n]
}

// put1 gives a register one value for the whole block.
func (mc *Machine) put1(reg int32, v float64) {
	if slot := int(reg) - len(mc.wide); slot >= 0 {
		mc.b.vec[slot] = nil
		mc.r[reg] = v
		return
	}
	if mc.wide[reg] == nil {
		mc.r[reg] = v
		return
	}
	fill(mc.to(reg), v)
}

func fill(d []float64, v float64) {
	for i := range d {
		d[i] = v
	}
}

// spread returns an operand as one value a lane, in spare room if need be.
func (mc *Machine) spread(w wide, spare int) []float64 {
	if w.v != nil {
		return w.v
	}
	d := mc.b.spare[spare][:mc.b.n]
	fill(d, w.s)
	return d
}

// runCode runs code over the block.
func (mc *Machine) runCode(instrs []instr) {
	for i := range instrs {
		in := &instrs[i]
		switch o := &ops[in.op]; {
		case o.f1 != nil:
			mc.run1(in, o)
		case o.f2 != nil:
			mc.run2(in, o)
		case o.pair.first != opMove:
			mc.runPair(in, o.pair)
		case o.f3 != nil:
			mc.run3(in)
		default:
			mc.read(in)
		}
	}
}

func (mc *Machine) run1(in *instr, o *op) {
	a := mc.operand(in.a)
	if a.v == nil {
		mc.put1(in.dst, o.f1(a.s))
		return
	}
	d := mc.to(in.dst)
	if in.op == opMove {
		copy(d, a.v)
		return
	}
	if o.lanes != nil && o.lanes(d, a, wide{}) {
		return
	}
	for i, v := range a.v {
		d[i] = o.f1(v)
	}
}

func (mc *Machine) run2(in *instr, o *op) {
	mc.apply2(in.dst, o, mc.operand(in.a), mc.operand(in.b))
}

// apply2 leaves o of two operands in a register.
func (mc *Machine) apply2(dst int32, o *op, a, b wide) {
	if a.v == nil && b.v == nil {
		mc.put1(dst, o.f2(a.s, b.s))
		return
	}
	d := mc.to(dst)
	if o.lanes == nil || !o.lanes(d, a, b) {
		o.carefully(d, a, b)
	}
}

// carefully is o lane by lane, as the kernel has it.
func (o *op) carefully(d []float64, a, b wide) {
	for i := range d {
		d[i] = o.f2(a.at(i), b.at(i))
	}
}

func (mc *Machine) run3(in *instr) {
	mc.choose(in, mc.operand(in.a), mc.operand(in.b), mc.operand(in.c))
}

// choose takes b or c by a.
func (mc *Machine) choose(in *instr, a, b, c wide) {
	if a.v == nil && b.v == nil && c.v == nil {
		mc.put1(in.dst, kernel.If(a.s, b.s, c.s))
		return
	}
	d := mc.to(in.dst)
	ifLanes(d, mc.spread(a, 2), mc.spread(b, 0), mc.spread(c, 1))
}

// runPair runs two operations one after the other; a value between them that
// nothing else reads has spare room of its own.
func (mc *Machine) runPair(in *instr, p pair) {
	if p.first == opLook {
		mc.runLookPair(in, p)
		return
	}
	a, b := mc.operand(in.a), mc.operand(in.b)
	if f := ops[in.op].pairLanes; f != nil && in.d == junk && (a.v != nil || b.v != nil) && f(mc.to(in.dst), a, b, mc.operand(in.c)) {
		return
	}
	first := &ops[p.first]
	between := wide{}
	switch {
	case a.v == nil && b.v == nil:
		between.s = first.f2(a.s, b.s)
		if !p.chooses && in.d != junk {
			mc.put1(in.d, between.s)
		}
	case p.chooses || in.d == junk:
		between.v = mc.b.spare[2][:mc.b.n]
	default:
		between.v = mc.to(in.d)
	}
	sure := true
	if between.v != nil && !first.lanes(between.v, a, b) {
		sure = false
		first.carefully(between.v, a, b)
	}
	c := mc.operand(in.c)
	if p.chooses && sure && between.v != nil {
		x, y := mc.spread(c, 0), mc.spread(mc.operand(in.d), 1)
		pickLanes(mc.to(in.dst), between.v, x, y)
		return
	}
	if p.chooses {
		mc.choose(in, between, c, mc.operand(in.d))
		return
	}
	if p.turned {
		between, c = c, between
	}
	mc.apply2(in.dst, &ops[p.second], between, c)
}

// runLookPair is runPair for a look-up and what is done with it.
func (mc *Machine) runLookPair(in *instr, p pair) {
	x, between := mc.operand(in.a), wide{}
	switch {
	case x.v == nil && mc.sameCurve(in.b):
		if between.s = mc.look(x.s, in.b); in.d != junk {
			mc.put1(in.d, between.s)
		}
	case in.d == junk:
		between.v = mc.b.spare[2][:mc.b.n]
	default:
		between.v = mc.to(in.d)
	}
	if between.v != nil {
		mc.lookLanes(between.v, x, in.b)
	}
	mc.apply2(in.dst, &ops[p.second], between, mc.operand(in.c))
}

// read runs the operations that read columns, call intrinsics or ask for the
// row.
func (mc *Machine) read(in *instr) {
	switch in.op {
	case opCall1:
		mc.call1(in)
	case opCall2:
		mc.call2(in)
	case opLoad, opLoadPrev, opLoadNext:
		mc.load(in)
	case opRow:
		mc.rowNumber(in)
	case opReduce:
		mc.reduceBlock(in)
	case opIndex:
		mc.indexBlock(in)
	case opLook:
		mc.lookBlock(in)
	default:
		panic("program: an instruction that read does not know")
	}
}

func (mc *Machine) call1(in *instr) {
	a, f := mc.operand(in.a), &mc.intrinsics[in.c]
	if a.v == nil {
		mc.put1(in.dst, f.Apply1(a.s))
		return
	}
	d := mc.to(in.dst)
	for i, v := range a.v {
		d[i] = f.Apply1(v)
	}
}

func (mc *Machine) call2(in *instr) {
	a, b, f := mc.operand(in.a), mc.operand(in.b), &mc.intrinsics[in.c]
	if a.v == nil && b.v == nil {
		mc.put1(in.dst, f.Apply2(a.s, b.s))
		return
	}
	x, y := mc.spread(a, 0), mc.spread(b, 1)
	d := mc.to(in.dst)
	for i := range d {
		d[i] = f.Apply2(x[i], y[i])
	}
}

func (mc *Machine) rowNumber(in *instr) {
	if !mc.b.rows {
		mc.put1(in.dst, float64(mc.b.row+1))
		return
	}
	d := mc.to(in.dst)
	for i := range d {
		d[i] = float64(mc.b.row + i + 1)
	}
}

// load points a register at a column's entries in this row or a neighbour.
func (mc *Machine) load(in *instr) {
	row := mc.b.row
	switch in.op {
	case opLoadPrev:
		row--
	case opLoadNext:
		row++
	}
	switch {
	case mc.b.rows:
		mc.loadRows(in, row)
	case in.op == opLoadNext:
		mc.loadNext(in, row)
	default:
		mc.loadLanes(in, row)
	}
}

// alias makes a register of the frame stand for a part of a column. A
// register in global room gets a copy.
func (mc *Machine) alias(reg int32, v []float64) {
	if slot := int(reg) - len(mc.wide); slot >= 0 {
		mc.b.vec[slot] = v
		return
	}
	copy(mc.to(reg), v)
}

// loadRows reads the rows from row on of a column on which all lanes agree.
func (mc *Machine) loadRows(in *instr, row int) {
	c := &mc.columns[in.a]
	if row >= 0 && row+mc.b.n <= int(mc.tables[c.table].live.rows) {
		mc.alias(in.dst, c.one[row:row+mc.b.n])
		return
	}
	d := mc.to(in.dst)
	for i := range d {
		if in.op == opLoadPrev {
			d[i] = mc.before(in.a, row+1+i)
		} else {
			d[i] = mc.after(in.a, row-1+i)
		}
	}
}

// loadLanes reads the lanes of a column in one row, which is there.
func (mc *Machine) loadLanes(in *instr, row int) {
	c := &mc.columns[in.a]
	switch {
	case row < 0:
		mc.put1(in.dst, kernel.Blank)
	case c.wide == nil:
		mc.put1(in.dst, c.one[row])
	default:
		at := row*mc.lanes + mc.b.from
		mc.alias(in.dst, c.wide[at:at+mc.b.n])
	}
}

// loadNext reads the lanes of a column in the row below, which not every
// lane need have.
func (mc *Machine) loadNext(in *instr, row int) {
	c := &mc.columns[in.a]
	if c.wide == nil && mc.tables[c.table].each == nil {
		mc.put1(in.dst, mc.after(in.a, row-1))
		return
	}
	d := mc.to(in.dst)
	for i := range d {
		lane := mc.b.from + i
		switch mc.live(c.table, lane).at(row, c.rows, c.computed) {
		case stands:
			d[i] = mc.entry(in.a, row, lane)
		case gone:
			d[i] = kernel.Blank
		default:
			d[i] = kernel.Fault
		}
	}
}
