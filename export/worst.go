package export

import (
	"math"
	"slices"
	"strconv"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/unit"
)

// A limit over the rows of a table shows the sides, the margin and the name of
// its worst row: the one nearest to its bounds, or farthest outside.

// worstPlan is how a limit over rows finds its worst row.
type worstPlan struct {
	find string // the formula of that row's number, from 1, empty if no row has one
	name string // of the row's name
	row  int    // now, from 0; -1 if no row has a margin
}

// planWorst finds the worst row of a limit over the rows of a table.
func (b *book) planWorst(c *checkPlan, is, least, most check.NodeID) *worstPlan {
	t := b.tables[c.limit.Table.Index]
	return &worstPlan{
		row: b.worstNow(t, is, least, most), find: b.worstRow(t, c, is, least, most),
		name: b.rowName(t, "$"+letters(limitWorstColumn)+thisRow),
	}
}

// worstNow returns the worst row by the rules of the formula; -1 if there is
// none.
func (b *book) worstNow(t *tablePlan, is, least, most check.NodeID) int {
	worst, margin := -1, math.Inf(1)
	live, _ := b.r.Live(t.t)
	for row := range live {
		value := b.value(is, row)
		m := marginOf(value, b.bound(least, row), b.bound(most, row), least != 0, most != 0)
		switch {
		case !b.ofColumn(is, least, most):
		case kernel.IsFault(value):
			return -1 // the smallest or largest value is a fault, too
		case least != 0:
			m = value
		default:
			m = -value
		}
		if m < margin {
			worst, margin = row, m
		}
	}
	return worst
}

// marginOf returns the distance of a value from its bounds; below 0 outside,
// and a NaN without a value.
func marginOf(value, least, most float64, below, above bool) float64 {
	m := math.Inf(1)
	if below {
		m = value - least
	}
	if above {
		m = min(m, most-value)
	}
	return m
}

// bound returns the value of a bound in a row; without the bound it is not a
// number.
func (b *book) bound(id check.NodeID, row int) float64 {
	if id == 0 {
		return math.NaN()
	}
	return b.value(id, row)
}

// sideIn prints a side of a limit over rows, in the row whose number is at a
// place.
func (b *book) sideIn(t *tablePlan, id check.NodeID, u unit.Unit, at string) string {
	list, x := b.sideColumn(t, id, u)
	if list == "" {
		return ""
	}
	x.text, x.bind, x.guards = t.entry(list, at), atom, nil
	return "IF(" + at + `="","",` + x.in(u.Scale, u.Offset*u.Scale).text + ")"
}

// sideColumn returns the range with a side of a limit in every row, and a term
// with its unit: a column of the table, or one of steps.
func (b *book) sideColumn(t *tablePlan, id check.NodeID, u unit.Unit) (list string, x term) {
	if n := b.m.Node(id); n.Op == check.ColumnRef {
		col := b.m.Columns[n.Ref()]
		return b.wholeColumn(col).list, of(&col.Quantity, "")
	}
	p := b.printer(t, false, t.t.Name)
	x = p.term(id).in(u.Scale, u.Offset*u.Scale)
	if p.failed != "" {
		return "", x
	}
	column := t.addStep(rowStep{what: "side of a limit", text: x.guarded()})
	return b.namedSteps(t, column, t.t.Name+"_side"), quantity("", u.Scale, u.Offset*u.Scale)
}

// worstRow prints the number of the worst row. If the bounds are the same in
// every row, it is the row of the smallest or largest value of a column;
// otherwise a column of steps has the margins.
func (b *book) worstRow(t *tablePlan, c *checkPlan, is, least, most check.NodeID) string {
	if b.ofColumn(is, least, most) {
		col := b.m.Columns[b.m.Node(is).Ref()]
		list, function := b.wholeColumn(col).list, "MIN"
		if least == 0 {
			function = "MAX"
		}
		return "IFERROR(MATCH(" + function + "(" + b.entered(list, col) + ")," + list + `,0),"")` // a fault in any row is one in all
	}
	p := b.printer(t, false, c.subject(b.m))
	value := p.term(is)
	text, margin := "", term{}
	add := func(m term) {
		margin = margin.carry(margin, m)
		if m = m.in(1, 0); text != "" {
			text = "MIN(" + text + "," + m.text + ")"
			return
		}
		text = m.text
	}
	if least != 0 {
		add(plus(value, p.term(least), -1))
	}
	if most != 0 {
		add(plus(p.term(most), value, -1))
	}
	if p.failed != "" {
		return ""
	}
	text = guard(margin.guards, text)
	if margin.risky {
		text = "IF(ISERROR(" + text + `),"",` + text + ")"
	}
	list := b.namedSteps(t, t.addStep(rowStep{what: "margin of " + c.subject(b.m), text: text}), t.t.Name+"_margin")
	return "IF(COUNT(" + list + `)=0,"",MATCH(MIN(` + list + ")," + list + ",0))"
}

// ofColumn reports whether a limit has one bound, which is the same in every row,
// on a column.
func (b *book) ofColumn(is, least, most check.NodeID) bool {
	same := (least == 0 || !b.perRow(least)) && (most == 0 || !b.perRow(most))
	return b.m.Node(is).Op == check.ColumnRef && same && (least == 0 || most == 0)
}

// rowName prints the name of a row: from the first column, if that holds texts
// or whole numbers without a unit, else its number.
func (b *book) rowName(t *tablePlan, at string) string {
	if col := b.rowKey(t); col != nil {
		entry := t.entry(b.wholeColumn(col).list, at)
		if col.Type.Form == check.Text {
			return entry
		}
		return quoteText(plainName(col.Name)+" ") + "&" + entry
	}
	return `"row "&` + at
}

// rowKey returns the column that names the rows of a table, or nil.
func (b *book) rowKey(t *tablePlan) *check.Column {
	if len(t.t.Columns) == 0 {
		return nil
	}
	col := t.t.Columns[0]
	if !col.Given || b.blank.columns[col.Index] || col.Type.Form == check.Truth {
		return nil
	}
	if col.Type.Form == check.Number && (symbol(col.Unit) != "" || slices.ContainsFunc(col.Values, func(v float64) bool { return !isWhole(v) })) {
		return nil
	}
	return col
}

// nameNow returns the present name of the worst row.
func (wb *workbook) nameNow(c *checkPlan) string {
	row, t := c.bounds.worst.row, wb.tables[c.limit.Table.Index]
	if row < 0 {
		return wb.placeOf(c)
	}
	col := wb.rowKey(t)
	if col == nil {
		return "row " + strconv.Itoa(row+1)
	}
	text, _ := wb.s.Shown(&col.Quantity, wb.r.Entry(col, row).V)
	if col.Type.Form == check.Text {
		return clean(text)
	}
	return plainName(col.Name) + " " + text
}
