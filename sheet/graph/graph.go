// Package graph finds the evaluation order of a checked sheet: the
// dependencies, what a change reaches, and which cells depend on themselves.
package graph

import "gearleaf/sheet/check"

// TaskKind is what a Task computes.
type TaskKind uint8

// The kinds of tasks.
const (
	CellTask   TaskKind = iota // a scalar, given or computed
	ColumnTask                 // a column whose rows do not depend on each other
	LoopTask                   // the looped columns of a table and its until
	LimitTask                  // a limit or an advise line
	AdviceTask                 // a condition that a cell should keep
)

// Task is one unit of computing. Only the field of its kind is set.
type Task struct {
	Kind TaskKind
	// Index is the place of the computed item in the Model's list of its kind.
	Index  int32
	Cell   *check.Cell
	Column *check.Column
	Table  *check.Table
	Limit  *check.Limit
	Advice *check.Advice
}

// Graph is the dependency graph of a Model. Its tasks are in evaluation order:
// each follows its dependencies, otherwise the order is that of the sheet's
// text.
type Graph struct {
	m     *check.Model
	tasks []kept

	needs, feeds edges
	place        places
}

// kept is a Task as a graph stores it: the kind above the index.
type kept uint32

const (
	kindShift = 29 // more than 500 million of each kind
	indexMask = 1<<kindShift - 1
)

func keep(kind TaskKind, index int32) kept { return kept(kind)<<kindShift | kept(index) }

// Len returns the number of tasks.
func (g *Graph) Len() int { return len(g.tasks) }

// CellOf returns the cell that task i computes; nil if it computes something
// else.
func (g *Graph) CellOf(i int) *check.Cell {
	if at := g.CellIndex(i); at >= 0 {
		return g.m.Cells[at]
	}
	return nil
}

// CellIndex returns the index of the cell that task i computes, -1 if it
// computes something else. It does not read the cell, which in a large sheet
// would be a cache miss.
func (g *Graph) CellIndex(i int) int32 {
	if k := g.tasks[i]; TaskKind(k>>kindShift) == CellTask {
		return int32(k & indexMask)
	}
	return -1
}

// Task returns task i.
func (g *Graph) Task(i int) Task {
	k := g.tasks[i]
	t := Task{Kind: TaskKind(k >> kindShift), Index: int32(k & indexMask)}
	switch t.Kind {
	case CellTask:
		t.Cell = g.m.Cells[t.Index]
	case ColumnTask:
		t.Column = g.m.Columns[t.Index]
	case LoopTask:
		t.Table = g.m.Tables[t.Index]
	case LimitTask:
		t.Limit = g.m.Limits[t.Index]
	case AdviceTask:
		t.Advice = g.m.Advices[t.Index]
	}
	return t
}

// edges is a list of task numbers for each task, all in one slice.
type edges struct {
	start []int32 // one more than the number of tasks
	to    []int32
}

func (e *edges) of(task int) []int32 { return e.to[e.start[task]:e.start[task+1]] }

// places are the tasks of cells, columns and the rest, -1 for none.
type places struct {
	cells, columns, loops, limits []int32
	advices                       map[*check.Advice]int32
}

// FeedsOf returns the tasks that read task directly, in evaluation order.
// The slice is the graph's own.
func (g *Graph) FeedsOf(task int) []int32 { return g.feeds.of(task) }

// NeedsOf returns the tasks that task reads directly. The slice is the
// graph's own.
func (g *Graph) NeedsOf(task int) []int32 { return g.needs.of(task) }

// Needs returns the tasks that task reads directly.
func (g *Graph) Needs(task int) []int { return ints(g.needs.of(task)) }

// Feeds returns the tasks that read task directly, in evaluation order.
func (g *Graph) Feeds(task int) []int { return ints(g.feeds.of(task)) }

func ints(in []int32) []int {
	out := make([]int, len(in))
	for i, v := range in {
		out[i] = int(v)
	}
	return out
}

// Reach returns tasks and everything that depends on one of them, in
// evaluation order.
func (g *Graph) Reach(tasks []int) []int {
	reached := make([]bool, len(g.tasks))
	first := len(g.tasks)
	for _, t := range tasks {
		reached[t] = true
		first = min(first, t)
	}
	var out []int
	for t := first; t < len(g.tasks); t++ {
		if !reached[t] {
			continue
		}
		out = append(out, t)
		for _, f := range g.feeds.of(t) {
			reached[f] = true
		}
	}
	return out
}

// Upstream reports, for every task, whether it is one of tasks or one of them
// depends on it.
func (g *Graph) Upstream(tasks []int) []bool {
	needed := make([]bool, len(g.tasks))
	for _, t := range tasks {
		needed[t] = true
	}
	for t := len(needed) - 1; t >= 0; t-- {
		if !needed[t] {
			continue
		}
		for _, n := range g.needs.of(t) {
			needed[n] = true
		}
	}
	return needed
}

// TaskOf returns the task of a *check.Cell, *check.Column (a looped one's is
// its table's loop), *check.Table (its loop), *check.Limit or *check.Advice,
// or -1 if there is none.
func (g *Graph) TaskOf(what any) int {
	switch w := what.(type) {
	case *check.Cell:
		return int(g.place.cells[w.Index])
	case *check.Column:
		return int(g.place.columns[w.Index])
	case *check.Table:
		return int(g.place.loops[w.Index])
	case *check.Limit:
		return int(g.place.limits[w.Index])
	case *check.Advice:
		if t, ok := g.place.advices[w]; ok {
			return int(t)
		}
	}
	return -1
}
