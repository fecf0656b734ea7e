package export

import (
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// cellSource writes the cell of one column of a table's tab in the current row.
type cellSource func(row int)

// tableRows writes the rows: their numbers, the columns, the steps.
func (wb *workbook) tableRows(out *rowWriter, t *tablePlan) error {
	number := wb.styles.of(rowLook, "0", false)
	var cells []cellSource
	for i, c := range t.t.Columns {
		cells = append(cells, wb.columnCells(out, t, i, c))
	}
	for i := range t.steps {
		cells = append(cells, wb.stepCells(out, t, &t.steps[i]))
	}
	for row := range t.t.Rows {
		out.begin(t.first + row)
		out.cell(1, excelize.Cell{Value: row + 1, StyleID: number})
		for _, write := range cells {
			write(row)
		}
		out.cells(wb.formCells(t, t.first+row), t.form)
		out.end()
	}
	if t.form == nil {
		return nil
	}
	for row := t.first + t.t.Rows; row <= t.form.last(); row++ {
		out.begin(row, excelize.RowOpts{Height: wb.formHeight(t, row)})
		out.cells(wb.formCells(t, row), t.form)
		out.end()
	}
	return nil
}

// columnCells returns what writes the cells of a column. A given column shows
// its entries after the last live row too: they are what was entered.
func (wb *workbook) columnCells(out *rowWriter, t *tablePlan, i int, c *check.Column) cellSource {
	plan, style := &t.columns[i], wb.columnStyle(t, c)
	if plan.why != "" {
		wb.report.Frozen = append(wb.report.Frozen, Frozen{Cell: t.t.Name + "." + c.Name, Why: plan.why})
	}
	if c.Given || plan.why != "" {
		return func(row int) {
			v := wb.r.Entry(c, row)
			if c.Given && c.Table.Fault == "" && row < len(c.Values) {
				v.V = wb.givenEntry(c, row)
			}
			look := style
			if c.Given {
				look = wb.entryStyle(t, c, v, style)
			}
			out.cell(i+2, wb.value(&c.Quantity, v, "", look))
		}
	}
	wb.report.Formulas += t.t.Rows
	if _, rounded := t.exact[c]; rounded {
		text := wb.shownColumn(t, c)
		write := out.column(t, t.quoted, i+2, text, text, false)
		return func(row int) { write(row, style, wb.roundedValue(&c.Quantity, wb.r.Entry(c, row))) }
	}
	top, rest := t.rowTexts(c, plan)
	write := out.column(t, t.quoted, i+2, top, rest, false)
	return func(row int) {
		v := wb.r.Entry(c, row)
		write(row, wb.entryStyle(t, c, v, style), wb.cachedValue(&c.Quantity, v))
	}
}

// stepCells returns what writes the cells of a step. A step that reads the row
// above has no cell in the first row.
func (wb *workbook) stepCells(out *rowWriter, t *tablePlan, step *rowStep) cellSource {
	top, rest := step.text, step.text
	if step.of != nil {
		return wb.exactCells(out, t, step)
	}
	switch {
	case step.text == "until":
		top, rest = t.untilText(0), t.untilText(1)
	case step.text == "after":
		top, rest = t.afterText(0), t.afterText(1)
	case !step.bare:
		if top = t.live(top, 0, step.early); strings.Contains(step.text, priorRow) {
			top = ""
		}
		rest = t.live(rest, 1, step.early)
	}
	wb.report.Steps += t.t.Rows
	style := wb.styles.of(shutLook, "", false)
	write := out.column(t, t.stepsTab, step.column, top, rest, step.array)
	return func(row int) { write(row, style, cachedValue{}) }
}

// exactCells returns what writes the values of a column that are not rounded, or
// that are not yet a fault where the condition of its row is one.
func (wb *workbook) exactCells(out *rowWriter, t *tablePlan, step *rowStep) cellSource {
	c := step.of
	plan := &t.columns[slices.Index(t.t.Columns, c)]
	style := wb.styles.of(shutLook, "", false)
	if plan.why != "" {
		return func(row int) { out.cell(step.column, wb.value(&c.Quantity, wb.r.Entry(c, row), "", style)) }
	}
	wb.report.Steps += t.t.Rows
	top, rest := t.rowTexts(c, plan)
	if step.early {
		top, rest = t.live(plan.top, 0, true), t.live(plan.rest, 1, true)
	}
	write := out.column(t, t.stepsTab, step.column, top, rest, false)
	if step.early {
		return func(row int) { write(row, style, cachedValue{}) }
	}
	return func(row int) { write(row, style, wb.cachedValue(&c.Quantity, wb.r.Entry(c, row))) }
}

// column returns what writes the formulas of a column: top in the first row, if
// it is not empty, and rest in the others.
func (w *rowText) column(t *tablePlan, tab string, column int, top, rest string, array bool) func(row, style int, v cachedValue) {
	last := t.first + t.t.Rows - 1
	var first, others *repeated
	switch {
	case top == rest:
		first = w.repeat(rest, tab, array, column, t.first, last)
		others = first
	default:
		if top != "" {
			first = w.repeat(top, tab, array, column, t.first, t.first)
		}
		if t.t.Rows > 1 {
			others = w.repeat(rest, tab, array, column, t.first+1, last)
		}
	}
	return func(row, style int, v cachedValue) {
		switch {
		case row > 0:
			others.write(w, style, v)
		case first != nil:
			first.write(w, style, v)
		}
	}
}

// cells writes a form's cells into the current row.
func (w *rowText) cells(cells []any, f *paperForm) {
	for i, c := range cells {
		if c, ok := c.(excelize.Cell); ok {
			w.cell(f.column+i, c)
		}
	}
}
