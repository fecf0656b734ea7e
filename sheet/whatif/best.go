package whatif

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/optimize"

	"gearleaf/sheet/program"
)

// Free is a given that Best may move.
type Free struct {
	Place
	Lo, Hi     float64
	Candidates []float64 // the only values it can have; nil for any in Lo..Hi
}

// Search asks for the values of givens that make a result largest or
// smallest while every limit is kept.
type Search struct {
	Program  *program.Program
	Base     []Setting
	Goal     Place
	Maximise bool
	By       []Free
	Limits   []int // limits to keep
	Seed     uint64
	Keep     int // length of the ranking
}

// Candidate is one point of a search.
type Candidate struct {
	Inputs []float64
	Value  float64
	Broken []int // limits that it breaks
}

// Found is what Best found.
type Found struct {
	// Ranking has the best candidate first: those that keep every limit, then
	// those that break fewest.
	Ranking []Candidate
	// Exhaustive says that every combination was looked at.
	Exhaustive   bool
	Combinations int // of the givens with candidates
	Evaluations  int
	Holes        int // points without a value
}

// MaxCombinations bounds an exhaustive search.
const MaxCombinations = 1_000_000

// continuousCombinations bounds how many combinations of whole numbers and
// choices each get a search of their own over the other givens.
const continuousCombinations = 200

// Best answers s: over all combinations where every given has candidates and
// there are not too many, else by a global search (CMA-ES) and a local one
// (Nelder-Mead) over the others for each of the most promising combinations.
func Best(s Search) Found {
	var discrete, continuous []int
	combinations := 1
	for i, f := range s.By {
		if f.Candidates == nil {
			continuous = append(continuous, i)
			continue
		}
		discrete = append(discrete, i)
		if combinations <= MaxCombinations {
			combinations *= len(f.Candidates)
		}
	}
	b := &search{Search: s, found: Found{Combinations: combinations}}
	places := make([]Place, len(s.By))
	for i, f := range s.By {
		places[i] = f.Place
	}
	b.many = NewBench(s.Program, s.Base, places, blockLanes)
	starts := b.starts(discrete, combinations)
	b.found.Exhaustive = len(continuous) == 0 && combinations <= MaxCombinations
	if b.found.Exhaustive {
		b.rank(starts)
	} else {
		b.one = NewBench(s.Program, s.Base, places, 1)
		b.explore(starts, continuous)
		b.found.Evaluations = b.one.Evaluations
	}
	b.found.Evaluations += b.many.Evaluations
	return b.found
}

type search struct {
	Search
	many, one *Bench
	found     Found
}

// starts returns the combinations of the discrete givens, the others in the
// middle of their range: all of them, or a seeded draw where they are too many.
func (b *search) starts(discrete []int, combinations int) [][]float64 {
	middle := make([]float64, len(b.By))
	for i, f := range b.By {
		middle[i] = (f.Lo + f.Hi) / 2
	}
	n := combinations
	drawn := combinations > MaxCombinations
	if drawn {
		n = MaxCombinations / 10
	}
	random := rand.New(rand.NewPCG(b.Seed, 0xBE57))
	out := make([][]float64, n)
	for c := range out {
		p := slices.Clone(middle)
		left := c
		for k := len(discrete) - 1; k >= 0; k-- {
			values := b.By[discrete[k]].Candidates
			pick := left % len(values)
			left /= len(values)
			if drawn {
				pick = random.IntN(len(values))
			}
			p[discrete[k]] = values[pick]
		}
		out[c] = p
	}
	return out
}

// rank evaluates points and keeps the best.
func (b *search) rank(points [][]float64) {
	b.many.each(points, func(point, lane int) {
		b.offer(points[point], b.Goal.At(b.many.Machine, lane), b.many.broken(b.Limits, lane))
	})
}

// offer puts a candidate into the ranking.
func (b *search) offer(inputs []float64, value float64, broken []int) {
	if value != value {
		b.found.Holes++
		return
	}
	c := Candidate{Inputs: inputs, Value: value, Broken: broken}
	at, _ := slices.BinarySearchFunc(b.found.Ranking, c, b.compare)
	for at < len(b.found.Ranking) && b.compare(b.found.Ranking[at], c) == 0 {
		at++ // the first seen of equals stays in front
	}
	if at >= b.Keep {
		return
	}
	c.Inputs = slices.Clone(inputs)
	b.found.Ranking = slices.Insert(b.found.Ranking, at, c)
	b.found.Ranking = b.found.Ranking[:min(len(b.found.Ranking), b.Keep)]
}

// compare orders candidates, the better one first.
func (b *search) compare(x, y Candidate) int {
	if d := cmp.Compare(len(x.Broken), len(y.Broken)); d != 0 {
		return d
	}
	if b.Maximise {
		return cmp.Compare(y.Value, x.Value)
	}
	return cmp.Compare(x.Value, y.Value)
}

// explore searches the continuous givens for each of the most promising
// combinations of the others.
func (b *search) explore(starts [][]float64, continuous []int) {
	keep := b.Keep
	b.Keep = continuousCombinations
	b.rank(starts)
	promising := b.found.Ranking
	b.found.Ranking, b.Keep = nil, keep
	if len(promising) == 0 { // no value in the middle: start there all the same
		promising = []Candidate{{Inputs: starts[0]}}
	}
	for _, start := range promising {
		b.refine(start.Inputs, continuous)
	}
}

// refine searches the continuous givens from start, in the unit box.
func (b *search) refine(start []float64, continuous []int) {
	best := Candidate{Value: math.NaN()}
	point := slices.Clone(start)
	objective := func(x []float64) float64 {
		for k, i := range continuous {
			f := b.By[i]
			point[i] = f.Lo + fold(x[k])*(f.Hi-f.Lo)
		}
		b.one.Run([][]float64{point})
		c := Candidate{Value: b.Goal.At(b.one.Machine, 0), Broken: b.one.broken(b.Limits, 0)}
		if c.Value != c.Value {
			b.found.Holes++
			return math.MaxFloat64
		}
		if best.Value != best.Value || b.compare(c, best) < 0 {
			c.Inputs = slices.Clone(point)
			best = c
		}
		return b.cost(c)
	}
	x := make([]float64, len(continuous))
	for k := range x {
		x[k] = 0.5
	}
	problem := optimize.Problem{Func: objective}
	global := &optimize.CmaEsChol{InitStepSize: 0.3, Src: rand.NewPCG(b.Seed, uint64(len(start)))}
	// A search that runs out of evaluations has done its work: its error is
	// the way gonum says so, and best has what was found.
	_, _ = optimize.Minimize(problem, x, &optimize.Settings{FuncEvaluations: 400 * (len(x) + 1)}, global)
	if best.Inputs == nil {
		return
	}
	for range 3 { // a simplex that has collapsed on a limit starts afresh
		for k, i := range continuous {
			x[k] = (best.Inputs[i] - b.By[i].Lo) / (b.By[i].Hi - b.By[i].Lo)
		}
		local := &optimize.NelderMead{SimplexSize: 0.02}
		_, _ = optimize.Minimize(problem, x, &optimize.Settings{FuncEvaluations: 300 * (len(x) + 1)}, local)
	}
	b.offer(best.Inputs, best.Value, best.Broken)
}

// cost makes one number to be minimised of a candidate: a broken limit costs
// more than any value can gain.
func (b *search) cost(c Candidate) float64 {
	v := c.Value
	if b.Maximise {
		v = -v
	}
	v /= 1 + math.Abs(v) // between -1 and 1, in the same order
	return v + 2*float64(len(c.Broken))
}

// fold reflects x into 0..1, so that a search cannot leave the box.
func fold(x float64) float64 {
	x = math.Abs(math.Mod(x, 2))
	if x > 1 {
		return 2 - x
	}
	return x
}
