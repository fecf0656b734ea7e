package program

import (
	"math"

	"gearleaf/sheet/kernel"
)

// blockLanes is how many lanes one instruction runs over at a time: enough
// to hide the cost of choosing the instruction, few enough that the frame
// stays in the nearest cache.
const blockLanes = 256

// Machine runs a Program for one or many lanes. Lanes share every value that
// no given set for one lane reaches. A Machine is for one goroutine; many may
// run one Program.
type Machine struct {
	p          *Program
	lanes      int
	intrinsics []kernel.Intrinsic

	r       []float64   // one value for all lanes: global registers, then the frame
	wide    [][]float64 // global registers that differ: a value a lane; nil where all agree
	columns []columnStore
	tables  []tableState
	curves  []curveState
	near    []*kernel.Curve // curves that are fresh, for quick; unknown for others

	varies  []bool // tasks whose value may differ from lane to lane
	once    []step // the others, as Run takes them
	several []step // tasks that vary, as Run takes them
	replan  bool   // varies is to be found anew
	settled bool   // what is the same in all lanes has been computed

	reaches map[int32]*reach // by the given that has moved
	dirty   dirtySet
	ran     bool
	changed []int
	stats   int

	b       block
	kept    [][]float64  // the columns of the loop under way
	scratch [2][]float64 // a column's entries in one lane
	reducer kernel.Reducer

	explained map[visit]*Fault // what has been explained since the last run
	numbers   []int32
}

// columnStore is a column's entries: one a row, or one a row and lane.
type columnStore struct {
	columnPlan
	one  []float64
	wide []float64 // lanes entries a row; nil where all lanes agree
}

// tableState is how far a table goes, for all lanes or for each.
type tableState struct {
	live liveRows
	each []liveRows // nil where all lanes agree
}

// curveState is a curve ready for look-ups, for all lanes or for those of
// the block under way.
type curveState struct {
	curvePlan
	one   *kernel.Curve
	fresh bool // one is up to date
	known bool // it is known how many rows its table has
	each  []*kernel.Curve
	knows []bool
	block int // first lane of the block that each is up to date for, or -1
}

// LimitValue is the outcome of a limit or an advice.
type LimitValue struct {
	Value float64 // 1 it holds, 0 it does not, or a blank or fault
	// Row is, over the rows of a table, the first row (from 0) that does not
	// hold or, where none fails, that is at fault; -1 for none.
	Row int
}

// NewMachine returns a machine of so many lanes, with the sheet's givens.
func (p *Program) NewMachine(lanes int) *Machine {
	mc := &Machine{p: p, lanes: max(lanes, 1), intrinsics: p.m.Intrinsics}
	mc.r = make([]float64, len(p.initial)+p.frame)
	copy(mc.r, p.initial)
	mc.wide = make([][]float64, len(p.initial))
	mc.layColumns()
	mc.curves, mc.near = make([]curveState, len(p.curves)), make([]*kernel.Curve, len(p.curves))
	for i, c := range p.curves {
		mc.curves[i] = curveState{curvePlan: c, one: kernel.NewCurve(c.form, p.columns[c.xs].rows), block: -1}
		mc.near[i] = unknown
	}
	mc.varies = make([]bool, len(p.tasks))
	mc.dirty = newDirtySet(len(p.tasks))
	mc.changed = make([]int, 0, len(p.tasks))
	mc.plan()
	return mc
}

// layColumns gives every column its room and every table its rows.
func (mc *Machine) layColumns() {
	p, size, most := mc.p, 0, 0
	for _, c := range p.columns {
		size += c.rows
		most = max(most, c.rows)
	}
	room := make([]float64, size)
	mc.columns = make([]columnStore, len(p.columns))
	for i, c := range p.columns {
		mc.columns[i] = columnStore{columnPlan: c, one: room[:c.rows:c.rows]}
		room = room[c.rows:]
		if i < len(p.m.Columns) && !c.computed {
			n := copy(mc.columns[i].one, p.m.Columns[i].Values)
			for j := n; j < c.rows; j++ {
				mc.columns[i].one[j] = kernel.Fault
			}
		}
	}
	mc.tables = make([]tableState, len(p.m.Tables))
	for i, t := range p.m.Tables {
		mc.tables[i].live.rows = int32(t.Rows)
		if t.Fault != "" {
			mc.tables[i].live.end = never
		}
	}
	mc.scratch = [2][]float64{make([]float64, most), make([]float64, most)}
}

// Lanes returns how many lanes the machine has.
func (mc *Machine) Lanes() int { return mc.lanes }

// Stats returns how many tasks the last Run or Update evaluated.
func (mc *Machine) Stats() int { return mc.stats }

// SetCell gives cell the value v in lane. The first value set for one lane
// of several makes room; later ones do not allocate.
func (mc *Machine) SetCell(cell, lane int, v float64) {
	reg := mc.p.cellReg[cell]
	task := mc.p.cellTask[cell]
	if mc.lanes == 1 {
		mc.put(&mc.r[reg], v, task)
		return
	}
	if mc.wide[reg] == nil {
		mc.vary(int(task))
	}
	mc.put(&mc.wide[reg][lane], v, task)
}

// SetLanes gives cell the values v in the lanes from 0 on.
func (mc *Machine) SetLanes(cell int, v []float64) {
	reg, task := mc.p.cellReg[cell], mc.p.cellTask[cell]
	if mc.lanes == 1 || len(v) == 0 {
		for lane := range v {
			mc.SetCell(cell, lane, v[lane])
		}
		return
	}
	if mc.wide[reg] == nil {
		mc.vary(int(task))
	}
	d := mc.wide[reg][:len(v)]
	for i, x := range v {
		if !same(d[i], x) {
			copy(d[i:], v[i:])
			mc.dirty.add(task)
			return
		}
	}
}

// SetAll gives cell the value v in all lanes, which share it unless it has
// differed among them before.
func (mc *Machine) SetAll(cell int, v float64) {
	reg, task := mc.p.cellReg[cell], mc.p.cellTask[cell]
	if mc.wide[reg] == nil {
		mc.share(mc.put(&mc.r[reg], v, task))
		return
	}
	for lane := range mc.lanes {
		mc.put(&mc.wide[reg][lane], v, task)
	}
}

// SetEntryAll is SetAll for the entry of column in row (from 0).
func (mc *Machine) SetEntryAll(column, row int, v float64) {
	c := &mc.columns[column]
	if c.wide != nil {
		for lane := range mc.lanes {
			mc.SetEntry(column, row, lane, v)
		}
		return
	}
	if moved := mc.put(&c.one[row], v, mc.p.columnTask[column]); moved {
		mc.share(true)
		mc.staleCurves(int32(column))
	}
}

// share notes that what is the same in all lanes may have moved.
func (mc *Machine) share(moved bool) { mc.settled = mc.settled && !moved }

// SetEntry gives the entry of column in row (from 0) the value v in lane.
func (mc *Machine) SetEntry(column, row, lane int, v float64) {
	c := &mc.columns[column]
	task := mc.p.columnTask[column]
	moved := false
	switch {
	case mc.lanes == 1:
		moved = mc.put(&c.one[row], v, task)
	default:
		if c.wide == nil {
			mc.vary(int(task))
		}
		moved = mc.put(&c.wide[row*mc.lanes+lane], v, task)
	}
	if moved {
		mc.staleCurves(int32(column))
	}
}

// put stores a given's value and notes whether it moved.
func (mc *Machine) put(at *float64, v float64, task int32) bool {
	if math.Float64bits(*at) == math.Float64bits(v) {
		return false
	}
	*at = v
	mc.dirty.add(task)
	return true
}

// staleCurves says that the entries of a column have moved.
func (mc *Machine) staleCurves(column int32) {
	for _, c := range mc.p.ofCurve[column] {
		mc.stale(c)
	}
}

// Cell returns the value of a cell in lane.
func (mc *Machine) Cell(cell, lane int) float64 {
	return mc.register(mc.p.cellReg[cell], lane)
}

// CellLanes copies the values of a cell in the lanes from 0 on into out.
func (mc *Machine) CellLanes(cell int, out []float64) {
	reg := mc.p.cellReg[cell]
	if w := mc.wide[reg]; w != nil {
		copy(out, w)
		return
	}
	fill(out, mc.r[reg])
}

func (mc *Machine) register(reg int32, lane int) float64 {
	if w := mc.wide[reg]; w != nil {
		return w[lane]
	}
	return mc.r[reg]
}

// Entry returns the value of a column in row (from 0) and lane: a blank past
// the last live row, a fault from a faulty until on.
func (mc *Machine) Entry(column, row, lane int) float64 {
	c := &mc.columns[column]
	if row < 0 || row >= c.rows {
		return kernel.Blank
	}
	switch mc.live(c.table, lane).at(row, c.rows, c.computed) {
	case gone:
		return kernel.Blank
	case atFault:
		return kernel.Fault
	}
	return mc.entry(int32(column), row, lane)
}

// entry returns what is stored of a column, live or not.
func (mc *Machine) entry(column int32, row, lane int) float64 {
	c := &mc.columns[column]
	if c.wide != nil {
		return c.wide[row*mc.lanes+lane]
	}
	return c.one[row]
}

func (mc *Machine) live(table int32, lane int) liveRows {
	if t := &mc.tables[table]; t.each != nil {
		return t.each[lane]
	}
	return mc.tables[table].live
}

// Live returns the number of live rows of a table in lane. Where until never
// held or was a fault, ended is false and rows are all that the table has.
func (mc *Machine) Live(table, lane int) (rows int, done bool) {
	l := mc.live(int32(table), lane)
	if l.end != ended {
		return mc.p.m.Tables[table].Rows, false
	}
	return int(l.rows), true
}

// Limit returns the outcome of a limit in lane.
func (mc *Machine) Limit(limit, lane int) LimitValue { return mc.outcome(limit, lane) }

// Advice returns the outcome of an advice in lane.
func (mc *Machine) Advice(advice, lane int) LimitValue {
	return mc.outcome(len(mc.p.m.Limits)+advice, lane)
}

func (mc *Machine) outcome(i, lane int) LimitValue {
	v := mc.p.verdicts[i]
	return LimitValue{Value: mc.register(v.value, lane), Row: int(mc.register(v.row, lane))}
}
