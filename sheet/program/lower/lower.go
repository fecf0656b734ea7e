// Package lower turns a checked sheet into its compiled form, package code.
//
// Formulas become values, with calls inlined; constants are folded, and common
// subexpressions are shared. Values become instructions over registers. A plain
// lowering shares nothing: tests compare the two.
package lower

import (
	"slices"
	"sync"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// Sheet is a lowered sheet. It is immutable.
type Sheet struct {
	Code  *code.Program
	Graph *graph.Graph
	plain bool

	constants *constants
	index     sync.Once // of poolAt
}

// Lower lowers a checked sheet without errors and cycles. If plain is set,
// nothing is shared, folded or fused.
func Lower(m *check.Model, g *graph.Graph, plain bool) *Sheet {
	p := &code.Program{
		Model: m, Cells: make([]int32, len(m.Cells)), Tasks: make([]code.Task, g.Len()),
		Instrs: make([]code.Instr, 0, len(m.Nodes)/2), Initial: make([]float64, 1, 1+2*len(m.Cells)), // most sheets need less
	}
	k := &constants{poolAt: map[uint64]int32{}, curveAt: map[code.CurvePlan]int32{}}
	s := &Sheet{Code: p, Graph: g, plain: plain, constants: k}
	for _, c := range m.Columns {
		p.Columns = append(p.Columns, code.ColumnPlan{Table: int32(c.Table.Index), Rows: c.Table.Rows, Computed: !c.Given})
	}
	p.Verdicts = make([]code.Verdict, len(m.Limits)+len(m.Advices))
	c := newCompiler(p, k, plain)
	c.tasks(g)
	k.poolAt = nil // takes memory; the first code block makes it again
	placeFrame(p, p.Instrs)
	placeTasks(p)
	p.Instrs, p.Initial = slices.Clone(p.Instrs), slices.Clone(p.Initial) // without unused capacity
	return s
}

// tasks lowers every task of the graph.
func (c *compiler) tasks(g *graph.Graph) {
	m := c.p.Model
	advices := make(map[*check.Advice]int, len(m.Advices))
	for i, a := range m.Advices {
		advices[a] = len(m.Limits) + i
	}
	for i := 0; i < g.Len(); {
		var scalars []int32
		for ; i < g.Len() && isScalar(g.Task(i)); i++ {
			scalars = append(scalars, int32(i))
		}
		if !c.f.plain {
			scalars = arranged(g, m, scalars)
		}
		for _, k := range scalars {
			c.p.Tasks[k] = c.task(g.Task(int(k)), advices)
		}
		if i < g.Len() {
			c.p.Tasks[i] = c.task(g.Task(i), advices)
			i++
		}
	}
}

// isScalar reports whether a task computes one value or is a given scalar.
func isScalar(t graph.Task) bool {
	switch t.Kind {
	case graph.CellTask:
		return true
	case graph.LimitTask:
		return t.Limit.Table == nil
	case graph.AdviceTask:
		return AdviceTable(t.Advice) == nil
	}
	return false
}

// formulaOf is the formula of a scalar task, 0 for a given.
func formulaOf(t graph.Task) check.NodeID {
	switch t.Kind {
	case graph.CellTask:
		return t.Cell.Formula
	case graph.LimitTask:
		return t.Limit.Cond
	}
	return t.Advice.Cond
}

// task lowers one task; advices are the verdicts of advices.
func (c *compiler) task(t graph.Task, advices map[*check.Advice]int) code.Task {
	switch t.Kind {
	case graph.CellTask:
		return c.cell(t.Cell)
	case graph.ColumnTask:
		return c.column(t.Column)
	case graph.LoopTask:
		return c.loop(t.Table)
	case graph.LimitTask:
		return c.verdict(t.Limit.Index, t.Limit.Table, t.Limit.Cond)
	}
	return c.verdict(advices[t.Advice], AdviceTable(t.Advice), t.Advice.Cond)
}

// AdviceTable is the table whose rows an advice is about, nil for a cell's.
func AdviceTable(a *check.Advice) *check.Table {
	if a.Column == nil {
		return nil
	}
	return a.Column.Table
}

func (c *compiler) cell(cell *check.Cell) code.Task {
	reg := c.global(cell.Value)
	c.p.Cells[cell.Index] = reg
	if cell.Given {
		return code.Task{Kind: code.GivenCell, Reg: reg, Tabled: code.NoTable}
	}
	c.p.Initial[reg] = kernel.Fault
	return c.scalar(reg, cell.Formula)
}

func (c *compiler) scalar(reg int32, node check.NodeID) code.Task {
	c.begin(false)
	c.out(node, reg)
	t := code.Task{Kind: code.ScalarTask, Reg: reg, Tabled: code.NoTable}
	c.assign(&t)
	return t
}

func (c *compiler) column(col *check.Column) code.Task {
	t := code.Task{Kind: code.GivenColumn, Tabled: tabled(col.Table)}
	t.Column = col.Index
	if !col.Given {
		t.Kind = code.ColumnTask
		c.rows(&t, col.Formula, col.Start)
	}
	return t
}

func tabled(t *check.Table) *code.Tabled {
	return &code.Tabled{Table: int32(t.Index), Column: -1, RowReg: code.NoReg, Until: code.NoReg}
}

// rows lowers a column's formulas; the value of a row goes to the first
// register of the frame.
func (c *compiler) rows(t *code.Task, formula, start check.NodeID) {
	c.begin(true)
	to := c.pin()
	if start != 0 {
		c.f.enter(first)
		c.out(start, to)
	}
	c.f.enter(body)
	c.out(formula, to)
	c.assign(t)
}

func (c *compiler) verdict(index int, over *check.Table, cond check.NodeID) code.Task {
	value, row := c.global(kernel.Fault), c.global(-1)
	c.p.Verdicts[index] = code.Verdict{Value: value, Row: row}
	if over == nil {
		return c.scalar(value, cond)
	}
	c.p.Columns = append(c.p.Columns, code.ColumnPlan{Table: int32(over.Index), Rows: over.Rows, Computed: true})
	t := code.Task{Kind: code.VerdictTask, Reg: value, Tabled: tabled(over)}
	t.RowReg, t.Column = row, int32(len(c.p.Columns)-1)
	c.rows(&t, cond, 0)
	return t
}

// loop lowers the looped columns of a table and its condition.
func (c *compiler) loop(table *check.Table) code.Task {
	c.begin(true)
	t := code.Task{Kind: code.LoopTask, Tabled: tabled(table)}
	f := c.f
	f.loop, f.before = table, map[int32]Ref{}
	for _, col := range table.Loop { // first the current row's registers, then those of the row before
		t.Loop = append(t.Loop, code.Looped{Column: col.Index, Now: c.pin()})
	}
	for i := range t.Loop {
		l := &t.Loop[i]
		l.Before = c.pin()
		f.before[l.Column] = makeRef(InRegister, l.Before)
	}
	if table.Until != 0 {
		t.Until = c.pin()
	}
	for _, at := range []section{first, body} {
		c.row(&t, table, at)
	}
	c.assign(&t)
	c.dropUnread(&t)
	return t
}

// row lowers one row of a loop, the first or any later one.
func (c *compiler) row(t *code.Task, table *check.Table, at section) {
	f := c.f
	f.enter(at)
	f.now = map[int32]Ref{}
	for i, col := range table.Loop {
		node := col.Formula
		if at == first && col.Start != 0 {
			node = col.Start
		}
		f.now[t.Loop[i].Column] = f.node(node)
		c.results = append(c.results, result{from: f.now[t.Loop[i].Column], to: t.Loop[i].Now, at: at})
	}
	if table.Until != 0 {
		c.out(table.Until, t.Until)
	}
}

// dropUnread marks the columns whose value in the row before no code reads, so
// it is not kept.
func (c *compiler) dropUnread(t *code.Task) {
	read := map[int32]bool{}
	for _, in := range c.p.Instrs[t.Once.From:t.Body.To] {
		in.Registers(func(at *int32) { read[*at] = true })
	}
	for i := range t.Loop {
		if !read[t.Loop[i].Before] {
			t.Loop[i].Before = code.NoReg
		}
	}
}

// place gives a register of the frame, which is negative while code is made,
// its number after the global ones.
func place(p *code.Program, r *int32) {
	if *r < 0 && *r != code.NoReg {
		*r = int32(len(p.Initial)) + ^*r
	}
}

// placeFrame places the registers of instructions.
func placeFrame(p *code.Program, instrs []code.Instr) {
	for i := range instrs {
		in := &instrs[i]
		place(p, &in.Dst)
		in.Registers(func(at *int32) { place(p, at) })
		if code.Ops[in.Op].D == code.Between {
			place(p, &in.D)
		}
	}
}

// placeTasks places the registers that tasks name.
func placeTasks(p *code.Program) {
	for i := range p.Tasks {
		t := &p.Tasks[i]
		if t.Tabled == code.NoTable {
			continue
		}
		place(p, &t.Until)
		for j := range t.Loop {
			place(p, &t.Loop[j].Now)
			place(p, &t.Loop[j].Before)
		}
	}
}
