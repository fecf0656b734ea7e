package program

import (
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// Part is the code of some tasks of a sheet: of all, or of the dependents of a
// set of givens. Its scalars are lowered together: computing all of them takes
// less time than checking which ones changed.
type Part struct {
	Tasks []int // in evaluation order
	Steps []code.Step
	slots int32 // the part of the frame it uses
}

// Part returns the code of tasks, which are in evaluation order.
func (p *Program) Part(tasks []int) *Part {
	asked := make([]bool, len(p.Tasks))
	for _, i := range tasks {
		asked[i] = true
	}
	part := &Part{Tasks: tasks, Steps: p.sheet.Steps(func(i int32) bool { return asked[i] }, lower.ForMachine)}
	for i := range part.Steps {
		part.slots = max(part.slots, part.Steps[i].Slots)
	}
	return part
}

// all returns the whole sheet as a part.
func (p *Program) all() *Part {
	tasks := make([]int, len(p.Tasks))
	for i := range tasks {
		tasks[i] = i
	}
	return p.Part(tasks)
}

// Run computes everything.
func (mc *Machine) Run() { mc.RunPart(mc.p.whole()) }

// RunPart computes a part. Everything else that it reads must have been
// computed, and be unchanged since.
func (mc *Machine) RunPart(part *Part) {
	mc.explained = nil
	mc.widen(part.slots)
	for i := range part.Steps {
		if s := &part.Steps[i]; s.Task < 0 {
			mc.exec(s.Code, 0)
		} else {
			mc.task(&mc.p.Tasks[s.Task])
		}
	}
}

// widen makes the frame at least slots registers long.
func (mc *Machine) widen(slots int32) {
	if more := len(mc.p.Initial) + int(slots) - len(mc.r); more > 0 {
		mc.r = append(mc.r, make([]float64, more)...)
	}
}

// task runs a task of a table.
func (mc *Machine) task(t *code.Task) {
	if t.Kind == code.LoopTask {
		mc.loop(t)
		return
	}
	mc.column(t)
	if t.Kind == code.VerdictTask {
		mc.judge(t)
	}
}
