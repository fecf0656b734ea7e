package question

import (
	"context"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/whatif"
)

// Ranked is one entry of a ranking.
type Ranked struct {
	Inputs []float64 // of each given, in SI
	Value  float64   // of the goal
	Broken []*check.Limit
	Result *sheet.Result // the whole sheet there, confirmed by the second evaluator
}

// Best holds the values of givens that make a cell largest or smallest, or
// bring it nearest to a value.
type Best struct {
	whatif.Found
	Sheet    *sheet.Sheet
	Goal     sheet.Place
	Maximise bool
	Near     *float64 // the value to come near, in SI; nil for none
	By       []Axis
	Ranking  []Ranked
}

// BestQuestion asks for the values of By that make Goal largest or smallest, or
// bring it nearest to Near.
type BestQuestion struct {
	Goal     sheet.Place
	Maximise bool
	Near     *float64 // in SI, nil for none
	By       []Axis
	Seed     uint64
	Keep     int // length of the ranking
	Workers  int
	// Progress, if not nil, receives the number of parts done and their total.
	Progress func(done, of int)
}

// BestOf runs the search q; every limit of the sheet must be kept.
func BestOf(ctx context.Context, s *sheet.Sheet, q BestQuestion) (*Best, error) {
	if err := independent(s, q.Goal, q.By...); err != nil {
		return nil, err
	}
	if _, d := NewSweep(s, q.By, nil); d != nil {
		return nil, &sheet.Refusal{Diagnostic: d}
	}
	search := whatif.Search{
		Program: s.Program, Base: s.Settings, Goal: given(q.Goal), Maximise: q.Maximise, Near: q.Near,
		Limits: indices(limits(s)), Seed: q.Seed, Keep: q.Keep, Workers: q.Workers, Progress: q.Progress,
	}
	for _, a := range q.By {
		search.By = append(search.By, whatif.Free{Place: a.Place, Lo: a.Lo, Hi: a.Hi, Candidates: a.Values})
	}
	found, err := whatif.Best(ctx, search)
	if err != nil {
		return nil, err
	}
	out := &Best{Found: found, Sheet: s, Goal: q.Goal, Maximise: q.Maximise, Near: q.Near, By: q.By}
	for _, c := range found.Ranking {
		one, err := ranked(s, q.By, c)
		if err != nil {
			return nil, err
		}
		out.Ranking = append(out.Ranking, one)
	}
	return out, nil
}

// ranked computes the sheet for one entry of the ranking.
func ranked(s *sheet.Sheet, by []Axis, c whatif.Candidate) (Ranked, error) {
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
