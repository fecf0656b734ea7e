package whatif

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
)

// Source is a given that is not known exactly.
type Source struct {
	Place
	Value float64
	Form  check.ToleranceForm // Limits: rectangular; Deviation: normal
	Width float64             // half width, or standard deviation, in SI
}

// Deviation returns the standard uncertainty: a rectangular half width a
// gives a/√3 (JCGM 100:2008, 4.3.7).
func (s Source) Deviation() float64 {
	if s.Form == check.Limits {
		return s.Width / math.Sqrt(3)
	}
	return s.Width
}

// Spread carries the tolerances of givens through a sheet, in two ways.
type Spread struct {
	Program *program.Program
	Base    []Setting
	Sources []Source
	// Correlation holds the correlation coefficients of the sources, row by
	// row; nil for none.
	Correlation [][]float64
	Show        []Place
	Draws       int
	Seed        uint64
	// Coverage is the probability of the interval, 0.95 by default.
	Coverage float64
}

// Uncertainty is what is known of one result.
type Uncertainty struct {
	Value float64 // with every given at its value
	// Deviation is the first-order standard uncertainty, JCGM 100:2008 (13),
	// with the sensitivities by differences over one standard uncertainty
	// either side (5.1.3, note 2).
	Deviation float64
	// Shares are the parts of the first-order variance that come from each
	// source, in the order of Spread.Sources; they add up to 1 where the
	// sources are independent.
	Shares []float64
	// Effects are the results' moves for one standard uncertainty of each
	// source.
	Effects []float64
	// The Monte Carlo run (JCGM 101:2008): mean, deviation and the interval
	// with equal tails.
	Mean, DrawnDeviation float64
	Low, High            float64
	// Holes counts the draws without a value.
	Holes int
}

// ErrCorrelation says that correlation coefficients contradict one another.
var ErrCorrelation = errors.New("these correlations cannot all hold at once")

// Run returns an Uncertainty for each of s.Show.
func (s Spread) Run() ([]Uncertainty, error) {
	out := make([]Uncertainty, len(s.Show))
	by := make([]Place, len(s.Sources))
	for i, src := range s.Sources {
		by[i] = src.Place
	}
	factor, ok := cholesky(s.Correlation, len(s.Sources))
	if !ok {
		return nil, ErrCorrelation
	}
	bench := NewBench(s.Program, s.Base, by, blockLanes)
	s.firstOrder(bench, out)
	s.monteCarlo(bench, factor, out)
	return out, nil
}

// firstOrder fills in the values, effects, shares and deviations.
func (s Spread) firstOrder(bench *Bench, out []Uncertainty) {
	n := len(s.Sources)
	points := make([][]float64, 0, 2*n+1)
	middle := make([]float64, n)
	for i, src := range s.Sources {
		middle[i] = src.Value
	}
	points = append(points, middle)
	for i, src := range s.Sources {
		for _, sign := range [2]float64{1, -1} {
			p := slices.Clone(middle)
			p[i] += sign * src.Deviation()
			points = append(points, p)
		}
	}
	values := make([][]float64, len(s.Show))
	for k := range values {
		values[k] = make([]float64, len(points))
	}
	bench.each(points, func(point, lane int) {
		for k, p := range s.Show {
			values[k][point] = p.At(bench.Machine, lane)
		}
	})
	for k := range out {
		out[k].Value = values[k][0]
		out[k].Effects = make([]float64, n)
		for i := range n {
			out[k].Effects[i] = (values[k][1+2*i] - values[k][2+2*i]) / 2
		}
		s.combine(&out[k])
	}
}

// combine adds the effects up.
func (s Spread) combine(u *Uncertainty) {
	variance := 0.0
	u.Shares = make([]float64, len(u.Effects))
	for i, a := range u.Effects {
		for j, b := range u.Effects {
			u.Shares[i] += float64(a*b) * s.correlation(i, j)
		}
		variance += u.Shares[i]
	}
	u.Deviation = math.Sqrt(max(variance, 0))
	for i := range u.Shares {
		if variance > 0 {
			u.Shares[i] /= variance
		}
	}
}

func (s Spread) correlation(i, j int) float64 {
	switch {
	case i == j:
		return 1
	case s.Correlation == nil:
		return 0
	}
	return s.Correlation[i][j]
}

// monteCarlo draws s.Draws points and fills in what they give.
func (s Spread) monteCarlo(bench *Bench, factor [][]float64, out []Uncertainty) {
	random := rand.New(rand.NewPCG(s.Seed, 0x5A4EAD))
	samples := make([][]float64, len(s.Show))
	for k := range samples {
		samples[k] = make([]float64, 0, s.Draws)
	}
	flat := make([]float64, blockLanes*len(s.Sources))
	points := make([][]float64, blockLanes)
	for i := range points {
		points[i] = flat[i*len(s.Sources) : (i+1)*len(s.Sources)]
	}
	for left := s.Draws; left > 0; left -= blockLanes {
		block := points[:min(left, blockLanes)]
		for _, p := range block {
			s.draw(random, factor, p)
		}
		bench.Run(block)
		for lane := range block {
			for k, p := range s.Show {
				if v := p.At(bench.Machine, lane); v == v {
					samples[k] = append(samples[k], v)
				} else if kernel.IsFault(v) {
					out[k].Holes++
				}
			}
		}
	}
	for k := range out {
		s.summarise(samples[k], &out[k])
	}
}

// draw fills p with one point: normal deviates made to hang together by
// factor, each then given the shape of its source. A correlated rectangular
// source keeps its limits: its deviate is read through the normal
// distribution.
func (s Spread) draw(random *rand.Rand, factor [][]float64, p []float64) {
	z := make([]float64, len(p))
	for i := range z {
		z[i] = random.NormFloat64()
	}
	for i, src := range s.Sources {
		g := z[i]
		if factor != nil {
			g = 0
			for j := 0; j <= i; j++ {
				g += float64(factor[i][j] * z[j])
			}
		}
		if src.Form == check.Limits {
			u := 0.5 * math.Erfc(-g/math.Sqrt2)
			p[i] = src.Value + src.Width*(2*u-1)
		} else {
			p[i] = src.Value + src.Width*g
		}
	}
}

// summarise reads mean, deviation and interval off the draws.
func (s Spread) summarise(draws []float64, u *Uncertainty) {
	if len(draws) < 2 {
		u.Mean, u.DrawnDeviation, u.Low, u.High = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		return
	}
	sum := 0.0
	for _, v := range draws {
		sum += v - draws[0]
	}
	u.Mean = draws[0] + sum/float64(len(draws))
	squares := 0.0
	for _, v := range draws {
		squares += (v - u.Mean) * (v - u.Mean)
	}
	u.DrawnDeviation = math.Sqrt(squares / float64(len(draws)-1))
	slices.Sort(draws)
	tail := (1 - s.Coverage) / 2
	u.Low, u.High = quantile(draws, tail), quantile(draws, 1-tail)
}

// quantile reads the p-quantile off sorted values, straight lines between.
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// cholesky returns the lower triangle L with L·Lᵀ = r; nil for no
// correlation, ok false where r is not positive semidefinite.
func cholesky(r [][]float64, n int) (l [][]float64, ok bool) {
	if r == nil {
		return nil, true
	}
	l = make([][]float64, n)
	for i := range l {
		l[i] = make([]float64, n)
		for j := 0; j <= i; j++ {
			sum := r[i][j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			switch {
			case i != j && l[j][j] > 0:
				l[i][j] = sum / l[j][j]
			case i == j && sum < -1e-9:
				return nil, false
			case i == j:
				l[i][i] = math.Sqrt(max(sum, 0))
			case math.Abs(sum) > 1e-9:
				return nil, false
			}
		}
	}
	return l, true
}
