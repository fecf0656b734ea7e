package program

import "gearleaf/sheet/program/code"

// The scalars that one given reaches are lowered together when it changes for
// the second time: the update plan of that given. Running all of them takes
// less than finding out, one by one, which need not run.

// fewest is how many tasks a given must reach for a plan.
const fewest = 16

// plan is what an update does when one given has changed.
type plan struct {
	tasks []int32   // in order
	regs  []int32   // the register of each
	old   []float64 // their values before
	steps []code.Step
	never bool // no plan can be made
}

// planned returns the plan for the one given that has changed; nil where
// several have, and where the update has to go from task to task.
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
	case p.steps == nil && !mc.lowerPlan(given, p):
		p.never = true
		return nil
	}
	return p
}

// lowerPlan makes the code of what a given reaches, if that is scalars alone
// and not few.
func (mc *Machine) lowerPlan(given int32, p *plan) bool {
	for _, i := range mc.p.Graph().Reach([]int{int(given)})[1:] {
		t := &mc.p.Tasks[i]
		if t.Kind != code.ScalarTask {
			return false
		}
		p.tasks, p.regs = append(p.tasks, int32(i)), append(p.regs, t.Reg)
	}
	if len(p.tasks) < fewest {
		return false
	}
	p.steps = mc.p.sheet.ScalarSteps(p.tasks)
	for i := range p.steps {
		mc.widen(p.steps[i].Slots)
	}
	p.old = make([]float64, len(p.regs))
	return true
}

// remember copies the registers as they are now.
func (p *plan) remember(now []float64) {
	for i, reg := range p.regs {
		p.old[i] = now[reg]
	}
}

// changed appends the tasks whose value has changed since.
func (p *plan) changed(list []int, now []float64) []int {
	for i, reg := range p.regs {
		if !same(p.old[i], now[reg]) {
			list = append(list, int(p.tasks[i]))
		}
	}
	return list
}

// follow runs a plan and returns what has changed.
func (mc *Machine) follow(p *plan) []int {
	mc.changed = append(mc.changed, int(mc.dirty.next()))
	p.remember(mc.r)
	mc.watch = false
	mc.take(p.steps)
	mc.changed = p.changed(mc.changed, mc.r)
	mc.stats = len(p.tasks)
	return mc.changed
}
