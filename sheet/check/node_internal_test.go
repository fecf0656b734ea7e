package check

import (
	"math"
	"slices"
	"testing"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// TestPackedNumbers puts numbers into nodes and takes them out, to the bit:
// blanks and faults differ in theirs.
func TestPackedNumbers(t *testing.T) {
	for _, v := range []float64{0, math.Copysign(0, -1), 1, -1.5, 1e308, 5e-324, math.Inf(1), math.Inf(-1), kernel.Blank, kernel.Fault} {
		n := number(textType, v)
		if got := n.Num(); math.Float64bits(got) != math.Float64bits(v) || n.Op != Const || n.Type() != textType {
			t.Errorf("%x went in as %v and came out as %x, type %d", math.Float64bits(v), n.Op, math.Float64bits(got), n.Type())
		}
	}
}

// TestPackedTypes gives a node types of every width.
func TestPackedTypes(t *testing.T) {
	for _, want := range []TypeID{0, 1, 255, 256, 1<<16 - 1, 1 << 16, 1<<24 - 1} {
		made, set := operation(Add, want, 3, 4), operation(Add, 0x123456, 3, 4)
		set.setType(want)
		if made != set || made.Type() != want || made.A != 3 || made.B != 4 {
			t.Errorf("type %d: made %+v, set %+v", want, made, set)
		}
	}
}

// TestPackedParts takes out of packed nodes what was put in.
func TestPackedParts(t *testing.T) {
	m := &Model{}
	a, b, c := m.Add(Draft{Op: Const, Num: 1}), m.Add(Draft{Op: Const, Num: 2}), m.Add(Draft{Op: CellRef, Ref: 9})
	inner := &Instance{Result: a, Valids: []Valid{{Cond: b}, {Cond: c}}}
	m.Instances = []*Instance{{}, inner}
	node := func(d Draft) *Node { return m.Node(m.Add(d)) }
	operands := func(n *Node, want ...NodeID) {
		t.Helper()
		if got := m.AppendOperands(nil, n); !slices.Equal(got, want) {
			t.Errorf("operation %d has the operands %v, want %v", n.Op, got, want)
		}
	}
	operands(m.Node(c))
	if m.Node(c).Ref() != 9 {
		t.Errorf("the reference is %d", m.Node(c).Ref())
	}
	operands(node(Draft{Op: Sub, A: b, B: a}), b, a)
	operands(node(Draft{Op: Neg, A: b}), b)
	operands(node(Draft{Op: Aggregate, A: 5, Ref: 1}))
	operands(node(Draft{Op: IndexAt, A: c, Ref: 1}), c)
	operands(node(Draft{Op: If, A: c, B: a, C: b}), c, a, b)
	look := node(Draft{Op: Lookup, A: c, Ref: 7, B: 8, C: NodeID(kernel.Pick)})
	operands(look, c)
	if xs, ys, form := m.LookupOf(look); xs != 7 || ys != 8 || form != kernel.Pick {
		t.Errorf("a look-up of %d in %d, %v", ys, xs, form)
	}
	for _, d := range []struct {
		Draft
		want NodeID
	}{{Draft{Op: Call, Ref: 1, Args: []NodeID{a, c}}, a}, {Draft{Op: ValidCall, Ref: 1, C: 1, Args: []NodeID{a, c}}, c}} {
		n := node(d.Draft)
		operands(n, a, c)
		if in, result := m.ResultOf(n); in != inner || result != d.want || m.InstanceOf(n) != 1 {
			t.Errorf("operation %d gives node %d of instance %d", n.Op, result, m.InstanceOf(n))
		}
	}
}

// TestMeasuresAreBounded refuses a sheet with more dimensions than nodes can
// distinguish; here that is very few.
func TestMeasuresAreBounded(t *testing.T) {
	const text = "a : 2 m\narea = a * a\nvolume = area * a\n"
	for most, want := range map[int]bool{6: true, 7: false} {
		tree, _ := syntax.Parse(source.New("bounded.leaf", text))
		c := newChecker(Input{Files: []File{{Tree: tree}}})
		c.m.mostTypes = most
		_, list := c.run()
		refused := slices.ContainsFunc(list, func(d diag.Diagnostic) bool { return d.Code == diag.TooLarge && d.Severity == diag.Error })
		if refused != want || list.Errors() != want {
			t.Errorf("with room for %d: refused %v, %v", most, refused, list)
		}
	}
}
