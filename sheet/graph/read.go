package graph

import "gearleaf/sheet/check"

// manner is how a formula reads a cell or a column.
type manner uint8

const (
	cellRead  manner = iota // a scalar
	rowRead                 // a column's value in this row, or in the next
	prevRead                // a column's value in the row before
	wholeRead               // a column from end to end, or an entry of it
)

// reader walks formulas and tells what they read. It marks nodes by walk, so
// that a node shared by many operands is seen once.
type reader struct {
	m     *check.Model
	marks []int32
	walk  int32
	stack []check.NodeID
	// libraries holds, for each instance, the columns of library tables
	// that its body reads; nil where that is not known yet.
	libraries [][]int32
	inner     *reader // walks function bodies while a walk is under way here
}

func newReader(m *check.Model) *reader {
	return &reader{m: m, marks: make([]int32, len(m.Nodes)), libraries: make([][]int32, len(m.Instances))}
}

// reads calls tell for everything that the formulas at roots read, in the
// order of reading them; the same thing may be told more than once.
func (r *reader) reads(tell func(how manner, index int32), roots ...check.NodeID) {
	r.walk++
	for _, root := range roots {
		r.push(root)
		for len(r.stack) > 0 {
			id := r.stack[len(r.stack)-1]
			r.stack = r.stack[:len(r.stack)-1]
			r.visit(r.m.Node(id), tell)
		}
	}
}

// push puts a node on the stack unless this walk has seen it.
func (r *reader) push(id check.NodeID) {
	if id != 0 && r.marks[id] != r.walk {
		r.marks[id] = r.walk
		r.stack = append(r.stack, id)
	}
}

// visit tells what one node reads and pushes its operands, the last first.
func (r *reader) visit(n *check.Node, tell func(manner, int32)) {
	switch n.Op {
	case check.CellRef:
		tell(cellRead, n.Ref)
	case check.ColumnRef, check.NextRef:
		tell(rowRead, n.Ref)
	case check.PrevRef:
		tell(prevRead, n.Ref)
	case check.Aggregate:
		tell(wholeRead, n.Ref)
	case check.IndexAt:
		tell(wholeRead, n.Ref)
		r.push(n.A)
	case check.Lookup:
		tell(wholeRead, n.Ref)
		tell(wholeRead, int32(n.B))
		r.push(n.A)
	case check.Call, check.ValidCall:
		for _, column := range r.library(n.Ref) {
			tell(wholeRead, column)
		}
		r.pushArgs(n)
	case check.Intrinsic:
		r.pushArgs(n)
	case check.Bad, check.Const, check.RowRef, check.ParamRef, check.StepRef:
	default:
		r.push(n.C)
		r.push(n.B)
		r.push(n.A)
	}
}

func (r *reader) pushArgs(n *check.Node) {
	args := r.m.ArgsOf(n)
	for i := len(args) - 1; i >= 0; i-- {
		r.push(args[i])
	}
}

// library returns the library columns that an instance reads, itself or
// through what it calls. Functions do not call themselves, so the depth is
// that of calls within calls.
func (r *reader) library(instance int32) []int32 {
	if r.libraries[instance] != nil {
		return r.libraries[instance]
	}
	found := []int32{}
	seen := map[int32]bool{}
	inst := r.m.Instances[instance]
	roots := append([]check.NodeID{inst.Result}, inst.Steps...)
	for _, v := range inst.Valids {
		roots = append(roots, v.Cond)
	}
	if r.inner == nil {
		r.inner = &reader{m: r.m, marks: make([]int32, len(r.m.Nodes)), libraries: r.libraries}
	}
	r.inner.reads(func(how manner, index int32) {
		if how == wholeRead && !seen[index] {
			seen[index] = true
			found = append(found, index)
		}
	}, roots...)
	r.libraries[instance] = found
	return found
}
