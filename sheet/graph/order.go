package graph

import "gearleaf/sheet/check"

// heap is a least-first queue of task numbers.
type heap []int32

func (h *heap) push(v int32) {
	s := append(*h, v)
	i := len(s) - 1
	for i > 0 {
		up := (i - 1) / 2
		if s[up] <= v {
			break
		}
		s[i] = s[up]
		i = up
	}
	s[i] = v
	*h = s
}

func (h *heap) pop() int32 {
	s := *h
	least, v := s[0], s[len(s)-1]
	s = s[:len(s)-1]
	i := 0
	for {
		down := 2*i + 1
		if down >= len(s) {
			break
		}
		if down+1 < len(s) && s[down+1] < s[down] {
			down++
		}
		if s[down] >= v {
			break
		}
		s[i] = s[down]
		i = down
	}
	if len(s) > 0 {
		s[i] = v
	}
	*h = s
	return least
}

// turnedAround returns the reversed edges, in rising order.
func turnedAround(e edges) edges {
	n := len(e.start) - 1
	out := edges{start: make([]int32, n+1), to: make([]int32, len(e.to))}
	for _, t := range e.to {
		out.start[t+1]++
	}
	for i := range n {
		out.start[i+1] += out.start[i]
	}
	next := append([]int32(nil), out.start[:n]...)
	for i := range n {
		for _, t := range e.of(i) {
			out.to[next[t]] = int32(i)
			next[t]++
		}
	}
	return out
}

// sorted returns the numbers of e in topological order, each after its targets,
// the least first if several are possible. Numbers that depend on themselves
// are left out.
func sorted(e edges) []int32 {
	n := len(e.start) - 1
	back := turnedAround(e)
	waits := make([]int32, n)
	var ready heap
	for i := range n {
		if waits[i] = e.start[i+1] - e.start[i]; waits[i] == 0 {
			ready.push(int32(i))
		}
	}
	out := make([]int32, 0, n)
	for len(ready) > 0 {
		t := ready.pop()
		out = append(out, t)
		for _, f := range back.of(int(t)) {
			if waits[f]--; waits[f] == 0 {
				ready.push(f)
			}
		}
	}
	return out
}

// inOrder reports whether the numbers of e are already in the order of sorted:
// each after all its targets.
func inOrder(e edges) bool {
	for i := range len(e.start) - 1 {
		for _, t := range e.of(i) {
			if int(t) >= i {
				return false
			}
		}
	}
	return true
}

// order returns each task's place in evaluation order, -1 for a task that
// depends on itself or on one that does; nil if the order of the text is the
// evaluation order, as in most large sheets.
func (b *builder) order() []int32 {
	if inOrder(b.g.needs) {
		return nil
	}
	rank := none(b.g.Len())
	for place, t := range sorted(b.g.needs) {
		rank[t] = int32(place)
	}
	return rank
}

// arrange sorts tasks, edges and places by rank; tasks without a rank follow.
// Without ranks the order is unchanged.
func (b *builder) arrange(rank []int32) {
	g := b.g
	if rank == nil {
		g.feeds = turnedAround(g.needs)
		return
	}
	placed := int32(0)
	for _, r := range rank {
		if r >= 0 {
			placed++
		}
	}
	old := make([]int32, len(rank)) // the former number of each task
	for t := range rank {
		if rank[t] < 0 {
			rank[t] = placed
			placed++
		}
		old[rank[t]] = int32(t)
	}
	tasks := make([]kept, len(old))
	e := edges{start: make([]int32, 1, len(old)+1), to: make([]int32, 0, len(g.needs.to))}
	for i, t := range old {
		tasks[i] = g.tasks[t]
		for _, n := range g.needs.of(int(t)) {
			e.to = append(e.to, rank[n])
		}
		e.start = append(e.start, int32(len(e.to)))
	}
	g.tasks, g.needs, g.feeds = tasks, e, turnedAround(e)
	g.place.renumber(rank)
}

func (p *places) renumber(rank []int32) {
	for _, list := range [][]int32{p.cells, p.columns, p.loops, p.limits} {
		for i, t := range list {
			if t >= 0 {
				list[i] = rank[t]
			}
		}
	}
	for a, t := range p.advices {
		p.advices[a] = rank[t]
	}
}

// orderRows sorts the looped columns of each table into evaluation order within
// a row. Values of the row before are already known; those of the same row,
// including a start's, must come first.
func (b *builder) orderRows() []Cycle {
	var cycles []Cycle
	for _, t := range b.m.Tables {
		row := newRow(t)
		if len(row.columns) == 0 {
			continue
		}
		e := b.rowEdges(row)
		order := sorted(e)
		t.Loop = t.Loop[:0:0]
		for _, i := range order {
			t.Loop = append(t.Loop, row.columns[i])
		}
		if len(order) == len(row.columns) {
			continue
		}
		for _, c := range circles(e) {
			cycles = append(cycles, b.rowCycle(row, c))
		}
		row.rest(order)
	}
	return cycles
}

// row is the looped columns of one table.
type row struct {
	table   *check.Table
	columns []*check.Column
	place   map[int32]int32 // from Column.Index to the place in columns
}

func newRow(t *check.Table) *row {
	r := &row{table: t, place: map[int32]int32{}}
	for _, c := range t.Columns {
		if looped(c) {
			r.place[c.Index] = int32(len(r.columns))
			r.columns = append(r.columns, c)
		}
	}
	return r
}

// rest appends to the table's loop the columns that are not in order.
func (r *row) rest(order []int32) {
	in := make([]bool, len(r.columns))
	for _, i := range order {
		in[i] = true
	}
	for i, c := range r.columns {
		if !in[i] {
			r.table.Loop = append(r.table.Loop, c)
		}
	}
}

// rowEdges finds the columns that each column reads in the same row.
func (b *builder) rowEdges(r *row) edges {
	e := edges{start: make([]int32, 1, len(r.columns)+1)}
	last := none(len(r.columns))
	for i, c := range r.columns {
		b.r.reads(func(how manner, index int32) {
			if to, ok := r.place[index]; ok && how == rowRead && last[to] != int32(i) {
				last[to] = int32(i)
				e.to = append(e.to, to)
			}
		}, c.Formula, c.Start)
		e.start = append(e.start, int32(len(e.to)))
	}
	return e
}
