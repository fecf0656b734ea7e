// Package code is the compiled form of a checked sheet: register instructions,
// and the tasks they belong to. One table, Ops, defines each operation.
// Lowering writes the form, the plain machine runs it, and the WebAssembly
// emitter translates it.
package code

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// Op is the operation of an instruction. Every one has a row in Ops.
type Op uint8

// The operations.
const (
	Move Op = iota
	Add
	Sub
	Mul
	Div
	Pow
	Neg
	Less
	LessEqual
	Greater
	GreaterEqual
	Equal
	NotEqual
	SameText
	NotSameText
	If
	And
	Or
	Not
	Abs
	Sqrt
	Lower
	Higher

	// Superinstructions of Add, Sub, Mul and Div, then one more: see pair.go.
	AddAdd
	AddSub
	AddFrom
	AddMul
	AddDiv
	AddInto
	SubAdd
	SubSub
	SubFrom
	SubMul
	SubDiv
	SubInto
	MulAdd
	MulSub
	MulFrom
	MulMul
	MulDiv
	MulInto
	DivAdd
	DivSub
	DivFrom
	DivMul
	DivDiv
	DivInto
	IfLess
	IfGreaterEqual

	// Operations that read more than registers.
	Look
	Call1
	Call2
	Load
	LoadPrev
	LoadNext
	RowNumber
	Reduce
	Index

	Count // the number of operations
)

// Operand is the kind of an instruction's operand field.
type Operand uint8

// The operands.
const (
	None      Operand = iota
	Register          // a value
	Truth             // a value that is 1, 0, a blank or a fault
	Column            // a column's number
	Cell              // a column's number; its entry in the current row is read
	Function          // an index in Model.Intrinsics
	Aggregate         // a kernel.Aggregate
	Curve             // an index in Program.Curves
	Between           // the register for the first result of a superinstruction
)

// IsRegister reports whether the operand is a register that is read.
func (o Operand) IsRegister() bool { return o == Register || o == Truth }

// Row is everything about one operation.
type Row struct {
	Name       string
	A, B, C, D Operand
	// Node is the operation of the checked tree that is lowered to it, 0 for
	// none or one that lowering treats separately. Direct is the kernel
	// function of an intrinsic whose call it replaces.
	Node   check.Op
	Direct any

	// Exactly one of F1 to F4 is set if the result depends on registers alone.
	// It defines the operation.
	F1 func(a float64) float64
	F2 func(a, b float64) float64
	F3 func(a, b, c float64) float64
	F4 func(a, b, c, d float64) float64

	// Kernel names this function in the compiled kernel, for the general form.
	Kernel string
	// Fast is the operation on numbers in WebAssembly's text format, operands
	// first; a to c are the operands. Logical values are i32 there. For two
	// lanes, f64 means f64x2, i32 means v128, and "call F" calls the function of
	// the kernel in each lane.
	Fast string
	// Short is Fast in fewer bytes, for one lane and code that runs once.
	Short string
	// Wide is Fast for two lanes, if the instructions differ.
	Wide string
	// Bound is Fast for a constant b: least and most are the numbers between
	// which a is equal to it with tolerance.
	Bound string
	// Hides names the operands of Fast that may be a NaN or an infinity
	// although the result is a number: the emitter checks them as well.
	Hides string
	// Result is Truth if the result is a logical value.
	Result Operand

	Pair Pair // of a superinstruction
	// Cause describes why numbers result in a fault; nil if they cannot.
	Cause func(a, b float64) string
}

// The common parts of comparisons with tolerance in the fast form: the results
// of a >= b, of b >= a and of a = b.
const (
	near    = " a b f64.sub f64.abs a f64.abs b f64.abs f64.max tolerance f64.mul f64.le i32.or"
	atLeast = "a b f64.ge" + near
	atMost  = "a b f64.le" + near
	same    = "a b f64.eq" + near
)

// chosen selects one of two numbers by a logical value. It selects their bits,
// because wazero's compiler v1.12.0 for amd64 can lose a selected f64 that is
// spilled.
func chosen(then, other, truth string) string {
	return then + " i64.reinterpret_f64 " + other + " i64.reinterpret_f64 " + truth + " select f64.reinterpret_i64"
}

// chosenWide is chosen in two lanes, without v128.bitselect, whose result is wrong
// by that compiler if an operand is spilled across a call.
const chosenWide = "b a v128.and c a v128.andnot v128.or"

// Ops has a row for each operation, in their order.
var Ops = [Count]Row{
	Move: {Name: "move", A: Register, F1: func(a float64) float64 { return a }, Fast: "a"},
	Add:  sum("add", check.Add, kernel.Add, "Add", "f64.add"),
	Sub:  sum("sub", check.Sub, kernel.Sub, "Sub", "f64.sub"),
	Mul:  sum("mul", check.Mul, kernel.Mul, "Mul", "f64.mul"),
	Div:  {Name: "div", Node: check.Div, A: Register, B: Register, F2: kernel.Div, Kernel: "Div", Fast: "a b f64.div", Hides: "b", Cause: kernel.DivCause},
	Pow:  {Name: "pow", Node: check.Pow, A: Register, B: Register, F2: kernel.Pow, Kernel: "Pow", Fast: "a b call Pow", Hides: "ab", Cause: kernel.PowCause},
	Neg:  {Name: "neg", Node: check.Neg, A: Register, F1: kernel.Neg, Kernel: "Neg", Fast: "a f64.neg"},

	Less:         comparison("less", check.Less, kernel.Less, "Less", atLeast+" i32.eqz", "a b call AtLeast i32.eqz", "a least f64.lt"),
	LessEqual:    comparison("lesseq", check.LessEqual, kernel.LessEqual, "LessEqual", atMost, "b a call AtLeast", "a most f64.le"),
	Greater:      comparison("more", check.Greater, kernel.Greater, "Greater", atMost+" i32.eqz", "b a call AtLeast i32.eqz", "a most f64.gt"),
	GreaterEqual: comparison("moreeq", check.GreaterEqual, kernel.GreaterEqual, "GreaterEqual", atLeast, "a b call AtLeast", "a least f64.ge"),
	Equal:        comparison("equal", check.Equal, kernel.Equal, "Equal", same, "a b call Same", "a least f64.ge a most f64.le i32.and"),
	NotEqual:     comparison("notequal", check.NotEqual, kernel.NotEqual, "NotEqual", same+" i32.eqz", "a b call Same i32.eqz", "a least f64.lt a most f64.gt i32.or"),
	SameText:     comparison("same", check.SameText, kernel.SameText, "SameText", "a b f64.eq", "", ""),
	NotSameText:  comparison("notsame", check.NotSameText, kernel.NotSameText, "NotSameText", "a b f64.ne", "", ""),

	If:  {Name: "if", Node: check.If, A: Truth, B: Register, C: Register, F3: kernel.If, Kernel: "If", Fast: chosen("b", "c", "a"), Wide: chosenWide},
	And: {Name: "and", Node: check.And, A: Truth, B: Truth, F2: kernel.And, Kernel: "And", Fast: "a b i32.and", Result: Truth},
	Or:  {Name: "or", Node: check.Or, A: Truth, B: Truth, F2: kernel.Or, Kernel: "Or", Fast: "a b i32.or", Result: Truth},
	Not: {Name: "not", Node: check.Not, A: Truth, F1: kernel.Not, Kernel: "Not", Fast: "a i32.eqz", Result: Truth},

	Abs:    {Name: "abs", Direct: kernel.Abs, A: Register, F1: kernel.AbsValue, Kernel: "AbsValue", Fast: "a f64.abs"},
	Sqrt:   {Name: "sqrt", Direct: kernel.Sqrt, A: Register, F1: kernel.Root, Kernel: "Root", Fast: "a f64.sqrt"},
	Lower:  {Name: "min", Direct: kernel.Lower, A: Register, B: Register, F2: kernel.LowerValue, Kernel: "LowerValue", Fast: chosen("b", "a", "b a f64.lt"), Wide: "a b f64x2.pmin", Hides: "ab"},
	Higher: {Name: "max", Direct: kernel.Higher, A: Register, B: Register, F2: kernel.HigherValue, Kernel: "HigherValue", Fast: chosen("b", "a", "b a f64.gt"), Wide: "a b f64x2.pmax", Hides: "ab"},

	Call1:     {Name: "call", A: Register, C: Function, Hides: "a"},
	Call2:     {Name: "call", A: Register, B: Register, C: Function, Hides: "ab"},
	Load:      {Name: "load", A: Cell},
	LoadPrev:  {Name: "prev", A: Cell},
	LoadNext:  {Name: "next", A: Cell},
	RowNumber: {Name: "row"},
	Reduce:    {Name: "reduce", A: Column, B: Aggregate},
	Index:     {Name: "index", A: Register, B: Column},
	Look:      {Name: "look", A: Register, C: Curve, Hides: "a"},
}

// sum is the row of an operation whose only fault is a result too large for a
// number.
func sum(name string, node check.Op, f func(a, b float64) float64, kernelName, wat string) Row {
	return Row{Name: name, Node: node, A: Register, B: Register, F2: f, Kernel: kernelName, Fast: "a b " + wat, Cause: kernel.SumCause}
}

func comparison(name string, node check.Op, f func(a, b float64) float64, kernelName, wat, short, bound string) Row {
	return Row{Name: name, Node: node, A: Register, B: Register, F2: f, Kernel: kernelName, Fast: wat, Short: short, Bound: bound, Hides: "ab", Result: Truth}
}

// Pure reports whether the operation depends on registers alone.
func (r *Row) Pure() bool { return r.F1 != nil || r.F2 != nil || r.F3 != nil || r.F4 != nil }

// Applies reports whether Apply computes the operation.
func (r *Row) Applies() bool { return r.Pure() || r.C == Function }

// ByRow reports whether the operation reads the current row.
func (o Op) ByRow() bool { return o >= Load && o <= RowNumber }

// Instr is one instruction: Dst = Op(A, B, C, D). Operands are registers unless
// Ops says otherwise.
type Instr struct {
	Op              Op
	Dst, A, B, C, D int32
}

// turned maps comparisons to those with exchanged operands.
var turned = map[Op]Op{Less: Greater, LessEqual: GreaterEqual, Greater: Less, GreaterEqual: LessEqual, Equal: Equal, NotEqual: NotEqual}

// Turned returns the equivalent comparison with exchanged operands, and any
// other instruction unchanged.
func (in Instr) Turned() Instr {
	if o, ok := turned[in.Op]; ok {
		in.Op, in.A, in.B = o, in.B, in.A
	}
	return in
}

// Registers calls each for the registers that in reads.
func (in *Instr) Registers(each func(at *int32)) {
	row := &Ops[in.Op]
	for _, o := range [...]struct {
		kind Operand
		at   *int32
	}{{row.A, &in.A}, {row.B, &in.B}, {row.C, &in.C}, {row.D, &in.D}} {
		if o.kind.IsRegister() {
			each(o.at)
		}
	}
}

// Apply computes an instruction whose operation depends on registers alone, or
// calls a function, from the values of its operands.
func (in *Instr) Apply(m *check.Model, arg [4]float64) float64 {
	row := &Ops[in.Op]
	switch {
	case row.F1 != nil:
		return row.F1(arg[0])
	case row.F2 != nil:
		return row.F2(arg[0], arg[1])
	case row.F3 != nil:
		return row.F3(arg[0], arg[1], arg[2])
	case row.F4 != nil:
		return row.F4(arg[0], arg[1], arg[2], arg[3])
	case in.Op == Call1:
		return m.Intrinsics[in.C].Apply1(arg[0])
	}
	return m.Intrinsics[in.C].Apply2(arg[0], arg[1])
}
