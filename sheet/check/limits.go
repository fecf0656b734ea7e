package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
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
		l.Unit = c.comparedUnit(at.root)
	}
	for _, ch := range c.m.Charts {
		c.file = c.m.Files[ch.Origin.File].File
		c.chartForms(ch)
	}
}

// comparedUnit returns the unit in which the numbers are shown that a condition
// compares: that of a name among them, else one that is written after a number,
// else one that an expression suggests.
func (c *checker) comparedUnit(root NodeID) unit.Unit {
	sides := c.compared(nil, root)
	if len(sides) == 0 {
		return unit.Unit{}
	}
	named := func(n *Node) bool {
		return n.Op == CellRef || n.Op == ColumnRef || n.Op == IndexAt || n.Op == Aggregate
	}
	written := func(n *Node) bool { return n.Op == Const }
	for _, want := range []func(*Node) bool{named, written, func(*Node) bool { return true }} {
		for _, id := range sides {
			u := c.m.units[c.shown[id]].Unit
			if c.m.Node(id).Op == Sub {
				u = u.DifferenceUnit() // 60 psig - 20 psig are 40 psid
			}
			if want(c.m.Node(id)) && u.Symbol != "" && u.Symbol != "1" && c.takes(sides, u) {
				return u
			}
		}
	}
	u := c.m.Units.Preferred(c.m.TypeOf(sides[0]).Measure)
	if !c.takes(sides, u) {
		u = unit.Unit{Scale: 1}
	}
	return u
}

// compared appends the operands of the comparisons of numbers that a condition
// is, or joins by `and`.
func (c *checker) compared(list []NodeID, id NodeID) []NodeID {
	switch n := c.m.Node(id); n.Op {
	case And:
		return c.compared(c.compared(list, n.A), n.B)
	case Less, LessEqual, Greater, GreaterEqual, Equal, NotEqual:
		if c.m.Nodes[n.A].Type() != unknownType && c.m.Nodes[n.B].Type() != unknownType {
			return append(list, n.A, n.B)
		}
	}
	return list
}

// takes reports whether all sides can be shown in u.
func (c *checker) takes(sides []NodeID, u unit.Unit) bool {
	for _, id := range sides {
		if unit.Meets(c.m.TypeOf(id).Measure, u.Measure) != "" {
			return false
		}
	}
	return true
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
