package program

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// troubles are operands that find the corners of an operation.
var troubles = []float64{
	0, 1, -1, 2, 0.5, -2.5, 1 + 0.5e-12, 1 + 2e-12, 1e308, -1e308, 5e-324, math.Copysign(0, -1),
	kernel.Blank, kernel.Fault,
}

// TestEveryOpRunsAlikeEverywhere runs each operation on registers one by
// one and over lanes, with every operand a scalar or not, and holds the
// results to the row of ops.
func TestEveryOpRunsAlikeEverywhere(t *testing.T) {
	for o := range opcodes {
		row := &ops[o]
		if row.name == "" {
			t.Errorf("opcode %d has no row", o)
		}
		if !row.pure() && o != opCall1 && o != opCall2 {
			continue // reads columns: the random sheets hold those to the tree
		}
		for _, a := range troubles {
			for _, b := range troubles {
				for _, c := range []float64{3, 0, 1e300, kernel.Fault, kernel.Blank} {
					for _, lanes := range []int{5, 19} { // too few for vectors, and a last turn that goes back
						oneOp(t, instr{op: o, dst: 5, a: 1, b: 2, c: 3, d: 4}, [4]float64{a, b, c, -7}, lanes)
					}
				}
			}
		}
	}
}

// oneOp runs one instruction in every way there is.
func oneOp(t *testing.T, in instr, arg [4]float64, lanes int) {
	t.Helper()
	s := newSketch()
	if in.op == opCall1 || in.op == opCall2 {
		in.c = 0
		s.Intrinsics = []kernel.Intrinsic{{Name: "probe", F1: kernel.Sqrt, F2: kernel.Hypot}}
	}
	want := apply(s.Model, in, arg)
	mc := &Machine{
		p: &Program{code: []instr{in}}, lanes: lanes, intrinsics: s.Intrinsics,
		r: []float64{0, arg[0], arg[1], arg[2], arg[3], 0}, wide: make([][]float64, 6),
	}
	mc.b.makeRoom(0)
	mc.b.n = lanes
	mc.scalar(mc.p.code, 0)
	if !same(mc.r[5], want) && !(want != want && mc.r[5] != mc.r[5] && kernel.IsBlank(want) == kernel.IsBlank(mc.r[5])) {
		t.Errorf("%s %v: %v as a scalar, want %v", ops[in.op].name, arg, mc.r[5], want)
	}
	row := &ops[in.op]
	between := 0.0
	if row.d == kept {
		between = ops[row.pair.first].f2(arg[0], arg[1])
		if bitsOf(mc.r[in.d]) != bitsOf(between) {
			t.Errorf("%s %v keeps %v, want %v", row.name, arg, mc.r[in.d], between)
		}
	}
	for mask := range 16 { // which operands differ from lane to lane
		mc.wide[5] = make([]float64, lanes)
		for i := range 4 {
			mc.wide[i+1] = nil
			if mask>>i&1 == 1 {
				mc.wide[i+1] = slices.Repeat([]float64{arg[i]}, lanes)
			}
		}
		if row.d == kept {
			mc.wide[in.d] = make([]float64, lanes)
		}
		mc.runCode(mc.p.code)
		if row.d == kept && bitsOf(mc.wide[in.d][1]) != bitsOf(between) {
			t.Errorf("%s %v, lanes %04b, keeps %v, want %v", row.name, arg, mask, mc.wide[in.d][1], between)
		}
		laneValues := func(what string) {
			for lane, got := range mc.wide[5] {
				if bitsOf(got) != bitsOf(want) {
					t.Fatalf("%s %v, lanes %04b%s: %v in lane %d, want %v", row.name, arg, mask, what, got, lane, want)
				}
			}
		}
		laneValues("")
		if row.d == kept { // and where nothing else wants the value between
			clear(mc.wide[5])
			mc.runCode([]instr{{op: in.op, dst: in.dst, a: in.a, b: in.b, c: in.c, d: junk}})
			laneValues(", kept by nobody")
		}
	}
}

// TestNoOpIsForgotten runs a sheet with every operation of the tree and asks
// that every opcode stands in its code and that no loop panics over one.
func TestNoOpIsForgotten(t *testing.T) {
	s := newSketch()
	a, b := s.given("a", 2), s.given("b", 3)
	x, y := s.cellRef(a), s.cellRef(b)
	tree := []check.Op{
		check.Add, check.Sub, check.Mul, check.Div, check.Pow, check.Neg, check.Less, check.LessEqual,
		check.Greater, check.GreaterEqual, check.Equal, check.NotEqual, check.SameText, check.NotSameText,
	}
	for _, o := range tree {
		s.cell(fmt.Sprint("op", o), s.op(o, x, y, x))
	}
	yes := s.op(check.Less, x, y)
	for _, o := range []check.Op{check.If, check.And, check.Or, check.Not} {
		s.cell(fmt.Sprint("op", o), s.op(o, yes, yes, yes))
	}
	for i, in := range s.Intrinsics {
		if in.F2 != nil {
			s.cell(in.Name, s.intrinsic(i, x, y))
		} else {
			s.cell(in.Name, s.intrinsic(i, x))
		}
	}
	for _, first := range tree[:4] {
		for _, second := range tree[:4] {
			s.cell(fmt.Sprint(first, "then", second), s.op(second, s.op(first, x, y), x))
			s.cell(fmt.Sprint(first, "turned", second), s.op(second, x, s.op(first, x, y)))
		}
	}
	for i, in := range s.Intrinsics {
		for _, first := range tree[:4] {
			if in.Name == "min" || in.Name == "max" {
				s.cell(fmt.Sprint(first, in.Name), s.intrinsic(i, s.op(first, x, y), x))
			}
		}
	}
	for _, o := range tree[6:10] {
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
	seen := map[opcode]bool{}
	for _, in := range p.code {
		seen[in.op] = true
	}
	for o := range opcodes {
		if !seen[o] {
			t.Errorf("no code for %s", ops[o].name)
		}
	}
	one, many := p.NewMachine(1), p.NewMachine(2)
	one.Run()
	for lane := range 2 {
		many.SetCell(0, lane, 2.5)
		many.SetEntry(int(c.Index), 0, lane, 1.25)
		one.SetCell(0, 0, 2.5)
		one.SetEntry(int(c.Index), 0, 0, 1.25)
	}
	one.Update()
	many.Run()
	compare(t, "every operation", picture(many, 1), picture(one, 0))
}

func TestUnknownInstructionsPanic(t *testing.T) {
	mc := gears().compile(t, Options{}).NewMachine(1)
	for name, f := range map[string]func(){
		"scalar": func() { mc.scalar([]instr{{op: opLook + 100}}, 0) },
		"read":   func() { mc.read(&instr{op: opcodes}) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s runs an instruction that there is not", name)
				}
			}()
			f()
		}()
	}
}

// TestLanesCompareAsTheKernelDoes asks for numbers at every distance around the
// tolerance, and for those that are none, with either operand the same in all
// lanes or neither.
func TestLanesCompareAsTheKernelDoes(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	base := []float64{0, 1, -1, 3e-320, -7.25e100, 1e308, -5e-324, kernel.Blank, kernel.Fault}
	for _, o := range []opcode{opLess, opLessEqual, opGreater, opGreaterEqual, opLower, opHigher} {
		row := &ops[o]
		for _, s := range base {
			v := make([]float64, 40)
			for i := range v {
				v[i] = s + s*(2*random.Float64()-1)*[]float64{0, 1e-12, 2e-12, 4e-12, 1}[i%5]
			}
			v[39] = base[random.IntN(len(base))]
			same := slices.Repeat([]float64{s}, len(v))
			for k, operands := range [][2]wide{{{v: v}, {s: s}}, {{s: s}, {v: v}}, {{v: v}, {v: same}}, {{v: same}, {v: v}}} {
				d := make([]float64, len(v))
				a, b := operands[0], operands[1]
				if !row.lanes(d, a, b) {
					row.carefully(d, a, b)
				}
				for i := range d {
					if want := row.f2(a.at(i), b.at(i)); bitsOf(d[i]) != bitsOf(want) {
						t.Fatalf("%s, case %d: %v and %v give %v, want %v", row.name, k, a.at(i), b.at(i), d[i], want)
					}
				}
			}
		}
	}
}
