package wasm

import (
	"maps"
	"slices"

	"gearleaf/sheet/program/code"
)

// mostInstrs is how many instructions of scalars are one function: the compile
// time grows faster than their number.
const mostInstrs = 400

// scalars writes scalars, in parts that are not too long. What a part leaves
// in the frame for a later one goes through memory.
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
		e.pair(fast, care)
	}
}

// scalarPart writes scalars, which are stored as soon as they are there.
func (b *body) scalarPart(list []code.Instr, left map[int32]bool) {
	checks := b.checkInputs(list, slices.Sorted(maps.Keys(left)))
	mentions := b.mentions(list)
	if b.m.compact {
		b.countReads(list, mentions, checks, left)
	}
	for i := range list {
		in := &list[i]
		switch {
		case left[in.Dst]:
			b.laneAt(0)
			b.setStored(in.Dst, b.value(in), checks[i] || mentions[in.Dst] > 0)
		case mentions[in.Dst] == 1 && !checks[i]:
			b.later[in.Dst] = in
		default:
			b.set(in.Dst, b.value(in))
		}
		if checks[i] {
			b.check(in.Dst)
		}
	}
	b.reads = nil
}

// countReads has the locals of a part used again.
func (b *body) countReads(list []code.Instr, mentions map[int32]int, checks []bool, left map[int32]bool) {
	b.reads, b.free = maps.Clone(mentions), map[byte][]int{}
	for i := range list {
		r := list[i].Dst
		if left[r] {
			b.reads[r]++ // to be stored
		}
		if checks[i] {
			b.reads[r] += 2
		}
	}
}

// setStored takes what is on the stack into memory, whose lane is below it,
// and into a local if it is read.
func (b *body) setStored(r int32, truth, read bool) {
	if read {
		b.set(r, truth)
		b.number(r)
	} else {
		b.asNumber(truth)
	}
	b.op("f64.store", b.address(r))
}

// left returns the registers that a part of a step sets and that are global, or
// that a later part reads.
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
// register of its own from next on, and returns the last name of each. So a
// value can be computed where it is read, and a part of a step never overwrites
// what its form with care may have to read again.
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
