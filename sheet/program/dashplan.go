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
	for _, rows := range []int{round, shortRound} {
		if plan := p.planRound(t, rows); plan != nil {
			return plan
		}
	}
	return nil
}

// planRound is planDash with so many rows to a round.
func (p *Program) planRound(t *task, rows int) *dashPlan {
	code := p.code[t.body.from:t.body.to]
	columns := len(t.loop)
	if rows*(len(code)+1) > window || int(t.slots)+rows*columns > window {
		return nil
	}
	l := dashLayout{
		p: p, columns: int32(columns), rows: int32(rows), places: map[int32]int32{},
		plan: &dashPlan{frame: int(t.slots), round: int(t.slots)},
	}
	l.plan.first = l.careful(p.code[t.first.from:t.first.to], 0)
	until := uint8(l.place(t.until)) // of noReg, where nothing is ever written
	l.plan.until = until
	for row := range rows {
		l.row(code, int32(row), short{op: rowEnd, a: uint8(t.slots), b: until, c: uint8(columns)})
	}
	end := &l.plan.code[len(l.plan.careful)-1]
	end.next = 0
	if end.op = roundEnd; rows == shortRound {
		end.op = shortEnd
	}
	if l.behind() > window {
		return nil
	}
	return l.plan
}

// dashLayout is a plan in the making.
type dashLayout struct {
	p       *Program
	plan    *dashPlan
	columns int32           // how many the loop has
	rows    int32           // and how many rows a round
	places  map[int32]int32 // of the registers behind both
}

// behind is the first place that is free.
func (l *dashLayout) behind() int {
	return l.plan.round + int(l.rows*l.columns) + len(l.plan.behind)
}

// place returns the place of a register.
func (l *dashLayout) place(reg int32) int32 {
	if slot := reg - int32(len(l.p.initial)); slot >= 0 {
		return slot
	}
	at, known := l.places[reg]
	if !known {
		at = int32(l.behind())
		l.places[reg] = at
		l.plan.behind = append(l.plan.behind, reg)
	}
	return at
}

// careful returns the code of a row of a round with the window for registers.
// What stands for the row under way, and for the row before, stands where those
// rows of the round do.
func (l *dashLayout) careful(code []instr, row int32) []instr {
	before := (row + l.rows - 1) % l.rows
	move := func(reg *int32) {
		switch *reg = l.place(*reg); {
		case *reg < l.columns:
			*reg += int32(l.plan.round) + row*l.columns
		case *reg < 2*l.columns:
			*reg += int32(l.plan.round) + (before-1)*l.columns
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

// row appends the code of a row of a round.
func (l *dashLayout) row(code []instr, row int32, end short) {
	p := l.plan
	p.start = append(p.start, len(p.careful))
	before := int32(noReg)
	for _, in := range l.careful(code, row) {
		at := len(p.careful)
		p.code[at] = in.short(before)
		p.careful = append(p.careful, in)
		before = in.dst
	}
	end.next = uint8(len(p.careful) + 1)
	p.code[len(p.careful)] = end
	p.careful = append(p.careful, instr{})
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
