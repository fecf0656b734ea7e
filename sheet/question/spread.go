package question

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/source"
	"gearleaf/sheet/whatif"
)

// Contribution is the effect of one given's tolerance on a result.
type Contribution struct {
	Given sheet.Place
	// Effect is the change of the result, in SI, for one standard deviation of
	// the given; Share is its part of the variance.
	Effect, Share float64
}

// Uncertain is the uncertainty of one result.
type Uncertain struct {
	whatif.Uncertainty
	Place         sheet.Place
	Contributions []Contribution // largest first; without those that have no effect
}

// Spread is the propagation of tolerances of givens to results.
type Spread struct {
	Sheet    *sheet.Sheet
	Sources  []whatif.Source
	Results  []Uncertain
	Coverage float64
	Draws    int
	Seed     uint64
	Nominal  *sheet.Result // with every given at its value, confirmed
	question whatif.Spread
}

// SpreadQuestion asks how tolerances of givens propagate to Show.
type SpreadQuestion struct {
	Show  []sheet.Place
	Draws int // 0 for as many as can be computed quickly
	// Freedom holds the degrees of freedom of givens with a tolerance; the
	// tolerances of other givens count as known exactly.
	Freedom  map[sheet.Place]float64
	Seed     uint64
	Coverage float64
	Workers  int
	// Progress, if not nil, receives the number of draws made and their total.
	Progress func(done, of int)
	// Each, if not nil, receives the draws in order, a block at a time; a has its
	// sources, but no results yet.
	Each func(a *Spread, b *Block) error
}

// The default numbers of draws. MostDraws give the ends of a 95 % interval to
// about a hundredth of a standard deviation. A long sheet gets as many draws
// as soonValues values allow, and at least FewestDraws; if those compute more
// than longValues values, the user has to state the number.
const (
	MostDraws   = 200_000
	FewestDraws = 10_000
	soonValues  = 400_000_000
	longValues  = 4e9 // more than an int of 32 bits holds
)

// soon is the number of draws of sources that can be computed quickly. It
// depends on the sheet alone.
func soon(s *sheet.Sheet, sources []whatif.Source) (int, error) {
	by := make([]whatif.Place, len(sources))
	for i, src := range sources {
		by[i] = src.Place
	}
	weight := whatif.Weight(s.Program, by)
	if float64(weight)*float64(FewestDraws+2*len(sources)) > longValues {
		return 0, sheet.Refuse("each draw computes %d values, too many for the default of %d draws: state the number, as in --draws 1000", weight, FewestDraws)
	}
	return max(FewestDraws, min(MostDraws, soonValues/weight/1000*1000)), nil
}

// mostSources bounds the sources of one spread; each pair of correlated ones
// has a coefficient.
func mostSources(correlated bool) int {
	if correlated {
		return 2 * source.MaxCorrelated
	}
	return source.MaxSources
}

// maxDrawn bounds the draws of all results together.
const maxDrawn = 100_000_000

// SpreadOf propagates the tolerances of q's givens.
func SpreadOf(ctx context.Context, s *sheet.Sheet, q SpreadQuestion) (*Spread, error) {
	if q.Draws*len(q.Show) > maxDrawn {
		return nil, fmt.Errorf("%d draws of %d results are more than %d together", q.Draws, len(q.Show), maxDrawn)
	}
	for _, p := range q.Show {
		if p.Quantity().Type.Form != check.Number {
			return nil, sheet.Refuse("%s is not a number, so it has no spread", p.Name())
		}
	}
	out := &Spread{Sheet: s, Coverage: q.Coverage, Draws: q.Draws, Seed: q.Seed}
	if out.Sources = sources(s, q.Show); len(out.Sources) == 0 {
		return nil, sheet.Refuse("nothing that is shown depends on a given with a tolerance: write ± or sd after those that have one")
	}
	if err := freedoms(out.Sources, q.Freedom); err != nil {
		return nil, err
	}
	correlated := correlation(s, out.Sources)
	if most := mostSources(correlated != nil); len(out.Sources) > most {
		return nil, sheet.Refuse("what is shown depends on %d givens with a tolerance; the bound is %d", len(out.Sources), most)
	}
	if q.Draws == 0 {
		var err error
		if q.Draws, err = soon(s, out.Sources); err != nil {
			return nil, err
		}
		out.Draws = q.Draws
	}
	out.question = whatif.Spread{
		Program: s.Program, Base: s.Settings, Sources: out.Sources, Correlation: correlated,
		Draws: q.Draws, Seed: q.Seed, Coverage: q.Coverage, Workers: q.Workers,
	}
	if q.Progress != nil {
		out.question.Progress = func(done int) { q.Progress(done, q.Draws) }
	}
	if q.Each != nil {
		out.question.Each = func(b *Block) error { return q.Each(out, b) }
	}
	for _, p := range q.Show {
		out.question.Show = append(out.question.Show, given(p))
	}
	var err error
	if out.Nominal, err = s.ComputeWith(nil); err != nil {
		return nil, err
	}
	results, err := out.question.Run(ctx)
	if err != nil {
		return nil, err
	}
	for i, u := range results {
		out.Results = append(out.Results, Uncertain{Uncertainty: u, Place: q.Show[i], Contributions: contributions(out.Sources, u)})
	}
	return out, nil
}

// sources returns the givens with a tolerance on which any of show depends, in
// reading order.
func sources(s *sheet.Sheet, show []sheet.Place) []whatif.Source {
	var out []whatif.Source
	tasks := make([]int, len(show))
	for i, p := range show {
		tasks[i] = given(p).Task(s.Graph)
	}
	needed := s.Graph.Upstream(tasks)
	add := func(p whatif.Place, q *check.Quantity, v float64) {
		if q.Given && q.Tolerance != check.Exact && q.Spread != 0 && v == v && needed[p.Task(s.Graph)] {
			out = append(out, whatif.Source{Place: p, Value: s.Current(p), Form: q.Tolerance, Width: q.Spread})
		}
	}
	for _, c := range s.Model.Cells {
		if !c.Plugged {
			add(whatif.Place{Cell: c}, &c.Quantity, c.Value)
		}
	}
	for _, t := range s.Model.Tables {
		for _, c := range t.Columns {
			for row, v := range c.Values {
				add(whatif.Place{Column: c, Row: row}, &c.Quantity, v)
			}
		}
	}
	return out
}

// freedoms gives sources their degrees of freedom.
func freedoms(sources []whatif.Source, of map[sheet.Place]float64) error {
	for place, freedom := range of {
		at := slices.IndexFunc(sources, func(src whatif.Source) bool { return src.Place == given(place) })
		if at < 0 {
			return sheet.Refuse("no result shown depends on a tolerance of %s, so its degrees of freedom have no effect", place.Name())
		}
		sources[at].Freedom = freedom
	}
	return nil
}

// correlation returns the coefficients of sources, nil if none are
// correlated.
func correlation(s *sheet.Sheet, sources []whatif.Source) [][]float64 {
	givens, known := s.Model.CorrelationMatrix()
	at := make([]int, len(sources))
	some := false
	for i, src := range sources {
		at[i] = slices.Index(givens, check.Uncertain{Cell: src.Cell, Column: src.Column, Row: src.Row})
		some = some || at[i] >= 0
	}
	if !some {
		return nil
	}
	out := make([][]float64, len(sources))
	for i := range out {
		out[i] = make([]float64, len(sources))
		out[i][i] = 1
		for j := range sources {
			if i != j && at[i] >= 0 && at[j] >= 0 {
				out[i][j] = known[at[i]][at[j]]
			}
		}
	}
	return out
}

// contributions sorts the effects of the sources on u.
func contributions(sources []whatif.Source, u whatif.Uncertainty) []Contribution {
	var out []Contribution
	for i, src := range sources {
		if u.Effects[i] == 0 {
			continue
		}
		p := sheet.Place{Cell: src.Cell, Column: src.Column, Row: src.Row}
		out = append(out, Contribution{Given: p, Effect: u.Effects[i], Share: u.Shares[i]})
	}
	slices.SortStableFunc(out, func(a, b Contribution) int { return cmp.Compare(b.Share, a.Share) })
	return out
}

// Together returns the first-order correlation coefficient of results i and j.
func (s *Spread) Together(i, j int) float64 {
	return s.question.Together(s.Results[i].Uncertainty, s.Results[j].Uncertainty)
}
