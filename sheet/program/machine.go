package program

import "gearleaf/sheet/kernel"

// Machine runs a Program for one scenario. It is for one goroutine; many
// machines may run one Program.
type Machine struct {
	p *Program

	r       []float64       // global registers, then the frame
	columns [][]float64     // the entries of each column
	live    []liveRows      // of each table
	curves  []*kernel.Curve // of look-ups
	near    []*kernel.Curve // the prepared curves, else unprepared

	explained map[place]*Fault // the faults explained since the last run
}

// LimitValue is the outcome of a limit or an advice.
type LimitValue struct {
	Value float64 // 1 it holds, 0 it does not, or a blank or fault
	// Row is, over the rows of a table, the first row (from 0) in which the
	// condition does not hold or, if there is none, is a fault; -1 for none.
	Row int
}

// unprepared is a curve on which Near never succeeds.
var unprepared = kernel.NewCurve(kernel.Linear, 0)

// NewMachine returns a machine with the sheet's givens.
func (p *Program) NewMachine() *Machine {
	mc := &Machine{p: p}
	mc.r = make([]float64, max(len(p.Initial)+p.Frame, len(p.Columns), len(p.Curves), len(p.Model().Intrinsics)))
	copy(mc.r, p.Initial)
	mc.layColumns()
	for _, c := range p.Curves {
		mc.curves = append(mc.curves, kernel.NewCurve(c.Form, p.Columns[c.Xs].Rows))
		mc.near = append(mc.near, unprepared)
	}
	return mc
}

// layColumns allocates the entries of every column and the rows of every table.
func (mc *Machine) layColumns() {
	p, size := mc.p, 0
	for _, c := range p.Columns {
		size += c.Rows
	}
	room := make([]float64, size)
	mc.columns = make([][]float64, len(p.Columns))
	for i, c := range p.Columns {
		entries := room[:c.Rows:c.Rows]
		mc.columns[i], room = entries, room[c.Rows:]
		if !c.Computed {
			n := copy(entries, p.Model().Columns[i].Values)
			for j := n; j < len(entries); j++ {
				entries[j] = kernel.Fault
			}
		}
	}
	mc.live = make([]liveRows, len(p.Model().Tables))
	for i, t := range p.Model().Tables {
		mc.live[i].rows = int32(t.Rows)
		if t.Fault != "" {
			mc.live[i].end = Never
		}
	}
}

// SetCell gives a cell a value.
func (mc *Machine) SetCell(cell int, v float64) { mc.r[mc.p.Cells[cell]] = v }

// SetEntry gives the entry of a column in row (from 0) a value.
func (mc *Machine) SetEntry(column, row int, v float64) {
	mc.columns[column][row] = v
	mc.stale(int32(column))
}

// Cell returns the value of a cell.
func (mc *Machine) Cell(cell int) float64 { return mc.r[mc.p.Cells[cell]] }

// Entry returns the value of a column in row (from 0): a blank past the last
// live row, a fault from the row of a faulty until on.
func (mc *Machine) Entry(column, row int) float64 {
	c := &mc.p.Columns[column]
	if row < 0 || row >= c.Rows {
		return kernel.Blank
	}
	live := mc.live[c.Table]
	switch {
	case row < int(live.rows), live.broken(row) && !c.Computed:
		return mc.columns[column][row]
	case live.broken(row):
		return kernel.Fault
	}
	return kernel.Blank
}

// Live returns the number of live rows of a table. If until never held or was a
// fault, done is false and rows is the number of all rows.
func (mc *Machine) Live(table int) (rows int, done bool) {
	l := mc.live[table]
	if l.end != Ended {
		return mc.p.Model().Tables[table].Rows, false
	}
	return int(l.rows), true
}

// Stored returns the stored entry of a column in row (from 0), whether or not
// the row is live.
func (mc *Machine) Stored(column, row int) float64 { return mc.columns[column][row] }

// Ending returns the number of rows of a table with values, and how it ended.
func (mc *Machine) Ending(table int) (rows int, end Ending) {
	return int(mc.live[table].rows), mc.live[table].end
}

// Limit returns the outcome of a limit.
func (mc *Machine) Limit(limit int) LimitValue { return mc.outcome(limit) }

// Advice returns the outcome of an advice.
func (mc *Machine) Advice(advice int) LimitValue {
	return mc.outcome(len(mc.p.Model().Limits) + advice)
}

func (mc *Machine) outcome(i int) LimitValue {
	v := mc.p.Verdicts[i]
	return LimitValue{Value: mc.r[v.Value], Row: int(mc.r[v.Row])}
}
