package code

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// Program is a compiled sheet. It is immutable.
type Program struct {
	Model  *check.Model
	Instrs []Instr
	// Tasks are those of the sheet's graph, in its evaluation order.
	Tasks []Task
	// Initial is the initial value of each global register: a constant, or a
	// given. Registers from len(Initial) on are the frame, which every task
	// reuses.
	Initial []float64
	Frame   int

	Cells []int32 // the register of each cell
	// Columns are the model's columns, followed by those of conditions over
	// the rows of a table.
	Columns  []ColumnPlan
	Curves   []CurvePlan
	Verdicts []Verdict // limits, then advices
}

// ColumnPlan is a column's shape.
type ColumnPlan struct {
	Table    int32
	Rows     int
	Computed bool // not given: its rows after the live ones are blank or faults
}

// CurvePlan is a pair of columns for look-ups of one form.
type CurvePlan struct {
	Xs, Ys int32
	Form   kernel.LookupForm
}

// Verdict is the place of the outcome of a limit or an advice: the register of
// its result, and that of the deciding row, counted from 0, -1 for none.
type Verdict struct{ Value, Row int32 }

// Task is the code of one task of the graph. A large sheet has a million
// scalars, so fields that only a table's tasks need are in Tabled.
type Task struct {
	Kind Kind
	Reg  int32 // scalars and verdicts: the result
	// Body runs for each row that First does not compute; a scalar has nothing
	// else.
	Body Range
	*Tabled
}

// Tabled holds the fields of a table's task. Other tasks share NoTable.
type Tabled struct {
	// Once runs once, First for the first row of a table (empty if it is like
	// the others). The value of a row is in the first register of the frame, or
	// in the registers of Loop.
	Once, First Range
	RowReg      int32 // verdicts over a table: the register of the row
	Column      int32 // columns, and verdicts over a table
	Table       int32 // the table it belongs to, -1 for none
	Until       int32 // register of a loop's condition, NoReg for none
	Loop        []Looped
}

// NoTable is the Tabled of tasks that have none; it is never written.
var NoTable = &Tabled{RowReg: NoReg, Column: -1, Table: -1, Until: NoReg}

// Kind selects how a task runs.
type Kind uint8

// The kinds of tasks.
const (
	GivenCell Kind = iota
	GivenColumn
	ScalarTask  // a computed cell, a limit or an advice on scalars
	ColumnTask  // a column whose rows do not depend on each other
	LoopTask    // columns computed row by row
	VerdictTask // a limit or an advice over the rows of a table
)

// Range is a part of Program.Instrs.
type Range struct{ From, To int32 }

// Empty reports whether the range has no instructions.
func (r Range) Empty() bool { return r.From == r.To }

// NoReg is not a register.
const NoReg = -1 << 30

// Looped is a column of a loop: the register for the value of the current row,
// and the one for that of the row before (NoReg if nothing reads it).
type Looped struct{ Column, Now, Before int32 }

// Code returns the instructions of r.
func (p *Program) Code(r Range) []Instr { return p.Instrs[r.From:r.To] }

// Step is a part of a run of the whole sheet: one task of a table or, if Task
// is negative, code that computes several scalars.
type Step struct {
	Task  int32
	Code  []Instr
	Slots int32 // the part of the frame that its code uses, if that may exceed Program.Frame
}

// ColumnName is the full name of one of the model's columns.
func (p *Program) ColumnName(i int32) string {
	c := p.Model.Columns[i]
	return c.Table.Name + "." + c.Name
}
