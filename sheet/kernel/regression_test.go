package kernel

import (
	"math"
	"testing"
)

// TestRegressionFaults computes statistics of too few points.
func TestRegressionFaults(t *testing.T) {
	blank, fault := Blank, Fault
	for _, c := range []struct {
		what   string
		form   LookupForm
		xs, ys []float64
		fault  bool
	}{
		{"a line through two points", Slope, []float64{1, 2}, []float64{3, 5}, false},
		{"the spread of two points", ResidualSD, []float64{1, 2}, []float64{3, 5}, true},
		{"the spread of two rows with both values", SlopeSD, []float64{1, 2, 3}, []float64{3, 5, blank}, true},
		{"a line through one point", LineAt, []float64{1}, []float64{3}, true},
		{"a line through one x", Slope, []float64{1, 1, 1}, []float64{3, 4, 5}, true},
		{"the spread at one x", ResidualSD, []float64{1, 1, 1}, []float64{3, 4, 5}, true},
		{"a line through one x that its mean misses", Slope, []float64{0.1, 0.1, 0.1}, []float64{3, 4, 5}, true},
		{"a line at one x that its mean misses", LineAt, []float64{0.1, 0.1, 0.1}, []float64{3, 4, 5}, true},
		{"a spread at one x, but for rounding", PredictionSD, []float64{0.3, 0.30000000000000004, 0.3}, []float64{3, 4, 5}, true},
		{"a fault among the points", MeanSD, []float64{1, 2, 3}, []float64{3, fault, 5}, true},
		{"no freedom", EffectiveFreedom, []float64{1, 2}, []float64{3, 0}, true},
		{"xs that turn back", PredictionSD, []float64{3, 1, 2, 1}, []float64{3, 5, 2, 1}, false},
	} {
		got := Look(c.form, 0, c.xs, c.ys)
		if IsFault(got) != c.fault {
			t.Errorf("%s is %g", c.what, got)
		}
		if c.fault && !IsFault(c.ys[1%len(c.ys)]) && LookCause(c.form, 0, c.xs, c.ys, "t.x", "t.y", nil) == "" {
			t.Errorf("%s: no cause", c.what)
		}
	}
}

// TestRegressionPassesOverBlanks: a row without both values is not a point, and
// a common shift of the points moves nothing but the line's height.
func TestRegressionPassesOverBlanks(t *testing.T) {
	xs, ys := []float64{1, Blank, 2, 4, 5}, []float64{2, 9, 3, Blank, 8}
	for _, form := range []LookupForm{Slope, LineAt, SlopeSD, ResidualSD, MeanSD, PredictionSD} {
		got, want := Look(form, 3, xs, ys), Look(form, 3, []float64{1, 2, 5}, []float64{2, 3, 8})
		if got != want {
			t.Errorf("form %d with blanks is %g, without %g", form, got, want)
		}
		far := Look(form, 3+1e6, []float64{1 + 1e6, 2 + 1e6, 5 + 1e6}, []float64{2, 3, 8})
		if math.Abs(far-want) > 1e-9*math.Abs(want) {
			t.Errorf("form %d a million away is %g, not %g", form, far, want)
		}
	}
}
