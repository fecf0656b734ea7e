package whatif_test

import (
	"math"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/program"
	"gearleaf/sheet/whatif"
)

// TestBlocksAreRunWhole evaluates blocks in which all givens move, blocks in
// which one stands still, and one that is not full, and holds every cell of
// every point to a machine of one lane.
func TestBlocksAreRunWhole(t *testing.T) {
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
	const lanes = 40
	bench := whatif.NewBench(s.Program, nil, by, lanes)
	one := s.Program.NewMachine(1)
	for block, n := range []int{lanes, lanes, lanes, 7, lanes} {
		points := make([][]float64, len(by))
		for lane := range n {
			points[0] = append(points[0], float64(1+(lane*7+block)%9))
			points[1] = append(points[1], float64(1+block/2)) // stands still every other time
			points[2] = append(points[2], float64(lane%5)/3+float64(block))
		}
		bench.Run(points, n)
		for lane := range n {
			for k, place := range by {
				one.SetCell(int(place.Cell.Index), 0, points[k][lane])
			}
			one.Run()
			sameLane(t, s.Program, bench.Machine, lane, one)
		}
	}
}

// sameLane holds the cells of one lane to those of a machine of one lane.
func sameLane(t *testing.T, p *program.Program, many *program.Machine, lane int, one *program.Machine) {
	t.Helper()
	for i, c := range p.Model().Cells {
		if got, want := many.Cell(i, lane), one.Cell(i, 0); math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("lane %d: %s = %v, by itself %v", lane, c.Name, got, want)
		}
	}
}
