package lower

import (
	"cmp"
	"slices"
	"sync"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program/code"
)

// Consecutive scalars are lowered together: common subexpressions are computed
// once, and a value that the next cell reads is not loaded again. The code of
// single tasks is for updates that stop where no value changed.

// blockTasks bounds the tasks that are lowered together: all their values are
// searched, which takes long on a large sheet.
const blockTasks = 4096

// constants holds the constants and curves found in lowering the tasks. Code
// blocks add none.
type constants struct {
	pool    []float64
	poolReg []int32
	curveAt map[code.CurvePlan]int32

	index  sync.Once
	poolAt map[uint64]int32
}

// Block returns code that computes the scalars among tasks, together of them
// sorted at a time, and the part of the frame it uses; ok is false if it cannot
// be made.
func (s *Sheet) Block(tasks []int32, together int) (instrs []code.Instr, slots int32, ok bool) {
	if s.plain || len(tasks) > blockTasks {
		return nil, 0, false
	}
	k := &s.constants
	k.index.Do(func() { k.poolAt = indexOf(k.pool) })
	p := &code.Program{
		Model: s.Code.Model, Cells: s.Code.Cells, Columns: s.Code.Columns,
		Curves: slices.Clip(s.Code.Curves), Initial: slices.Clip(s.Code.Initial),
	}
	c := newCompiler(p, false)
	c.together = together
	f := c.f
	f.pool, f.poolReg, f.poolAt, f.curveAt, f.frozen, f.local = k.pool, k.poolReg, k.poolAt, k.curveAt, true, map[int32]Ref{}
	c.begin(false)
	for _, i := range tasks {
		c.include(s.Graph.Task(int(i)), s.Code.Tasks[i].Reg)
	}
	t := code.Task{Tabled: code.NoTable}
	c.assign(&t)
	if c.f.missing {
		return nil, 0, false // a constant without a register
	}
	placeFrame(p, p.Instrs)
	return p.Instrs, int32(p.Frame), true
}

// include adds the formula of a scalar to a code block. Later formulas read the
// value itself, whatever its register.
func (c *compiler) include(t graph.Task, reg int32) {
	var v Ref
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

// own is the value of a formula as an operation of its own: a copy, if it is
// only a constant or another cell.
func (f *formula) own(node check.NodeID) Ref {
	v := f.node(node)
	if v.Kind() == InValues {
		return v
	}
	return f.emit(code.Move, int32(v), 0, 0)
}

// Steps returns the steps that compute the tasks for which asked is true;
// consecutive scalars are one step. Givens have none. together is ForMachine or
// ForModule.
func (s *Sheet) Steps(asked func(task int32) bool, together int) []code.Step {
	var steps []code.Step
	var scalars []int32
	for i := range s.Code.Tasks {
		switch t := &s.Code.Tasks[i]; {
		case t.Kind == code.GivenCell || t.Kind == code.GivenColumn || !asked(int32(i)):
		case t.Kind == code.ScalarTask:
			scalars = append(scalars, int32(i))
		default:
			steps = s.addScalars(steps, scalars, together)
			scalars = scalars[:0]
			steps = append(steps, code.Step{Task: int32(i)})
		}
	}
	return s.addScalars(steps, scalars, together)
}

// addScalars adds steps for scalars: a code block or, if there is none, their
// own code, which for adjacent tasks is one range.
func (s *Sheet) addScalars(steps []code.Step, tasks []int32, together int) []code.Step {
	if len(tasks) == 0 {
		return steps
	}
	if instrs, slots, ok := s.Block(tasks, together); ok {
		return append(steps, code.Step{Task: -1, Code: instrs, Slots: slots})
	}
	slices.SortStableFunc(tasks, func(a, b int32) int { return cmp.Compare(s.Code.Tasks[a].Body.From, s.Code.Tasks[b].Body.From) })
	for i := 0; i < len(tasks); {
		t := &s.Code.Tasks[tasks[i]]
		all := t.Body
		for i++; i < len(tasks) && s.Code.Tasks[tasks[i]].Body.From == all.To; i++ {
			all.To = s.Code.Tasks[tasks[i]].Body.To
		}
		steps = append(steps, code.Step{Task: -1, Code: s.Code.Code(all)})
	}
	return steps
}
