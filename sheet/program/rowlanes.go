package program

import "gearleaf/sheet/kernel"

// scalarBlock computes a scalar for a block of lanes.
func (mc *Machine) scalarBlock(t *task) bool {
	b := &mc.b
	if !b.watch {
		mc.runCode(mc.code(t.body))
		return true
	}
	now := mc.wide[t.reg][b.from : b.from+b.n]
	copy(b.old, now)
	mc.runCode(mc.code(t.body))
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
	moved := false
	code := t.first
	if code.empty() {
		code = t.body
	}
	out := int32(len(mc.wide))
	for row := range mc.longest(t.table) {
		mc.b.row = row
		mc.runCode(mc.code(code))
		code = t.body
		mc.markOver(t.table, row)
		if mc.keepLanes(t.column, row, out) {
			moved = true
		}
	}
	if moved {
		mc.staleCurves(t.column)
	}
	return moved
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
	left, moved := b.n, false
	code := t.first
	for row := 0; row < mc.p.m.Tables[t.table].Rows && left > 0; row++ {
		b.row = row
		mc.runCode(mc.code(code))
		code = t.body
		for i := range t.loop {
			if mc.keepLanes(t.loop[i].column, row, t.loop[i].now) {
				moved = true
			}
		}
		mc.moveUp(t)
		if t.until != noReg {
			left -= mc.endLanes(t.until, row)
		}
	}
	return mc.endLoopLanes(t, moved)
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
	n := 0
	for i, v := range mc.spread(mc.operand(until), 0) {
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
	for i := range mc.b.n {
		lane := mc.b.from + i
		live := mc.live(t.table, lane)
		conditions := mc.scratch[0][:live.rows]
		for row := range conditions {
			conditions[row] = c.wide[row*mc.lanes+lane]
		}
		value, row := judge(conditions, live)
		if !same(mc.wide[t.reg][lane], value) || mc.wide[t.row][lane] != row {
			mc.wide[t.reg][lane], mc.wide[t.row][lane], moved = value, row, true
		}
	}
	return moved
}
