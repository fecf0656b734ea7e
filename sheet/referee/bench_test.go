package referee

import (
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
)

// benchCells is how many cells the benchmarks' sheet has.
const benchCells = 1000

// fiveOperations returns a referee of cells with five operations each.
func fiveOperations(b *testing.B) func() *Referee {
	k := newMaker()
	x := k.given(1.5, numbers)
	y := k.given(0.5, numbers)
	for range benchCells {
		sum := k.op(check.Add, k.op(check.Mul, x, y), k.num(1))
		x, y = k.cell(k.op(check.Div, sum, k.op(check.Add, k.op(check.Mul, y, y), k.num(2)))), x
	}
	g, _ := graph.Build(k.m)
	return func() *Referee {
		r, err := New(k.m, g)
		if err != nil {
			b.Fatal(err)
		}
		return r
	}
}

func perCell(b *testing.B) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/benchCells, "ns/cell")
}

// BenchmarkPlanAndRun is what a cell costs the first time.
func BenchmarkPlanAndRun(b *testing.B) {
	fresh := fiveOperations(b)
	b.ReportAllocs()
	for b.Loop() {
		if err := fresh().Run(); err != nil {
			b.Fatal(err)
		}
	}
	perCell(b)
}

// BenchmarkRun is what a cell costs once it is planned.
func BenchmarkRun(b *testing.B) {
	r := fiveOperations(b)()
	b.ReportAllocs()
	for b.Loop() {
		if err := r.Run(); err != nil {
			b.Fatal(err)
		}
	}
	perCell(b)
}
