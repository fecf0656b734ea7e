package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// tooLong refuses a sheet with more formulas or limits than the bounds allow.
func (c *checker) tooLong() bool {
	file := c.in.Files[0].Tree.File
	switch {
	case c.built > source.MaxFormulas:
		c.failIn(file, source.Span{}, diag.TooLarge, "the formulas of this sheet have more than %d operations", source.MaxFormulas)
	case len(c.m.Limits) > source.MaxLimits:
		c.failIn(file, source.Span{}, diag.TooLarge, "this sheet has %d limits and advises; the bound is %d", len(c.m.Limits), source.MaxLimits)
	default:
		return false
	}
	return true
}

// boundWork refuses a sheet that is too large as a whole, though each of its
// formulas and tables is within its own bound.
func (c *checker) boundWork() {
	if len(c.in.Files) == 0 || c.list.Errors() || c.tooLong() { // without files, it is the library
		return
	}
	var written, work int64
	for i := range c.m.Nodes[:min(c.built, len(c.m.Nodes))] {
		switch n := &c.m.Nodes[i]; n.Op {
		case Call:
			written += int64(c.m.Instances[n.Ref()].Size)
		case Aggregate:
			work += int64(c.m.Columns[n.Ref()].Table.Rows)
		}
	}
	for _, col := range c.m.Columns {
		if !col.Given && col.Formula != 0 {
			work += int64(col.Table.Rows) * int64(c.size(col.Formula))
		}
		if work > source.MaxWork {
			c.file = c.m.Files[col.Origin.File].File
			c.fail(c.decl(&col.Quantity).Name.Span, diag.TooLarge, "the tables up to %s.%s take more than %d operations to compute once", col.Table.Name, col.Name, source.MaxWork).
				help("fewer rows, or shorter formulas")
			return
		}
	}
	if work > source.MaxWork || written > source.MaxWritten {
		c.failIn(c.in.Files[0].Tree.File, source.Span{}, diag.TooLarge, "the formulas of this sheet have more than %d operations when their calls are expanded, or read more than %d rows", source.MaxWritten, source.MaxWork)
	}
}
