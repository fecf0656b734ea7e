package lower

import "gearleaf/sheet/program/code"

// fuse makes superinstructions: each operation joins its first reader, if there
// is a superinstruction for the pair.
func (c *compiler) fuse() {
	c.countReads()
	for i := range c.f.values {
		if c.uses[i] != dead && code.Ops[c.f.values[i].Op].Pure() && !c.join(int32(i), false) {
			c.join(int32(i), true)
		}
	}
}

// join makes a value and its left operand, or its right one, one instruction,
// if they can be.
func (c *compiler) join(i int32, right bool) bool {
	v := &c.f.values[i]
	at := Ref(v.A)
	if right {
		at = Ref(v.B)
	}
	if at.Kind() != InValues || v.A == v.B {
		return false
	}
	inner, read := &c.f.values[at.Index()], c.reads[at.Index()]
	in, ok := code.Join(inner.Instr, v.Instr, right)
	keeps := code.Ops[in.Op].D == code.Between
	if !ok || inner.at != v.at || read.first != i || read.n > 1 && !keeps {
		return false
	}
	if v.Instr = in; keeps {
		v.inner, inner.within = at.Index(), true
	}
	return true
}

// reading is the number of reads of a value, and its first reader that is not
// dead.
type reading struct{ n, first int32 }

func (c *compiler) countReads() {
	c.reads = append(c.reads[:0], make([]reading, len(c.f.values))...)
	for i := range c.f.values {
		if c.uses[i] == dead {
			continue
		}
		c.f.values[i].Registers(func(at *int32) {
			if r := Ref(*at); r.Kind() == InValues {
				if n := &c.reads[r.Index()]; n.n == 0 {
					n.first = int32(i)
				}
				c.reads[r.Index()].n++
			}
		})
	}
	for _, r := range c.results {
		if r.from.Kind() == InValues {
			c.reads[r.from.Index()].n++
		}
	}
}
