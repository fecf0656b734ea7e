package program

import (
	"fmt"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
)

// chain is a sheet of n cells like those that a tuner writes: sums,
// products, a comparison here and there, each reading a few before it.
func chain(n int) *sketch {
	s := newSketch()
	a, b, c := s.given("a", 3), s.given("b", 0.5), s.given("c", 1.25)
	at := []*check.Cell{a, b, c}
	for i := range n {
		x, y, z := at[len(at)-1], at[len(at)-2], at[len(at)-3]
		var f check.NodeID
		switch i % 4 {
		case 0:
			f = s.op(check.Mul, s.op(check.Add, s.cellRef(x), s.cellRef(y)), s.num(0.5))
		case 1:
			f = s.op(check.Div, s.op(check.Mul, s.cellRef(x), s.num(1.01)), s.op(check.Add, s.num(1), s.cellRef(b)))
		case 2:
			f = s.op(check.Sub, s.cellRef(x), s.op(check.Mul, s.num(0.01), s.cellRef(z)))
		case 3:
			f = s.op(check.If, s.op(check.GreaterEqual, s.cellRef(x), s.num(2)), s.cellRef(x), s.op(check.Add, s.cellRef(y), s.num(1)))
		}
		at = append(at, s.cell(fmt.Sprint("cell", i), f))
	}
	return s
}

// chainByHand is chain written in Go.
func chainByHand(a, b, c float64, out []float64) {
	x, y, z := c, b, a
	for i := range out {
		var v float64
		switch i % 4 {
		case 0:
			v = (x + y) * 0.5
		case 1:
			v = x * 1.01 / (1 + b)
		case 2:
			v = x - 0.01*z
		case 3:
			if x >= 2 {
				v = x
			} else {
				v = y + 1
			}
		}
		out[i] = v
		x, y, z = v, x, y
	}
}

func BenchmarkRun(b *testing.B) {
	for _, n := range []int{100, 10_000, 200_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			mc := chain(n).compile(b, Options{}).NewMachine()
			b.ReportAllocs()
			for b.Loop() {
				mc.Run()
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/cell")
		})
	}
}

func BenchmarkByHand(b *testing.B) {
	out := make([]float64, 10_000)
	for b.Loop() {
		chainByHand(3, 0.5, 1.25, out)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(out)), "ns/cell")
}

func BenchmarkOneGiven(b *testing.B) {
	p := chain(1000).compile(b, Options{})
	mc, part := p.NewMachine(), p.Part(p.Graph().Reach([]int{p.Graph().TaskOf(p.Model().Cells[1])}))
	mc.Run()
	b.ReportAllocs()
	v := 0.5
	for b.Loop() {
		v = 1.5 - v
		mc.SetCell(1, v)
		mc.RunPart(part)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(part.Tasks)), "ns/cell")
}

func BenchmarkPass(b *testing.B) {
	mc := run().compile(b, Options{}).NewMachine()
	mc.Run()
	b.ReportAllocs()
	for b.Loop() {
		mc.Run()
	}
}

func TestNothingAllocates(t *testing.T) {
	for name, s := range map[string]*sketch{"gears": gears(), "run": run()} {
		p := s.compile(t, Options{})
		mc, part := p.NewMachine(), p.Part(p.Graph().Reach([]int{p.Graph().TaskOf(s.Cells[1]), p.Graph().TaskOf(s.Columns[0])}))
		if got := testing.AllocsPerRun(5, mc.Run); got != 0 {
			t.Errorf("%s: Run allocates %v times", name, got)
		}
		v := 1.0
		update := func() {
			v++
			mc.SetCell(1, v)
			mc.SetEntry(0, 0, v)
			mc.RunPart(part)
		}
		if got := testing.AllocsPerRun(5, update); got != 0 {
			t.Errorf("%s: RunPart allocates %v times", name, got)
		}
	}
}

func BenchmarkCompile(b *testing.B) {
	const n = 100_000
	s := chain(n)
	g, _ := graph.Build(s.Model)
	b.ReportAllocs()
	for b.Loop() {
		Compile(s.Model, g, Options{})
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/cell")
}
