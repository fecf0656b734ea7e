package program

import (
	"fmt"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// follow goes from a faulty value of a formula to the operation whose
// operands are no faults, or to what it read from elsewhere.
func (e *explorer) follow(r ref) (*place, string) {
	for {
		switch r.kind() {
		case toRegister:
			return &place{cell: e.mc.p.m.Cells[r.index()]}, ""
		case toConstant:
			return nil, "it cannot be computed"
		}
		v := &e.f.values[r.index()]
		next, found := e.faultyOperand(v)
		if !found {
			return e.source(v)
		}
		r = next
	}
}

// faultyOperand returns the operand that makes v a fault. A branch that is
// not taken does not.
func (e *explorer) faultyOperand(v *value) (ref, bool) {
	operands := []ref{ref(v.a), ref(v.b), ref(v.c)}[:e.arity(v.op)]
	switch {
	case v.op != opIf:
	case e.value(operands[0]) == 1:
		operands = operands[1:2]
	case e.value(operands[0]) == 0:
		operands = operands[2:]
	default:
		operands = operands[:1]
	}
	for _, r := range operands {
		if kernel.IsFault(e.value(r)) {
			return r, true
		}
	}
	return 0, false
}

// source says where the fault of v comes from, none of its operands being
// one: from a column that it reads, or from v itself.
func (e *explorer) source(v *value) (*place, string) {
	switch v.op {
	case opLoad:
		return e.entryAt(v.a, e.row), ""
	case opLoadPrev:
		return e.entryAt(v.a, e.row-1), ""
	case opLoadNext:
		return e.entryAt(v.a, e.row+1), ""
	case opReduce:
		if at := e.faulty(v.a); at != nil {
			return at, ""
		}
	case opIndex:
		if at := e.faultyIndex(v); at != nil {
			return at, ""
		}
	case opLook:
		c := e.f.p.curves[v.c]
		for _, column := range []int32{c.xs, c.ys} {
			if at := e.faulty(column); at != nil {
				return at, ""
			}
		}
	}
	cause := e.cause(v)
	if v.in != nil {
		cause += " (in " + v.in.Name + ")"
	}
	return nil, cause
}

func (e *explorer) entryAt(column int32, row int) *place {
	return &place{column: e.mc.p.m.Columns[column], row: row}
}

// faulty returns why a whole column is at fault: its table does not end, or
// one of its entries is a fault.
func (e *explorer) faulty(column int32) *place {
	table := e.mc.p.m.Columns[column].Table
	entries, ok := e.mc.gather(column, e.lane, 0)
	if !ok {
		return &place{until: table}
	}
	for row, v := range entries {
		if kernel.IsFault(v) {
			return e.entryAt(column, row)
		}
	}
	return nil
}

// faultyIndex is faulty for the one entry that an index reads.
func (e *explorer) faultyIndex(v *value) *place {
	entries, ok := e.mc.gather(v.b, e.lane, 0)
	if !ok {
		return &place{until: e.mc.p.m.Columns[v.b].Table}
	}
	if row := kernel.Row(e.value(ref(v.a)), len(entries)); row >= 0 && kernel.IsFault(entries[row]) {
		return e.entryAt(v.b, row)
	}
	return nil
}

// cause words what v did to its operands.
func (e *explorer) cause(v *value) string {
	m := e.mc.p.m
	switch v.op {
	case opReduce:
		entries, _ := e.mc.gather(v.a, e.lane, 0)
		return kernel.ReduceCause(kernel.Aggregate(v.b), entries, e.mc.p.columnName(v.a))
	case opIndex:
		entries, _ := e.mc.gather(v.b, e.lane, 0)
		return kernel.IndexCause(e.value(ref(v.a)), entries, e.mc.p.columnName(v.b))
	case opLook:
		return e.lookCause(v)
	case opCall1:
		return m.Intrinsics[v.c].Cause(e.value(ref(v.a)))
	case opCall2:
		return m.Intrinsics[v.c].Cause(e.value(ref(v.a)), e.value(ref(v.b)))
	}
	if cause := ops[v.op].cause; cause != nil {
		return cause(e.value(ref(v.a)), e.value(ref(v.b)))
	}
	return "it cannot be computed"
}

func (e *explorer) lookCause(v *value) string {
	p := e.mc.p
	c := e.f.p.curves[v.c]
	xs, _ := e.mc.gather(c.xs, e.lane, 0)
	ys, _ := e.mc.gather(c.ys, e.lane, 1)
	return kernel.LookCause(c.form, e.value(ref(v.a)), xs, ys, p.columnName(c.xs), p.columnName(c.ys),
		func(x float64) string { return show(p.m, p.m.Columns[c.xs], x) })
}

// show writes a value of a column for people.
func show(m *check.Model, c *check.Column, v float64) string {
	switch c.Type.Form {
	case check.Text:
		if i := int(v); i >= 0 && i < len(m.Texts) {
			return fmt.Sprintf("%q", m.Texts[i])
		}
	case check.Truth:
		return [...]string{"no", "yes"}[int(v)&1]
	}
	return c.Unit.Format(v, c.To)
}
