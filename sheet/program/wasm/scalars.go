package wasm

import (
	"maps"
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
		fast, care := e.fastPart(), e.part(laneParam)
		care.care, fast.short = true, e.lanes == 1
		fast.scalarPart(part, left)
		care.scalarPart(part, left)
		fast.badBits()
		e.pair(fast, care, func(int) {})
	}
}

// scalarPart emits scalars, each stored as soon as it is computed.
func (b *body) scalarPart(list []code.Instr, left map[int32]bool) {
	checks := b.checkInputs(list, slices.Sorted(maps.Keys(left)))
	mentions := b.mentions(list)
	for i := range list {
		in := &list[i]
		switch {
		case left[in.Dst]:
			b.laneAt(0)
			b.setStored(in.Dst, b.value(in), checks[in.Dst] || mentions[in.Dst] > 0)
		case mentions[in.Dst] == 1 && !checks[in.Dst]:
			b.later[in.Dst] = in
		default:
			b.set(in.Dst, b.value(in))
		}
		if checks[in.Dst] {
			b.check(in.Dst)
		}
	}
}

// setStored stores the value on the stack in memory, whose lane is below it,
// and in a local if it is read.
func (b *body) setStored(r int32, truth, read bool) {
	if read {
		b.set(r, truth)
		b.number(r)
	} else {
		b.asNumber(truth)
	}
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
