package runlog

import (
	"fmt"
	"math"
)

// Cleaned is a channel ready for comparison, and the corrections made. Times
// are in seconds.
type Cleaned struct {
	Series
	Every   float64 // the channel's own sampling interval
	Reach   float64 // samples further apart leave a gap between them
	Blank   int     // rows without a value
	Spikes  int     // samples left out
	SpikeAt float64 // the time of the first of them
	Held    bool    // the file repeats each sample until the next
	Gaps    int
	Gap     float64 // the longest, and
	GapAt   float64 // where it begins
	Noise   float64 // standard deviation of the noise, from sample to sample
}

// Clean makes a channel of rows: it drops blanks, the repeated samples of a
// slower channel, and spikes.
func Clean(t, v []float64) Cleaned {
	var c Cleaned
	c.T, c.V = make([]float64, 0, len(t)), make([]float64, 0, len(t))
	for i := range t {
		if v[i] != v[i] {
			c.Blank++
			continue
		}
		c.T, c.V = append(c.T, t[i]), append(c.V, v[i])
	}
	c.held()
	c.despike()
	c.Every = c.every()
	c.Reach = 3.5 * c.Every
	for i := 1; i < len(c.T); i++ {
		if gap := c.T[i] - c.T[i-1]; gap > c.Reach {
			c.Gaps++
			if gap > c.Gap {
				c.Gap, c.GapAt = gap, c.T[i-1]
			}
		}
	}
	return c
}

// heldRun is the usual run of equal samples from which a file repeats each one.
const heldRun = 3

// held keeps the first of every run of equal samples if runs are the rule. A
// channel of few different values, such as a gear, is unchanged.
func (c *Cleaned) held() {
	var runs []float64
	different := map[float64]bool{}
	run := 1.0
	for i := 1; i < len(c.V); i++ {
		if len(different) <= 16 {
			different[c.V[i]] = true
		}
		if c.V[i] == c.V[i-1] {
			run++
			continue
		}
		runs = append(runs, run)
		run = 1
	}
	if len(different) <= 16 || len(runs) < 8 || median(runs[1:]) < heldRun {
		return
	}
	c.Held = true
	most := 1.5 * median(runs)
	keep := 1
	since := 1.0
	for i := 1; i < len(c.V); i++ {
		// A much longer run than usual is a constant value.
		if since++; c.V[i] == c.V[i-1] && since <= most {
			continue
		}
		c.T[keep], c.V[keep] = c.T[i], c.V[i]
		keep++
		since = 1
	}
	c.T, c.V = c.T[:keep], c.V[:keep]
}

// noise returns the standard deviation of the difference between a sample and
// the mean of its neighbours.
func (c *Cleaned) noise() float64 {
	off := make([]float64, 0, len(c.V))
	for i := 1; i+1 < len(c.V); i++ {
		off = append(off, math.Abs(c.V[i]-float64((c.V[i-1]+c.V[i+1])/2)))
	}
	if len(off) == 0 {
		return 0
	}
	return median(off) / 0.6745 / math.Sqrt(1.5)
}

// despike removes single samples that are far from their neighbours.
func (c *Cleaned) despike() {
	c.Noise = c.noise()
	if len(c.V) < 7 {
		return
	}
	const half = 3
	spike := make([]bool, len(c.V))
	var around, apart [2 * half]float64
	for i := half; i+half < len(c.V); i++ {
		n := 0
		for k := -half; k <= half; k++ {
			if k != 0 {
				around[n] = c.V[i+k]
				n++
			}
		}
		mid := median(around[:])
		for k, v := range around {
			apart[k] = math.Abs(v - mid)
		}
		limit := max(10*c.Noise, 8*1.4826*median(apart[:]), 1e-9*math.Abs(mid))
		off := c.V[i] - mid
		// A spike returns: both neighbours are near the median.
		back := math.Abs(off) > 2*math.Abs(c.V[i-1]-mid) && math.Abs(off) > 2*math.Abs(c.V[i+1]-mid)
		spike[i] = math.Abs(off) > limit && back
	}
	keep := 0
	for i := range c.V {
		if spike[i] {
			if c.Spikes == 0 {
				c.SpikeAt = c.T[i]
			}
			c.Spikes++
			continue
		}
		c.T[keep], c.V[keep] = c.T[i], c.V[i]
		keep++
	}
	c.T, c.V = c.T[:keep], c.V[:keep]
}

// Changes lists the corrections to a channel, one sentence each.
func (c *Cleaned) Changes() []string {
	var out []string
	if c.Held {
		out = append(out, fmt.Sprintf("sampled %.4g times a second; the file repeats each sample until the next", 1/c.Every))
	}
	if c.Blank > 0 {
		out = append(out, several(c.Blank, "row holds", "rows hold")+" no value")
	}
	if c.Spikes > 0 {
		out = append(out, fmt.Sprintf("%s left out, the first at %.2f s", several(c.Spikes, "spike", "spikes"), c.SpikeAt))
	}
	switch {
	case c.Gaps == 1:
		out = append(out, fmt.Sprintf("a gap of %.2f s at %.2f s; nothing is compared there", c.Gap, c.GapAt))
	case c.Gaps > 1:
		out = append(out, fmt.Sprintf("%d gaps, the longest of %.2f s at %.2f s; nothing is compared there", c.Gaps, c.Gap, c.GapAt))
	}
	return out
}

func several(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
