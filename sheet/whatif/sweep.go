package whatif

import (
	"context"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
)

// Axis is a given with the values it takes, in SI: those listed or, if points
// are drawn at random and Values is nil, all in Lo..Hi.
type Axis struct {
	Place
	Values []float64
	Lo, Hi float64
}

// draw returns the value at u, in 0..1.
func (a *Axis) draw(u float64) float64 {
	if a.Values != nil {
		return a.Values[int(u*float64(len(a.Values)))]
	}
	return a.Lo + float64(u*(a.Hi-a.Lo))
}

// Sweep evaluates a sheet at every combination of its axes, the last axis
// varying fastest, or at random points.
type Sweep struct {
	Program *program.Program
	Base    []Setting
	Axes    []Axis
	Random  *Hypercube // draws points instead of combining values
	Show    []Place    // the results read at every point
	Limits  []int      // the limits to watch, as indices of the model
	// Shard, from 0, of Shards parts is evaluated: parts are disjoint, and
	// concatenated they are the whole. Shards 0 means the whole.
	Shard, Shards int
	// Workers is the number of machines; 0 means one per processor. The
	// results do not depend on it.
	Workers int
}

// MaxScenarios bounds a sweep: 2^48 scenarios, 2^30 on a processor of 32 bits.
const MaxScenarios = 1 << (30 + 18*(^uint(0)>>63))

// Size returns the number of scenarios of the whole sweep; ok is false if there
// are more than MaxScenarios.
func (s *Sweep) Size() (n int, ok bool) {
	if s.Random != nil {
		return s.Random.N, s.Random.N <= MaxScenarios
	}
	n = 1
	for _, a := range s.Axes {
		if len(a.Values) > 0 && n > MaxScenarios/len(a.Values) {
			return MaxScenarios, false
		}
		n *= len(a.Values)
	}
	return n, true
}

// Part returns the half-open range of the shard's scenarios.
func (s *Sweep) Part() (from, to int) {
	n, _ := s.Size()
	if s.Shards <= 1 {
		return 0, n
	}
	return cut(n, s.Shard, s.Shards), cut(n, s.Shard+1, s.Shards)
}

// cut returns n·i/of, whole and without overflow.
func cut(n, i, of int) int {
	hi, lo := bits.Mul64(uint64(n), uint64(i))
	q, _ := bits.Div64(hi, lo, uint64(of))
	return int(q)
}

// Points writes the inputs of the n scenarios from from on, those of each
// axis together.
func (s *Sweep) Points(from, n int, out [][]float64) {
	if s.Random != nil {
		for k := range s.Axes {
			for i := range n {
				out[k][i] = s.Axes[k].draw(s.Random.At(from+i, k))
			}
		}
		return
	}
	stride := 1
	for k := len(s.Axes) - 1; k >= 0; k-- {
		values := s.Axes[k].Values
		at, left := from/stride%len(values), stride-from%stride
		for i := range n {
			out[k][i] = values[at]
			if left--; left == 0 {
				left = stride
				if at++; at == len(values) {
					at = 0
				}
			}
		}
		stride *= len(values)
	}
}

// Block is a run of scenarios with their results. Its slices are reused for
// later ones.
type Block struct {
	From, N int         // the first scenario in the whole sweep, from 0
	Inputs  [][]float64 // of each axis, one value per scenario
	Shown   [][]float64 // of each of Sweep.Show: runtime values, faults among them
	// Broken and Waiting are, for each scenario, the watched limits that do
	// not hold, and those that cannot be decided.
	Broken, Waiting [][]int
	// Hole names, for each scenario, the shown values at fault, with the cause
	// of each; empty if there is none.
	Hole []string
	// Holes counts the scenarios by cause: one can have several.
	Holes Holes

	causes []string // of the scenario that is being evaluated
}

// miss adds to the hole of scenario i that p has no value: its cause names the
// place where it began.
func (b *Block) miss(i int, p Place, cause string) {
	text := cause
	if !strings.HasPrefix(cause, p.Name()+":") {
		text = p.Name() + ": waits on " + cause
	}
	if b.Hole[i] == "" {
		b.Hole[i], b.causes = text, b.causes[:0]
	} else {
		b.Hole[i] += "; " + text
	}
	if !slices.Contains(b.causes, cause) {
		b.causes = append(b.causes, cause)
		b.Holes[cause]++
	}
}

// Tally counts the broken limits and faults of a sweep.
type Tally struct {
	Scenarios int
	Holes     Holes
	Faulty    int   // scenarios with a hole
	Breaking  int   // scenarios that break a watched limit
	Broken    []int // of each watched limit, the scenarios that break it
	Waiting   []int // of each watched limit, the scenarios in which it cannot be decided
}

// Holes counts, by cause, the points that have no value.
type Holes map[string]int

// add counts b, whose limits are numbered as in limits.
func (t *Tally) add(b *Block, limits []int) {
	t.Scenarios += b.N
	for cause, n := range b.Holes {
		t.Holes[cause] += n
	}
	for i := range b.N {
		if b.Hole[i] != "" {
			t.Faulty++
		}
		if len(b.Broken[i]) > 0 {
			t.Breaking++
		}
	}
	for k, limit := range limits {
		for i := range b.N {
			for _, l := range b.Broken[i] {
				if l == limit {
					t.Broken[k]++
				}
			}
			for _, l := range b.Waiting[i] {
				if l == limit {
					t.Waiting[k]++
				}
			}
		}
	}
}

// filled is a block with the result of work.
type filled[T any] struct {
	block Block
	out   T
}

// RunSweep evaluates the part of s. Workers call work on the blocks in any
// order; collect receives the results in order. The out of a call of work may
// hold the result of an earlier block.
func RunSweep[T any](ctx context.Context, s *Sweep, work func(b *Block, out *T), collect func(b *Block, out *T) error) (Tally, error) {
	tally := Tally{Holes: Holes{}, Broken: make([]int, len(s.Limits)), Waiting: make([]int, len(s.Limits))}
	from, to := s.Part()
	by := make([]Place, len(s.Axes))
	for k, a := range s.Axes {
		by[k] = a.Place
	}
	size := max(1, min(BlockSize(s.Program, by), to-from))
	eval := NewEvaluator(s.Program, s.Base, by, to-from)
	defer eval.Close()
	start := func() func(from, n int, out *filled[T]) {
		bench := eval.Bench()
		return func(from, n int, out *filled[T]) {
			s.evaluate(bench, from, n, size, &out.block)
			work(&out.block, &out.out)
		}
	}
	err := inBlocks(ctx, from, to, size, s.Workers, start, func(_, _ int, f *filled[T]) error {
		tally.add(&f.block, s.Limits)
		return collect(&f.block, &f.out)
	})
	return tally, err
}

// lay allocates b.
func (s *Sweep) lay(b *Block, size int) {
	b.Inputs, b.Shown = columnsOf(len(s.Axes), size), columnsOf(len(s.Show), size)
	b.Broken, b.Waiting = make([][]int, size), make([][]int, size)
	b.Hole = make([]string, size)
}

// evaluate fills b, which has the capacity for size scenarios.
func (s *Sweep) evaluate(bench *Bench, from, n, size int, b *Block) {
	if b.Hole == nil {
		s.lay(b, size)
	}
	b.From, b.N, b.Holes = from, n, Holes{}
	s.Points(from, n, b.Inputs)
	bench.Run(b.Inputs, n, func(i int, at View) {
		b.Hole[i] = ""
		for k, p := range s.Show {
			v := p.At(at)
			b.Shown[k][i] = v
			if v != v && kernel.IsFault(v) {
				b.miss(i, p, bench.Cause(p, i))
			}
		}
		s.judge(at, b, i)
	})
}

// judge reads the limits at scenario i.
func (s *Sweep) judge(at View, b *Block, i int) {
	b.Broken[i], b.Waiting[i] = b.Broken[i][:0], b.Waiting[i][:0]
	for _, limit := range s.Limits {
		switch v := at.Limit(limit).Value; {
		case v == 1:
		case v != v:
			b.Waiting[i] = append(b.Waiting[i], limit)
		default:
			b.Broken[i] = append(b.Broken[i], limit)
		}
	}
}

// Cause returns why p is a fault: its origin, and the cause there.
func Cause(mc *program.Machine, p Place) string {
	var f *program.Fault
	if p.Cell != nil {
		f = mc.ExplainCell(int(p.Cell.Index))
	} else {
		f = mc.ExplainEntry(int(p.Column.Index), p.Row)
	}
	switch {
	case f == nil:
		return p.Name() + ": no value"
	case f.Row >= 0:
		return fmt.Sprintf("%s[%d]: %s", f.Origin, f.Row+1, f.Cause)
	}
	return f.Origin + ": " + f.Cause
}

// Candidates returns the values that a given can have within lo..hi if it is
// whole, has a choice (in the declared order) or is yes or no, at most limit;
// nil if it can have any.
func Candidates(q *check.Quantity, lo, hi float64, limit int) []float64 {
	out := []float64{}
	switch {
	case len(q.Choice) > 0:
		for _, v := range q.Choice {
			if q.Type.Form != check.Number || v >= lo && v <= hi {
				out = append(out, v)
			}
		}
	case q.Type.Form == check.Truth:
		out = []float64{0, 1}
	case q.Whole:
		for v := math.Ceil(lo); v <= hi && len(out) < limit; v++ {
			out = append(out, v)
		}
	default:
		return nil
	}
	return out
}
