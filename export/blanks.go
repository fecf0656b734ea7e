package export

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// blanks marks the scalars, and the columns within their live rows, that can be
// blank: only these need a formula with a test for blanks. In the checked tree
// every column of a table that may end early can be blank, because it is blank
// after the last live row; formulas of live rows need no test for that.
type blanks struct {
	m       *check.Model
	cells   []bool
	columns []bool
}

func blanksOf(m *check.Model) *blanks {
	b := &blanks{m: m, cells: make([]bool, len(m.Cells)), columns: make([]bool, len(m.Columns))}
	for b.pass() {
	}
	return b
}

// pass visits everything once; it returns false when nothing has changed.
// Columns depend on each other through prev, so one pass is not enough.
func (b *blanks) pass() bool {
	moved := false
	for _, c := range b.m.Cells {
		if !b.cells[c.Index] && (c.Given && kernel.IsBlank(c.Value) || b.node(c.Formula)) {
			b.cells[c.Index], moved = true, true
		}
	}
	for _, c := range b.m.Columns {
		if !b.columns[c.Index] && (b.given(c) || b.node(c.Formula) || b.node(c.Start)) {
			b.columns[c.Index], moved = true, true
		}
	}
	return moved
}

func (b *blanks) given(c *check.Column) bool {
	for _, v := range c.Values {
		if kernel.IsBlank(v) {
			return true
		}
	}
	return false
}

// node reports whether a value can be blank. A function is blank if an argument
// is.
func (b *blanks) node(id check.NodeID) bool {
	if id == 0 {
		return false
	}
	n := b.m.Node(id)
	switch n.Op {
	case check.Const:
		return kernel.IsBlank(n.Num())
	case check.CellRef:
		return b.cells[n.Ref()]
	case check.ColumnRef, check.PrevRef:
		return b.columns[n.Ref()]
	case check.NextRef:
		return true
	case check.RowRef, check.Aggregate:
		return false
	}
	return b.any(b.m.AppendOperands(nil, n)...)
}

func (b *blanks) any(ids ...check.NodeID) bool {
	for _, id := range ids {
		if b.node(id) {
			return true
		}
	}
	return false
}
