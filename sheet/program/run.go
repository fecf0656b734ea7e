package program

import (
	"math"
	"math/bits"
)

// Run computes everything. Of a machine with several lanes, what is the same in
// all of them is computed anew only where a given that all share was set: one
// that is set for some differs from then on.
func (mc *Machine) Run() {
	if mc.replan {
		mc.plan()
	}
	mc.stats = len(mc.p.tasks)
	mc.b.watch, mc.explained = false, nil
	if mc.lanes == 1 || !mc.settled {
		mc.take(mc.once)
		mc.settled = true
	}
	for from := 0; from < mc.lanes && len(mc.several) > 0; from += blockLanes {
		for i := range mc.several {
			mc.stepBlock(&mc.several[i], from)
		}
	}
	mc.dirty.clear()
	mc.ran = true
}

// stepBlock runs a step on the block of lanes that begins at from.
func (mc *Machine) stepBlock(s *step, from int) {
	switch {
	case s.task >= 0:
		mc.runBlock(&mc.p.tasks[s.task], from)
	default:
		mc.startBlock(s.slots, from)
		mc.runCode(s.code)
	}
}

// take runs steps on which all lanes agree.
func (mc *Machine) take(steps []step) {
	for i := range steps {
		switch s := &steps[i]; {
		case s.task < 0:
			mc.scalar(s.code, 0)
		default:
			mc.runOnce(&mc.p.tasks[s.task])
		}
	}
}

// Update computes what the givens set since the last Run or Update reach,
// and stops where a value has not moved. It returns the tasks whose value
// moved, givens among them; the slice is good until the next call.
func (mc *Machine) Update() []int {
	if !mc.ran {
		return mc.runAll()
	}
	if mc.replan {
		mc.plan()
	}
	mc.changed, mc.stats, mc.b.watch = mc.changed[:0], 0, true
	mc.explained = nil
	if r := mc.reached(); r != nil {
		return mc.updateReach(r)
	}
	for i := mc.dirty.next(); i >= 0; i = mc.dirty.next() {
		if !mc.runTask(i) {
			continue
		}
		mc.changed = append(mc.changed, int(i))
		for _, f := range mc.p.g.FeedsOf(int(i)) {
			mc.dirty.add(f)
		}
	}
	return mc.changed
}

// runAll is an Update that has nothing to go by.
func (mc *Machine) runAll() []int {
	mc.Run()
	mc.changed = mc.changed[:0]
	for i := range mc.p.tasks {
		mc.changed = append(mc.changed, i)
	}
	return mc.changed
}

// runTask runs one task and reports whether its value moved.
func (mc *Machine) runTask(i int32) bool {
	t := &mc.p.tasks[i]
	if t.kind == givenCell || t.kind == givenColumn {
		return true // only a set value that differs makes it dirty
	}
	mc.stats++
	if !mc.varies[i] {
		return mc.runOnce(t)
	}
	moved := false
	for from := 0; from < mc.lanes; from += blockLanes {
		if mc.runBlock(t, from) {
			moved = true
		}
	}
	return moved
}

// runOnce runs a task on which all lanes agree.
func (mc *Machine) runOnce(t *task) bool {
	switch t.kind {
	case scalarTask:
		old := mc.r[t.reg]
		mc.scalar(mc.p.code[t.body.from:t.body.to], 0)
		return !same(old, mc.r[t.reg])
	case columnTask:
		return mc.columnOnce(t)
	case loopTask:
		return mc.loopOnce(t)
	case verdictTask:
		mc.columnOnce(t)
		return mc.judgeOnce(t)
	}
	return false
}

// runBlock runs a task on the block of lanes that begins at from.
func (mc *Machine) runBlock(t *task, from int) bool {
	mc.startBlock(t.slots, from)
	switch t.kind {
	case scalarTask:
		return mc.scalarBlock(t)
	case columnTask:
		return mc.columnBlock(t)
	case loopTask:
		return mc.loopBlock(t)
	case verdictTask:
		mc.columnBlock(t)
		return mc.judgeBlock(t)
	}
	return false
}

// same reports whether two values are equal to the bit.
func same(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }

// dirtySet is a set of task numbers that gives the least first: a bit a task,
// and above it a bit for each word that has one.
type dirtySet struct {
	words, summary []uint64
}

func newDirtySet(n int) dirtySet {
	words := (n + 63) / 64
	return dirtySet{words: make([]uint64, words), summary: make([]uint64, (words+63)/64)}
}

func (d *dirtySet) add(i int32) {
	d.words[i>>6] |= 1 << (i & 63)
	d.summary[i>>12] |= 1 << (i >> 6 & 63)
}

// only returns the one number in the set, or -1 where there are none or
// several.
func (d *dirtySet) only() int32 {
	found := int32(-1)
	for s, summary := range d.summary {
		if summary == 0 {
			continue
		}
		w := s<<6 | bits.TrailingZeros64(summary)
		if found >= 0 || summary&(summary-1) != 0 || d.words[w]&(d.words[w]-1) != 0 {
			return -1
		}
		found = int32(w<<6 | bits.TrailingZeros64(d.words[w]))
	}
	return found
}

// next takes the least number out of the set, or returns -1.
func (d *dirtySet) next() int32 {
	for s, summary := range d.summary {
		if summary == 0 {
			continue
		}
		w := s<<6 | bits.TrailingZeros64(summary)
		i := bits.TrailingZeros64(d.words[w])
		if d.words[w] &= d.words[w] - 1; d.words[w] == 0 {
			d.summary[s] &= summary - 1
		}
		return int32(w<<6 | i)
	}
	return -1
}

func (d *dirtySet) clear() {
	clear(d.words)
	clear(d.summary)
}
