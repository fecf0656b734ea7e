package program

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// opcode is the operation of an instruction. Every one has a row in ops.
type opcode uint8

const (
	opMove opcode = iota
	opAdd
	opSub
	opMul
	opDiv
	opPow
	opNeg
	opLess
	opLessEqual
	opGreater
	opGreaterEqual
	opEqual
	opNotEqual
	opSameText
	opNotSameText
	opIf
	opAnd
	opOr
	opNot
	opAbs
	opSqrt
	opLower
	opHigher

	// What two instructions do, in one: pair.go makes them.
	opAddAdd
	opAddSub
	opAddFrom
	opAddMul
	opAddDiv
	opAddInto
	opSubAdd
	opSubSub
	opSubFrom
	opSubMul
	opSubDiv
	opSubInto
	opMulAdd
	opMulSub
	opMulFrom
	opMulMul
	opMulDiv
	opMulInto
	opDivAdd
	opDivSub
	opDivFrom
	opDivMul
	opDivDiv
	opDivInto
	opIfLess
	opIfMoreEqual
	opLook
	opLookMul // a look-up and a product, as pair.go makes them, too

	// From here on operands are not registers alone, and quick knows none.
	opCall1
	opCall2
	opLoad
	opLoadPrev
	opLoadNext
	opRow
	opReduce
	opIndex

	opcodes // how many there are
)

// operand says what an operand field of an instruction holds.
type operand uint8

const (
	none       operand = iota
	register           // a value
	column             // a column's number
	intrinsic          // a row of the model's intrinsics
	aggregate          // a kernel.Aggregate
	curve              // a pair of columns made ready for a look-up
	columnHere         // a column, read at the row under way
	kept               // the register that a pair leaves the value between in
)

// op is everything about one operation: its name in a listing, what its
// operands a, b, c, d are, and its arithmetic. Exactly one of f1 to f4 is set
// where the result depends on nothing but registers; the operations without
// one read columns or call functions, and Machine.read runs those.
type op struct {
	name       string
	a, b, c, d operand
	f1         func(a float64) float64
	f2         func(a, b float64) float64
	f3         func(a, b, c float64) float64
	f4         func(a, b, c, d float64) float64
	// lanes runs the operation over a block where there is something faster
	// than a call for each lane, and reports whether what it leaves is right:
	// where it is not, something in it is not a number, and the kernel goes
	// over the block.
	lanes func(d []float64, a, b wide) bool
	// pairLanes is lanes of a pair whose first result nothing else wants; false
	// where it has no loop for the operands, too.
	pairLanes func(d []float64, a, b, c wide) bool
	// pair is what the operation does one after the other, where that is two.
	pair pair
	// cause says why numbers make a fault; nil where they cannot.
	cause func(a, b float64) string
}

// ops has a row for each opcode, in their order.
var ops = [opcodes]op{
	opMove:         {name: "move", a: register, f1: func(a float64) float64 { return a }},
	opAdd:          {name: "add", a: register, b: register, f2: kernel.Add, lanes: addLanes, cause: kernel.SumCause},
	opSub:          {name: "sub", a: register, b: register, f2: kernel.Sub, lanes: subLanes, cause: kernel.SumCause},
	opMul:          {name: "mul", a: register, b: register, f2: kernel.Mul, lanes: mulLanes, cause: kernel.SumCause},
	opDiv:          {name: "div", a: register, b: register, f2: kernel.Div, lanes: divLanes, cause: kernel.DivCause},
	opPow:          {name: "pow", a: register, b: register, f2: kernel.Pow, cause: kernel.PowCause},
	opNeg:          {name: "neg", a: register, f1: kernel.Neg},
	opLess:         {name: "less", a: register, b: register, f2: kernel.Less, lanes: lessLanes},
	opLessEqual:    {name: "lesseq", a: register, b: register, f2: kernel.LessEqual, lanes: lessEqualLanes},
	opGreater:      {name: "more", a: register, b: register, f2: kernel.Greater, lanes: moreLanes},
	opGreaterEqual: {name: "moreeq", a: register, b: register, f2: kernel.GreaterEqual, lanes: moreEqualLanes},
	opEqual:        {name: "equal", a: register, b: register, f2: kernel.Equal},
	opNotEqual:     {name: "notequal", a: register, b: register, f2: kernel.NotEqual},
	opSameText:     {name: "same", a: register, b: register, f2: kernel.SameText},
	opNotSameText:  {name: "notsame", a: register, b: register, f2: kernel.NotSameText},
	opIf:           {name: "if", a: register, b: register, c: register, f3: kernel.If},
	opAnd:          {name: "and", a: register, b: register, f2: kernel.And, lanes: andLanes},
	opOr:           {name: "or", a: register, b: register, f2: kernel.Or, lanes: orLanes},
	opNot:          {name: "not", a: register, f1: kernel.Not},
	opAbs:          {name: "abs", a: register, f1: abs, lanes: absLanes},
	opSqrt:         {name: "sqrt", a: register, f1: sqrt, lanes: sqrtLanes},
	opLower:        {name: "min", a: register, b: register, f2: lower, lanes: lowerLanes},
	opHigher:       {name: "max", a: register, b: register, f2: higher, lanes: higherLanes},
	opCall1:        {name: "call", a: register, c: intrinsic},
	opCall2:        {name: "call", a: register, b: register, c: intrinsic},
	opLoad:         {name: "load", a: columnHere},
	opLoadPrev:     {name: "prev", a: columnHere},
	opLoadNext:     {name: "next", a: columnHere},
	opRow:          {name: "row"},
	opReduce:       {name: "reduce", a: column, b: aggregate},
	opIndex:        {name: "index", a: register, b: column},
	opLook:         {name: "look", a: register, c: curve},
	opLookMul:      {name: "look-mul", a: register, b: curve, c: register, d: kept, pair: pair{first: opLook, second: opMul}},
	opIfLess:       {name: "if-less", a: register, b: register, c: register, d: register, f4: ifLess},
	opIfMoreEqual:  {name: "if-moreeq", a: register, b: register, c: register, d: register, f4: ifMoreEqual},
}

// opOf is the opcode of each operation of the checked tree that depends on
// its operands alone; opMove stands for none.
var opOf = [256]opcode{
	check.Add: opAdd, check.Sub: opSub, check.Mul: opMul, check.Div: opDiv,
	check.Pow: opPow, check.Neg: opNeg,
	check.Less: opLess, check.LessEqual: opLessEqual,
	check.Greater: opGreater, check.GreaterEqual: opGreaterEqual,
	check.Equal: opEqual, check.NotEqual: opNotEqual,
	check.SameText: opSameText, check.NotSameText: opNotSameText,
	check.If: opIf, check.And: opAnd, check.Or: opOr, check.Not: opNot,
}

// instr is one instruction: dst = op(a, b, c, d), all of them registers but
// where ops says otherwise.
type instr struct {
	op              opcode
	dst, a, b, c, d int32
}

// pure reports whether the operation depends on registers alone.
func (o *op) pure() bool { return o.f1 != nil || o.f2 != nil || o.f3 != nil || o.f4 != nil }

// byRow reports whether the operation reads the row under way.
func (o opcode) byRow() bool { return o >= opLoad && o <= opRow }
