// Package referee is the second evaluator, which confirms every number: it
// walks the checked tree in the order of the graph, one cell at a time, and
// evaluates formulas with govaluate, with every bracket explicit.
//
// It shares only the kernel with the fast program: no register numbering, no
// inlining, no folding. Functions are called with their arguments bound,
// branches are taken or not, tables run row by row.
//
// An ordinary formula is computed by govaluate's own operators. If it reads a
// blank, it is computed again, carefully: then every operator is a function of
// the kernel, which handles blanks. A fault ends a formula at once, because
// every result of a fault is a fault, except in a branch that is not taken.
package referee

import (
	"context"
	"fmt"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
)

// Referee evaluates one checked sheet.
type Referee struct {
	m *check.Model
	g *graph.Graph

	cells   []float64
	columns [][]float64 // nil until computed; a given's are the model's own
	changed []bool      // columns whose values are no longer the model's own
	spans   []span      // of tables
	limits  []Verdict
	advices []Verdict
	places  map[*check.Advice]int

	from   reader // where formulas read cells and columns
	now    *scope // the scope of the current formula
	row    scope  // that of a row
	silent bool   // advices are neither evaluated nor compared
	trees  map[check.NodeID]*tree
	shared sharing
	wholes wholes
	ctx    context.Context // of the Confirm that is running, or nil
}

// span is the extent of a table.
type span struct {
	live   int  // live rows
	ended  bool // false if an until never held
	broken int  // first row made faulty by a faulty until, -1 for none
}

// Verdict is the outcome of a limit or an advice: whether its condition holds,
// and for one on a column the row it is about, from 0, or -1.
type Verdict struct {
	Value float64
	Row   int
}

// New returns a Referee for m with the tasks of g. The givens are those of the
// sheet until they are set.
func New(m *check.Model, g *graph.Graph) (*Referee, error) {
	r := &Referee{
		m: m, g: g,
		cells:   make([]float64, len(m.Cells)),
		columns: make([][]float64, len(m.Columns)),
		changed: make([]bool, len(m.Columns)),
		spans:   make([]span, len(m.Tables)),
		limits:  make([]Verdict, len(m.Limits)),
		advices: make([]Verdict, len(m.Advices)),
		places:  make(map[*check.Advice]int, len(m.Advices)),
		trees:   map[check.NodeID]*tree{},
	}
	r.from = own{r}
	for i, a := range m.Advices {
		r.places[a] = i
	}
	for i, c := range m.Cells {
		if int(c.Index) != i {
			return nil, fmt.Errorf("referee: cell %s has index %d, is at %d", c.Name, c.Index, i)
		}
		r.cells[i] = c.Value
	}
	for i, c := range m.Columns {
		if c.Given {
			r.columns[i] = givenValues(c)
		}
	}
	return r, nil
}

// givenValues returns a given column's values; those of a table whose file
// could not be read are faults.
func givenValues(c *check.Column) []float64 {
	if c.Table.Fault == "" {
		return c.Values
	}
	return filled(c.Table.Rows, kernel.Fault)
}

func filled(n int, v float64) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = v
	}
	return s
}

// SetCell gives a given cell another value.
func (r *Referee) SetCell(cell int, v float64) { r.cells[cell] = v }

// SetEntry gives a row, counted from 0, of a given column another value.
func (r *Referee) SetEntry(column, row int, v float64) {
	if !r.changed[column] {
		r.columns[column] = append([]float64(nil), r.columns[column]...)
		r.changed[column] = true
	}
	r.columns[column][row] = v
}

// OmitAdvices leaves advices out for callers that do not show them: in a long
// table they can be half of the work.
func (r *Referee) OmitAdvices() { r.silent = true }

// Run evaluates every task. The error is a defect of the referee or of the
// model: errors of a sheet become faults, not errors.
func (r *Referee) Run() error {
	r.from = own{r}
	r.wholes.clear()
	for i := range r.m.Tables {
		r.spans[i] = span{live: r.m.Tables[i].Rows, ended: r.m.Tables[i].Until == 0 && r.m.Tables[i].Fault == "", broken: -1}
	}
	for i := range r.g.Len() {
		if err := r.ended(); err != nil {
			return err
		}
		if err := r.run(r.g.Task(i)); err != nil {
			return err
		}
	}
	return nil
}

// ended returns the error of the context that Confirm was given.
func (r *Referee) ended() error {
	if r.ctx == nil {
		return nil
	}
	return r.ctx.Err()
}

// run evaluates one task from the referee's own values.
func (r *Referee) run(t graph.Task) error {
	var err error
	switch t.Kind {
	case graph.CellTask:
		if !t.Cell.Given {
			r.cells[t.Cell.Index], err = r.scalar(t.Cell.Formula)
		}
		return named(err, t.Cell.Name)
	case graph.ColumnTask:
		if t.Column.Given {
			return nil
		}
		return named(r.runColumn(t.Column), t.Column.Name)
	case graph.LoopTask:
		return named(r.runLoop(t.Table), t.Table.Name)
	case graph.LimitTask:
		r.limits[t.Limit.Index], err = r.verdict(t.Limit.Cond, t.Limit.Table)
		return named(err, "limit")
	case graph.AdviceTask:
		if r.silent {
			return nil
		}
		r.advices[r.places[t.Advice]], err = r.verdict(t.Advice.Cond, tableOf(t.Advice))
		return named(err, "advice")
	}
	return fmt.Errorf("referee: no such kind of task: %d", t.Kind)
}

func named(err error, name string) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", name, err)
}

func tableOf(a *check.Advice) *check.Table {
	if a.Column == nil {
		return nil
	}
	return a.Column.Table
}

// keep is the largest number of cells of a sheet whose plans are kept for the
// next Run: a plan takes some 6 kB.
const keep = 5000

// scalar evaluates a formula outside tables.
func (r *Referee) scalar(node check.NodeID) (float64, error) {
	if len(r.m.Cells) > keep {
		return newTree(r, node).value(&scope{row: outside})
	}
	return r.tree(node).value(&scope{row: outside})
}

// tree returns the tree of the formula at root, made once.
func (r *Referee) tree(root check.NodeID) *tree {
	t, ok := r.trees[root]
	if !ok {
		t = newTree(r, root)
		r.trees[root] = t
	}
	return t
}

// Cell returns the value of cell i after Run.
func (r *Referee) Cell(i int) float64 { return r.cells[i] }

// Entry returns the value of a column in row, counted from 0, after Run.
func (r *Referee) Entry(column, row int) float64 { return r.columns[column][row] }

// Column returns the values of column i after Run. The slice is the
// referee's own.
func (r *Referee) Column(i int) []float64 { return r.columns[i] }

// Live returns the number of live rows of a table after Run; ended is false if
// its until never held.
func (r *Referee) Live(table int) (rows int, ended bool) {
	return r.spans[table].live, r.spans[table].ended
}

// Limit returns the outcome of limit i after Run, and the row it is about.
func (r *Referee) Limit(i int) (value float64, row int) { return r.limits[i].Value, r.limits[i].Row }

// Advice returns the outcome of advice i after Run, and the row it is about.
func (r *Referee) Advice(i int) (value float64, row int) {
	return r.advices[i].Value, r.advices[i].Row
}
