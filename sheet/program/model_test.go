package program

import (
	"math"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
)

// sketch builds checked trees by hand, for tests that need no text.
type sketch struct {
	*check.Model
}

func newSketch() *sketch {
	s := &sketch{&check.Model{Nodes: make([]check.Node, 1), Types: make([]check.Type, 1)}}
	s.Intrinsics = []kernel.Intrinsic{
		{Name: "sqrt", F1: kernel.Sqrt, Domain: "a number that is not below zero"},
		{Name: "min", F2: kernel.Lower, Min: 2, Max: -1},
		{Name: "floor", F1: kernel.Floor},
		{Name: "ln", F1: kernel.Ln, Domain: "a number above zero"},
		{Name: "plain", Rule: kernel.DropsKind},
		{Name: "abs", F1: kernel.Abs},
		{Name: "max", F2: kernel.Higher, Min: 2, Max: -1},
		{Name: "hypot", F2: kernel.Hypot, Min: 2, Max: 2},
	}
	return s
}

func (s *sketch) node(n check.Draft) check.NodeID {
	return s.Add(n)
}

func (s *sketch) num(v float64) check.NodeID { return s.node(check.Draft{Op: check.Const, Num: v}) }

func (s *sketch) op(o check.Op, operands ...check.NodeID) check.NodeID {
	operands = append(operands, 0, 0, 0)
	return s.node(check.Draft{Op: o, A: operands[0], B: operands[1], C: operands[2]})
}

func (s *sketch) refer(o check.Op, index int) check.NodeID {
	return s.node(check.Draft{Op: o, Ref: int32(index)})
}

func (s *sketch) cellRef(c *check.Cell) check.NodeID { return s.refer(check.CellRef, int(c.Index)) }
func (s *sketch) this(c *check.Column) check.NodeID  { return s.refer(check.ColumnRef, int(c.Index)) }
func (s *sketch) prev(c *check.Column) check.NodeID  { return s.refer(check.PrevRef, int(c.Index)) }
func (s *sketch) next(c *check.Column) check.NodeID  { return s.refer(check.NextRef, int(c.Index)) }

func (s *sketch) intrinsic(i int, args ...check.NodeID) check.NodeID {
	return s.node(check.Draft{Op: check.Intrinsic, Ref: int32(i), Args: args})
}

func (s *sketch) call(i int, args ...check.NodeID) check.NodeID {
	return s.node(check.Draft{Op: check.Call, Ref: int32(i), Args: args})
}

func (s *sketch) reduce(how kernel.Aggregate, c *check.Column) check.NodeID {
	return s.node(check.Draft{Op: check.Aggregate, Ref: c.Index, A: check.NodeID(how)})
}

func (s *sketch) index(c *check.Column, row check.NodeID) check.NodeID {
	return s.node(check.Draft{Op: check.IndexAt, Ref: c.Index, A: row})
}

func (s *sketch) look(form kernel.LookupForm, x check.NodeID, xs, ys *check.Column) check.NodeID {
	return s.node(check.Draft{Op: check.Lookup, Ref: xs.Index, A: x, B: check.NodeID(ys.Index), C: check.NodeID(form)})
}

func (s *sketch) given(name string, v float64) *check.Cell {
	c := s.cell(name, 0)
	c.Given, c.Value = true, v
	return c
}

func (s *sketch) cell(name string, formula check.NodeID) *check.Cell {
	c := &check.Cell{Quantity: check.NewQuantity(len(s.Cells))}
	c.Name, c.Formula = name, formula
	s.Cells = append(s.Cells, c)
	return c
}

func (s *sketch) table(name string, rows int) *check.Table {
	t := &check.Table{Name: name, Rows: rows, Index: len(s.Tables)}
	s.Tables = append(s.Tables, t)
	return t
}

func (s *sketch) column(t *check.Table, name string, formula check.NodeID) *check.Column {
	c := &check.Column{Quantity: check.NewQuantity(len(s.Columns)), Table: t}
	c.Name, c.Formula = name, formula
	s.Columns = append(s.Columns, c)
	t.Columns = append(t.Columns, c)
	return c
}

func (s *sketch) givenColumn(t *check.Table, name string, values ...float64) *check.Column {
	c := s.column(t, name, 0)
	c.Given, c.Values = true, values
	return c
}

func (s *sketch) limit(cond check.NodeID, over *check.Table) *check.Limit {
	l := &check.Limit{Index: len(s.Limits), Cond: cond, Table: over}
	s.Limits = append(s.Limits, l)
	return l
}

func (s *sketch) advice(a check.Advice) *check.Advice {
	s.Advices = append(s.Advices, &a)
	return &a
}

func (s *sketch) compile(t testing.TB, opt Options) *Program {
	t.Helper()
	g, cycles := graph.Build(s.Model)
	if len(cycles) > 0 {
		t.Fatalf("a cycle: %v", cycles)
	}
	return Compile(s.Model, g, opt)
}

// gears is a small sheet with every kind of statement.
func gears() *sketch {
	s := newSketch()
	shift := s.given("shift_speed", 186)
	rollout := s.given("rollout", 2.085)
	primary := s.given("primary", 1.55)
	// function road_speed(speed, overall, rollout) with a step, and a
	// validity.
	s.Instances = append(s.Instances, &check.Instance{Name: "road_speed"})
	way := s.op(check.Mul, s.refer(check.ParamRef, 0), s.refer(check.ParamRef, 2))
	s.Instances[0].Steps = []check.NodeID{way}
	s.Instances[0].Result = s.op(check.Div, s.refer(check.StepRef, 0), s.refer(check.ParamRef, 1))
	s.Instances[0].Valids = []check.Valid{{Cond: s.op(check.Less, s.refer(check.StepRef, 0), s.num(500))}}

	t := s.table("gears", 6)
	ratio := s.givenColumn(t, "ratio", 2.5, 1.9, 1.55, 1.3, 1.15, 1.05)
	overall := s.column(t, "overall", 0)
	overall.Formula = s.op(check.Mul, s.op(check.Mul, s.cellRef(primary), s.this(ratio)), s.op(check.Div, s.num(41), s.num(17)))
	speed := s.column(t, "speed", 0)
	speed.Formula = s.call(0, s.cellRef(shift), s.this(overall), s.cellRef(rollout))
	drop := s.column(t, "drop_to", 0)
	drop.Formula = s.op(check.Div, s.op(check.Mul, s.cellRef(shift), s.next(ratio)), s.this(ratio))
	share := s.column(t, "share", 0)
	share.Formula = s.op(check.Div, s.this(speed), s.reduce(kernel.Sum, speed))
	top := s.cell("top_speed", s.reduce(kernel.Last, speed))
	s.cell("third", s.index(speed, s.num(3)))
	s.cell("at_two", s.look(kernel.Linear, s.num(2), func() *check.Column {
		up := s.givenColumn(s.table("dome", 3), "pressure", 1, 2, 3)
		return up
	}(), s.givenColumn(s.Tables[1], "boost", 10, 25, 30)))
	s.limit(s.op(check.LessEqual, s.cellRef(top), s.num(100)), nil)
	s.limit(s.op(check.Less, s.this(speed), s.num(90)), t)
	args := []check.NodeID{s.cellRef(shift), s.num(1), s.cellRef(rollout)}
	s.advice(check.Advice{Cell: top, Cond: s.node(check.Draft{Op: check.ValidCall, Args: args})})
	return s
}

// run is a small pass, step by step.
func run() *sketch {
	s := newSketch()
	step := s.given("step", 0.25)
	goal := s.given("goal", 30)
	t := s.table("run", 40)
	time := s.column(t, "time", 0)
	accel := s.column(t, "accel", 0)
	speed := s.column(t, "speed", 0)
	distance := s.column(t, "distance", 0)
	gain := s.column(t, "gain", 0)
	time.Formula, time.Start = s.op(check.Add, s.prev(time), s.cellRef(step)), s.num(0)
	accel.Formula = s.op(check.Sub, s.num(12), s.op(check.Mul, s.num(0.5), s.this(speed)))
	speed.Formula = s.op(check.Add, s.prev(speed), s.op(check.Mul, s.prev(accel), s.cellRef(step)))
	speed.Start = s.num(0)
	distance.Formula = s.op(check.Add, s.prev(distance), s.op(check.Mul, s.prev(speed), s.cellRef(step)))
	distance.Start = s.num(0)
	for _, c := range []*check.Column{time, accel, speed, distance} {
		c.Looped = true
	}
	t.Until = s.op(check.GreaterEqual, s.this(distance), s.cellRef(goal))
	gain.Formula = s.op(check.Sub, s.next(speed), s.this(speed))
	s.cell("elapsed", s.reduce(kernel.Last, time))
	s.cell("best_gain", s.reduce(kernel.Max, gain))
	s.cell("steps", s.reduce(kernel.Count, distance))
	s.limit(s.op(check.Less, s.this(speed), s.num(22)), t)
	return s
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, math.Abs(b)) }

func TestGears(t *testing.T) {
	s := gears()
	for _, plain := range []bool{false, true} {
		mc := s.compile(t, Options{Plain: plain}).NewMachine()
		mc.Run()
		want := 186 * 2.085 / (1.55 * 1.05 * 41 / 17)
		if got := mc.Cell(3); !near(got, want) {
			t.Errorf("top speed is %v, want %v", got, want)
		}
		if got := mc.Cell(5); got != 25 {
			t.Errorf("boost at 2 is %v, want 25", got)
		}
		if got := mc.Entry(3, 0); !near(got, 186*1.9/2.5) {
			t.Errorf("first drop to %v", got)
		}
		if !kernel.IsBlank(mc.Entry(3, 5)) {
			t.Errorf("the last drop is %v, want a blank", mc.Entry(3, 5))
		}
		if got := mc.Limit(0); got.Value != 1 || got.Row != -1 {
			t.Errorf("limit on the top speed: %v", got)
		}
		if got := mc.Limit(1); got.Value != 0 || got.Row != 4 {
			t.Errorf("limit over the gears: %v", got)
		}
		if got := mc.Advice(0); got.Value != 1 {
			t.Errorf("validity: %v", got)
		}
	}
}

func TestRun(t *testing.T) {
	s := run()
	mc := s.compile(t, Options{}).NewMachine()
	mc.Run()
	speed, accel, distance, time := 0.0, 12.0, 0.0, 0.0
	rows := 1
	for ; distance < 30; rows++ {
		time += 0.25
		speed, distance = speed+accel*0.25, distance+speed*0.25
		accel = 12 - 0.5*speed
	}
	if got, ended := mc.Live(0); got != rows || !ended {
		t.Errorf("%d rows, ended %v, want %d", got, ended, rows)
	}
	if got := mc.Cell(2); got != time {
		t.Errorf("elapsed %v, want %v", got, time)
	}
	if got := mc.Entry(2, rows-1); got != speed {
		t.Errorf("last speed %v, want %v", got, speed)
	}
	if !kernel.IsBlank(mc.Entry(2, rows)) || !kernel.IsBlank(mc.Entry(4, rows-1)) {
		t.Error("rows past the last, and next of it, are not blank")
	}
	mc.SetCell(1, 1e9) // a goal never reached
	mc.Run()
	if got, ended := mc.Live(0); got != 40 || ended {
		t.Errorf("%d rows, ended %v, want 40 and no end", got, ended)
	}
	if !kernel.IsFault(mc.Cell(2)) {
		t.Errorf("elapsed of a run without an end is %v", mc.Cell(2))
	}
	f := mc.ExplainCell(2)
	if f == nil || f.Origin != "until of run" || f.WaitsOn != "until of run" {
		t.Errorf("explained as %+v", f)
	}
}
