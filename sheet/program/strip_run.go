package program

import (
	"math"
	"slices"
	"unsafe"

	"gearleaf/sheet/kernel"
)

// runStrips takes lanes through code of strips; nil where the build or the
// processor has no vectors.
var runStrips func(r *stripRun)

// powers is kernel.Powers, as fast as the build and the processor do it.
var powers = kernel.Powers

// stripRun is what a machine needs to run code of strips.
type stripRun struct {
	*stripCode
	// code is that of stripCode as it is run; exact divides wherever it divides.
	code, exact []stripStep
	args        [][2]address      // of the calls
	room        [4]unsafe.Pointer // where the rooms begin
	first       unsafe.Pointer    // and where the lanes of register 0 do

	fits bool // all that is shared is numbers
	skip int  // how many blocks are left to the other code without a trial
	wait int  // how many were, after the last trial that failed

	under []stripStep // the code under way
	at    int         // the instruction
	lane  int         // the strip
	lanes int         // where lanes end
	sum   [4]float64  // 0 as long as all that is seen is numbers
	marks [4]uint64   // bit 62 set as long as what is unsure has not come
}

// uses returns how much of the frame the code that comes before strips uses.
func (s *stripCode) uses() int32 {
	if s == nil {
		return 0
	}
	return s.slots
}

// whatDiffers tells what differs in the machine, for code of strips; nil where
// there is none.
func (mc *Machine) whatDiffers() *differing {
	if runStrips == nil || mc.p.singly || mc.lanes < stripLanes {
		return nil
	}
	return &differing{
		register: func(reg int32) bool { return reg >= 0 && mc.wide[reg] != nil },
		column: func(column int32) bool {
			c := &mc.columns[column]
			return c.wide != nil || mc.tables[c.table].each != nil
		},
	}
}

const stripBytes = stripLanes * 8

// alignedFloats returns room for n numbers that begins where a strip may.
func alignedFloats(n int) []float64 {
	room := make([]float64, n+stripLanes)
	over := uintptr(unsafe.Pointer(unsafe.SliceData(room))) % stripBytes / 8
	return room[(stripLanes-over)%stripLanes:][:n]
}

// layStrips gives registers that differ room one behind the other, and the
// code of strips its addresses. The registers begin an odd number of strips
// apart: strips of the same lanes would share a few sets of the nearest cache
// otherwise.
func (mc *Machine) layStrips() {
	any := false
	for i := range mc.several {
		any = any || mc.several[i].strips != nil
	}
	if !any {
		return
	}
	apart := ((mc.lanes+stripLanes-1)/stripLanes | 1) * stripLanes
	index, n := make([]int32, len(mc.wide)), 0
	for reg, w := range mc.wide {
		if w != nil {
			index[reg] = int32(n)
			n++
		}
	}
	if n*apart*8 > 1<<30 {
		return // addresses would not do
	}
	room := alignedFloats(n * apart)
	for reg, w := range mc.wide {
		if w != nil {
			at := room[int(index[reg])*apart:][:mc.lanes]
			copy(at, w)
			mc.wide[reg] = at
		}
	}
	for i := range mc.several {
		if s := &mc.several[i]; s.strips != nil {
			s.run = s.strips.lay(room, index, apart*8)
		}
	}
}

// lay turns seats into addresses.
func (s *stripCode) lay(lanes []float64, index []int32, apart int) *stripRun {
	r := &stripRun{stripCode: s, code: make([]stripStep, len(s.code)), args: make([][2]address, len(s.calls))}
	r.first = unsafe.Pointer(unsafe.SliceData(lanes))
	r.room[inFrame] = unsafe.Pointer(unsafe.SliceData(alignedFloats(int(s.frame)*stripLanes + 1)))
	r.room[inShared] = unsafe.Pointer(unsafe.SliceData(alignedFloats(len(s.shared)*stripLanes + 1)))
	at := func(p seat) (uint8, int32) {
		switch {
		case p == own:
			return nowhere, 0
		case p.room() == inLanes:
			return inLanes, index[s.wides[p.index()]] * int32(apart)
		}
		return uint8(p.room()), p.index() * stripBytes
	}
	for i, in := range s.code {
		step := stripStep{op: in.op, then: in.then, call: in.call}
		step.ra, step.a = at(in.a)
		step.rb, step.b = at(in.b)
		step.rc, step.c = at(in.c)
		step.rd, step.d = at(in.d)
		r.code[i] = step
	}
	for i := range s.calls {
		k, operands := 0, s.calls[i]
		operands.operands(func(p *int32) {
			room, to := at(seat(*p))
			r.args[i][k] = address{room, to}
			k++
		})
	}
	r.exact = slices.Clone(r.code)
	return r
}

// address is a place in a room.
type address struct {
	room uint8
	at   int32
}

// strip is the lanes, or the like, at a place.
func (r *stripRun) strip(room uint8, at int32) []float64 {
	return unsafe.Slice((*float64)(unsafe.Add(r.room[room&3], int(at))), stripLanes)
}

// readyStrips makes all code of strips ready.
func (mc *Machine) readyStrips() {
	for i := range mc.several {
		if r := mc.several[i].run; r != nil {
			mc.makeReady(r)
		}
	}
}

// makeReady computes and lays out what is the same in all lanes.
func (mc *Machine) makeReady(r *stripRun) {
	mc.scalar(r.once, 0)
	r.fits = true
	for i, reg := range r.shared {
		at := r.strip(inShared, int32(i*stripBytes))
		switch {
		case reg == sharedZero:
			fill(at, 0)
		case reg == sharedOne:
			fill(at, 1)
		case reg > noReg:
			v := mc.r[reg]
			fill(at, v)
			r.fits = r.fits && v-v == 0
		case reg > sharedNear:
			s := mc.r[r.shared[sharedInverse-reg]]
			fill(at[:4], -s)
			fill(at[4:8], 1/s)
			fill(at[8:12], math.FMA(-s, 1/s, 1)/s)
		default:
			s := mc.r[r.shared[sharedNear-reg]]
			fill(at[:4], s-float64(closeTo*math.Abs(s)))
			fill(at[4:8], s+float64(closeTo*math.Abs(s)))
		}
	}
	for _, i := range r.divisors {
		in := &r.code[i]
		*in = r.exact[i]
		if divides(r.strip(in.rb, in.b)[0]) {
			in.op, in.rb, in.b = stripDivide, in.rc, in.c
		}
	}
}

// byStrips computes a block by strips, if that can be; it reports whether it is
// right. Where it often is not, it is tried seldom.
func (mc *Machine) byStrips(r *stripRun, from, n int) bool {
	if r == nil || !r.fits || n < stripLanes {
		return false
	}
	if r.skip > 0 {
		r.skip--
		return false
	}
	if mc.strips(r, r.code, from, n) || len(r.divisors) > 0 && mc.strips(r, r.exact, from, n) {
		r.wait = 0
		return true
	}
	r.wait = min(2*r.wait+1, 63)
	r.skip = r.wait
	return false
}

// strips takes lanes through code and reports whether all is right.
func (mc *Machine) strips(r *stripRun, code []stripStep, from, n int) bool {
	r.under, r.lane, r.lanes, r.at = code, from, from+n, 0
	r.sum, r.marks = [4]float64{}, [4]uint64{1 << 62, 1 << 62, 1 << 62, 1 << 62}
	for {
		r.room[inLanes] = unsafe.Add(r.first, r.lane*8)
		runStrips(r)
		if r.at == len(code) {
			break
		}
		mc.callStrip(r, &r.under[r.at])
		r.at++
	}
	return r.sum[0]+r.sum[1]+r.sum[2]+r.sum[3] == 0 && r.marks[0]&r.marks[1]&r.marks[2]&r.marks[3]>>62&1 == 1
}

// callStrip does what strips have no instruction for.
func (mc *Machine) callStrip(r *stripRun, in *stripStep) {
	call, args := &r.calls[in.call], &r.args[in.call]
	o, d := &ops[call.op], r.strip(in.rd, in.d)
	a, b := r.strip(args[0].room, args[0].at), r.strip(args[1].room, args[1].at)
	switch {
	case call.op == opPow && args[1].room == inShared:
		powers(d, a, b[0])
	case call.op == opCall1:
		mc.intrinsics[call.c].ApplyLanes(d, a, true)
	case call.op == opCall2:
		for i := range d {
			d[i] = mc.intrinsics[call.c].Apply2(a[i], b[i])
		}
	case call.op == opIndex:
		for i := range d {
			d[i] = mc.index(a[i], call.b)
		}
	case call.op == opLook:
		for i := range d {
			d[i] = mc.look(a[i], call.c)
		}
	default:
		for i := range d {
			d[i] = o.f2(a[i], b[i])
		}
	}
}

// divides reports whether a division by s may go by its inverse: nothing on the
// way comes near the ends of the scale.
func divides(s float64) bool {
	const whole = 1<<52 - 1
	s = math.Abs(s)
	return s > 0x1p-300 && s < 0x1p300 && math.Float64bits(s)&whole != whole
}
