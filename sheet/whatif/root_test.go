package whatif

import (
	"math"
	"testing"
)

// TestBrent solves published problems: APS is Alefeld, Potra, Shi, ACM TOMS
// 21 (1995), test set as used by SciPy; Wallis and Dottie are classics, their
// digits from memory.
func TestBrent(t *testing.T) {
	for _, c := range []struct {
		name   string
		f      func(float64) float64
		a, b   float64
		root   float64
		source string
	}{
		{"sin x - x/2", func(x float64) float64 { return math.Sin(x) - x/2 }, math.Pi / 2, math.Pi, 1.89549426703398094, "APS 1"},
		{"x^4 - 0.2", func(x float64) float64 { return x*x*x*x - 0.2 }, 0, 5, 0.668740304976422, "APS 4"},
		{"x^6 - 0.2", func(x float64) float64 { return math.Pow(x, 6) - 0.2 }, 0, 5, 0.764724491331730, "APS 4"},
		{"x^3 - 2x - 5", func(x float64) float64 { return x*x*x - 2*x - 5 }, 2, 3, 2.0945514815423265, "Wallis, memory"},
		{"cos x - x", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.7390851332151607, "memory"},
		{"root at an end", func(x float64) float64 { return x - 1 }, 0, 1, 1, "definition"},
		{"root at nought", func(x float64) float64 { return x * (1 + x*x) }, -1, 3, 0, "definition"},
		{"flat", func(x float64) float64 { return math.Pow(x-1, 9) }, 0, 2.3, 1, "definition"},
	} {
		evaluations := 0
		f := func(x float64) float64 { evaluations++; return c.f(x) }
		z := brent(f, c.a, c.f(c.a), c.b, c.f(c.b))
		tolerance := 1e-14 * math.Abs(c.root)
		if c.name == "flat" {
			tolerance = 1e-2 // (x-1)^9 is below 1e-18 there: no method sees more
		}
		if z.broken || math.Abs(z.x-c.root) > tolerance+1e-300 {
			t.Errorf("%s (%s): root %.17g, want %.17g; f = %g", c.name, c.source, z.x, c.root, z.fx)
		}
		if evaluations > 200 {
			t.Errorf("%s: %d evaluations", c.name, evaluations)
		}
	}
}

// TestBrentSaysWhenTheFunctionBreaks has a function without a value inside
// its bracket.
func TestBrentSaysWhenTheFunctionBreaks(t *testing.T) {
	f := func(x float64) float64 {
		if x > 0.4 && x < 0.6 {
			return math.NaN()
		}
		return x - 0.5
	}
	if !brent(f, 0, -0.5, 1, 0.5).broken {
		t.Error("a bracket around a fault was reported as a root")
	}
}
