package wasm

import (
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// reading emits an instruction that reads more than registers: entries of
// columns, whole columns, curves.
func (b *body) reading(in *code.Instr) {
	switch in.Op {
	case code.Load:
		b.load(in.A, 0)
	case code.LoadPrev:
		b.before(in.A)
	case code.LoadNext:
		b.after(in.A)
	case code.RowNumber:
		b.perLane(func(int) { b.f.asm("local.get %d i32.const 1 i32.add f64.convert_i32_s", b.row) })
	case code.Reduce:
		b.aggregate(in)
	case code.Index:
		b.wholeColumn(in.B, func(lane int) {
			b.inLane(in.A, lane)
			b.entries(in.B, lane, 0)
			b.f.call("Index")
		})
	case code.Look:
		b.perLane(func(lane int) {
			b.curve(int(in.C), lane)
			b.inLane(in.A, lane)
			b.f.call("Curve.At")
		})
	default:
		panic("wasm: an operation without a form: " + code.Ops[in.Op].Name)
	}
}

// aggregate emits an aggregate of a column. The first and the last entry are
// read directly if all entries are known to be numbers: a loop has computed
// them, and no part before has needed its general form.
func (b *body) aggregate(in *code.Instr) {
	how := kernel.Aggregate(in.B)
	ends := b.looped[in.A] && (how == kernel.First || how == kernel.Last)
	switch {
	case b.care || !ends && b.width() == 1:
		b.reduce(in)
	case ends:
		b.f.op("local.get", bitsParam)
		b.noRows(in.A)
		b.f.asm("i32.or i32.eqz")
		b.either(func() { b.perLane(func(lane int) { b.endEntry(in.A, how, lane) }) }, func() { b.reduce(in) })
	default:
		b.noRows(in.A)
		b.f.op("i32.eqz")
		b.either(func() { b.reduceWide(in.A, how) }, func() { b.reduce(in) })
	}
}

// noRows leaves whether there is a lane in which a column has no rows or an
// unknown number of rows.
func (b *body) noRows(column int32) {
	table := b.p.Columns[column].Table
	for lane := range b.lanes {
		b.live(table, lane)
		b.f.op("i32.eqz")
		b.end(table, lane)
		if b.f.op("i32.or"); lane > 0 {
			b.f.op("i32.or")
		}
	}
}

// endEntry leaves the first or the last entry of a column in a lane.
func (b *body) endEntry(column int32, how kernel.Aggregate, lane int) {
	b.f.op("i32.const", 8*b.lanes)
	if how == kernel.Last {
		b.live(b.p.Columns[column].Table, lane)
		b.f.op("i32.mul")
	}
	b.f.op("f64.load", b.out.Columns[column].At+8*lane-8*b.lanes)
}

// reduce emits an aggregate lane by lane.
func (b *body) reduce(in *code.Instr) {
	b.wholeColumn(in.A, func(lane int) {
		b.f.op("i32.const", int(in.B))
		b.entries(in.A, lane, 0)
		b.f.call("Reduce")
	})
}

// load leaves a column's entry, rows away from the current one.
func (b *body) load(column int32, rows int) {
	b.f.op("local.get", b.entry)
	b.op("f64.load", b.out.Columns[column].At+8*b.lanes*rows)
}

// before leaves the entry in the row above, a blank in the first row. The fast
// form never computes the first row.
func (b *body) before(column int32) {
	if !b.care {
		b.load(column, -1)
		return
	}
	b.f.op("local.get", b.row)
	b.either(func() { b.load(column, -1) }, func() { b.constant(kernel.Blank) })
}

// after leaves the entry in the row below: in the last live row a blank or, if
// until was a fault, a fault for a computed column. The fast form never
// computes the last row.
func (b *body) after(column int32) {
	if !b.care {
		b.load(column, 1)
		return
	}
	c, below := &b.p.Columns[column], func() { b.load(column, 1) }
	past := below
	if c.Computed {
		past = func() { b.constant(kernel.Fault) }
	}
	b.nextRow()
	b.live(c.Table, 0)
	b.f.op("i32.lt_s")
	b.either(below, func() {
		b.end(c.Table, 0)
		b.f.asm("i32.const %d i32.eq", broken)
		b.nextRow()
		b.f.asm("i32.const %d i32.lt_s i32.and", c.Rows)
		b.either(past, func() { b.constant(kernel.Blank) })
	})
}

// nextRow leaves the number of the next row.
func (b *body) nextRow() { b.f.asm("local.get %d i32.const 1 i32.add", b.row) }

// laneAt leaves a lane's offset in bytes; a general form has it as a parameter.
func (b *body) laneAt(lane int) {
	switch {
	case b.care:
		b.f.op("local.get", 0)
	case lane == 0 && b.zero >= 0:
		b.f.op("local.get", b.zero)
	default:
		b.f.op("i32.const", 8*lane)
	}
}

// live leaves the number of live rows of a table in a lane, end how it ended.
func (b *body) live(table int32, lane int) {
	b.laneAt(lane)
	b.f.op("i32.load", b.out.Tables[table].Live)
}

func (b *body) end(table int32, lane int) {
	b.laneAt(lane)
	b.f.op("i32.load", b.out.Tables[table].End)
}

// inLane leaves the number of a register in one lane.
func (b *body) inLane(r int32, lane int) {
	b.number(r)
	if b.width() == 2 {
		b.f.op("f64x2.extract_lane", lane)
	}
}

// wholeColumn leaves the result of write for a column in each lane, a fault if
// the number of rows is not known.
func (b *body) wholeColumn(column int32, write func(lane int)) {
	b.perLane(func(lane int) {
		b.end(b.p.Columns[column].Table, lane)
		b.f.asm("if f64")
		b.f.number(kernel.Fault)
		b.f.op("else")
		b.scoped(func() { write(lane) })
		b.f.op("end")
	})
}

// entries leaves the address and the number of a column's live entries in a
// lane; for two lanes it gathers them in a scratch area.
func (b *body) entries(column int32, lane, scratch int) {
	table := b.p.Columns[column].Table
	b.f.op("i32.const", b.out.Columns[column].At)
	if b.lanes > 1 {
		b.laneAt(lane)
		b.f.op("i32.add")
		b.live(table, lane)
		b.f.op("i32.const", b.scratch[scratch])
		b.f.call("gather")
	}
	b.live(table, lane)
}

// gather is the function that copies entries that are stride bytes apart. Its
// parameters are the address of the first, the number and the destination; it
// returns the destination.
func gather(stride int) *function {
	f := &function{name: "gather", params: []byte{typeI32, typeI32, typeI32}, results: []byte{typeI32}}
	to := f.local(typeI32)
	f.asm("local.get 2 local.set %d block loop local.get 1 i32.eqz br_if 1", to)
	f.asm("local.get %d local.get 0 f64.load 0 f64.store 0", to)
	f.add(to, 8)
	f.add(0, stride)
	f.add(1, -1)
	f.asm("br 0 end end local.get 2")
	return f
}

// add adds to a local.
func (f *function) add(local, n int) {
	f.asm("local.get %d i32.const %d i32.add local.set %d", local, n, local)
}

// curve leaves the address of a curve in a lane.
func (b *body) curve(i, lane int) {
	if !b.care {
		b.f.op("i32.const", b.out.Curves[i].At+lane*curveSize)
		return
	}
	b.f.asm("local.get 0 i32.const %d i32.mul i32.const %d i32.add", curveSize/8, b.out.Curves[i].At)
}

// prepareLanes prepares a curve for look-ups in every lane.
func (b *body) prepareLanes(i int) {
	c := &b.p.Curves[i]
	for lane := range b.lanes {
		b.end(b.p.Columns[c.Xs].Table, lane)
		b.f.op("if")
		b.curve(i, lane)
		b.f.call("Curve.Fail")
		b.f.op("else")
		b.curve(i, lane)
		b.entries(c.Xs, lane, 0)
		b.entries(c.Ys, lane, 1)
		b.f.call("Curve.Prepare")
		b.f.op("end")
	}
}
