package program

import (
	"maps"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
)

// Scalars that are computed one after the other are compiled together where
// a machine knows that they will be: what two cells have in common is made
// once, and a value on its way from cell to cell need not be fetched. The
// code of single tasks stays for updates that stop on the way.

// jointTasks bounds how many tasks are compiled together: their values are all
// searched, and on a large sheet that would take long.
const jointTasks = 4096

// constants is what a program knows of constants and curves when it has been
// compiled: joint code adds none.
type constants struct {
	pool    []float64
	poolAt  map[uint64]int32
	poolReg []int32
	curveAt map[curvePlan]int32
}

// joint returns code that computes the scalars among tasks, in their order,
// and how much of the frame it uses; ok is false where it cannot be made.
func (p *Program) joint(tasks []int32) (code []instr, slots int32, ok bool) {
	if p.plain || len(tasks) > jointTasks {
		return nil, 0, false
	}
	q := &Program{m: p.m, g: p.g, cellReg: p.cellReg, columns: p.columns, curves: slices.Clip(p.curves), initial: slices.Clip(p.initial)}
	c := &compiler{p: q, f: &formula{
		p: q, pool: slices.Clone(p.constants.pool), poolReg: slices.Clone(p.constants.poolReg),
		poolAt: maps.Clone(p.constants.poolAt), curveAt: maps.Clone(p.constants.curveAt),
		local: map[int32]ref{}, visited: map[check.NodeID]ref{},
	}}
	c.begin(false)
	for _, i := range tasks {
		c.include(p.g.Task(int(i)), p.tasks[i].reg)
	}
	t := task{tabled: alone}
	c.lower(&t)
	if len(q.initial) != len(p.initial) || len(q.curves) != len(p.curves) {
		return nil, 0, false // a constant without a register
	}
	q.placeFrame()
	return q.code, t.slots, true
}

// include adds the formula of a scalar to joint code. Formulas that follow
// read the value itself, wherever it stands.
func (c *compiler) include(t graph.Task, reg int32) {
	var v ref
	switch t.Kind {
	case graph.CellTask:
		v = c.f.own(t.Cell.Formula)
		c.f.local[t.Cell.Index] = v
	case graph.LimitTask:
		v = c.f.own(t.Limit.Cond)
	case graph.AdviceTask:
		v = c.f.own(t.Advice.Cond)
	}
	c.results = append(c.results, result{from: v, to: reg, at: body})
}

// own is the value of a formula as an operation of its own: a copy, where it
// is nothing but a constant or another cell.
func (f *formula) own(node check.NodeID) ref {
	v := f.node(node)
	if v.kind() == toValue {
		return v
	}
	return f.emit(node, opMove, int32(v), 0, 0)
}

// step is a part of a Run: code of scalars or, where task is not negative, a
// task.
type step struct {
	code  []instr
	slots int32
	task  int32
}

// steadySteps are the steps of a machine in which no lane differs. They are
// made once, for whichever machine needs them first.
func (p *Program) steadySteps() []step {
	p.steady.Do(func() { p.steady.steps = p.steps(func(int32) bool { return true }) })
	return p.steady.steps
}

// steps lays out the tasks that are asked for, scalars that follow on one
// another together.
func (p *Program) steps(asked func(task int32) bool) []step {
	l := layout{p: p}
	for i := range p.tasks {
		switch t := &p.tasks[i]; {
		case t.kind == givenCell || t.kind == givenColumn || !asked(int32(i)):
		case t.kind == scalarTask:
			l.scalars = append(l.scalars, int32(i))
		default:
			l.flush()
			l.steps = append(l.steps, step{task: int32(i), slots: t.slots})
		}
	}
	l.flush()
	return l.steps
}

// layout is steps in the making; scalars wait for those that follow.
type layout struct {
	p       *Program
	steps   []step
	scalars []int32
}

// flush adds steps for the scalars that wait: joint code or, where there is
// none, their own, which mostly lies in a row.
func (l *layout) flush() {
	tasks := l.scalars
	l.scalars = l.scalars[:0]
	if len(tasks) == 0 {
		return
	}
	if code, slots, ok := l.p.joint(tasks); ok {
		l.steps = append(l.steps, step{code: code, slots: slots, task: -1})
		return
	}
	for i := 0; i < len(tasks); {
		t := &l.p.tasks[tasks[i]]
		from, to, slots := t.body.from, t.body.to, t.slots
		for i++; i < len(tasks) && l.p.tasks[tasks[i]].body.from == to; i++ {
			to, slots = l.p.tasks[tasks[i]].body.to, max(slots, l.p.tasks[tasks[i]].slots)
		}
		l.steps = append(l.steps, step{code: l.p.code[from:to], slots: slots, task: -1})
	}
}
