package pass

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gearleaf/sheet"
)

// prepared returns a fit of the pass worksheet to a log of itself.
func prepared(t *testing.T, names ...string) *fitting {
	t.Helper()
	s, list := sheet.Load("../../templates/quarter-mile.leaf")
	if s == nil {
		t.Fatal(list)
	}
	var b bytes.Buffer
	if err := Invent(s, &b, InventQuestion{Mapping: Mapping(s), Seed: 1, Rate: 100, Noise: 1, Delimiter: ',', Point: '.', Before: 3, After: 2}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "run.csv")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	file, err := ReadLog(s, path, Mapping(s), nil)
	if err != nil {
		t.Fatal(err)
	}
	h, err := Hold(s, LogQuestion{Mapping: Mapping(s), File: file})
	if err != nil {
		t.Fatal(err)
	}
	by, d := ParseFree(s, names)
	if d != nil {
		t.Fatal(d.Message)
	}
	f := &fitting{s: s, q: FitQuestion{Logged: h, By: by}, table: Mapping(s).Table}
	if err := f.choose(); err != nil {
		t.Fatal(err)
	}
	f.lay()
	t.Cleanup(func() { f.eval.Close() })
	f.weigh(f.start(), 0)
	return f
}

// TestSlopesOfTheFit: the step with which a fit differentiates is small enough
// for a straight line, and large enough for the steps of the pass's rows: half,
// a quarter and a tenth of it see the same slopes of everything that the log
// shows, to some hundredths in size and in direction. (The shift speed is left out: it moves the shifts
// themselves, and no slope describes a sample that changes its gear.)
func TestSlopesOfTheFit(t *testing.T) {
	names := []string{
		"drag_area", "drive_efficiency", "mass_with_rider", "tyre_rollout", "tyre_growth", "tyre_slip", "power_fit", "clutch_spring",
		"clutch_friction", "engine_inertia", "launch_speed", "head_wind", "speed_delay", "centre_height",
	}
	f := prepared(t, names...)
	at := f.start()
	for i, u := range f.unknowns(at)[:len(names)] {
		slope := func(step float64) []float64 {
			r := f.with(i, at, []float64{at[i] - step, at[i] + step})
			out := make([]float64, len(r[0]))
			for k := range out {
				out[k] = (r[1][k] - r[0][k]) / (2 * step)
			}
			return out
		}
		whole := slope(u.Step)
		if sumOf(whole) == 0 {
			t.Errorf("nothing depends on %s", names[i])
		}
		for _, part := range []float64{0.5, 0.25, 0.1} {
			product, some := 0.0, slope(u.Step*part)
			for k, v := range some {
				product += v * whole[k]
			}
			size, along := math.Sqrt(sumOf(some)/sumOf(whole)), product/math.Sqrt(sumOf(some)*sumOf(whole))
			if math.Abs(size-1) > 0.02 || along < 0.985 {
				t.Errorf("%s: %g of the step sees another slope: size %.4f, direction %.5f", names[i], part, size, along)
			}
		}
	}
}
