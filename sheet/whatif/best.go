package whatif

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gearleaf/sheet/program"
)

// Free is a given that Best may move.
type Free struct {
	Place
	Lo, Hi     float64
	Candidates []float64 // the only values it can have; nil for any in Lo..Hi
}

// Search looks for the values of givens that make a result largest or smallest,
// or bring it nearest to a value, while every limit is kept.
type Search struct {
	Program  *program.Program
	Base     []Setting
	Goal     Place
	Maximise bool
	Near     *float64 // the value to come near, nil for none
	By       []Free
	Limits   []int // limits to keep
	Seed     uint64
	Keep     int // length of the ranking
	Workers  int // 0 means one per processor; the result does not depend on it
	// Progress, if not nil, is called with the number of parts done and of all
	// parts.
	Progress func(done, of int)
}

// Candidate is one point of a search.
type Candidate struct {
	Inputs []float64
	Value  float64
	Broken []int // limits that it breaks, or that cannot be decided
}

// Found is what Best found.
type Found struct {
	// Ranking has the best candidate first: those that keep every limit, then
	// those that break fewest.
	Ranking []Candidate
	// Exhaustive says that every combination was evaluated.
	Exhaustive bool
	// Combinations counts those of the givens with candidates, Looked the
	// evaluated ones; 1 if there are no such givens.
	Combinations, Looked int
	Evaluations          int
	Holes                Holes // points without a value, by cause
}

// MaxCombinations bounds an exhaustive search; if there are more, a seeded draw
// of DrawnCombinations is evaluated.
const (
	MaxCombinations   = 4_000_000
	DrawnCombinations = 200_000
)

// refined bounds the combinations of whole numbers and choices that each get a
// search of their own over the other givens.
const refined = 64

// Best runs the search s: over all combinations if every given has candidates
// and there are not too many; else from each of the most promising
// combinations. The error is that of ctx.
func Best(ctx context.Context, s Search) (Found, error) {
	b := &search{Search: s, found: Found{Holes: Holes{}}}
	places := make([]Place, len(s.By))
	for i, f := range s.By {
		places[i] = f.Place
		if f.Candidates == nil {
			b.continuous = append(b.continuous, i)
		}
	}
	grid := b.grid(places)
	n, _ := grid.Size()
	b.found.Looked = n
	b.found.Exhaustive = len(b.continuous) == 0 && grid.Random == nil
	ranking := ranking{cost: s.cost, keep: s.Keep}
	if !b.found.Exhaustive {
		ranking.keep = max(s.Keep, refined)
	}
	if err := b.look(ctx, grid, &ranking); err != nil || b.found.Exhaustive {
		b.found.Ranking = ranking.list
		return b.found, err
	}
	err := b.explore(ctx, places, &ranking)
	b.found.Ranking = ranking.list[:min(len(ranking.list), s.Keep)]
	return b.found, err
}

// cost is a value of the goal as a cost: the smaller, the better.
func (s *Search) cost(v float64) float64 {
	switch {
	case s.Near != nil:
		return math.Abs(v - *s.Near)
	case s.Maximise:
		return -v
	}
	return v
}

type search struct {
	Search
	continuous []int // the givens that can have any value
	found      Found
	scale      scale
}

// grid is the sweep over the combinations of givens with candidates, with the
// others in the middle of their range; a draw if there are too many.
func (b *search) grid(places []Place) *Sweep {
	s := &Sweep{Program: b.Program, Base: b.Base, Show: []Place{b.Goal}, Limits: b.Limits, Workers: b.Workers}
	combinations, over := 1, false
	for i, f := range b.By {
		values := f.Candidates
		if values == nil {
			values = []float64{f.Lo + (f.Hi-f.Lo)/2}
		}
		s.Axes = append(s.Axes, Axis{Place: places[i], Values: values})
		over = over || combinations > MaxScenarios/len(values)
		if !over {
			combinations *= len(values)
		}
	}
	b.found.Combinations = combinations
	if combinations > MaxCombinations || over {
		s.Random = &Hypercube{N: DrawnCombinations, Seed: b.Seed}
	}
	return s
}

// look evaluates the grid and ranks the results.
func (b *search) look(ctx context.Context, grid *Sweep, r *ranking) error {
	type ranked struct{ ranking }
	work := func(block *Block, out *ranked) {
		out.ranking = ranking{cost: r.cost, keep: r.keep}
		point := make([]float64, len(b.By))
		for i := range block.N {
			for k := range point {
				point[k] = block.Inputs[k][i]
			}
			out.offer(Candidate{Inputs: point, Value: block.Shown[0][i], Broken: append(block.Broken[i], block.Waiting[i]...)})
		}
	}
	tally, err := RunSweep(ctx, grid, work, func(block *Block, out *ranked) error {
		for _, v := range block.Shown[0][:block.N] {
			b.scale.see(v)
		}
		if n, _ := grid.Size(); b.Progress != nil {
			b.Progress(block.From+block.N, n)
		}
		for _, c := range out.list {
			r.offer(c)
		}
		return nil
	})
	b.found.Evaluations += tally.Scenarios
	b.found.Holes = tally.Holes
	return err
}

// explore searches from each of the most promising candidates.
func (b *search) explore(ctx context.Context, places []Place, r *ranking) error {
	starts := slices.Clone(r.list[:min(len(r.list), refined)])
	if len(starts) == 0 { // no value in the middle: it is the start nevertheless
		middle := make([]float64, len(b.By))
		for i, f := range b.By {
			middle[i] = f.Lo + (f.Hi-f.Lo)/2
			if f.Candidates != nil {
				middle[i] = f.Candidates[len(f.Candidates)/2]
			}
		}
		starts = []Candidate{{Inputs: middle, Value: math.NaN()}}
	}
	type outcome struct {
		best        Candidate
		evaluations int
		holes       Holes
	}
	eval := NewEvaluator(b.Program, b.Base, places, len(starts)*b.effort())
	defer eval.Close()
	start := func() func(from, n int, out *outcome) {
		bench := eval.Single()
		return func(from, _ int, out *outcome) {
			c := climber{search: b, bench: bench, holes: Holes{}}
			c.run(starts[from], uint64(from))
			*out = outcome{best: c.best, evaluations: c.evaluations, holes: c.holes}
		}
	}
	return inBlocks(ctx, 0, len(starts), 1, b.Workers, start, func(from, _ int, out *outcome) error {
		r.offer(out.best)
		if b.Progress != nil {
			b.Progress(from+1, len(starts))
		}
		b.found.Evaluations += out.evaluations
		for cause, n := range out.holes {
			b.found.Holes[cause] += n
		}
		return nil
	})
}

// ranking is the best candidates so far, no two of them at one place.
type ranking struct {
	cost func(float64) float64
	keep int
	list []Candidate
}

// offer puts a candidate into the ranking, unless it has no value. Equal ones
// keep their order.
func (r *ranking) offer(c Candidate) {
	if c.Value != c.Value || c.Inputs == nil {
		return
	}
	at := len(r.list)
	for at > 0 && r.compare(c, r.list[at-1]) < 0 {
		at--
	}
	if at >= r.keep {
		return
	}
	for _, other := range r.list {
		if slices.Equal(other.Inputs, c.Inputs) {
			return
		}
	}
	c.Inputs, c.Broken = slices.Clone(c.Inputs), slices.Clone(c.Broken)
	r.list = slices.Insert(r.list, at, c)
	r.list = r.list[:min(len(r.list), r.keep)]
}

// compare orders candidates, the better one first.
func (r *ranking) compare(x, y Candidate) int { return compare(x, y, r.cost) }

func compare(x, y Candidate, cost func(float64) float64) int {
	if d := cmp.Compare(len(x.Broken), len(y.Broken)); d != 0 {
		return d
	}
	return cmp.Compare(cost(x.Value), cost(y.Value))
}
