package program

import "gearleaf/sheet/kernel"

// code returns the instructions of c.
func (mc *Machine) code(c code) []instr { return mc.p.code[c.from:c.to] }

// columnOnce computes a column on which all lanes agree, its rows in blocks.
func (mc *Machine) columnOnce(t *task) bool {
	mc.scalar(mc.code(t.pre), 0)
	b := &mc.b
	clear(b.vec[:t.slots])
	b.rows = true
	moved := false
	rows := int(mc.tables[t.table].live.rows)
	row := 0
	if !t.first.empty() && rows > 0 {
		moved = mc.rowsOnce(t, t.first, 0, 1)
		row = 1
	}
	for ; row < rows; row += blockLanes {
		if mc.rowsOnce(t, t.body, row, min(blockLanes, rows-row)) {
			moved = true
		}
	}
	if moved {
		mc.staleCurves(t.column)
	}
	return moved
}

// rowsOnce computes n rows of a column from row on.
func (mc *Machine) rowsOnce(t *task, c code, row, n int) bool {
	mc.b.row, mc.b.n = row, n
	to := mc.columns[t.column].one[row : row+n]
	if mc.b.watch || len(mc.p.ofCurve[t.column]) > 0 {
		mc.runCode(mc.code(c))
		return store(to, mc.operand(mc.out()))
	}
	own := mc.b.room[0]
	mc.b.room[0] = to
	mc.runCode(mc.code(c))
	mc.land(mc.out(), to)
	mc.b.room[0] = own
	return true // nobody asks
}

// store stores values and reports whether one moved.
func store(d []float64, w wide) bool {
	moved := false
	if w.v == nil {
		for i := range d {
			if !same(d[i], w.s) {
				d[i], moved = w.s, true
			}
		}
		return moved
	}
	v := w.v[:len(d)]
	for i := range d {
		if !same(d[i], v[i]) {
			d[i], moved = v[i], true
		}
	}
	return moved
}

// loopOnce computes a table's looped columns row by row.
func (mc *Machine) loopOnce(t *task) bool {
	mc.scalar(mc.code(t.pre), 0)
	size := mc.p.m.Tables[t.table].Rows
	live := mc.unended(t)
	k := mc.keeper(t)
	moved := !mc.b.watch // in a Run nobody asks
	code := mc.code(t.first)
	for row := range size {
		if at := quick(code, mc.r, mc.near, 0); at < len(code) {
			mc.scalarFrom(code, mc.r, at, row)
		}
		moved = moved || k.moves(row)
		k.keep(row)
		code = mc.code(t.body)
		if t.until == noReg || mc.r[t.until] == 0 {
			continue
		}
		if turn := kernel.Until(mc.r[t.until]); turn != kernel.GoesOn {
			live = endAt(row, turn)
			break
		}
	}
	return mc.endLoop(t, live, moved)
}

// unended is how far the table of a loop goes if no until ends it.
func (mc *Machine) unended(t *task) liveRows {
	table := mc.p.m.Tables[t.table]
	live := liveRows{rows: int32(table.Rows), end: ended}
	if t.until != noReg || table.Fault != "" {
		live.end = never
	}
	return live
}

// endLoop notes how far the table went and that its columns moved.
func (mc *Machine) endLoop(t *task, live liveRows, moved bool) bool {
	table := &mc.tables[t.table]
	resized := table.live != live
	table.live = live
	if resized {
		mc.staleTable(t.table)
	} else if moved {
		for _, l := range t.loop {
			mc.staleCurves(l.column)
		}
	}
	return moved || resized
}

// staleTable says that the live rows of a table have changed.
func (mc *Machine) staleTable(table int32) {
	for i := range mc.curves {
		if c := &mc.curves[i]; mc.columns[c.xs].table == table || mc.columns[c.ys].table == table {
			mc.stale(int32(i))
		}
	}
}

// endAt is how far a table goes whose until ended it in row.
func endAt(row int, turn kernel.Turn) liveRows {
	if turn == kernel.Breaks {
		return liveRows{rows: int32(row), end: broken}
	}
	return liveRows{rows: int32(row + 1), end: ended}
}

// keeper puts the rows of a table away while they are computed one by one:
// for each column there is a register with the row's value in now, one in which
// it stands for the next row in before, and the rows themselves.
type keeper struct {
	now, before []float64
	rows        [][]float64
}

// keeper returns what puts the rows of a loop away.
func (mc *Machine) keeper(t *task) keeper {
	n, frame := len(t.loop), mc.r[mc.out():]
	mc.kept = mc.kept[:0]
	for _, l := range t.loop {
		mc.kept = append(mc.kept, mc.columns[l.column].one)
	}
	return keeper{now: frame[:n], before: frame[n : 2*n], rows: mc.kept}
}

// keep stores a row on which all lanes agree and moves it up.
func (k *keeper) keep(row int) {
	before, rows := k.before[:len(k.now)], k.rows[:len(k.now)]
	for i, v := range k.now {
		before[i], rows[i][row] = v, v
	}
}

// moves reports whether a row differs from what is stored of it.
func (k *keeper) moves(row int) bool {
	for i, v := range k.now {
		if !same(k.rows[i][row], v) {
			return true
		}
	}
	return false
}

// judgeOnce settles a condition over a table's rows.
func (mc *Machine) judgeOnce(t *task) bool {
	live := mc.tables[t.table].live
	value, row := judge(mc.columns[t.column].one, live)
	moved := !same(mc.r[t.reg], value) || mc.r[t.row] != row
	mc.r[t.reg], mc.r[t.row] = value, row
	return moved
}

// judge returns whether a condition holds in all live rows and the row that
// decides, -1 for none. The row in which until was a fault is at fault.
func judge(conditions []float64, live liveRows) (value, row float64) {
	value, at := kernel.Holds(conditions[:live.rows], live.end == ended)
	if at < 0 && live.end == broken {
		at = int(live.rows)
	}
	return value, float64(at)
}
