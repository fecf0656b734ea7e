// Package whatif evaluates a compiled sheet for changed givens: one change, or
// many scenarios by machines or a module. It does not access the registers of
// package program.
package whatif

import (
	"fmt"
	"math"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
)

// Place is a given: a cell, or one row of a given column.
type Place struct {
	Cell   *check.Cell
	Column *check.Column
	Row    int // counted from 0
}

// Quantity returns the declaration of the given.
func (p Place) Quantity() *check.Quantity {
	if p.Cell != nil {
		return &p.Cell.Quantity
	}
	return &p.Column.Quantity
}

// Name returns the place as written, "gears.ratio[3]".
func (p Place) Name() string {
	if p.Cell != nil {
		return p.Cell.Name
	}
	return fmt.Sprintf("%s.%s[%d]", p.Column.Table.Name, p.Column.Name, p.Row+1)
}

// Task returns the task of p's cell or column.
func (p Place) Task(g *graph.Graph) int {
	if p.Cell != nil {
		return g.TaskOf(p.Cell)
	}
	return g.TaskOf(p.Column)
}

// At returns the value at p.
func (p Place) At(v View) float64 {
	if p.Cell != nil {
		return v.Cell(int(p.Cell.Index))
	}
	return v.Entry(int(p.Column.Index), p.Row)
}

// set gives p the value v.
func (p Place) set(mc *program.Machine, v float64) {
	if p.Cell != nil {
		mc.SetCell(int(p.Cell.Index), v)
	} else {
		mc.SetEntry(int(p.Column.Index), p.Row, v)
	}
}

// same reports whether two values are equal to the bit.
func same(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }

// Setting is a value that replaces a given's.
type Setting struct {
	Place
	Value float64
}

// Set puts settings into mc.
func Set(mc *program.Machine, settings []Setting) {
	for _, s := range settings {
		s.set(mc, s.Value)
	}
}

// Change is the effect of a change of givens.
type Change struct {
	Before, After *program.Machine
	Reached       []int // tasks that depend on the changed givens, in order
}

// Apply computes p with the settings base, then with change on top of it,
// evaluating only what change reaches.
func Apply(p *program.Program, g *graph.Graph, base, change []Setting) Change {
	before, after := p.NewMachine(), p.NewMachine()
	for _, mc := range []*program.Machine{before, after} {
		Set(mc, base)
		mc.Run()
	}
	givens := make([]int, len(change))
	for i, s := range change {
		givens[i] = s.Task(g)
	}
	reached := g.Reach(givens)
	Set(after, change)
	after.RunPart(p.Part(reached))
	return Change{Before: before, After: after, Reached: reached}
}

// Values shows a machine to the referee.
type Values struct{ Machine *program.Machine }

// Cell returns the value of cell i.
func (v Values) Cell(i int) float64 { return v.Machine.Cell(i) }

// Entry returns the value of a column in row.
func (v Values) Entry(column, row int) float64 { return v.Machine.Entry(column, row) }

// Live returns the live rows of a table.
func (v Values) Live(table int) (int, bool) { return v.Machine.Live(table) }

// Limit returns the value of limit i and the row it is about.
func (v Values) Limit(i int) (float64, int) {
	l := v.Machine.Limit(i)
	return l.Value, l.Row
}

// Advice returns the value of advice i and the row it is about.
func (v Values) Advice(i int) (float64, int) {
	a := v.Machine.Advice(i)
	return a.Value, a.Row
}
