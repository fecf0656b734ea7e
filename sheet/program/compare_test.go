package program

import (
	"math"
	"math/rand/v2"
	"testing"

	"gearleaf/sheet/kernel"
)

// TestComparingLanesNearEachOther compares numbers that lie within a few
// tolerances of one another, of all sizes, tiny ones and none among them, and
// holds what lanes are sure of to the kernel.
func TestComparingLanesNearEachOther(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	d := make([]float64, 1)
	sure := 0
	for range 50_000 {
		s := math.Ldexp(r.Float64()-0.5, r.IntN(2140)-1080)
		x := s + float64(s*(kernel.Tolerance*(r.Float64()*12-6)))
		if r.IntN(8) == 0 {
			x = troubles[r.IntN(len(troubles))]
		}
		v := []float64{x}
		for _, o := range []opcode{opLess, opLessEqual, opGreater, opGreaterEqual} {
			row := &ops[o]
			for _, c := range [][2]wide{{{v: v}, {s: s}}, {{s: s}, {v: v}}, {{v: v}, {v: []float64{s}}}} {
				if !row.lanes(d, c[0], c[1]) {
					continue // the kernel goes over it
				}
				sure++
				if want := row.f2(c[0].at(0), c[1].at(0)); bitsOf(d[0]) != bitsOf(want) {
					t.Fatalf("%v %s %v is %v, want %v", c[0].at(0), row.name, c[1].at(0), d[0], want)
				}
			}
		}
	}
	if sure < 100_000 {
		t.Errorf("sure of %d alone", sure)
	}
}
