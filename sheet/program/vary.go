package program

import (
	"slices"

	"gearleaf/sheet/kernel"
)

// vary makes a given, and everything it reaches, differ from lane to lane:
// each gets room for its lanes, all of them holding the common value.
func (mc *Machine) vary(task int) {
	for _, t := range mc.p.g.Reach([]int{task}) {
		if !mc.varies[t] {
			mc.varies[t] = true
			mc.widen(&mc.p.tasks[t])
		}
	}
	mc.replan = true
}

// widen makes room for the lanes of what one task computes.
func (mc *Machine) widen(t *task) {
	switch t.kind {
	case givenCell, scalarTask:
		mc.widenRegister(t.reg)
	case givenColumn, columnTask:
		mc.widenColumn(t.column)
	case verdictTask:
		mc.widenColumn(t.column)
		mc.widenRegister(t.reg)
		mc.widenRegister(t.row)
	case loopTask:
		for _, l := range t.loop {
			mc.widenColumn(l.column)
		}
		if t.until != noReg {
			mc.widenTable(t.table)
		}
	}
}

func (mc *Machine) widenRegister(reg int32) {
	w := make([]float64, mc.lanes)
	for i := range w {
		w[i] = mc.r[reg]
	}
	mc.wide[reg] = w
}

func (mc *Machine) widenColumn(column int32) {
	c := &mc.columns[column]
	c.wide = make([]float64, c.rows*mc.lanes)
	for row, v := range c.one {
		for lane := range mc.lanes {
			c.wide[row*mc.lanes+lane] = v
		}
	}
	for _, i := range mc.p.ofCurve[column] {
		mc.widenCurve(&mc.curves[i])
	}
}

func (mc *Machine) widenTable(table int32) {
	t := &mc.tables[table]
	t.each = make([]liveRows, mc.lanes)
	for i := range t.each {
		t.each[i] = t.live
	}
	for i := range mc.curves {
		if c := &mc.curves[i]; mc.columns[c.xs].table == table {
			mc.widenCurve(c)
		}
	}
}

func (mc *Machine) widenCurve(c *curveState) {
	if c.each != nil {
		return
	}
	c.each = make([]*kernel.Curve, min(mc.lanes, blockLanes))
	c.knows = make([]bool, len(c.each))
	for i := range c.each {
		c.each[i] = kernel.NewCurve(c.form, mc.columns[c.xs].rows)
	}
}

// plan lays out what Run does once and what it does for each block, and
// makes room for the frame.
func (mc *Machine) plan() {
	mc.replan, mc.settled = false, false
	if !slices.Contains(mc.varies, true) {
		mc.once, mc.several = mc.p.steadySteps(), nil
	} else {
		mc.once = mc.p.steps(func(i int32) bool { return !mc.varies[i] })
		mc.several = mc.p.steps(func(i int32) bool { return mc.varies[i] })
	}
	var slots int32
	for _, list := range [][]step{mc.once, mc.several} {
		for i := range list {
			slots = max(slots, list[i].slots)
		}
	}
	for i, varies := range mc.varies {
		if varies { // an Update runs it by itself, which may take more than all in one
			slots = max(slots, mc.p.tasks[i].slots)
		}
	}
	mc.makeFrame(int(slots))
}

// makeFrame makes room for slots registers of the frame.
func (mc *Machine) makeFrame(slots int) {
	if more := len(mc.p.initial) + slots - len(mc.r); more > 0 {
		mc.r = append(mc.r, make([]float64, more)...)
	}
	mc.b.makeRoom(slots)
}
