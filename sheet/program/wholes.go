package program

import "gearleaf/sheet/kernel"

// agrees reports whether all lanes see the same entries of a column.
func (mc *Machine) agrees(column int32) bool {
	c := &mc.columns[column]
	return mc.b.rows || (c.wide == nil && mc.tables[c.table].each == nil)
}

// gather returns a column's live entries in one lane, copied together where
// they do not lie so; ok is false where it is not known how many there are.
func (mc *Machine) gather(column int32, lane, scratch int) (entries []float64, ok bool) {
	c := &mc.columns[column]
	live := mc.live(c.table, lane)
	if live.end != ended {
		return nil, false
	}
	if c.wide == nil {
		return c.one[:live.rows], true
	}
	d := mc.scratch[scratch][:live.rows]
	for row := range d {
		d[row] = c.wide[row*mc.lanes+lane]
	}
	return d, true
}

func (mc *Machine) reduceBlock(in *instr) {
	how := kernel.Aggregate(in.b)
	if mc.agrees(in.a) {
		mc.put1(in.dst, mc.reduce(in.a, how))
		return
	}
	d := mc.to(in.dst)
	if mc.reduceRows(d, in.a, how) {
		return
	}
	for i := range d {
		if entries, ok := mc.gather(in.a, mc.b.from+i, 0); ok {
			d[i] = kernel.Reduce(how, entries)
		} else {
			d[i] = kernel.Fault
		}
	}
}

// reduceRows reduces a column of numbers that goes equally far in all lanes,
// a row at a time, as it lies; ok is false where it is no such column.
func (mc *Machine) reduceRows(d []float64, column int32, how kernel.Aggregate) (ok bool) {
	c := &mc.columns[column]
	live, ok := mc.sameRows(c.table)
	if !ok || live.end != ended || c.wide == nil {
		return false
	}
	r := &mc.reducer
	r.Begin(how, len(d))
	for row := range int(live.rows) {
		at := row*mc.lanes + mc.b.from
		if !r.Row(c.wide[at : at+len(d)]) {
			return false
		}
	}
	for i := range d {
		d[i] = r.Value(i)
	}
	return true
}

// sameRows returns how far a table goes in all lanes of the block; ok is
// false where they differ.
func (mc *Machine) sameRows(table int32) (live liveRows, ok bool) {
	t := &mc.tables[table]
	if t.each == nil {
		return t.live, true
	}
	each := t.each[mc.b.from : mc.b.from+mc.b.n]
	for _, l := range each {
		if l != each[0] {
			return l, false
		}
	}
	return each[0], true
}

func (mc *Machine) indexBlock(in *instr) {
	row := mc.operand(in.a)
	if row.v == nil && mc.agrees(in.b) {
		mc.put1(in.dst, mc.index(row.s, in.b))
		return
	}
	x := mc.spread(row, 0)
	d := mc.to(in.dst)
	if mc.agrees(in.b) {
		for i, v := range x {
			d[i] = mc.index(v, in.b)
		}
		return
	}
	for i, v := range x {
		d[i] = mc.indexLane(v, in.b, mc.b.from+i)
	}
}

// indexLane is index in one lane of a column that differs: it reads the one
// entry alone.
func (mc *Machine) indexLane(row float64, column int32, lane int) float64 {
	live := mc.live(mc.columns[column].table, lane)
	switch {
	case live.end != ended:
		return kernel.Fault
	case row != row:
		return kernel.Join(row, row)
	}
	i := kernel.Row(row, int(live.rows))
	if i < 0 {
		return kernel.Fault
	}
	if v := mc.entry(column, i, lane); v == v {
		return v
	}
	return kernel.Fault
}

func (mc *Machine) lookBlock(in *instr) {
	x := mc.operand(in.a)
	if x.v == nil && mc.sameCurve(in.c) {
		mc.put1(in.dst, mc.look(x.s, in.c))
		return
	}
	mc.lookLanes(mc.to(in.dst), x, in.c)
}

// sameCurve reports whether all lanes of the block have one curve.
func (mc *Machine) sameCurve(curve int32) bool {
	c := &mc.curves[curve]
	return mc.agrees(c.xs) && mc.agrees(c.ys)
}

// lookLanes leaves in d what a curve, or that of each lane, has at x.
func (mc *Machine) lookLanes(d []float64, x wide, i int32) {
	c := &mc.curves[i]
	if mc.sameCurve(i) {
		if curve := mc.curve(i); curve != nil {
			curve.Lanes(d, x.v)
		} else {
			fill(d, kernel.Fault)
		}
		return
	}
	if c.block != mc.b.from {
		mc.prepare(c)
	}
	for i := range d {
		if c.knows[i] {
			d[i] = c.each[i].At(x.at(i))
		} else {
			d[i] = kernel.Fault
		}
	}
}

// prepare makes the curves of the lanes under way.
func (mc *Machine) prepare(c *curveState) {
	for i := range mc.b.n {
		xs, ok := mc.gather(c.xs, mc.b.from+i, 0)
		ys, _ := mc.gather(c.ys, mc.b.from+i, 1)
		if c.knows[i] = ok; ok {
			c.each[i].Prepare(xs, ys)
		}
	}
	c.block = mc.b.from
}
