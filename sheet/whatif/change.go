// Package whatif asks a compiled sheet questions: what does a change reach.
// It drives package program and never looks into its registers.
package whatif

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
)

// Setting is a value that stands in for a given: of a cell, or of one row of
// a given column.
type Setting struct {
	Cell   *check.Cell
	Column *check.Column
	Row    int // counted from 0
	Value  float64
}

// Set puts settings into every lane of mc.
func Set(mc *program.Machine, settings []Setting) {
	for _, s := range settings {
		for lane := range mc.Lanes() {
			if s.Cell != nil {
				mc.SetCell(s.Cell.Index, lane, s.Value)
			} else {
				mc.SetEntry(s.Column.Index, s.Row, lane, s.Value)
			}
		}
	}
}

// Task returns the task of the given that s sets.
func (s Setting) Task(g *graph.Graph) int {
	if s.Cell != nil {
		return g.TaskOf(s.Cell)
	}
	return g.TaskOf(s.Column)
}

// Change is what a change of givens did.
type Change struct {
	Before, After *program.Machine
	Reached       []int // tasks that hang on the changed givens, in order
	Moved         []int // those of them whose value moved
}

// Apply computes p with the settings base, then with change on top of it,
// evaluating only what change reaches.
func Apply(p *program.Program, g *graph.Graph, base, change []Setting) Change {
	before, after := p.NewMachine(1), p.NewMachine(1)
	for _, mc := range []*program.Machine{before, after} {
		Set(mc, base)
		mc.Run()
	}
	givens := make([]int, len(change))
	for i, s := range change {
		givens[i] = s.Task(g)
	}
	Set(after, change)
	moved := after.Update()
	return Change{Before: before, After: after, Reached: g.Reach(givens), Moved: append([]int(nil), moved...)}
}

// Values shows lane 0 of a machine to the referee.
type Values struct{ Machine *program.Machine }

// Cell returns the value of cell i.
func (v Values) Cell(i int) float64 { return v.Machine.Cell(i, 0) }

// Entry returns the value of a column in row.
func (v Values) Entry(column, row int) float64 { return v.Machine.Entry(column, row, 0) }

// Live returns the live rows of a table.
func (v Values) Live(table int) (int, bool) { return v.Machine.Live(table, 0) }

// Limit returns the value of limit i and the row it is about.
func (v Values) Limit(i int) (float64, int) {
	l := v.Machine.Limit(i, 0)
	return l.Value, l.Row
}

// Advice returns the value of advice i and the row it is about.
func (v Values) Advice(i int) (float64, int) {
	a := v.Machine.Advice(i, 0)
	return a.Value, a.Row
}
