package kernel

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/interp"
)

func TestLookups(t *testing.T) {
	xs := []float64{1, 2, 2, Blank, 3, 5}
	ys := []float64{10, 20, 25, 99, 30, 50}
	back := []float64{1, 3, 2}
	turn := []float64{0, 2, 1, 3}
	for _, c := range []struct {
		name   string
		form   LookupForm
		x      float64
		xs, ys []float64
		want   float64
	}{
		{"a hit", Linear, 3, xs, ys, 30},
		{"the last of equal rows", Linear, 2, xs, ys, 25},
		{"a hair below the step is on it", Linear, math.Nextafter(2, 0), xs, ys, 25},
		{"before the step", Linear, 1.5, xs, ys, 15},
		{"after the step, over a blank row", Linear, 2.5, xs, ys, 27.5},
		{"the first row", Linear, 1, xs, ys, 10},
		{"the last row", Linear, 5, xs, ys, 50},
		{"a hair beyond the end", Linear, 5 + 1e-13, xs, ys, 50},
		{"below", Linear, 0.9, xs, ys, Fault},
		{"beyond", Linear, 5.1, xs, ys, Fault},
		{"at a blank", Linear, Blank, xs, ys, Blank},
		{"at a fault", Linear, Fault, xs, ys, Fault},
		{"turning back", Linear, 1, back, ys, Fault},
		{"no rows", Linear, 1, []float64{Blank}, []float64{1}, Fault},
		{"one row", Linear, 7, []float64{7}, []float64{70}, 70},
		{"a fault among xs", Linear, 1, []float64{1, Fault}, []float64{1, 2}, Fault},
		{"a fault among ys", Linear, 1, []float64{1, 2}, []float64{1, Fault}, Fault},
		{"a fault, at a blank", Linear, Blank, []float64{1, 2}, []float64{1, Fault}, Fault},
		{"a rise too large", Linear, 1.5, []float64{1, 2}, []float64{-1.5e308, 1.5e308}, Fault},

		{"clamped inside", Clamped, 1.5, xs, ys, 15},
		{"clamped below", Clamped, -9, xs, ys, 10},
		{"clamped beyond", Clamped, 9, xs, ys, 50},
		{"clamped, turning back", Clamped, 9, back, ys, Fault},

		{"monotone, standing still", Monotone, 3, xs, ys, Fault},
		{"monotone, one row", Monotone, 7, []float64{7}, []float64{70}, 70},
		{"monotone, two rows", Monotone, 1.5, []float64{1, 2}, []float64{10, 20}, 15},
		{"monotone, a hit", Monotone, 2, []float64{1, 2, 4}, []float64{10, 20, 21}, 20},
		{"monotone, beyond", Monotone, 4.1, []float64{1, 2, 4}, []float64{10, 20, 21}, Fault},

		{"first crossing", FirstAt, 1.5, turn, []float64{0, 10, 20, 30}, 7.5},
		{"first hit", FirstAt, 2, turn, []float64{0, 10, 20, 30}, 10},
		{"crossing downwards first", FirstAt, 1.5, []float64{2, 1, 2}, []float64{0, 10, 20}, 5},
		{"never", FirstAt, 4, turn, []float64{0, 10, 20, 30}, Fault},

		{"pick", Pick, 2, []float64{3, 2, 2}, []float64{30, 20, 21}, 20},
		{"pick over a blank", Pick, 2, []float64{2, 2}, []float64{Blank, 21}, 21},
		{"pick nothing", Pick, 4, []float64{3, 2}, []float64{30, 20}, Fault},
	} {
		if got := Look(c.form, c.x, c.xs, c.ys); !alike(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestLookupCauses(t *testing.T) {
	show := func(v float64) string { return fmt.Sprint(v) }
	one := []float64{1, 3, 2}
	two := []float64{1, 1, 2}
	for _, c := range []struct {
		form LookupForm
		x    float64
		xs   []float64
		want string
	}{
		{Linear, 12, []float64{1, 4, 6}, "off the end of gears.ratio: 12 is beyond 1..6"},
		{Linear, 2, one, "gears.ratio turns back in row 3; first_at reads a column that does"},
		{Monotone, 2, two, "gears.ratio does not rise in row 2, as lookup_monotone needs"},
		{FirstAt, 9, one, "gears.ratio never reaches 9"},
		{Pick, 9, one, "gears.ratio has no row 9"},
		{Linear, 9, []float64{Blank}, "no row has both gears.ratio and gears.speed"},
		{Linear, 0.5, []float64{-1e308, 1e308}, tooLarge},
		{SlopeSD, 0, []float64{1e200, 2e200, 4e200}, tooLarge},
	} {
		got := LookCause(c.form, c.x, c.xs, []float64{1, 2, 3}[:len(c.xs)], "gears.ratio", "gears.speed", show)
		if got != c.want {
			t.Errorf("cause is %q, want %q", got, c.want)
		}
	}
}

// The data of NAG's example e01be, as SciPy's tests have it: published values
// of monotone interpolation with weighted harmonic means of slopes.
var (
	nagX = []float64{7.99, 8.09, 8.19, 8.70, 9.20, 10, 12, 15, 20}
	nagY = []float64{0, 0.27643e-4, 0.43750e-1, 0.16918, 0.46943, 0.94374, 0.99864, 0.99992, 0.99999}
)

func TestMonotoneAgainstPublishedValues(t *testing.T) {
	for _, c := range []struct{ x, want float64 }{{9.191, 0.4640}, {10.392, 0.9645}, {11.593, 0.9965}, {12.794, 0.9992}} {
		if got := Look(Monotone, c.x, nagX, nagY); math.Abs(got-c.want) > 5e-5 {
			t.Errorf("at %v: %v, want %v", c.x, got, c.want)
		}
	}
	last := -1.0
	for i := range 2000 {
		v := Look(Monotone, 7.99+float64(i)*(20-7.99)/2000, nagX, nagY)
		if v < last || v > 0.99999 {
			t.Fatalf("not monotone: %v after %v", v, last)
		}
		last = v
	}
}

// TestMonotoneAgainstGonum compares the curve with another implementation of
// Fritsch and Butland's rule, data that turns included.
func TestMonotoneAgainstGonum(t *testing.T) {
	for _, ys := range [][]float64{nagY, {3, 1, 4, 1, 5, 9, 2, 6, 5}, {0, 0, 0, 1, 1, 2, 2, 2, 1}} {
		var fb interp.FritschButland
		if err := fb.Fit(nagX, ys); err != nil {
			t.Fatal(err)
		}
		for i := range 500 {
			x := 7.99 + float64(i)*(20-7.99)/500
			if got, want := Look(Monotone, x, nagX, ys), fb.Predict(x); math.Abs(got-want) > 1e-12 {
				t.Fatalf("at %v: %v, want %v", x, got, want)
			}
		}
	}
}

// FuzzCurveRemembers compares a curve that has been read before with a new one.
func FuzzCurveRemembers(f *testing.F) {
	f.Add(2.0, 5.0, 1.0)
	f.Add(3.0, 2.9999999999999996, 0.0)
	f.Fuzz(func(t *testing.T, a, b, c float64) {
		xs, ys := []float64{1, 2, 2, 3, 5}, []float64{10, 20, 25, 30, 50}
		for _, form := range []LookupForm{Linear, Clamped, FirstAt, Pick} {
			curve := NewCurve(form, 5)
			curve.Prepare(xs, ys)
			for _, x := range []float64{a, b, c, a} {
				if got, want := curve.At(x), Look(form, x, xs, ys); !alike(got, want) {
					t.Errorf("form %v at %v: %v, want %v", form, x, got, want)
				}
			}
		}
	})
}

func BenchmarkCurve(b *testing.B) {
	c := NewCurve(Linear, len(nagX))
	c.Prepare(nagX, nagY)
	x := 8.0
	for b.Loop() {
		if x += 0.01; x > 19 {
			x = 8
		}
		c.At(x)
	}
}

// TestCurvesRemember looks up repeatedly in one curve, at its rows, a little
// beside them and between, and compares it with new curves.
func TestCurvesRemember(t *testing.T) {
	xs := []float64{-2, -1, -1 + 1e-13, 0, 1, 2, 2, 2 + 3e-12, 3, 5}
	ys := []float64{-5, 10, 11, 0, 15, 20, 25, 30, -7, 50}
	var asked []float64
	for _, x := range xs {
		for _, by := range []float64{0, 1e-16, 4e-13, 9e-13, 2e-12, 4e-12, 9e-12, 0.3} {
			asked = append(asked, x-by, x+by, x+by) // the second time from memory
		}
	}
	for _, form := range []LookupForm{Linear, Clamped, Monotone, FirstAt, Pick} {
		x, y := xs, ys
		if form == Monotone { // no equal rows
			x, y = []float64{-2, -1, 0, 1, 3, 5}, []float64{-5, 10, 0, 15, -7, 50}
		}
		curve := NewCurve(form, len(xs))
		curve.Prepare(x, y)
		for range 2 {
			for _, at := range asked {
				if got, want := curve.At(at), Look(form, at, x, y); !alike(got, want) {
					t.Errorf("form %v at %v: %v, want %v", form, at, got, want)
				}
			}
			curve.Prepare(x, y)
		}
	}
}

// TestManyLookups compares the indexes of pick and first_at, which a curve
// builds after several look-ups, with linear search: on columns that do not
// change, turn back and come close to each other.
func TestManyLookups(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	near := []float64{0, 1e-13, 3e-13, 1e-12, -1e-13, -2e-12}
	for range 300 {
		n := fewKeys + 1 + random.IntN(200)
		xs, ys := make([]float64, n), make([]float64, n)
		for i := range xs {
			xs[i], ys[i] = float64(random.IntN(40)-20)*(1+near[random.IntN(len(near))]), float64(i)
			if random.IntN(20) == 0 {
				ys[i] = Blank
			}
		}
		for _, form := range []LookupForm{Pick, FirstAt} {
			often := NewCurve(form, n)
			often.Prepare(xs, ys)
			for k := range 200 {
				x := float64(random.IntN(100)-50) / 2 * (1 + near[random.IntN(len(near))])
				if got, want := often.At(x), Look(form, x, xs, ys); !alike(got, want) {
					t.Fatalf("%v, look-up %d of %v: %v, want %v", form, k, x, got, want)
				}
			}
		}
	}
}
