package program

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// tapestry is a sheet of batches: every two operations one after the other,
// on leaves of each cell's own and on what the cells share. between is how many cells lie between the givens
// that the cells read.
func tapestry(seed uint64, between int) *sketch {
	const wide = 9
	s, r := newSketch(), rand.New(rand.NewPCG(seed, 31))
	var givens []*check.Cell
	for range 40 {
		givens = append(givens, s.given(fmt.Sprint("g", len(s.Cells)), float64(1+r.IntN(64))/8))
		for range between {
			s.given(fmt.Sprint("g", len(s.Cells)), 1)
		}
	}
	leaf := func() check.NodeID { return s.cellRef(givens[r.IntN(len(givens))]) }
	steady, shared := s.given("steady", 1.75), false
	number := func() check.NodeID {
		if shared {
			return s.cellRef(steady)
		}
		return s.num(1.25)
	}
	operation := func(o int, x, y check.NodeID) check.NodeID {
		switch o {
		case 4:
			return s.intrinsic(1, x, y)
		case 5:
			return s.intrinsic(6, x, y)
		case 6:
			return s.intrinsic(5, x)
		case 7:
			return s.intrinsic(0, x)
		case 8:
			return s.op(check.If, s.op(check.Less, x, y), leaf(), leaf())
		case 9:
			return s.op(check.If, s.op(check.GreaterEqual, x, y), leaf(), number())
		}
		return s.op([]check.Op{check.Add, check.Sub, check.Mul, check.Div}[o], x, y)
	}
	for first := range 10 {
		for second := range 8 {
			for kind := range 36 {
				shared = kind >= 18
				for range wide {
					operands := [][2]func() check.NodeID{{leaf, leaf}, {leaf, number}, {number, leaf}}[kind%3]
					x, y := operation(first, operands[0](), operands[1]()), leaf()
					if kind%18 >= 9 {
						y = number()
					}
					formula := operation(second, x, y)
					switch kind % 9 / 3 {
					case 1:
						formula = operation(second, y, x)
					case 2: // the first result is wanted once more
						formula = s.op(check.Sub, formula, x)
					}
					s.cell(fmt.Sprint("c", len(s.Cells)), formula)
				}
			}
		}
	}
	return s
}

// TestWovenLeavesGiveWhatThePlainProgramGives computes batches of numbers, and
// again with what is none among their leaves.
func TestWovenLeavesGiveWhatThePlainProgramGives(t *testing.T) {
	for seed, between := range []int{0, 0, 2000} {
		s := tapestry(uint64(seed), between)
		p := s.compile(t, Options{Singly: true})
		if len(p.batches) < 300 {
			t.Fatalf("%d batches", len(p.batches))
		}
		near, far := 0, 0
		for _, b := range p.batches {
			for _, l := range b.leaves {
				if l.near != nil {
					near++
				}
				if l.far != nil {
					far++
				}
			}
		}
		if near == 0 || (far == 0) != (between == 0) {
			t.Errorf("%d leaves are near, %d far", near, far)
		}
		one, also, other := p.NewMachine(1), s.compile(t, Options{}).NewMachine(1), s.compile(t, Options{Plain: true}).NewMachine(1)
		values := []float64{0.5, kernel.Blank, 1e308, kernel.Fault, -0.25}
		if between > 0 {
			values = values[:2] // that many givens take their time
		}
		for turn, v := range values {
			for _, mc := range []*Machine{one, also, other} {
				mc.SetCell(turn*(between+1), 0, v)
				mc.Run()
			}
			want := picture(other, 0)
			compare(t, fmt.Sprintf("sheet %d, turn %d", seed, turn), picture(one, 0), want)
			compare(t, fmt.Sprintf("sheet %d, turn %d, by vectors if there are any", seed, turn), picture(also, 0), want)
		}
	}
}
