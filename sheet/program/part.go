package program

import (
	"slices"

	"gearleaf/sheet/graph"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// Part is the dependents of a set of givens, as code that runs as a whole.
type Part struct {
	Steps []code.Step
	Tasks []int // the dependents and the givens, in order
	slots int32
}

// PartOf returns the dependents of givens, as tasks, without advices: nothing
// depends on an advice, and many scenarios need none.
func (p *Program) PartOf(givens []int) *Part {
	return p.part(slices.DeleteFunc(p.Graph().Reach(givens), func(i int) bool { return p.Graph().Task(i).Kind == graph.AdviceTask }))
}

func (p *Program) part(tasks []int) *Part {
	part := &Part{Tasks: tasks}
	reached := make([]bool, len(p.Tasks))
	for _, i := range part.Tasks {
		reached[i] = true
	}
	part.Steps = p.sheet.Steps(func(i int32) bool { return reached[i] }, lower.ForMachine)
	for i := range part.Steps {
		part.slots = max(part.slots, part.Steps[i].Slots)
	}
	return part
}

// RunPart computes a part, after a Run and changes of the part's givens alone.
func (mc *Machine) RunPart(part *Part) {
	mc.widen(part.slots)
	mc.stats, mc.explained = len(part.Tasks), nil
	mc.take(part.Steps)
	mc.dirty.clear()
}

// widen makes the frame at least slots registers long.
func (mc *Machine) widen(slots int32) {
	if more := len(mc.p.Initial) + int(slots) - len(mc.r); more > 0 {
		mc.r = append(mc.r, make([]float64, more)...)
	}
}
