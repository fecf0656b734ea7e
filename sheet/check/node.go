package check

import (
	"math"

	"gearleaf/sheet/kernel"
)

// NodeID names a node of the arena; 0 is not a node.
type NodeID int32

// Node is one operation of the checked tree, in SI. It is packed, because a
// large sheet has some seven nodes per cell: parts that do not fit into two
// operands are in Model.Args, and methods of the Model read them.
type Node struct {
	Op       Op
	typeHigh uint8
	typeLow  uint16
	// A and B are operands; their meaning depends on the Op. The Ref of an Op
	// is in B; a Const has its number in both.
	A, B NodeID
}

// Type returns the type of the node's value. source.MaxMeasures keeps it
// within its bits.
func (n *Node) Type() TypeID { return TypeID(n.typeHigh)<<16 | TypeID(n.typeLow) }

func (n *Node) setType(t TypeID) { n.typeHigh, n.typeLow = uint8(t>>16), uint16(t) }

// Ref returns an index of the kind that the Op determines: cell, column, parameter,
// instance.
func (n *Node) Ref() int32 { return int32(n.B) }

// Num returns the number of a Const: in SI, a logical value, or the index of a text,
// as Type says.
func (n *Node) Num() float64 {
	return math.Float64frombits(uint64(uint32(n.A)) | uint64(uint32(n.B))<<32)
}

// operation returns a node with operands only.
func operation(op Op, t TypeID, a, b NodeID) Node {
	return Node{Op: op, typeHigh: uint8(t >> 16), typeLow: uint16(t), A: a, B: b}
}

// reference returns a node that reads something by its index.
func reference(op Op, t TypeID, ref int32) Node { return operation(op, t, 0, NodeID(ref)) }

// number returns a Const.
func number(t TypeID, v float64) Node {
	bits := math.Float64bits(v)
	return operation(Const, t, NodeID(uint32(bits)), NodeID(uint32(bits>>32)))
}

// Draft is a node whose parts are in separate fields, before it is packed.
type Draft struct {
	Op   Op
	Type TypeID
	// A, B and C are operands; their meaning depends on the Op.
	A, B, C NodeID
	Ref     int32
	Num     float64  // of a Const
	Args    []NodeID // of a call
}

// Add packs a node into the arena and returns its name.
func (m *Model) Add(d Draft) NodeID {
	if len(m.Nodes) == 0 {
		m.Nodes = append(m.Nodes, Node{})
	}
	m.Nodes = append(m.Nodes, m.pack(d))
	return NodeID(len(m.Nodes) - 1)
}

func (m *Model) pack(d Draft) Node {
	switch d.Op {
	case Const:
		return number(d.Type, d.Num)
	case If:
		return operation(If, d.Type, d.A, m.putArgs(d.B, d.C))
	case Lookup:
		return operation(Lookup, d.Type, d.A, m.putArgs(NodeID(d.Ref), d.B, d.C))
	case ValidCall:
		return operation(ValidCall, d.Type, m.putList(d.Args), m.putArgs(NodeID(d.Ref), d.C))
	case Call, Intrinsic:
		return operation(d.Op, d.Type, m.putList(d.Args), NodeID(d.Ref))
	case Aggregate, IndexAt:
		return operation(d.Op, d.Type, d.A, NodeID(d.Ref))
	case CellRef, ColumnRef, PrevRef, NextRef, ParamRef, StepRef:
		return reference(d.Op, d.Type, d.Ref)
	}
	return operation(d.Op, d.Type, d.A, d.B)
}

// clip frees memory of the arena that is not used.
func (m *Model) clip() {
	m.Nodes, m.Args = clipped(m.Nodes), clipped(m.Args)
}

// clipped returns s, or a copy if much of its capacity is unused.
func clipped[T any](s []T) []T {
	if cap(s)-len(s) <= cap(s)/32 {
		return s
	}
	return append(make([]T, 0, len(s)), s...)
}

// putArgs appends to Args and returns the place.
func (m *Model) putArgs(args ...NodeID) NodeID {
	at := NodeID(len(m.Args))
	m.Args = append(m.Args, args...)
	return at
}

// putList appends to Args a list after its length.
func (m *Model) putList(args []NodeID) NodeID {
	at := m.putArgs(NodeID(len(args)))
	m.Args = append(m.Args, args...)
	return at
}

// Node returns the node called id.
func (m *Model) Node(id NodeID) *Node { return &m.Nodes[id] }

// TypeOf returns the type of the node id.
func (m *Model) TypeOf(id NodeID) Type { return m.Types[m.Nodes[id].Type()] }

// ArgsOf returns the argument list of a Call, ValidCall or Intrinsic node.
func (m *Model) ArgsOf(n *Node) []NodeID {
	from := n.A + 1
	return m.Args[from : from+m.Args[n.A]]
}

// IntrinsicOf returns the intrinsic that an Intrinsic node calls.
func (m *Model) IntrinsicOf(n *Node) *kernel.Intrinsic { return &m.Intrinsics[n.Ref()] }

// InstanceOf returns the index of the instance that a Call or ValidCall node
// calls.
func (m *Model) InstanceOf(n *Node) int32 {
	if n.Op == ValidCall {
		return int32(m.Args[n.B])
	}
	return n.Ref()
}

// ResultOf returns the instance that a Call or ValidCall node calls, and the
// node in it that is the value: the result, or one of the conditions.
func (m *Model) ResultOf(n *Node) (*Instance, NodeID) {
	in := m.Instances[m.InstanceOf(n)]
	if n.Op == ValidCall {
		return in, in.Valids[m.Args[n.B+1]].Cond
	}
	return in, in.Result
}

// BranchesOf returns the branches of an If node: for a condition A that holds,
// and for one that does not.
func (m *Model) BranchesOf(n *Node) (then, other NodeID) { return m.Args[n.B], m.Args[n.B+1] }

// LookupOf returns the columns, by index, and the form of a Lookup node; what
// is looked up is A.
func (m *Model) LookupOf(n *Node) (xs, ys int32, form kernel.LookupForm) {
	return int32(m.Args[n.B]), int32(m.Args[n.B+1]), kernel.LookupForm(m.Args[n.B+2])
}

// AppendOperands appends the nodes right below n to list, in order.
func (m *Model) AppendOperands(list []NodeID, n *Node) []NodeID {
	switch n.Op {
	case Bad, Const, CellRef, ColumnRef, PrevRef, NextRef, RowRef, ParamRef, StepRef, Aggregate:
		return list
	case Call, ValidCall, Intrinsic:
		return append(list, m.ArgsOf(n)...)
	case If:
		then, other := m.BranchesOf(n)
		return append(list, n.A, then, other)
	case Lookup, IndexAt, Neg, Not:
		return append(list, n.A)
	}
	return append(list, n.A, n.B)
}
