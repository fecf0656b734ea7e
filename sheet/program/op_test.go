package program

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// TestEveryOpRunsByItsRow runs each operation that depends on registers alone,
// by the dispatch loop and without it, and compares the results with its row.
func TestEveryOpRunsByItsRow(t *testing.T) {
	for o := range code.Count {
		if row := &code.Ops[o]; !row.Pure() && o != code.Call1 && o != code.Call2 {
			continue // reads columns: the random sheets compare those with the tree
		}
		for _, a := range generate.Operands {
			for _, b := range generate.Operands {
				for _, c := range []float64{3, 0, 1e300, kernel.Fault, kernel.Blank} {
					for _, d := range []int32{4, code.Unread} {
						oneOp(t, code.Instr{Op: o, Dst: 5, A: 1, B: 2, C: 3, D: d}, [4]float64{a, b, c, -7})
					}
				}
			}
		}
	}
}

func oneOp(t *testing.T, in code.Instr, arg [4]float64) {
	t.Helper()
	s, row := newSketch(), &code.Ops[in.Op]
	if in.Op == code.Call1 || in.Op == code.Call2 {
		in.C = 0
		s.Intrinsics = []kernel.Intrinsic{{Name: "probe", F1: kernel.Sqrt, F2: kernel.Hypot}}
	}
	if row.D == code.Register {
		in.D = 4
	}
	mc := &Machine{p: &Program{Program: &code.Program{Model: s.Model}}}
	mc.r = []float64{0, arg[0], arg[1], arg[2], arg[3], 0}
	want := in.Apply(s.Model, arg)
	mc.exec([]code.Instr{in}, 0)
	if bitsOf(mc.r[5]) != bitsOf(want) {
		t.Errorf("%s %v is %v, want %v", row.Name, arg, mc.r[5], want)
	}
	if row.D == code.Between {
		between := code.Ops[row.Pair.First].F2(arg[0], arg[1])
		if bitsOf(mc.r[in.D]) != bitsOf(between) {
			t.Errorf("%s %v leaves %v between, want %v", row.Name, arg, mc.r[in.D], between)
		}
	}
	mc.r = []float64{0, arg[0], arg[1], arg[2], arg[3], 0}
	if got := mc.slow(&in, 0); bitsOf(got) != bitsOf(want) {
		t.Errorf("%s %v is %v without the dispatch loop, want %v", row.Name, arg, got, want)
	}
}

// TestNoOpIsForgotten runs a sheet with every operation of the tree and asks
// that every operation is in its code and that none panics.
func TestNoOpIsForgotten(t *testing.T) {
	s := newSketch()
	s.Intrinsics = append(s.Intrinsics, replaced()...)
	a, b := s.given("a", 2), s.given("b", 3)
	x, y := s.cellRef(a), s.cellRef(b)
	yes := s.op(check.Less, x, y)
	for o := range code.Count {
		switch row := &code.Ops[o]; {
		case row.Node == 0:
		case row.A == code.Truth:
			s.cell(row.Name, s.op(row.Node, yes, yes, yes))
		default:
			s.cell(row.Name, s.op(row.Node, x, y, x))
		}
	}
	for i, in := range s.Intrinsics {
		if in.F2 != nil {
			s.cell(in.Name, s.intrinsic(i, x, y))
		} else {
			s.cell(in.Name, s.intrinsic(i, x))
		}
	}
	four := []check.Op{check.Add, check.Sub, check.Mul, check.Div}
	for _, first := range four {
		for _, second := range four {
			s.cell(fmt.Sprint(first, "then", second), s.op(second, s.op(first, x, y), x))
			s.cell(fmt.Sprint(first, "turned", second), s.op(second, x, s.op(first, x, y)))
		}
	}
	for _, o := range []check.Op{check.Less, check.LessEqual, check.Greater, check.GreaterEqual} {
		s.cell(fmt.Sprint("by", o), s.op(check.If, s.op(o, x, y), x, y))
	}
	s.cell("same", x)
	tb := s.table("t", 2)
	c := s.givenColumn(tb, "c", 1, 2)
	s.column(tb, "here", s.op(check.Add, s.op(check.RowRef), s.op(check.Add, s.this(c), s.next(c))))
	delta := s.column(tb, "delta", s.op(check.Sub, s.this(c), s.prev(c)))
	delta.Start = s.num(0)
	s.cell("total", s.reduce(kernel.Sum, c))
	s.cell("second", s.index(c, s.num(2)))
	s.cell("between", s.look(kernel.Linear, s.num(1.5), c, c))
	s.cell("share", s.op(check.Mul, x, s.look(kernel.Linear, s.num(1.25), c, c)))
	p := s.compile(t, Options{})
	seen := map[code.Op]bool{}
	for _, in := range p.Instrs {
		seen[in.Op] = true
	}
	for o := range code.Count {
		if !seen[o] {
			t.Errorf("nothing is lowered to %s: its row needs a Node, a Direct or a Pair, or package lower a case, and this test a cell", code.Ops[o].Name)
		}
	}
	mc := p.NewMachine()
	mc.Run()
	mc.SetCell(0, 2.5)
	mc.SetEntry(int(c.Index), 0, 1.25)
	update(mc, p.Graph().TaskOf(a), p.Graph().TaskOf(c))
	again := p.NewMachine()
	again.SetCell(0, 2.5)
	again.SetEntry(int(c.Index), 0, 1.25)
	again.Run()
	compare(t, "every operation", picture(mc), picture(again))
}

// replaced are intrinsics whose calls become operations.
func replaced() []kernel.Intrinsic {
	var rows []kernel.Intrinsic
	for o := range code.Count {
		switch f := code.Ops[o].Direct.(type) {
		case func(a float64) float64:
			rows = append(rows, kernel.Intrinsic{Name: "direct " + code.Ops[o].Name, F1: f})
		case func(a, b float64) float64:
			rows = append(rows, kernel.Intrinsic{Name: "direct " + code.Ops[o].Name, F2: f})
		}
	}
	return rows
}

func TestUnknownOperationsPanic(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("an unknown operation runs")
		}
	}()
	gears().compile(t, Options{}).NewMachine().exec([]code.Instr{{Op: code.Count}}, 0)
}

// TestComparisonsNearTheTolerance compares numbers at every distance around
// the tolerance, of all sizes, and some NaNs.
func TestComparisonsNearTheTolerance(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	for range 50_000 {
		s := math.Ldexp(r.Float64()-0.5, r.IntN(2140)-1080)
		x := s + float64(s*(kernel.Tolerance*(r.Float64()*12-6)))
		if r.IntN(8) == 0 {
			x = generate.Operands[r.IntN(len(generate.Operands))]
		}
		for _, o := range []code.Op{code.Less, code.LessEqual, code.Greater, code.GreaterEqual, code.IfLess, code.IfGreaterEqual} {
			oneOp(t, code.Instr{Op: o, Dst: 5, A: 1, B: 2, C: 3, D: 4}, [4]float64{x, s, 1, 2})
			oneOp(t, code.Instr{Op: o, Dst: 5, A: 1, B: 2, C: 3, D: 4}, [4]float64{s, x, 1, 2})
		}
	}
}
