package program

import "gearleaf/sheet/kernel"

// Where the rows of a table lean on one another, a row takes little more than
// its instructions take to be chosen and their operands to be fetched. So these
// rows have code of their own. Its registers stand in a window, in which a place
// is a byte and needs no check. What an instruction makes is at hand for the
// next one. Values on their way are not looked at: all are added up, each taken
// from itself, and where that is no longer 0 the row is computed once more,
// with care. And each row of a round has code of its own: what the one calls the
// row under way is the row before to the next, and no value need be moved up.

// short is an instruction of a dash; its operands are places in the window,
// where ops does not say otherwise.
type short struct {
	op              opcode
	dst, a, b, c, d uint8
	next            uint8 // where the code goes on behind the end of a row
	_               uint8
}

// window is how many places there are.
const window = 256

// dashCode is the code of a round of rows. Each row has a rowEnd, which ends the
// table where b is not 0; the last has a roundEnd or, where rounds are short, a
// shortEnd, which store the round besides: its rows stand one behind the other
// from a on, c places each.
type dashCode [window]short

// round is how many rows have code of their own, so that they can be stored
// together; shortRound is how many where that many do not fit.
const round, shortRound = 4, 2

// dashPlan is what a loop needs for a dash.
type dashPlan struct {
	code  dashCode
	start []int // of each row of a round
	// careful is code, and first that of the first row, as quick and slow take
	// it, and with the window for registers.
	careful, first []instr
	until          uint8
	frame          int     // how much of the frame stands in the window's first places
	round          int     // where the rows of a round stand
	behind         []int32 // the registers behind them
}

// dash is a loop under way.
type dash struct {
	plan    *dashPlan
	w       [window]float64
	sum     float64 // 0 where all that the row under way made are numbers
	row     int
	stored  int // rows that stand in their columns by now
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
	copy(d.w[:], mc.r[mc.out():][:p.frame])
	behind := d.w[p.round+len(p.start)*len(t.loop):]
	for i, reg := range p.behind {
		behind[i] = 0
		if reg != noReg {
			behind[i] = mc.r[reg]
		}
	}
	mc.kept = mc.kept[:0]
	for _, l := range t.loop {
		mc.kept = append(mc.kept, mc.columns[l.column].one)
	}
	d.plan, d.rows, d.columns, d.near = p, mc.kept, mc.columns, mc.near
	d.row, d.stored, d.size = 0, 0, mc.p.m.Tables[t.table].Rows
	d.moved = !mc.b.watch // in a Run nobody asks
	d.wary = 1            // the first row is another one
	return d
}

// goOn computes rows, to the end of the table if all goes well. It reports
// whether the row under way asks for no care.
func (mc *Machine) goOn(d *dash) bool {
	p := d.plan
	i := p.start[d.row%len(p.start)]
	for {
		i = int(d.run(&p.code, uint8(i)))
		if d.sum != 0 {
			d.store()
			d.wary = caution
			return false
		}
		if p.code[i].op >= rowEnd && p.code[i].op <= shortEnd {
			d.store()
			return true
		}
		in := &p.careful[i]
		d.w[in.dst] = mc.slow(in, d.w[:], d.row)
		i++
	}
}

// store stores the rows that are not yet.
func (d *dash) store() {
	for ; d.stored < d.row; d.stored++ {
		values := d.w[d.plan.round+d.stored%len(d.plan.start)*len(d.rows):]
		for i, c := range d.rows {
			d.moved = d.moved || !same(c[d.stored], values[i])
			c[d.stored] = values[i]
		}
	}
}

// careful computes the row under way without any haste.
func (mc *Machine) careful(d *dash) {
	p := d.plan
	code := p.first
	if d.row > 0 {
		code = p.careful[p.start[d.row%len(p.start)]:]
		code = code[:len(p.careful)/len(p.start)-1]
	}
	if at := quick(code, d.w[:], mc.near, 0); at < len(code) {
		mc.scalarFrom(code, d.w[:], at, d.row)
	}
	d.row++
	d.store()
	d.wary--
}
