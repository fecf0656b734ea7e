// Package program computes a checked sheet fast: formulas become a flat list
// of register instructions, each run over a column of lanes.
//
// A lane is one scenario of a machine that holds many, or one row of a table
// whose rows do not lean on one another. What differs from lane to lane is
// found when givens are set: everything else is computed once and enters as
// a scalar. Every way of running gives the same bits: the same kernels are
// applied to the same operands, in an order that does not matter.
package program

import (
	"sync"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
)

// Options change how a sheet is compiled, never what it computes.
type Options struct {
	// Plain turns off everything that shares or saves work: folding of
	// constants, values used twice, what stays the same from row to row.
	// Tests compare the two.
	Plain bool
}

// Program is a compiled sheet. It never changes; machines run it.
type Program struct {
	m     *check.Model
	g     *graph.Graph
	plain bool

	code  []instr
	tasks []task
	// initial is the value that each global register starts with: a
	// constant, or a given. Registers from len(initial) on are the frame,
	// which each task uses afresh.
	initial []float64
	frame   int

	cellReg []int32 // the register of each cell
	// cellTask and columnTask are the tasks of cells and columns.
	cellTask, columnTask []int32
	columns              []columnPlan
	curves               []curvePlan
	verdicts             []verdict // limits, then advices
	ofCurve              [][]int32 // the curves that read each column

	constants constants
	steady    struct { // what a Run does where no lane differs
		sync.Once
		steps []step
	}
}

// columnPlan is a column's shape. Behind the model's columns stand those of
// conditions over the rows of a table.
type columnPlan struct {
	table    int32
	rows     int
	computed bool // not given: rows past the live ones are not its own
}

// curvePlan is a pair of columns that look-ups of one form read.
type curvePlan struct {
	xs, ys int32
	form   kernel.LookupForm
}

// verdict is where a limit or an advice leaves its outcome: registers of its
// truth and of the row that decided it, from 0; no row is -1.
type verdict struct{ value, row int32 }

// task is the code of one task of the graph, which has the same number. A large
// sheet has a million scalars: what only a table's tasks have stands apart.
type task struct {
	kind  taskKind
	reg   int32 // scalars and verdicts: the result
	slots int32 // how much of the frame it uses
	// body is run for each row behind those of pre and first; a scalar has
	// nothing else.
	body code
	*tabled
}

// tabled is what a task of a table has. Tasks without one share alone.
type tabled struct {
	// pre is run once, first for the first row of a table (empty where it is
	// like any other).
	pre, first code
	row        int32 // verdicts over a table: the row
	column     int32 // columns, and verdicts over a table
	table      int32 // the table it belongs to, -1 for none
	until      int32 // register of a loop's condition, noReg for none
	loop       []looped
}

// alone is the table of tasks that have none; it is never written.
var alone = &tabled{row: noReg, column: -1, table: -1, until: noReg}

// taskKind says how a task is run.
type taskKind uint8

const (
	givenCell taskKind = iota
	givenColumn
	scalarTask  // a computed cell, a limit or an advice on scalars
	columnTask  // a column whose rows stand alone
	loopTask    // columns computed row by row
	verdictTask // a limit or an advice over the rows of a table
)

// code is a range of Program.code.
type code struct{ from, to int32 }

func (c code) empty() bool { return c.from == c.to }

// noReg is no register.
const noReg = -1 << 30

// looped is a column of a loop: where its code leaves the row's value, and
// where that stands while the next row is computed (noReg if nothing asks).
type looped struct{ column, now, before int32 }

// Graph returns the graph that p was compiled from.
func (p *Program) Graph() *graph.Graph { return p.g }

// Model returns the checked sheet that p was compiled from.
func (p *Program) Model() *check.Model { return p.m }

// Compile makes the program of a checked sheet without errors and cycles.
func Compile(m *check.Model, g *graph.Graph, opt Options) *Program {
	p := &Program{m: m, g: g, plain: opt.Plain, initial: []float64{junk}}
	p.layColumns()
	p.cellReg = make([]int32, len(m.Cells))
	p.listTasks()
	p.verdicts = make([]verdict, len(m.Limits)+len(m.Advices))
	advices := make(map[*check.Advice]int, len(m.Advices))
	for i, a := range m.Advices {
		advices[a] = len(m.Limits) + i
	}
	c := newCompiler(p)
	p.tasks = make([]task, g.Len())
	for i := range p.tasks {
		switch t := g.Task(i); t.Kind {
		case graph.CellTask:
			p.tasks[i] = c.cell(t.Cell)
		case graph.ColumnTask:
			p.tasks[i] = c.column(t.Column)
		case graph.LoopTask:
			p.tasks[i] = c.loop(t.Table)
		case graph.LimitTask:
			p.tasks[i] = c.verdict(t.Limit.Index, t.Limit.Table, t.Limit.Cond)
		case graph.AdviceTask:
			p.tasks[i] = c.verdict(advices[t.Advice], ownerTable(t.Advice), t.Advice.Cond)
		}
	}
	p.constants = constants{c.f.pool, c.f.poolAt, c.f.poolReg, c.f.curveAt}
	p.placeFrame()
	p.placeTasks()
	p.listCurves()
	return p
}

func (p *Program) listTasks() {
	p.cellTask, p.columnTask = p.g.CellTasks(), make([]int32, len(p.m.Columns))
	for i, c := range p.m.Columns {
		p.columnTask[i] = int32(p.g.TaskOf(c))
	}
}

// ownerTable is the table over whose rows an advice holds, nil for a cell's.
func ownerTable(a *check.Advice) *check.Table {
	if a.Column == nil {
		return nil
	}
	return a.Column.Table
}

func (p *Program) layColumns() {
	for _, c := range p.m.Columns {
		p.columns = append(p.columns, columnPlan{table: int32(c.Table.Index), rows: c.Table.Rows, computed: !c.Given})
	}
}

// place gives a register of the frame, negative while code is made, its
// number behind the global ones.
func (p *Program) place(r *int32) {
	if *r < 0 && *r != noReg {
		*r = int32(len(p.initial)) + ^*r
	}
}

// placeFrame places the registers of all code.
func (p *Program) placeFrame() {
	for i := range p.code {
		in := &p.code[i]
		p.place(&in.dst)
		in.operands(p.place)
		if ops[in.op].d == kept {
			p.place(&in.d)
		}
	}
}

// placeTasks places those that tasks name.
func (p *Program) placeTasks() {
	for i := range p.tasks {
		t := &p.tasks[i]
		p.place(&t.until)
		for j := range t.loop {
			p.place(&t.loop[j].now)
			p.place(&t.loop[j].before)
		}
	}
}

// listCurves notes which curves read each column.
func (p *Program) listCurves() {
	p.ofCurve = make([][]int32, len(p.columns))
	for i, c := range p.curves {
		p.ofCurve[c.xs] = append(p.ofCurve[c.xs], int32(i))
		if c.ys != c.xs {
			p.ofCurve[c.ys] = append(p.ofCurve[c.ys], int32(i))
		}
	}
}
