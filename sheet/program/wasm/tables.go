package wasm

import (
	"slices"

	"gearleaf/sheet/program/code"
)

// blockRows is the number of rows of a column that are checked together.
const blockRows = 64

// sections are the instructions of a task of a table: those that run once, for
// the first row, and for each other row.
type sections struct{ once, first, body []code.Instr }

// once emits the section that runs once.
func (b *body) once(s sections) {
	b.keep = map[int32]bool{}
	for _, in := range slices.Concat(s.first, s.body) {
		in.Registers(func(at *int32) { b.keep[*at] = true })
	}
	b.section(s.once, nil)
	b.keep = nil
}

// task writes a task of a table.
func (e *emitter) task(t *code.Task) {
	s := sections{e.expand(e.p.Code(t.Once)), e.expand(e.p.Code(t.First)), e.expand(e.p.Code(t.Body))}
	e.readyCurves(slices.Concat(s.once, s.first, s.body))
	if t.Kind == code.LoopTask {
		e.loop(t, s)
		return
	}
	e.column(t, s)
	if t.Kind == code.VerdictTask {
		e.judge(t)
	}
}

// startRows gives a body the locals of the current row.
func (b *body) startRows() { b.row, b.entry = b.f.local(typeI32), b.f.local(typeI32) }

// column writes a column whose rows do not depend on each other. Rows without a
// neighbour that is read, and rows that only one of two lanes has, are computed
// by the general form.
func (e *emitter) column(t *code.Task, s sections) {
	result := int32(len(e.p.Initial)) // the first register of the frame
	care := e.part([]byte{typeI32, typeI32, typeI32})
	care.care = true
	care.careRows(t, s, result)
	e.m.add(care.f)

	fast := e.fastPart()
	rows := &fastRows{body: fast, t: t, care: care.f.name, from: fast.f.local(typeI32), to: fast.f.local(typeI32), bits: fast.f.local(typeI32)}
	rows.write(s, result)
	e.m.add(fast.f)

	e.run.f.asm("local.get %d local.get %d", e.run.bits, e.run.bits)
	e.run.f.call(fast.f.name)
	e.run.f.asm("i32.or local.set %d", e.run.bits)
	for lane := range e.lanes {
		e.care.f.asm("i32.const %d i32.const 0", 8*lane)
		e.care.live(t.Table, lane)
		e.care.f.call(care.f.name)
	}
}

// careRows emits the general form of a column: parameters are the lane and the
// rows from and to.
func (b *body) careRows(t *code.Task, s sections, result int32) {
	b.startRows()
	b.once(s)
	b.preload(slices.Concat(s.first, s.body))
	b.f.asm("local.get 1 local.set %d block loop local.get %d local.get 2 i32.ge_s br_if 1", b.row, b.row)
	b.placeRow()
	if len(s.first) > 0 {
		b.f.asm("local.get %d i32.eqz if", b.row)
		b.rowOf(s.first, t.Column, result)
		b.f.op("else")
	}
	b.rowOf(s.body, t.Column, result)
	if len(s.first) > 0 {
		b.f.op("end")
	}
	b.f.add(b.row, 1)
	b.f.asm("br 0 end end")
}

// placeRow finds the current row's place in a column.
func (b *body) placeRow() {
	b.f.asm("local.get %d i32.const %d i32.mul", b.row, 8*b.lanes)
	b.laneAt(0)
	b.f.asm("i32.add local.set %d", b.entry)
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
	from, to, bits int // locals: the rows of a block, and the result of the form
}

func (r *fastRows) write(s sections, result int32) {
	f := r.f
	end := f.local(typeI32)
	r.startRows()
	r.once(s)
	r.preload(s.body)
	r.least(end)
	if len(s.first) > 0 || reads(s.body, code.LoadPrev) {
		r.edge(func(int) { f.op("i32.const", 0) }, func(lane int) { r.live(r.t.Table, lane); f.asm("i32.const 0 i32.gt_s") })
		f.asm("i32.const 1 local.set %d", r.from)
	}
	next := reads(s.body, code.LoadNext)
	if next {
		f.add(end, -1)
	}
	once := r.keepBad()
	f.asm("block loop local.get %d local.get %d i32.ge_s br_if 1", r.from, end)
	r.blockEnd(end)
	r.restoreBad(once)
	r.inner(s.body, result)
	r.repairBlock()
	f.asm("local.get %d local.set %d br 0 end end", r.to, r.from)
	if r.lanes > 1 || next {
		r.edge(func(int) { f.op("local.get", r.from) }, func(lane int) { r.live(r.t.Table, lane) })
	}
	f.op("local.get", r.bits)
}

// reads reports whether instructions have an operation.
func reads(list []code.Instr, o code.Op) bool {
	return slices.ContainsFunc(list, func(in code.Instr) bool { return in.Op == o })
}

// least sets a local to the number of rows that are live in all lanes.
func (r *fastRows) least(end int) {
	r.live(r.t.Table, 0)
	r.f.op("local.set", end)
	if r.lanes > 1 {
		other := r.f.local(typeI32)
		r.live(r.t.Table, 1)
		r.f.op("local.set", other)
		r.f.smaller(end, other, end)
	}
}

// smaller sets a local to the smaller of two others.
func (f *function) smaller(a, b, to int) {
	f.asm("local.get %d local.get %d local.get %d local.get %d i32.lt_s select local.set %d", a, b, a, b, to)
}

// edge computes rows by the general form in every lane.
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
	r.f.asm("local.get %d i32.const %d i32.add local.set %d", r.from, blockRows, r.to)
	r.f.smaller(end, r.to, r.to)
}

// inner is the loop over the rows of a block.
func (r *fastRows) inner(list []code.Instr, result int32) {
	r.f.asm("local.get %d local.set %d", r.from, r.row)
	r.placeRow()
	r.f.op("loop")
	r.rowOf(list, r.t.Column, result)
	r.f.add(r.entry, 8*r.lanes)
	r.f.add(r.row, 1)
	r.f.asm("local.get %d local.get %d i32.lt_s br_if 0 end", r.row, r.to)
}

// keepBad stores the result of the checks of the section that runs once in a
// local, or returns -1 if it checks nothing.
func (b *body) keepBad() int {
	if b.bad[0] < 0 {
		return -1
	}
	once := b.f.local(b.kind(typeF64))
	b.badSum()
	b.f.op("local.set", once)
	return once
}

// restoreBad starts a block.
func (b *body) restoreBad(once int) {
	for i := range b.bad {
		if b.bad[i] < 0 {
			b.bad[i] = b.f.local(b.kind(typeF64))
		}
		if once >= 0 && i == 0 {
			b.f.op("local.get", once)
		} else {
			b.constant(0)
		}
		b.f.op("local.set", b.bad[i])
	}
}

// repairBlock computes the block by the general form in the lanes that need it.
func (r *fastRows) repairBlock() {
	r.badBits()
	r.repair(r.bits, func(lane int) {
		r.f.asm("i32.const %d local.get %d local.get %d", 8*lane, r.from, r.to)
		r.f.call(r.care)
	})
}

// judge evaluates a condition over a table's rows, in both run and care.
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
	f.asm("local.set %d local.set %d", row, value)
	b.laneAt(lane)
	f.asm("local.get %d f64.store %d", value, b.register(t.Reg))
	// The row in which until was a fault decides if no other does.
	f.asm("local.get %d i32.const 0 i32.lt_s", row)
	b.end(t.Table, lane)
	f.asm("i32.const %d i32.eq i32.and if", broken)
	b.live(t.Table, lane)
	f.asm("local.set %d end", row)
	b.laneAt(lane)
	f.asm("local.get %d f64.convert_i32_s f64.store %d", row, b.register(t.RowReg))
}
