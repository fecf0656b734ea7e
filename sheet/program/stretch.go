package program

// Choosing what an instruction is takes longer than doing it. Where the order
// is free, instructions of one opcode stand together, and quick chooses once
// for them all.

// stretches puts values in an order in which those of one opcode stand
// together, every one behind what it reads. Dead ones go.
func (c *compiler) stretches() {
	s := newSchedule(c)
	for at := pre; at <= body; at++ {
		s.gather(at)
		for o, ok := s.choose(); ok; o, ok = s.choose() {
			s.run(o)
		}
	}
	c.reorder(s.order)
}

// schedule is an order in the making.
type schedule struct {
	c       *compiler
	makers  []int32          // for each value: what makes it, a pair or itself
	waits   []int32          // for each value: how many of its operands are not there yet
	readers [][]int32        // for each value: those that read it
	ready   [opcodes][]int32 // values whose operands are there
	left    [opcodes]int     // how many are not in order yet
	order   []int32
}

func newSchedule(c *compiler) *schedule {
	n := len(c.f.values)
	s := &schedule{c: c, makers: make([]int32, n), waits: make([]int32, n), readers: make([][]int32, n)}
	for i := range s.makers {
		s.makers[i] = int32(i)
	}
	for i := range s.makers {
		if v := &c.f.values[i]; c.written(i) && ops[v.op].d == kept {
			s.makers[v.inner] = int32(i)
		}
	}
	return s
}

// gather notes the values of a section.
func (s *schedule) gather(at section) {
	for i := range s.makers {
		if s.c.written(i) && s.c.f.values[i].at == at {
			s.add(int32(i))
		}
	}
}

// written reports whether value i becomes an instruction.
func (c *compiler) written(i int) bool { return c.uses[i] != dead && !c.f.values[i].within }

// add notes what a value waits for.
func (s *schedule) add(i int32) {
	v := &s.c.f.values[i]
	s.left[v.op]++
	v.operands(func(at *int32) {
		if r := ref(*at); r.kind() == toValue && s.c.f.values[r.index()].at == v.at {
			by := s.makers[r.index()]
			s.readers[by] = append(s.readers[by], i)
			s.waits[i]++
		}
	})
	if s.waits[i] == 0 {
		s.ready[v.op] = append(s.ready[v.op], i)
	}
}

// choose returns the opcode of the next stretch: one of which all that are
// left can go, else the one of which most can. Without any, ok is false.
func (s *schedule) choose() (best opcode, ok bool) {
	most := 0
	for o := range s.ready {
		n := len(s.ready[o])
		if n > 0 && n == s.left[o] {
			n += len(s.waits)
		}
		if n > most {
			best, most = opcode(o), n
		}
	}
	return best, most > 0
}

// run appends all values of an opcode that can go, those among them that wait
// for one another behind the others.
func (s *schedule) run(o opcode) {
	values := s.c.f.values
	for k := 0; k < len(s.ready[o]); k++ {
		i := s.ready[o][k]
		if ops[o].d == kept {
			s.order = append(s.order, values[i].inner)
		}
		s.order = append(s.order, i)
		for _, by := range s.readers[i] {
			if s.waits[by]--; s.waits[by] == 0 {
				s.ready[values[by].op] = append(s.ready[values[by].op], by)
			}
		}
	}
	s.left[o] -= len(s.ready[o])
	s.ready[o] = s.ready[o][:0]
}

// reorder keeps the values listed, in that order.
func (c *compiler) reorder(order []int32) {
	place := make([]int32, len(c.f.values))
	values := make([]value, len(order))
	for to, from := range order {
		place[from], values[to] = int32(to), c.f.values[from]
	}
	move := func(at *int32) {
		if r := ref(*at); r.kind() == toValue {
			*at = int32(makeRef(toValue, place[r.index()]))
		}
	}
	for i := range values {
		v := &values[i]
		v.operands(move)
		v.inner = place[v.inner]
	}
	for i := range c.results {
		move((*int32)(&c.results[i].from))
	}
	c.f.values = values
}
