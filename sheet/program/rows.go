package program

import (
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// column computes a column whose rows do not depend on each other, and
// reports whether an entry changed.
func (mc *Machine) column(t *code.Task) bool {
	mc.exec(mc.p.Code(t.Once), 0)
	entries := mc.columns[t.Column][:mc.live[t.Table].rows]
	instrs, out := mc.p.Code(t.First), &mc.r[len(mc.p.Initial)]
	if t.First.Empty() {
		instrs = mc.p.Code(t.Body)
	}
	changed := false
	for row := range entries {
		mc.exec(instrs, row)
		if !same(entries[row], *out) {
			entries[row], changed = *out, true
		}
		instrs = mc.p.Code(t.Body)
	}
	if changed {
		mc.stale(t.Table)
	}
	return changed
}

// loop computes a table's looped columns row by row.
func (mc *Machine) loop(t *code.Task) bool {
	mc.exec(mc.p.Code(t.Once), 0)
	size := mc.p.Model().Tables[t.Table].Rows
	live := mc.unended(t)
	changed := false
	instrs := mc.p.Code(t.First)
	for row := range size {
		mc.exec(instrs, row)
		changed = mc.keep(row, t.Loop) || changed
		instrs = mc.p.Code(t.Body)
		if t.Until == code.NoReg || mc.r[t.Until] == 0 {
			continue
		}
		if turn := kernel.Until(mc.r[t.Until]); turn != kernel.GoesOn {
			live = endAt(row, turn)
			break
		}
	}
	changed = changed || mc.live[t.Table] != live
	mc.live[t.Table] = live
	if changed {
		mc.stale(t.Table)
	}
	return changed
}

// unended is the extent of the table of a loop if no until ends it.
func (mc *Machine) unended(t *code.Task) liveRows {
	table := mc.p.Model().Tables[t.Table]
	live := liveRows{rows: int32(table.Rows), end: Ended}
	if t.Until != code.NoReg || table.Fault != "" {
		live.end = Never
	}
	return live
}

// endAt is the extent of a table whose until ended it in row.
func endAt(row int, turn kernel.Turn) liveRows {
	if turn == kernel.Breaks {
		return liveRows{rows: int32(row), end: Broken}
	}
	return liveRows{rows: int32(row + 1), end: Ended}
}

// keep stores a row of a loop's columns, makes it the row before, and reports
// whether it differs from what was stored. The first registers of the frame have
// the values of the current row, the next ones those of the row before.
func (mc *Machine) keep(row int, loop []code.Looped) bool {
	frame, changed, n := mc.r[len(mc.p.Initial):], false, len(loop)
	now, before := frame[:n], frame[n:2*n]
	for i, v := range now {
		entries := mc.columns[loop[i].Column]
		changed = changed || !same(entries[row], v)
		before[i], entries[row] = v, v
	}
	return changed
}

// judge evaluates a condition over a table's rows: whether it holds in all live
// rows, and the deciding row. The row in which until was a fault is a fault.
func (mc *Machine) judge(t *code.Task) bool {
	live := mc.live[t.Table]
	value, row := kernel.Holds(mc.columns[t.Column][:live.rows], live.end == Ended)
	if row < 0 && live.end == Broken {
		row = int(live.rows)
	}
	changed := !same(mc.r[t.Reg], value) || mc.r[t.RowReg] != float64(row)
	mc.r[t.Reg], mc.r[t.RowReg] = value, float64(row)
	return changed
}
