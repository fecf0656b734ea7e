package program

import (
	"fmt"
	"math/rand/v2"
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
	mc := p.NewMachine(1)
	task := func(c *check.Cell) int { return p.g.TaskOf(c) }
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
		mc.SetCell(int(c.cell.Index), 0, c.v)
		if got := mc.Update(); !slices.Equal(got, c.moved) || mc.Stats() != c.ran {
			t.Errorf("%s to %v moves %v and runs %d, want %v and %d", c.cell.Name, c.v, got, mc.Stats(), c.moved, c.ran)
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
	for _, lanes := range []int{1, 2} {
		p := s.compile(t, Options{})
		mc := p.NewMachine(lanes)
		mc.Run()
		set := func(v float64) []int {
			mc.SetCell(int(goal.Index), lanes-1, v)
			return mc.Update()
		}
		if got := set(2.5); !slices.Equal(got, []int{p.g.TaskOf(goal)}) {
			t.Errorf("%d lanes: a goal in the same row moves %v", lanes, got)
		}
		want := []int{p.g.TaskOf(goal), p.g.TaskOf(tb), p.g.TaskOf(last)}
		if got := set(2); !slices.Equal(got, want) || mc.Cell(int(last.Index), lanes-1) != 2 {
			t.Errorf("%d lanes: a goal a row before moves %v, last is %v", lanes, got, mc.Cell(int(last.Index), lanes-1))
		}
	}
}

// TestASettingForAllLanesIsShared sets givens for all lanes, before and after
// some of them differ, and holds every lane to a machine of its own.
func TestASettingForAllLanesIsShared(t *testing.T) {
	for seed := range uint64(12) {
		s := randomSheet(seed)
		p := s.compile(t, Options{})
		const lanes = 40
		many := p.NewMachine(lanes)
		var ones [lanes]*Machine
		for lane := range ones {
			ones[lane] = p.NewMachine(1)
		}
		g := &guess{r: rand.New(rand.NewPCG(seed, 31))}
		for turn := range 6 {
			for i, c := range s.Cells {
				if v := g.number(); c.Given && turn%3 != 2 {
					many.SetAll(i, v)
					for _, one := range ones {
						one.SetAll(i, v)
					}
				} else if c.Given && g.r.IntN(2) == 0 {
					many.SetCell(i, turn, v)
					ones[turn].SetCell(i, 0, v)
				}
			}
			for i, c := range s.Columns {
				if c.Given && turn != 2 {
					v := g.number()
					many.SetEntryAll(i, 0, v)
					for _, one := range ones {
						one.SetEntryAll(i, 0, v)
					}
				}
			}
			if turn%2 == 0 {
				many.Run()
			} else {
				many.Update()
			}
			for lane, one := range ones {
				one.Run()
				compare(t, fmt.Sprintf("sheet %d, turn %d, lane %d", seed, turn, lane), picture(many, lane), picture(one, 0))
			}
			if t.Failed() {
				return
			}
		}
	}
}
