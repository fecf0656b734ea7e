package syntax

import "gearleaf/sheet/source"

// Worksheet is the tree of one file. It is immutable after Parse.
type Worksheet struct {
	File  *source.File
	Stmts []Stmt
	// Tail is the comments after the last statement.
	Tail []Comment

	// broken is the places of statements and lines in which Parse found an
	// error, in order; they print unchanged.
	broken []source.Span
	exprs  int
}

// Broken returns the places of statements and lines in which Parse found an
// error, listed or not. The slice is the tree's own.
func (w *Worksheet) Broken() []source.Span { return w.broken }

// Exprs returns the approximate number of operations and operands in the
// formulas.
func (w *Worksheet) Exprs() int { return w.exprs }

// Comment is one `#` comment, from the sign to the end of its line.
type Comment struct {
	Span source.Span
	Text string // without the sign and one blank after it
}

// Stmt is a statement: Version, Title, Caution, Note, Section, Cell, Table,
// Limit, Chart, Correlate, Log, Function, UnitDecl, Use or Bad.
type Stmt interface {
	Base() *Lead
}

// Lead is the common part of all statements.
type Lead struct {
	Span source.Span // from the first token to the end of the last one
	// Remarks is never nil in a parsed tree: without comments it is one
	// shared empty value, because most statements have none.
	*Remarks
}

// Remarks are the comments of a statement.
type Remarks struct {
	// Above is the block of comments right above the statement, no blank
	// line between: for a cell, its note.
	Above []Comment
	// Trailing is the comment on the statement's own last line, or nil.
	Trailing *Comment
}

// Base returns l; it makes every statement that embeds Lead a Stmt.
func (l *Lead) Base() *Lead { return l }

// Note returns the text of the comment block above, lines joined by \n.
func (l *Lead) Note() string {
	if l.Remarks == nil {
		return ""
	}
	note := ""
	for i, c := range l.Above {
		if i > 0 {
			note += "\n"
		}
		note += c.Text
	}
	return note
}

// Name is an identifier with its place.
type Name struct {
	Span source.Span
	Text string
}

// Str is a quoted text, quotes undone.
type Str struct {
	Span source.Span
	Text string
}

// Version is the line `gearleaf 1`.
type Version struct {
	Lead
	Number int
}

// Title, Caution, Note and Section are the lines with one text.
type (
	Title   struct{ TextLine }
	Caution struct{ TextLine }
	Note    struct{ TextLine }
	Section struct{ TextLine }
)

// TextLine is a statement word with one quoted text.
type TextLine struct {
	Lead
	Text Str
}

// Cell is `name : value clauses` (Given) or `name = formula clauses`, at the
// top level, in a table (a column) or, as `table.column[3] : value` or
// `name : value` below a use, an override.
//
// Clauses and Special are never nil in a parsed tree: a cell without them
// points to one shared empty value. That saves memory in a sheet of a million
// cells.
type Cell struct {
	Lead
	Name  Name
	Given bool
	// Values are a given cell's literals: one for a scalar, any number for
	// a column. Each is a Number, Text, Truth or, in a grid, Empty.
	Values []Expr
	// Formula is a computed cell's.
	Formula Expr
	*Special
	*Clauses
}

// Special is the part that few cells have.
type Special struct {
	// Column and Entry are set for an override `gears.ratio[3] : 1.52`
	// (Name is the table then); Column.Text is empty otherwise.
	Column Name
	Entry  Expr
	// From is the CSV header of a column `name : from "Header" unit`;
	// FromUnit is its unit, or the unit in the head of a grid's column.
	From     *Str
	FromUnit *UnitRef
	// Start is the value of a column's first row, or nil.
	Start Expr
	// Head is the head of a column that is in a grid, or nil.
	Head *GridHead
}

// Clauses follow a cell's value, in any order.
type Clauses struct {
	Tolerance *Number  // ± q
	Deviation *Number  // sd q
	Range     *Range   // range a..b
	Choice    []Expr   // choice a, b, c
	As        *UnitRef // as unit
	To        *Number  // to step
	Label     *Str     // "label"
}

// Range is `a..b`.
type Range struct {
	Span   source.Span
	Lo, Hi Expr // Number, sign included
}

// UnitRef is a unit as written.
type UnitRef struct {
	Span source.Span
	Text string
}

// Table is `table name …` with its columns.
type Table struct {
	Lead
	Name  Name
	Rows  *Number // rows N, or nil
	From  *Str    // from "file.csv", or nil
	Until Expr    // until condition, or nil
	Label *Str
	// Grid is the part between bars, or nil. It makes given columns, which
	// precede Columns.
	Grid    *Grid
	Columns []*Cell
	Tail    []Comment // comments after the last column
}

// Grid is a block of rows between bars: a head of names and units, then rows.
type Grid struct {
	Span     source.Span
	Head     []GridHead
	Rows     []GridRow
	Above    []Comment // comments right above the head
	Trailing *Comment
}

// GridHead is one column head, `duration s`; Unit is nil for a bare name.
type GridHead struct {
	Name Name
	Unit *UnitRef
}

// GridRow is one row of a grid. A field is a Number, Text, Truth or Empty; a
// bare word is a Text.
type GridRow struct {
	Span     source.Span
	Fields   []Expr
	Above    []Comment
	Trailing *Comment
}

// Limit is `limit condition "message"` or, with Advise, `advise …`.
type Limit struct {
	Lead
	Advise  bool
	Cond    Expr
	Message *Str
}

// Chart is `chart "title" x table.column y table.column, …`.
type Chart struct {
	Lead
	Title Str
	X     Expr   // Column or Ref
	Y     []Expr // Column or Ref
}

// Correlate is `correlate name, name coefficient`: two givens whose errors
// are correlated. A name may be an entry, `gears.ratio[3]`.
type Correlate struct {
	Lead
	A, B  Expr // Ref, Column or Index
	Value *Number
	Label *Str
}

// Log is `log table` with one line per column of a logger's file,
// `engine_speed : from "Engine [rpm]" rpm`.
type Log struct {
	Lead
	Table   Name
	Columns []*Cell
	Tail    []Comment // comments after the last column
}

// Function is `function name(params) as unit` with its body.
type Function struct {
	Lead
	Name    Name
	Params  []Param
	Result  *UnitRef // as unit; may be `price/life` over parameters
	Meaning *Str
	Sources []Str    // source "…"
	Valid   []*Valid // valid condition "…"
	Steps   []*Cell  // name = formula, before the last line
	Body    Expr     // the last `= formula`
	Example []Expr   // example formula: a worked example, a call
	Tail    []Comment
}

// Param is `name: unit`; Like is set if the unit is another parameter's name,
// and both are nil if a parameter takes anything. `text` means a text. The
// checker distinguishes a unit from a parameter's name.
type Param struct {
	Name Name
	Unit *UnitRef
}

// Valid is one line of a function that states its range.
type Valid struct {
	Lead
	Cond    Expr
	Message *Str
}

// UnitDecl is `unit plug` (a dimension of its own) or `unit psi = 1 psig`.
type UnitDecl struct {
	Lead
	Name  Name
	Value *Number // nil for a unit of its own
}

// Use is `use "bike.leaf"`.
type Use struct {
	Lead
	Path Str
}

// Bad is a line that could not be read; the parser has reported why.
type Bad struct {
	Lead
}

// Expr is an expression: Number, Text, Truth, Empty, Ref, Column, Index,
// Call, Unary, Binary, Chain, If, Paren or BadExpr.
type Expr interface {
	Pos() source.Span
}

// Number is a literal, including a sign directly before it (in a clause, a
// given value, or before a number with a unit). Value is the number as written,
// not converted.
type Number struct {
	Span  source.Span
	Value float64
	Unit  *UnitRef // nil for a bare number
}

// Text is a quoted text value, or a bare word in a grid (Bare).
type Text struct {
	Span  source.Span
	Value string
	Bare  bool
}

// Truth is yes or no.
type Truth struct {
	Span  source.Span
	Value bool
}

// Empty is a grid field or CSV field with nothing in it.
type Empty struct{ Span source.Span }

// Ref is a bare name: a cell, a column of this table, a parameter, a step, or
// `row`.
type Ref struct{ Name Name }

// Column is `table.column`.
type Column struct{ Table, Name Name }

// Index is `table.column[row]`.
type Index struct {
	Span   source.Span
	Column *Column
	Row    Expr
}

// Call is `name(args)`; prev and next are calls too.
type Call struct {
	Span source.Span
	Name Name
	Args []Expr
}

// Unary is `-x` or `not x`.
type Unary struct {
	Span source.Span
	Op   Op
	X    Expr
}

// Binary is `x op y` for arithmetic, `and` and `or`.
type Binary struct {
	Op   Op
	X, Y Expr
}

// Chain is a comparison: `a < b`, or a chain `a <= b < c`. Ops has one entry
// fewer than Operands.
type Chain struct {
	Operands []Expr
	Ops      []Op
}

// If is `if c then a else b`.
type If struct {
	Span             source.Span
	Cond, Then, Else Expr
}

// Paren is `(x)`, kept to print a formula unchanged.
type Paren struct {
	Span source.Span
	X    Expr
}

// BadExpr replaces an expression that could not be read.
type BadExpr struct{ Span source.Span }

// Op is an operator.
type Op uint8

// The operators.
const (
	NoOp Op = iota
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
	And
	Or
	Not
)

var opText = [...]string{"", "+", "-", "*", "/", "^", "-", "<", "<=", ">", ">=", "=", "<>", "and", "or", "not"}

// String returns the operator as written.
func (o Op) String() string { return opText[o] }

// Pos returns the span of the expression.
func (e *Number) Pos() source.Span  { return e.Span }
func (e *Text) Pos() source.Span    { return e.Span }
func (e *Truth) Pos() source.Span   { return e.Span }
func (e *Empty) Pos() source.Span   { return e.Span }
func (e *Ref) Pos() source.Span     { return e.Name.Span }
func (e *Column) Pos() source.Span  { return e.Table.Span.To(e.Name.Span) }
func (e *Index) Pos() source.Span   { return e.Span }
func (e *Call) Pos() source.Span    { return e.Span }
func (e *Unary) Pos() source.Span   { return e.Span }
func (e *Binary) Pos() source.Span  { return e.X.Pos().To(e.Y.Pos()) }
func (e *Chain) Pos() source.Span   { return e.Operands[0].Pos().To(e.Operands[len(e.Operands)-1].Pos()) }
func (e *If) Pos() source.Span      { return e.Span }
func (e *Paren) Pos() source.Span   { return e.Span }
func (e *BadExpr) Pos() source.Span { return e.Span }
