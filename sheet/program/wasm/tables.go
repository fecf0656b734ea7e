package wasm

import (
	"gearleaf/sheet/program/code"
)

// blockRows is how many rows of a column are looked at together.
const blockRows = 64

// task writes a task of a table.
func (e *emitter) task(t *code.Task) {
	parts := [3][]code.Instr{expand(e.p.Code(t.Once)), expand(e.p.Code(t.First)), expand(e.p.Code(t.Body))}
	for _, list := range parts {
		e.readyCurves(list)
	}
	if t.Kind == code.LoopTask {
		e.loop(t, parts)
		return
	}
	e.column(t, parts)
	if t.Kind == code.VerdictTask {
		e.judge(t)
	}
}

// shape starts a body that has rows.
func (b *body) shape() {
	b.row, b.entry = b.f.local(typeI32), b.f.local(typeI32)
}

// column writes a column whose rows do not depend on one another. The rows
// that have no neighbour where one is read are computed with care, and so are
// all that only one of two lanes has.
func (e *emitter) column(t *code.Task, parts [3][]code.Instr) {
	result := int32(len(e.p.Initial)) // the first register of the frame
	e.parts++
	care := e.body(partName(e.parts), []byte{typeI32, typeI32, typeI32})
	care.care = true
	care.careRows(t, parts, result)
	e.m.add(care.f)

	fast := e.part(nil)
	fast.shape()
	fast.section(parts[0], nil)
	fast.preload(parts[2])
	rows := &fastRows{body: fast, t: t, care: care.f.name, from: fast.f.local(typeI32), to: fast.f.local(typeI32), bits: fast.f.local(typeI32)}
	rows.write(parts, result)
	e.m.add(fast.f)

	e.run.f.op("local.get", e.run.bad[0])
	e.run.f.call(fast.f.name)
	e.run.f.op("i32.or")
	e.run.f.op("local.set", e.run.bad[0])
	for lane := range e.lanes {
		e.care.f.op("i32.const", 8*lane)
		e.care.f.op("i32.const", 0)
		e.care.live(t.Table, lane)
		e.care.f.call(care.f.name)
	}
}

// careRows writes the form with care of a column: parameters are the lane and
// the rows from and to.
func (b *body) careRows(t *code.Task, parts [3][]code.Instr, result int32) {
	b.shape()
	b.section(parts[0], nil)
	b.preload(parts[1], parts[2])
	b.f.op("local.get", 1)
	b.f.op("local.set", b.row)
	b.f.op("block")
	b.f.op("loop")
	b.leaveAt(b.row, 2, 1)
	b.placeRow()
	if len(parts[1]) > 0 {
		b.f.op("local.get", b.row)
		b.f.op("i32.eqz")
		b.f.op("if")
		b.rowOf(parts[1], t.Column, result)
		b.f.op("else")
	}
	b.rowOf(parts[2], t.Column, result)
	if len(parts[1]) > 0 {
		b.f.op("end")
	}
	b.f.add(b.row, 1)
	b.f.op("br", 0)
	b.f.op("end")
	b.f.op("end")
}

// leaveAt leaves depth blocks when local a has reached local b.
func (b *body) leaveAt(a, limit, depth int) {
	b.f.op("local.get", a)
	b.f.op("local.get", limit)
	b.f.op("i32.ge_s")
	b.f.op("br_if", depth)
}

// placeRow finds the current row's place in a column.
func (b *body) placeRow() {
	b.f.op("local.get", b.row)
	b.f.op("i32.const", 8*b.lanes)
	b.f.op("i32.mul")
	b.lane()
	b.f.op("i32.add")
	b.f.op("local.set", b.entry)
}

// rowOf writes one row of a column.
func (b *body) rowOf(list []code.Instr, column, result int32) {
	b.scoped(func() {
		b.section(list, []int32{result})
		b.storeEntry(column, result)
	})
}

// fastRows writes the fast form of a column's rows, block by block.
type fastRows struct {
	*body
	t              *code.Task
	care           string
	from, to, bits int // locals: the rows of a block, and what run returns
}

func (r *fastRows) write(parts [3][]code.Instr, result int32) {
	f := r.f
	end := f.local(typeI32)
	r.least(end)
	if len(parts[1]) > 0 || reads(parts[2], code.LoadPrev) {
		r.edge(func(int) { f.op("i32.const", 0) }, func(lane int) { r.fewer(lane) })
		f.op("i32.const", 1)
		f.op("local.set", r.from)
	}
	if reads(parts[2], code.LoadNext) {
		f.add(end, -1)
	}
	once := r.keepBad()
	f.op("block")
	f.op("loop")
	r.leaveAt(r.from, end, 1)
	r.blockEnd(end)
	r.restoreBad(once)
	r.inner(parts[2], result)
	r.repairBlock()
	f.op("local.get", r.to)
	f.op("local.set", r.from)
	f.op("br", 0)
	f.op("end")
	f.op("end")
	if r.lanes > 1 || reads(parts[2], code.LoadNext) {
		r.edge(func(int) { f.op("local.get", r.from) }, func(lane int) { r.live(r.t.Table, lane) })
	}
	f.op("local.get", r.bits)
}

// reads reports whether instructions have an operation.
func reads(list []code.Instr, o code.Op) bool {
	for i := range list {
		if list[i].Op == o {
			return true
		}
	}
	return false
}

// least sets a local to the number of rows that are live in all lanes.
func (r *fastRows) least(end int) {
	r.live(r.t.Table, 0)
	r.f.op("local.set", end)
	if r.lanes > 1 {
		r.f.op("local.get", end)
		r.live(r.t.Table, 1)
		r.f.op("local.get", end)
		r.live(r.t.Table, 1)
		r.f.op("i32.lt_s")
		r.f.op("select")
		r.f.op("local.set", end)
	}
}

// fewer leaves 1, or 0 where there is no live row.
func (r *fastRows) fewer(lane int) {
	r.live(r.t.Table, lane)
	r.f.op("i32.const", 0)
	r.f.op("i32.gt_s")
}

// edge computes rows with care in every lane.
func (r *fastRows) edge(from, to func(lane int)) {
	for lane := range r.lanes {
		r.f.op("i32.const", 8*lane)
		from(lane)
		to(lane)
		r.f.call(r.care)
	}
}

// blockEnd sets the end of the block that begins at from.
func (r *fastRows) blockEnd(end int) {
	f := r.f
	f.op("local.get", end)
	f.op("local.get", r.from)
	f.op("i32.const", blockRows)
	f.op("i32.add")
	f.op("local.tee", r.to)
	f.op("local.get", end)
	f.op("local.get", r.to)
	f.op("i32.lt_s")
	f.op("select")
	f.op("local.set", r.to)
}

// inner is the loop over the rows of a block.
func (r *fastRows) inner(list []code.Instr, result int32) {
	r.f.op("local.get", r.from)
	r.f.op("local.set", r.row)
	r.placeRow()
	r.f.op("loop")
	r.rowOf(list, r.t.Column, result)
	r.f.add(r.entry, 8*r.lanes)
	r.f.add(r.row, 1)
	r.f.op("local.get", r.row)
	r.f.op("local.get", r.to)
	r.f.op("i32.lt_s")
	r.f.op("br_if", 0)
	r.f.op("end")
}

// keepBad keeps what the part that is run once has found in a local, or
// returns -1 where it looks at nothing.
func (b *body) keepBad() int {
	if b.bad[0] < 0 {
		return -1
	}
	once := b.f.local(b.numberType())
	b.badSum()
	b.f.op("local.set", once)
	return once
}

// restoreBad starts a block.
func (b *body) restoreBad(once int) {
	for i := range b.bad {
		if b.bad[i] < 0 {
			b.bad[i] = b.f.local(b.numberType())
		}
		if once >= 0 && i == 0 {
			b.f.op("local.get", once)
		} else {
			b.constant(0)
		}
		b.f.op("local.set", b.bad[i])
	}
}

// repairBlock computes the block with care in the lanes that need it.
func (r *fastRows) repairBlock() {
	f := r.f
	now := f.local(typeI32)
	r.badBits()
	f.op("local.tee", now)
	f.op("if")
	for lane := range r.lanes {
		f.op("local.get", now)
		f.op("i32.const", 1<<lane)
		f.op("i32.and")
		f.op("if")
		f.op("i32.const", 8*lane)
		f.op("local.get", r.from)
		f.op("local.get", r.to)
		f.call(r.care)
		f.op("end")
	}
	f.op("local.get", r.bits)
	f.op("local.get", now)
	f.op("i32.or")
	f.op("local.set", r.bits)
	f.op("end")
}

// judge settles a condition over a table's rows, in both run and care.
func (e *emitter) judge(t *code.Task) {
	for _, b := range []*body{e.run, e.care} {
		for lane := range e.lanes {
			b.judgeLane(t, lane)
		}
	}
}

func (b *body) judgeLane(t *code.Task, lane int) {
	f := b.f
	row, value := f.local(typeI32), f.local(typeF64)
	b.entries(t.Column, lane, 0)
	b.end(t.Table, lane)
	f.op("i32.eqz")
	f.call("Holds")
	f.op("local.set", row)
	f.op("local.set", value)
	b.laneAt(lane)
	f.op("local.get", value)
	f.op("f64.store", b.register(t.Reg))
	f.op("local.get", row) // the row where until was a fault decides if no other does
	f.op("i32.const", 0)
	f.op("i32.lt_s")
	b.end(t.Table, lane)
	f.op("i32.const", 2)
	f.op("i32.eq")
	f.op("i32.and")
	f.op("if")
	b.live(t.Table, lane)
	f.op("local.set", row)
	f.op("end")
	b.laneAt(lane)
	f.op("local.get", row)
	f.op("f64.convert_i32_s")
	f.op("f64.store", b.register(t.RowReg))
}
