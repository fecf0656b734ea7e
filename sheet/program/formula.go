package program

import (
	"math"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// ref names a value while a formula is compiled: an entry of formula.values,
// a register, or a constant that may not need one.
type ref int32

const (
	toValue = iota
	toRegister
	toConstant
)

func makeRef(kind int, index int32) ref { return ref(index<<2) | ref(kind) }
func (r ref) kind() int                 { return int(r & 3) }
func (r ref) index() int32              { return int32(r) >> 2 }

// section is the part of a task that a value belongs to.
type section uint8

const (
	pre section = iota
	first
	body
)

// value is one operation of a formula before it has a register. Operands
// that are registers by ops hold a ref.
type value struct {
	instr
	at section
	// node is the operation of the tree; in is the function whose body it
	// stands in, nil for the sheet's own formula.
	node check.NodeID
	in   *check.Instance
	// inner is, for a pair, the value that it makes on the way, and within
	// says that of that value.
	inner  int32
	within bool
}

// key finds a value that has been computed already.
type key struct {
	instr
	at section
}

// formula turns trees into values, calls expanded: their arguments become
// values, their steps too.
type formula struct {
	p      *Program
	values []value
	known  map[key]int32 // of values, once there are many
	at     section
	hoist  bool // what does not change from row to row goes to pre

	// loop is set while a table's looped columns are compiled; now and
	// before are their values in the row under way and the row above.
	loop        *check.Table
	now, before map[int32]ref

	// local are the cells that joint code has computed by now, and visited
	// takes the place of memo there; both are nil elsewhere.
	local   map[int32]ref
	visited map[check.NodeID]ref

	env  *environment
	memo []ref // values of the sheet's own nodes in the formula under way
	mark []int32
	turn int32

	pool    []float64 // constants
	poolAt  map[uint64]int32
	poolReg []int32 // their registers, noReg before there is one
	curveAt map[curvePlan]int32
}

// environment is what names in a function's body stand for.
type environment struct {
	inst  *check.Instance
	args  []ref
	steps []ref
	built []bool
	memo  map[check.NodeID]ref
}

func newFormula(p *Program) *formula {
	f := &formula{p: p, poolAt: map[uint64]int32{}, curveAt: map[curvePlan]int32{}}
	if !p.plain {
		f.memo, f.mark = make([]ref, len(p.m.Nodes)), make([]int32, len(p.m.Nodes))
	}
	return f
}

// begin starts the values of a task.
func (f *formula) begin(hoist bool) {
	f.values = f.values[:0]
	if f.known != nil {
		f.known = nil
	}
	f.hoist = hoist && !f.p.plain
	f.loop, f.now, f.before, f.env = nil, nil, nil, nil
	f.at = body
	f.turn++
}

// section moves on to another part of the task. Nodes are looked at anew, as
// names of the row mean something else there.
func (f *formula) section(at section) {
	f.at = at
	f.turn++
}

// node returns the value of a node of the tree.
func (f *formula) node(id check.NodeID) ref {
	if f.env != nil {
		env := f.env // calls change f.env meanwhile
		if v, ok := env.memo[id]; ok && !f.p.plain {
			return v
		}
		v := f.make(id)
		env.memo[id] = v
		return v
	}
	if f.p.plain {
		return f.make(id)
	}
	if f.visited != nil {
		v, ok := f.visited[id]
		if !ok {
			v = f.make(id)
			f.visited[id] = v
		}
		return v
	}
	if f.mark[id] == f.turn {
		return f.memo[id]
	}
	v := f.make(id)
	f.memo[id], f.mark[id] = v, f.turn
	return v
}

func (f *formula) make(id check.NodeID) ref {
	n := f.p.m.Node(id)
	switch n.Op {
	case check.Const:
		return f.constant(n.Num())
	case check.CellRef:
		if v, ok := f.local[n.Ref()]; ok {
			return v
		}
		return makeRef(toRegister, f.p.cellReg[n.Ref()])
	case check.ColumnRef, check.PrevRef, check.NextRef:
		return f.column(id, n)
	case check.RowRef:
		return f.emit(id, opRow, 0, 0, 0)
	case check.ParamRef:
		return f.env.args[n.Ref()]
	case check.StepRef:
		return f.step(n.Ref())
	case check.Call, check.ValidCall:
		return f.call(n)
	case check.Intrinsic:
		return f.intrinsic(id, n)
	case check.Aggregate:
		return f.emit(id, opReduce, n.Ref(), int32(n.A), 0)
	case check.IndexAt:
		return f.emit(id, opIndex, int32(f.node(n.A)), n.Ref(), 0)
	case check.Lookup:
		xs, ys, form := f.p.m.LookupOf(n)
		c := f.curve(curvePlan{xs: xs, ys: ys, form: form})
		return f.emit(id, opLook, int32(f.node(n.A)), 0, c)
	}
	return f.plainOp(id, n)
}

// plainOp is an operation on its operands alone.
func (f *formula) plainOp(id check.NodeID, n *check.Node) ref {
	o := opOf[n.Op]
	if o == opMove {
		return f.constant(kernel.Fault) // a tree with errors, which is not run
	}
	second, third := n.B, check.NodeID(0)
	if n.Op == check.If {
		second, third = f.p.m.BranchesOf(n)
	}
	var a, b, c ref
	a = f.node(n.A)
	if ops[o].b == register {
		b = f.node(second)
	}
	if ops[o].c == register {
		c = f.node(third)
	}
	return f.emit(id, o, int32(a), int32(b), int32(c))
}

// column is a column's value in this row, the one before or the one after.
func (f *formula) column(id check.NodeID, n *check.Node) ref {
	col := f.p.m.Columns[n.Ref()]
	if f.loop == col.Table && isLooped(col) {
		switch n.Op {
		case check.ColumnRef:
			return f.now[n.Ref()]
		case check.PrevRef:
			return f.before[n.Ref()]
		}
		return f.constant(kernel.Fault) // refused by the checker
	}
	o := opLoad
	switch n.Op {
	case check.PrevRef:
		o = opLoadPrev
	case check.NextRef:
		o = opLoadNext
	}
	return f.emit(id, o, n.Ref(), 0, 0)
}

func isLooped(c *check.Column) bool { return c.Looped && !c.Given }

// call expands a call in place.
func (f *formula) call(n *check.Node) ref {
	inst, result := f.p.m.ResultOf(n)
	e := &environment{inst: inst, memo: map[check.NodeID]ref{}}
	for _, a := range f.p.m.ArgsOf(n) {
		e.args = append(e.args, f.node(a))
	}
	e.steps, e.built = make([]ref, len(inst.Steps)), make([]bool, len(inst.Steps))
	outer := f.env
	f.env = e
	v := f.node(result)
	f.env = outer
	return v
}

// step is the value of a step of the function under way.
func (f *formula) step(i int32) ref {
	if !f.env.built[i] {
		f.env.steps[i] = f.node(f.env.inst.Steps[i])
		f.env.built[i] = true
	}
	return f.env.steps[i]
}

// intrinsic folds the arguments from the left.
func (f *formula) intrinsic(id check.NodeID, n *check.Node) ref {
	args := f.p.m.ArgsOf(n)
	if len(args) == 0 {
		return f.constant(f.p.m.Intrinsics[n.Ref()].Apply())
	}
	v := f.node(args[0])
	if len(args) == 1 {
		return f.emit(id, opCall1, int32(v), 0, n.Ref())
	}
	for _, a := range args[1:] {
		v = f.emit(id, opCall2, int32(v), int32(f.node(a)), n.Ref())
	}
	return v
}

// constant returns the ref of a constant, equal to the bit.
func (f *formula) constant(v float64) ref {
	bits := math.Float64bits(v)
	i, ok := f.poolAt[bits]
	if !ok {
		i = int32(len(f.pool))
		f.pool, f.poolReg = append(f.pool, v), append(f.poolReg, noReg)
		f.poolAt[bits] = i
	}
	return makeRef(toConstant, i)
}

// curve returns the number of a pair of columns for look-ups.
func (f *formula) curve(c curvePlan) int32 {
	i, ok := f.curveAt[c]
	if !ok {
		i = int32(len(f.p.curves))
		f.p.curves = append(f.p.curves, c)
		f.curveAt[c] = i
	}
	return i
}

// emit returns the value of an operation: a constant if its operands are, one
// that is there already, or a new one.
func (f *formula) emit(id check.NodeID, o opcode, a, b, c int32) ref {
	in := instr{op: o, a: a, b: b, c: c}
	if !f.p.plain {
		if folded, ok := f.fold(in); ok {
			return folded
		}
		if other, ok := f.simplify(&in); ok {
			return other
		}
	}
	v := value{instr: in, at: f.sectionOf(in), node: id}
	if f.env != nil {
		v.in = f.env.inst
	}
	if !f.p.plain {
		if i, ok := f.find(key{in, v.at}); ok {
			return makeRef(toValue, i)
		}
	}
	f.values = append(f.values, v)
	i := int32(len(f.values) - 1)
	if f.known != nil {
		f.known[key{in, v.at}] = i
	}
	return makeRef(toValue, i)
}

// few is how many values are searched one by one.
const few = 16

// find looks for a value that has been computed already.
func (f *formula) find(k key) (int32, bool) {
	if f.known != nil {
		i, ok := f.known[k]
		return i, ok
	}
	for i := range f.values {
		if v := &f.values[i]; v.instr == k.instr && v.at == k.at {
			return int32(i), true
		}
	}
	if len(f.values) > few {
		f.known = make(map[key]int32, 4*few)
		for i := range f.values {
			f.known[key{f.values[i].instr, f.values[i].at}] = int32(i)
		}
	}
	return 0, false
}

// operands calls each for those of in that are values.
func (in *instr) operands(each func(at *int32)) {
	row := &ops[in.op]
	if row.a == register {
		each(&in.a)
	}
	if row.b == register {
		each(&in.b)
	}
	if row.c == register {
		each(&in.c)
	}
	if row.d == register {
		each(&in.d)
	}
}

// sectionOf returns the section an operation belongs to: pre unless it, or
// an operand, differs from row to row.
func (f *formula) sectionOf(in instr) section {
	if !f.hoist || in.op.byRow() {
		return f.at
	}
	at := pre
	in.operands(func(o *int32) {
		if f.byRow(ref(*o)) {
			at = f.at
		}
	})
	return at
}

// byRow reports whether a value differs from row to row. Registers of the
// frame, negative here, are values of the row.
func (f *formula) byRow(r ref) bool {
	switch r.kind() {
	case toValue:
		return f.values[r.index()].at != pre
	case toRegister:
		return r.index() < 0
	}
	return false
}

// fold computes an operation on constants.
func (f *formula) fold(in instr) (ref, bool) {
	row := &ops[in.op]
	if in.op == opMove {
		return 0, false // it is asked for
	}
	constant := row.pure() || in.op == opCall1 || in.op == opCall2
	var arg [4]float64
	n := 0
	in.operands(func(o *int32) {
		if r := ref(*o); r.kind() == toConstant {
			arg[n] = f.pool[r.index()]
		} else {
			constant = false
		}
		n++
	})
	if !constant {
		return 0, false
	}
	return f.constant(apply(f.p.m, in, arg)), true
}

// apply computes an operation that depends on registers alone.
func apply(m *check.Model, in instr, arg [4]float64) float64 {
	row := &ops[in.op]
	switch {
	case row.f1 != nil:
		return row.f1(arg[0])
	case row.f2 != nil:
		return row.f2(arg[0], arg[1])
	case row.f3 != nil:
		return row.f3(arg[0], arg[1], arg[2])
	case row.f4 != nil:
		return row.f4(arg[0], arg[1], arg[2], arg[3])
	case in.op == opCall1:
		return m.Intrinsics[in.c].Apply1(arg[0])
	}
	return m.Intrinsics[in.c].Apply2(arg[0], arg[1])
}
