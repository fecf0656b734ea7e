package program

import (
	"fmt"
	"math/rand/v2"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// guess makes random sheets: every operation, tables of every sort, values
// that divide by zero, run off ends and never end.
type guess struct {
	*sketch
	r *rand.Rand

	cells   []*check.Cell
	columns []*check.Column // that formulas of later cells may read whole
	here    []*check.Column // of the current table, this row
	above   []*check.Column // of the current table, the row above or below
	loop    bool
	params  int
}

func randomSheet(seed uint64) *sketch {
	g := &guess{sketch: newSketch(), r: rand.New(rand.NewPCG(seed, 7))}
	g.functions()
	for range 2 + g.r.IntN(3) {
		g.cells = append(g.cells, g.given(fmt.Sprint("g", len(g.cells)), g.number()))
	}
	for range 4 + g.r.IntN(10) {
		switch g.r.IntN(6) {
		case 0:
			g.plainTable()
		case 1:
			g.loopTable()
		default:
			g.cells = append(g.cells, g.cell(fmt.Sprint("c", len(g.cells)), g.formula(3)))
		}
	}
	g.judge()
	g.shuffle()
	return g.sketch
}

// number returns a value that tends to make trouble.
func (g *guess) number() float64 {
	switch g.r.IntN(12) {
	case 0:
		return 0
	case 1:
		return kernel.Blank
	case 2:
		return kernel.Fault
	case 3:
		return 1e200
	case 4:
		return -float64(g.r.IntN(4))
	}
	return float64(g.r.IntN(40)) / 4
}

func (g *guess) functions() {
	for i := range 2 {
		inst := &check.Instance{Name: fmt.Sprint("f", i)}
		g.Instances = append(g.Instances, inst)
		g.params = 2
		inst.Steps = []check.NodeID{g.formula(2)}
		inst.Result = g.op(check.Add, g.refer(check.StepRef, 0), g.formula(2))
		inst.Valids = []check.Valid{{Cond: g.condition(1)}}
		g.params = 0
	}
}

var arithmetic = []check.Op{check.Add, check.Sub, check.Mul, check.Div, check.Add, check.Mul, check.Pow}

var comparison = []check.Op{
	check.Less, check.LessEqual, check.Greater, check.GreaterEqual,
	check.Equal, check.NotEqual, check.SameText, check.NotSameText,
}

func (g *guess) formula(depth int) check.NodeID {
	if depth == 0 || g.r.IntN(8) == 0 {
		return g.leaf()
	}
	switch g.r.IntN(10) {
	case 0:
		return g.op(check.If, g.condition(depth-1), g.formula(depth-1), g.formula(depth-1))
	case 1:
		return g.op(check.Neg, g.formula(depth-1))
	case 2:
		i := g.r.IntN(len(g.Intrinsics))
		switch g.Intrinsics[i].Name {
		case "min", "max":
			return g.intrinsic(i, g.formula(depth-1), g.formula(depth-1), g.formula(1))
		case "hypot":
			return g.intrinsic(i, g.formula(depth-1), g.formula(depth-1))
		}
		return g.intrinsic(i, g.formula(depth-1))
	case 3:
		if g.params == 0 {
			return g.call(g.r.IntN(2), g.formula(depth-1), g.formula(1))
		}
	case 4:
		if whole := g.whole(depth); whole != 0 {
			return whole
		}
	case 5: // a node that two operands share
		shared := g.formula(depth - 1)
		return g.op(check.Sub, shared, g.op(check.Mul, shared, g.leaf()))
	}
	return g.op(arithmetic[g.r.IntN(len(arithmetic))], g.formula(depth-1), g.formula(depth-1))
}

func (g *guess) condition(depth int) check.NodeID {
	if depth > 0 {
		switch g.r.IntN(5) {
		case 0:
			return g.op(check.And, g.condition(depth-1), g.condition(depth-1))
		case 1:
			return g.op(check.Or, g.condition(depth-1), g.condition(depth-1))
		case 2:
			return g.op(check.Not, g.condition(depth-1))
		}
	}
	return g.op(comparison[g.r.IntN(len(comparison))], g.formula(depth), g.formula(depth))
}

// whole reads a column that is complete.
func (g *guess) whole(depth int) check.NodeID {
	if len(g.columns) == 0 || g.params > 0 {
		return 0
	}
	c := g.columns[g.r.IntN(len(g.columns))]
	switch g.r.IntN(3) {
	case 0:
		return g.index(c, g.intrinsic(2, g.formula(depth-1)))
	case 1:
		form := kernel.LookupForm(1 + g.r.IntN(5))
		of := c.Table.Columns
		return g.look(form, g.formula(depth-1), of[0], of[g.r.IntN(len(of))])
	}
	return g.reduce(kernel.Aggregate(1+g.r.IntN(7)), c)
}

func (g *guess) leaf() check.NodeID {
	switch g.r.IntN(5) {
	case 0:
		return g.num([]float64{0, 1, 2, 3, 0.5, 1.5}[g.r.IntN(6)])
	case 1:
		if g.params > 0 {
			return g.refer(check.ParamRef, g.r.IntN(g.params))
		}
		if len(g.above) > 0 {
			c := g.above[g.r.IntN(len(g.above))]
			if g.loop {
				return g.prev(c)
			}
			return g.next(c)
		}
	case 2:
		if len(g.here) > 0 {
			return g.this(g.here[g.r.IntN(len(g.here))])
		}
	case 3:
		if len(g.here) > 0 {
			return g.op(check.RowRef)
		}
	}
	if g.params > 0 {
		return g.refer(check.ParamRef, g.r.IntN(g.params))
	}
	if len(g.cells) == 0 {
		return g.num(2)
	}
	return g.cellRef(g.cells[g.r.IntN(len(g.cells))])
}

// leave ends the current table.
func (g *guess) leave(t *check.Table) {
	g.here, g.above, g.loop = nil, nil, false
	g.columns = append(g.columns, t.Columns...)
}

// rising is a given column fit for look-ups, more often than not.
func (g *guess) rising(t *check.Table) {
	values := make([]float64, t.Rows)
	at := 0.0
	for i := range values {
		at += float64(g.r.IntN(3))
		if values[i] = at; g.r.IntN(40) == 0 {
			values[i] = g.number()
		}
	}
	g.givenColumn(t, "x", values...)
}

func (g *guess) plainTable() {
	t := g.table(fmt.Sprint("t", len(g.Tables)), 1+g.r.IntN(6))
	if g.r.IntN(8) == 0 {
		t.Rows = 300 // more than a block
	}
	g.rising(t)
	for range 1 + g.r.IntN(4) {
		g.here = t.Columns
		g.above = t.Columns
		c := g.column(t, fmt.Sprint("p", len(t.Columns)), g.formula(3))
		if g.r.IntN(3) == 0 {
			g.here, g.above = nil, nil
			c.Start = g.formula(1)
			c.Formula = g.op(check.Sub, c.Formula, g.prev(t.Columns[0]))
		}
	}
	g.leave(t)
}

func (g *guess) loopTable() {
	t := g.table(fmt.Sprint("l", len(g.Tables)), 2+g.r.IntN(8))
	g.rising(t)
	n := 1 + g.r.IntN(4)
	for i := range n {
		c := g.column(t, fmt.Sprint("q", i), 0)
		c.Looped = true
	}
	looped := t.Columns[1:]
	g.loop = true
	for i, c := range looped {
		g.here, g.above = t.Columns[:1+i], looped
		c.Formula = g.op(check.Add, g.prev(c), g.formula(2))
		g.above = nil
		c.Start = g.formula(2)
	}
	g.here, g.above = t.Columns, nil
	if g.r.IntN(4) > 0 {
		t.Until = g.condition(1)
	}
	g.loop = false
	for i := range g.r.IntN(3) {
		g.here, g.above = t.Columns, t.Columns
		g.column(t, fmt.Sprint("after", i), g.formula(3))
	}
	g.leave(t)
}

// judge adds limits and advices, on scalars and over tables.
func (g *guess) judge() {
	for range 2 {
		g.limit(g.condition(2), nil)
		g.advice(check.Advice{Cell: g.cells[0], Cond: g.condition(2)})
	}
	for _, t := range g.Tables {
		g.here = t.Columns
		g.limit(g.condition(2), t)
		g.advice(check.Advice{Column: t.Columns[0], Cond: g.condition(2)})
	}
	g.here = nil
}

// shuffle puts the outline in an order of its own: the order of the text is
// not that of computing.
func (g *guess) shuffle() {
	var items []check.Item
	for _, c := range g.Cells {
		items = append(items, check.Item{Cell: c})
	}
	for _, t := range g.Tables {
		items = append(items, check.Item{Table: t})
	}
	g.r.Shuffle(len(items), func(i, j int) { items[i], items[j] = items[j], items[i] })
	for _, i := range items {
		g.Append(i)
	}
}

// randomCells is a random sheet of n scalars that read each other.
func randomCells(seed uint64, n int) *sketch {
	g := &guess{sketch: newSketch(), r: rand.New(rand.NewPCG(seed, 11))}
	g.functions()
	for range 3 {
		g.cells = append(g.cells, g.given(fmt.Sprint("g", len(g.cells)), g.number()))
	}
	for range n {
		g.cells = append(g.cells, g.cell(fmt.Sprint("c", len(g.cells)), g.formula(3)))
	}
	g.judge()
	return g.sketch
}
