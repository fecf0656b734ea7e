package program

import (
	"fmt"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
)

// Fault says why a value could not be computed.
type Fault struct {
	// Origin is the cell ("a"), column ("gears.ratio") or until ("until of
	// run") in which the fault began, and Row its row, from 0, or -1.
	Origin string
	Row    int
	// Cause says in words what went wrong there.
	Cause string
	// WaitsOn is what the value asked about reads on the way to Origin;
	// empty where the fault began in the value itself.
	WaitsOn string
}

// Explain says why the value of a task in row (from 0; of no account for a
// scalar) and lane is a fault; nil where it is none. Of a loop's columns it
// explains the first that is at fault; ExplainEntry is about one of them.
func (mc *Machine) Explain(task, row, lane int) *Fault {
	switch t := mc.p.g.Task(task); t.Kind {
	case graph.CellTask:
		return mc.ExplainCell(int(t.Cell.Index), lane)
	case graph.ColumnTask:
		return mc.ExplainEntry(int(t.Column.Index), row, lane)
	case graph.LoopTask:
		for _, c := range t.Table.Columns {
			if isLooped(c) && kernel.IsFault(mc.Entry(int(c.Index), row, lane)) {
				return mc.ExplainEntry(int(c.Index), row, lane)
			}
		}
		return nil
	case graph.LimitTask:
		return mc.explainVerdict(t.Limit.Index, place{limit: t.Limit, row: row}, t.Limit.Table, lane)
	default:
		return mc.explainVerdict(mc.adviceAt(t.Advice), place{advice: t.Advice, row: row}, ownerTable(t.Advice), lane)
	}
}

// adviceAt returns the number of an advice's verdict.
func (mc *Machine) adviceAt(a *check.Advice) int {
	for i, other := range mc.p.m.Advices {
		if other == a {
			return len(mc.p.m.Limits) + i
		}
	}
	return -1
}

// ExplainCell says why a cell is a fault in lane; nil where it is none.
func (mc *Machine) ExplainCell(cell, lane int) *Fault {
	if !kernel.IsFault(mc.Cell(cell, lane)) {
		return nil
	}
	return mc.explain(place{cell: mc.p.m.Cells[cell]}, lane)
}

// ExplainEntry says why an entry of a column is a fault; nil where it is
// none.
func (mc *Machine) ExplainEntry(column, row, lane int) *Fault {
	if !kernel.IsFault(mc.Entry(column, row, lane)) {
		return nil
	}
	return mc.explain(place{column: mc.p.m.Columns[column], row: row}, lane)
}

// explainVerdict says why a limit or an advice is a fault: because of the
// row that decided it or, where no row did, because its table never ends.
func (mc *Machine) explainVerdict(i int, at place, over *check.Table, lane int) *Fault {
	v := mc.outcome(i, lane)
	if !kernel.IsFault(v.Value) {
		return nil
	}
	if over == nil {
		return mc.explain(at, lane)
	}
	at.row = v.Row
	if live := mc.live(int32(over.Index), lane); v.Row < 0 || v.Row >= int(live.rows) {
		f := mc.explain(place{until: over}, lane)
		if f.WaitsOn == "" {
			f.WaitsOn = f.Origin
		}
		return f
	}
	return mc.explain(at, lane)
}

// explain walks from a faulty value to the place where its fault began. What
// a walk has found is kept until the machine runs again: many values wait on
// one origin.
func (mc *Machine) explain(start place, lane int) *Fault {
	e := &explorer{mc: mc, lane: lane, cells: mc.cellNumbers()}
	if mc.explained == nil {
		mc.explained = map[visit]*Fault{}
	}
	next, cause := e.step(start)
	if next == nil {
		return e.found(start, cause)
	}
	f := *e.origin(*next)
	f.WaitsOn = next.name()
	return &f
}

// origin walks from a faulty place to the one where its fault began.
func (e *explorer) origin(at place) *Fault {
	known := e.mc.explained
	var walk []visit
	origin := known[visit{at, e.lane}]
	for origin == nil {
		walk = append(walk, visit{at, e.lane})
		next, cause := e.step(at)
		if next == nil || len(walk) == maxWalk {
			origin = e.found(at, cause)
			break
		}
		at = *next
		origin = known[visit{at, e.lane}]
	}
	for _, v := range walk {
		known[v] = origin
	}
	return origin
}

// visit is a place in one lane.
type visit struct {
	place
	lane int
}

// cellNumbers is the register of each cell as a walk counts them: its number.
func (mc *Machine) cellNumbers() []int32 {
	if mc.numbers == nil {
		mc.numbers = make([]int32, len(mc.p.cellReg))
		for i := range mc.numbers {
			mc.numbers[i] = int32(i)
		}
	}
	return mc.numbers
}

// maxWalk bounds the steps of a walk: a fault may come down a table of a
// million rows. A longer one ends on the way.
const maxWalk = 4_000_000

// place is something that has a formula; one of its pointers is set.
type place struct {
	cell   *check.Cell
	column *check.Column
	until  *check.Table
	limit  *check.Limit
	advice *check.Advice
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
	case p.advice != nil && p.advice.Cell != nil:
		return p.advice.Cell.Name
	case p.advice != nil && p.advice.Column != nil:
		return p.advice.Column.Table.Name + "." + p.advice.Column.Name
	}
	return "a limit"
}

// formula returns the root of the place's formula, 0 where it has none.
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
	case p.limit != nil:
		return p.limit.Cond
	}
	return p.advice.Cond
}

// rowOr returns the row of a column's entry, -1 for anything else.
func (p *place) rowOr() int {
	if p.column != nil {
		return p.row
	}
	return -1
}

// explorer walks the faults of one lane.
type explorer struct {
	mc     *Machine
	lane   int
	cells  []int32
	row    int
	f      *formula
	values []float64
}

// found is the fault that began at a place.
func (e *explorer) found(at place, cause string) *Fault {
	f := &Fault{Origin: at.name(), Row: at.rowOr(), Cause: cause}
	if at.until != nil {
		f.Row = -1
		if live := e.mc.live(int32(at.until.Index), e.lane); live.end == broken {
			f.Row = int(live.rows)
		}
	}
	return f
}

// step returns the faulty place that at waits on, or the cause where the
// fault began at it.
func (e *explorer) step(at place) (*place, string) {
	switch {
	case at.cell != nil && at.cell.Given:
		return nil, "its value could not be read"
	case at.column != nil:
		return e.stepColumn(at)
	case at.until != nil:
		return e.stepUntil(at)
	}
	return e.trace(at)
}

func (e *explorer) stepColumn(at place) (*place, string) {
	c := at.column
	switch {
	case c.Given && c.Table.Fault != "":
		return nil, c.Table.Fault
	case c.Given:
		return nil, "its value could not be read"
	}
	live := e.mc.live(int32(c.Table.Index), e.lane)
	begun := isLooped(c) && at.row == int(live.rows) && kernel.IsFault(e.mc.entry(c.Index, at.row, e.lane))
	if live.at(at.row, c.Table.Rows, true) == atFault && !begun {
		return &place{until: c.Table, row: int(live.rows)}, ""
	}
	return e.trace(at)
}

func (e *explorer) stepUntil(at place) (*place, string) {
	t := at.until
	live := e.mc.live(int32(t.Index), e.lane)
	switch {
	case t.Fault != "":
		return nil, t.Fault
	case live.end != broken:
		return nil, fmt.Sprintf("%s never ends: its until does not hold in any of its %d rows", t.Name, t.Rows)
	}
	at.row = int(live.rows)
	return e.trace(at)
}

// trace computes a place's formula again, one operation after another and
// nothing shared, and follows its fault back.
func (e *explorer) trace(at place) (*place, string) {
	p := e.mc.p
	e.row = at.row
	e.f = newFormula(&Program{m: p.m, g: p.g, plain: true, cellReg: e.cells, columns: p.columns})
	e.f.begin(false)
	root := e.f.node(at.formula())
	e.values = make([]float64, len(e.f.values))
	for i := range e.f.values {
		e.values[i] = e.compute(&e.f.values[i])
	}
	return e.follow(root)
}

// value returns what a ref stands for.
func (e *explorer) value(r ref) float64 {
	switch r.kind() {
	case toValue:
		return e.values[r.index()]
	case toRegister:
		return e.mc.Cell(int(r.index()), e.lane)
	}
	return e.f.pool[r.index()]
}

func (e *explorer) compute(v *value) float64 {
	a, b, c := ref(v.a), ref(v.b), ref(v.c)
	switch v.op {
	case opLoad:
		return e.mc.entry(v.a, e.row, e.lane)
	case opLoadPrev, opLoadNext:
		return e.neighbour(v)
	case opRow:
		return float64(e.row + 1)
	case opReduce:
		if entries, ok := e.mc.gather(v.a, e.lane, 0); ok {
			return kernel.Reduce(kernel.Aggregate(v.b), entries)
		}
		return kernel.Fault
	case opIndex:
		return e.mc.indexLane(e.value(a), v.b, e.lane)
	case opLook:
		return e.look(v)
	}
	var arg [4]float64
	for i, r := range []ref{a, b, c}[:e.arity(v.op)] {
		arg[i] = e.value(r)
	}
	return apply(e.mc.p.m, v.instr, arg)
}

// arity is how many of an operation's operands are values.
func (e *explorer) arity(o opcode) int {
	n := 0
	for _, kind := range []operand{ops[o].a, ops[o].b, ops[o].c} {
		if kind == register {
			n++
		}
	}
	return n
}

func (e *explorer) neighbour(v *value) float64 {
	if v.op == opLoadPrev {
		return e.mc.entry(v.a, e.row-1, e.lane)
	}
	c := &e.mc.columns[v.a]
	switch e.mc.live(c.table, e.lane).at(e.row+1, c.rows, c.computed) {
	case stands:
		return e.mc.entry(v.a, e.row+1, e.lane)
	case gone:
		return kernel.Blank
	}
	return kernel.Fault
}

func (e *explorer) look(v *value) float64 {
	c := e.f.p.curves[v.c]
	xs, ok := e.mc.gather(c.xs, e.lane, 0)
	ys, _ := e.mc.gather(c.ys, e.lane, 1)
	if !ok {
		return kernel.Fault
	}
	return kernel.Look(c.form, e.value(ref(v.a)), xs, ys)
}
