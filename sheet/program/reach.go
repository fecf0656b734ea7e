package program

import "slices"

// The scalars that one given reaches are compiled together when it has been
// changed for the second time. Running all of them takes less than finding
// out, one by one, which need not run. Where they are very many, the steps of
// a Run that have any of them are taken instead.

// fewest is how many tasks a given must reach for that.
const fewest = 16

// reach is what an update does when one given has moved.
type reach struct {
	tasks []int32   // in order
	regs  []int32   // where each has its value
	old   []float64 // what stood there, or in all registers from first on
	first int32     // noReg where old has theirs alone
	steps []step    // nil until it is worth while, and where there cannot be any
	never bool
}

// reached returns the reach of the one given that has moved; nil where
// several have, and where the update had better go from task to task.
func (mc *Machine) reached() *reach {
	given := mc.dirty.only()
	if given < 0 || mc.p.plain || mc.lanes > 1 {
		return nil
	}
	r := mc.reaches[given]
	switch {
	case r == nil:
		if mc.reaches == nil {
			mc.reaches = map[int32]*reach{}
		}
		mc.reaches[given] = &reach{}
		return nil
	case r.never:
		return nil
	case r.steps == nil && !mc.compileReach(given, r):
		r.never = true
		return nil
	}
	return r
}

// compileReach makes the code of what a given reaches, where that is scalars
// alone, and neither few nor very many.
func (mc *Machine) compileReach(given int32, r *reach) bool {
	p := mc.p
	for _, i := range p.g.Reach([]int{int(given)})[1:] {
		t := &p.tasks[i]
		if t.kind != scalarTask {
			return false
		}
		r.tasks, r.regs = append(r.tasks, int32(i)), append(r.regs, t.reg)
	}
	if len(r.tasks) < fewest {
		return false
	}
	r.steps = p.reachSteps(r.tasks)
	for i := range r.steps {
		mc.makeFrame(int(r.steps[i].slots))
	}
	r.makeOld()
	return true
}

// nearRegisters is how many registers are rather copied in a row, with some
// that do not matter, than one by one.
const nearRegisters = 4096

// makeOld makes room for what stands in the registers before an update.
func (r *reach) makeOld() {
	n := len(r.regs)
	r.first = slices.Min(r.regs)
	if size := int(slices.Max(r.regs)-r.first) + 1; size <= nearRegisters && size <= 4*n {
		r.old = make([]float64, size)
		return
	}
	r.first, r.old = noReg, make([]float64, n)
}

// remember takes down what stands in the registers now.
func (r *reach) remember(now []float64) {
	if r.first == noReg {
		for i, reg := range r.regs {
			r.old[i] = now[reg]
		}
		return
	}
	copy(r.old, now[r.first:])
}

// moved appends the tasks whose value has moved since.
func (r *reach) moved(list []int, now []float64) []int {
	old := r.old
	if r.first == noReg {
		for i, reg := range r.regs {
			if !same(old[i], now[reg]) {
				list = append(list, int(r.tasks[i]))
			}
		}
		return list
	}
	now = now[r.first:][:len(old)]
	for i, reg := range r.regs {
		if at := reg - r.first; !same(old[at], now[at]) {
			list = append(list, int(r.tasks[i]))
		}
	}
	return list
}

// reachSteps are the steps that compute tasks, all of them scalars.
func (p *Program) reachSteps(tasks []int32) []step {
	if code, slots, ok := p.joint(tasks); ok {
		return []step{{code: code, slots: slots, task: -1}}
	}
	l := layout{p: p, scalars: slices.Clone(tasks)}
	l.flush()
	return l.steps
}

// updateReach runs the code of a reach and returns what has moved.
func (mc *Machine) updateReach(r *reach) []int {
	mc.changed = append(mc.changed, int(mc.dirty.next()))
	r.remember(mc.r)
	mc.b.watch = false
	mc.take(r.steps)
	mc.changed = r.moved(mc.changed, mc.r)
	mc.stats = len(r.tasks)
	return mc.changed
}
