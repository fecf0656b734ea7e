package wasm

import (
	"maps"
	"slices"

	"gearleaf/sheet/program/code"
)

// mostInstrs is how many instructions of scalars are one function: the compile
// time grows faster than their number.
const mostInstrs = 200

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

// scalarPart writes scalars that are stored as soon as they are computed. The
// fast form checks them in memory, run by run.
func (b *body) scalarPart(list []code.Instr, left map[int32]bool) {
	checks := b.checkInputs(list, nil)
	mentions := b.mentions(list)
	if b.m.compact {
		b.countReads(list, mentions, checks, left)
	}
	for i := range list {
		in := &list[i]
		switch {
		case left[in.Dst]:
			b.laneAt(0)
			b.setStored(in.Dst, b.value(in), mentions[in.Dst] > 0)
		case mentions[in.Dst] == 1 && (checks == nil || !checks[i]):
			b.later[in.Dst] = in
		default:
			b.set(in.Dst, b.value(in))
		}
		if checks != nil && checks[i] && !left[in.Dst] {
			b.check(in.Dst)
		}
	}
	b.reads = nil
	if !b.care {
		b.checkStored(left)
	}
}

// countReads has the locals of a part used again.
func (b *body) countReads(list []code.Instr, mentions map[int32]int, checks []bool, left map[int32]bool) {
	b.reads, b.free = maps.Clone(mentions), map[byte][]int{}
	for i := range list {
		switch r := list[i].Dst; {
		case left[r]:
			b.reads[r]++ // to be stored
		case checks != nil && checks[i]:
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

// checkStored checks registers in memory: those that follow one another, with
// nothing but constants between them, in one loop.
func (b *body) checkStored(left map[int32]bool) {
	const loop = 4 // registers from which a loop pays
	last := int32(-1)
	var run []int32
	flush := func() {
		if len(run) >= loop {
			b.checkRun(b.address(run[0]), b.address(run[len(run)-1]))
		} else {
			for _, r := range run {
				b.check(r)
			}
		}
		run = run[:0]
	}
	for _, r := range slices.Sorted(maps.Keys(left)) {
		if len(run) > 0 && !b.constantsBetween(last, r) {
			flush()
		}
		run, last = append(run, r), r
	}
	flush()
}

// constantsBetween reports whether the registers between two are constants, and
// numbers.
func (b *body) constantsBetween(from, to int32) bool {
	for r := from + 1; r < to; r++ {
		if !b.isConstant(r) || b.p.Initial[r]-b.p.Initial[r] != 0 {
			return false
		}
	}
	return true
}

// checkRun checks the numbers from one address to another, four at a time: the
// last four may be checked twice.
func (b *body) checkRun(from, to int) {
	f := b.f
	at, v, first, second := f.local(typeI32), f.local(typeV128), f.local(typeV128), f.local(typeV128)
	last := to + 8*b.lanes - 32
	f.asm("i32.const %d local.set %d f64x2.const 0 local.tee %d local.set %d loop", from, at, first, second)
	for i, sum := range []int{first, second} {
		f.asm("local.get %d v128.load %d local.tee %d local.get %d f64x2.sub local.get %d v128.or local.set %d", at, 16*i, v, v, sum, sum)
	}
	f.asm("local.get %d i32.const %d i32.lt_s if local.get %d i32.const 32 i32.add local.set %d", at, last, at, at)
	f.asm("local.get %d i32.const %d i32.gt_s if i32.const %d local.set %d end br 1 end end", at, last, last, at)
	b.addBad(func() {
		f.asm("local.get %d local.get %d v128.or", first, second)
		if b.lanes == 1 {
			f.asm("local.tee %d f64x2.extract_lane 0 local.get %d f64x2.extract_lane 1 f64.add", v, v)
		}
	})
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
