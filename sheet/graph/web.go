package graph

import (
	"slices"

	"gearleaf/sheet/check"
)

// web is what the cells and columns of one knot of tasks read of one
// another. A task is too coarse to show a tuner: a walk through a loop goes
// in at one of its columns and comes out at another.
type web struct {
	b       *builder
	tasks   []int32 // the knot, in the order of the text
	stops   []stop
	number  map[stop]int32
	reads   [][]int32
	between [][]bool // whether the reading at this place leaves the loop's row order
}

// stop is a cell, a column or the until of a table; the others are nil.
type stop struct {
	cell   *check.Cell
	column *check.Column
	until  *check.Table
}

func newWeb(b *builder, knot []int32) *web {
	w := &web{b: b, tasks: slices.Clone(knot), number: map[stop]int32{}}
	slices.Sort(w.tasks)
	for _, t := range w.tasks {
		w.addStops(b.g.Task(int(t)))
	}
	w.reads = make([][]int32, len(w.stops))
	w.between = make([][]bool, len(w.stops))
	for i := range w.stops {
		w.connect(int32(i))
	}
	return w
}

func (w *web) addStops(t Task) {
	switch t.Kind {
	case CellTask:
		w.add(stop{cell: t.Cell})
	case ColumnTask:
		w.add(stop{column: t.Column})
	case LoopTask:
		for _, c := range t.Table.Columns {
			if looped(c) {
				w.add(stop{column: c})
			}
		}
		if t.Table.Until != 0 {
			w.add(stop{until: t.Table})
		}
	}
}

func (w *web) add(s stop) {
	w.number[s] = int32(len(w.stops))
	w.stops = append(w.stops, s)
}

// connect finds what one stop reads inside the web.
func (w *web) connect(from int32) {
	s := w.stops[from]
	var formulas []check.NodeID
	var loop *check.Table // the loop that s belongs to
	switch {
	case s.cell != nil:
		formulas = []check.NodeID{s.cell.Formula}
	case s.until != nil:
		formulas, loop = []check.NodeID{s.until.Until}, s.until
	default:
		formulas = []check.NodeID{s.column.Formula, s.column.Start}
		if looped(s.column) {
			loop = s.column.Table
		} else if s.column.Table.Until != 0 {
			w.edge(from, stop{until: s.column.Table}, true)
		}
	}
	w.b.r.reads(func(how manner, index int32) {
		if how == cellRead {
			w.edge(from, stop{cell: w.b.m.Cells[index]}, true)
			return
		}
		c := w.b.m.Columns[index]
		inRow := how != wholeRead && loop == c.Table && looped(c)
		w.edge(from, stop{column: c}, !inRow)
		if how == wholeRead && c.Table.Until != 0 {
			w.edge(from, stop{until: c.Table}, true)
		}
	}, formulas...)
}

func (w *web) edge(from int32, to stop, between bool) {
	if n, ok := w.number[to]; ok {
		w.reads[from] = append(w.reads[from], n)
		w.between[from] = append(w.between[from], between)
	}
}

// mostTried is from how many of the things that a stop reads a shorter walk is
// looked for, once there is one.
const mostTried = 20

// walk returns the shortest walk through the first stop that has one. A
// walk inside a loop alone is none: it goes through a row before.
func (w *web) walk() []Step {
	inside := map[int32]bool{}
	for i := range w.stops {
		inside[int32(i)] = true
	}
	for from := range w.stops {
		var best []int32
		tried := 0
		for i, to := range w.reads[from] {
			if !w.between[from][i] || best != nil && tried >= mostTried {
				continue
			}
			tried++
			found := w.back(int32(from), to, inside)
			if found != nil && (best == nil || len(found) < len(best)) {
				best = found
			}
		}
		if best != nil {
			return w.steps(best)
		}
	}
	return nil
}

// back returns the shortest walk that goes from one stop to another and back.
func (w *web) back(from, to int32, inside map[int32]bool) []int32 {
	if from == to {
		return []int32{from, from}
	}
	next := func(v int32) []int32 {
		if v == from {
			return []int32{to}
		}
		return w.reads[v]
	}
	return circle(from, next, inside)
}

func (w *web) steps(walk []int32) []Step {
	var out []Step
	for _, n := range walk {
		switch s := w.stops[n]; {
		case s.cell != nil:
			out = append(out, w.b.step(s.cell.Name, &s.cell.Quantity))
		case s.column != nil:
			out = append(out, w.b.columnStep(s.column))
		default:
			out = append(out, w.b.untilStep(s.until))
		}
	}
	return out
}

func (b *builder) untilStep(t *check.Table) Step {
	s := Step{Name: "until of " + t.Name}
	if decl := t.Decl(); decl != nil && decl.Until != nil {
		s.File, s.Span = b.m.Files[t.Origin.File].File, decl.Until.Pos()
	}
	return s
}
