package program

import (
	"fmt"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// Fault describes why a value could not be computed.
type Fault struct {
	// Origin is the cell ("a"), column ("gears.ratio") or until ("until of
	// run") in which the fault began, and Row its row, from 0, or -1.
	Origin string
	Row    int
	// Cause describes what went wrong there.
	Cause string
	// WaitsOn names the value that the explained one reads on the path to
	// Origin; empty if the fault began in the value itself.
	WaitsOn string
}

// ExplainCell returns why a cell is a fault; nil if it is not one.
func (mc *Machine) ExplainCell(cell int) *Fault {
	if !kernel.IsFault(mc.Cell(cell)) {
		return nil
	}
	return mc.explain(place{cell: mc.p.Model().Cells[cell]})
}

// ExplainEntry returns why an entry of a column is a fault; nil if it is not
// one.
func (mc *Machine) ExplainEntry(column, row int) *Fault {
	if !kernel.IsFault(mc.Entry(column, row)) {
		return nil
	}
	return mc.explain(place{column: mc.p.Model().Columns[column], row: row})
}

// ExplainLimit returns why a limit is a fault: the row that decided it or, if
// there is none, the table that never ends. It is nil if the limit is not a
// fault.
func (mc *Machine) ExplainLimit(limit int) *Fault {
	v := mc.outcome(limit)
	if !kernel.IsFault(v.Value) {
		return nil
	}
	at := place{limit: mc.p.Model().Limits[limit]}
	over := at.limit.Table
	if over == nil {
		return mc.explain(at)
	}
	at.row = v.Row
	if live := mc.live[over.Index]; v.Row < 0 || v.Row >= int(live.rows) {
		f := mc.explain(place{until: over})
		if f.WaitsOn == "" {
			f.WaitsOn = f.Origin
		}
		return f
	}
	return mc.explain(at)
}

// explain walks from a faulty value to the origin of its fault. Results are
// cached until the machine runs again, because many values depend on one
// origin.
func (mc *Machine) explain(start place) *Fault {
	e := &explorer{mc: mc}
	if mc.explained == nil {
		mc.explained = map[place]*Fault{}
	}
	next, cause := e.step(start)
	if next == nil {
		return e.found(start, cause)
	}
	f := *e.origin(*next)
	f.WaitsOn = next.name()
	return &f
}

// origin walks from a faulty place to the origin of its fault.
func (e *explorer) origin(at place) *Fault {
	known := e.mc.explained
	var walk []place
	origin := known[at]
	for ; origin == nil; origin = known[at] {
		walk = append(walk, at)
		next, cause := e.step(at)
		if next == nil || len(walk) == maxWalk {
			origin = e.found(at, cause)
			break
		}
		at = *next
	}
	for _, v := range walk {
		known[v] = origin
	}
	return origin
}

// maxWalk bounds the steps of a walk.
const maxWalk = 4_000_000

// place is something that has a formula; one of its pointers is set.
type place struct {
	cell   *check.Cell
	column *check.Column
	until  *check.Table
	limit  *check.Limit
	row    int
}

func (p *place) name() string {
	switch {
	case p.cell != nil:
		return p.cell.Name
	case p.column != nil:
		return p.column.Table.Name + "." + p.column.Name
	case p.until != nil && p.until.Fault != "":
		return p.until.Name
	case p.until != nil:
		return "until of " + p.until.Name
	case p.limit != nil && p.limit.Text != "":
		return p.limit.Text
	}
	return "a limit"
}

// formula returns the root of the place's formula, 0 if it has none.
func (p *place) formula() check.NodeID {
	switch {
	case p.cell != nil:
		return p.cell.Formula
	case p.column != nil && p.column.Start != 0 && p.row == 0:
		return p.column.Start
	case p.column != nil:
		return p.column.Formula
	case p.until != nil:
		return p.until.Until
	}
	return p.limit.Cond
}

// explorer walks from fault to fault.
type explorer struct {
	mc     *Machine
	row    int
	trace  *lower.Trace
	values []float64
}

// found is the fault that began at a place.
func (e *explorer) found(at place, cause string) *Fault {
	f := &Fault{Origin: at.name(), Row: -1, Cause: cause}
	if at.column != nil {
		f.Row = at.row
	}
	if at.until != nil {
		if live := e.mc.live[at.until.Index]; live.end == Broken {
			f.Row = int(live.rows)
		}
	}
	return f
}

// step returns the faulty place that at depends on, or the cause if the fault
// began at it.
func (e *explorer) step(at place) (*place, string) {
	switch {
	case at.cell != nil && at.cell.Given:
		return nil, "its value could not be read"
	case at.column != nil:
		return e.stepColumn(at)
	case at.until != nil:
		return e.stepUntil(at)
	}
	return e.retrace(at)
}

func (e *explorer) stepColumn(at place) (*place, string) {
	c := at.column
	switch {
	case c.Given && c.Table.Fault != "":
		return nil, c.Table.Fault
	case c.Given:
		return nil, "its value could not be read"
	}
	live := e.mc.live[c.Table.Index]
	begun := lower.Looped(c) && at.row == int(live.rows) && kernel.IsFault(e.mc.columns[c.Index][at.row])
	if live.broken(at.row) && !begun {
		return &place{until: c.Table, row: int(live.rows)}, ""
	}
	return e.retrace(at)
}

func (e *explorer) stepUntil(at place) (*place, string) {
	t := at.until
	live := e.mc.live[t.Index]
	switch {
	case t.Fault != "":
		return nil, t.Fault
	case live.end != Broken:
		return nil, fmt.Sprintf("%s never ends: its until does not hold in any of its %d rows", t.Name, t.Rows)
	}
	at.row = int(live.rows)
	return e.retrace(at)
}

// retrace computes a place's formula again, one operation after another without
// sharing, and follows its fault back.
func (e *explorer) retrace(at place) (*place, string) {
	e.row = at.row
	e.trace = e.mc.p.sheet.Trace(at.formula())
	e.values = make([]float64, len(e.trace.Values))
	for i := range e.trace.Values {
		e.values[i] = e.compute(&e.trace.Values[i])
	}
	return e.follow(e.trace.Root)
}

// value returns the value that a Ref names.
func (e *explorer) value(r lower.Ref) float64 {
	switch r.Kind() {
	case lower.InValues:
		return e.values[r.Index()]
	case lower.InRegister:
		return e.mc.Cell(int(r.Index()))
	}
	return e.trace.Constant(r)
}

func (e *explorer) compute(v *lower.Value) float64 {
	var arg [4]float64
	for i, r := range operands(v) {
		arg[i] = e.value(r)
	}
	if code.Ops[v.Op].Applies() {
		return v.Apply(e.mc.p.Model(), arg)
	}
	return e.mc.read(&v.Instr, arg[0], e.row)
}

// operands returns the operands of v that are values.
func operands(v *lower.Value) []lower.Ref {
	var out []lower.Ref
	v.Registers(func(at *int32) { out = append(out, lower.Ref(*at)) })
	return out
}
