package wasm

import (
	"maps"
	"slices"

	"gearleaf/sheet/program/code"
)

// mostInstrs is how many instructions of scalars are one function: the time
// that compiling takes grows faster than they do.
const mostInstrs = 200

// scalars writes scalars, in parts that are not too long. What a part leaves
// in the frame for a later one goes through memory.
func (e *emitter) scalars(s code.Step) {
	e.readyCurves(s.Code)
	for from := 0; from < len(s.Code); from += mostInstrs {
		part := s.Code[from:min(from+mostInstrs, len(s.Code))]
		left := e.left(part, s.Code[from+len(part):])
		fast, care := e.part(nil), e.part(laneParam)
		care.care, fast.short = true, e.lanes == 1
		fast.scalarPart(part, left)
		care.scalarPart(part, left)
		fast.badBits()
		e.pair(fast, care)
	}
}

// scalarPart writes scalars that are stored as soon as they are there. The fast
// form checks them where memory has them, run by run.
func (b *body) scalarPart(list []code.Instr, left map[int32]bool) {
	checks := b.checkInputs(list, nil)
	read := map[int32]bool{}
	for i := range list {
		list[i].Registers(func(at *int32) { read[*at] = true })
	}
	for i := range list {
		in := &list[i]
		if !left[in.Dst] {
			b.set(in.Dst, b.value(in))
		} else {
			b.lane()
			b.setStored(in.Dst, b.value(in), read[in.Dst])
		}
		if checks != nil && checks[i] && !left[in.Dst] {
			b.check(in.Dst)
		}
	}
	if !b.care {
		b.checkStored(left)
	}
}

// setStored takes what is on the stack into memory, whose lane is below it,
// and into a local if it is read.
func (b *body) setStored(r int32, truth, read bool) {
	if read {
		b.set(r, truth)
		b.number(r)
	} else if truth && b.width() == 1 {
		b.f.op("f64.convert_i32_s")
	} else if truth {
		b.constant(1)
		b.f.op("v128.and")
	}
	b.op("f64.store", b.address(r))
}

// checkStored checks registers in memory: those that follow one another, with
// nothing but constants between them, in one loop.
func (b *body) checkStored(left map[int32]bool) {
	const loop = 4 // registers that are worth one
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

// checkRun checks the numbers from one address to another.
func (b *body) checkRun(from, to int) {
	size := 8 * b.lanes
	at, v := b.f.local(typeI32), b.f.local(b.numberType())
	b.f.asm("i32.const %d local.set %d loop", from, at)
	b.addBad(func() {
		b.f.op("local.get", at)
		b.op("f64.load", 0)
		b.f.asm("local.tee %d local.get %d", v, v)
		b.op("f64.sub")
	})
	b.f.add(at, size)
	b.f.asm("local.get %d i32.const %d i32.le_s br_if 0 end", at, to)
}

// renamed gives every value of the frame a register of its own, so that a part
// never overwrites what it reads: its form with care may have to read it again.
func (e *emitter) renamed(list []code.Instr) []code.Instr {
	names := map[int32]int32{}
	next := int32(len(e.p.Initial))
	for i := range list {
		in := &list[i]
		in.Registers(func(at *int32) {
			if name, ok := names[*at]; ok {
				*at = name
			}
		})
		if in.Dst >= int32(len(e.p.Initial)) {
			names[in.Dst] = next
			in.Dst = next
			next++
		}
	}
	return list
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
