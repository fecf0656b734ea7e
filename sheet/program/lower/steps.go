package lower

import (
	"cmp"
	"math"
	"slices"

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

// block returns code that computes scalars, together of them sorted at a time.
// Each of its values is also a value of a single task, so its constants have
// registers.
func (s *Sheet) block(tasks []int32, together int) code.Step {
	s.index.Do(s.constants.index)
	p := &code.Program{
		Model: s.Code.Model, Cells: s.Code.Cells, Columns: s.Code.Columns,
		Curves: slices.Clip(s.Code.Curves), Initial: slices.Clip(s.Code.Initial),
	}
	c := newCompiler(p, s.constants, false)
	c.together, c.f.local = together, map[int32]Ref{}
	c.begin(false)
	for _, i := range tasks {
		c.include(s.Graph.Task(int(i)), s.Code.Tasks[i].Reg)
	}
	t := code.Task{Tabled: code.NoTable}
	c.assign(&t)
	if len(p.Initial) > len(s.Code.Initial) {
		panic("lower: a code block has a constant that no task has")
	}
	placeFrame(p, p.Instrs)
	return code.Step{Task: -1, Code: p.Instrs, Slots: int32(p.Frame)}
}

// index makes poolAt.
func (k *constants) index() {
	k.poolAt = make(map[uint64]int32, len(k.pool))
	for i, v := range k.pool {
		k.poolAt[math.Float64bits(v)] = int32(i)
	}
}

// include adds the formula of a scalar to a code block. Later formulas read the
// value itself, whatever its register.
func (c *compiler) include(t graph.Task, reg int32) {
	v := c.f.own(formulaOf(t))
	if t.Kind == graph.CellTask {
		c.f.local[t.Cell.Index] = v
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

// addScalars adds steps for scalars: a code block or, if they are too many, their
// own code, which for adjacent tasks is one range.
func (s *Sheet) addScalars(steps []code.Step, tasks []int32, together int) []code.Step {
	if len(tasks) == 0 {
		return steps
	}
	if !s.plain && len(tasks) <= blockTasks {
		return append(steps, s.block(tasks, together))
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
