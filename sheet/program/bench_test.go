package program

import (
	"fmt"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
)

// chain is a sheet of n cells like those that a tuner writes: sums,
// products, a comparison here and there, each leaning on a few before it.
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

func BenchmarkRunOneLane(b *testing.B) {
	for _, n := range []int{100, 10_000, 200_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			mc := chain(n).compile(b, Options{}).NewMachine(1)
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

func BenchmarkUpdateOneGiven(b *testing.B) {
	mc := chain(1000).compile(b, Options{}).NewMachine(1)
	mc.Run()
	b.ReportAllocs()
	v := 0.5
	for b.Loop() {
		v = 1.5 - v
		mc.SetCell(1, 0, v)
		mc.Update()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(mc.Stats()), "ns/cell")
}

func BenchmarkSweep(b *testing.B) {
	const cells, lanes = 1000, 1024
	mc := chain(cells).compile(b, Options{}).NewMachine(lanes)
	for lane := range lanes {
		mc.SetCell(1, lane, float64(lane)/100)
	}
	mc.Run()
	b.ReportAllocs()
	for b.Loop() {
		mc.Run()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/cells/lanes, "ns/cell")
}

func BenchmarkSweepByHand(b *testing.B) {
	const cells, lanes = 1000, 1024
	out := make([]float64, cells)
	for b.Loop() {
		for lane := range lanes {
			chainByHand(3, float64(lane)/100, 1.25, out)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/cells/lanes, "ns/cell")
}

func BenchmarkPassOneLane(b *testing.B) {
	mc := run().compile(b, Options{}).NewMachine(1)
	mc.Run()
	b.ReportAllocs()
	for b.Loop() {
		mc.Run()
	}
}

func BenchmarkPassLanes(b *testing.B) {
	const lanes = 256
	mc := run().compile(b, Options{}).NewMachine(lanes)
	for lane := range lanes {
		mc.SetCell(1, lane, 20+float64(lane)/20)
	}
	mc.Run()
	b.ReportAllocs()
	for b.Loop() {
		mc.Run()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/lanes, "ns/lane")
}

func TestNothingAllocates(t *testing.T) {
	for _, c := range []struct {
		name  string
		s     *sketch
		lanes int
	}{{"gears", gears(), 1}, {"gears", gears(), 300}, {"run", run(), 1}, {"run", run(), 300}} {
		mc := c.s.compile(t, Options{}).NewMachine(c.lanes)
		for lane := range c.lanes {
			mc.SetCell(1, lane, float64(lane)+1)
			mc.SetEntry(0, 0, lane, float64(lane)+2)
		}
		if got := testing.AllocsPerRun(5, mc.Run); got != 0 {
			t.Errorf("%s, %d lanes: Run allocates %v times", c.name, c.lanes, got)
		}
		v := 1.0
		update := func() {
			v++
			mc.SetCell(1, c.lanes-1, v)
			mc.SetEntry(0, 0, 0, v)
			mc.Update()
		}
		if got := testing.AllocsPerRun(5, update); got != 0 {
			t.Errorf("%s, %d lanes: Update allocates %v times", c.name, c.lanes, got)
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
