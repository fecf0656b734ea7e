package whatif

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/optimize"
)

// scale brings values of the goal, however large, near 1 by a linear map: a
// search must still distinguish 101325.01 from 101325.
type scale struct {
	lo, hi float64
	seen   bool
}

// see adds one value of the goal.
func (s *scale) see(v float64) {
	switch {
	case v != v:
	case !s.seen:
		s.lo, s.hi, s.seen = v, v, true
	default:
		s.lo, s.hi = min(s.lo, v), max(s.hi, v)
	}
}

// of returns v on the scale of the values seen.
func (s *scale) of(v float64) float64 { return (v - s.lo) / s.size() }

// size is the span of the values seen, 1 for one value.
func (s *scale) size() float64 {
	if size := s.hi - s.lo; size > 0 {
		return size
	}
	return 1
}

// penalty is the cost of a broken limit in a search, in units of the observed
// span of the goal. Independently of it, the best candidate of a search breaks
// as few limits as possible.
const penalty = 1e6

// climber is one search from one start.
type climber struct {
	*search
	bench       *Bench
	best        Candidate
	evaluations int
	holes       Holes
	point       []float64
	scale       scale
}

// run searches from start: first over the givens that can have any value,
// globally (CMA-ES) and then near the best (Nelder-Mead, both from the library
// gonum), then over every given, including those with candidates, by one step
// in each direction.
func (c *climber) run(start Candidate, stream uint64) {
	c.point, c.scale = slices.Clone(start.Inputs), c.search.scale
	c.best = Candidate{Inputs: slices.Clone(start.Inputs), Value: math.NaN()}
	c.weigh(c.point)
	if len(c.continuous) > 0 {
		c.library(stream)
	}
	c.compass()
}

// weigh evaluates p and keeps it if it is the best so far.
func (c *climber) weigh(p []float64) Candidate {
	c.evaluations++
	at := c.bench.One(p)
	one := Candidate{Value: c.Goal.At(at)}
	if one.Value != one.Value {
		c.holes[c.bench.Cause(c.Goal, 0)]++
		return one
	}
	c.scale.see(one.Value)
	one.Broken = unkept(at, c.Limits, nil)
	if c.best.Value != c.best.Value || compare(one, c.best, c.cost) < 0 {
		one.Inputs = slices.Clone(p)
		c.best = one
	}
	return one
}

// The evaluations of a search, for each given and one more.
const (
	globalEffort = 300
	localEffort  = 150
	restarts     = 3
)

// effort is the approximate number of evaluations of one search.
func (b *search) effort() int { return (globalEffort + restarts*localEffort) * (len(b.continuous) + 1) }

// library runs gonum's searches over the givens that can have any value, each
// scaled to 0..1.
func (c *climber) library(stream uint64) {
	x := make([]float64, len(c.continuous))
	for k := range x {
		x[k] = 0.5
	}
	c.point = slices.Clone(c.best.Inputs)
	problem := optimize.Problem{Func: c.objective}
	global := &optimize.CmaEsChol{InitStepSize: 0.3, Src: rand.NewPCG(c.Seed, stream)}
	// A search that uses all its evaluations is complete: gonum reports that
	// as an error, and best has the result.
	_, _ = optimize.Minimize(problem, x, &optimize.Settings{FuncEvaluations: globalEffort * (len(x) + 1)}, global)
	for range restarts { // a simplex that has collapsed on a limit starts again
		for k, i := range c.continuous {
			x[k] = unit(c.best.Inputs[i], c.By[i])
		}
		local := &optimize.NelderMead{SimplexSize: 0.02}
		_, _ = optimize.Minimize(problem, x, &optimize.Settings{FuncEvaluations: localEffort * (len(x) + 1)}, local)
	}
}

// unit returns v as a part of f's range.
func unit(v float64, f Free) float64 {
	if f.Hi <= f.Lo {
		return 0
	}
	return (v - f.Lo) / (f.Hi - f.Lo)
}

// objective is the function that the library minimizes.
func (c *climber) objective(x []float64) float64 {
	for k, i := range c.continuous {
		f := c.By[i]
		c.point[i] = min(f.Lo+float64(fold(x[k])*(f.Hi-f.Lo)), f.Hi)
	}
	one := c.weigh(c.point)
	if one.Value != one.Value {
		return penalty * float64(len(c.Limits)+2)
	}
	v := c.scale.of(one.Value)
	switch {
	case c.Near != nil:
		v = c.cost(one.Value) / c.scale.size()
	case c.Maximise:
		v = -v
	}
	return v + float64(penalty*float64(len(one.Broken)))
}

// fold reflects x into 0..1, so that a search cannot leave the box.
func fold(x float64) float64 {
	x = math.Abs(math.Mod(x, 2))
	if x > 1 {
		return 2 - x
	}
	return x
}

// Steps of compass: the first and the last part of a range, and the number of
// rounds over all givens.
const (
	firstStep = 0.25
	lastStep  = 1e-12
	mostTurns = 400
)

// compass moves every given a step in each direction, and a smaller step if
// there is no improvement: it approaches a limit near which a simplex has
// stopped.
func (c *climber) compass() {
	if c.best.Value != c.best.Value {
		return
	}
	step, reach := firstStep, c.widest()/2
	for range mostTurns {
		gained := false
		for i := range c.By {
			gained = c.try(i, step, reach) || gained
		}
		if gained {
			continue
		}
		step, reach = step/2, reach/2
		if step < lastStep || len(c.continuous) == 0 && reach == 0 {
			return
		}
	}
}

// widest is the largest number of candidates.
func (c *climber) widest() int {
	n := 0
	for _, f := range c.By {
		n = max(n, len(f.Candidates))
	}
	return n
}

// try moves one given in each direction and reports whether that improved the
// goal.
func (c *climber) try(i int, step float64, reach int) bool {
	f := c.By[i]
	for _, sign := range [2]int{1, -1} {
		p := slices.Clone(c.best.Inputs)
		switch {
		case f.Candidates == nil:
			p[i] = min(max(p[i]+float64(float64(sign)*step*(f.Hi-f.Lo)), f.Lo), f.Hi)
		default:
			at := slices.Index(f.Candidates, p[i]) + sign*max(1, reach)
			if at < 0 || at >= len(f.Candidates) {
				continue
			}
			p[i] = f.Candidates[at]
		}
		if p[i] == c.best.Inputs[i] {
			continue
		}
		before := c.best.Value
		broken := len(c.best.Broken)
		if c.weigh(p); c.best.Value != before || len(c.best.Broken) != broken {
			return true
		}
	}
	return false
}
