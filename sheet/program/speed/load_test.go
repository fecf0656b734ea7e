// Package speed measures the program against Go written by hand for the same
// sheets, in the same run: see ../SPEED.md. Everything here is a test: that what is
// compared is equal, and benchmarks.
package speed

import (
	"math"
	"slices"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
)

// loaded is a sheet through all stages.
type loaded struct {
	model   *check.Model
	graph   *graph.Graph
	program *program.Program
}

// load takes a text through all stages, as everyone does.
func load(tb testing.TB, text string) *loaded {
	s, list := sheet.FromText("speed.leaf", text)
	if s == nil {
		tb.Fatal(list)
	}
	return &loaded{s.Model, s.Graph, s.Program}
}

// sameCells compares every cell with the hand-written sheet.
func sameCells(t *testing.T, s *loaded, g *gearing, mc *program.Machine) {
	t.Helper()
	cells := g.cells()
	for i, c := range s.model.Cells {
		if got, want := mc.Cell(i), *cells[c.Name]; !close(got, want) {
			t.Errorf("%s = %v by the program, %v by hand", c.Name, got, want)
		}
	}
}

// close reports whether two numbers agree in twelve digits: the hand-written
// code multiplies in another order here and there, and calls math.Pow.
func close(a, b float64) bool {
	return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b))
}

// reached is what a given reaches, itself among it, but for advices: as sweeps
// compute it.
func (l *loaded) reached(c *check.Cell) *program.Part {
	advice := func(i int) bool { return l.graph.Task(i).Kind == graph.AdviceTask }
	return l.program.Part(slices.DeleteFunc(l.graph.Reach([]int{l.graph.TaskOf(c)}), advice))
}
