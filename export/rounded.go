package export

import (
	"math"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// A number format rounds to decimals, not to tens or quarters. A computed
// quantity that is shown to such a step has two cells: the exact value among
// the steps, to which its name and all formulas refer, and the rounded one,
// which is shown.

// coarseStep returns the step to which a computed quantity is shown, as a
// number of its cell; "" if a number format is enough.
func coarseStep(q *check.Quantity) string {
	if q.Given || q.Type.Form != check.Number || !(q.To > 0) {
		return ""
	}
	if byFormat(q.To) {
		return ""
	}
	return literal(trimmed(q.To * cellFactor(q.Unit)))
}

// byFormat reports whether a number format rounds to a step: to 1, 0.1, 0.01.
func byFormat(to float64) bool {
	step := literal(to)
	fraction, small := strings.CutPrefix(step, "0.")
	return step == "1" || small && strings.TrimLeft(fraction, "0") == "1"
}

// roundedText returns the formula that rounds what ref refers to; a blank stays
// one. The inner ROUND makes 14.499999999999998 a half, which rounds up; the text of
// other reports takes 14.4999999999 for less, too.
func roundedText(ref, step string, blank bool) string {
	text := "ROUND(ROUND(" + ref + "/" + step + ",12),0)*" + step
	if blank {
		return "IF(" + ref + `="","",` + text + ")"
	}
	return text
}

// planExact gives the exact value of each scalar that is shown to a coarse step a
// place on the tab of steps, before any formula refers to it.
func (b *book) planExact() {
	for _, c := range b.m.Cells {
		if coarseStep(&c.Quantity) == "" || c.Plugged {
			continue
		}
		p := &b.cells[c.Index]
		p.rounded, p.exact = true, len(b.steps)
		name := p.name
		if b.direct {
			name = ""
		}
		b.steps = append(b.steps, scalarStep{what: c.Name + ", not rounded", name: name, of: c})
	}
}

// roundCells moves the formulas of those scalars to the tab of steps.
func (b *book) roundCells() {
	for _, c := range b.m.Cells {
		p := &b.cells[c.Index]
		if !p.rounded || p.formula == "" || p.why != "" {
			continue // the step then holds the value
		}
		b.steps[p.exact].text = p.formula
		p.formula = roundedText(b.scalarRef(c), coarseStep(&c.Quantity), b.blank.cells[c.Index])
	}
}

// scalarRef returns a reference to a scalar's value, not rounded and not impossible.
func (b *book) scalarRef(c *check.Cell) string {
	switch p := &b.cells[c.Index]; {
	case p.entered && b.steps[p.step].name == "":
		return b.stepRef(p.step)
	case p.entered:
		return b.steps[p.step].name
	case !b.direct:
		return p.name
	case p.rounded:
		return b.stepRef(p.exact)
	default:
		return tabMark + p.leaf.quoted + "!" + tabMark + fixed(valueColumn, p.row)
	}
}

// roundColumns plans the columns of exact values.
func (b *book) roundColumns(t *tablePlan) {
	t.exact = map[*check.Column]int{}
	for _, c := range t.t.Columns {
		if coarseStep(&c.Quantity) != "" && !t.t.Library {
			t.exact[c] = t.addStep(rowStep{what: c.Name + ", not rounded", text: "exact " + c.Name, of: c})
		}
	}
}

// shownColumn returns the formula of a rounded column in all rows.
func (b *book) shownColumn(t *tablePlan, c *check.Column) string {
	return roundedText(t.columnRef(c)+thisRow, coarseStep(&c.Quantity), t.t.Until != 0 || b.blank.columns[c.Index])
}

// entryRange returns the visible range of a column: the name of a rounded one
// refers to the exact values.
func (t *tablePlan) entryRange(c *check.Column) string {
	if _, rounded := t.exact[c]; !rounded {
		return t.names[t.columnOf(c)]
	}
	l := "$" + letters(t.columnOf(c)) + "$"
	return t.ref(l + t.rowText(0) + ":" + l + t.rowText(t.t.Rows-1))
}

// roundedValue is the shown value of a quantity's cell.
func (wb *workbook) roundedValue(q *check.Quantity, v sheet.Value) cachedValue {
	c := wb.cachedValue(q, v)
	if step := coarseStep(q); step != "" && c.kind == 'n' {
		c.number = roundTo(c.number, q.To*cellFactor(q.Unit))
	}
	return c
}

// roundTo rounds a number of a cell to a step, as roundedText does.
func roundTo(v, step float64) float64 { return math.Round(trimmed(v/step)) * step }
