package program

import (
	"fmt"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// follow goes from a faulty value of a formula to the operation whose operands
// are not faults, or to the place that it read.
func (e *explorer) follow(r lower.Ref) (*place, string) {
	for {
		switch r.Kind() {
		case lower.InRegister:
			return &place{cell: e.mc.p.Model().Cells[r.Index()]}, ""
		case lower.Constant:
			return nil, "it cannot be computed"
		}
		v, found := &e.trace.Values[r.Index()], false
		if r, found = e.faultyOperand(v); !found {
			return e.source(v)
		}
	}
}

// faultyOperand returns the operand that makes v a fault. A branch that is
// not taken does not.
func (e *explorer) faultyOperand(v *lower.Value) (lower.Ref, bool) {
	operands := operands(v)
	switch {
	case v.Op != code.If:
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

// source returns the source of the fault of v, whose operands are not faults: a
// column that it reads, or v itself.
func (e *explorer) source(v *lower.Value) (*place, string) {
	switch v.Op {
	case code.Load:
		return e.entryAt(v.A, e.row), ""
	case code.LoadPrev:
		return e.entryAt(v.A, e.row-1), ""
	case code.LoadNext:
		return e.entryAt(v.A, e.row+1), ""
	case code.Reduce:
		if at := e.faulty(v.A); at != nil {
			return at, ""
		}
	case code.Index:
		if at := e.faultyIndex(v); at != nil {
			return at, ""
		}
	case code.Look:
		c := e.mc.p.Curves[v.C]
		for _, column := range []int32{c.Xs, c.Ys} {
			if at := e.faulty(column); at != nil {
				return at, ""
			}
		}
	}
	cause := e.cause(v)
	if v.In != nil {
		cause += " (in " + v.In.Name + ")"
	}
	return nil, cause
}

func (e *explorer) entryAt(column int32, row int) *place {
	return &place{column: e.mc.p.Model().Columns[column], row: row}
}

// faulty returns why a whole column is a fault: its table does not end, or one
// of its entries is a fault.
func (e *explorer) faulty(column int32) *place {
	table := e.mc.p.Model().Columns[column].Table
	entries, ok := e.mc.whole(column)
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
func (e *explorer) faultyIndex(v *lower.Value) *place {
	entries, ok := e.mc.whole(v.B)
	if !ok {
		return &place{until: e.mc.p.Model().Columns[v.B].Table}
	}
	if row := kernel.Row(e.value(lower.Ref(v.A)), len(entries)); row >= 0 && kernel.IsFault(entries[row]) {
		return e.entryAt(v.B, row)
	}
	return nil
}

// cause describes why v of its operands is a fault.
func (e *explorer) cause(v *lower.Value) string {
	m := e.mc.p.Model()
	switch v.Op {
	case code.Reduce:
		entries, _ := e.mc.whole(v.A)
		return kernel.ReduceCause(kernel.Aggregate(v.B), entries, e.mc.p.ColumnName(v.A))
	case code.Index:
		entries, _ := e.mc.whole(v.B)
		return kernel.IndexCause(e.value(lower.Ref(v.A)), entries, e.mc.p.ColumnName(v.B))
	case code.Look:
		return e.lookCause(v)
	case code.Call1:
		return m.Intrinsics[v.C].Cause(e.value(lower.Ref(v.A)))
	case code.Call2:
		return m.Intrinsics[v.C].Cause(e.value(lower.Ref(v.A)), e.value(lower.Ref(v.B)))
	}
	if cause := code.Ops[v.Op].Cause; cause != nil {
		return cause(e.value(lower.Ref(v.A)), e.value(lower.Ref(v.B)))
	}
	return "it cannot be computed"
}

func (e *explorer) lookCause(v *lower.Value) string {
	p := e.mc.p
	c := e.mc.p.Curves[v.C]
	xs, _ := e.mc.whole(c.Xs)
	ys, _ := e.mc.whole(c.Ys)
	return kernel.LookCause(c.Form, e.value(lower.Ref(v.A)), xs, ys, p.ColumnName(c.Xs), p.ColumnName(c.Ys),
		func(x float64) string { return show(p.Model(), p.Model().Columns[c.Xs], x) })
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
