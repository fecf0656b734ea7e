// Package check resolves names in syntax trees, infers and checks units and
// kinds, and builds one checked tree, the Model, which every back end reads. It
// expands nothing.
package check

import (
	"strings"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// Model is a checked sheet: the given file, the files it uses and the
// functions it calls. Expressions live in one arena, Nodes, children before
// parents, and are named by NodeID; nothing in a Model refers to a name.
type Model struct {
	Files    []*Worksheet // Files[0] is the sheet itself
	Units    *unit.System
	Title    string
	Cautions []string

	Cells   []*Cell   // scalars, in reading order
	Columns []*Column // of all tables
	Tables  []*Table  // the library's tables, where used, come last
	Limits  []*Limit
	Charts  []*Chart
	Advices []*Advice // ranges and validity: conditions a cell should keep
	// Correlations are the givens whose errors are correlated, a pair once.
	Correlations []Correlation
	Plugs        []Plug // givens taken from another sheet, in reading order
	// Logs map the columns of logger's files, in reading order.
	Logs []*Log

	Nodes     []Node
	Args      []NodeID // the parts of nodes besides two operands
	Texts     []string // interned texts; the runtime value of a text is its index
	Types     []Type   // interned types
	Instances []*Instance
	// Intrinsics are the rows that Intrinsic nodes refer to.
	Intrinsics []kernel.Intrinsic

	outline  []entry  // everything, in reading order
	outlined []string // the sections and notes of the outline

	looks    map[lookKey]*Look
	lastKey  lookKey // of the last requested look
	lastLook *Look
	names    names // the index of a cell, or the complement of a table's
	texts    names // the index of each of Texts

	wrong   []wrongPlace // where errors were reported
	untyped []int32      // cells, then columns, whose type is not known

	typeIndex      map[Type]TypeID
	mostTypes      int  // source.MaxMeasures
	tooMany        bool // there was one more
	units          []unitInfo
	unitIndex      map[string]unitID // by text as written
	preferredIndex map[TypeID]unitID
}

// TypeID is an index into Model.Types.
type TypeID int32

// Form is the form of a value.
type Form uint8

// The forms of values.
const (
	Number Form = iota
	Truth
	Text
)

// Type is what is known about a value before computing; Measure applies to
// numbers only. MayBlank says that the value can be a blank.
type Type struct {
	Form     Form
	MayBlank bool
	Measure  unit.Measure
}

// Op is the operation of a Node.
type Op uint8

// The operations. A and B are operands.
const (
	Bad Op = iota

	// Leaves.
	Const     // Num: number in SI, logical value, or text index, as Type says
	CellRef   // Ref: index in Model.Cells
	ColumnRef // Ref: index in Model.Columns; this row's value
	PrevRef   // Ref: column; the row before
	NextRef   // Ref: column; the row after, a blank in the last live row
	RowRef    // the row's number, from 1
	ParamRef  // Ref: parameter of the instance that owns the node
	StepRef   // Ref: step of the instance that owns the node

	// Arithmetic on A and B.
	Add
	Sub
	Mul
	Div
	Pow
	Neg // A

	// Comparison with tolerance on numbers; exact on texts and logical values.
	Less
	LessEqual
	Greater
	GreaterEqual
	Equal
	NotEqual
	SameText    // texts and logical values
	NotSameText // texts and logical values

	// Branches: an operand that is not taken has no effect.
	If  // A: condition; BranchesOf
	And // if A then B else no
	Or  // if A then yes else B
	Not // A

	// Calls.
	Call      // Ref: instance; ArgsOf, ResultOf
	ValidCall // one of an instance's Valids; ArgsOf, ResultOf
	Intrinsic // Ref: index in Model.Intrinsics; ArgsOf

	// Whole columns.
	Aggregate // Ref: column; A holds a kernel.Aggregate
	Lookup    // A: x; LookupOf
	IndexAt   // Ref: column; A: row number

	ops // how many there are
)

// Origin names the file that declares a name.
type Origin struct {
	File    int    // index in Model.Files
	Section string // the section it is in
	Label   string
	Note    string

	from *Worksheet // the file itself, nil in a model made by hand
}

// Quantity is the common part of cells and columns. It is small, because a
// large sheet has a million of them: properties that many share are in a Look
// and an Origin, and rare ones in Details, which is NoDetails for all others.
type Quantity struct {
	Name string
	*Look
	Origin *Origin
	*Details
	// Formula is the computed value's node, 0 when given.
	Formula NodeID
	Index   int32 // in Model.Cells or Model.Columns
	place   place
	Given   bool
	// Plugged is set on a given cell of one used sheet that another computes:
	// Formula is the node of a reference to that cell, Given is false. The
	// other cell has the same Name, so code that needs unique names leaves
	// plugged cells out; Resolve finds the computing one.
	Plugged bool
}

// Look describes the values of a quantity and how they are shown. It never
// changes: equal quantities share one.
type Look struct {
	Type Type
	Unit unit.Unit // shown unit, for numbers
	// Whole says that a given must be whole (teeth, links; a choice or range of
	// whole numbers given without decimals does not make it so).
	Whole bool
}

// Details are the properties that few quantities have.
type Details struct {
	To float64 // shown precision in Unit; 0 for none
	// Tolerance is ± or sd of a given, in SI scale, 0 for none.
	Tolerance ToleranceForm
	Spread    float64
	// Range is lo..hi in SI, nil for none. Choice likewise.
	Range  *[2]float64
	Choice []float64
	// Typed are the digits of given values, by the number in Unit, where they were
	// typed otherwise than unit.FormatGiven writes them: 28.00.
	Typed map[float64]string
}

// NoDetails are the details of a quantity that has none; they are never
// written.
var NoDetails = &Details{}

// NewQuantity returns a quantity with only its index set.
func NewQuantity(index int) Quantity {
	return Quantity{Look: &Look{}, Origin: &Origin{}, Details: NoDetails, Index: int32(index)}
}

// own returns writable details of q.
func (q *Quantity) own() *Details {
	if q.Details == NoDetails {
		q.Details = &Details{}
	}
	return q.Details
}

// ToleranceForm distinguishes limits (±) from a standard deviation.
type ToleranceForm uint8

// The forms of tolerance.
const (
	Exact ToleranceForm = iota
	Limits
	Deviation
)

// Cell is a scalar.
type Cell struct {
	Quantity
	Value float64 // a given's runtime value
}

// Plug says that one sheet's given is taken from another that computes it.
type Plug struct {
	Given, Source *Cell
}

// Column is a column of a table.
type Column struct {
	Quantity
	Table  *Table
	Values []float64 // a given column's runtime values, as long as Rows
	Start  NodeID    // 0 for none
	// Looped says that the column is computed row by row, because prev, until
	// or another looped column depends on it. Other columns are computed whole,
	// even with a Start.
	Looped bool
	// Entries are the overrides of single values, in the order in which they
	// were applied.
	Entries []Entry
}

// Entry is an override of one value of a given column.
type Entry struct {
	Row int // from 0
}

// Table is a table.
type Table struct {
	Name    string
	Origin  Origin
	Index   int
	Rows    int // the number of rows without until
	Columns []*Column
	Until   NodeID
	// Loop lists the looped columns in evaluation order within a row.
	Loop []*Column
	// Fault is why the table's file could not be read, empty if it could.
	Fault string
	// Library says that the table belongs to the library, not to the sheet.
	Library bool
	From    string // the file that its columns come from, empty for none

	place place
	decl  *syntax.Table // while it is checked
}

// Limit is a limit or an advise line.
type Limit struct {
	Origin  Origin
	Index   int
	Advise  bool
	Cond    NodeID
	Table   *Table // set if Cond applies to every live row of a table
	Message string
	Text    string // the condition as written, on one line
	// Unit is the unit in which the numbers that Cond compares are shown. Its
	// scale is 0 if Cond compares no numbers.
	Unit unit.Unit

	place place
	decl  *syntax.Limit // while it is checked
}

// Advice is a condition that a cell should keep: its range, or the validity of
// a function it calls. Breaking it stops nothing.
type Advice struct {
	Cell   *Cell   // owner: one of Cell, Column
	Column *Column // conditions of a column are checked in every live row
	Cond   NodeID
	Text   string // the message if Cond does not hold
}

// Chart is a chart of columns of one table.
type Chart struct {
	Origin Origin
	Title  string
	X      *Column
	Y      []*Column

	decl *syntax.Chart // while it is checked
}

// Instance is a function checked for one set of argument types.
type Instance struct {
	Name   string
	File   *source.File
	Params []Type
	Steps  []NodeID // in order; a StepRef may name an earlier one
	Result NodeID
	Type   TypeID
	// Unit is the declared result unit, or one without symbol.
	Unit   unit.Unit
	Valids []Valid
	// Size is the number of operations after expanding all calls.
	Size int

	library *syntax.Function // a function of the library, whose trees are kept
	from    *Worksheet       // else the file of the function, and where in it
	place   place
}

// Valid is a condition over an instance's parameters and steps that holds in
// its valid range. It may be that of an inner call, guarded by the branch it is
// in.
type Valid struct {
	Cond NodeID
	Text string
}

// Resolve returns the cell called name, or the column called "table.column";
// both are nil if there is none.
func (m *Model) Resolve(name string) (*Cell, *Column) {
	table, column, dotted := strings.Cut(name, ".")
	if !dotted {
		if i, ok := m.names.find(name); ok && i >= 0 {
			return m.Cells[i], nil
		}
		return nil, nil
	}
	i, ok := m.names.find(table)
	if !ok || i >= 0 {
		return nil, nil
	}
	for _, c := range m.Tables[^i].Columns {
		if c.Name == column {
			return nil, c
		}
	}
	return nil, nil
}
