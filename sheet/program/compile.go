package program

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// compiler makes code task by task, in evaluation order, so that registers
// are numbered in the order in which they are written.
type compiler struct {
	p *Program
	f *formula

	results []result
	pinned  int32     // frame registers that the task keeps to itself
	slots   int32     // frame registers in use or used so far, pinned among them
	free    []int32   // frame registers that hold nothing any more
	uses    []int32   // for each value: the last one that reads it, or keep
	homes   []int32   // for each value: its register
	reads   []reading // for each value: who reads it
}

// result is a value that must end up in a register of its own.
type result struct {
	from ref
	to   int32
	at   section
}

// keep says that a value is read until the task ends, dead that it never is.
const (
	keep = 1<<31 - 1
	dead = -1
)

func newCompiler(p *Program) *compiler { return &compiler{p: p, f: newFormula(p)} }

// global returns a new global register.
func (c *compiler) global(initial float64) int32 {
	c.p.initial = append(c.p.initial, initial)
	return int32(len(c.p.initial) - 1)
}

// begin starts a task; hoist says that it has rows.
func (c *compiler) begin(hoist bool) {
	c.f.begin(hoist)
	c.results = c.results[:0]
	c.pinned, c.slots, c.free = 0, 0, c.free[:0]
}

// pin returns a frame register that is the task's until it ends.
func (c *compiler) pin() int32 {
	c.pinned++
	c.slots = c.pinned
	return ^(c.pinned - 1)
}

// out asks for the value of node in register to.
func (c *compiler) out(node check.NodeID, to int32) {
	c.results = append(c.results, result{from: c.f.node(node), to: to, at: c.f.at})
}

func (c *compiler) cell(cell *check.Cell) task {
	reg := c.global(cell.Value)
	c.p.cellReg[cell.Index] = reg
	if cell.Given {
		return task{kind: givenCell, reg: reg, tabled: alone}
	}
	c.p.initial[reg] = kernel.Fault
	return c.scalar(reg, cell.Formula)
}

func (c *compiler) scalar(reg int32, node check.NodeID) task {
	c.begin(false)
	c.out(node, reg)
	t := task{kind: scalarTask, reg: reg, tabled: alone}
	c.lower(&t)
	return t
}

func (c *compiler) column(col *check.Column) task {
	t := task{kind: givenColumn, tabled: &tabled{column: col.Index, table: int32(col.Table.Index)}}
	if !col.Given {
		t.kind = columnTask
		c.rows(&t, col.Formula, col.Start)
	}
	return t
}

// rows compiles a column's formulas; the value of a row is left in the first
// register of the frame.
func (c *compiler) rows(t *task, formula, start check.NodeID) {
	c.begin(true)
	to := c.pin()
	if start != 0 {
		c.f.section(first)
		c.out(start, to)
	}
	c.f.section(body)
	c.out(formula, to)
	c.lower(t)
}

func (c *compiler) verdict(index int, over *check.Table, cond check.NodeID) task {
	value, row := c.global(kernel.Fault), c.global(-1)
	c.p.verdicts[index] = verdict{value: value, row: row}
	if over == nil {
		return c.scalar(value, cond)
	}
	plan := columnPlan{table: int32(over.Index), rows: over.Rows, computed: true}
	c.p.columns = append(c.p.columns, plan)
	t := task{kind: verdictTask, reg: value, tabled: &tabled{row: row, column: int32(len(c.p.columns) - 1), table: plan.table}}
	c.rows(&t, cond, 0)
	return t
}

// loop compiles the looped columns of a table and its condition.
func (c *compiler) loop(table *check.Table) task {
	c.begin(true)
	t := task{kind: loopTask, tabled: &tabled{table: int32(table.Index), column: -1, until: noReg}}
	f := c.f
	f.loop, f.before = table, map[int32]ref{}
	for _, col := range table.Loop { // all the nows, then all the befores: see keeper
		t.loop = append(t.loop, looped{column: col.Index, now: c.pin()})
	}
	for i := range t.loop {
		l := &t.loop[i]
		l.before = c.pin()
		f.before[l.column] = makeRef(toRegister, l.before)
	}
	if table.Until != 0 {
		t.until = c.pin()
	}
	for _, at := range []section{first, body} {
		c.row(&t, table, at)
	}
	c.lower(&t)
	c.dropUnasked(&t)
	return t
}

// row compiles one row of a loop, the first or any later one.
func (c *compiler) row(t *task, table *check.Table, at section) {
	f := c.f
	f.section(at)
	f.now = map[int32]ref{}
	for i, col := range table.Loop {
		node := col.Formula
		if at == first && col.Start != 0 {
			node = col.Start
		}
		f.now[t.loop[i].column] = f.node(node)
		c.results = append(c.results, result{from: f.now[t.loop[i].column], to: t.loop[i].now, at: at})
	}
	if table.Until != 0 {
		c.out(table.Until, t.until)
	}
}

// dropUnasked frees the columns whose value in the row before no code reads
// from keeping it.
func (c *compiler) dropUnasked(t *task) {
	asked := map[int32]bool{}
	for _, in := range c.p.code[t.pre.from:t.body.to] {
		in.operands(func(at *int32) { asked[*at] = true })
	}
	for i := range t.loop {
		if !asked[t.loop[i].before] {
			t.loop[i].before = noReg
		}
	}
}

// lower gives the values registers and writes the code of the task.
func (c *compiler) lower(t *task) {
	c.findUses()
	if !c.p.plain {
		c.pairUp()
		c.findUses()
	}
	c.homes = append(c.homes[:0], make([]int32, len(c.f.values))...)
	for i := range c.homes {
		c.homes[i] = noReg
	}
	c.claim()
	if t.tabled != alone {
		t.pre = c.write(pre)
		t.first = c.write(first)
	}
	t.body = c.write(body)
	t.slots = c.slots
	c.p.frame = max(c.p.frame, int(c.slots))
}

// findUses finds the last reader of each value.
func (c *compiler) findUses() {
	values := c.f.values
	c.uses = append(c.uses[:0], make([]int32, len(values))...)
	for i := range c.uses {
		if c.uses[i] = dead; c.p.plain {
			c.uses[i] = int32(i)
		}
	}
	for _, r := range c.results {
		if r.from.kind() == toValue {
			c.uses[r.from.index()] = keep
		}
	}
	for i := len(values) - 1; i >= 0; i-- {
		v := &values[i]
		if c.uses[i] == dead {
			continue
		}
		v.operands(func(at *int32) {
			if r := ref(*at); r.kind() == toValue {
				c.read(r.index(), int32(i), v.at)
			}
		})
	}
}

// read notes that value i is read by value by of a section.
func (c *compiler) read(i, by int32, at section) {
	if c.f.values[i].at != at {
		c.uses[i] = keep
	} else if c.uses[i] != keep {
		c.uses[i] = max(c.uses[i], by)
	}
}

// claim lets values stand where their result is asked for, where that is in
// their own section.
func (c *compiler) claim() {
	for i := range c.results {
		r := &c.results[i]
		if r.from.kind() != toValue {
			continue
		}
		v := r.from.index()
		if c.homes[v] == noReg && c.f.values[v].at == r.at {
			c.homes[v] = r.to
		}
	}
}

// write appends the code of one section and the moves its results need.
func (c *compiler) write(at section) code {
	out := code{from: int32(len(c.p.code))}
	for i := range c.f.values {
		v := &c.f.values[i]
		if v.at != at || c.uses[i] == dead || v.within {
			continue
		}
		in := v.instr
		in.operands(func(o *int32) { *o = c.register(ref(*o)) })
		if ops[in.op].d == kept {
			in.d = c.between(v.inner)
		}
		if c.homes[i] == noReg {
			c.homes[i] = c.slot() // not an operand's: see lanes.go
		}
		c.release(&v.instr, int32(i))
		in.dst = c.homes[i]
		c.p.code = append(c.p.code, in)
	}
	for _, r := range c.results {
		if r.at != at {
			continue
		}
		if from := c.register(r.from); from != r.to {
			c.p.code = append(c.p.code, instr{op: opMove, dst: r.to, a: from})
		}
	}
	out.to = int32(len(c.p.code))
	return out
}

// between returns the register of the value that a pair makes on the way. It
// is not one that the pair reads: that is still wanted when the value is
// there.
func (c *compiler) between(i int32) int32 {
	if c.uses[i] == dead {
		return junk
	}
	if c.homes[i] == noReg {
		c.homes[i] = c.slot()
	}
	return c.homes[i]
}

// register returns the register that holds a value by now.
func (c *compiler) register(r ref) int32 {
	switch r.kind() {
	case toValue:
		return c.homes[r.index()]
	case toRegister:
		return r.index()
	}
	if c.f.poolReg[r.index()] == noReg {
		c.f.poolReg[r.index()] = c.global(c.f.pool[r.index()])
	}
	return c.f.poolReg[r.index()]
}

// slot returns a frame register that is free.
func (c *compiler) slot() int32 {
	if n := len(c.free); n > 0 {
		s := c.free[n-1]
		c.free = c.free[:n-1]
		return s
	}
	c.slots++
	return ^(c.slots - 1)
}

// release frees the registers of the values that value i is the last to read.
func (c *compiler) release(v *instr, i int32) {
	v.operands(func(at *int32) {
		r := ref(*at)
		if r.kind() != toValue || c.uses[r.index()] != i {
			return
		}
		if home := c.homes[r.index()]; home < 0 && ^home >= c.pinned {
			c.free = append(c.free, home)
			c.uses[r.index()] = keep // an operand that stands twice is freed once
		}
	})
}
