package pass

import (
	"math"
	"slices"
)

// Spot is a range of a given's values within which nothing in the log depends
// on it: grip, for instance, if power is the limit.
type Spot struct {
	// Flat says that the given ends in such a range.
	Flat bool
	// Below and Above are the values from which the log depends on the given
	// again; NaN if there are none in the given's range.
	Below, Above float64
	// Left is the value that was replaced by another start of the fit, Start
	// that start; both are NaN if the fit started at the sheet's value.
	Left, Start float64
}

// Everywhere reports whether the log depends on no value of the given's range.
func (s Spot) Everywhere() bool { return s.Flat && s.Below != s.Below && s.Above != s.Above }

// starts is the number of values of a given's range that are tried as other
// starts.
const starts = 24

// leaveFlat tests every given around at. If nothing depends on it, it tries
// other values of its range and moves at to the one that fits best.
func (f *fitting) leaveFlat(at []float64) {
	for i, a := range f.q.By {
		if f.spots[i] == (Spot{}) {
			f.spots[i] = Spot{Left: math.NaN(), Start: math.NaN()}
		}
		here, flat := f.flat(i, at)
		if !flat {
			continue
		}
		values := make([]float64, starts+1)
		for k := range values {
			values[k] = a.Lo + (a.Hi-a.Lo)*float64(k)/starts
		}
		best, least := at[i], sumOf(here)
		for k, r := range f.with(i, at, values) {
			if sum := sumOf(r); comparable(here, r) && sum < least*(1-1e-6) {
				best, least = values[k], sum
			}
		}
		if best != at[i] {
			f.spots[i].Left, f.spots[i].Start = at[i], best
			at[i] = best
		}
	}
}

// flat returns the residuals at a point, and whether none depends on given i
// there.
func (f *fitting) flat(i int, at []float64) (here []float64, flat bool) {
	step := f.unknowns(at)[i].Step
	r := f.with(i, at, []float64{at[i], math.Max(at[i]-step, f.q.By[i].Lo), math.Min(at[i]+step, f.q.By[i].Hi)})
	return r[0], equal(r[0], r[1]) && equal(r[0], r[2])
}

// with returns the residuals at a point whose value i is each of values.
func (f *fitting) with(i int, at, values []float64) [][]float64 {
	points, out := make([][]float64, len(values)), make([][]float64, len(values))
	for k, v := range values {
		points[k], out[k] = slices.Clone(at), make([]float64, len(f.points))
		points[k][i] = v
	}
	f.residuals(points, out)
	return out
}

// equal reports whether two sets of residuals are equal.
func equal(a, b []float64) bool {
	for i := range a {
		if !(math.Abs(a[i]-b[i]) <= 1e-9*(1+math.Abs(a[i]))) && (a[i] == a[i] || b[i] == b[i]) {
			return false
		}
	}
	return true
}

// comparable reports whether the same residuals of both have a value.
func comparable(a, b []float64) bool {
	for i := range a {
		if (a[i] == a[i]) != (b[i] == b[i]) {
			return false
		}
	}
	return true
}

func sumOf(r []float64) float64 {
	total := 0.0
	for _, v := range r {
		if v == v {
			total += v * v
		}
	}
	return total
}

// spot returns the Spot of given i at the end of the fit.
func (f *fitting) spot(i int, at []float64) Spot {
	out := f.spots[i]
	out.Below, out.Above = math.NaN(), math.NaN()
	here, flat := f.flat(i, at)
	if out.Flat = flat; !flat && out.Left != out.Left {
		return out
	}
	from := at
	if !flat { // the spot that was left
		from = slices.Clone(at)
		from[i] = out.Left
		if here, flat = f.flat(i, from); !flat {
			return out
		}
	}
	out.Below = f.edge(i, from, here, f.q.By[i].Lo)
	out.Above = f.edge(i, from, here, f.q.By[i].Hi)
	return out
}

// edge returns the value of given i, between that of at and an end of its
// range, from which the residuals differ from those here; NaN if they do not.
func (f *fitting) edge(i int, at, here []float64, end float64) float64 {
	values := make([]float64, starts)
	for k := range values {
		values[k] = at[i] + (end-at[i])*float64(k+1)/starts
	}
	inside := at[i]
	for k, r := range f.with(i, at, values) {
		if equal(here, r) {
			inside = values[k]
			continue
		}
		outside := values[k]
		for range 30 {
			middle := (inside + outside) / 2
			if equal(here, f.with(i, at, []float64{middle})[0]) {
				inside = middle
			} else {
				outside = middle
			}
		}
		return outside
	}
	return math.NaN()
}
