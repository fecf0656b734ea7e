package graph

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// sketch builds checked trees by hand.
type sketch struct{ *check.Model }

func newSketch() *sketch { return &sketch{&check.Model{Nodes: make([]check.Node, 1)}} }

func (s *sketch) node(n check.Draft) check.NodeID {
	return s.Add(n)
}

func (s *sketch) read(o check.Op, index int) check.NodeID {
	return s.node(check.Draft{Op: o, Ref: int32(index)})
}

// sum is the sum of operands.
func (s *sketch) sum(ids ...check.NodeID) check.NodeID {
	v := s.node(check.Draft{Op: check.Const, Num: 1})
	for _, id := range ids {
		v = s.node(check.Draft{Op: check.Add, A: v, B: id})
	}
	return v
}

func (s *sketch) cell(name string) *check.Cell {
	c := &check.Cell{Quantity: check.NewQuantity(len(s.Cells))}
	c.Name = name
	s.Cells = append(s.Cells, c)
	return c
}

func (s *sketch) of(c *check.Cell, reads ...*check.Cell) {
	var ids []check.NodeID
	for _, r := range reads {
		ids = append(ids, s.read(check.CellRef, int(r.Index)))
	}
	c.Formula = s.sum(ids...)
}

func (s *sketch) table(name string, columns ...string) *check.Table {
	t := &check.Table{Name: name, Rows: 3, Index: len(s.Tables)}
	s.Tables = append(s.Tables, t)
	for _, n := range columns {
		c := &check.Column{Quantity: check.NewQuantity(len(s.Columns)), Table: t}
		c.Name = n
		c.Formula = s.sum()
		s.Columns = append(s.Columns, c)
		t.Columns = append(t.Columns, c)
	}
	return t
}

func (s *sketch) last(c *check.Column) check.NodeID {
	return s.node(check.Draft{Op: check.Aggregate, Ref: c.Index, A: check.NodeID(kernel.Last)})
}

// names lists the tasks in order.
func names(g *Graph) string {
	var out []string
	for i := range g.Len() {
		t := g.Task(i)
		switch t.Kind {
		case CellTask:
			out = append(out, t.Cell.Name)
		case ColumnTask:
			out = append(out, t.Column.Name)
		case LoopTask:
			out = append(out, "loop "+t.Table.Name)
		case LimitTask:
			out = append(out, "limit")
		case AdviceTask:
			out = append(out, "advice")
		}
	}
	return strings.Join(out, " ")
}

func TestTiesGoByTheOrderOfTheText(t *testing.T) {
	s := newSketch()
	a, b, c, d := s.cell("a"), s.cell("b"), s.cell("c"), s.cell("d")
	s.of(a, d)
	s.of(b)
	s.of(c, a)
	s.of(d)
	g, cycles := Build(s.Model)
	if got := names(g); got != "b d a c" || cycles != nil {
		t.Errorf("order is %q, cycles %v", got, cycles)
	}
	for _, cell := range []*check.Cell{d, c, b, a} {
		s.Append(check.Item{Cell: cell})
	}
	g, _ = Build(s.Model)
	if got := names(g); got != "d b a c" {
		t.Errorf("with an outline the order is %q", got)
	}
	if got := g.Needs(g.TaskOf(c)); !slices.Equal(got, []int{2}) {
		t.Errorf("c needs %v", got)
	}
	if got := g.Feeds(g.TaskOf(d)); !slices.Equal(got, []int{2}) {
		t.Errorf("d feeds %v", got)
	}
	if got := g.Reach([]int{g.TaskOf(d)}); !slices.Equal(got, []int{0, 2, 3}) {
		t.Errorf("d reaches %v", got)
	}
	if g.TaskOf(&check.Advice{}) != -1 {
		t.Error("an advice of nobody has a task")
	}
}

func TestLoopTakesTheOrderOfItsRow(t *testing.T) {
	s := newSketch()
	goal := s.cell("goal")
	goal.Given = true
	tb := s.table("run", "time", "accel", "speed", "gain")
	time, accel, speed, gain := tb.Columns[0], tb.Columns[1], tb.Columns[2], tb.Columns[3]
	time.Looped, accel.Looped, speed.Looped = true, true, true
	time.Formula = s.sum(s.read(check.PrevRef, int(time.Index)))
	time.Start = s.sum(s.read(check.ColumnRef, int(speed.Index)))
	accel.Formula = s.sum(s.read(check.ColumnRef, int(speed.Index)))
	speed.Formula = s.sum(s.read(check.PrevRef, int(accel.Index)))
	gain.Formula = s.sum(s.read(check.NextRef, int(speed.Index)))
	tb.Until = s.sum(s.read(check.CellRef, int(goal.Index)))
	top := s.cell("top")
	top.Formula = s.last(speed)
	s.Limits = append(s.Limits, &check.Limit{Cond: s.sum(), Table: tb})
	s.Advices = append(s.Advices, &check.Advice{Column: gain, Cond: s.sum()})
	g, cycles := Build(s.Model)
	if cycles != nil {
		t.Fatalf("cycles: %v", cycles)
	}
	var order []string
	for _, c := range tb.Loop {
		order = append(order, c.Name)
	}
	if got := strings.Join(order, " "); got != "speed time accel" {
		t.Errorf("the row is computed as %q", got)
	}
	if got := names(g); got != "goal loop run top gain limit advice" {
		t.Errorf("order is %q", got)
	}
	loop := g.TaskOf(tb)
	if loop != 1 || g.TaskOf(speed) != loop || g.TaskOf(gain) != 3 {
		t.Errorf("tasks of the loop: %d %d %d", loop, g.TaskOf(speed), g.TaskOf(gain))
	}
	// What reads live rows needs the loop, though it reads no column of it.
	for _, task := range []int{g.TaskOf(s.Limits[0]), g.TaskOf(s.Advices[0])} {
		if !slices.Equal(g.Needs(task), []int{loop}) {
			t.Errorf("task %d needs %v", task, g.Needs(task))
		}
	}
}

func TestCycles(t *testing.T) {
	for _, c := range []struct {
		name string
		make func(s *sketch)
		want string
	}{
		{"a cell and itself", func(s *sketch) {
			a := s.cell("a")
			s.of(a, a)
		}, "a depends on itself: a → a"},
		{"three cells, the shortest walk", func(s *sketch) {
			a, b, c, d := s.cell("a"), s.cell("b"), s.cell("c"), s.cell("d")
			s.of(a, b)
			s.of(b, c)
			s.of(c, d, a)
			s.of(d, a)
		}, "a depends on itself: a → b → c → a"},
		{"two walks apart", func(s *sketch) {
			a, b, c, d := s.cell("a"), s.cell("b"), s.cell("c"), s.cell("d")
			s.of(a, d)
			s.of(b, c)
			s.of(c, b)
			s.of(d, a)
			s.of(s.cell("waits"), a, b)
		}, "a depends on itself: a → d → a; b depends on itself: b → c → b"},
		{"a column and itself in a row", func(s *sketch) {
			c := s.table("gears", "ratio").Columns[0]
			c.Formula = s.sum(s.read(check.ColumnRef, int(c.Index)))
		}, "gears.ratio depends on itself: gears.ratio → gears.ratio"},
		{"two looped columns in a row", func(s *sketch) {
			tb := s.table("run", "time", "speed", "force")
			for i, c := range tb.Columns {
				c.Looped = true
				c.Formula = s.sum(s.read(check.PrevRef, i))
			}
			tb.Columns[1].Formula = s.sum(s.read(check.ColumnRef, 2))
			tb.Columns[2].Formula = s.sum(s.read(check.ColumnRef, 1))
		}, "run.speed depends on itself: run.speed → run.force → run.speed"},
		{"a start that reads its own row", func(s *sketch) {
			c := s.table("run", "speed").Columns[0]
			c.Looped = true
			c.Formula = s.sum(s.read(check.PrevRef, int(c.Index)))
			c.Start = s.sum(s.read(check.ColumnRef, int(c.Index)))
		}, "run.speed depends on itself: run.speed → run.speed"},
		{"through an aggregate", func(s *sketch) {
			total := s.cell("total")
			tb := s.table("wear", "share")
			tb.Columns[0].Formula = s.sum(s.read(check.CellRef, int(total.Index)))
			total.Formula = s.last(tb.Columns[0])
		}, "total depends on itself: total → wear.share → total"},
		{"through a loop, in at one column and out at another", func(s *sketch) {
			drag := s.cell("drag")
			tb := s.table("run", "time", "speed", "place")
			for i, c := range tb.Columns {
				c.Looped = true
				c.Formula = s.sum(s.read(check.PrevRef, i))
			}
			tb.Columns[1].Formula = s.sum(s.read(check.CellRef, int(drag.Index)))
			tb.Columns[2].Formula = s.sum(s.read(check.PrevRef, 2), s.read(check.PrevRef, 1))
			drag.Formula = s.last(tb.Columns[2])
		}, "drag depends on itself: drag → run.place → run.speed → drag"},
		{"through until", func(s *sketch) {
			goal := s.cell("goal")
			tb := s.table("run", "time", "note")
			tb.Columns[0].Looped = true
			tb.Columns[0].Formula = s.sum(s.read(check.PrevRef, 0))
			tb.Until = s.sum(s.read(check.CellRef, int(goal.Index)))
			goal.Formula = s.last(tb.Columns[1])
		}, "goal depends on itself: goal → until of run → goal"},
	} {
		s := newSketch()
		c.make(s)
		g, cycles := Build(s.Model)
		var said []string
		for _, d := range Diagnostics(s.Model, cycles) {
			said = append(said, d.Message)
		}
		if got := strings.Join(said, "; "); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
		if g.Len() == 0 {
			t.Errorf("%s: no tasks", c.name)
		}
	}
}

// TestRandomOrders compares the order with its definition: every task comes
// after what it needs, and it is the least that could come next.
func TestRandomOrders(t *testing.T) {
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 1))
		s := newSketch()
		n := 1 + r.IntN(30)
		for i := range n {
			s.cell(fmt.Sprint(i))
		}
		place := r.Perm(n) // a cell reads cells of a lower place only
		for i, c := range s.Cells {
			var reads []*check.Cell
			for j := range n {
				if place[j] < place[i] && r.IntN(n) < 2 {
					reads = append(reads, s.Cells[j])
				}
			}
			s.of(c, reads...)
		}
		g, cycles := Build(s.Model)
		if cycles != nil {
			t.Fatalf("seed %d: cycles %v", seed, cycles)
		}
		checkOrder(t, g)
	}
}

func checkOrder(t *testing.T, g *Graph) {
	t.Helper()
	done := map[int]bool{}
	for i := range g.Len() {
		for _, n := range g.Needs(i) {
			if !done[n] {
				t.Fatalf("task %d before %d, which it needs", i, n)
			}
			if !slices.Contains(g.Feeds(n), i) {
				t.Fatalf("%d needs %d, which does not feed it", i, n)
			}
		}
		for j := i + 1; j < g.Len(); j++ {
			ready := !slices.ContainsFunc(g.Needs(j), func(n int) bool { return !done[n] })
			if ready && g.Task(j).Cell.Index < g.Task(i).Cell.Index {
				t.Fatalf("%s could come before %s", g.Task(j).Cell.Name, g.Task(i).Cell.Name)
			}
		}
		done[i] = true
	}
}

func TestCallsReadWhatTheirBodiesRead(t *testing.T) {
	s := newSketch()
	out := s.cell("afr")
	fuels := s.table("fuels", "name", "afr")
	inner := s.node(check.Draft{Op: check.Lookup, Ref: 0, A: s.read(check.ParamRef, 0), B: 1, C: check.NodeID(kernel.Pick)})
	s.Instances = append(s.Instances, &check.Instance{Name: "fuel_afr", Result: inner})
	arg := s.read(check.ParamRef, 0)
	call := s.node(check.Draft{Op: check.Call, Ref: 0, Args: []check.NodeID{arg}})
	s.Instances = append(s.Instances, &check.Instance{Name: "lambda", Result: call})
	out.Formula = s.node(check.Draft{Op: check.Call, Ref: 1, Args: []check.NodeID{s.sum()}})
	g, _ := Build(s.Model)
	want := []int{g.TaskOf(fuels.Columns[0]), g.TaskOf(fuels.Columns[1])}
	if got := g.Needs(g.TaskOf(out)); !slices.Equal(got, want) {
		t.Errorf("afr needs %v, want %v", got, want)
	}
}

func BenchmarkBuild(b *testing.B) {
	s := newSketch()
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 100_000 {
		c := s.cell("c")
		reads := []*check.Cell{}
		for range min(i, 3) {
			reads = append(reads, s.Cells[r.IntN(i)])
		}
		s.of(c, reads...)
	}
	r.Shuffle(len(s.Cells), func(i, j int) {
		s.Append(check.Item{Cell: s.Cells[i]})
		s.Append(check.Item{Cell: s.Cells[j]})
	})
	b.ReportAllocs()
	for b.Loop() {
		Build(s.Model)
	}
}

// TestSharedOperandsAreSeenOnce walks a formula of sixty operations that each
// have the one below twice: counted out it would have 2^60 nodes.
func TestSharedOperandsAreSeenOnce(t *testing.T) {
	s := newSketch()
	a, b, out := s.cell("a"), s.cell("b"), s.cell("out")
	v := s.sum()
	a.Formula, b.Formula = v, v
	v = s.node(check.Draft{Op: check.Add, A: s.read(check.CellRef, int(a.Index)), B: s.read(check.CellRef, int(b.Index))})
	for range 60 {
		v = s.node(check.Draft{Op: check.Add, A: v, B: v})
	}
	out.Formula = v
	g, cycles := Build(s.Model)
	if got := g.Needs(g.TaskOf(out)); len(cycles) > 0 || !slices.Equal(got, []int{0, 1}) {
		t.Errorf("out needs %v, cycles %v; want a and b", got, cycles)
	}
}

// TestSheetsInOrderStayAsTheyAre gives a sheet whose text is in the order of
// computing its own order, and its edges both ways.
func TestSheetsInOrderStayAsTheyAre(t *testing.T) {
	s := newSketch()
	a, b, c := s.cell("a"), s.cell("b"), s.cell("c")
	s.of(a)
	s.of(b, a)
	s.of(c, b, a)
	g, _ := Build(s.Model)
	for i, cell := range []*check.Cell{a, b, c} {
		if g.CellIndex(i) != cell.Index {
			t.Errorf("task %d computes the cell with index %d, want %d", i, g.CellIndex(i), cell.Index)
		}
		if g.Task(i).Cell != cell || g.TaskOf(cell) != i {
			t.Errorf("%s is task %d, and task %d is %s", cell.Name, g.TaskOf(cell), i, g.Task(i).Cell.Name)
		}
	}
	checkOrder(t, g)
}

// TestPartsFindTheSameEdges finds in parts what tasks need.
func TestPartsFindTheSameEdges(t *testing.T) {
	s := newSketch()
	r := rand.New(rand.NewPCG(5, 1))
	for i := range 40 {
		c := s.cell(fmt.Sprint(i))
		var reads []*check.Cell
		for range min(i, 4) {
			reads = append(reads, s.Cells[r.IntN(i)])
		}
		s.of(c, reads...)
	}
	b := &builder{m: s.Model, g: &Graph{m: s.Model}, r: newReader(s.Model)}
	b.list()
	want := b.connectPart(0, 40)
	if len(want.to) < 80 {
		t.Fatalf("%d edges", len(want.to))
	}
	for k := range 41 {
		got := joinEdges([]edges{b.connectPart(0, k), b.connectPart(k, k), b.connectPart(k, 40)}, 40)
		if !slices.Equal(got.start, want.start) || !slices.Equal(got.to, want.to) {
			t.Fatalf("parted at %d: %v, want %v", k, got, want)
		}
	}
}
