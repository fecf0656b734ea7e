package sheet

import (
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
)

// CheckAll is the number of evaluations up to which the second evaluator
// confirms all of them. Above it these are confirmed: every limit, the rows at
// the ends of every table and, up to CheckAll in all, the scalars and a seeded
// sample of the rest.
const CheckAll = 50_000

// sampleSeed makes the sample equal in every run.
const sampleSeed = 0x6EA21EAF

// ShownEnds is the number of rows at each end of a long table that are shown,
// and therefore always confirmed.
const ShownEnds = 5

// sample chooses the evaluations to confirm. An evaluation is one value: of a
// scalar, or of a column in one row.
type sample struct {
	g     *graph.Graph
	live  []int // live rows, by table
	of    int   // evaluations there are
	taken int   // evaluations chosen so far
	// share of the optional evaluations to choose, as a threshold on 32 bits of
	// hash, for scalars and for everything else.
	scalars, rest uint64
}

func newSample(g *graph.Graph, mc *program.Machine) *sample {
	s := &sample{g: g}
	must, scalars := 0, 0
	for i := range g.Len() {
		t := g.Task(i)
		rows := s.rows(t, mc)
		s.of += rows * weight(t)
		switch t.Kind {
		case graph.LimitTask:
			must += rows
		case graph.CellTask:
			scalars++
		case graph.ColumnTask, graph.LoopTask:
			must += min(rows, 2*ShownEnds) * weight(t)
		}
	}
	s.scalars = threshold(CheckAll-must, scalars)
	s.rest = threshold(CheckAll-must-scalars, s.of-must-scalars)
	return s
}

// threshold returns the hash below which the wanted share of have lies.
func threshold(want, have int) uint64 {
	if have <= 0 || want <= 0 {
		return 0
	}
	return uint64(float64(uint64(1)<<32) * min(1, float64(want)/float64(have)))
}

// rows returns the number of rows in which t has values.
func (s *sample) rows(t graph.Task, mc *program.Machine) int {
	table := -1
	switch {
	case t.Kind == graph.ColumnTask:
		table = t.Column.Table.Index
	case t.Kind == graph.LoopTask:
		table = t.Table.Index
	case t.Kind == graph.LimitTask && t.Limit.Table != nil:
		table = t.Limit.Table.Index
	}
	if table < 0 {
		return 1
	}
	for len(s.live) <= table {
		s.live = append(s.live, -1)
	}
	if s.live[table] < 0 {
		s.live[table], _ = mc.Live(table)
	}
	return s.live[table]
}

// weight is the number of values in one row of a task.
func weight(t graph.Task) int {
	if t.Kind == graph.LoopTask {
		return max(1, len(t.Table.Loop))
	}
	return 1
}

// choose reports whether one evaluation is confirmed, and counts it.
func (s *sample) choose(task, row int) bool {
	t := s.g.Task(task)
	chosen := false
	switch t.Kind {
	case graph.LimitTask:
		chosen = true
	case graph.CellTask:
		chosen = hash(task, row) < s.scalars
	case graph.ColumnTask:
		chosen = s.chooseRow(t.Column.Table.Index, task, row)
	case graph.LoopTask:
		chosen = s.chooseRow(t.Table.Index, task, row)
	default:
		chosen = hash(task, row) < s.rest
	}
	if chosen && t.Kind == graph.LimitTask && t.Limit.Table != nil {
		s.taken += s.live[t.Limit.Table.Index]
	} else if chosen {
		s.taken += weight(t)
	}
	return chosen
}

func (s *sample) chooseRow(table, task, row int) bool {
	live := s.live[table]
	return row < ShownEnds || (row >= live-ShownEnds && row < live) || (row < live && hash(task, row) < s.rest)
}

// hash spreads task and row over 32 bits (the finaliser of SplitMix64).
func hash(task, row int) uint64 {
	x := sampleSeed + uint64(task)*0x9E3779B97F4A7C15 + uint64(row)*0xD1B54A32D192ED03
	x = (x ^ x>>30) * 0xBF58476D1CE4E5B9
	x = (x ^ x>>27) * 0x94D049BB133111EB
	return (x ^ x>>31) >> 32
}
