package wasm

import (
	"slices"

	"gearleaf/sheet/program/code"
)

// How a table ended, see TablePlace.
const (
	ended  = 0
	never  = 1
	broken = 2
)

// loop emits the columns of a table that are computed row by row.
func (e *emitter) loop(t *code.Task, s sections) {
	fast, care := e.forms()
	for _, b := range []*body{fast, care} {
		l := &looper{body: b, t: t, rows: e.p.Model.Tables[t.Table].Rows, before: map[int32]int{}}
		l.write(s)
	}
	e.pair(fast, care, func() {})
}

// looper emits one form of a loop.
type looper struct {
	*body
	t      *code.Task
	rows   int
	before map[int32]int // the locals that hold a column's value for the next row
	leaves []int32       // the live-out registers of a row
}

// write emits the loop, which leaves the extent of the table. The fast form
// continues after a row that is not all numbers, because a test would cost
// every row more.
func (l *looper) write(s sections) {
	f := l.f
	l.row, l.entry = f.local(typeI32), f.local(typeI32)
	l.unended()
	for _, c := range l.t.Loop {
		l.leaves = append(l.leaves, c.Now)
		if c.Before != code.NoReg {
			l.before[c.Now] = f.local(l.kind(typeF64))
		}
	}
	if l.t.Until != code.NoReg {
		l.leaves = append(l.leaves, l.t.Until)
	}
	f.op("block") // left when the table has ended
	l.laneAt(0)
	f.op("local.set", l.entry)
	l.once(s)
	l.preload(slices.Concat(s.first, s.body))
	if l.rows > 0 {
		l.oneRow(s.first, 0)
		f.op("loop")
		f.add(l.row, 1)
		f.add(l.entry, 8*l.lanes)
		f.asm("local.get %d i32.const %d i32.ge_s br_if 1", l.row, l.rows)
		l.oneRow(s.body, 1)
		f.asm("br 0 end")
	}
	f.op("end")
	if !l.care {
		l.badBits()
	}
}

// unended sets the extent of the table if no until ends it.
func (l *looper) unended() {
	end := ended
	if table := l.p.Model.Tables[l.t.Table]; l.t.Until != code.NoReg || table.Fault != "" {
		end = never
	}
	for lane := range l.width() {
		l.setLive(lane, func() { l.f.op("i32.const", l.rows) }, func() { l.f.op("i32.const", end) })
	}
	if l.width() == 2 && l.t.Until != code.NoReg {
		l.active = l.f.local(typeV128)
		l.constant(0)
		l.f.asm("v128.not local.set %d", l.active)
	}
}

// setLive stores the number of live rows and how the table ended.
func (l *looper) setLive(lane int, rows, end func()) {
	l.laneAt(lane)
	rows()
	l.f.op("i32.store", l.out.Tables[l.t.Table].Live)
	l.laneAt(lane)
	end()
	l.f.op("i32.store", l.out.Tables[l.t.Table].End)
}

// oneRow emits a row; the end of the table leaves depth blocks.
func (l *looper) oneRow(list []code.Instr, depth int) {
	l.scoped(func() {
		for _, c := range l.t.Loop {
			if at, ok := l.before[c.Now]; ok {
				l.where[c.Before] = local{at: at}
			}
		}
		l.section(list, l.leaves, nil)
		for _, c := range slices.Backward(l.t.Loop) { // the compiler's runtime then checks only one address
			l.storeEntry(c.Column, c.Now)
		}
		l.moveUp()
		if l.t.Until != code.NoReg {
			l.until(depth)
		}
	})
}

// moveUp makes the current row the previous one.
func (l *looper) moveUp() {
	for _, c := range l.t.Loop {
		if at, ok := l.before[c.Now]; ok {
			l.number(c.Now)
			l.f.op("local.set", at)
		}
	}
}

// until ends the table if its condition holds.
func (l *looper) until(depth int) {
	if l.care {
		l.untilCare(depth)
		return
	}
	f := l.f
	ends := f.local(typeI32)
	l.truth(l.t.Until)
	if l.active >= 0 {
		f.asm("local.get %d v128.and i64x2.bitmask", l.active)
	}
	f.asm("local.tee %d if", ends)
	for lane := range l.lanes {
		f.asm("local.get %d i32.const %d i32.and if", ends, 1<<lane)
		l.setLive(lane, l.nextRow, func() { f.op("i32.const", ended) })
		f.op("end")
	}
	if l.active < 0 {
		f.asm("br %d end", depth+1)
		return
	}
	f.op("local.get", l.active)
	l.truth(l.t.Until)
	f.asm("v128.andnot local.tee %d v128.any_true i32.eqz br_if %d end", l.active, depth+1)
}

// untilCare ends the table after this row, or aborts it in this row: of
// kernel.Turn, Ends is 1 and Breaks 2.
func (l *looper) untilCare(depth int) {
	f := l.f
	breaks := f.local(typeI32)
	l.number(l.t.Until)
	f.call("Until")
	f.asm("local.tee %d if local.get %d i32.const 1 i32.sub local.set %d", breaks, breaks, breaks)
	l.setLive(0, func() { l.nextRow(); f.asm("local.get %d i32.sub", breaks) }, func() { f.asm("local.get %d i32.const 1 i32.shl", breaks) })
	f.asm("br %d end", depth+1)
}
