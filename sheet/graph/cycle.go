package graph

import (
	"fmt"
	"slices"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// Cycle is a path from a cell through the values it reads back to itself.
type Cycle struct {
	// Walk begins and ends with the same cell or column.
	Walk []Step
}

// Step is one stop of a cycle.
type Step struct {
	Name string       // "a", "gears.ratio", "until of run"
	File *source.File // nil if the model was not made from text
	Span source.Span
	Text string // the statement, on one line and shortened; may be empty
}

// shownEnds is the number of steps at each end of a long cycle that are shown.
const shownEnds = 6

// Diagnostic shows how the cells depend on each other, only the ends of a long
// cycle.
func (c Cycle) Diagnostic() diag.Diagnostic {
	first := c.Walk[0]
	rest, left := c.Walk[1:], 0
	if len(rest) > 2*shownEnds {
		left = len(rest) - 2*shownEnds
		rest = append(slices.Clone(rest[:shownEnds]), rest[len(rest)-shownEnds:]...)
	}
	var walk strings.Builder
	if walk.WriteString(first.Name); first.Text != "" {
		walk.Reset()
		walk.WriteString(first.Text)
	}
	for i, s := range rest {
		if left > 0 && i == shownEnds {
			fmt.Fprintf(&walk, " → … %d more …", left)
		}
		walk.WriteString(" → " + s.Name)
	}
	d := diag.Diagnostic{
		Code: diag.GraphCycle, File: first.File, Span: first.Span,
		Message: first.Name + " depends on itself: " + walk.String(),
		Help:    "one of these must be given or computed from something else",
	}
	for _, s := range rest[:len(rest)-1] {
		d.Related = append(d.Related, diag.Related{File: s.File, Span: s.Span, Message: s.Name + " is here"})
	}
	return d
}

// circles returns one short cycle through the least member of each strongly
// connected component of e.
func circles(e edges) [][]int32 {
	var out [][]int32
	for _, k := range components(e) {
		inside := map[int32]bool{}
		for _, v := range k {
			inside[v] = true
		}
		least := slices.Min(k)
		out = append(out, circle(least, func(v int32) []int32 { return e.of(int(v)) }, inside))
	}
	return out
}

// circle returns the shortest cycle from a number back to itself inside a set,
// the first one found if several are equally short.
func circle(from int32, to func(int32) []int32, inside map[int32]bool) []int32 {
	came := map[int32]int32{}
	queue := []int32{from}
	for len(queue) > 0 {
		v := queue[0]
		queue = queue[1:]
		for _, w := range to(v) {
			if w == from {
				return backtrack(came, from, v)
			}
			if _, seen := came[w]; !seen && inside[w] {
				came[w] = v
				queue = append(queue, w)
			}
		}
	}
	return nil
}

// backtrack returns the path from … v → from.
func backtrack(came map[int32]int32, from, v int32) []int32 {
	walk := []int32{from}
	for ; v != from; v = came[v] {
		walk = append(walk, v)
	}
	walk = append(walk, from)
	slices.Reverse(walk)
	return walk
}

// components returns the strongly connected components of e that contain a
// cycle, in the order of their least member (Tarjan's algorithm with an
// explicit stack).
func components(e edges) [][]int32 {
	n := len(e.start) - 1
	t := &tarjan{e: e, index: make([]int32, n), low: make([]int32, n), on: make([]bool, n)}
	for v := range n {
		if t.index[v] == 0 {
			t.from(int32(v))
		}
	}
	slices.SortFunc(t.found, func(a, b []int32) int { return int(slices.Min(a) - slices.Min(b)) })
	return t.found
}

type tarjan struct {
	e          edges
	index, low []int32
	on         []bool
	stack      []int32
	count      int32
	found      [][]int32
}

type frame struct{ v, next int32 }

func (t *tarjan) from(root int32) {
	frames := []frame{t.enter(root)}
	for len(frames) > 0 {
		f := &frames[len(frames)-1]
		if to := t.e.of(int(f.v)); int(f.next) < len(to) {
			w := to[f.next]
			f.next++
			switch {
			case t.index[w] == 0:
				frames = append(frames, t.enter(w))
			case t.on[w]:
				t.low[f.v] = min(t.low[f.v], t.index[w])
			}
			continue
		}
		v := f.v
		frames = frames[:len(frames)-1]
		if len(frames) > 0 {
			up := frames[len(frames)-1].v
			t.low[up] = min(t.low[up], t.low[v])
		}
		if t.low[v] == t.index[v] {
			t.close(v)
		}
	}
}

func (t *tarjan) enter(v int32) frame {
	t.count++
	t.index[v], t.low[v], t.on[v] = t.count, t.count, true
	t.stack = append(t.stack, v)
	return frame{v: v}
}

// close pops the component of v from the stack and keeps it if it contains a
// cycle.
func (t *tarjan) close(v int32) {
	var set []int32
	for {
		w := t.stack[len(t.stack)-1]
		t.stack = t.stack[:len(t.stack)-1]
		t.on[w] = false
		set = append(set, w)
		if w == v {
			break
		}
	}
	if len(set) > 1 || slices.Contains(t.e.of(int(v)), v) {
		t.found = append(t.found, set)
	}
}

// rowCycle is the Cycle of a cycle among the looped columns of one row.
func (b *builder) rowCycle(r *row, places []int32) Cycle {
	var c Cycle
	for _, p := range places {
		c.Walk = append(c.Walk, b.columnStep(r.columns[p]))
	}
	return c
}

// cycles returns the cycles among the tasks without a rank.
func (b *builder) cycles(rank []int32) []Cycle {
	if !slices.Contains(rank, -1) {
		return nil
	}
	var out []Cycle
	for _, k := range components(b.g.needs) {
		w := newComponent(b, k)
		if walk := w.walk(); walk != nil {
			out = append(out, Cycle{Walk: walk})
		}
	}
	return out
}

func (b *builder) columnStep(c *check.Column) Step {
	return b.step(c.Table.Name+"."+c.Name, &c.Quantity)
}

// step describes a cell or column.
func (b *builder) step(name string, q *check.Quantity) Step {
	s := Step{Name: name}
	decl := q.Decl()
	if decl == nil {
		return s
	}
	s.File, s.Span = b.m.Files[q.Origin.File].File, decl.Name.Span
	if decl.Formula != nil {
		s.Text = name + " = " + oneLine(s.File.Slice(decl.Formula.Pos()))
	}
	return s
}

// oneLine returns text with its line ends as blanks, truncated to 40
// characters.
func oneLine(text string) string {
	words := []rune(strings.Join(strings.Fields(text), " "))
	if len(words) > 40 {
		return string(words[:39]) + "…"
	}
	return string(words)
}

// Diagnostics returns the diagnostics of the cycles of m.
func Diagnostics(_ *check.Model, cycles []Cycle) diag.List {
	var list diag.List
	for i, c := range cycles {
		if i == source.MaxErrors {
			list.Add(diag.Diagnostic{Code: diag.GraphCycle, Message: fmt.Sprintf("%d more cycles are not listed", len(cycles)-i)})
			break
		}
		list.Add(c.Diagnostic())
	}
	return list
}
