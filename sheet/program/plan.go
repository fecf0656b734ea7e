package program

import "gearleaf/sheet/program/code"

// When a given changes for the second time, its dependent scalars are lowered
// together as its update plan. Running all of them takes less time than testing
// one by one whether each has to run.

// fewest is the least number of dependents of a given with a plan.
const fewest = 16

// plan is the update after a change of one given.
type plan struct {
	part  *Part     // the given comes first
	regs  []int32   // of the tasks after it
	old   []float64 // their values before
	never bool      // no plan can be made
}

// planned returns the plan for the single given that has changed; nil if
// several have, or if the update has to go from task to task.
func (mc *Machine) planned() *plan {
	given := mc.dirty.only()
	if given < 0 || mc.p.opt.Plain {
		return nil
	}
	p := mc.plans[given]
	switch {
	case p == nil:
		if mc.plans == nil {
			mc.plans = map[int32]*plan{}
		}
		mc.plans[given] = &plan{}
		return nil
	case p.never:
		return nil
	case p.part == nil && !mc.lowerPlan(given, p):
		p.never = true
		return nil
	}
	return p
}

// lowerPlan makes the code for the dependents of a given, if they are only
// scalars and not few.
func (mc *Machine) lowerPlan(given int32, p *plan) bool {
	part := mc.p.part(mc.p.Graph().Reach([]int{int(given)}))
	for _, i := range part.Tasks[1:] {
		t := &mc.p.Tasks[i]
		if t.Kind != code.ScalarTask {
			return false
		}
		p.regs = append(p.regs, t.Reg)
	}
	if len(p.regs) < fewest {
		return false
	}
	p.part, p.old = part, make([]float64, len(p.regs))
	return true
}

// follow runs a plan and returns the tasks that have changed.
func (mc *Machine) follow(p *plan) []int {
	for i, reg := range p.regs {
		p.old[i] = mc.r[reg]
	}
	mc.RunPart(p.part)
	mc.changed = append(mc.changed, p.part.Tasks[0])
	for i, reg := range p.regs {
		if !same(p.old[i], mc.r[reg]) {
			mc.changed = append(mc.changed, p.part.Tasks[i+1])
		}
	}
	mc.stats = len(p.regs)
	return mc.changed
}
