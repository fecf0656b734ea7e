package whatif

import (
	"slices"
	"testing"
)

// TestHypercubeHitsEverySlice draws hypercubes of many sizes.
func TestHypercubeHitsEverySlice(t *testing.T) {
	for _, n := range []int{1, 2, 3, 4, 5, 16, 17, 100, 1000, 4097} {
		h := Hypercube{N: n, Seed: uint64(n)}
		for axis := range 3 {
			hit := make([]bool, n)
			for i := range n {
				u := h.At(i, axis)
				if !(u >= 0 && u < 1) {
					t.Fatalf("%d points: point %d lies at %g", n, i, u)
				}
				slice := int(u * float64(n))
				if hit[slice] {
					t.Fatalf("%d points: slice %d of axis %d is hit twice", n, slice, axis)
				}
				hit[slice] = true
			}
		}
	}
}

// TestHypercubeSpreads checks that axes, and seeds, are independent.
func TestHypercubeSpreads(t *testing.T) {
	const n = 10_000
	correlation := func(a, b func(i int) float64) float64 {
		sum := 0.0
		for i := range n {
			sum += (a(i) - 0.5) * (b(i) - 0.5) * 12 / n
		}
		return sum
	}
	one, two := Hypercube{n, 1}, Hypercube{n, 2}
	for name, c := range map[string]float64{
		"two axes":           correlation(func(i int) float64 { return one.At(i, 0) }, func(i int) float64 { return one.At(i, 1) }),
		"two seeds":          correlation(func(i int) float64 { return one.At(i, 0) }, func(i int) float64 { return two.At(i, 0) }),
		"a point and number": correlation(func(i int) float64 { return one.At(i, 0) }, func(i int) float64 { return float64(i) / n }),
		"neighbours":         correlation(func(i int) float64 { return one.At(i, 0) }, func(i int) float64 { return one.At((i+1)%n, 0) }),
	} {
		if c > 0.04 || c < -0.04 { // four standard deviations of chance
			t.Errorf("%s are correlated: %g", name, c)
		}
	}
}

func TestSweepPoints(t *testing.T) {
	s := Sweep{Axes: []Axis{{Values: []float64{1, 2}}, {Values: []float64{10, 20, 30}}, {Values: []float64{0.1, 0.2}}}}
	n, ok := s.Size()
	if n != 12 || !ok {
		t.Fatalf("%d scenarios, %v", n, ok)
	}
	all := columnsOf(3, n)
	s.Points(0, n, all)
	want := [][]float64{
		{1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2},
		{10, 10, 20, 20, 30, 30, 10, 10, 20, 20, 30, 30},
		{0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2},
	}
	for k := range all {
		if !slices.Equal(all[k], want[k]) {
			t.Errorf("axis %d: %v", k, all[k])
		}
	}
	for from := range n {
		for size := 1; from+size <= n; size++ {
			part := columnsOf(3, size)
			s.Points(from, size, part)
			for k := range part {
				if !slices.Equal(part[k], want[k][from:from+size]) {
					t.Fatalf("%d scenarios from %d: %v", size, from, part)
				}
			}
		}
	}
}

// TestParts checks that parts are the whole, in order and without a gap, also for
// sizes whose product exceeds 64 bits.
func TestParts(t *testing.T) {
	for _, n := range []int{0, 1, 7, 256, 1_000_000_007, MaxScenarios} {
		for _, shards := range []int{1, 2, 3, 1000, 999_983} {
			s := Sweep{Random: &Hypercube{N: n}, Shards: shards}
			last := 0
			parts := []int{0, min(1, shards-1), shards / 2, max(0, shards-2), shards - 1}
			slices.Sort(parts)
			for _, i := range slices.Compact(parts) {
				s.Shard = i
				from, to := s.Part()
				if from < last || to < from || to > n {
					t.Fatalf("%d in %d: part %d is %d to %d", n, shards, i, from, to)
				}
				last = from
				if i+1 < shards {
					s.Shard = i + 1
					if next, _ := s.Part(); next != to {
						t.Fatalf("%d in %d: part %d ends at %d, the next begins at %d", n, shards, i, to, next)
					}
				} else if to != n {
					t.Fatalf("%d in %d: the last part ends at %d", n, shards, to)
				}
			}
		}
	}
}

func TestSweepTooLarge(t *testing.T) {
	s := Sweep{}
	for range 3 {
		s.Axes = append(s.Axes, Axis{Values: make([]float64, 1<<20)})
	}
	if _, ok := s.Size(); ok {
		t.Error("a sweep of 2^60 scenarios is taken")
	}
}
