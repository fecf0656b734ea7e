package wasm

import (
	"fmt"

	"gearleaf/sheet/program/code"
)

func partName(n int) string { return fmt.Sprintf("part%d", n) }

// loop writes the columns of a table that are computed row by row.
func (e *emitter) loop(t *code.Task, parts [3][]code.Instr) {
	fast, care := e.part(nil), e.part(laneParam)
	care.care = true
	for _, b := range []*body{fast, care} {
		l := &looper{body: b, t: t, rows: e.p.Model.Tables[t.Table].Rows, before: map[int32]int{}}
		l.write(parts)
	}
	e.m.add(fast.f)
	e.addCare(care)
	e.run.f.call(fast.f.name)
	e.run.repair(care.f.name)
}

// looper writes one form of a loop.
type looper struct {
	*body
	t      *code.Task
	rows   int
	before map[int32]int // the locals that hold a column's value for the next row
	out    []int32       // the registers that a row leaves
}

// write writes the loop. A form with care leaves how far the table goes; the
// fast one gives up at the first row that is not all numbers.
func (l *looper) write(parts [3][]code.Instr) {
	f := l.f
	l.shape()
	l.unended()
	for _, c := range l.t.Loop {
		l.out = append(l.out, c.Now)
		if c.Before != code.NoReg {
			l.before[c.Now] = f.local(l.numberType())
		}
	}
	if l.t.Until != code.NoReg {
		l.out = append(l.out, l.t.Until)
	}
	f.op("block") // left when the table has ended
	l.lane()
	f.op("local.set", l.entry)
	l.section(parts[0], nil)
	l.preload(parts[1], parts[2])
	if l.rows > 0 {
		l.oneRow(parts[1], 0)
		f.op("loop")
		f.add(l.row, 1)
		f.add(l.entry, 8*l.lanes)
		f.op("local.get", l.row)
		f.op("i32.const", l.rows)
		f.op("i32.ge_s")
		f.op("br_if", 1)
		l.oneRow(parts[2], 1)
		f.op("br", 0)
		f.op("end")
	}
	f.op("end")
	if !l.care {
		l.badBits()
	}
	if l.width() == 2 { // the other lane was given up, too
		f.op("i32.eqz")
		f.op("i32.const", 1)
		f.op("i32.sub")
		f.op("i32.const", 3)
		f.op("i32.and")
	}
}

// unended sets how far the table goes if no until ends it.
func (l *looper) unended() {
	end := 0
	if table := l.p.Model.Tables[l.t.Table]; l.t.Until != code.NoReg || table.Fault != "" {
		end = 1
	}
	for lane := range l.width() {
		l.setLive(lane, func() { l.f.op("i32.const", l.rows) }, end)
	}
	if l.width() == 2 && l.t.Until != code.NoReg {
		l.active = l.f.local(typeV128)
		l.constant(0)
		l.f.op("v128.not")
		l.f.op("local.set", l.active)
	}
}

// setLive notes how many rows are live and how the table ended.
func (l *looper) setLive(lane int, rows func(), end int) {
	l.laneAt(lane)
	rows()
	l.f.op("i32.store", l.tables[l.t.Table])
	l.laneAt(lane)
	l.f.op("i32.const", end)
	l.f.op("i32.store", l.tables[l.t.Table]+4)
}

// oneRow writes a row; the end of the table leaves depth blocks.
func (l *looper) oneRow(list []code.Instr, depth int) {
	l.scoped(func() {
		for _, c := range l.t.Loop {
			if at, ok := l.before[c.Now]; ok {
				l.where[c.Before] = place{at, -1}
			}
		}
		l.section(list, l.out)
		for _, c := range l.t.Loop {
			l.storeEntry(c.Column, c.Now)
		}
		l.moveUp()
		if !l.care {
			l.badBits()
			l.f.op("br_if", depth)
		}
		if l.t.Until != code.NoReg {
			l.until(depth)
		}
	})
}

// moveUp makes the row the one before.
func (l *looper) moveUp() {
	for _, c := range l.t.Loop {
		if at, ok := l.before[c.Now]; ok {
			l.number(c.Now)
			l.f.op("local.set", at)
		}
	}
}

// until ends the table where its condition says so.
func (l *looper) until(depth int) {
	f := l.f
	switch {
	case l.care:
		turn := f.local(typeI32)
		l.number(l.t.Until)
		f.call("Until")
		f.op("local.tee", turn)
		f.op("if")
		// Ended behind this row, or broken in it: kernel.Ends is 1, Breaks 2.
		l.setLive(0, func() { l.behind(); f.op("local.get", turn); f.op("i32.const", 1); f.op("i32.sub"); f.op("i32.sub") }, 0)
		l.laneAt(0)
		f.op("local.get", turn)
		f.op("i32.const", 1)
		f.op("i32.sub")
		f.op("i32.const", 1)
		f.op("i32.shl")
		f.op("i32.store", l.tables[l.t.Table]+4)
		f.op("br", depth+1)
		f.op("end")
	case l.width() == 1:
		l.truth(l.t.Until)
		f.op("if")
		l.setLive(0, l.behind, 0)
		f.op("br", depth+1)
		f.op("end")
	default:
		l.untilLanes(depth)
	}
}

// untilLanes ends the table in the lanes that go on and whose condition holds.
func (l *looper) untilLanes(depth int) {
	f := l.f
	ends := f.local(typeI32)
	l.truth(l.t.Until)
	f.op("local.get", l.active)
	f.op("v128.and")
	f.op("i64x2.bitmask")
	f.op("local.tee", ends)
	f.op("if")
	for lane := range 2 {
		f.op("local.get", ends)
		f.op("i32.const", 1<<lane)
		f.op("i32.and")
		f.op("if")
		l.setLive(lane, l.behind, 0)
		f.op("end")
	}
	f.op("local.get", l.active)
	l.truth(l.t.Until)
	f.op("v128.andnot")
	f.op("local.tee", l.active)
	f.op("v128.any_true")
	f.op("i32.eqz")
	f.op("br_if", depth+1)
	f.op("end")
}
