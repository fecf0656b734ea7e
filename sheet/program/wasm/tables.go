package wasm

import (
	"slices"

	"gearleaf/sheet/program/code"
)

// sections are the instructions of a task of a table: those that run once, for
// the first row, and for each other row.
type sections struct{ once, first, body []code.Instr }

// once emits the section that runs once.
func (b *body) once(s sections) {
	var kept []int32
	for _, in := range slices.Concat(s.first, s.body) {
		in.Registers(func(at *int32) { kept = append(kept, *at) })
	}
	b.section(s.once, nil, kept)
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
		for lane := range e.lanes {
			e.run.judge(t, lane)
		}
	}
}

// blockRows is the number of rows of a column that are checked together.
const blockRows = 256

// column writes a column whose rows do not depend on each other, block by block.
// Both forms compute the rows from and to, as far as they are live.
func (e *emitter) column(t *code.Task, s sections) {
	fast, care := e.forms(typeI32, typeI32)
	care.careRows(t, s)
	fast.fastRows(t, s, care.f.name)
	f := e.run.f
	from := f.local(typeI32)
	f.asm("i32.const 0 local.set %d loop", from)
	e.pair(fast, care, func() { f.asm("local.get %d local.get %d i32.const %d i32.add", from, from, blockRows) })
	f.add(from, blockRows)
	f.op("i32.const", 0)
	for lane := range e.lanes {
		f.op("local.get", from)
		e.run.live(t.Table, lane)
		f.asm("i32.lt_s i32.or")
	}
	f.asm("br_if 0 end")
}

// The parameters of both forms of a column after the first.
const (
	fromParam = 1
	toParam   = 2
)

// careRows emits the general form of a column.
func (b *body) careRows(t *code.Task, s sections) {
	b.row, b.entry = fromParam, b.f.local(typeI32)
	b.once(s)
	b.preload(slices.Concat(s.first, s.body))
	b.live(t.Table, 0)
	b.f.atMost(toParam)
	b.rows(toParam, func() {
		if len(s.first) == 0 {
			b.rowOf(s.body, t.Column)
			return
		}
		b.f.asm("local.get %d i32.eqz if", b.row)
		b.rowOf(s.first, t.Column)
		b.f.op("else")
		b.rowOf(s.body, t.Column)
		b.f.op("end")
	})
}

// fastRows emits the fast form of a column. Rows without a neighbour that is
// read, and rows that only one of two lanes has, are computed by the general
// form.
func (b *body) fastRows(t *code.Task, s sections, care string) {
	f, next := b.f, reads(s.body, code.LoadNext)
	end := f.local(typeI32)
	b.row, b.entry = fromParam, f.local(typeI32)
	b.once(s)
	b.preload(s.body)
	if len(s.first) > 0 || reads(s.body, code.LoadPrev) {
		f.asm("local.get %d i32.eqz if i32.const 1 local.set %d", b.row, end)
		b.edge(care, end)
		f.asm("i32.const 1 local.set %d end", b.row)
	}
	f.asm("local.get %d local.set %d", toParam, end)
	for lane := range b.lanes {
		b.live(t.Table, lane)
		if next {
			f.asm("i32.const 1 i32.sub")
		}
		f.atMost(end)
	}
	b.rows(end, func() { b.rowOf(s.body, t.Column) })
	if b.lanes > 1 || next {
		b.edge(care, toParam)
	}
	b.badBits()
}

// atMost sets a local to what is on the stack, if that is less.
func (f *function) atMost(local int) {
	other := f.local(typeI32)
	f.asm("local.tee %d local.get %d local.get %d local.get %d i32.lt_s select local.set %d", other, local, other, local, local)
}

// edge computes the rows from the current one to a local's by the general form in
// every lane.
func (b *body) edge(care string, to int) {
	for lane := range b.lanes {
		b.f.asm("i32.const %d local.get %d local.get %d call %s", 8*lane, b.row, to, care)
	}
}

// rows emits a loop from the current row to a local's, which it does not include.
func (b *body) rows(end int, write func()) {
	b.f.asm("local.get %d i32.const %d i32.mul", b.row, 8*b.lanes)
	b.laneAt(0)
	b.f.asm("i32.add local.set %d", b.entry)
	b.f.asm("local.get %d local.get %d i32.lt_s if loop", b.row, end)
	write()
	b.f.add(b.entry, 8*b.lanes)
	b.f.add(b.row, 1)
	b.f.asm("local.get %d local.get %d i32.lt_s br_if 0 end end", b.row, end)
}

// rowOf emits one row of a column, whose value is in the first register of the
// frame.
func (b *body) rowOf(list []code.Instr, column int32) {
	result := int32(len(b.p.Initial))
	b.scoped(func() {
		b.section(list, []int32{result}, nil)
		b.storeEntry(column, result)
	})
}

// reads reports whether instructions have an operation.
func reads(list []code.Instr, o code.Op) bool {
	return slices.ContainsFunc(list, func(in code.Instr) bool { return in.Op == o })
}

// judge evaluates a condition over a table's rows in a lane.
func (b *body) judge(t *code.Task, lane int) {
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
