package whatif

import (
	"context"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// dataSet reads a set of the published data for fitting.
func dataSet(t testing.TB, name string) (x, y []float64) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/published/fits.tsv")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		fields := strings.Split(strings.TrimSpace(line), "\t")
		if fields[0] != name {
			continue
		}
		a, errA := strconv.ParseFloat(fields[1], 64)
		b, errB := strconv.ParseFloat(fields[2], 64)
		if errA != nil || errB != nil {
			t.Fatalf("%s: %q", name, line)
		}
		x, y = append(x, a), append(y, b)
	}
	return x, y
}

func line(n int, from, step float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = from + float64(i)*step
	}
	return out
}

// TestReferenceSets compares least squares with the Statistical Reference Datasets
// of NIST/ITL: certified values, to the tolerance in last place.
func TestReferenceSets(t *testing.T) {
	inf := math.Inf(1)
	norrisX, norrisY := dataSet(t, "Norris")
	misraX, misraY := dataSet(t, "Misra1a")
	woodX, woodY := dataSet(t, "DanWood")
	for _, c := range []struct {
		name          string
		x, y          []float64
		model         func(b []float64, x float64) float64
		start         []Unknown
		values, error []float64
		deviation     float64
		tolerance     float64
	}{
		{
			"Norris", norrisX, norrisY, func(b []float64, x float64) float64 { return b[0] + b[1]*x },
			[]Unknown{{Start: 0, Lo: -inf, Hi: inf, Step: 1}, {Start: 0, Lo: -inf, Hi: inf, Step: 1}},
			[]float64{-0.262323073774029, 1.00211681802045},
			[]float64{0.232818234301152, 0.000429796848199937},
			0.884796396144373, 1e-10,
		},
		{
			"NoInt1", line(11, 60, 1), line(11, 130, 1), func(b []float64, x float64) float64 { return b[0] * x },
			[]Unknown{{Start: 0, Lo: -inf, Hi: inf, Step: 1}},
			[]float64{2.07438016528926},
			[]float64{0.0165289256198347},
			3.56753034006338, 1e-12,
		},
		{
			"NoInt2",
			[]float64{4, 5, 6},
			[]float64{3, 4, 4},
			func(b []float64, x float64) float64 { return b[0] * x },
			[]Unknown{{Start: 0, Lo: -inf, Hi: inf, Step: 1}},
			[]float64{0.727272727272727},
			[]float64{0.0420827318078432},
			0.369274472937998, 1e-12,
		},
		{
			"Misra1a", misraX, misraY, func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
			[]Unknown{{Start: 250, Lo: -inf, Hi: inf}, {Start: 5e-4, Lo: -inf, Hi: inf}},
			[]float64{2.3894212918e+02, 5.5015643181e-04},
			[]float64{2.7070075241, 7.2668688436e-06},
			math.Sqrt(1.2455138894e-01 / 12), 1e-6,
		},
		{
			"DanWood", woodX, woodY, func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
			[]Unknown{{Start: 0.7, Lo: -inf, Hi: inf}, {Start: 4, Lo: -inf, Hi: inf}},
			[]float64{7.6886226176e-01, 3.8604055871},
			[]float64{0.018281973860, 0.051726610913},
			math.Sqrt(4.3173084083e-03 / 4), 1e-6,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			e, err := LeastSquares(context.Background(), Problem{Unknowns: c.start, N: len(c.x), Residuals: residualsOf(c.x, c.y, c.model)})
			if err != nil || !e.Converged {
				t.Fatalf("%v, converged %v", err, e.Converged)
			}
			near := func(what string, got, want float64) {
				if !(math.Abs(got-want) <= c.tolerance*math.Abs(want)) {
					t.Errorf("%s is %.15g, certified %.15g", what, got, want)
				}
			}
			for i := range c.values {
				near("value "+strconv.Itoa(i), e.Values[i], c.values[i])
				near("error "+strconv.Itoa(i), e.Error[i], c.error[i])
			}
			near("deviation", e.Deviation(), c.deviation)
		})
	}
}

func residualsOf(x, y []float64, model func(b []float64, x float64) float64) Residuals {
	return func(points, out [][]float64) {
		for k, b := range points {
			for i := range x {
				out[k][i] = model(b, x[i]) - y[i]
			}
		}
	}
}

// TestBounds: the least sum may lie outside.
func TestBounds(t *testing.T) {
	x, y := line(20, 0, 1), line(20, 3, 2)
	e, err := LeastSquares(context.Background(), Problem{Unknowns: []Unknown{{Start: 1, Lo: 0, Hi: 2}, {Start: 0, Lo: 0, Hi: 10}}, N: len(x), Residuals: residualsOf(x, y, func(b []float64, x float64) float64 { return b[0] + b[1]*x })})
	if err != nil {
		t.Fatal(err)
	}
	// With b0 held at 2 the best slope is Σx(y−2)/Σx².
	num, den := 0.0, 0.0
	for i := range x {
		num, den = num+x[i]*(y[i]-2), den+x[i]*x[i]
	}
	if e.Values[0] != 2 || !e.AtBound[0] || e.AtBound[1] || math.Abs(e.Values[1]-num/den) > 1e-9 {
		t.Errorf("came to %v, want 2 and %v", e.Values, num/den)
	}
}

// TestOpen: a product of two parameters says nothing of either.
func TestOpen(t *testing.T) {
	x := line(20, 1, 1)
	e, err := LeastSquares(context.Background(), Problem{Unknowns: []Unknown{{Start: 2, Lo: 0.1, Hi: 9}, {Start: 1, Lo: 0.1, Hi: 9}, {Start: 0, Lo: -9, Hi: 9}}, N: len(x), Residuals: residualsOf(x, line(20, 7, 6), func(b []float64, x float64) float64 { return b[0]*b[1]*x + b[2] })})
	if err != nil {
		t.Fatal(err)
	}
	if len(e.Open) != 1 || !math.IsInf(e.Error[0], 1) || !math.IsInf(e.Error[1], 1) || math.IsInf(e.Error[2], 1) {
		t.Fatalf("open %v, errors %v", e.Open, e.Error)
	}
	if p := e.Values[0] * e.Values[1]; math.Abs(p-6) > 1e-6 || math.Abs(e.Values[2]-1) > 1e-5 {
		t.Errorf("came to %v", e.Values)
	}
}
