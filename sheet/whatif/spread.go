package whatif

import (
	"context"
	"errors"
	"math"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/program"
)

// Source is a given that is not known exactly.
type Source struct {
	Place
	Value float64
	Form  check.ToleranceForm // Limits: rectangular; Deviation: normal
	Width float64             // half width, or standard deviation, in SI
	// Freedom is the degrees of freedom of Width. 0 means that it is known
	// exactly.
	Freedom float64
}

// Deviation returns the standard uncertainty: a rectangular half width a
// gives a/√3 (JCGM 100:2008, 4.3.7).
func (s Source) Deviation() float64 {
	if s.Form == check.Limits {
		return s.Width / math.Sqrt(3)
	}
	return s.Width
}

// Spread propagates the tolerances of givens through a sheet, in two ways.
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
	Coverage    float64 // the probability of the interval
	Workers     int     // 0 means one a processor; it changes nothing
	// Progress, if not nil, is called with the number of draws made.
	Progress func(done int)
	// Each, if not nil, receives the draws in order, a block at a time: the
	// sources as inputs, the results, and the cause of the first missing one.
	Each func(b *Block) error
}

// Uncertainty is the uncertainty of one result.
type Uncertainty struct {
	Value float64 // with every given at its value
	// Deviation is the first-order standard uncertainty, JCGM 100:2008 (13),
	// with the sensitivities by central differences over one standard
	// uncertainty on each side (5.1.3, note 2), not by derivatives: a curve
	// within the tolerance has its mean slope. It is NaN if the result has no
	// value at one of these points.
	Deviation float64
	// Shares are the parts of the first-order variance due to each source, in
	// the order of Spread.Sources; their sum is 1. With correlations one can be
	// below 0.
	Shares []float64
	// Effects are the results' moves for one standard uncertainty of each
	// source.
	Effects []float64
	// Freedom is the effective degrees of freedom of Deviation, by Welch and
	// Satterthwaite (JCGM 100:2008, G.4.1), not truncated; 0 if no source
	// states any.
	Freedom float64
	// The Monte Carlo run (JCGM 101:2008): mean, deviation, the interval with
	// equal tails, and the shortest one that holds as many draws (7.7).
	Mean, DrawnDeviation float64
	Low, High            float64
	ShortLow, ShortHigh  float64
	Holes                Holes // draws without a value, by cause
}

// Interval returns the first-order interval of a coverage: the deviation times
// the factor of a normal distribution or, if degrees of freedom are stated, of
// Student's.
func (u Uncertainty) Interval(coverage float64) (low, high float64) {
	factor := math.Sqrt2 * math.Erfinv(coverage)
	if u.Freedom > 0 {
		factor = student(coverage, u.Freedom)
	}
	half := float64(u.Deviation * factor)
	return u.Value - half, u.Value + half
}

// ErrCorrelation says that correlation coefficients contradict each other.
var ErrCorrelation = errors.New("these correlations contradict each other")

// ErrFreedom says that the degrees of freedom of correlated sources do not
// determine those of the result.
var ErrFreedom = errors.New("degrees of freedom are for givens that are independent of each other: these are correlated")

// Run returns an Uncertainty for each of s.Show.
func (s Spread) Run(ctx context.Context) ([]Uncertainty, error) {
	out := make([]Uncertainty, len(s.Show))
	var factor [][]float64
	if s.Correlation != nil {
		if slices.ContainsFunc(s.Sources, func(src Source) bool { return src.Freedom > 0 }) {
			return nil, ErrFreedom
		}
		var ok bool
		if factor, ok = s.factor(); !ok {
			return nil, ErrCorrelation
		}
	}
	eval := NewEvaluator(s.Program, s.Base, s.by(), s.Draws+2*len(s.Sources))
	defer eval.Close()
	s.firstOrder(eval, out)
	return out, s.monteCarlo(ctx, eval, factor, out)
}

func (s Spread) by() []Place {
	by := make([]Place, len(s.Sources))
	for i, src := range s.Sources {
		by[i] = src.Place
	}
	return by
}

// firstOrder computes the results of the law of propagation, a block of sources
// at a time: all points at once would take memory by the square of the number
// of sources.
func (s Spread) firstOrder(eval *Evaluator, out []Uncertainty) {
	points, values := columnsOf(len(s.Sources), 2*sourceBlock), columnsOf(len(s.Show), 2*sourceBlock)
	for i, src := range s.Sources {
		for at := range points[i] {
			points[i][at] = src.Value
		}
	}
	run := func(n int) {
		eval.Run(points, n, func(i int, at View) {
			for k, p := range s.Show {
				values[k][i] = p.At(at)
			}
		})
	}
	run(1)
	for k := range out {
		out[k].Value, out[k].Effects = values[k][0], make([]float64, len(s.Sources))
	}
	for from := 0; from < len(s.Sources); from += sourceBlock {
		block := s.Sources[from:min(from+sourceBlock, len(s.Sources))]
		for i, src := range block {
			points[from+i][2*i] += src.Deviation()
			points[from+i][2*i+1] -= src.Deviation()
		}
		run(2 * len(block))
		for i, src := range block {
			for k := range out {
				out[k].Effects[from+i] = (values[k][2*i] - values[k][2*i+1]) / 2
			}
			points[from+i][2*i], points[from+i][2*i+1] = src.Value, src.Value
		}
	}
	for k := range out {
		s.combine(&out[k])
	}
}

// sourceBlock is the number of sources that firstOrder moves at a time.
const sourceBlock = 32

// combine adds the effects up.
func (s Spread) combine(u *Uncertainty) {
	u.Shares = make([]float64, len(u.Effects))
	for i := range u.Effects {
		u.Shares[i] = s.together(i, u.Effects[i], u.Effects)
	}
	variance := 0.0
	for _, share := range u.Shares {
		variance += share
	}
	u.Freedom = s.freedom(u.Effects, variance)
	u.Deviation = math.Sqrt(variance)
	if variance < 0 { // rounding, if correlated sources cancel
		u.Deviation = 0
	}
	for i := range u.Shares {
		switch {
		case variance > 0 || variance != variance:
			u.Shares[i] /= variance
		default:
			u.Shares[i] = 0
		}
	}
}

// together returns the covariance of an effect of source i with effects.
func (s Spread) together(i int, effect float64, effects []float64) float64 {
	if s.Correlation == nil {
		return effect * effects[i]
	}
	sum := 0.0
	for j, other := range effects {
		sum += float64(float64(effect*other) * s.Correlation[i][j])
	}
	return sum
}

// Together returns the first-order correlation coefficient of two results,
// JCGM 100:2008, F.1.2.3; 0 if one of them does not spread.
func (s Spread) Together(a, b Uncertainty) float64 {
	if a.Deviation == 0 || b.Deviation == 0 {
		return 0
	}
	sum := 0.0
	for i := range a.Effects {
		sum += s.together(i, a.Effects[i], b.Effects)
	}
	return min(max(sum/(a.Deviation*b.Deviation), -1), 1)
}

// summarise computes mean, deviation and interval of the draws.
func (s Spread) summarise(draws []float64, u *Uncertainty) {
	if len(draws) < 2 {
		nan := math.NaN()
		u.Mean, u.DrawnDeviation, u.Low, u.High, u.ShortLow, u.ShortHigh = nan, nan, nan, nan, nan, nan
		return
	}
	sum := 0.0
	for _, v := range draws {
		sum += v - draws[0]
	}
	u.Mean = draws[0] + sum/float64(len(draws))
	squares := 0.0
	for _, v := range draws {
		squares += float64((v - u.Mean) * (v - u.Mean))
	}
	u.DrawnDeviation = math.Sqrt(squares / float64(len(draws)-1))
	slices.Sort(draws)
	tail := (1 - s.Coverage) / 2
	u.Low, u.High = quantile(draws, tail), quantile(draws, 1-tail)
	u.ShortLow, u.ShortHigh = shortest(draws, s.Coverage)
}

// shortest returns the ends of the shortest interval that holds a part of the
// sorted values (JCGM 101:2008, 7.7.3).
func shortest(sorted []float64, part float64) (low, high float64) {
	many := min(int(math.Round(part*float64(len(sorted)))), len(sorted)-1)
	low, high = sorted[0], sorted[many]
	for i, v := range sorted[:len(sorted)-many] {
		if sorted[i+many]-v < high-low {
			low, high = v, sorted[i+many]
		}
	}
	return low, high
}

// quantile returns the p-quantile of sorted values by linear interpolation.
func quantile(sorted []float64, p float64) float64 {
	at := float64(p * float64(len(sorted)-1))
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + float64((at-float64(i))*(sorted[i+1]-sorted[i]))
}
