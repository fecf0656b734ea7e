package program

import (
	"math"

	"gearleaf/sheet/kernel"
)

// scalar runs code on one value a register: a sheet's scalars in one go, or
// the row of a loop. It is a second spelling of the column ops, for speed;
// a test holds it to the first. What is not a number comes from a fault, a
// blank or an overflow: settle then asks the kernel.
func (mc *Machine) scalar(code []instr, row int) {
	r := mc.r
	for i := range code {
		in := &code[i]
		var v float64
		switch in.op {
		case opMove:
			v = r[in.a]
		case opAdd:
			v = r[in.a] + r[in.b]
		case opSub:
			v = r[in.a] - r[in.b]
		case opMul:
			v = r[in.a] * r[in.b]
		case opDiv:
			v = r[in.a] / r[in.b]
		case opPow:
			v = kernel.Pow(r[in.a], r[in.b])
		case opNeg:
			v = -r[in.a]
		case opLess:
			v = less(r[in.a], r[in.b])
		case opLessEqual:
			v = moreEqual(r[in.b], r[in.a])
		case opGreater:
			v = less(r[in.b], r[in.a])
		case opGreaterEqual:
			v = moreEqual(r[in.a], r[in.b])
		case opEqual:
			v = kernel.Equal(r[in.a], r[in.b])
		case opNotEqual:
			v = kernel.NotEqual(r[in.a], r[in.b])
		case opSameText:
			v = kernel.SameText(r[in.a], r[in.b])
		case opNotSameText:
			v = kernel.NotSameText(r[in.a], r[in.b])
		case opIf:
			switch cond := r[in.a]; cond {
			case 1:
				v = r[in.b]
			case 0:
				v = r[in.c]
			default:
				v = kernel.If(cond, 0, 0)
			}
		case opAnd:
			v = kernel.And(r[in.a], r[in.b])
		case opOr:
			v = kernel.Or(r[in.a], r[in.b])
		case opNot:
			v = kernel.Not(r[in.a])
		case opAbs:
			v = math.Abs(r[in.a])
		case opSqrt:
			v = math.Sqrt(r[in.a])
		case opLower:
			v = lower(r[in.a], r[in.b])
		case opHigher:
			v = higher(r[in.a], r[in.b])
		case opCall1:
			v = mc.intrinsics[in.c].Apply1(r[in.a])
		case opCall2:
			v = mc.intrinsics[in.c].Apply2(r[in.a], r[in.b])
		case opLoad:
			v = mc.columns[in.a].one[row]
		case opLoadPrev:
			v = mc.before(in.a, row)
		case opLoadNext:
			v = mc.after(in.a, row)
		case opRow:
			v = float64(row + 1)
		case opReduce:
			v = mc.reduce(in.a, kernel.Aggregate(in.b))
		case opIndex:
			v = mc.index(r[in.a], in.b)
		case opLook:
			v = mc.look(r[in.a], in.b)
		case opAddAdd:
			v = (r[in.a] + r[in.b]) + r[in.c]
		case opAddSub:
			v = (r[in.a] + r[in.b]) - r[in.c]
		case opAddFrom:
			v = r[in.c] - (r[in.a] + r[in.b])
		case opAddMul:
			v = float64((r[in.a] + r[in.b]) * r[in.c])
		case opAddDiv:
			v = (r[in.a] + r[in.b]) / r[in.c]
		case opAddInto:
			v = into(r[in.a]+r[in.b], r[in.c])
		case opSubAdd:
			v = (r[in.a] - r[in.b]) + r[in.c]
		case opSubSub:
			v = (r[in.a] - r[in.b]) - r[in.c]
		case opSubFrom:
			v = r[in.c] - (r[in.a] - r[in.b])
		case opSubMul:
			v = float64((r[in.a] - r[in.b]) * r[in.c])
		case opSubDiv:
			v = (r[in.a] - r[in.b]) / r[in.c]
		case opSubInto:
			v = into(r[in.a]-r[in.b], r[in.c])
		case opMulAdd:
			v = float64(r[in.a]*r[in.b]) + r[in.c]
		case opMulSub:
			v = float64(r[in.a]*r[in.b]) - r[in.c]
		case opMulFrom:
			v = r[in.c] - float64(r[in.a]*r[in.b])
		case opMulMul:
			v = float64(float64(r[in.a]*r[in.b]) * r[in.c])
		case opMulDiv:
			v = float64(r[in.a]*r[in.b]) / r[in.c]
		case opMulInto:
			v = into(float64(r[in.a]*r[in.b]), r[in.c])
		case opDivAdd:
			v = (r[in.a] / r[in.b]) + r[in.c]
		case opDivSub:
			v = (r[in.a] / r[in.b]) - r[in.c]
		case opDivFrom:
			v = r[in.c] - (r[in.a] / r[in.b])
		case opDivMul:
			v = float64((r[in.a] / r[in.b]) * r[in.c])
		case opDivDiv:
			v = (r[in.a] / r[in.b]) / r[in.c]
		case opDivInto:
			v = into(r[in.a]/r[in.b], r[in.c])
		case opIfLess:
			switch v = less(r[in.a], r[in.b]); v {
			case 1:
				v = r[in.c]
			case 0:
				v = r[in.d]
			}
		case opIfMoreEqual:
			switch v = moreEqual(r[in.a], r[in.b]); v {
			case 1:
				v = r[in.c]
			case 0:
				v = r[in.d]
			}
		default:
			panic("program: an instruction that scalar does not know")
		}
		if v-v != 0 {
			v = mc.settle(in, v)
		}
		r[in.dst] = v
	}
}

// settle returns the result of an instruction whose bare result v was not a
// number, as the kernel has it.
func (mc *Machine) settle(in *instr, v float64) float64 {
	o, r := &ops[in.op], mc.r
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
	return v // from a column or an intrinsic: settled
}

// into returns c / t, not a number where t is not: c over an overflow would
// look like zero.
func into(t, c float64) float64 {
	if t-t != 0 {
		return t - t
	}
	return c / t
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
	c := &mc.curves[curve]
	if !c.fresh {
		xs, ok := mc.whole(c.xs)
		ys, _ := mc.whole(c.ys)
		if c.known = ok; ok {
			c.one.Prepare(xs, ys)
		}
		c.fresh = true
	}
	if !c.known {
		return kernel.Fault
	}
	return c.one.At(x)
}
