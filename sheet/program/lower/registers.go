package lower

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/program/code"
)

// compiler makes code task by task, in evaluation order, so registers are
// numbered in the order in which they are written.
type compiler struct {
	p *code.Program
	f *formula

	results  []result
	together int       // the number of values that are sorted together, 0 if they keep their order
	pinned   int32     // frame registers that the task keeps to itself
	slots    int32     // frame registers in use or used so far, pinned among them
	free     []int32   // frame registers that are no longer in use
	uses     []int32   // for each value: its last reader, or keep
	homes    []int32   // for each value: its register
	reads    []reading // for each value: its readers
}

// result is a value that must end up in a register of its own.
type result struct {
	from Ref
	to   int32
	at   section
}

// keep marks a value that is live until the task ends, dead one that is never
// read.
const (
	keep = 1<<31 - 1
	dead = -1
)

func newCompiler(p *code.Program, k *constants, plain bool) *compiler {
	return &compiler{p: p, f: newFormula(p, k, plain)}
}

// global returns a new global register.
func (c *compiler) global(initial float64) int32 {
	c.p.Initial = append(c.p.Initial, initial)
	return int32(len(c.p.Initial) - 1)
}

// begin starts a task; hoist says that it has rows.
func (c *compiler) begin(hoist bool) {
	c.f.begin(hoist)
	c.results = c.results[:0]
	c.pinned, c.slots, c.free = 0, 0, c.free[:0]
}

// pin returns a frame register that is reserved until the task ends.
func (c *compiler) pin() int32 {
	c.pinned++
	c.slots = c.pinned
	return ^(c.pinned - 1)
}

// out requests the value of node in register to.
func (c *compiler) out(node check.NodeID, to int32) {
	c.results = append(c.results, result{from: c.f.node(node), to: to, at: c.f.at})
}

// assign gives the values registers and writes the code of the task.
func (c *compiler) assign(t *code.Task) {
	c.findUses()
	if !c.f.plain {
		c.fuse()
		if c.together > 0 {
			c.sort()
		}
		c.findUses()
	}
	c.homes = append(c.homes[:0], make([]int32, len(c.f.values))...)
	for i := range c.homes {
		c.homes[i] = code.NoReg
	}
	c.claim()
	if t.Tabled != code.NoTable {
		t.Once = c.write(pre)
		t.First = c.write(first)
	}
	t.Body = c.write(body)
	c.p.Frame = max(c.p.Frame, int(c.slots))
}

// findUses finds the last reader of each value.
func (c *compiler) findUses() {
	values := c.f.values
	c.uses = append(c.uses[:0], make([]int32, len(values))...)
	for i := range c.uses {
		if c.uses[i] = dead; c.f.plain {
			c.uses[i] = int32(i)
		}
	}
	for _, r := range c.results {
		if r.from.Kind() == InValues {
			c.uses[r.from.Index()] = keep
		}
	}
	for i := len(values) - 1; i >= 0; i-- {
		v := &values[i]
		if c.uses[i] == dead {
			continue
		}
		v.Registers(func(at *int32) {
			if r := Ref(*at); r.Kind() == InValues {
				c.read(r.Index(), int32(i), v.at)
			}
		})
	}
}

// read records that value by of a section reads value i.
func (c *compiler) read(i, by int32, at section) {
	if c.f.values[i].at != at {
		c.uses[i] = keep
	} else if c.uses[i] != keep {
		c.uses[i] = max(c.uses[i], by)
	}
}

// claim gives a value the register of its result, if the result is in the
// value's own section.
func (c *compiler) claim() {
	for i := range c.results {
		r := &c.results[i]
		if r.from.Kind() != InValues {
			continue
		}
		v := r.from.Index()
		if c.homes[v] == code.NoReg && c.f.values[v].at == r.at {
			c.homes[v] = r.to
		}
	}
}

// write appends the code of one section and the moves its results need.
func (c *compiler) write(at section) code.Range {
	out := code.Range{From: int32(len(c.p.Instrs))}
	for i := range c.f.values {
		v := &c.f.values[i]
		if v.at != at || c.uses[i] == dead || v.within {
			continue
		}
		in := v.Instr
		in.Registers(func(o *int32) { *o = c.register(Ref(*o)) })
		if code.Ops[in.Op].D == code.Between {
			in.D = c.between(v.inner)
		}
		c.release(&v.Instr, int32(i))
		if c.homes[i] == code.NoReg {
			c.homes[i] = c.slot()
		}
		in.Dst = c.homes[i]
		c.p.Instrs = append(c.p.Instrs, in)
	}
	for _, r := range c.results {
		if r.at != at {
			continue
		}
		if from := c.register(r.from); from != r.to {
			c.p.Instrs = append(c.p.Instrs, code.Instr{Op: code.Move, Dst: r.to, A: from})
		}
	}
	out.To = int32(len(c.p.Instrs))
	return out
}

// between returns the register of the intermediate value of a pair. It is not
// one that the pair reads, which is still needed when the value is written.
func (c *compiler) between(i int32) int32 {
	if c.uses[i] == dead {
		return code.Unread
	}
	if c.homes[i] == code.NoReg {
		c.homes[i] = c.slot()
	}
	return c.homes[i]
}

// register returns the register that holds a value.
func (c *compiler) register(r Ref) int32 {
	switch r.Kind() {
	case InValues:
		return c.homes[r.Index()]
	case InRegister:
		return r.Index()
	}
	reg := &c.f.poolReg[r.Index()]
	if *reg == code.NoReg {
		*reg = c.global(c.f.pool[r.Index()])
	}
	return *reg
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

// release frees the registers of the values whose last reader is value i.
func (c *compiler) release(v *code.Instr, i int32) {
	v.Registers(func(at *int32) {
		r := Ref(*at)
		if r.Kind() != InValues || c.uses[r.Index()] != i {
			return
		}
		if home := c.homes[r.Index()]; home < 0 && ^home >= c.pinned {
			c.free = append(c.free, home)
			c.uses[r.Index()] = keep // an operand that is read twice is freed once
		}
	})
}
