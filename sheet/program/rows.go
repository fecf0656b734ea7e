package program

import (
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// Ending is how a table's rows ended.
type Ending uint8

// The endings.
const (
	Ended  Ending = iota // it has no until, or until held in the last live row
	Never                // until never held, or the table's file was not read
	Broken               // until was a fault
)

// liveRows is the extent of a table: its live rows or, if until was a fault,
// the rows before the fault.
type liveRows struct {
	rows int32
	end  Ending
}

// broken reports whether until was a fault in a row (from 0) or above it. Given
// values remain there; computed ones are faults.
func (l liveRows) broken(row int) bool { return l.end == Broken && row >= int(l.rows) }

// column computes a column whose rows do not depend on each other.
func (mc *Machine) column(t *code.Task) {
	mc.exec(mc.p.Code(t.Once), 0)
	entries := mc.columns[t.Column][:mc.live[t.Table].rows]
	instrs, out := mc.p.Code(t.First), &mc.r[len(mc.p.Initial)]
	if t.First.Empty() {
		instrs = mc.p.Code(t.Body)
	}
	for row := range entries {
		mc.exec(instrs, row)
		entries[row] = *out
		instrs = mc.p.Code(t.Body)
	}
	mc.stale(t.Column)
}

// loop computes a table's looped columns row by row.
func (mc *Machine) loop(t *code.Task) {
	mc.exec(mc.p.Code(t.Once), 0)
	table := mc.p.Model().Tables[t.Table]
	live := liveRows{rows: int32(table.Rows), end: Ended}
	if t.Until != code.NoReg || table.Fault != "" {
		live.end = Never
	}
	instrs := mc.p.Code(t.First)
	for row := range table.Rows {
		mc.exec(instrs, row)
		mc.keep(row, t.Loop)
		instrs = mc.p.Code(t.Body)
		if t.Until == code.NoReg || mc.r[t.Until] == 0 {
			continue
		}
		if turn := kernel.Until(mc.r[t.Until]); turn != kernel.GoesOn {
			live = endAt(row, turn)
			break
		}
	}
	mc.live[t.Table] = live
	for _, c := range table.Columns { // given ones too: they have other live rows
		mc.stale(c.Index)
	}
}

// endAt is the extent of a table whose until ended it in row.
func endAt(row int, turn kernel.Turn) liveRows {
	if turn == kernel.Breaks {
		return liveRows{rows: int32(row), end: Broken}
	}
	return liveRows{rows: int32(row + 1), end: Ended}
}

// keep stores a row of a loop's columns and makes it the row before. The first
// registers of the frame have the values of the current row, the next ones those
// of the row before.
func (mc *Machine) keep(row int, loop []code.Looped) {
	frame, n := mc.r[len(mc.p.Initial):], len(loop)
	now, before := frame[:n], frame[n:2*n]
	for i, v := range now {
		before[i], mc.columns[loop[i].Column][row] = v, v
	}
}

// judge evaluates a condition over a table's rows: whether it holds in all live
// rows, and the deciding row. The row in which until was a fault is a fault.
func (mc *Machine) judge(t *code.Task) {
	live := mc.live[t.Table]
	value, row := kernel.Holds(mc.columns[t.Column][:live.rows], live.end == Ended)
	if row < 0 && live.end == Broken {
		row = int(live.rows)
	}
	mc.r[t.Reg], mc.r[t.RowReg] = value, float64(row)
}
