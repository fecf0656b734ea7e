package runlog

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
)

// Invention describes a simulated log of a pass, with a logger's faults.
type Invention struct {
	Seed      uint64
	Rate      float64 // samples a second
	Before    float64 // seconds at rest before the pass
	After     float64 // seconds after it, coasting
	Offset    float64 // the log's time of its first row
	Delimiter byte
	Point     byte
	UnitRow   bool // units in a row of their own instead of in brackets
	Channels  []Invented
	// GapAt and Gap leave rows out, in seconds from the pass's zero.
	GapAt, Gap float64
	Spikes     int // in every channel
}

// Invented is one channel of an invented log, in the unit that is written.
type Invented struct {
	Head, Unit string
	Series     Series  // over the time since the pass's zero
	Noise      float64 // standard deviation
	Step       float64 // the logger's resolution
	Every      float64 // seconds from sample to sample, 0 for every row; rows between repeat the last one
}

// Write writes the log. The same Invention gives the same bytes.
func (v Invention) Write(w io.Writer) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "Invented by gearleaf, seed %d: no machine ran this%s", v.Seed, "\r\n")
	heads, units := []string{"Time"}, []string{"s"}
	for _, c := range v.Channels {
		heads, units = append(heads, c.Head), append(units, c.Unit)
	}
	if !v.UnitRow {
		for i := range heads {
			if units[i] != "" {
				heads[i] += " [" + units[i] + "]"
			}
		}
	}
	v.line(out, heads)
	if v.UnitRow {
		v.line(out, units)
	}
	if n := v.count(); !(n <= mostInvented) {
		return fmt.Errorf("the log would have %g rows; the bound is %d", n, mostInvented)
	}
	v.rows(out)
	return out.Flush()
}

func (v Invention) line(out *bufio.Writer, fields []string) {
	out.WriteString(strings.Join(fields, string(v.Delimiter)) + "\r\n")
}

// mostInvented bounds the rows of an invented log.
const mostInvented = 10_000_000

// end is the time at which the last channel ends.
func (v Invention) end() float64 {
	end := 0.0
	for _, c := range v.Channels {
		end = max(end, c.Series.T[len(c.Series.T)-1])
	}
	return end
}

// count is the number of rows.
func (v Invention) count() float64 { return (v.Before + v.end() + v.After) * v.Rate }

func (v Invention) rows(out *bufio.Writer) {
	random := rand.New(rand.NewPCG(v.Seed, 0x9E3779B97F4A7C15))
	n, end := int(v.count()), v.end()
	spikes := v.spikes(random, end)
	last := make([]float64, len(v.Channels))
	next := make([]float64, len(v.Channels))
	for k := range next {
		next[k] = math.Inf(-1)
	}
	fields := make([]string, len(v.Channels)+1)
	for i := range n {
		t := -v.Before + float64(i)/v.Rate
		fields[0] = v.number(v.Offset+float64(i)/v.Rate, 0.0001)
		for k, c := range v.Channels {
			noise := float64(random.NormFloat64() * c.Noise)
			if t >= next[k]-1e-9 {
				last[k] = c.at(t, end) + noise
				next[k] = t + c.Every
			}
			value := last[k]
			if spikes[k][i] {
				value = float64(2.5*value) + float64(40*c.Noise)
			}
			fields[k+1] = v.number(value, c.Step)
		}
		if v.Gap > 0 && t >= v.GapAt && t < v.GapAt+v.Gap {
			continue
		}
		v.line(out, fields)
	}
}

// spikes chooses rows of the pass, not too near each other, for each channel.
func (v Invention) spikes(random *rand.Rand, end float64) []map[int]bool {
	out := make([]map[int]bool, len(v.Channels))
	for k := range out {
		out[k] = map[int]bool{}
		for i := range v.Spikes {
			part := end / float64(v.Spikes)
			at := v.Before + float64((float64(i)+0.2+float64(0.6*random.Float64()))*part)
			out[k][int(at*v.Rate)] = true
		}
	}
	return out
}

// at is the channel's true value: before the pass that of the first row, after
// it that of coasting down.
func (c Invented) at(t, end float64) float64 {
	s := c.Series
	switch n := len(s.T); {
	case t <= s.T[0]:
		return s.V[0]
	case t >= s.T[n-1]:
		return s.V[n-1] * math.Exp(-(t-end)/8)
	}
	return s.At(t, math.Inf(1))
}

// number writes a value at the logger's resolution.
func (v Invention) number(value, step float64) string {
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	text := strconv.FormatFloat(float64(math.Round(value/step)*step)+0, 'f', decimals, 64)
	if v.Point == ',' {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}
