package program

import (
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// exec runs instructions: a sheet's scalars, or those of one row.
func (mc *Machine) exec(instrs []code.Instr, row int) {
	i := dispatch(instrs, mc.r, mc.columns, mc.near, row, 0)
	for i < len(instrs) {
		mc.r[instrs[i].Dst] = mc.slow(&instrs[i], row)
		i = dispatch(instrs, mc.r, mc.columns, mc.near, row, i+1)
	}
}

// slow returns the result of any instruction, by its row in code.Ops and the
// kernel.
func (mc *Machine) slow(in *code.Instr, row int) float64 {
	r := mc.r
	o := &code.Ops[in.Op]
	if o.D == code.Between {
		first, second, _ := in.Split(in.D)
		r[in.D] = mc.slow(&first, row)
		return mc.slow(&second, row)
	}
	if o.Pure() || o.C == code.Function {
		return in.Apply(mc.p.Model(), [4]float64{r[in.A], r[in.B], r[in.C], r[in.D]})
	}
	switch in.Op {
	case code.Load:
		return mc.columns[in.A][row]
	case code.LoadPrev:
		return mc.before(in.A, row)
	case code.LoadNext:
		return mc.after(in.A, row)
	case code.RowNumber:
		return float64(row + 1)
	case code.Reduce:
		return mc.reduce(in.A, kernel.Aggregate(in.B))
	case code.Index:
		return mc.index(r[in.A], in.B)
	case code.Look:
		return mc.look(r[in.A], in.C)
	}
	panic("program: an unknown operation")
}

// before returns a column's value in the row above.
func (mc *Machine) before(column int32, row int) float64 {
	if row == 0 {
		return kernel.Blank
	}
	return mc.columns[column][row-1]
}

// after returns a column's value in the row below.
func (mc *Machine) after(column int32, row int) float64 {
	c := &mc.p.Columns[column]
	switch mc.live[c.Table].at(row+1, c.Rows, c.Computed) {
	case present:
		return mc.columns[column][row+1]
	case gone:
		return kernel.Blank
	}
	return kernel.Fault
}

// whole returns a column's live entries; ok is false if the number of rows is
// not known.
func (mc *Machine) whole(column int32) (entries []float64, ok bool) {
	live := mc.live[mc.p.Columns[column].Table]
	return mc.columns[column][:live.rows], live.end == Ended
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
	c := &mc.curves[curve]
	if !c.fresh {
		mc.prepare(c, curve)
	}
	if !c.known {
		return kernel.Fault
	}
	return c.curve.At(x)
}

// prepare brings a curve up to date.
func (mc *Machine) prepare(c *curveState, number int32) {
	xs, ok := mc.whole(c.Xs)
	ys, _ := mc.whole(c.Ys)
	if c.known = ok; ok {
		c.curve.Prepare(xs, ys)
		mc.near[number] = c.curve
	}
	c.fresh = true
}

// stale marks a curve as out of date.
func (mc *Machine) stale(i int32) {
	mc.curves[i].fresh = false
	mc.near[i] = unprepared
}
