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

// TestEveryOpOfADashIsTheKernels runs each operation that a dash knows, with
// its first operand in the window and at hand, and holds what it makes of a row
// to ops wherever it says that the row is right.
func TestEveryOpOfADashIsTheKernels(t *testing.T) {
	for o := range opcodes {
		row := &ops[o]
		if !row.pure() {
			continue
		}
		done := 0
		for _, a := range troubles {
			for _, b := range troubles {
				for _, c := range []float64{3, 0, 1e300, math.Copysign(0, -1), kernel.Fault, kernel.Blank} {
					for _, hand := range []bool{false, true} {
						done += dashOp(t, o, [4]float64{a, b, c, -7}, hand)
					}
				}
			}
		}
		if _, known := map[opcode]bool{opPow: true, opEqual: true, opNotEqual: true, opSameText: true, opNotSameText: true}[o]; known == (done > 0) {
			t.Errorf("%s was done %d times", row.name, done)
		}
	}
}

// dashOp runs one operation, and returns 1 where the dash did it.
func dashOp(t *testing.T, o opcode, arg [4]float64, hand bool) int {
	t.Helper()
	row := &ops[o]
	d := &dash{size: 1}
	copy(d.w[10:], arg[:])
	in := instr{op: o, dst: 0, a: 10, b: 11, c: 12, d: 13}
	if row.d == kept {
		in.d = 14
	}
	var code dashCode
	code[1] = short{op: opMove, a: 10, dst: 15}
	before := int32(noReg)
	if hand {
		in.a, before = 15, 15
	}
	code[2] = in.short(before)
	if hand && after[o] != opMove && code[2].op == o {
		t.Fatalf("%s takes its operand from the window", row.name)
	}
	code[3] = short{op: rowEnd, b: 14, next: 3}
	if row.d != kept {
		d.w[14] = 1
	}
	if at := d.run(&code, 1); at != 3 || d.sum != 0 {
		return 0
	}
	for _, v := range arg[:2] {
		if hand && v != v {
			return 0 // the move before was not right
		}
	}
	want := apply(newSketch().Model, instr{op: o, a: 1, b: 2, c: 3, d: 4}, arg)
	if bitsOf(d.w[0]) != bitsOf(want) {
		t.Errorf("%s %v, at hand %v: %v, want %v", row.name, arg, hand, d.w[0], want)
	}
	if row.d == kept {
		if between := ops[row.pair.first].f2(arg[0], arg[1]); bitsOf(d.w[14]) != bitsOf(between) {
			t.Errorf("%s %v keeps %v, want %v", row.name, arg, d.w[14], between)
		}
	}
	return 1
}

// TestRowsAreDashed takes the careful code away: rows of numbers need none.
func TestRowsAreDashed(t *testing.T) {
	want := run().compile(t, Options{}).NewMachine(1)
	want.Run()
	p := run().compile(t, Options{})
	found := false
	for _, task := range p.tasks {
		if task.tabled.dash != nil {
			found = true
			clear(task.tabled.dash.careful)
		}
	}
	mc := p.NewMachine(1)
	mc.Run()
	compare(t, "without careful code", picture(mc, 0), picture(want, 0))
	if !found {
		t.Error("the run is not for a dash")
	}
}

// stumbling is a long table that leans on the row before and in which something
// goes wrong now and then: a blank in a given column, a division by zero, a
// look-up off the end; and that is soon right again.
func stumbling(seed uint64) *sketch {
	r := rand.New(rand.NewPCG(seed, 29))
	s := newSketch()
	scale := s.given("scale", 1.5)
	curve := s.table("curve", 4)
	x := s.givenColumn(curve, "x", 0, 1, 2.5, 4)
	y := s.givenColumn(curve, "y", 5, 4, 6, 1)
	tb := s.table("rows", 200)
	given := make([]float64, tb.Rows)
	for i := range given {
		if given[i] = float64(r.IntN(160))/4 - 15; r.IntN(20) == 0 {
			given[i] = []float64{0, kernel.Blank, 1e300, kernel.Fault}[r.IntN(4)]
		}
	}
	in := s.givenColumn(tb, "in", given...)
	count, sum, at := s.column(tb, "count", 0), s.column(tb, "sum", 0), s.column(tb, "at", 0)
	for _, c := range []*check.Column{count, sum, at} {
		c.Looped = true
	}
	count.Formula, count.Start = s.op(check.Add, s.prev(count), s.num(1)), s.num(1)
	inverse := s.op(check.Div, s.cellRef(scale), s.this(in))
	sum.Formula = s.op(check.Add, s.op(check.Div, s.prev(count), s.num(3)), s.op(check.Mul, inverse, s.op(check.RowRef)))
	sum.Start = s.this(in)
	swing := s.op(check.Sub, s.op(check.Div, s.this(count), s.num(40)), s.op(check.Div, s.num(1), s.this(in)))
	with := []check.Op{check.Mul, check.Add}[seed%2]
	if seed%3 == 2 { // long rows
		for i := range 36 {
			swing = s.op(check.Add, s.op(check.Mul, swing, s.num(0.5)), s.op(check.Div, s.prev(count), s.num(float64(150+i))))
		}
	}
	if seed%6 == 1 {
		swing = s.prev(at)
	}
	at.Formula = s.op(with, s.look(kernel.LookupForm(1+r.IntN(5)), swing, x, y), s.intrinsic(6, s.this(sum), s.num(2)))
	at.Start = s.op(check.Mul, s.this(sum), s.num(0.1))
	tb.Until = s.op(check.GreaterEqual, s.this(count), s.num(float64(r.IntN(260))))
	s.cell("last", s.reduce(kernel.Last, count))
	s.cell("most", s.reduce(kernel.Max, sum))
	return s
}

// TestADashGetsUpAgain holds tables that stumble to the plain program, when all
// is computed and when a given moves.
func TestADashGetsUpAgain(t *testing.T) {
	for seed := range uint64(40) {
		s := stumbling(seed)
		p, plain := s.compile(t, Options{}), s.compile(t, Options{Plain: true})
		rows := map[bool]int{false: round, true: shortRound}[seed%3 == 2]
		if !slices.ContainsFunc(p.tasks, func(t task) bool { return t.dash != nil && len(t.dash.start) == rows }) {
			t.Fatalf("sheet %d is not for a dash of %d rows a round", seed, rows)
		}
		one, other := p.NewMachine(1), plain.NewMachine(1)
		one.Run()
		other.Run()
		for turn, v := range []float64{1.5, 2, 2, kernel.Blank, 0, 1e308} {
			what := fmt.Sprintf("sheet %d, turn %d", seed, turn)
			compare(t, what, picture(one, 0), picture(other, 0))
			one.SetCell(0, 0, v)
			other.SetCell(0, 0, v)
			one.SetEntry(2, int(seed)+turn, 0, v)
			other.SetEntry(2, int(seed)+turn, 0, v)
			sameMoves(t, what, one, other)
		}
		if t.Failed() {
			return
		}
	}
}

// TestALongRowIsNotForADash: its registers do not fit, and it is computed all
// the same.
func TestALongRowIsNotForADash(t *testing.T) {
	s := newSketch()
	tb := s.table("rows", 30)
	c := s.column(tb, "c", 0)
	c.Looped, c.Start = true, s.num(0)
	sum := s.prev(c)
	for i := range 300 {
		sum = s.op(check.Add, s.op(check.Mul, sum, s.num(0.5)), s.cellRef(s.given(fmt.Sprint("g", i), float64(i))))
	}
	c.Formula = sum
	p, plain := s.compile(t, Options{}), s.compile(t, Options{Plain: true})
	if slices.ContainsFunc(p.tasks, func(t task) bool { return t.dash != nil }) {
		t.Fatal("three hundred registers in a window of 256")
	}
	one, other := p.NewMachine(1), plain.NewMachine(1)
	one.Run()
	other.Run()
	compare(t, "a long row", picture(one, 0), picture(other, 0))
}
