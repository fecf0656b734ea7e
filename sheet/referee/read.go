package referee

import (
	"errors"
	"fmt"
	"strconv"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// errFault ends the evaluation of a formula with a fault, and errBlank the
// plain evaluation of one that reads a blank.
var (
	errFault = errors.New("a fault")
	errBlank = errors.New("a blank")
)

// reader is the source of cells and columns for formulas: the referee's own
// values, or those of another evaluator.
type reader interface {
	cell(i int) float64
	entry(column, row int) float64
	// whole returns the live entries of a column; ok is false if the
	// column has no end.
	whole(column int) (live []float64, ok bool)
	span(table int) (live int, ended bool)
	// broken returns the row from which a table is faulty because its until is;
	// -1 for none.
	broken(t *check.Table) (row int, err error)
}

// own reads the referee's values.
type own struct{ r *Referee }

func (o own) cell(i int) float64            { return o.r.cells[i] }
func (o own) entry(column, row int) float64 { return o.r.columns[column][row] }
func (o own) span(table int) (int, bool)    { return o.r.Live(table) }

func (o own) broken(t *check.Table) (int, error) { return o.r.spans[t.Index].broken, nil }

func (o own) whole(column int) ([]float64, bool) {
	t := o.r.m.Columns[column].Table
	s := o.r.spans[t.Index]
	if t.Fault != "" || !s.ended {
		return nil, false
	}
	return o.r.columns[column][:s.live], true
}

// scope is the context of a formula besides cells and columns: the row of its
// table, or the arguments and steps of its function.
type scope struct {
	row         int // from 0
	args, steps []float64
}

// outside is the row of a formula outside tables.
const outside = -1

// sight is the parameters of one evaluation by govaluate. The planner makes the
// names: a letter and a number.
type sight struct {
	r      *Referee
	sheaf  *sheaf
	scope  *scope
	gently bool // careful: blanks are allowed, logical values are numbers
}

// The letters of names.
const (
	nodeName = 'v' // a leaf of the tree, by its node
	slotName = 's' // a part computed before, by its place
)

// Get returns the value of name: a float64, or a bool for a logical value in
// plain evaluation.
func (s *sight) Get(name string) (any, error) {
	n, err := strconv.Atoi(name[1:])
	if err != nil {
		return nil, fmt.Errorf("referee: no such name: %s", name)
	}
	if name[0] == slotName {
		return s.let(s.sheaf.slots[n], s.sheaf.truths[n])
	}
	id := check.NodeID(n)
	v, err := s.r.leaf(s.r.m.Node(id), s.scope)
	if err != nil {
		return nil, err
	}
	return s.let(v, s.r.isTruth(id))
}

// let adds v to the current formula, if it may.
func (s *sight) let(v float64, truth bool) (any, error) { return let(v, truth, s.gently) }

func let(v float64, truth, gently bool) (any, error) {
	switch {
	case v == v && truth && !gently:
		return v == 1, nil
	case v == v || gently && kernel.IsBlank(v):
		return v, nil
	case kernel.IsBlank(v):
		return nil, errBlank
	}
	return nil, errFault
}

// isTruth reports whether the node id makes a logical value.
func (r *Referee) isTruth(id check.NodeID) bool { return r.m.TypeOf(id).Form == check.Truth }

// isLeaf reports whether n has no operands and reads one value.
func isLeaf(n *check.Node) bool {
	switch n.Op {
	case check.Const, check.CellRef, check.ColumnRef, check.PrevRef, check.NextRef,
		check.RowRef, check.ParamRef, check.StepRef:
		return true
	}
	return false
}

// leaf returns the value of a leaf.
func (r *Referee) leaf(n *check.Node, s *scope) (float64, error) {
	switch n.Op {
	case check.Const:
		return n.Num(), nil
	case check.CellRef:
		return r.from.cell(int(n.Ref())), nil
	case check.ParamRef:
		return s.args[n.Ref()], nil
	case check.StepRef:
		return s.steps[n.Ref()], nil
	}
	if s.row < 0 {
		return 0, fmt.Errorf("referee: a formula outside tables reads a row")
	}
	return r.inRow(n, s.row)
}

// inRow returns the value of a leaf that reads a row of its table.
func (r *Referee) inRow(n *check.Node, row int) (float64, error) {
	column := int(n.Ref())
	switch {
	case n.Op == check.RowRef:
		return float64(row + 1), nil
	case n.Op == check.ColumnRef:
		return r.from.entry(column, row), nil
	case n.Op == check.PrevRef && row > 0:
		return r.from.entry(column, row-1), nil
	case n.Op == check.NextRef:
		if live, _ := r.from.span(r.m.Columns[column].Table.Index); row+1 < live {
			return r.from.entry(column, row+1), nil
		}
		return kernel.Blank, nil
	}
	return 0, fmt.Errorf("referee: the first row reads the row before it")
}
