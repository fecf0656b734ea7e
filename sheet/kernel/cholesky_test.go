package kernel

import (
	"math"
	"testing"
)

func TestCholesky(t *testing.T) {
	for name, c := range map[string]struct {
		r  [][]float64
		ok bool
	}{
		"none":           {nil, true},
		"independent":    {[][]float64{{1, 0}, {0, 1}}, true},
		"GUM H.2":        {[][]float64{{1, -0.36, 0.86}, {-0.36, 1, -0.65}, {0.86, -0.65, 1}}, true},
		"one and one":    {[][]float64{{1, 1, 1}, {1, 1, 1}, {1, 1, 1}}, true},
		"opposite":       {[][]float64{{1, -1}, {-1, 1}}, true},
		"contradiction":  {[][]float64{{1, 0.9, -0.9}, {0.9, 1, 0.9}, {-0.9, 0.9, 1}}, false},
		"one, but apart": {[][]float64{{1, 1, 0.5}, {1, 1, -0.5}, {0.5, -0.5, 1}}, false},
	} {
		l, ok := Cholesky(c.r)
		if ok != c.ok {
			t.Errorf("%s: ok %v", name, ok)
			continue
		}
		for i := range l {
			for j := range l {
				sum := 0.0
				for k := range l {
					sum += l[i][k] * l[j][k]
				}
				if math.Abs(sum-c.r[i][j]) > 1e-9 {
					t.Errorf("%s: the factor gives %v at %d, %d instead of %v", name, sum, i, j, c.r[i][j])
				}
			}
		}
	}
}
