package wasm

import (
	"maps"
	"strings"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// body writes the body of one function, in one of the two forms.
type body struct {
	*emitter
	f     *function
	care  bool
	where map[int32]local // the registers that locals hold
	row   int             // the local of the current row, from 0
	entry int             // the local of that row's place in a column, in bytes
	bad   [2]int          // of a fast form: locals that become a NaN if a value is not a number
	next  int             // which of them was used last
	// later are instructions that are emitted where their result is read.
	later map[int32]*code.Instr
	names int32 // the next one
	// active is the local of the lanes whose loop continues, -1 if all do.
	active int
	// zero is a local that is 0, -1 for none. The compiler's runtime checks an
	// address once if it is a local: the largest one at the start.
	zero int
}

// local is a local that holds the value of a register, as a number or as a logical value.
type local struct {
	at    int
	truth bool
}

func (e *emitter) body(name string, params []byte, results ...byte) *body {
	return &body{
		emitter: e, f: &function{name: name, params: params, results: results},
		where: map[int32]local{}, later: map[int32]*code.Instr{}, names: 1 << 30, active: -1, zero: -1,
	}
}

// width is the number of lanes of a value in the body: one in the general form.
func (b *body) width() int {
	if b.care {
		return 1
	}
	return b.lanes
}

// vector is the name of an instruction at the width of the body, empty if none
// is needed.
func (b *body) vector(name string) string {
	if b.width() == 1 {
		if b.m.compact && (name == "i64.reinterpret_f64" || name == "f64.reinterpret_i64") {
			return "" // they are around the operands of a select, see code.Ops
		}
		return name
	}
	switch name {
	case "i32.or", "i32.and":
		return "v128" + name[len("i32"):]
	case "i32.eqz":
		return "v128.not"
	case "f64.max":
		return "f64x2.pmax" // equivalent for numbers that are not negative, and one machine instruction
	case "f64.load", "f64.store":
		return "v128" + name[len("f64"):]
	}
	return strings.Replace(strings.Replace(name, "f64x2", "f64", 1), "f64", "f64x2", 1)
}

func (b *body) op(name string, args ...int) {
	if name = b.vector(name); name != "" {
		b.f.op(name, args...)
	}
}

// kind is the type of a local at the width of the body, given that for one
// lane.
func (b *body) kind(one byte) byte {
	if b.width() == 2 {
		return typeV128
	}
	return one
}

// constant leaves a number, the same in all lanes.
func (b *body) constant(v float64) {
	if b.width() == 1 {
		b.f.number(v)
	} else {
		b.f.constant(floats(v, v))
	}
}

// address is the address of a register in memory.
func (b *body) address(r int32) int {
	switch {
	case int(r) < len(b.p.Initial):
		return b.register(r)
	case r >= 1<<29:
		panic("wasm: a value that is nowhere")
	}
	return b.frame + 8*b.lanes*(int(r)-len(b.p.Initial))
}

// number leaves the value of a register.
func (b *body) number(r int32) {
	if b.isConstant(r) {
		b.constant(b.p.Initial[r])
		return
	}
	if in, ok := b.later[r]; ok {
		b.asNumber(b.value(in))
		return
	}
	if in, ok := b.where[r]; ok {
		b.f.op("local.get", in.at)
		b.asNumber(in.truth)
		return
	}
	b.laneAt(0)
	b.op("f64.load", b.address(r))
	b.where[r] = local{at: b.f.local(b.kind(typeF64))}
	b.f.op("local.tee", b.where[r].at)
}

// asNumber converts a logical value on the stack to a number.
func (b *body) asNumber(truth bool) {
	switch {
	case !truth:
	case b.width() == 1:
		b.f.op("f64.convert_i32_s")
	default:
		b.constant(1)
		b.f.op("v128.and")
	}
}

// truth leaves the value of a register as a logical value.
func (b *body) truth(r int32) {
	if in := b.where[r]; in.truth {
		b.f.op("local.get", in.at)
		return
	}
	if in, ok := b.later[r]; ok {
		if b.value(in) {
			return
		}
	} else {
		b.number(r)
	}
	b.constant(1)
	b.op("f64.eq")
}

// set pops the value of a register from the stack.
func (b *body) set(r int32, truth bool) {
	kind := b.kind(typeF64)
	if truth {
		kind = b.kind(typeI32)
	}
	b.where[r] = local{b.f.local(kind), truth}
	b.f.op("local.set", b.where[r].at)
}

// storeEntry stores the value of a register in the current row of a column.
func (b *body) storeEntry(column, r int32) {
	b.f.op("local.get", b.entry)
	b.number(r)
	b.op("f64.store", b.out.Columns[column].At)
}

// preload reads the values that instructions need from memory before a loop.
func (b *body) preload(list []code.Instr) {
	for i := range list {
		list[i].Registers(func(at *int32) {
			if _, ok := b.where[*at]; !ok && int(*at) < len(b.p.Initial) && !b.isConstant(*at) {
				b.number(*at)
				b.f.op("drop")
			}
		})
	}
}

// section emits instructions of a table. out are its live-out registers; kept
// are those of which other sections may read some.
func (b *body) section(list []code.Instr, out, kept []int32) {
	list, names := renamed(list, int32(len(b.p.Initial)), &b.names)
	b.instrs(list, namesOf(out, names), namesOf(kept, names), func(int32) {})
	for r, name := range names {
		if at, ok := b.where[name]; ok {
			b.where[r] = at
		}
	}
}

// namesOf returns a set of registers, by their new names if they have one.
func namesOf(regs []int32, names map[int32]int32) map[int32]bool {
	out := map[int32]bool{}
	for _, r := range regs {
		if name, ok := names[r]; ok {
			r = name
		}
		out[r] = true
	}
	return out
}

// instrs emits instructions, each of which sets another register. One whose
// result is read once is emitted where it is read. leave is called for each
// register of out as soon as it is computed.
func (b *body) instrs(list []code.Instr, out, kept map[int32]bool, leave func(r int32)) {
	checks, mentions := b.checkInputs(list, out), b.mentions(list)
	for i := range list {
		r := list[i].Dst
		if mentions[r] == 1 && !out[r] && !kept[r] && !checks[r] {
			b.later[r] = &list[i]
			continue
		}
		b.set(r, b.value(&list[i]))
		if checks[r] {
			b.check(r)
		}
		if out[r] {
			leave(r)
		}
	}
}

// mentions counts the reads of each register.
func (b *body) mentions(list []code.Instr) map[int32]int {
	n := map[int32]int{}
	for i := range list {
		words := strings.Fields(b.text(&list[i]))
		for _, o := range readsOf(&list[i]) {
			for _, word := range words {
				if word == o.name {
					n[o.reg]++
				}
			}
		}
	}
	return n
}

// byReading is the text of what reading emits: it reads an operand in each lane.
const byReading = "a a"

// text is the code of an instruction in the form of the body, in the words of its
// row. It names the operands in the order of reading; c may be none.
func (b *body) text(in *code.Instr) string {
	row := &code.Ops[in.Op]
	switch {
	case in.Op == code.Call1 || in.Op == code.Call2:
		return b.callText(in)
	case row.Fast == "":
		return byReading
	case b.care && row.Kernel != "":
		return "a b c call " + row.Kernel
	case b.care:
		return row.Fast
	case row.Bound != "" && !b.m.compact && b.isConstant(in.B) && kernel.Bounded(b.p.Initial[in.B]):
		return row.Bound
	case b.width() == 2 && row.Wide != "":
		return row.Wide
	case b.m.compact && row.Short != "":
		return row.Short
	}
	return row.Fast
}

// callText is the call of a function of the model. In the general form its result
// is settled: the operands determine whether a NaN is a blank or a fault.
func (b *body) callText(in *code.Instr) string {
	call := "a b call " + intrinsicName(b.p.Model, in)
	switch {
	case !b.care:
		return call
	case in.Op == code.Call1:
		return "a " + call + " call Settled"
	}
	return "a b " + call + " call SettledTwo"
}

// checkInputs checks the live-in registers of instructions, and returns the
// registers that have to be checked.
func (b *body) checkInputs(list []code.Instr, out map[int32]bool) map[int32]bool {
	if b.care {
		return nil
	}
	checks, inputs := checksOf(list, out)
	for _, r := range inputs {
		if v := b.p.Initial; !b.isConstant(r) || v[r]-v[r] != 0 {
			b.check(r)
		}
	}
	return checks
}

// scoped emits a section whose values are not known outside: one of a loop, or
// of a branch.
func (b *body) scoped(write func()) {
	outer := maps.Clone(b.where)
	write()
	b.where = outer
}

// check emits a check that the value of a register is a number. Two locals take
// turns, so that fewer checks wait for the one before.
func (b *body) check(r int32) {
	b.next = 1 - b.next
	b.f.op("local.get", b.bad[b.next])
	b.number(r)
	b.number(r)
	b.op("f64.sub")
	if b.active >= 0 {
		b.f.asm("local.get %d v128.and", b.active)
	}
	b.joinBad()
	b.f.op("local.set", b.bad[b.next])
}

// badBits leaves a bit for each lane in which a value was not a number.
func (b *body) badBits() {
	for range 2 { // a NaN is not equal to itself
		b.f.asm("local.get %d local.get %d", b.bad[0], b.bad[1])
		b.joinBad()
	}
	b.op("f64.ne")
	if b.width() == 2 {
		b.f.op("i64x2.bitmask")
	}
}

// joinBad combines two differences, each 0 or a NaN: for two lanes as bits,
// which is fastest.
func (b *body) joinBad() {
	if b.width() == 2 {
		b.f.op("v128.or")
	} else {
		b.f.op("f64.add")
	}
}

// value leaves the result of an instruction and reports whether it is a logical
// value.
func (b *body) value(in *code.Instr) (truth bool) {
	row, text := &code.Ops[in.Op], b.text(in)
	switch {
	case text == byReading:
		b.reading(in)
		return false
	case in.Op == code.If && b.width() == 1 && !b.care && !b.m.compact:
		b.truth(in.A)
		b.either(func() { b.number(in.B) }, func() { b.number(in.C) })
		return false
	}
	words := strings.Fields(text)
	for i := 0; i < len(words); i++ {
		switch word := words[i]; word {
		case "a":
			b.operand(row.A, in.A)
		case "b":
			b.operand(row.B, in.B)
		case "c":
			b.operand(row.C, in.C)
		case "tolerance":
			b.constant(kernel.Tolerance)
		case "least":
			b.constant(kernel.Least(b.p.Initial[in.B]))
		case "most":
			b.constant(-kernel.Least(-b.p.Initial[in.B]))
		case "call":
			i++
			b.call(words[i], in)
		default:
			b.op(word)
		}
	}
	return row.Result == code.Truth && !b.care
}

// operand leaves an operand, if it is a register. In the general form logical
// values are numbers.
func (b *body) operand(kind code.Operand, r int32) {
	switch {
	case !kind.IsRegister():
	case kind == code.Truth && !b.care:
		b.truth(r)
	default:
		b.number(r)
	}
}

// call calls a function of the kernel for an instruction.
func (b *body) call(name string, in *code.Instr) {
	if b.width() == 2 {
		name = b.m.wide(name, name != "Pow" || b.isConstant(in.B) && kernel.OfExponential(b.p.Initial[in.B]))
	}
	b.f.call(name)
}

// perLane combines the numbers that write leaves in each lane into one value.
func (b *body) perLane(write func(lane int)) {
	write(0)
	if b.width() == 1 {
		return
	}
	b.f.op("f64x2.splat")
	write(1)
	b.f.op("f64x2.replace_lane", 1)
}
