package sheet

import (
	"math"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/unit"
)

// Difference is one value before and after a change.
type Difference struct {
	Place
	Before, After Value
	// Moved says that the two differ, numbers by more than the tolerance of
	// comparisons in formulas.
	Moved bool
	// Delta is after minus before, in the shown unit; Numeric says that both
	// are numbers, otherwise there is no Delta.
	Numeric bool
	Delta   float64
	// Percent is Delta as a share of the value before; Relative says that it
	// exists: not for a value of zero, and not for points on a temperature
	// scale.
	Relative bool
	Percent  float64
}

// Difference returns the effect of the change at p, which is not a whole
// column.
func (c *Changed) Difference(p Place) Difference {
	return differ(p, c.Before.At(p), c.After.At(p))
}

// differ compares two values of the cell at p.
func differ(p Place, before, after Value) Difference {
	q := p.Quantity()
	d := Difference{Place: p, Before: before, After: after}
	b, a := d.Before.V, d.After.V
	d.Moved = math.Float64bits(b) != math.Float64bits(a)
	if q.Type.Form == check.Text && b == b && a == a {
		d.Moved = d.Before.Plain(q) != d.After.Plain(q) // of two sheets, each has texts of its own
	}
	d.Numeric = q.Type.Form == check.Number && b == b && a == a
	if d.Numeric {
		d.Moved = !kernel.Same(a, b) && !dust(p, before, after)
	}
	if !d.Numeric {
		return d
	}
	d.Delta = q.Unit.Difference(a, b)
	if b != 0 && q.Unit.Offset == 0 && !temperaturePoint(q.Type.Measure) {
		d.Relative = true
		d.Percent = (a - b) / math.Abs(b) * 100
	}
	return d
}

// dust reports whether two values of a sum or difference differ by no more than
// the rounding errors of its operands.
func dust(p Place, before, after Value) bool {
	q, size := p.Quantity(), 0.0
	if before.r == nil || after.r == nil {
		return false
	}
	m := before.r.Sheet.Model
	nodes := []check.NodeID{q.Formula}
	for at := 0; at < len(nodes) && at < 64 && q.Formula != 0; at++ {
		n := m.Node(nodes[at])
		nodes = m.AppendOperands(nodes, n)
		read := Place{Row: p.Row}
		switch n.Op {
		case check.CellRef:
			read = Place{Cell: m.Cells[n.Ref()]}
		case check.ColumnRef:
			read.Column = m.Columns[n.Ref()]
		default:
			continue
		}
		if read.Quantity().Type.Measure.Dim != q.Type.Measure.Dim || read.Column != nil && (p.Column == nil || read.Column.Table != p.Column.Table) {
			continue
		}
		if v := math.Abs(before.r.At(read).V); v > size {
			size = v
		}
	}
	return math.Abs(after.V-before.V) <= kernel.Tolerance*size
}

func temperaturePoint(m unit.Measure) bool {
	return m.Dim == (unit.Dimension{unit.Temperature: {Num: 1}}) && m.Kind == unit.Absolute
}

// Outline returns the items that the change reaches in reading order, with
// sections that are not empty. The changed givens are not in it.
func (c *Changed) Outline() []check.Item {
	reached := c.reached()
	var out []check.Item
	section := ""
	for item := range c.Before.Sheet.Model.Outline() {
		if item.Section != "" {
			section = item.Section
			continue
		}
		if !reached[item.Cell] && !reached[item.Table] && !reached[item.Limit] {
			continue
		}
		if section != "" {
			out = append(out, check.Item{Section: section})
			section = ""
		}
		out = append(out, item)
	}
	return out
}

// Columns returns the columns of t that the change reaches, in order, including
// the changed ones.
func (c *Changed) Columns(t *check.Table) []*check.Column {
	reached := c.reached()
	for _, set := range c.Settings {
		if set.Column != nil {
			reached[set.Column] = true
		}
	}
	var out []*check.Column
	for _, column := range t.Columns {
		if reached[column] {
			out = append(out, column)
		}
	}
	return out
}

// reached returns the cells, columns, tables and limits that depend on the
// change, without the changed givens.
func (c *Changed) reached() map[any]bool {
	set := map[any]bool{}
	for _, i := range c.Reached {
		t := c.Before.Sheet.Graph.Task(i)
		for _, q := range quantities(t) {
			set[q] = true
		}
		if t.Kind == graph.LimitTask {
			set[t.Limit] = true
		}
	}
	for _, s := range c.Settings {
		if s.Cell != nil {
			delete(set, s.Cell)
		} else {
			delete(set, s.Column)
		}
	}
	for q := range set {
		if column, ok := q.(*check.Column); ok {
			set[column.Table] = true
		}
	}
	return set
}

// quantities returns the cells and columns that a task computes.
func quantities(t graph.Task) []any {
	switch t.Kind {
	case graph.CellTask:
		return []any{t.Cell}
	case graph.ColumnTask:
		return []any{t.Column}
	case graph.LoopTask:
		var out []any
		for _, c := range t.Table.Loop {
			out = append(out, c)
		}
		return out
	}
	return nil
}

// Count returns the number of cells and columns that the change reaches, the
// number in the sheet, and the number of reached ones that moved. A column
// counts as one.
func (c *Changed) Count() (reached, of, moved int) {
	m := c.Before.Sheet.Model
	hangs := c.reached()
	for _, cell := range m.Cells {
		of++
		if hangs[cell] {
			reached++
			if c.Difference(Place{Cell: cell}).Moved {
				moved++
			}
		}
	}
	for _, column := range m.Columns {
		if column.Table.Library {
			continue
		}
		of++
		if hangs[column] {
			reached++
			if c.ColumnMoved(column) {
				moved++
			}
		}
	}
	return reached, of, moved
}

// ColumnMoved reports whether the change moves any row of column.
func (c *Changed) ColumnMoved(column *check.Column) bool {
	before, _ := c.Before.Live(column.Table)
	after, _ := c.After.Live(column.Table)
	for row := range max(before, after) {
		if c.Difference(Place{Column: column, Row: row}).Moved {
			return true
		}
	}
	return false
}
