package runlog

import (
	"fmt"
	"math"
)

// Launch is the start of a pass in a log.
type Launch struct {
	At     float64 // the log's time of the pass's own zero, in seconds
	By     string  // "speed", "distance", "engine_speed", or how it was given
	Spread float64 // the spread of the crossings it was computed from, in seconds
	Short  float64 // seconds by which the log ends before the pass; 0 for none
}

// levels are the shares of the pass's highest value at whose crossings the two
// are aligned; they are low, because pass and log cannot differ much yet.
var levels = []float64{0.05, 0.06, 0.07, 0.08, 0.09, 0.10, 0.11, 0.12}

// rises is the share of the pass's highest value from which a log contains a
// pass, and not a burnout.
const rises = 0.6

// Launches finds the passes in a log by a channel that rises from zero, speed
// or distance: pass is the computed one, log the logged one. There may be
// none.
func Launches(pass, log Series, by string) []Launch {
	if pass.Len() < 2 || log.Len() < 8 {
		return nil
	}
	top, duration := 0.0, pass.T[len(pass.T)-1]
	for _, v := range pass.V {
		top = max(top, v)
	}
	end := log.T[len(log.T)-1]
	var out []Launch
	for i := 1; i < log.Len(); i++ {
		if !(log.V[i-1] < levels[0]*top && log.V[i] >= levels[0]*top) || !stays(log.V[i:], levels[0]*top) {
			continue
		}
		window := log.Between(log.T[i-1], log.T[i-1]+float64(1.5*duration))
		l, ok := alignClocks(pass, window, top)
		short := l.At + duration - end
		if !ok || short > 0.9*duration || !(short > 0) && !reaches(window, rises*top) || short > 0 && !keepsUp(pass, window, l.At) {
			continue
		}
		l.By, l.Short = by, max(0, short)
		out = append(out, l)
		for i+1 < log.Len() && log.T[i+1] < l.At+float64(0.8*duration) {
			i++
		}
	}
	return out
}

// stays reports whether samples remain above level, unlike a spike.
func stays(v []float64, level float64) bool {
	above, n := 0, min(len(v), 6)
	for _, x := range v[:n] {
		if x >= level {
			above++
		}
	}
	return above >= n-1
}

// reaches reports whether several samples in a row lie above level.
func reaches(s Series, level float64) bool {
	run := 0
	for _, v := range s.V {
		if run++; v < level {
			run = 0
		}
		if run >= 3 {
			return true
		}
	}
	return false
}

// keepsUp reports whether a log that ends early has reached about the same
// value as the pass at that time.
func keepsUp(pass, log Series, zero float64) bool {
	n := log.Len()
	want := pass.At(log.T[n-1]-zero, math.Inf(1))
	return log.V[n-1] >= rises*want
}

// alignClocks returns the log's time of the pass's zero, from the times at which
// both cross the same levels.
func alignClocks(pass, log Series, top float64) (Launch, bool) {
	var offsets []float64
	for _, share := range levels {
		a, b := pass.First(share*top, pass.T[0]), log.crossing(share*top)
		if a == a && b == b {
			offsets = append(offsets, b-a)
		}
	}
	if len(offsets) < len(levels)/2 {
		return Launch{}, false
	}
	at := median(offsets)
	return Launch{At: at, Spread: offsets[len(offsets)-1] - offsets[0]}, true
}

// crossing returns the time at which s crosses level upwards. A noisy channel
// does so many times, first too early. Therefore crossing takes an interval
// around the first crossing: the time above level in it, counted back from its
// end, gives the result.
func (s Series) crossing(level float64) float64 {
	first := s.First(level, s.T[0])
	if first != first {
		return first
	}
	in := s.Between(first-crossingRoom, first+crossingRoom)
	above := 0.0
	for i := 1; i < in.Len(); i++ {
		a, b := in.V[i-1]-level, in.V[i]-level
		share := 1.0
		switch {
		case a < 0 && b < 0:
			share = 0
		case a < 0 || b < 0:
			share = math.Max(a, b) / math.Abs(a-b)
		}
		above += float64(share * (in.T[i] - in.T[i-1]))
	}
	if in.Len() < 2 {
		return first
	}
	return in.T[in.Len()-1] - above
}

// crossingRoom is half the interval around a crossing.
const crossingRoom = 0.08

// coarse and fine are the steps in seconds by which Correlate moves the pass
// along the log, first over all of it, then in moves fine steps.
const (
	coarse = 0.02
	fine   = 0.0005
	moves  = 3 * coarse / fine
)

// MostCompared bounds the pairs of samples that Correlate compares for one log:
// ten hours of it with a pass of ten seconds.
const MostCompared = 1_000_000_000

// Compared returns the number of pairs of samples that Correlate compares, plus
// the number that it reads.
func Compared(pass, log Series) float64 {
	if pass.Len() < 2 || log.Len() < 8 {
		return 0
	}
	duration := pass.T[len(pass.T)-1]
	samples := max(1, duration/coarse)
	return max(duration, log.T[len(log.T)-1]-log.T[0])/coarse*samples + moves*(4*samples+float64(log.Len()))
}

// Correlate finds the place of the pass in a log by a channel of any shape,
// such as engine speed: the place with the least squares of the differences. It
// finds nothing if it would compare more than MostCompared.
func Correlate(pass, log Series, by string) (Launch, bool) {
	if n := Compared(pass, log); !(n > 0) || n > MostCompared {
		return Launch{}, false
	}
	duration := pass.T[len(pass.T)-1]
	last := log.T[len(log.T)-1] - float64(0.5*duration)
	shape, grid := even(pass, 0, duration, coarse), even(log, log.T[0], log.T[len(log.T)-1], coarse)
	best, at, large := math.Inf(1), 0, tenth(shape)
	for lag := range grid {
		if log.T[0]+float64(float64(lag)*coarse) > last {
			break
		}
		if d := apart(shape, grid[lag:], large, best); d < best {
			best, at = d, lag
		}
	}
	if math.IsInf(best, 1) {
		return Launch{}, false
	}
	zero := log.T[0] + float64(float64(at)*coarse)
	best, middle := math.Inf(1), zero
	shape = even(pass, 0, duration, coarse/4)
	large = tenth(shape)
	for shift := -1.5 * coarse; shift <= 1.5*coarse; shift += fine {
		if d := apart(shape, even(log, middle+shift, middle+shift+duration, coarse/4), large, math.Inf(1)); d < best {
			best, zero = d, middle+shift
		}
	}
	return Launch{At: zero, By: by, Spread: fine, Short: max(0, zero+duration-log.T[len(log.T)-1])}, true
}

// even samples s evenly.
func even(s Series, lo, hi, step float64) []float64 {
	n := int((hi-lo)/step) + 1
	out := make([]float64, n)
	i := 0
	for k := range out {
		t := lo + float64(float64(k)*step)
		for i < len(s.T) && s.T[i] < t {
			i++
		}
		switch {
		case i == 0 || i == len(s.T):
			out[k] = math.NaN()
		default:
			out[k] = s.V[i-1] + float64((t-s.T[i-1])/(s.T[i]-s.T[i-1])*(s.V[i]-s.V[i-1]))
		}
	}
	return out
}

// tenth returns the square of a tenth of the greatest value of a, 1 if all are
// zero.
func tenth(a []float64) float64 {
	large := 0.0
	for _, v := range a {
		if v == v {
			large = max(large, 0.1*math.Abs(v))
		}
	}
	if large *= large; large == 0 {
		return 1
	}
	return large
}

// apart returns the mean square of the differences, with those whose square
// exceeds large limited to about that, because they may be spikes; it stops
// beyond limit.
func apart(a, b []float64, large, limit float64) float64 {
	total, n := 0.0, 0
	for i := range min(len(a), len(b)) {
		d := a[i] - b[i]
		if d != d {
			continue
		}
		total += d * d * large / (large + float64(d*d))
		if n++; total > limit*float64(len(a)) {
			return math.Inf(1)
		}
	}
	if 2*n < len(a) {
		return math.Inf(1)
	}
	return total / float64(n)
}

// String describes how the clocks were aligned.
func (l Launch) String() string {
	return fmt.Sprintf("by %s: the pass begins at %.3f s of the log", l.By, l.At)
}
