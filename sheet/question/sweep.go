package question

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/referee"
	"gearleaf/sheet/whatif"
)

// Block is a run of a sweep's scenarios with their results.
type Block = whatif.Block

// Tally counts the broken limits and faults of a sweep.
type Tally = whatif.Tally

// Sweep is a sheet to be computed at many points.
type Sweep struct {
	whatif.Sweep
	Sheet *sheet.Sheet
	Axes  []Axis
	Show  []sheet.Place
	// Watched are the limits whose state is reported at every point.
	Watched []*check.Limit
}

// NewSweep returns the sweep over axes that shows the requested values.
func NewSweep(s *sheet.Sheet, axes []Axis, show []sheet.Place) (*Sweep, *diag.Diagnostic) {
	w := &Sweep{Sheet: s, Axes: axes, Show: show}
	w.Program, w.Base = s.Program, s.Settings
	for _, a := range axes {
		if slices.ContainsFunc(w.Sweep.Axes, func(b whatif.Axis) bool { return a.Place == b.Place }) {
			return nil, refuse("%s is given twice as an input: remove one", a.Name())
		}
		w.Sweep.Axes = append(w.Sweep.Axes, a.Axis)
	}
	for _, p := range show {
		w.Sweep.Show = append(w.Sweep.Show, given(p))
	}
	w.Watched = limits(s)
	w.Limits = indices(w.Watched)
	return w, nil
}

// given returns p in the form of package whatif.
func given(p sheet.Place) whatif.Place {
	return whatif.Place{Cell: p.Cell, Column: p.Column, Row: p.Row}
}

// limits returns the limits of the sheet, without advise lines.
func limits(s *sheet.Sheet) []*check.Limit {
	var out []*check.Limit
	for _, l := range s.Model.Limits {
		if !l.Advise {
			out = append(out, l)
		}
	}
	return out
}

func indices(limits []*check.Limit) []int {
	out := make([]int, len(limits))
	for i, l := range limits {
		out[i] = l.Index
	}
	return out
}

// maxShown bounds the values that a question shows at every point.
const maxShown = 1000

// ParseShow reads the names of the values to show; a whole column means each of
// its rows.
func ParseShow(s *sheet.Sheet, names []string) ([]sheet.Place, *diag.Diagnostic) {
	var out []sheet.Place
	for _, name := range names {
		p, d := s.Place(name)
		if d != nil {
			return nil, d
		}
		if p.Row != sheet.Whole {
			out = append(out, p)
			continue
		}
		for row := range p.Column.Table.Rows {
			out = append(out, sheet.Place{Column: p.Column, Row: row})
		}
		if len(out) > maxShown {
			return nil, refuse("%s has %d rows: name those to be shown, as in %s[1]", name, p.Column.Table.Rows, name)
		}
	}
	for i, p := range out {
		if slices.Contains(out[:i], p) {
			return nil, refuse("%s is named twice in --show: remove one", p.Name())
		}
	}
	return out, nil
}

// caught holds a block's results for the scenarios that are confirmed.
type caught[T any] struct {
	out  T
	seen []scenario
}

type scenario struct {
	index         int
	inputs, shown []float64
}

// RunSweep evaluates w's part. Workers call work on the blocks in any order;
// collect receives the results in order. At the end a seeded sample of the
// scenarios is computed again by the second evaluator: the error is a
// *sheet.Disagreement if the two differ.
func RunSweep[T any](ctx context.Context, w *Sweep, work func(b *Block, out *T), collect func(b *Block, out *T) error) (Tally, error) {
	sample := w.sample()
	var seen []scenario
	tally, err := whatif.RunSweep(ctx, &w.Sweep, func(b *Block, c *caught[T]) {
		c.seen = w.catch(b, sample)
		work(b, &c.out)
	}, func(b *Block, c *caught[T]) error {
		seen = append(seen, c.seen...)
		return collect(b, &c.out)
	})
	if err != nil {
		return tally, err
	}
	return tally, w.confirmAll(seen)
}

// confirmAll confirms scenarios on all processors; the error is the first
// scenario's error.
func (w *Sweep) confirmAll(seen []scenario) error {
	errs := make([]error, len(seen))
	var all sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, one := range seen {
		all.Go(func() {
			free <- struct{}{}
			errs[i] = w.confirm(one)
			<-free
		})
	}
	all.Wait()
	return cmp.Or(errs...)
}

// sampleSeed makes the sample equal in every run.
const sampleSeed = 0x6EA21EAF

// sampled is the number of scenarios of a sweep that the second evaluator
// computes.
const sampled = 5

// sample chooses the scenarios to confirm: the first, the last and some
// between.
func (w *Sweep) sample() []int {
	from, to := w.Part()
	if from == to {
		return nil
	}
	out := []int{from, to - 1}
	random := rand.New(rand.NewPCG(sampleSeed, uint64(to-from)))
	for range sampled - 2 {
		out = append(out, from+random.IntN(to-from))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// catch copies the scenarios of b that are in the sample.
func (w *Sweep) catch(b *Block, sample []int) []scenario {
	var out []scenario
	for _, i := range sample {
		if i < b.From || i >= b.From+b.N {
			continue
		}
		out = append(out, scenario{index: i, inputs: across(b.Inputs, i-b.From), shown: across(b.Shown, i-b.From)})
	}
	return out
}

// across returns the values of every column in one row.
func across(columns [][]float64, row int) []float64 {
	out := make([]float64, len(columns))
	for k := range columns {
		out[k] = columns[k][row]
	}
	return out
}

// confirm computes one scenario by itself, on both evaluators.
func (w *Sweep) confirm(one scenario) error {
	settings := make([]whatif.Setting, len(w.Axes))
	for k, a := range w.Sweep.Axes {
		settings[k] = whatif.Setting{Place: a.Place, Value: one.inputs[k]}
	}
	r, err := w.Sheet.ComputeSample(settings)
	if err != nil {
		return err
	}
	var differ []referee.Difference
	for k, p := range w.Show {
		if own := r.At(p).V; !referee.Same(own, one.shown[k]) {
			name := fmt.Sprintf("%s in scenario %d", p.Name(), one.index+1)
			differ = append(differ, referee.Difference{Name: name, Row: -1, Value: one.shown[k], Referee: own})
		}
	}
	if len(differ) > 0 {
		return &sheet.Disagreement{Differences: differ}
	}
	return nil
}

// Draw makes w draw n random scenarios instead of combining values.
func (w *Sweep) Draw(n int, seed uint64) { w.Random = &whatif.Hypercube{N: n, Seed: seed} }
