package program

// planDashes readies for a dash the loops that fit into a window.
func (p *Program) planDashes() {
	if p.plain {
		return
	}
	for i := range p.tasks {
		if t := &p.tasks[i]; t.kind == loopTask {
			t.dash = p.planDash(t)
		}
	}
}

// planDash returns the plan of a loop, nil where that does not fit.
func (p *Program) planDash(t *task) *dashPlan {
	rows := p.code[t.body.from:t.body.to]
	if 2*(len(rows)+1) > window || int(t.slots) >= window {
		return nil
	}
	l := dashLayout{
		p: p, columns: int32(len(t.loop)), places: map[int32]int32{},
		plan: &dashPlan{frame: int(t.slots)},
	}
	l.plan.first = l.careful(p.code[t.first.from:t.first.to], false)
	until := uint8(l.place(t.until)) // of noReg, where nothing is ever written
	l.plan.until = until
	l.row(rows, false)
	l.plan.start[1] = len(l.plan.careful)
	l.row(rows, true)
	for odd, end := range [2]int{l.plan.start[1] - 1, len(l.plan.careful) - 1} {
		l.plan.code[end] = short{
			op: rowEnd, a: uint8(odd * len(t.loop)), b: until,
			at: uint8(end), next: uint8(l.plan.start[1-odd]),
		}
	}
	if l.plan.frame+len(l.plan.behind) > window {
		return nil
	}
	return l.plan
}

// dashLayout is a plan in the making.
type dashLayout struct {
	p       *Program
	plan    *dashPlan
	columns int32           // how many the loop has
	places  map[int32]int32 // of the registers behind the frame
}

// place returns the place of a register.
func (l *dashLayout) place(reg int32) int32 {
	if slot := reg - int32(len(l.p.initial)); slot >= 0 {
		return slot
	}
	at, known := l.places[reg]
	if !known {
		at = int32(l.plan.frame + len(l.plan.behind))
		l.places[reg] = at
		l.plan.behind = append(l.plan.behind, reg)
	}
	return at
}

// careful returns code with the window for registers. In that of odd rows, what
// stands for the row and what stands for the row before change places.
func (l *dashLayout) careful(code []instr, odd bool) []instr {
	move := func(reg *int32) {
		*reg = l.place(*reg)
		switch {
		case !odd || *reg >= 2*l.columns:
		case *reg < l.columns:
			*reg += l.columns
		default:
			*reg -= l.columns
		}
	}
	out := make([]instr, len(code))
	for i, in := range code {
		move(&in.dst)
		in.operands(move)
		if ops[in.op].d == kept {
			move(&in.d)
		}
		out[i] = in
	}
	return out
}

// row appends the code of even rows, or of odd ones.
func (l *dashLayout) row(code []instr, odd bool) {
	p := l.plan
	before := int32(noReg)
	for _, in := range l.careful(code, odd) {
		at := len(p.careful)
		p.code[at] = in.short(before)
		p.code[at].at, p.code[at].next = uint8(at), uint8(at+1)
		p.careful = append(p.careful, in)
		before = in.dst
	}
	p.careful = append(p.careful, instr{}) // the row's end
}

// short returns an instruction as a dash has it, behind one that made before.
func (in instr) short(before int32) short {
	if follow := after[in.op]; follow != opMove && (in.a == before || in.b == before && in.commutes()) {
		if in.a != before {
			in.a, in.b = in.b, in.a
		}
		in.op = follow
	}
	for _, v := range [...]int32{in.a, in.b, in.c, in.d} {
		if uint32(v) >= window {
			return short{op: opCall1, dst: uint8(in.dst)} // which no dash knows
		}
	}
	return short{op: in.op, dst: uint8(in.dst), a: uint8(in.a), b: uint8(in.b), c: uint8(in.c), d: uint8(in.d)}
}

// commutes reports whether operands a and b may change places.
func (in instr) commutes() bool {
	first := in.op
	if ops[first].d == kept {
		first = ops[first].pair.first
	}
	return first == opAdd || first == opMul
}
