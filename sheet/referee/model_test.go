package referee

import (
	"math"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
)

// maker makes models by hand, a node at a time.
type maker struct{ m *check.Model }

const (
	numbers check.TypeID = iota
	truths
	texts
)

func newMaker() *maker {
	return &maker{&check.Model{
		Nodes: make([]check.Node, 1),
		Types: []check.Type{{}, {Form: check.Truth}, {Form: check.Text}},
	}}
}

func (k *maker) node(n check.Draft) check.NodeID {
	return k.m.Add(n)
}

func (k *maker) op(op check.Op, operands ...check.NodeID) check.NodeID {
	n := check.Draft{Op: op}
	for i, o := range operands {
		*[]*check.NodeID{&n.A, &n.B, &n.C}[i] = o
	}
	if op >= check.Less && op <= check.NotSameText || op == check.And || op == check.Or || op == check.Not {
		n.Type = truths
	}
	return k.node(n)
}

func (k *maker) num(v float64) check.NodeID {
	return k.node(check.Draft{Op: check.Const, Num: v})
}

func (k *maker) truth(b bool) check.NodeID {
	return k.node(check.Draft{Op: check.Const, Type: truths, Num: kernel.Truth(b)})
}

// param reads parameter i of the current function.
func (k *maker) param(i int32, t check.TypeID) check.NodeID {
	return k.node(check.Draft{Op: check.ParamRef, Type: t, Ref: i})
}

func (k *maker) apply(n check.Draft, args ...check.NodeID) check.NodeID {
	n.Args = args
	return k.node(n)
}

// given and cell add scalars and return a reference to them.
func (k *maker) given(v float64, t check.TypeID) check.NodeID {
	return k.add(check.Cell{Value: v, Quantity: check.Quantity{Given: true}}, t)
}

func (k *maker) cell(formula check.NodeID) check.NodeID {
	return k.add(check.Cell{Quantity: check.Quantity{Formula: formula}}, k.m.Nodes[formula].Type())
}

func (k *maker) add(c check.Cell, t check.TypeID) check.NodeID {
	blank := check.NewQuantity(len(k.m.Cells))
	c.Look, c.Origin, c.Details, c.Index = &check.Look{Type: k.m.Types[t]}, blank.Origin, blank.Details, blank.Index
	k.m.Cells = append(k.m.Cells, &c)
	return k.node(check.Draft{Op: check.CellRef, Type: t, Ref: c.Index})
}

// function adds an instance and returns its number.
func (k *maker) function(result check.NodeID, steps ...check.NodeID) int32 {
	k.m.Instances = append(k.m.Instances, &check.Instance{Name: "f", Steps: steps, Result: result})
	return int32(len(k.m.Instances) - 1)
}

// run evaluates the model and returns the values of its cells.
func (k *maker) run(t testing.TB) []float64 {
	t.Helper()
	g, cycles := graph.Build(k.m)
	if len(cycles) > 0 {
		t.Fatalf("cycles: %v", cycles)
	}
	r, err := New(k.m, g)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Run(); err != nil {
		t.Fatal(err)
	}
	return r.cells
}

// value evaluates one formula.
func (k *maker) value(t testing.TB, formula check.NodeID) float64 {
	t.Helper()
	k.cell(formula)
	cells := k.run(t)
	return cells[len(cells)-1]
}

func wants(t *testing.T, got, want float64) {
	t.Helper()
	if !Same(got, want) {
		t.Errorf("%s, want %s", reading(got), reading(want))
	}
}

// TestOperationsOnEverything applies every operation on two operands to
// numbers, blanks and faults: the kernel gives the expected results.
func TestOperationsOnEverything(t *testing.T) {
	values := []float64{0, 1, -1, 2.5, 1e308, -1e308, math.Copysign(0, -1), kernel.Blank, kernel.Fault}
	ops := []check.Op{
		check.Add, check.Sub, check.Mul, check.Div, check.Pow, check.Less, check.LessEqual,
		check.Greater, check.GreaterEqual, check.Equal, check.NotEqual, check.SameText, check.NotSameText,
	}
	k := newMaker()
	var wanted []float64
	for _, a := range values {
		for _, b := range values {
			for _, op := range ops {
				wanted = append(wanted, careful2(op)(a, b))
				k.given(a, numbers)
				k.given(b, numbers)
				n := check.NodeID(len(k.m.Nodes) - 2)
				k.cell(k.op(op, n, n+1))
			}
		}
	}
	cells := k.run(t)
	for i, want := range wanted {
		if got := cells[3*i+2]; !Same(got, want) {
			t.Errorf("%v op %d %v: %s, want %s", cells[3*i], ops[i%len(ops)], cells[3*i+1], reading(got), reading(want))
		}
	}
}

// TestBranches puts yes, no, a blank and a fault into conditions.
func TestBranches(t *testing.T) {
	values := []float64{0, 1, kernel.Blank, kernel.Fault}
	for _, c := range values {
		for _, a := range values {
			for _, b := range values {
				k := newMaker()
				cond, x, y := k.given(c, truths), k.given(a, truths), k.given(b, truths)
				choice := k.node(check.Draft{Op: check.If, Type: truths, A: cond, B: x, C: y})
				wants(t, k.value(t, choice), kernel.If(c, a, b))
				wants(t, k.value(t, k.op(check.And, cond, x)), kernel.And(c, a))
				wants(t, k.value(t, k.op(check.Or, cond, x)), kernel.Or(c, a))
				wants(t, k.value(t, k.op(check.Not, cond)), kernel.Not(c))
			}
		}
	}
}

func TestBlankAndFaultMeetAnywhere(t *testing.T) {
	k := newMaker()
	blank, one, zero := k.given(kernel.Blank, numbers), k.given(1, numbers), k.given(0, numbers)
	bad := k.op(check.Div, one, zero)
	wants(t, k.value(t, k.op(check.Add, blank, bad)), kernel.Fault)
	wants(t, k.value(t, k.op(check.Add, bad, blank)), kernel.Fault)
	under := k.op(check.Less, blank, one)
	choice := k.op(check.If, under, bad, bad)
	wants(t, k.value(t, choice), kernel.Blank)
	wants(t, k.value(t, k.op(check.Mul, choice, one)), kernel.Blank)
	wants(t, k.value(t, k.op(check.Neg, blank)), kernel.Blank)
	// The branch that is not taken does not count, even carefully.
	k2 := k.op(check.If, k.op(check.Less, one, zero), bad, blank)
	wants(t, k.value(t, k2), kernel.Blank)
}

func TestOverflowDoesNotWait(t *testing.T) {
	k := newMaker()
	large := k.given(1e300, numbers)
	wants(t, k.value(t, k.op(check.Div, k.num(1), k.op(check.Mul, large, large))), kernel.Fault)
	wants(t, k.value(t, k.op(check.Div, k.num(1), k.num(0))), kernel.Fault)
	wants(t, k.value(t, k.op(check.Less, k.op(check.Mul, k.num(1e300), k.num(1e300)), k.num(1))), kernel.Fault)
}

// TestLeftAndRight checks operators that govaluate alone would associate
// wrongly.
func TestLeftAndRight(t *testing.T) {
	k := newMaker()
	n := func(v float64) check.NodeID { return k.num(v) }
	g := k.given(2, numbers)
	wants(t, k.value(t, k.op(check.Sub, k.op(check.Sub, g, n(3)), n(4))), -5)
	wants(t, k.value(t, k.op(check.Sub, g, k.op(check.Sub, n(3), n(4)))), 3)
	wants(t, k.value(t, k.op(check.Div, k.op(check.Div, n(16), g), n(4))), 2)
	wants(t, k.value(t, k.op(check.Pow, g, k.op(check.Pow, n(3), g))), 512)
	wants(t, k.value(t, k.op(check.Neg, k.op(check.Pow, g, g))), -4)
	wants(t, k.value(t, k.op(check.Mul, g, k.op(check.Neg, k.op(check.Neg, n(-3))))), -6)
	inner := k.op(check.If, k.truth(false), n(1), k.op(check.If, k.op(check.Less, g, n(3)), n(7), n(8)))
	wants(t, k.value(t, k.op(check.If, k.truth(true), inner, n(9))), 7)
	wants(t, k.value(t, k.op(check.If, k.op(check.Less, n(3), g), n(9), inner)), 7)
}

// TestDeepNesting goes far beyond what govaluate survives, to the left, to
// the right, in conditions and in branches.
func TestDeepNesting(t *testing.T) {
	const deep = 100_000
	k := newMaker()
	one := k.given(1, numbers)
	left, right, negated := one, one, one
	for range deep {
		left = k.op(check.Add, left, one)
		right = k.op(check.Add, one, right)
		negated = k.op(check.Neg, negated)
	}
	both := k.op(check.Less, k.num(0), one)
	for range deep {
		both = k.op(check.And, both, k.op(check.Less, k.num(0), one))
	}
	ladder := k.num(5)
	for i := range 2000 {
		ladder = k.op(check.If, k.op(check.Less, one, k.num(float64(-i))), k.num(3), ladder)
	}
	for _, formula := range []check.NodeID{left, right, negated, both, ladder} {
		k.cell(formula)
	}
	cells := k.run(t)
	for i, want := range []float64{deep + 1, deep + 1, 1, 1, 5} {
		wants(t, cells[1+i], want)
	}
}

func TestDeepNestingOfBlanks(t *testing.T) {
	k := newMaker()
	blank := k.given(kernel.Blank, numbers)
	left, faulty := blank, k.op(check.Div, k.num(1), k.num(0))
	for range 5000 {
		left = k.op(check.Add, left, k.num(1))
		faulty = k.op(check.Mul, k.num(2), faulty)
	}
	wants(t, k.value(t, left), kernel.Blank)
	wants(t, k.value(t, k.op(check.Add, left, faulty)), kernel.Fault)
	wants(t, k.value(t, k.op(check.If, k.op(check.Less, left, k.num(1)), faulty, faulty)), kernel.Blank)
}

// TestSharedNodes has each node read twice by the next: walking it as a tree
// would never end.
func TestSharedNodes(t *testing.T) {
	k := newMaker()
	x := k.op(check.Add, k.given(1, numbers), k.num(0))
	for range 60 {
		half := k.op(check.Mul, x, k.num(0.5))
		x = k.op(check.If, k.op(check.Less, x, k.num(2)), k.op(check.Add, half, half), x)
	}
	wants(t, k.value(t, x), 1)
}

func TestCalls(t *testing.T) {
	k := newMaker()
	// f(a, b) = if a > 0 then b + step else step, step = a * a
	a, b := k.param(0, numbers), k.param(1, numbers)
	step := k.op(check.Mul, a, a)
	ref := k.node(check.Draft{Op: check.StepRef, Ref: 0})
	f := k.function(k.op(check.If, k.op(check.Greater, a, k.num(0)), k.op(check.Add, b, ref), ref), step)
	bad := k.op(check.Div, k.num(1), k.given(0, numbers))
	of := func(args ...check.NodeID) check.NodeID {
		return k.apply(check.Draft{Op: check.Call, Ref: f}, args...)
	}
	wants(t, k.value(t, of(k.num(3), k.num(4))), 13)
	wants(t, k.value(t, of(k.num(-3), bad)), 9) // the argument is not read
	wants(t, k.value(t, of(k.num(3), bad)), kernel.Fault)
	wants(t, k.value(t, of(of(k.num(1), k.num(1)), of(k.num(-2), bad))), 8)
	wants(t, k.value(t, of(k.given(kernel.Blank, numbers), k.num(1))), kernel.Blank)
}

// TestManyCalls doubles its calls at every level: expanded it would be 2^40
// operations, but nothing is expanded, and the branch is not taken.
func TestManyCalls(t *testing.T) {
	k := newMaker()
	f := k.function(k.op(check.Add, k.param(0, numbers), k.num(1)))
	for range 40 {
		x := k.param(0, numbers)
		call := func() check.NodeID { return k.apply(check.Draft{Op: check.Call, Ref: f}, x) }
		f = k.function(k.op(check.If, k.op(check.Less, x, k.num(0)), k.op(check.Add, call(), call()), x))
	}
	wants(t, k.value(t, k.apply(check.Draft{Op: check.Call, Ref: f}, k.num(3))), 3)
}

// TestCallsWithinCalls nests as many functions as a formula may hold
// operations.
func TestCallsWithinCalls(t *testing.T) {
	k := newMaker()
	f := k.function(k.param(0, numbers))
	const deep = 50_000
	for range deep {
		call := k.apply(check.Draft{Op: check.Call, Ref: f}, k.param(0, numbers))
		f = k.function(k.op(check.Add, call, k.num(1)))
	}
	wants(t, k.value(t, k.apply(check.Draft{Op: check.Call, Ref: f}, k.num(0))), deep)
}

func TestLongChainOfCells(t *testing.T) {
	k := newMaker()
	x := k.given(1, numbers)
	const long = 100_000
	for range long {
		x = k.cell(k.op(check.Add, x, k.num(1)))
	}
	cells := k.run(t)
	wants(t, cells[len(cells)-1], long+1)
}

func TestIntrinsics(t *testing.T) {
	k := newMaker()
	k.m.Intrinsics = []kernel.Intrinsic{
		{Name: "max", Max: -1, F2: kernel.Higher},
		{Name: "sqrt", Max: 1, F1: kernel.Sqrt},
		{Name: "pi", F1: func(float64) float64 { return math.Pi }},
	}
	of := func(i int32, args ...check.NodeID) check.NodeID {
		return k.apply(check.Draft{Op: check.Intrinsic, Ref: i}, args...)
	}
	two, bad := k.given(2, numbers), k.op(check.Div, k.num(1), k.num(0))
	blank := k.given(kernel.Blank, numbers)
	wants(t, k.value(t, of(0, two, k.num(3))), 3)
	wants(t, k.value(t, of(0, k.num(1), two, k.op(check.Mul, two, two), two)), 4)
	wants(t, k.value(t, of(0, k.num(1), two, blank)), kernel.Blank)
	wants(t, k.value(t, of(0, blank, two, bad)), kernel.Fault)
	wants(t, k.value(t, of(1, k.num(9))), 3)
	wants(t, k.value(t, of(1, k.num(-9))), kernel.Fault)
	wants(t, k.value(t, of(2)), math.Pi)
	many := make([]check.NodeID, 5000)
	for i := range many {
		many[i] = k.num(float64(i % 777))
	}
	wants(t, k.value(t, of(0, many...)), 776)
}
