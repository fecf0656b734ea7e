package program

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"unsafe"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// plainStrips runs strips a lane at a time: what the build with vectors is held
// to, and what lets every build test how the code of strips is made.
func plainStrips(r *stripRun) {
	for {
		for ; r.at < len(r.under); r.at++ {
			if r.under[r.at].op == stripEach {
				return
			}
			for lane := range stripLanes {
				plainStrip(r, &r.under[r.at], lane)
			}
		}
		if r.lane += stripLanes; r.lane >= r.lanes {
			return
		}
		r.lane = min(r.lane, r.lanes-stripLanes)
		r.room[inLanes] = unsafe.Add(r.first, r.lane*8)
		r.at = 0
	}
}

// accumulator is that of plainStrips.
var accumulator [stripLanes]float64

func plainStrip(r *stripRun, in *stripStep, lane int) {
	x := &accumulator[lane]
	if in.ra != nowhere {
		*x = r.strip(in.ra, in.a)[lane]
	}
	p := r.strip(in.rb, in.b)
	y := p[lane]
	switch in.op {
	case stripAddOne, stripSubOne, stripFromOne, stripMulOne, stripDivOne, stripIntoOne,
		stripAtLeastOne, stripAtMostOne:
		y = p[0]
	}
	before := *x
	switch in.op {
	case stripMove:
	case stripAdd, stripAddOne:
		*x += y
	case stripSub, stripSubOne:
		*x -= y
	case stripFrom, stripFromOne:
		*x = y - *x
	case stripMul, stripMulOne:
		*x *= y
	case stripDiv, stripDivOne:
		*x /= y
	case stripInto, stripIntoOne:
		*x = y / *x
	case stripDivide:
		less, inverse, low := p[0], p[4], p[8]
		q := math.FMA(*x, inverse, *x*low)
		*x = math.FMA(math.FMA(q, less, *x), inverse, q)
		r.marks[0] &= math.Float64bits(before) ^ 2*math.Float64bits(before)
	case stripLower, stripLowest, stripHigher, stripHighest:
		*x = plainExtreme(in.op, *x, y)
		r.sum[0] += 0*before + 0*y
	case stripAtLeast:
		*x = plainAtLeast(r, *x, y)
	case stripAtMost:
		*x = plainAtLeast(r, y, *x)
	case stripAtLeastOne:
		*x = plainTruth(r, *x >= y, *x < r.strip(in.rc, in.c)[0])
	case stripAtMostOne:
		*x = plainTruth(r, y >= *x, *x > r.strip(in.rc, in.c)[4])
	case stripChoose, stripPick:
		*x = r.strip(in.rc, in.c)[lane]
		if before == 1 {
			*x = y
		} else if before != 0 {
			r.marks[0] = 0
		}
	case stripSqrt:
		*x = math.Sqrt(*x)
	case stripAbs:
		*x = math.Abs(*x)
	case stripNeg:
		*x = -*x
	}
	switch in.then {
	case thenSees:
		r.sum[0] += 0 * *x
	case thenNot:
		*x = 1 - *x
	}
	if in.rd != nowhere {
		r.strip(in.rd, in.d)[lane] = *x
	}
}

func plainExtreme(op stripOp, x, y float64) float64 {
	switch op {
	case stripLower:
		return leastMoved(x, y)
	case stripLowest:
		return leastMoved(y, x)
	case stripHigher:
		return mostMoved(x, y)
	}
	return mostMoved(y, x)
}

func plainAtLeast(r *stripRun, x, y float64) float64 {
	return plainTruth(r, x >= y, kernel.Below(x, y))
}

// plainTruth is a truth, which may be neither.
func plainTruth(r *stripRun, is, isNot bool) float64 {
	if !is && !isNot {
		r.marks[0] = 0
	}
	return kernel.Truth(is)
}

// everyWay calls f with strips run as this build does, if it does, and a lane
// at a time.
func everyWay(f func()) {
	was := runStrips
	defer func() { runStrips = was }()
	if was != nil {
		f()
	}
	runStrips = plainStrips
	f()
}

// smooth are values that make no trouble, as most are.
func smooth(r *rand.Rand) float64 { return 1 + math.Round(800*r.Float64())/64 }

// TestStripsGiveWhatPlainGives runs random sheets over lanes of strips, with
// values that make no trouble, with a few that do, and with many. Strips leave
// of a block what is right, or say so.
func TestStripsGiveWhatPlainGives(t *testing.T) {
	everyWay(func() {
		right, wrong := 0, 0
		for seed := range uint64(randomSheets) {
			s := randomSheet(seed)
			r := rand.New(rand.NewPCG(seed, 11))
			g := &guess{r: r}
			const lanes = blockLanes + stripLanes + 5
			fast, plain := s.compile(t, Options{}).NewMachine(lanes), s.compile(t, Options{Plain: true}).NewMachine(lanes)
			for i, c := range s.Cells {
				if !c.Given || r.IntN(4) == 0 {
					continue
				}
				for lane := range lanes {
					v := smooth(r)
					if seed%3 == 1 && r.IntN(200) == 0 || seed%3 == 2 {
						v = g.number()
					}
					fast.SetCell(i, lane, v)
					plain.SetCell(i, lane, v)
				}
			}
			fast.Run()
			plain.Run()
			for lane := lanes - 1; lane >= 0; lane -= 1 + r.IntN(40) {
				compare(t, fmt.Sprintf("sheet %d, lane %d", seed, lane), picture(fast, lane), picture(plain, lane))
			}
			if t.Failed() {
				return
			}
			for i := range fast.several {
				if run := fast.several[i].run; run != nil {
					run.skip = 0
					if fast.startBlock(fast.several[i].slots, 0); fast.byStrips(run, 0, fast.b.n) {
						right++
					} else {
						wrong++
					}
				}
			}
		}
		if right < randomSheets/3 || wrong < randomSheets/3 {
			t.Errorf("strips were right of %d blocks and not of %d: too few to tell", right, wrong)
		}
	})
}

// TestStripsDoEveryOperation holds each operation to the kernel, with either
// operand the same in all lanes or not, and either in the accumulator or not.
func TestStripsDoEveryOperation(t *testing.T) {
	everyWay(func() {
		for _, op := range []check.Op{
			check.Add, check.Sub, check.Mul, check.Div, check.Pow, check.Neg, check.Less, check.LessEqual, check.Greater,
			check.GreaterEqual, check.Equal, check.NotEqual, check.If, check.And, check.Or, check.Not,
		} {
			for shape := range 16 {
				stripsOfOperation(t, op, shape)
			}
		}
		for i := range newSketch().Intrinsics {
			for shape := range 16 {
				stripsOfOperation(t, check.Intrinsic+check.Op(0), shape|i<<4)
			}
		}
	})
}

// stripsOfOperation makes a sheet of one operation, and of others round about.
func stripsOfOperation(t *testing.T, op check.Op, shape int) {
	t.Helper()
	s := newSketch()
	a, b, swept := s.given("a", 3), s.given("b", 1.75), s.given("swept", 1)
	operand := func(c *check.Cell, in bool) check.NodeID {
		if in {
			return s.op(check.Add, s.cellRef(c), s.num(0.25)) // in the accumulator
		}
		return s.cellRef(c)
	}
	x, y := operand(a, shape&1 != 0), operand(b, shape&2 != 0)
	truth := func(v check.NodeID) check.NodeID { return s.op(check.Greater, v, s.num(2)) }
	switch op {
	case check.If:
		s.cell("r", s.op(op, truth(x), y, s.cellRef(swept)))
	case check.And, check.Or:
		s.cell("r", s.op(op, truth(x), truth(y)))
	case check.Not:
		s.cell("r", s.op(op, truth(x)))
	case check.Neg:
		s.cell("r", s.op(op, x))
	case check.Intrinsic:
		if i := shape >> 4; s.Intrinsics[i].F2 != nil {
			s.cell("r", s.intrinsic(i, x, y))
		} else {
			s.cell("r", s.intrinsic(i, x))
		}
	default:
		s.cell("r", s.op(op, x, y))
	}
	s.cell("more", s.op(check.Mul, s.cellRef(s.Cells[3]), s.cellRef(swept)))
	const lanes = 3*stripLanes + 7
	fast, plain := s.compile(t, Options{}).NewMachine(lanes), s.compile(t, Options{Plain: true}).NewMachine(lanes)
	for lane := range lanes {
		for _, mc := range []*Machine{fast, plain} {
			mc.SetCell(2, lane, float64(lane)/8)
			if shape&4 == 0 {
				mc.SetCell(0, lane, 1+float64(lane)/7)
			}
			if shape&8 == 0 {
				mc.SetCell(1, lane, 4-float64(lane)/16)
			}
		}
	}
	fast.Run()
	plain.Run()
	for lane := range lanes {
		compare(t, fmt.Sprintf("operation %d, shape %b, lane %d", op, shape, lane), picture(fast, lane), picture(plain, lane))
	}
}

// TestStripsSeeWhatIsTooLarge makes one lane too large for a number where what
// reads it could make numbers of that again: as a divisor, in a comparison, a
// choice, a power, as the smaller of two.
func TestStripsSeeWhatIsTooLarge(t *testing.T) {
	everyWay(func() {
		for what, formula := range map[string]func(s *sketch, large check.NodeID) check.NodeID{
			"divides":  func(s *sketch, large check.NodeID) check.NodeID { return s.op(check.Div, s.num(3), large) },
			"compares": func(s *sketch, large check.NodeID) check.NodeID { return s.op(check.Less, large, s.num(4)) },
			"power":    func(s *sketch, large check.NodeID) check.NodeID { return s.op(check.Pow, large, s.num(-0.3)) },
			"smaller":  func(s *sketch, large check.NodeID) check.NodeID { return s.intrinsic(1, large, s.num(2)) },
			"root": func(s *sketch, large check.NodeID) check.NodeID {
				return s.op(check.Div, s.num(1), s.intrinsic(0, large))
			},
			"chosen": func(s *sketch, large check.NodeID) check.NodeID {
				return s.op(check.Div, s.num(1), s.op(check.If, s.op(check.Less, s.num(2), s.num(1)), s.num(1), large))
			},
		} {
			s := newSketch()
			a := s.given("a", 3)
			s.cell(what, formula(s, s.op(check.Mul, s.cellRef(a), s.num(2))))
			mc := s.compile(t, Options{}).NewMachine(2 * stripLanes)
			for lane := range mc.Lanes() {
				mc.SetCell(0, lane, float64(lane+1))
			}
			mc.SetCell(0, 40, 1.7e308)
			mc.Run()
			if v := mc.Cell(1, 40); v == v {
				t.Errorf("%s: %v of what is too large for a number", what, v)
			}
			if v := mc.Cell(1, 41); v != v {
				t.Errorf("%s: the next lane is at fault too", what)
			}
		}
	})
}

// TestStripsFollowASetting sets givens for lanes in turn, one of them for the
// first time after a Run: what is the same in all lanes is laid out anew.
func TestStripsFollowASetting(t *testing.T) {
	everyWay(func() {
		s := gears()
		fast, plain := s.compile(t, Options{}).NewMachine(stripLanes+1), s.compile(t, Options{Plain: true}).NewMachine(stripLanes+1)
		for turn, cell := range []int{0, 0, 1, 2, 0} {
			for lane := range stripLanes + 1 {
				v := s.Cells[cell].Value * (1 + float64(lane*turn)/64)
				fast.SetCell(cell, lane, v)
				plain.SetCell(cell, lane, v)
			}
			if turn == 3 {
				fast.Update()
			}
			fast.Run()
			plain.Run()
			for lane := range stripLanes + 1 {
				compare(t, fmt.Sprintf("turn %d, lane %d", turn, lane), picture(fast, lane), picture(plain, lane))
			}
		}
	})
}

// TestStripsSeeASharedFault gives what all lanes share a fault or a blank, as
// either of two whose smaller or larger one is asked for, or is chosen.
func TestStripsSeeASharedFault(t *testing.T) {
	everyWay(func() {
		for _, shared := range []float64{kernel.Fault, kernel.Blank} {
			for what, formula := range map[string]func(s *sketch, a, b check.NodeID) check.NodeID{
				"smaller":     func(s *sketch, a, b check.NodeID) check.NodeID { return s.intrinsic(1, a, b) },
				"smaller too": func(s *sketch, a, b check.NodeID) check.NodeID { return s.intrinsic(1, b, a) },
				"larger":      func(s *sketch, a, b check.NodeID) check.NodeID { return s.intrinsic(6, a, b) },
				"larger too":  func(s *sketch, a, b check.NodeID) check.NodeID { return s.intrinsic(6, b, a) },
				"chosen": func(s *sketch, a, b check.NodeID) check.NodeID {
					return s.op(check.If, s.op(check.Less, a, s.num(20)), a, b)
				},
			} {
				s := newSketch()
				a, b := s.given("a", 3), s.given("b", 2)
				s.cell(what, formula(s, s.op(check.Mul, s.cellRef(a), s.num(2)), s.cellRef(b)))
				fast, plain := s.compile(t, Options{}).NewMachine(2*stripLanes), s.compile(t, Options{Plain: true}).NewMachine(2*stripLanes)
				for _, mc := range []*Machine{fast, plain} {
					for lane := range mc.Lanes() {
						mc.SetCell(0, lane, float64(lane+1))
					}
					mc.SetAll(1, shared)
					mc.Run()
				}
				for lane := range fast.Lanes() {
					compare(t, fmt.Sprintf("%s, lane %d", what, lane), picture(fast, lane), picture(plain, lane))
				}
			}
		}
	})
}
