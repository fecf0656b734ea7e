package graph

import (
	"slices"

	"gearleaf/sheet/check"
)

// component is the graph of the cells and columns of one strongly connected
// component of tasks. A task is too coarse to show to a tuner: a path through a
// loop enters it at one of its columns and leaves it at another.
type component struct {
	b       *builder
	tasks   []int32 // in the order of the text
	stops   []stop
	number  map[stop]int32
	reads   [][]int32
	between [][]bool // whether the read at this place leaves the loop's row order
}

// stop is a cell, a column or the until of a table; the others are nil.
type stop struct {
	cell   *check.Cell
	column *check.Column
	until  *check.Table
}

func newComponent(b *builder, tasks []int32) *component {
	c := &component{b: b, tasks: slices.Clone(tasks), number: map[stop]int32{}}
	slices.Sort(c.tasks)
	for _, t := range c.tasks {
		c.addStops(b.g.Task(int(t)))
	}
	c.reads = make([][]int32, len(c.stops))
	c.between = make([][]bool, len(c.stops))
	for i := range c.stops {
		c.connect(int32(i))
	}
	return c
}

func (c *component) addStops(t Task) {
	switch t.Kind {
	case CellTask:
		c.add(stop{cell: t.Cell})
	case ColumnTask:
		c.add(stop{column: t.Column})
	case LoopTask:
		for _, column := range t.Table.Columns {
			if looped(column) {
				c.add(stop{column: column})
			}
		}
		if t.Table.Until != 0 {
			c.add(stop{until: t.Table})
		}
	}
}

func (c *component) add(s stop) {
	c.number[s] = int32(len(c.stops))
	c.stops = append(c.stops, s)
}

// connect finds the reads of one stop inside the component.
func (c *component) connect(from int32) {
	s := c.stops[from]
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
			c.edge(from, stop{until: s.column.Table}, true)
		}
	}
	c.b.r.reads(func(how manner, index int32) {
		if how == cellRead {
			c.edge(from, stop{cell: c.b.m.Cells[index]}, true)
			return
		}
		column := c.b.m.Columns[index]
		inRow := how != wholeRead && loop == column.Table && looped(column)
		c.edge(from, stop{column: column}, !inRow)
		if how == wholeRead && column.Table.Until != 0 {
			c.edge(from, stop{until: column.Table}, true)
		}
	}, formulas...)
}

func (c *component) edge(from int32, to stop, between bool) {
	if n, ok := c.number[to]; ok {
		c.reads[from] = append(c.reads[from], n)
		c.between[from] = append(c.between[from], between)
	}
}

// mostTried is the number of a stop's reads that are tried for a shorter path
// once there is one.
const mostTried = 20

// walk returns the shortest cycle through the first stop that has one. A cycle
// inside a loop alone does not count: it passes through the row before.
func (c *component) walk() []Step {
	inside := map[int32]bool{}
	for i := range c.stops {
		inside[int32(i)] = true
	}
	for from := range c.stops {
		var best []int32
		tried := 0
		for i, to := range c.reads[from] {
			if !c.between[from][i] || best != nil && tried >= mostTried {
				continue
			}
			tried++
			found := c.back(int32(from), to, inside)
			if found != nil && (best == nil || len(found) < len(best)) {
				best = found
			}
		}
		if best != nil {
			return c.steps(best)
		}
	}
	return nil
}

// back returns the shortest path from one stop to another and back.
func (c *component) back(from, to int32, inside map[int32]bool) []int32 {
	if from == to {
		return []int32{from, from}
	}
	next := func(v int32) []int32 {
		if v == from {
			return []int32{to}
		}
		return c.reads[v]
	}
	return circle(from, next, inside)
}

func (c *component) steps(walk []int32) []Step {
	var out []Step
	for _, n := range walk {
		switch s := c.stops[n]; {
		case s.cell != nil:
			out = append(out, c.b.step(s.cell.Name, &s.cell.Quantity))
		case s.column != nil:
			out = append(out, c.b.columnStep(s.column))
		default:
			out = append(out, c.b.untilStep(s.until))
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
