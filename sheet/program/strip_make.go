package program

// stripper makes the code of strips from the values of joint code. As long as
// a value that has just been made can be worked on, it is: that is what keeps
// it in the accumulator. Else the next one is that which has waited longest.
type stripper struct {
	c      *compiler
	over   *differing
	out    *stripCode
	fate   []fate         // of each value
	places map[int32]seat // of registers, and of divisors with their inverse
	free   []seat
	last   int32 // the value in the accumulator
	bad    bool
}

// fate is what becomes of a value.
type fate struct {
	differs bool // from lane to lane
	covered bool // what reads it shows whether it is a number
	done    bool
	waits   int32   // how many of its operands are not there yet
	reads   int32   // how often it is going to be read
	readers []int32 // by which values
	home    int32   // the register that it ends up in, noReg for none
	reg     int32   // the register it has where it is the same in all lanes
	at      seat
}

// differing tells what differs from lane to lane in a machine.
type differing struct {
	register func(reg int32) bool    // whether a register does
	column   func(column int32) bool // whether a column does, or how far it goes
}

// strips returns code of strips for the values of c, which nothing has been
// done with yet; nil where they need what strips have not.
func (c *compiler) strips(over *differing) *stripCode {
	c.findUses()
	s := &stripper{
		c: c, over: over, out: &stripCode{}, fate: make([]fate, len(c.f.values)),
		places: map[int32]seat{}, last: noReg,
	}
	for i := range s.fate {
		if c.uses[i] != dead {
			s.survey(int32(i))
		}
	}
	s.findHomes()
	for i := len(s.fate) - 1; i >= 0; i-- {
		s.cover(int32(i))
	}
	for i := range s.fate {
		for v := int32(i); v != noReg && s.fate[v].differs && !s.fate[v].done; {
			v = s.make(v)
		}
	}
	s.copies()
	if s.bad {
		return nil
	}
	return s.out
}

// survey finds out whether a value differs from lane to lane, and writes the
// code of one that does not.
func (s *stripper) survey(i int32) {
	v, f := &s.c.f.values[i], &s.fate[i]
	f.home, f.at = noReg, own
	v.operands(func(at *int32) { f.differs = f.differs || s.differs(ref(*at)) })
	s.bad = s.bad || v.at != body || v.op.byRow() || !s.known(&v.instr)
	if f.differs {
		v.operands(func(at *int32) {
			if r := ref(*at); r.kind() == toValue && s.fate[r.index()].differs {
				by := &s.fate[r.index()]
				by.readers = append(by.readers, i)
				by.reads++
				f.waits++
			}
		})
		return
	}
	in := v.instr
	in.operands(func(at *int32) { *at = s.register(ref(*at)) })
	s.out.slots++
	f.reg = ^(s.out.slots - 1)
	in.dst = f.reg
	s.out.once = append(s.out.once, in)
}

// known reports whether the columns that an operation reads are the same in
// all lanes.
func (s *stripper) known(in *instr) bool {
	switch in.op {
	case opReduce:
		return !s.over.column(in.a)
	case opIndex:
		return !s.over.column(in.b)
	case opLook:
		curve := &s.c.p.curves[in.c]
		return !s.over.column(curve.xs) && !s.over.column(curve.ys)
	}
	return true
}

func (s *stripper) differs(r ref) bool {
	switch r.kind() {
	case toValue:
		return s.fate[r.index()].differs
	case toRegister:
		return s.over.register(r.index())
	}
	return false
}

// register is where a value that is the same in all lanes is.
func (s *stripper) register(r ref) int32 {
	if r.kind() == toValue {
		return s.fate[r.index()].reg
	}
	return s.c.register(r)
}

// findHomes notes where values end up.
func (s *stripper) findHomes() {
	for i := range s.c.results {
		r := &s.c.results[i]
		s.bad = s.bad || !s.over.register(r.to)
		if r.from.kind() != toValue {
			continue
		}
		if f := &s.fate[r.from.index()]; f.differs && f.home == noReg {
			f.home = r.to
		}
	}
}

// copies leaves values where they end up beside their home.
func (s *stripper) copies() {
	for i := range s.c.results {
		r := &s.c.results[i]
		to := s.lanes(r.to)
		if s.differs(r.from) && r.from.kind() == toValue && s.fate[r.from.index()].at == to {
			continue
		}
		s.out.code = append(s.out.code, stripInstr{op: stripMove, a: s.seat(r.from), d: to})
	}
}

// cover finds out which operands of a value show in it: a fault, an infinity
// among them, stays one in sums, products and quotients of it, and smallest and
// largest look at both. What divides may be infinite and leave a number.
func (s *stripper) cover(i int32) {
	v, f := &s.c.f.values[i], &s.fate[i]
	if !f.differs {
		return
	}
	shows := func(at int32) {
		if r := ref(at); r.kind() == toValue {
			s.fate[r.index()].covered = true
		}
	}
	switch v.op {
	case opAdd, opSub, opMul, opLower, opHigher:
		shows(v.a)
		shows(v.b)
	case opDiv, opSqrt, opNeg:
		shows(v.a)
	case opMove, opAbs:
		if f.covered {
			shows(v.a)
		}
	}
}

// reckons reports whether an operation can make no number of numbers.
func reckons(o opcode) bool {
	switch o {
	case opAdd, opSub, opMul, opDiv, opSqrt, opNeg:
		return true
	}
	return false
}

// make writes the instruction of a value and returns the value to make next,
// noReg where none works on this one.
func (s *stripper) make(i int32) int32 {
	v, f := &s.c.f.values[i], &s.fate[i]
	f.done = true
	in := s.instruct(v)
	if reckons(v.op) && !f.covered {
		in.then = thenSees
	}
	calls := in.op == stripEach
	if !calls { // which reads an operand after it has left a result
		s.release(v)
	}
	next := s.next(i, calls)
	left := f.reads
	if next != noReg {
		left--
	}
	switch {
	case f.home != noReg:
		f.at = s.lanes(f.home)
	case left > 0 || calls:
		f.at = s.slot()
	}
	if calls {
		s.release(v)
	}
	in.d, s.last = f.at, noReg
	if next != noReg {
		s.last = i
	}
	s.out.code = append(s.out.code, in)
	return next
}

// release notes that the operands of a value have been read, and frees the
// places of those that nothing else reads.
func (s *stripper) release(v *value) {
	v.operands(func(at *int32) {
		r := ref(*at)
		if r.kind() != toValue || !s.fate[r.index()].differs {
			return
		}
		f := &s.fate[r.index()]
		if f.reads--; f.reads == 0 && f.at != own && f.at.room() == inFrame {
			s.free = append(s.free, f.at)
		}
	})
}

// slot returns a place of the frame that is free.
func (s *stripper) slot() seat {
	if n := len(s.free); n > 0 {
		at := s.free[n-1]
		s.free = s.free[:n-1]
		return at
	}
	s.out.frame++
	return makeSeat(inFrame, s.out.frame-1)
}

// next returns a value that has waited for value i alone and works on it where
// it is.
func (s *stripper) next(i int32, calls bool) int32 {
	found := int32(noReg)
	for _, by := range s.fate[i].readers {
		f := &s.fate[by]
		if f.waits--; f.waits == 0 && found == noReg && !calls && worksOn(&s.c.f.values[by].instr, i) {
			found = by
		}
	}
	return found
}

// sides are an operation with the accumulator as its left operand, and as its
// right one.
type sides struct{ left, right stripOp }

var stripOf = map[opcode]sides{
	opAdd: {stripAdd, stripAdd}, opSub: {stripSub, stripFrom}, opMul: {stripMul, stripMul}, opDiv: {stripDiv, stripInto},
	opLower: {stripLower, stripLowest}, opHigher: {stripHigher, stripHighest},
	opGreaterEqual: {stripAtLeast, stripAtMost}, opLessEqual: {stripAtMost, stripAtLeast},
	opLess: {stripAtLeast, stripAtMost}, opGreater: {stripAtMost, stripAtLeast}, // and the contrary then
}

// stripOfOne are operations on the accumulator alone, and choices by it.
var stripOfOne = map[opcode]stripOp{
	opMove: stripMove, opSqrt: stripSqrt, opAbs: stripAbs, opNeg: stripNeg,
	opIf: stripChoose, opAnd: stripChoose, opOr: stripChoose, opNot: stripChoose,
}

// worksOn reports whether an operation can take value i from the accumulator.
func worksOn(in *instr, i int32) bool {
	at := int32(makeRef(toValue, i))
	if _, ok := stripOf[in.op]; ok {
		return in.a == at || in.b == at
	}
	_, ok := stripOfOne[in.op]
	return ok && in.a == at
}

// instruct returns the instruction of a value, but for where it leaves it.
func (s *stripper) instruct(v *value) stripInstr {
	in := stripInstr{a: s.operand(ref(v.a))}
	if both, ok := stripOf[v.op]; ok {
		left, right := ref(v.a), ref(v.b)
		in.op = both.left
		if s.differs(right) && (!s.differs(left) || s.isLast(right) && !s.isLast(left)) {
			left, right, in.op = right, left, both.right
		}
		in.a, in.b = s.operand(left), s.seat(right)
		if v.op == opLess || v.op == opGreater {
			in.then = thenNot
		}
		if in.b.room() == inShared && in.op <= stripInto {
			in.op++
		}
		switch shared := in.b.room() == inShared; {
		case in.op == stripDivOne:
			in.c = s.sharedAt(sharedInverse - in.b.index())
			s.out.divisors = append(s.out.divisors, int32(len(s.out.code)))
		case shared && in.op >= stripAtLeast && in.op <= stripAtMost:
			in.op += stripAtLeastOne - stripAtLeast
			in.c = s.sharedAt(sharedNear - in.b.index())
		}
		return in
	}
	if in.op = stripOfOne[v.op]; in.op != stripChoose && in.op != stripMove || v.op == opMove {
		return in
	}
	switch v.op {
	case opIf:
		in.b, in.c = s.seat(ref(v.b)), s.seat(ref(v.c))
		if r := ref(v.a); s.differs(r) && r.kind() == toValue && tellsTruth(s.c.f.values[r.index()].op) {
			in.op = stripPick
		}
	case opAnd:
		in.b, in.c = s.seat(ref(v.b)), s.sharedAt(sharedZero)
	case opOr:
		in.b, in.c = s.sharedAt(sharedOne), s.seat(ref(v.b))
	case opNot:
		in.b, in.c = s.sharedAt(sharedZero), s.sharedAt(sharedOne)
	default:
		return s.call(v)
	}
	return in
}

// call returns the instruction of an operation that strips have not.
func (s *stripper) call(v *value) stripInstr {
	in := v.instr
	in.operands(func(at *int32) { *at = int32(s.seat(ref(*at))) })
	s.bad = s.bad || len(s.out.calls) == mostCalls
	s.out.calls = append(s.out.calls, in)
	return stripInstr{op: stripEach, a: own, call: uint16(len(s.out.calls) - 1)}
}

func (s *stripper) isLast(r ref) bool { return r.kind() == toValue && r.index() == s.last }

// operand is where the left operand of an instruction is.
func (s *stripper) operand(r ref) seat {
	if s.isLast(r) {
		return own
	}
	return s.seat(r)
}

// seat is where an operand is in memory.
func (s *stripper) seat(r ref) seat {
	switch {
	case !s.differs(r):
		return s.sharedAt(s.register(r))
	case r.kind() == toValue:
		return s.fate[r.index()].at
	}
	return s.lanes(r.index())
}

// lanes is the seat of a register that differs.
func (s *stripper) lanes(reg int32) seat { return s.at(reg, inLanes, &s.out.wides) }

// sharedAt is the seat of one that does not, or of what else is there.
func (s *stripper) sharedAt(reg int32) seat { return s.at(reg, inShared, &s.out.shared) }

func (s *stripper) at(reg int32, room int, list *[]int32) seat {
	at, ok := s.places[reg]
	if !ok {
		at = makeSeat(room, int32(len(*list)))
		*list = append(*list, reg)
		s.places[reg] = at
	}
	return at
}

// tellsTruth reports whether what an operation leaves of strips is a truth.
func tellsTruth(o opcode) bool { return o >= opLess && o <= opGreaterEqual }

// What is shared without being a register: numbers and, for each place in the
// room on downwards, the inverse of what is there, and what is near it.
const (
	sharedZero    = noReg
	sharedOne     = noReg - 1
	sharedInverse = noReg - 2
	sharedNear    = sharedInverse - mostShared
	mostShared    = 1 << 24
)

// place gives registers of the frame, negative while code is made, their
// numbers.
func (s *stripCode) place(p *Program) {
	for i := range s.once {
		p.place(&s.once[i].dst)
		s.once[i].operands(p.place)
	}
	for i := range s.shared {
		if s.shared[i] > noReg {
			p.place(&s.shared[i])
		}
	}
}
