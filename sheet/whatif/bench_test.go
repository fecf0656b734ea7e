package whatif_test

import (
	"math"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/whatif"
)

// TestBenchGivesWhatMachinesGive evaluates points at which all givens change,
// and points at which some do not, and compares every cell with a machine that
// computes everything.
func TestBenchGivesWhatMachinesGive(t *testing.T) {
	s, list := sheet.FromText("x.leaf", `a : 3
b : 2
c : 5
sum = a + b
less = a - b
product = (a + b) * (a - b)
table run rows 40 until way > 20 * b
  way = prev(way) + a start 0
  left = c / (way - 9)
far = last(run.way) * c
worst = min(a, 1 / (b - 2))
quotient = far / (a - 4)
`)
	if s == nil {
		t.Fatal(list)
	}
	var by []whatif.Place
	for _, name := range []string{"a", "b", "c"} {
		cell, _ := s.Model.Resolve(name)
		by = append(by, whatif.Place{Cell: cell})
	}
	const most = 40
	bench, one := whatif.NewBench(s.Program, nil, by), s.Program.NewMachine()
	for block, n := range []int{most, most, most, 7, most} {
		points := make([][]float64, len(by))
		for lane := range n {
			points[0] = append(points[0], float64(1+(lane*7+block)%9))
			points[1] = append(points[1], float64(1+block/2)) // the same every other time
			points[2] = append(points[2], float64(lane%5)/3+float64(block))
		}
		bench.Run(points, n, func(i int, at whatif.View) {
			for k, place := range by {
				one.SetCell(int(place.Cell.Index), points[k][i])
			}
			one.Run()
			for c, cell := range s.Model.Cells {
				if got, want := at.Cell(c), one.Cell(c); math.Float64bits(got) != math.Float64bits(want) {
					t.Fatalf("point %d: %s = %v, by itself %v", i, cell.Name, got, want)
				}
			}
		})
	}
}
