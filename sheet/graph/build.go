package graph

import (
	"runtime"
	"sync"

	"gearleaf/sheet/check"
)

// Build sorts the tasks of m and, in each table, the looped columns into
// evaluation order within a row (Table.Loop). If cells depend on themselves, it
// returns the cycles; their tasks come last, in the order of the text, and must
// not be computed.
func Build(m *check.Model) (*Graph, []Cycle) {
	b := &builder{m: m, g: &Graph{m: m}, r: newReader(m)}
	b.list()
	b.connect()
	cycles := b.orderRows()
	rank := b.order()
	cycles = append(cycles, b.cycles(rank)...)
	b.arrange(rank)
	return b.g, cycles
}

// builder holds the tasks in the order of the text until they are sorted.
type builder struct {
	m *check.Model
	g *Graph
	r *reader
}

// list makes the tasks in reading order. Parts that are not in the outline (the
// library's tables, a model without an outline) follow in the order of the
// model's lists.
func (b *builder) list() {
	m, p := b.m, &b.g.place
	p.cells, p.columns = none(len(m.Cells)), none(len(m.Columns))
	p.loops, p.limits = none(len(m.Tables)), none(len(m.Limits))
	p.advices = make(map[*check.Advice]int32, len(m.Advices))
	b.g.tasks = make([]kept, 0, len(m.Cells)+len(m.Columns)+len(m.Tables)+len(m.Limits)+len(m.Advices))
	for item := range m.Outline() {
		b.addCell(item.Cell)
		b.addTable(item.Table)
		b.addLimit(item.Limit)
	}
	for _, c := range m.Cells {
		b.addCell(c)
	}
	for _, t := range m.Tables {
		b.addTable(t)
	}
	for _, l := range m.Limits {
		b.addLimit(l)
	}
	for i, a := range m.Advices {
		if _, seen := p.advices[a]; !seen {
			p.advices[a] = b.add(AdviceTask, int32(i))
		}
	}
}

func none(n int) []int32 {
	s := make([]int32, n)
	for i := range s {
		s[i] = -1
	}
	return s
}

func (b *builder) add(kind TaskKind, index int32) int32 {
	b.g.tasks = append(b.g.tasks, keep(kind, index))
	return int32(len(b.g.tasks) - 1)
}

func (b *builder) addCell(c *check.Cell) {
	if c != nil && b.g.place.cells[c.Index] < 0 {
		b.g.place.cells[c.Index] = b.add(CellTask, c.Index)
	}
}

func (b *builder) addLimit(l *check.Limit) {
	if l != nil && b.g.place.limits[l.Index] < 0 {
		b.g.place.limits[l.Index] = b.add(LimitTask, int32(l.Index))
	}
}

// addTable adds a table's columns in order; its loop has the place of the first
// looped column, or comes after all columns if only until makes it a loop.
func (b *builder) addTable(t *check.Table) {
	if t == nil {
		return
	}
	p := &b.g.place
	for _, c := range t.Columns {
		switch {
		case p.columns[c.Index] >= 0:
		case !looped(c):
			p.columns[c.Index] = b.add(ColumnTask, c.Index)
		default:
			b.addLoop(t)
			p.columns[c.Index] = p.loops[t.Index]
		}
	}
	if t.Until != 0 {
		b.addLoop(t)
	}
}

func (b *builder) addLoop(t *check.Table) {
	if b.g.place.loops[t.Index] < 0 {
		b.g.place.loops[t.Index] = b.add(LoopTask, int32(t.Index))
	}
}

// looped reports whether c is computed row by row.
func looped(c *check.Column) bool { return c.Looped && !c.Given }

// roots appends the formulas that make t.
func roots(t *Task, out []check.NodeID) []check.NodeID {
	switch t.Kind {
	case CellTask:
		if !t.Cell.Given {
			out = append(out, t.Cell.Formula)
		}
	case ColumnTask:
		if !t.Column.Given {
			out = append(out, t.Column.Formula, t.Column.Start)
		}
	case LoopTask:
		for _, c := range t.Table.Columns {
			if looped(c) {
				out = append(out, c.Formula, c.Start)
			}
		}
		out = append(out, t.Table.Until)
	case LimitTask:
		out = append(out, t.Limit.Cond)
	case AdviceTask:
		out = append(out, t.Advice.Cond)
	}
	return out
}

// lives returns the table on whose live rows a task's own rows depend, nil
// for none.
func lives(t *Task) *check.Table {
	switch {
	case t.Kind == ColumnTask && !t.Column.Given:
		return t.Column.Table
	case t.Kind == LimitTask:
		return t.Limit.Table
	case t.Kind == AdviceTask && t.Advice.Column != nil:
		return t.Advice.Column.Table
	}
	return nil
}

// needsPerTask is the number of dependencies of a task in usual sheets; the
// list grows if there are more.
const needsPerTask = 2

// connect finds the dependencies of each task, in parallel if there are many
// tasks.
func (b *builder) connect() {
	n := b.g.Len()
	parts := max(1, min(runtime.GOMAXPROCS(0), n/connectLeast, connectMost))
	found := make([]edges, parts)
	var all sync.WaitGroup
	for i := range parts {
		all.Go(func() { found[i] = b.connectPart(n*i/parts, n*(i+1)/parts) })
	}
	all.Wait()
	b.g.needs = joinEdges(found, n)
}

// connectLeast is the least number of tasks for which a part is worth its cost,
// connectMost the largest number of parts: each has a list of all tasks.
const connectLeast, connectMost = 10_000, 4

// connectPart finds the dependencies of a range of tasks.
func (b *builder) connectPart(from, to int) edges {
	c := connecter{
		b: b, r: newReader(b.m),
		e: edges{start: make([]int32, 1, to-from+1), to: make([]int32, 0, needsPerTask*(to-from))},
	}
	for i := from; i < to; i++ {
		c.task(int32(i))
		c.e.start = append(c.e.start, int32(len(c.e.to)))
	}
	return c.e
}

// connecter finds the dependencies of a range of tasks.
type connecter struct {
	b        *builder
	r        *reader
	e        edges
	formulas []check.NodeID
	last     []int32 // the last task that was found to need this one
}

// task finds the dependencies of task i.
func (c *connecter) task(i int32) {
	b, t := c.b, c.b.g.Task(int(i))
	if c.last == nil {
		c.last = none(b.g.Len())
	}
	need := func(n int32) {
		if n >= 0 && c.last[n] != i {
			c.last[n] = i
			c.e.to = append(c.e.to, n)
		}
	}
	if of := lives(&t); of != nil && of.Until != 0 {
		need(b.g.place.loops[of.Index])
	}
	c.formulas = roots(&t, c.formulas[:0])
	c.r.reads(func(how manner, index int32) { b.need(&t, how, index, need) }, c.formulas...)
}

// joinEdges returns the edges of n tasks, which were found in parts.
func joinEdges(parts []edges, n int) edges {
	if len(parts) == 1 {
		return parts[0]
	}
	count := 0
	for _, e := range parts {
		count += len(e.to)
	}
	all := edges{start: make([]int32, 1, n+1), to: make([]int32, 0, count)}
	for _, e := range parts {
		base := int32(len(all.to))
		for _, s := range e.start[1:] {
			all.start = append(all.start, base+s)
		}
		all.to = append(all.to, e.to...)
	}
	return all
}

// need calls report for the tasks on which one read makes task t depend.
func (b *builder) need(t *Task, how manner, index int32, report func(int32)) {
	if how == cellRead {
		report(b.g.place.cells[index])
		return
	}
	c := b.m.Columns[index]
	if how == wholeRead {
		report(b.g.place.columns[index])
		if c.Table.Until != 0 {
			report(b.g.place.loops[c.Table.Index])
		}
		return
	}
	if t.Kind == LoopTask && looped(c) && c.Table == t.Table {
		return // within the loop: the order of the row
	}
	report(b.g.place.columns[index])
}
