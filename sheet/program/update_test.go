package program

import (
	"slices"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

func TestUpdateStopsWhereNothingMoved(t *testing.T) {
	s := newSketch()
	a, b := s.given("a", 2), s.given("b", 5)
	over := s.cell("over", s.op(check.Greater, s.cellRef(a), s.num(1)))
	word := s.cell("word", s.op(check.If, s.cellRef(over), s.cellRef(b), s.num(0)))
	twice := s.cell("twice", s.op(check.Add, s.cellRef(word), s.cellRef(word)))
	p := s.compile(t, Options{})
	mc := p.NewMachine()
	task := func(c *check.Cell) int { return p.Graph().TaskOf(c) }
	if got := mc.Update(); len(got) != 5 {
		t.Errorf("a first update moves %v", got)
	}
	for _, c := range []struct {
		cell  *check.Cell
		v     float64
		moved []int
		ran   int
	}{
		{a, 3, []int{task(a)}, 1},
		{a, 3, nil, 0},
		{b, 6, []int{task(b), task(word), task(twice)}, 2},
		{a, 0, []int{task(a), task(over), task(word), task(twice)}, 3},
		{b, 7, []int{task(b)}, 1},
	} {
		mc.SetCell(int(c.cell.Index), c.v)
		if got := mc.Update(); !slices.Equal(got, c.moved) || mc.stats != c.ran {
			t.Errorf("%s to %v moves %v and runs %d, want %v and %d", c.cell.Name, c.v, got, mc.stats, c.moved, c.ran)
		}
	}
}

// TestUpdateStopsInTables changes a given that moves no row, and one that
// moves only how many rows there are.
func TestUpdateStopsInTables(t *testing.T) {
	s := newSketch()
	goal := s.given("goal", 3)
	tb := s.table("run", 9)
	n := s.column(tb, "n", 0)
	n.Looped, n.Start, n.Formula = true, s.num(1), s.op(check.Add, s.prev(n), s.num(1))
	tb.Until = s.op(check.GreaterEqual, s.this(n), s.cellRef(goal))
	last := s.cell("last", s.reduce(kernel.Last, n))
	p := s.compile(t, Options{})
	mc := p.NewMachine()
	mc.Run()
	set := func(v float64) []int {
		mc.SetCell(int(goal.Index), v)
		return mc.Update()
	}
	if got := set(2.5); !slices.Equal(got, []int{p.Graph().TaskOf(goal)}) {
		t.Errorf("a goal in the same row moves %v", got)
	}
	want := []int{p.Graph().TaskOf(goal), p.Graph().TaskOf(tb), p.Graph().TaskOf(last)}
	if got := set(2); !slices.Equal(got, want) || mc.Cell(int(last.Index)) != 2 {
		t.Errorf("a goal a row before moves %v, last is %v", got, mc.Cell(int(last.Index)))
	}
}
