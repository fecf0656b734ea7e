package graph

import "gearleaf/sheet/check"

// manner is how a formula reads a cell or a column.
type manner uint8

const (
	cellRead  manner = iota // a scalar
	rowRead                 // a column's value in this row, or in the next
	prevRead                // a column's value in the row before
	wholeRead               // a whole column, or one of its entries
)

// reader walks formulas and reports their reads. A node that many operands
// share could be visited very often, so a long walk marks the nodes it has
// visited.
type reader struct {
	m     *check.Model
	left  int     // nodes until this walk is a long one
	marks []int32 // of each node: the last long walk that has seen it
	walk  int32   // the number of long walks
	long  bool    // this walk is one
	stack []check.NodeID
	// libraries holds, for each instance, the columns of library tables
	// that its body reads; nil if that is not known yet.
	libraries [][]int32
	inner     *reader // walks function bodies during a walk here
}

// shortWalk is the number of nodes that a walk visits without marking them.
const shortWalk = 1000

func newReader(m *check.Model) *reader {
	return &reader{m: m, libraries: make([][]int32, len(m.Instances))}
}

// reads calls report for everything that the formulas at roots read, in the
// order of reading; the same thing may be reported more than once.
func (r *reader) reads(report func(how manner, index int32), roots ...check.NodeID) {
	r.long, r.left = false, shortWalk
	for _, root := range roots {
		if !r.follow(root, report) {
			r.mark()
			for _, root := range roots {
				r.follow(root, report)
			}
			return
		}
	}
}

// mark makes the next walk a long one.
func (r *reader) mark() {
	if r.marks == nil {
		r.marks = make([]int32, len(r.m.Nodes))
	}
	r.walk++
	r.long = true
}

// follow walks one formula; it returns false if the walk is too long without
// marks.
func (r *reader) follow(root check.NodeID, report func(manner, int32)) bool {
	r.stack = r.stack[:0]
	r.push(root)
	for len(r.stack) > 0 {
		id := r.stack[len(r.stack)-1]
		r.stack = r.stack[:len(r.stack)-1]
		if r.left--; r.left < 0 && !r.long {
			return false
		}
		r.visit(r.m.Node(id), report)
	}
	return true
}

// push puts a node on the stack unless this walk has marked it.
func (r *reader) push(id check.NodeID) {
	switch {
	case id == 0:
		return
	case r.long:
		if r.marks[id] == r.walk {
			return
		}
		r.marks[id] = r.walk
	}
	r.stack = append(r.stack, id)
}

// visit reports what one node reads and pushes its operands, the last first.
func (r *reader) visit(n *check.Node, report func(manner, int32)) {
	switch n.Op {
	case check.CellRef:
		report(cellRead, n.Ref())
	case check.ColumnRef, check.NextRef:
		report(rowRead, n.Ref())
	case check.PrevRef:
		report(prevRead, n.Ref())
	case check.Aggregate:
		report(wholeRead, n.Ref())
	case check.IndexAt:
		report(wholeRead, n.Ref())
		r.push(n.A)
	case check.Lookup:
		xs, ys, _ := r.m.LookupOf(n)
		report(wholeRead, xs)
		report(wholeRead, ys)
		r.push(n.A)
	case check.Call, check.ValidCall:
		for _, column := range r.library(r.m.InstanceOf(n)) {
			report(wholeRead, column)
		}
		r.pushAll(r.m.ArgsOf(n))
	case check.Intrinsic:
		r.pushAll(r.m.ArgsOf(n))
	case check.If:
		then, other := r.m.BranchesOf(n)
		r.push(other)
		r.push(then)
		r.push(n.A)
	case check.Bad, check.Const, check.RowRef, check.ParamRef, check.StepRef:
	case check.Neg, check.Not:
		r.push(n.A)
	default:
		r.push(n.B)
		r.push(n.A)
	}
}

func (r *reader) pushAll(args []check.NodeID) {
	for i := len(args) - 1; i >= 0; i-- {
		r.push(args[i])
	}
}

// library returns the library columns that an instance reads, directly or
// through its calls. Functions do not call themselves, so the depth is that of
// nested calls.
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
		r.inner = &reader{m: r.m, libraries: r.libraries}
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
