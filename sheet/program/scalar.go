package program

import "gearleaf/sheet/kernel"

// scalar runs code on one value a register: a sheet's scalars in one go, or
// the row of a loop.
func (mc *Machine) scalar(code []instr, row int) {
	if i := quick(code, mc.r, mc.near, 0); i < len(code) {
		mc.scalarFrom(code, mc.r, i, row)
	}
}

// scalarFrom goes on where quick could not, from instruction i on.
func (mc *Machine) scalarFrom(code []instr, r []float64, i, row int) {
	for i < len(code) {
		r[code[i].dst] = mc.slow(&code[i], r, row)
		i = quick(code, r, mc.near, i+1)
	}
}

// slow returns the result of any one instruction on registers r, as ops and
// the kernel have it.
func (mc *Machine) slow(in *instr, r []float64, row int) float64 {
	o := &ops[in.op]
	if o.d == kept {
		return mc.slowPair(in, r, o.pair)
	}
	switch {
	case o.f1 != nil:
		return o.f1(r[in.a])
	case o.f2 != nil:
		return o.f2(r[in.a], r[in.b])
	case o.f3 != nil:
		return o.f3(r[in.a], r[in.b], r[in.c])
	case o.f4 != nil:
		return o.f4(r[in.a], r[in.b], r[in.c], r[in.d])
	}
	switch in.op {
	case opCall1:
		return mc.intrinsics[in.c].Apply1(r[in.a])
	case opCall2:
		return mc.intrinsics[in.c].Apply2(r[in.a], r[in.b])
	case opLoad:
		return mc.columns[in.a].one[row]
	case opLoadPrev:
		return mc.before(in.a, row)
	case opLoadNext:
		return mc.after(in.a, row)
	case opRow:
		return float64(row + 1)
	case opReduce:
		return mc.reduce(in.a, kernel.Aggregate(in.b))
	case opIndex:
		return mc.index(r[in.a], in.b)
	case opLook:
		return mc.look(r[in.a], in.c)
	}
	panic("program: an instruction that slow does not know")
}

// slowPair is slow for two operations in one.
func (mc *Machine) slowPair(in *instr, r []float64, p pair) float64 {
	var t float64
	if p.first == opLook {
		t = mc.look(r[in.a], in.b)
	} else {
		t = ops[p.first].f2(r[in.a], r[in.b])
	}
	x, y := t, r[in.c]
	if p.turned {
		x, y = y, x
	}
	r[in.d] = t
	return ops[p.second].f2(x, y)
}

// before returns a column's value in the row above, where all lanes agree.
func (mc *Machine) before(column int32, row int) float64 {
	if row == 0 {
		return kernel.Blank
	}
	return mc.columns[column].one[row-1]
}

// after returns a column's value in the row below, where all lanes agree.
func (mc *Machine) after(column int32, row int) float64 {
	c := &mc.columns[column]
	switch what := mc.tables[c.table].live.at(row+1, len(c.one), c.computed); what {
	case stands:
		return c.one[row+1]
	case gone:
		return kernel.Blank
	}
	return kernel.Fault
}

// whole returns a column's live entries where all lanes agree; ok is false
// where it is not known how many rows there are.
func (mc *Machine) whole(column int32) (entries []float64, ok bool) {
	c := &mc.columns[column]
	live := mc.tables[c.table].live
	return c.one[:live.rows], live.end == ended
}

func (mc *Machine) reduce(column int32, how kernel.Aggregate) float64 {
	entries, ok := mc.whole(column)
	if !ok {
		return kernel.Fault
	}
	return kernel.Reduce(how, entries)
}

func (mc *Machine) index(row float64, column int32) float64 {
	entries, ok := mc.whole(column)
	if !ok {
		return kernel.Fault
	}
	return kernel.Index(row, entries)
}

func (mc *Machine) look(x float64, curve int32) float64 {
	if c := mc.curve(curve); c != nil {
		return c.At(x)
	}
	return kernel.Fault
}

// curve returns a curve on which all lanes agree, nil where it is not known
// how many rows its table has.
func (mc *Machine) curve(i int32) *kernel.Curve {
	c := &mc.curves[i]
	if !c.fresh {
		xs, ok := mc.whole(c.xs)
		ys, _ := mc.whole(c.ys)
		if c.known = ok; ok {
			c.one.Prepare(xs, ys)
			mc.near[i] = c.one
		}
		c.fresh = true
	}
	if !c.known {
		return nil
	}
	return c.one
}

// stale says that a curve is to be prepared anew.
func (mc *Machine) stale(i int32) {
	mc.curves[i].fresh, mc.curves[i].block = false, -1
	mc.near[i] = unknown
}

// unknown is a curve that is near nothing.
var unknown = kernel.NewCurve(kernel.Linear, 0)
