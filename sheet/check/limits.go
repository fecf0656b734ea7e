package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// buildLimits builds the conditions of limits and resolves charts.
func (c *checker) buildLimits() {
	for _, l := range c.m.Limits {
		c.work = work{file: c.m.Files[l.Origin.File].File}
		s := &scope{limit: &limitScope{}}
		at := c.buildRange(s, l.decl.Cond)
		l.Cond, l.Table = at.root, s.limit.table
		c.limits = append(c.limits, at)
	}
	for _, ch := range c.m.Charts {
		c.work = work{file: c.m.Files[ch.Origin.File].File}
		c.resolveChart(ch)
	}
}

// resolveChart finds the columns of a chart, which belong to one table.
func (c *checker) resolveChart(ch *Chart) {
	ch.X = c.chartColumn(ch.decl.X, nil)
	for _, y := range ch.decl.Y {
		if col := c.chartColumn(y, ch.X); col != nil {
			ch.Y = append(ch.Y, col)
		}
	}
}

func (c *checker) chartColumn(e syntax.Expr, x *Column) *Column {
	name, ok := unwrap(e).(*syntax.Column)
	if !ok {
		r := c.fail(e.Pos(), diag.ChartColumn, "a chart shows columns of a table, written table.column")
		if ref, bare := unwrap(e).(*syntax.Ref); bare {
			c.suggestColumn(r, ref.Name)
		}
		return nil
	}
	col := c.findColumn(&c.outside, name)
	if col != nil && x != nil && col.Table != x.Table {
		c.fail(e.Pos(), diag.ChartColumn, "a chart shows columns of one table; %s belongs to %s, and x to %s", col.Name, col.Table.Name, x.Table.Name)
		return nil
	}
	return col
}

// suggestColumn offers the column of a table that has a bare name.
func (c *checker) suggestColumn(r report, name syntax.Name) {
	for _, t := range c.m.Tables {
		if c.columnOf(t, name.Text) != nil {
			full := t.Name + "." + name.Text
			r.help("did you mean %s?", full).repair(name.Span, full, "write %s", full)
			return
		}
	}
}

// inferLimits types the conditions of limits.
func (c *checker) inferLimits() {
	for i, l := range c.m.Limits {
		c.work = work{file: c.m.Files[l.Origin.File].File, loop: true}
		at := c.limits[i]
		c.inferRange(at.lo, at.hi)
		what := "limit"
		if l.Advise {
			what = "advise"
		}
		c.truth(at.root, what)
		c.boundCondition(at.root)
	}
	for _, ch := range c.m.Charts {
		c.file = c.m.Files[ch.Origin.File].File
		c.chartForms(ch)
	}
}

// boundCondition refuses a condition that is too large to be written out.
func (c *checker) boundCondition(root NodeID) {
	if c.size(root) > source.MaxExpanded {
		c.fail(c.span(root), diag.TooLarge, "this condition has more than %d operations when its calls are expanded", source.MaxExpanded)
	}
}

// chartForms refuses a chart of values that are not numbers.
func (c *checker) chartForms(ch *Chart) {
	for i, col := range ch.Y {
		sub := c.subjects[c.columnSubject(col.Index)]
		if form := c.m.Types[sub.typ].Form; sub.typ != unknownType && form != Number {
			c.fail(ch.decl.Span, diag.FormMismatch, "a chart shows numbers; its y number %d, %s, holds %ss", i+1, col.Name, bareForm(form))
		}
	}
}
