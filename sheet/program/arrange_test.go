package program_test

import (
	"math"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/program"
)

// TestArranged compares sheets of so many scalars that they are arranged, with
// and without a code block for all of them, and in more than one chunk, with the
// plain program, which computes in the order of the text: whole, and after
// changes of one given.
func TestArranged(t *testing.T) {
	for _, cells := range []int{2000, 6000, 20_000} {
		p := compiled(t, generate.Various(cells, 3))
		plain := program.Compile(p.Model(), p.Graph(), program.Options{Plain: true})
		one, other := p.NewMachine(), plain.NewMachine()
		compare := func(what string) {
			t.Helper()
			for i, c := range p.Model().Cells {
				if a, b := one.Cell(i), other.Cell(i); math.Float64bits(a) != math.Float64bits(b) {
					t.Fatalf("%d cells, %s: %s is %v, and %v by the plain program", cells, what, c.Name, a, b)
				}
			}
		}
		one.Run()
		other.Run()
		compare("whole")
		for turn := range 12 {
			cell := turn % 3 * 5
			v := p.Model().Cells[cell].Value + float64(turn)
			one.SetCell(cell, v)
			other.SetCell(cell, v)
			one.RunPart(p.Part(p.Graph().Reach([]int{p.Graph().TaskOf(p.Model().Cells[cell])})))
			other.Run()
			compare("a change")
		}
	}
}

func compiled(t *testing.T, text string) *program.Program {
	t.Helper()
	s, list := sheet.FromText("arranged.leaf", text)
	if s == nil {
		t.Fatal(list)
	}
	return s.Program
}
