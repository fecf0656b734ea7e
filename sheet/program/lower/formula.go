package lower

import (
	"math"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// Ref names a value while a formula is lowered: one of its values, a register,
// or a constant that may not need one.
type Ref int32

// What a Ref can name.
const (
	InValues = iota
	InRegister
	Constant
)

func makeRef(kind int, index int32) Ref { return Ref(index<<2) | Ref(kind) }

// Kind returns the kind of r.
func (r Ref) Kind() int { return int(r & 3) }

// Index returns the index of r within its kind.
func (r Ref) Index() int32 { return int32(r) >> 2 }

// section is the part of a task that a value belongs to.
type section uint8

const (
	pre section = iota
	first
	body
)

// Value is one operation of a formula before it has a register. Operands that
// are registers by code.Ops hold a Ref.
type Value struct {
	code.Instr
	// In is the function whose body the operation belongs to, nil for the
	// sheet's own formula.
	In *check.Instance

	at section
	// inner is, for a superinstruction, the value of its first operation, and
	// within marks that value.
	inner  int32
	within bool
}

// key finds a value that has been computed already.
type key struct {
	code.Instr
	at section
}

// formula turns trees into values, with calls inlined: their arguments and
// steps become values.
type formula struct {
	p      *code.Program
	plain  bool
	values []Value
	known  map[key]int32 // of values, once there are many
	at     section
	hoist  bool // loop invariants go to pre

	// loop is set while a table's looped columns are compiled; now and
	// before are their values in the current row and the row above.
	loop        *check.Table
	now, before map[int32]Ref

	// local are the cells that the code block has computed so far.
	local map[int32]Ref

	env  *environment
	memo []memo // of the sheet's own nodes
	turn int32

	*constants
	tracing bool // registers are cells, by their index
}

// constants are what the formulas of a sheet have in common: constants, and the
// curves of look-ups.
type constants struct {
	pool    []float64
	poolReg []int32          // their registers, NoReg before there is one
	poolAt  map[uint64]int32 // by their bits
	curveAt map[code.CurvePlan]int32
}

// memo is the value of a node in a section of a task.
type memo struct {
	turn  int32
	value Ref
}

// environment is the meaning of names in a function's body.
type environment struct {
	inst *check.Instance
	args []Ref
	memo map[check.NodeID]Ref
}

func newFormula(p *code.Program, k *constants, plain bool) *formula {
	f := &formula{p: p, plain: plain, constants: k}
	if !plain {
		f.memo = make([]memo, len(p.Model.Nodes))
	}
	return f
}

// begin starts the values of a task.
func (f *formula) begin(hoist bool) {
	f.values = f.values[:0]
	f.known = nil
	f.hoist = hoist && !f.plain
	f.loop, f.now, f.before, f.env = nil, nil, nil, nil
	f.at = body
	f.turn++
}

// enter begins another section of the task. Nodes are lowered again, because
// names of the row have another meaning there.
func (f *formula) enter(at section) {
	f.at = at
	f.turn++
}

// node returns the value of a node of the tree.
func (f *formula) node(id check.NodeID) Ref {
	if f.env != nil {
		env := f.env // calls change f.env
		if v, ok := env.memo[id]; ok && !f.plain {
			return v
		}
		v := f.make(id)
		env.memo[id] = v
		return v
	}
	if f.plain {
		return f.make(id)
	}
	if k := f.memo[id]; k.turn == f.turn {
		return k.value
	}
	v := f.make(id)
	f.memo[id] = memo{f.turn, v}
	return v
}

func (f *formula) make(id check.NodeID) Ref {
	n := f.p.Model.Node(id)
	switch n.Op {
	case check.Const:
		return f.constant(n.Num())
	case check.CellRef:
		if v, ok := f.local[n.Ref()]; ok {
			return v
		}
		if f.tracing {
			return makeRef(InRegister, n.Ref())
		}
		return makeRef(InRegister, f.p.Cells[n.Ref()])
	case check.ColumnRef, check.PrevRef, check.NextRef:
		return f.column(n)
	case check.RowRef:
		return f.emit(code.RowNumber, 0, 0, 0)
	case check.ParamRef:
		return f.env.args[n.Ref()]
	case check.StepRef:
		return f.step(f.env.inst.Steps[n.Ref()])
	case check.Call, check.ValidCall:
		return f.call(n)
	case check.Intrinsic:
		return f.intrinsic(n)
	case check.Aggregate:
		return f.emit(code.Reduce, n.Ref(), int32(n.A), 0)
	case check.IndexAt:
		return f.emit(code.Index, int32(f.node(n.A)), n.Ref(), 0)
	case check.Lookup:
		xs, ys, form := f.p.Model.LookupOf(n)
		c := f.curve(code.CurvePlan{Xs: xs, Ys: ys, Form: form})
		return f.emit(code.Look, int32(f.node(n.A)), 0, c)
	}
	return f.operation(n)
}

// operation lowers a node that depends on its operands alone.
func (f *formula) operation(n *check.Node) Ref {
	o, ok := lowered[n.Op]
	if !ok {
		return f.constant(kernel.Fault) // a tree with errors, which is not run
	}
	second, third := n.B, check.NodeID(0)
	if n.Op == check.If {
		second, third = f.p.Model.BranchesOf(n)
	}
	var a, b, c Ref
	a = f.node(n.A)
	if code.Ops[o].B.IsRegister() {
		b = f.node(second)
	}
	if code.Ops[o].C.IsRegister() {
		c = f.node(third)
	}
	return f.emit(o, int32(a), int32(b), int32(c))
}

// column is a column's value in this row, the one before or the one after.
func (f *formula) column(n *check.Node) Ref {
	col := f.p.Model.Columns[n.Ref()]
	if f.loop == col.Table && Looped(col) {
		switch n.Op {
		case check.ColumnRef:
			return f.now[n.Ref()]
		case check.PrevRef:
			return f.before[n.Ref()]
		}
		return f.constant(kernel.Fault) // refused by the checker
	}
	o := code.Load
	switch n.Op {
	case check.PrevRef:
		o = code.LoadPrev
	case check.NextRef:
		o = code.LoadNext
	}
	return f.emit(o, n.Ref(), 0, 0)
}

// Looped reports whether a column is computed row by row.
func Looped(c *check.Column) bool { return c.Looped && !c.Given }

// call inlines a call.
func (f *formula) call(n *check.Node) Ref {
	inst, result := f.p.Model.ResultOf(n)
	e := &environment{inst: inst, memo: map[check.NodeID]Ref{}}
	for _, a := range f.p.Model.ArgsOf(n) {
		e.args = append(e.args, f.node(a))
	}
	outer := f.env
	f.env = e
	v := f.node(result)
	f.env = outer
	return v
}

// step is the value of a step of the current function. It is computed once, also
// where nothing else is shared: steps that read steps would double each time.
func (f *formula) step(id check.NodeID) Ref {
	if v, ok := f.env.memo[id]; ok {
		return v
	}
	return f.node(id)
}

// intrinsic folds the arguments from the left.
func (f *formula) intrinsic(n *check.Node) Ref {
	args := f.p.Model.ArgsOf(n)
	if len(args) == 0 {
		return f.constant(f.p.Model.Intrinsics[n.Ref()].Apply())
	}
	v := f.node(args[0])
	if len(args) == 1 {
		return f.emit(code.Call1, int32(v), 0, n.Ref())
	}
	for _, a := range args[1:] {
		v = f.emit(code.Call2, int32(v), int32(f.node(a)), n.Ref())
	}
	return v
}

// constant returns the Ref of a constant, equal to the bit.
func (f *formula) constant(v float64) Ref {
	bits := math.Float64bits(v)
	i, ok := f.poolAt[bits]
	if !ok {
		i = int32(len(f.pool))
		f.pool, f.poolReg = append(f.pool, v), append(f.poolReg, code.NoReg)
		f.poolAt[bits] = i
	}
	return makeRef(Constant, i)
}

// curve returns the number of a pair of columns for look-ups.
func (f *formula) curve(c code.CurvePlan) int32 {
	i, ok := f.curveAt[c]
	if !ok {
		i = int32(len(f.p.Curves))
		f.p.Curves = append(f.p.Curves, c)
		f.curveAt[c] = i
	}
	return i
}

// emit returns the value of an operation: a constant if its operands are, an
// equal one that exists, or a new one.
func (f *formula) emit(o code.Op, a, b, c int32) Ref {
	in := code.Instr{Op: o, A: a, B: b, C: c}
	if !f.plain {
		if folded, ok := f.fold(in); ok {
			return folded
		}
		if other, ok := f.simplify(&in); ok {
			return other
		}
	}
	v := Value{Instr: in, at: f.sectionOf(in)}
	if f.env != nil {
		v.In = f.env.inst
	}
	if !f.plain {
		if i, ok := f.find(key{in, v.at}); ok {
			return makeRef(InValues, i)
		}
	}
	f.values = append(f.values, v)
	i := int32(len(f.values) - 1)
	if f.known != nil {
		f.known[key{in, v.at}] = i
	}
	return makeRef(InValues, i)
}

// few is the number of values up to which they are searched linearly.
const few = 16

// find looks for a value that has been computed already.
func (f *formula) find(k key) (int32, bool) {
	if f.known != nil {
		i, ok := f.known[k]
		return i, ok
	}
	for i := range f.values {
		if v := &f.values[i]; v.Instr == k.Instr && v.at == k.at {
			return int32(i), true
		}
	}
	if len(f.values) > few {
		f.known = make(map[key]int32, 4*few)
		for i := range f.values {
			f.known[key{f.values[i].Instr, f.values[i].at}] = int32(i)
		}
	}
	return 0, false
}

// sectionOf returns the section an operation belongs to: pre unless it, or
// an operand, differs from row to row.
func (f *formula) sectionOf(in code.Instr) section {
	if !f.hoist || in.Op.ByRow() {
		return f.at
	}
	at := pre
	in.Registers(func(o *int32) {
		if f.byRow(Ref(*o)) {
			at = f.at
		}
	})
	return at
}

// byRow reports whether a value differs from row to row. Registers of the
// frame, negative here, are values of the row.
func (f *formula) byRow(r Ref) bool {
	switch r.Kind() {
	case InValues:
		return f.values[r.Index()].at != pre
	case InRegister:
		return r.Index() < 0
	}
	return false
}
