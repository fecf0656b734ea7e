package whatif

import (
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
	"gearleaf/sheet/program/wasm"
)

// module computes points for a bench by the compiled form.
type module struct {
	bench   *Bench
	in      *wasm.Instance
	reached []bool  // by limit: the module computes it
	views   [2]View // of its lanes
	cells   []int   // by given: its cell, -1 for an entry of a column
}

// newModule returns a module of so many lanes, at the current point of the
// bench's machine; nil if there is none.
func newModule(b *Bench, lanes int) *module {
	in := b.shared.instance(lanes)
	if in == nil {
		return nil
	}
	m := &module{bench: b, in: in, reached: make([]bool, len(b.p.Model().Limits))}
	for _, i := range b.shared.part.Tasks {
		if t := b.p.Graph().Task(i); t.Kind == graph.LimitTask {
			m.reached[t.Limit.Index] = true
		}
	}
	for _, p := range b.by {
		cell := -1
		if p.Cell != nil {
			cell = int(p.Cell.Index)
		}
		m.cells = append(m.cells, cell)
	}
	for lane := range lanes {
		m.copyIn(lane)
		m.views[lane] = &laneView{m, in, lane}
	}
	return m
}

// copyIn copies every value of the machine to a lane.
func (m *module) copyIn(lane int) {
	mc, model := m.bench.mc, m.bench.p.Model()
	for i := range model.Cells {
		m.in.SetCell(i, lane, mc.Cell(i))
	}
	for i, c := range model.Columns {
		for row := range c.Table.Rows {
			m.in.SetEntry(i, row, lane, mc.Stored(i, row))
		}
	}
	for i := range model.Tables {
		rows, end := mc.Ending(i)
		m.in.SetLive(i, lane, rows, int(end))
	}
}

// run computes the points of the bench's current run and shows them in turn. It
// returns the number of points computed: fewer than n if the module fails.
func (m *module) run(n int, show func(i int, at View)) int {
	lanes := m.in.Lanes
	for from := 0; from < n; from += lanes {
		m.set(from, n)
		if _, err := m.in.Run(); err != nil {
			return from
		}
		for lane, view := range m.views[:min(lanes, n-from)] {
			show(from+lane, view)
		}
	}
	return n
}

// set gives the lanes the givens of the points from from on, of n in all.
func (m *module) set(from, n int) {
	for k, values := range m.bench.points {
		values = values[from:n]
		if cell := m.cells[k]; cell >= 0 {
			m.in.SetCells(cell, values)
			continue
		}
		entry := &m.bench.by[k]
		for lane := range m.in.Lanes {
			m.in.SetEntry(int(entry.Column.Index), entry.Row, lane, values[min(lane, len(values)-1)])
		}
	}
}

// laneView shows one lane of a module.
type laneView struct {
	m    *module
	in   *wasm.Instance
	lane int
}

// Cell returns the value of a cell.
func (v *laneView) Cell(cell int) float64 { return v.in.Cell(cell, v.lane) }

// Entry returns the value of a column in row (from 0).
func (v *laneView) Entry(column, row int) float64 {
	c := v.m.bench.p.Columns[column]
	if row < 0 || row >= c.Rows {
		return kernel.Blank
	}
	rows, end := v.m.in.Live(int(c.Table), v.lane)
	switch {
	case row < rows || end == int(program.Broken) && !c.Computed:
		return v.m.in.Stored(column, row, v.lane)
	case end == int(program.Broken):
		return kernel.Fault
	}
	return kernel.Blank
}

// Live returns the number of live rows of a table, as a machine does.
func (v *laneView) Live(table int) (rows int, ended bool) {
	rows, end := v.m.in.Live(table, v.lane)
	if end != int(program.Ended) {
		return v.m.bench.p.Model().Tables[table].Rows, false
	}
	return rows, true
}

// Limit returns the outcome of a limit, unchanged if it does not depend on the
// givens.
func (v *laneView) Limit(limit int) program.LimitValue {
	if !v.m.reached[limit] {
		return v.m.bench.mc.Limit(limit)
	}
	value, row := v.m.in.Verdict(limit, v.lane)
	return program.LimitValue{Value: value, Row: row}
}
