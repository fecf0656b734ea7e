package program

import "gearleaf/sheet/kernel"

// Where the rows of a table lean on one another, a row takes little more than
// its instructions take to be chosen and their operands to be fetched. So these
// rows have code of their own. Its registers stand in a window, in which a place
// is a byte and needs no check. What an instruction makes is at hand for the
// next one. Values on their way are not looked at: all are added up, each taken
// from itself, and where that is no longer 0 the row is computed once more,
// with care. And the code is there twice, for even rows and for odd ones: what
// is the row's own in the one is that of the row before in the other, and no
// value need be moved up.

// short is an instruction of a dash; its operands are places in the window,
// where ops does not say otherwise.
type short struct {
	op              opcode
	dst, a, b, c, d uint8
	at, next        uint8 // its own place in the code, and that of the one to follow
}

// window is how many places there are.
const window = 256

// dashCode is the code of even rows, and behind it that of odd ones. Each has a
// rowEnd: it stores the row, whose columns begin at a, and ends the table where
// b is not 0.
type dashCode [window]short

// dashPlan is what a loop needs for a dash.
type dashPlan struct {
	code  dashCode
	start [2]int // of even rows, and of odd ones
	// careful is code, and first that of the first row, as quick and slow take
	// it, and with the window for registers.
	careful, first []instr
	until          uint8
	frame          int     // how much of the frame stands in the window's first places
	behind         []int32 // the registers in those behind
}

// dash is a loop under way.
type dash struct {
	plan    *dashPlan
	w       [window]float64
	sum     float64 // 0 where all that the row under way made are numbers
	row     int
	size    int // rows that the table has
	rows    [][]float64
	columns []columnStore
	near    []*kernel.Curve
	moved   bool
	wary    int // rows that are to be computed with care before the next attempt
}

// slack is that of kernel.Below. As a constant it would be fetched by every
// instruction.
var slack = -kernel.Tolerance

// caution is how many rows are computed with care after one that had to be.
const caution = 16

// dashOnce is loopOnce for a loop that has a plan.
func (mc *Machine) dashOnce(t *task) bool {
	d := mc.startDash(t)
	live := mc.unended(t)
	for d.row < d.size {
		if d.wary > 0 || !mc.goOn(d) {
			mc.careful(d)
		}
		if turn := kernel.Until(d.w[d.plan.until]); turn != kernel.GoesOn {
			live = endAt(d.row-1, turn)
			break
		}
	}
	return mc.endLoop(t, live, d.moved)
}

// startDash readies a loop's window and columns.
func (mc *Machine) startDash(t *task) *dash {
	if mc.dash == nil {
		mc.dash = &dash{}
	}
	d, p := mc.dash, t.dash
	n := copy(d.w[:], mc.r[mc.out():][:p.frame])
	for i, reg := range p.behind {
		d.w[n+i] = 0
		if reg != noReg {
			d.w[n+i] = mc.r[reg]
		}
	}
	mc.kept = mc.kept[:0]
	for _, l := range t.loop {
		mc.kept = append(mc.kept, mc.columns[l.column].one)
	}
	d.plan, d.rows, d.columns, d.near = p, mc.kept, mc.columns, mc.near
	d.row, d.size = 0, mc.p.m.Tables[t.table].Rows
	d.moved = !mc.b.watch // in a Run nobody asks
	d.wary = 1            // the first row is another one
	return d
}

// goOn computes rows until the table ends, and reports whether it does: where
// not, the row under way asks for care.
func (mc *Machine) goOn(d *dash) bool {
	p := d.plan
	i := p.start[d.row&1]
	for {
		i = int(d.run(&p.code, uint8(i)))
		if d.sum != 0 {
			d.wary = caution
			return false
		}
		if p.code[i].op == rowEnd {
			return true
		}
		in := &p.careful[i]
		d.w[in.dst] = mc.slow(in, d.w[:], d.row)
		i++
	}
}

// careful computes the row under way without any haste.
func (mc *Machine) careful(d *dash) {
	odd := d.row & 1
	code := d.plan.first
	if d.row > 0 {
		code = d.plan.careful[d.plan.start[odd]:]
		code = code[:len(d.plan.careful)/2-1]
	}
	if at := quick(code, d.w[:], mc.near, 0); at < len(code) {
		mc.scalarFrom(code, d.w[:], at, d.row)
	}
	row := d.w[odd*len(d.rows):]
	for i, c := range d.rows {
		d.moved = d.moved || !same(c[d.row], row[i])
		c[d.row] = row[i]
	}
	d.row++
	d.wary--
}
