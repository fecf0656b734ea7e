package program

import "gearleaf/sheet/program/code"

// Part is what a set of givens reaches, as code that runs as a whole.
type Part struct {
	Steps []code.Step
	Tasks []int // those reached, the givens among them, in order
	slots int32
}

// PartOf returns what givens, as tasks, reach.
func (p *Program) PartOf(givens []int) *Part {
	part := &Part{Tasks: p.Graph().Reach(givens)}
	reached := make([]bool, len(p.Tasks))
	for _, i := range part.Tasks {
		reached[i] = true
	}
	part.Steps = p.sheet.Steps(func(i int32) bool { return reached[i] })
	for i := range part.Steps {
		part.slots = max(part.slots, part.Steps[i].Slots)
	}
	return part
}

// RunPart computes a part, after a Run and changes of the part's givens alone.
func (mc *Machine) RunPart(part *Part) {
	mc.widen(part.slots)
	mc.stats, mc.watch, mc.explained = len(part.Tasks), false, nil
	mc.take(part.Steps)
	mc.dirty.clear()
}

// widen makes room for so many registers of the frame.
func (mc *Machine) widen(slots int32) {
	if more := len(mc.p.Initial) + int(slots) - len(mc.r); more > 0 {
		mc.r = append(mc.r, make([]float64, more)...)
	}
}

// Register returns the value of a register that is not of the frame, Column
// the entries of a column, those behind the live rows too, and LiveRows how
// many rows of a table are live and how it ended: 0 as it should, 1 never, 2 by
// a fault. Compiled code takes over from them what it does not compute.
func (mc *Machine) Register(r int) float64 { return mc.r[r] }

// Column is explained at Register.
func (mc *Machine) Column(i int) []float64 { return mc.columns[i] }

// LiveRows is explained at Register.
func (mc *Machine) LiveRows(table int) (rows, end int) {
	l := mc.live[table]
	return int(l.rows), int(l.end)
}
