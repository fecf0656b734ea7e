package program

import "gearleaf/sheet/kernel"

// scalarBlock computes a scalar for a block of lanes.
func (mc *Machine) scalarBlock(t *task) bool {
	b := &mc.b
	now := mc.wide[t.reg][b.from : b.from+b.n]
	if b.watch {
		copy(b.old, now)
	}
	mc.runCode(mc.code(t.body))
	if !b.watch {
		return true
	}
	for i, v := range now {
		if !same(b.old[i], v) {
			return true
		}
	}
	return false
}

// columnBlock computes a column for a block of lanes, a row at a time.
func (mc *Machine) columnBlock(t *task) bool {
	mc.runCode(mc.code(t.pre))
	if !mc.b.watch {
		mc.columnInto(t)
		return true
	}
	moved := false
	code := t.start()
	for row := range mc.longest(t.table) {
		mc.b.row = row
		mc.runCode(mc.code(code))
		code = t.body
		mc.markOver(t.table, row)
		if mc.keepLanes(t.column, row, mc.out()) {
			moved = true
		}
	}
	if moved {
		mc.staleCurves(t.column)
	}
	return moved
}

// start is the code for the first row.
func (t *task) start() code {
	if t.first.empty() {
		return t.body
	}
	return t.first
}

// out is the first register of the frame.
func (mc *Machine) out() int32 { return int32(len(mc.wide)) }

// columnInto computes a column right where it is kept. Lanes whose table has
// ended above get values too, which nobody sees.
func (mc *Machine) columnInto(t *task) {
	own := mc.b.room[0]
	code := t.start()
	for row := range mc.longest(t.table) {
		mc.b.row = row
		d := mc.aim(0, t.column, row)
		mc.runCode(mc.code(code))
		code = t.body
		mc.land(mc.out(), d)
	}
	mc.b.room[0] = own
	mc.staleCurves(t.column)
}

// aim makes a row of a column the room of a slot of the frame.
func (mc *Machine) aim(slot int32, column int32, row int) []float64 {
	at := row*mc.lanes + mc.b.from
	d := mc.columns[column].wide[at : at+mc.b.n]
	mc.b.room[slot] = d
	return d
}

// land brings the value of a register to d, unless it was computed there.
func (mc *Machine) land(reg int32, d []float64) {
	switch v := mc.operand(reg); {
	case v.v == nil:
		fill(d, v.s)
	case &v.v[0] != &d[0]:
		copy(d, v.v)
	}
}

// longest returns the most live rows that a lane of the block has.
func (mc *Machine) longest(table int32) int {
	t := &mc.tables[table]
	if t.each == nil {
		return int(t.live.rows)
	}
	most := int32(0)
	for _, l := range t.each[mc.b.from : mc.b.from+mc.b.n] {
		most = max(most, l.rows)
	}
	return int(most)
}

// markOver notes the lanes whose table ends above row.
func (mc *Machine) markOver(table int32, row int) {
	t := &mc.tables[table]
	if t.each == nil {
		clear(mc.b.over[:mc.b.n])
		return
	}
	for i := range mc.b.n {
		mc.b.over[i] = row >= int(t.each[mc.b.from+i].rows)
	}
}

// keepLanes stores a row of a column for the lanes whose table goes on.
func (mc *Machine) keepLanes(column int32, row int, reg int32) bool {
	b := &mc.b
	at := row*mc.lanes + b.from
	d := mc.columns[column].wide[at : at+b.n]
	v := mc.spread(mc.operand(reg), 0)[:len(d)]
	over := b.over[:len(d)]
	moved := false
	for i := range d {
		if !over[i] && !same(d[i], v[i]) {
			d[i], moved = v[i], true
		}
	}
	return moved
}

// loopBlock computes a table's looped columns for a block of lanes: row by
// row, until the tables of all lanes have ended.
func (mc *Machine) loopBlock(t *task) bool {
	b := &mc.b
	mc.runCode(mc.code(t.pre))
	clear(b.over[:b.n])
	for i := range b.n {
		b.live[i] = mc.unended(t)
	}
	left, moved := b.n, !b.watch // in a Run nobody asks
	code := t.first
	mc.saveRoom(t)
	for row := 0; row < mc.p.m.Tables[t.table].Rows && left > 0; row++ {
		b.row = row
		if b.watch {
			mc.runCode(mc.code(code))
			for i := range t.loop {
				if mc.keepLanes(t.loop[i].column, row, t.loop[i].now) {
					moved = true
				}
			}
			mc.moveUp(t)
		} else {
			mc.rowInto(t, code)
		}
		code = t.body
		if t.until != noReg {
			left -= mc.endLanes(t.until, row)
		}
	}
	mc.restoreRoom(t)
	return mc.endLoopLanes(t, moved)
}

// rowInto computes a row of a loop right where its columns are kept, and the
// values of the row above are read there. Lanes whose table has ended above
// get values too, which nobody sees.
func (mc *Machine) rowInto(t *task, c code) {
	b, base := &mc.b, mc.out()
	for i := range t.loop {
		mc.aim(t.loop[i].now-base, t.loop[i].column, b.row)
	}
	mc.runCode(mc.code(c))
	for i := range t.loop {
		l := &t.loop[i]
		slot := l.now - base
		d := b.room[slot][:b.n]
		mc.land(l.now, d)
		if l.before == noReg {
			continue
		}
		if b.vec[slot] == nil {
			b.vec[l.before-base], mc.r[l.before] = nil, mc.r[l.now]
		} else {
			b.vec[l.before-base] = d
		}
	}
}

// saveRoom remembers the room of a loop's columns in the frame.
func (mc *Machine) saveRoom(t *task) {
	mc.b.saved = mc.b.saved[:0]
	for i := range t.loop {
		mc.b.saved = append(mc.b.saved, mc.b.room[t.loop[i].now-mc.out()])
	}
}

func (mc *Machine) restoreRoom(t *task) {
	if mc.b.watch {
		return // moveUp has changed rooms about
	}
	for i := range t.loop {
		mc.b.room[t.loop[i].now-mc.out()] = mc.b.saved[i]
	}
}

// moveUp makes this row's values those of the row above, for the next row.
func (mc *Machine) moveUp(t *task) {
	b, base := &mc.b, len(mc.wide)
	for i := range t.loop {
		l := &t.loop[i]
		if l.before == noReg {
			continue
		}
		now, before := int(l.now)-base, int(l.before)-base
		v := b.vec[now]
		switch {
		case v == nil:
			b.vec[before] = nil
			mc.r[l.before] = mc.r[l.now]
		case &v[0] == &b.room[now][0]: // the two swap their room
			b.room[now], b.room[before] = b.room[before], b.room[now]
			b.vec[before], b.vec[now] = v, nil
		default:
			copy(b.room[before], v)
			b.vec[before] = b.room[before]
		}
	}
}

// endLanes ends the lanes whose until says so after row and counts them.
func (mc *Machine) endLanes(until int32, row int) int {
	b := &mc.b
	w := mc.operand(until)
	if w.v == nil && w.s == 0 {
		return 0
	}
	n := 0
	for i, v := range mc.spread(w, 0) {
		if b.over[i] || v == 0 {
			continue
		}
		if turn := kernel.Until(v); turn != kernel.GoesOn {
			b.live[i], b.over[i] = endAt(row, turn), true
			n++
		}
	}
	return n
}

// endLoopLanes notes how far each lane's table went.
func (mc *Machine) endLoopLanes(t *task, moved bool) bool {
	b, table := &mc.b, &mc.tables[t.table]
	resized := false
	if table.each != nil {
		each := table.each[b.from : b.from+b.n]
		for i := range each {
			if each[i] != b.live[i] {
				each[i], resized = b.live[i], true
			}
		}
	}
	if resized {
		mc.staleTable(t.table)
	} else if moved {
		for _, l := range t.loop {
			mc.staleCurves(l.column)
		}
	}
	return moved || resized
}

// judgeBlock settles a condition over a table's rows for a block of lanes.
func (mc *Machine) judgeBlock(t *task) bool {
	moved := false
	c := &mc.columns[t.column]
	holding, live, ok := mc.holding(t)
	for i := range mc.b.n {
		lane := mc.b.from + i
		if ok && holding[i] == float64(live.rows) && live.end == ended {
			moved = mc.settleVerdict(t, lane, 1, -1) || moved
			continue
		}
		live := mc.live(t.table, lane)
		conditions := mc.scratch[0][:live.rows]
		for row := range conditions {
			conditions[row] = c.wide[row*mc.lanes+lane]
		}
		value, row := judge(conditions, live)
		moved = mc.settleVerdict(t, lane, value, row) || moved
	}
	return moved
}

// settleVerdict stores a verdict and reports whether it moved.
func (mc *Machine) settleVerdict(t *task, lane int, value, row float64) bool {
	v, r := &mc.wide[t.reg][lane], &mc.wide[t.row][lane]
	moved := !same(*v, value) || *r != row
	*v, *r = value, row
	return moved
}

// holding counts the rows of each lane in which a condition holds, where all
// lanes of the block have equally many.
func (mc *Machine) holding(t *task) (counts []float64, live liveRows, ok bool) {
	live, ok = mc.sameRows(t.table)
	counts = mc.b.spare[0][:mc.b.n]
	if !ok {
		return counts, live, false
	}
	clear(counts)
	c := &mc.columns[t.column]
	for row := range int(live.rows) {
		at := row*mc.lanes + mc.b.from
		for i, v := range c.wide[at : at+len(counts)] {
			counts[i] += v
		}
	}
	return counts, live, true
}
