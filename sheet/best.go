package sheet

import (
	"context"

	"gearleaf/sheet/check"
	"gearleaf/sheet/whatif"
)

// Ranked is one place of a ranking.
type Ranked struct {
	Inputs []float64 // of each given, in SI
	Value  float64   // of the goal
	Broken []*check.Limit
	Result *Result // the whole sheet there, confirmed by the second evaluator
}

// Best is the answer to which values of givens make a cell largest or
// smallest.
type Best struct {
	whatif.Found
	Sheet    *Sheet
	Goal     Place
	Maximise bool
	By       []Axis
	Ranking  []Ranked
}

// BestQuestion asks for the values of By that make Goal largest or smallest.
type BestQuestion struct {
	Goal     Place
	Maximise bool
	By       []Axis
	Seed     uint64
	Keep     int // length of the ranking
	Workers  int
	// Progress, if not nil, is told how many of how many parts are done.
	Progress func(done, of int)
}

// Best answers q; every limit of the sheet is to be kept.
func (s *Sheet) Best(ctx context.Context, q BestQuestion) (*Best, error) {
	if err := s.hangs(q.Goal, q.By...); err != nil {
		return nil, err
	}
	if _, d := s.NewSweep(q.By, nil); d != nil {
		return nil, &Refusal{d}
	}
	search := whatif.Search{
		Program: s.Program, Base: s.Settings, Goal: q.Goal.given(), Maximise: q.Maximise,
		Limits: indices(s.limits()), Seed: q.Seed, Keep: q.Keep, Workers: q.Workers, Progress: q.Progress,
	}
	for _, a := range q.By {
		search.By = append(search.By, whatif.Free{Place: a.Place, Lo: a.Lo, Hi: a.Hi, Candidates: a.Values})
	}
	found, err := whatif.Best(ctx, search)
	if err != nil {
		return nil, err
	}
	out := &Best{Found: found, Sheet: s, Goal: q.Goal, Maximise: q.Maximise, By: q.By}
	for _, c := range found.Ranking {
		one, err := s.ranked(q.By, c)
		if err != nil {
			return nil, err
		}
		out.Ranking = append(out.Ranking, one)
	}
	return out, nil
}

// ranked computes the sheet at one place of the ranking.
func (s *Sheet) ranked(by []Axis, c whatif.Candidate) (Ranked, error) {
	settings := make([]whatif.Setting, len(by))
	for i, a := range by {
		settings[i] = whatif.Setting{Place: a.Place, Value: c.Inputs[i]}
	}
	r, err := s.ComputeWith(settings)
	one := Ranked{Inputs: c.Inputs, Value: c.Value, Result: r}
	for _, i := range c.Broken {
		one.Broken = append(one.Broken, s.Model.Limits[i])
	}
	return one, err
}
