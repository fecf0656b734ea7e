// Package wasm writes the compiled form of a sheet as a WebAssembly module, and
// runs such modules where there is a compiler for them.
//
// Every part of a sheet is emitted twice. The fast form has no checks: a sum of
// v - v over its results, and over values whose faults an operation could hide,
// is zero if all of them are numbers. Otherwise the general form recomputes the
// part with the kernel's functions, which distinguish blanks from faults.
package wasm

import (
	"fmt"
	"reflect"
	"runtime"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// emitter writes one module.
type emitter struct {
	m       *module
	p       *code.Program
	lanes   int
	out     Layout         // until the end, with conditions over the rows of tables as columns
	regs    int            // address of the registers
	frame   int            // address of the values that the parts of a step share
	scratch [2]int         // where the entries of two columns in one lane are gathered
	ready   []bool         // curves that have been prepared
	holds   []bool         // registers that hold a constant
	looped  map[int32]bool // columns that a loop of the module computes
	run     *body
	given   *body
	parts   int // their number
}

// Emit writes the tasks of a sheet for which asked is true, for one scenario or
// two in a vector. Values of other tasks are read from memory.
func Emit(sheet *lower.Sheet, asked func(task int32) bool, lanes int) *Module {
	return emit(sheet, asked, lanes, newModule())
}

// Compact writes all of a sheet for one scenario in fewer bytes than Emit, for
// a page that contains the module and writes all givens before it first calls
// given and run. The module also exports the named functions of the kernel.
func Compact(sheet *lower.Sheet, exports []string) *Module {
	m := newModule()
	m.compact, m.exports = true, exports
	for _, name := range exports {
		f, ok := m.kernel[name]
		if !ok {
			panic("wasm: no function " + name)
		}
		m.add(f)
	}
	return emit(sheet, func(int32) bool { return true }, 1, m)
}

func emit(sheet *lower.Sheet, asked func(task int32) bool, lanes int, m *module) *Module {
	e := &emitter{p: sheet.Code, lanes: lanes, m: m}
	e.findConstants()
	steps := sheet.Steps(asked, lower.ForModule)
	for i := range steps {
		frame := int32(len(e.p.Initial))
		next := frame
		steps[i].Code, _ = renamed(e.expand(steps[i].Code), frame, &next)
	}
	e.layOut(steps)
	e.run, e.given = e.body("run", []byte{typeI32}, typeI32), e.body("given", nil)
	e.run.f.locals = []byte{typeI32, typeI32}
	if lanes > 1 {
		e.m.add(gather(8 * lanes))
	}
	e.giveCurves(steps)
	for _, s := range steps {
		if s.Task < 0 {
			e.scalars(s)
			continue
		}
		e.task(&e.p.Tasks[s.Task])
	}
	e.run.f.op("local.get", bitsLocal)
	care := e.body("care", nil)
	care.f.asm("i32.const %d call run drop", 1<<lanes-1)
	for _, b := range []*body{e.run, care, e.given} {
		b.f.exported = true
		e.m.add(b.f)
	}
	e.out.Columns = e.out.Columns[:len(e.p.Model.Columns)]
	return &Module{Code: e.m.encode(), Layout: e.out}
}

// giveCurves prepares in given, once, the curves of columns that do not depend
// on run, in values or in length.
func (e *emitter) giveCurves(steps []code.Step) {
	columns, tables := map[int32]bool{}, map[int32]bool{}
	e.looped = map[int32]bool{}
	for _, s := range steps {
		if s.Task < 0 {
			continue
		}
		t := &e.p.Tasks[s.Task]
		columns[t.Column] = true
		for _, l := range t.Loop {
			columns[l.Column], e.looped[l.Column], tables[t.Table] = true, true, true
		}
	}
	e.ready = make([]bool, len(e.p.Curves))
	for i, c := range e.p.Curves {
		if !columns[c.Xs] && !columns[c.Ys] && !tables[e.p.Columns[c.Xs].Table] {
			e.ready[i] = true
			e.given.prepareLanes(i)
		}
	}
}

// readyCurves prepares the curves that instructions read.
func (e *emitter) readyCurves(list []code.Instr) {
	for i := range list {
		if in := &list[i]; in.Op == code.Look && !e.ready[in.C] {
			e.ready[in.C] = true
			e.run.prepareLanes(int(in.C))
		}
	}
}

// bitsParam is the parameter of run, a bit for each lane in which all general
// forms run, and of a fast form: a bit for each lane in which one has run.
const bitsParam = 0

// The locals of run: the bits of all parts so far, and those of the current one.
const (
	bitsLocal = 1
	nowLocal  = 2
)

// forms starts the two forms of a part: the fast one, which returns a bit for
// each lane that needs the general one, and that one, whose parameter is the lane,
// in bytes. Both may have more parameters.
func (e *emitter) forms(more ...byte) (fast, care *body) {
	e.parts++
	params := append([]byte{typeI32}, more...)
	fast, care = e.body(fmt.Sprint("fast", e.parts), params, typeI32), e.body(fmt.Sprint("care", e.parts), params)
	care.care = true
	fast.bad = [2]int{fast.f.local(fast.kind(typeF64)), fast.f.local(fast.kind(typeF64))}
	if !e.m.compact {
		fast.zero = fast.f.local(typeI32)
		fast.f.asm("local.get %d f64.load %d drop", fast.zero, e.m.size-8)
	}
	return fast, care
}

// pair adds the two forms of a part, and their calls to run. more leaves the
// further parameters.
func (e *emitter) pair(fast, care *body, more func()) {
	e.m.add(fast.f)
	e.m.add(care.f)
	f := e.run.f
	f.op("local.get", bitsLocal)
	more()
	f.asm("call %s local.get %d i32.or local.tee %d", fast.f.name, bitsParam, nowLocal)
	f.asm("local.get %d i32.or local.set %d", bitsLocal, bitsLocal)
	for lane := range e.lanes {
		f.asm("local.get %d i32.const %d i32.and if i32.const %d", nowLocal, 1<<lane, 8*lane)
		more()
		f.asm("call %s end", care.f.name)
	}
}

// expand replaces superinstructions by their two halves. A first result that
// nothing else reads gets a new register. In a comparison with a constant the
// constant becomes the right operand.
func (e *emitter) expand(list []code.Instr) []code.Instr {
	var out []code.Instr
	between := int32(1 << 29)
	for _, in := range list {
		at := in.D
		if code.Ops[in.Op].Pair.Second == code.If || at == code.Unread {
			at, between = between, between+1
		}
		first, second, ok := in.Split(at)
		if ok {
			if e.isConstant(first.A) {
				first = first.Turned()
			}
			out = append(out, first)
		}
		out = append(out, second)
	}
	return out
}

// KernelName returns the name of a kernel's function for Compact.
func KernelName(f any) string {
	name := runtime.FuncForPC(reflect.ValueOf(f).Pointer()).Name()
	return name[strings.LastIndexByte(name, '.')+1:]
}

// intrinsicName is the name of the kernel's function that a call runs.
func intrinsicName(m *check.Model, in *code.Instr) string {
	row := &m.Intrinsics[in.C]
	if in.Op == code.Call1 {
		return KernelName(row.F1)
	}
	return KernelName(row.F2)
}
