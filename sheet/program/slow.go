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
	switch {
	case o.D == code.Between:
		first, second, _ := in.Split(in.D)
		r[in.D] = mc.slow(&first, row)
		return mc.slow(&second, row)
	case o.Applies():
		return in.Apply(mc.p.Model(), [4]float64{r[in.A], r[in.B], r[in.C], r[in.D]})
	}
	return mc.read(in, r[in.A], row)
}

// read returns the result of an operation that reads columns, or the number of
// the row; a is the value of its operand A where that is a register.
func (mc *Machine) read(in *code.Instr, a float64, row int) float64 {
	switch in.Op {
	case code.Load:
		return mc.columns[in.A][row]
	case code.LoadPrev:
		return mc.before(in.A, row)
	case code.LoadNext:
		return mc.Entry(int(in.A), row+1)
	case code.RowNumber:
		return float64(row + 1)
	case code.Reduce:
		return mc.reduce(in.A, kernel.Aggregate(in.B))
	case code.Index:
		return mc.index(a, in.B)
	}
	return mc.look(a, in.C)
}

// before returns a column's value in the row above.
func (mc *Machine) before(column int32, row int) float64 {
	if row == 0 {
		return kernel.Blank
	}
	return mc.columns[column][row-1]
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
	if mc.near[curve] == unprepared {
		mc.prepare(curve)
	}
	return mc.curves[curve].At(x)
}

// prepare brings a curve up to date.
func (mc *Machine) prepare(number int32) {
	plan, c := mc.p.Curves[number], mc.curves[number]
	mc.near[number] = c
	if xs, ok := mc.whole(plan.Xs); ok {
		ys, _ := mc.whole(plan.Ys)
		c.Prepare(xs, ys)
	} else {
		c.Fail()
	}
}

// stale marks the curves that read a column as out of date.
func (mc *Machine) stale(column int32) {
	for i, c := range mc.p.Curves {
		if c.Xs == column || c.Ys == column {
			mc.near[i] = unprepared
		}
	}
}
