package export

import (
	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// tableTitle returns the name of a table in words, with its label.
func tableTitle(t *check.Table) string {
	if t.Origin.Label == "" {
		return plainName(t.Name)
	}
	return plainName(t.Name) + ": " + clean(t.Origin.Label)
}

// tableRemark gives the length of a table and its place.
func (wb *workbook) tableRemark(t *tablePlan) string {
	text := rowsText(t.t.Rows)
	if t.t.Until != 0 {
		text = "up to " + text
	}
	if wb.aside(t.t.Origin) {
		return text + ", on the hidden tab " + t.tab
	}
	return text + ", on the tab " + t.tab
}

// shortTable returns a row of a table that is in the lines of a tab.
func (wb *workbook) shortTable(l line) ([]any, float64) {
	s, t := &wb.styles, l.tab
	row := make([]any, len(t.t.Columns))
	lines := 1
	for i, c := range t.t.Columns {
		left := c.Type.Form == check.Text
		switch l.kind {
		case columnHeadLine:
			name := label(&c.Quantity)
			lines = max(lines, wrapped(name, t.charsOf(i)))
			row[i] = excelize.Cell{Value: name, StyleID: s.of(columnLabelLook, "", left)}
		case unitHeadLine:
			row[i] = excelize.Cell{Value: cellSymbol(c.Unit), StyleID: s.of(columnUnitLook, "", left)}
		case tableRowLine:
			row[i] = wb.shortEntry(t, i, c, l.row)
			lines = max(lines, wrapped(wb.entryText(c, l.row), t.charsOf(i)-2)) // it is indented
		}
	}
	switch l.kind {
	case tableHeadLine:
		band := s.band(tableLook, len(t.t.Columns), tableTitle(t.t))
		if title, ok := band[0].(excelize.Cell); ok {
			band[0] = wb.withCause(t, title)
		}
		return band, 16
	case columnHeadLine:
		return row, max(float64(lineHeight*float64(lines))+2, plainHeight)
	}
	if lines > 1 {
		return row, plainHeight * float64(lines)
	}
	return row, 0
}

// shortEntry returns the cell of a column in a row of a short table.
func (wb *workbook) shortEntry(t *tablePlan, i int, c *check.Column, row int) excelize.Cell {
	v, plan, style := wb.r.Entry(c, row), &t.columns[i], wb.columnStyle(t, c)
	if plan.why != "" && row == 0 {
		wb.report.Frozen = append(wb.report.Frozen, Frozen{Cell: t.t.Name + "." + c.Name, Why: plan.why})
	}
	if c.Given || plan.why != "" {
		if c.Given && row < len(c.Values) {
			v.V = wb.givenEntry(c, row)
			style = wb.entryStyle(t, c, v, style)
		}
		return wb.value(&c.Quantity, v, "", style)
	}
	style = wb.entryStyle(t, c, v, style)
	text := plan.rest
	if row == 0 {
		text = plan.top
	}
	value := wb.cachedValue(&c.Quantity, v)
	if _, rounded := t.exact[c]; rounded {
		text, value = wb.shownColumn(t, c), wb.roundedValue(&c.Quantity, v)
	}
	wb.report.Formulas++
	return excelize.Cell{Formula: place(text, t.quoted, t.first+row), Value: value, StyleID: style}
}

// stepsBeside is the column in which the steps of short tables begin: hidden, after
// the numbers of the rows and the causes of faults.
const stepsBeside = causeColumn + 2

// stepsOfRow writes the steps of a short table that are in a row of its tab.
func (wb *workbook) stepsOfRow(out *rowWriter, t *tablePlan, row int) {
	if len(t.steps) == 0 || row < t.first-1 {
		return
	}
	if row == t.first-1 {
		column := t.stepsFirst - 1
		number := "ROWS(" + t.ref("$"+letters(column)+"$"+t.rowText(0)+":$"+letters(column)) + thisRow + ")"
		write := out.column(t, t.stepsTab, column, number, number, false)
		t.write = append(t.write, func(row int) { write(row, wb.styles.of(rowLook, "0", false), cachedValue{}) })
		// A step that counts reads its own head above the first row, as 0.
		for i := range t.steps {
			out.cell(t.stepsFirst+i, head(&wb.styles, clean(t.steps[i].what), nameLook))
			t.write = append(t.write, wb.stepCells(out, t, &t.steps[i]))
		}
		return
	}
	for _, write := range t.write {
		write(row - t.first)
	}
}

// charsOf returns the width of a column of a short table.
func (t *tablePlan) charsOf(i int) int {
	switch i + 1 {
	case labelColumn:
		return labelWidth
	case valueColumn:
		return valueWidth
	case unitColumn:
		return unitWidth
	}
	return narrowWidth
}

// entryText returns the text in a column's row, nothing for a number.
func (wb *workbook) entryText(c *check.Column, row int) string {
	v := wb.r.Entry(c, row)
	if c.Type.Form != check.Text || v.IsBlank() || v.IsFault() {
		return ""
	}
	return wb.m.Texts[int(v.V)]
}
