//go:build goexperiment.simd && amd64

package kernel

import (
	"math/rand/v2"
	"simd/archsimd"
	"testing"
)

// TestPowersByFour holds lanes by four to Powers, whole blocks of ordinary
// ones and blocks with something else in them.
func TestPowersByFour(t *testing.T) {
	if !archsimd.X86.AVX2() {
		t.Skip("no AVX2")
	}
	random := rand.New(rand.NewPCG(11, 12))
	odd := []float64{0, -1, 5e-324, 1e-310, 1e300, Blank, Fault}
	for turn := range 400 {
		a := make([]float64, 1+random.IntN(40))
		for i := range a {
			a[i] = random.ExpFloat64()
		}
		if turn%3 == 0 {
			a[random.IntN(len(a))] = odd[random.IntN(len(odd))]
		}
		got, want := make([]float64, len(a)), make([]float64, len(a))
		for _, b := range []float64{0.2857, -0.286, 5.2559, 100.5, -300.25, (random.Float64() - 0.5) * 9, 2, 0.5, Blank} {
			PowersByFour(got, a, b)
			Powers(want, a, b)
			for i, x := range a {
				if !alike(got[i], want[i]) {
					t.Fatalf("%v^%v is %v by four, %v one by one", x, b, got[i], want[i])
				}
			}
		}
	}
}

func init() { blockPowers["by four"] = PowersByFour }
