package runlog

import (
	"math"
	"slices"
)

// Series is the samples of one channel: T are their times in seconds, rising,
// V as many values, in coherent SI unless the series is in the unit of a file.
type Series struct{ T, V []float64 }

// Len returns the number of samples.
func (s Series) Len() int { return len(s.T) }

// At returns the value at t on the straight line between two samples; NaN
// outside, and between samples that lie further apart than reach.
func (s Series) At(t, reach float64) float64 {
	i, exact := slices.BinarySearch(s.T, t)
	switch {
	case exact:
		return s.V[i]
	case i == 0 || i == len(s.T) || s.T[i]-s.T[i-1] > reach:
		return math.NaN()
	}
	share := (t - s.T[i-1]) / (s.T[i] - s.T[i-1])
	return s.V[i-1] + float64(share*(s.V[i]-s.V[i-1]))
}

// Between returns the samples from lo to hi.
func (s Series) Between(lo, hi float64) Series {
	i, _ := slices.BinarySearch(s.T, lo)
	k, exact := slices.BinarySearch(s.T, hi)
	if exact {
		k++
	}
	if k < i {
		k = i
	}
	return Series{s.T[i:k], s.V[i:k]}
}

// every returns the usual time from sample to sample.
func (s Series) every() float64 {
	if len(s.T) < 2 {
		return math.NaN()
	}
	steps := make([]float64, 0, len(s.T)-1)
	for i := 1; i < len(s.T); i++ {
		steps = append(steps, s.T[i]-s.T[i-1])
	}
	return median(steps)
}

// median returns the median of v, which it sorts.
func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	n := len(v)
	if n%2 == 1 {
		return v[n/2]
	}
	return (v[n/2-1] + v[n/2]) / 2
}

// First returns the time at which s first crosses level upwards, from lo on;
// NaN if it does not.
func (s Series) First(level, lo float64) float64 {
	for i := 1; i < len(s.T); i++ {
		if s.T[i] >= lo && s.V[i-1] < level && s.V[i] >= level {
			return s.T[i-1] + float64((level-s.V[i-1])/(s.V[i]-s.V[i-1])*(s.T[i]-s.T[i-1]))
		}
	}
	return math.NaN()
}

// Integral returns the area under s from lo to hi, with gaps bridged by
// straight lines; NaN if s does not extend from lo to hi.
func (s Series) Integral(lo, hi float64) float64 {
	if len(s.T) == 0 || s.T[0] > lo || s.T[len(s.T)-1] < hi {
		return math.NaN()
	}
	in := s.Between(lo, hi)
	t, v, total := lo, s.At(lo, math.Inf(1)), 0.0
	for i := range in.T {
		total += float64((v + in.V[i]) / 2 * (in.T[i] - t))
		t, v = in.T[i], in.V[i]
	}
	return total + float64((v+s.At(hi, math.Inf(1)))/2*(hi-t))
}

// Travel returns the running integral of s from its first sample on.
func (s Series) Travel() Series {
	out := Series{T: s.T, V: make([]float64, len(s.V))}
	for i := 1; i < len(s.T); i++ {
		out.V[i] = out.V[i-1] + float64((s.V[i-1]+s.V[i])/2*(s.T[i]-s.T[i-1]))
	}
	return out
}

// Middle returns v with every value replaced by the median of those within
// half of its time.
func Middle(t, v []float64, half float64) []float64 {
	out := make([]float64, len(v))
	var around []float64
	lo, hi := 0, 0
	for i := range v {
		for t[lo] < t[i]-half {
			lo++
		}
		for hi < len(t) && t[hi] <= t[i]+half {
			hi++
		}
		around = append(around[:0], v[lo:hi]...)
		out[i] = median(around)
	}
	return out
}
