package program

import "gearleaf/sheet/program/code"

// Run computes everything.
func (mc *Machine) Run() {
	mc.stats, mc.explained = len(mc.p.Tasks), nil
	mc.take(mc.p.steps())
	mc.dirty.clear()
	mc.ran = true
}

// take runs steps.
func (mc *Machine) take(steps []code.Step) {
	for i := range steps {
		if s := &steps[i]; s.Task < 0 {
			mc.exec(s.Code, 0)
		} else {
			mc.task(&mc.p.Tasks[s.Task])
		}
	}
}

// Update computes the dependents of the givens set since the last Run or
// Update, and stops where a value has not changed. It returns the tasks whose
// value changed, including givens; the slice is valid until the next call.
func (mc *Machine) Update() []int {
	if !mc.ran {
		return mc.runAll()
	}
	mc.changed, mc.stats, mc.explained = mc.changed[:0], 0, nil
	if p := mc.planned(); p != nil {
		return mc.follow(p)
	}
	for i := mc.dirty.next(); i >= 0; i = mc.dirty.next() {
		if t := &mc.p.Tasks[i]; t.Kind != code.GivenCell && t.Kind != code.GivenColumn { // a given is in the set only if it changed
			if mc.stats++; !mc.task(t) {
				continue
			}
		}
		mc.changed = append(mc.changed, int(i))
		for _, f := range mc.p.Graph().FeedsOf(int(i)) {
			mc.dirty.add(f)
		}
	}
	return mc.changed
}

// runAll is an Update before the first Run: everything changes.
func (mc *Machine) runAll() []int {
	mc.Run()
	mc.changed = mc.changed[:0]
	for i := range mc.p.Tasks {
		mc.changed = append(mc.changed, i)
	}
	return mc.changed
}

// task runs one task and reports whether its value changed.
func (mc *Machine) task(t *code.Task) bool {
	switch t.Kind {
	case code.ScalarTask:
		old := mc.r[t.Reg]
		mc.exec(mc.p.Code(t.Body), 0)
		return !same(old, mc.r[t.Reg])
	case code.ColumnTask:
		return mc.column(t)
	case code.LoopTask:
		return mc.loop(t)
	case code.VerdictTask:
		mc.column(t)
		return mc.judge(t)
	}
	return false
}
