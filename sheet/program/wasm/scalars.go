package wasm

import (
	"slices"

	"gearleaf/sheet/program/code"
)

// mostInstrs is the largest number of scalar instructions in one function: the
// compile time grows faster than their number.
const mostInstrs = 400

// scalars emits scalars, in parts of bounded length. Frame values for a later
// part go through memory.
func (e *emitter) scalars(s code.Step) {
	e.readyCurves(s.Code)
	for from := 0; from < len(s.Code); from += mostInstrs {
		part := s.Code[from:min(from+mostInstrs, len(s.Code))]
		left := e.left(part, s.Code[from+len(part):])
		fast, care := e.forms()
		for _, b := range []*body{fast, care} {
			b.instrs(part, left, nil, b.store)
		}
		fast.badBits()
		e.pair(fast, care, func() {})
	}
}

// store stores the value of a register.
func (b *body) store(r int32) {
	b.laneAt(0)
	b.number(r)
	b.op("f64.store", b.address(r))
}

// left returns the live-out registers of a part of a step: those that are
// global or that a later part reads.
func (e *emitter) left(part, later []code.Instr) map[int32]bool {
	read := map[int32]bool{}
	for i := range later {
		later[i].Registers(func(at *int32) { read[*at] = true })
	}
	left := map[int32]bool{}
	for i := range part {
		if r := part[i].Dst; int(r) < len(e.p.Initial) || read[r] {
			left[r] = true
		}
	}
	return left
}

// renamed gives every value of the frame, whose registers begin at frame, a
// register of its own from next on, and returns the last name of each. Thus a
// value can be computed where it is read, and a part of a step never overwrites
// a value that its general form may read again.
func renamed(list []code.Instr, frame int32, next *int32) ([]code.Instr, map[int32]int32) {
	list, names := slices.Clone(list), map[int32]int32{}
	for i := range list {
		in := &list[i]
		in.Registers(func(at *int32) {
			if name, ok := names[*at]; ok {
				*at = name
			}
		})
		if in.Dst >= frame {
			names[in.Dst] = *next
			in.Dst = *next
			*next++
		}
	}
	return list, names
}
