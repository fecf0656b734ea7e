package program

import (
	"fmt"
	"slices"
	"testing"

	"gearleaf/sheet/check"
)

// TestInstructionsOfOneOpcodeStandTogether writes chains of cells one after
// the other, a chain a gear, and asks that joint code goes over all chains
// with one opcode before it turns to the next.
func TestInstructionsOfOneOpcodeStandTogether(t *testing.T) {
	const chains = 5
	s := newSketch()
	a, b := s.given("a", 2), s.given("b", 3)
	for i := range chains {
		ratio := s.given(fmt.Sprint("ratio", i), float64(i+2))
		whole := s.cell(fmt.Sprint("whole", i), s.op(check.Mul, s.cellRef(a), s.cellRef(ratio)))
		s.cell(fmt.Sprint("share", i), s.op(check.Div, s.cellRef(b), s.cellRef(whole)))
		root := s.cell(fmt.Sprint("root", i), s.intrinsic(0, s.cellRef(whole)))
		s.cell(fmt.Sprint("more", i), s.op(check.GreaterEqual, s.cellRef(root), s.cellRef(b)))
	}
	p := s.compile(t, Options{})
	code, _, ok := p.joint(tasksOf(p))
	if !ok || len(code) != 3*chains {
		t.Fatalf("%d instructions", len(code))
	}
	var turns []opcode
	for i, in := range code {
		if i == 0 || code[i-1].op != in.op {
			turns = append(turns, in.op)
		}
	}
	if want := []opcode{opMulInto, opSqrt, opGreaterEqual}; !slices.Equal(turns, want) {
		t.Errorf("stretches of %v, want %v", turns, want)
	}
}
