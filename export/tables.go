package export

import (
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// The rows above a table.
const (
	tableTitleRow = iota + 1
	tableRemarkRow
	columnLabelRow
	columnNameRow
	columnUnitRow
)

// writeTables writes a tab for each table.
func (wb *workbook) writeTables() error {
	for _, t := range wb.tables {
		if t.host != nil {
			continue
		}
		if err := wb.writeTable(t); err != nil {
			return err
		}
	}
	return nil
}

func (wb *workbook) writeTable(t *tablePlan) error {
	if err := wb.tablePaper(t); err != nil {
		return err
	}
	if err := wb.protect(t.tab); err != nil {
		return err
	}
	if err := wb.guardTable(t); err != nil {
		return err
	}
	out, err := wb.stream(t.tab)
	if err != nil {
		return err
	}
	if err := wb.tableColumns(out, t); err != nil {
		return err
	}
	if err := out.SetPanes(tablePanes()); err != nil {
		return err
	}
	if err := wb.tableHead(out, t); err != nil {
		return err
	}
	if err := wb.tableRows(out, t); err != nil {
		return err
	}
	return out.Flush()
}

// tablePaper lays out the pages of a table's tab: the heads are printed on each.
// An area of a hidden tab would be printed.
func (wb *workbook) tablePaper(t *tablePlan) error {
	titles := "$" + strconv.Itoa(columnLabelRow) + ":$" + strconv.Itoa(columnUnitRow)
	f := t.form
	if err := wb.page(t.tab, f != nil || fullWidth(wb.estimates(t.t)) > portrait.chars(), titles); err != nil || t.t.Library || wb.aside(t.t.Origin) {
		return err
	}
	if f == nil {
		return printArea(wb.f, t.tab, 1, len(t.t.Columns)+1, t.first+t.t.Rows-1)
	}
	if err := printArea(wb.f, t.tab, f.column, f.column+f.wide()-1, f.last()); err != nil {
		return err
	}
	if f.high() > landscape.points() {
		return nil
	}
	return wb.onePage(t.tab)
}

// guardTable sets the rules for entries in the given columns, and shows the
// comments above columns as notes.
func (wb *workbook) guardTable(t *tablePlan) error {
	for i, c := range t.t.Columns {
		if c.Origin.Note != "" {
			if err := wb.note(t.tab, at(t.column(i), columnNameRow), c.Origin.Note); err != nil {
				return err
			}
		}
	}
	if t.t.Until != 0 && len(t.t.Columns) > 0 {
		if err := wb.fadeRows(t); err != nil {
			return err
		}
	}
	cells := wb.guardedColumns(t)
	if err := wb.allDigits(t.tab, cells); err != nil {
		return err
	}
	return wb.validate(t.tab, cells)
}

// guardedColumns returns the given columns of a table.
func (wb *workbook) guardedColumns(t *tablePlan) []guarded {
	var cells []guarded
	for i, c := range t.t.Columns {
		if c.Given && t.t.Rows > 0 {
			cells = append(cells, guarded{at(t.column(i), t.first) + ":" + at(t.column(i), t.first+t.t.Rows-1), &c.Quantity, c.Values, ticked(wb.m, c)})
		}
	}
	return cells
}

// fadeRows hides the numbers of rows after the last live one.
func (wb *workbook) fadeRows(t *tablePlan) error {
	pale, err := wb.f.NewConditionalStyle(&excelize.Style{Font: &excelize.Font{Color: "FFFFFF"}})
	if err != nil {
		return err
	}
	for i, c := range t.t.Columns {
		if !c.Given {
			list := at(1, t.first) + ":" + at(1, t.first+t.t.Rows-1)
			return wb.f.SetConditionalFormat(t.tab, list, []excelize.ConditionalFormatOptions{
				{Type: "formula", Criteria: "$" + at(i+2, t.first) + `=""`, Format: &pale},
			})
		}
	}
	return nil
}

// tableColumns sets the widths from the longest content of each column.
func (wb *workbook) tableColumns(out *rowWriter, t *tablePlan) error {
	if err := out.SetColWidth(1, 1, 6); err != nil {
		return err
	}
	for i, c := range t.t.Columns {
		t.widths = append(t.widths, wb.entryWidth(c))
		if err := out.SetColWidth(i+2, i+2, float64(t.widths[i])); err != nil {
			return err
		}
	}
	if err := wb.hideSteps(out, t); err != nil || t.form == nil {
		return err
	}
	return wb.formColumns(out, t)
}

// entryWidth returns the width of a column, from its longest content.
func (wb *workbook) entryWidth(c *check.Column) int {
	width := headWidth(c)
	for row := 0; row < c.Table.Rows; row += 1 + c.Table.Rows/1000 {
		v := wb.r.Entry(c, row)
		text := ""
		if c.Type.Form == check.Text && !v.IsBlank() && !v.IsFault() {
			text = wb.m.Texts[int(v.V)]
		}
		width = max(width, wb.valueWidth(&c.Quantity, wb.shown(&c.Quantity, v), text)+1)
	}
	return min(width, mostWide)
}

// hideSteps hides the columns of a table's steps.
func (wb *workbook) hideSteps(out *rowWriter, t *tablePlan) error {
	if len(t.steps) == 0 {
		return nil
	}
	last := t.nextStep() - 1
	if err := out.SetColWidth(t.stepsFirst, last, 16); err != nil {
		return err
	}
	return out.SetColVisible(t.stepsFirst, last, false)
}

// tablePanes freezes a table's heads and the numbers of its rows.
func tablePanes() *excelize.Panes {
	return &excelize.Panes{
		Freeze: true, XSplit: 1, YSplit: columnUnitRow,
		TopLeftCell: at(2, columnUnitRow+1), ActivePane: "bottomRight",
	}
}

// tabRemark describes the tab of a table.
func tabRemark(t *tablePlan) string {
	remark := t.t.Origin.Label
	if t.t.Library {
		remark = "A table of the formula library."
	}
	if t.t.Until != 0 {
		remark = joined(remark, "Ends with the first row in which its condition holds; rows after it are blank.")
	}
	if t.form != nil {
		remark = joined(remark, "Printed as the form from column "+letters(t.form.column)+" on.")
	}
	return remark
}

// tableHead writes the lines above a table's rows.
func (wb *workbook) tableHead(out *rowWriter, t *tablePlan) error {
	s := &wb.styles
	rows := [][]any{
		tableTitleRow - 1:  {excelize.Cell{Value: plainName(t.t.Name), StyleID: s.of(titleLook, "", true)}},
		tableRemarkRow - 1: {wb.withCause(t, excelize.Cell{Value: clean(tabRemark(t)), StyleID: s.of(rowLook, "", true)})},
		columnLabelRow - 1: {nil}, columnNameRow - 1: {head(s, "row", columnLook)}, columnUnitRow - 1: {head(s, "", columnUnitLook)},
	}
	tallest := 0.0
	for i, c := range t.t.Columns {
		name := ""
		if c.Origin.Label != "" {
			name = clean(c.Origin.Label)
		}
		tallest = max(tallest, heightOf(name, t.widths[i]))
		left := c.Type.Form == check.Text
		rows[columnLabelRow-1] = append(rows[columnLabelRow-1], excelize.Cell{Value: name, StyleID: s.of(columnLabelLook, "", left)})
		rows[columnNameRow-1] = append(rows[columnNameRow-1], excelize.Cell{Value: c.Name, StyleID: s.of(columnLook, "", left)})
		rows[columnUnitRow-1] = append(rows[columnUnitRow-1], excelize.Cell{Value: symbol(c.Unit), StyleID: s.of(columnUnitLook, "", left)})
	}
	for i, step := range t.steps {
		// A step that counts reads its own head above the first row, as 0.
		rows[columnUnitRow-1] = padded(rows[columnUnitRow-1], t.stepsFirst-1+i)
		rows[columnUnitRow-1] = append(rows[columnUnitRow-1], head(s, clean(step.what), nameLook))
	}
	for i, cells := range rows {
		if form := wb.formCells(t, i+1); form != nil {
			cells = append(padded(cells, t.form.column-1), form...)
		}
		if err := out.SetRow(at(1, i+1), cells, headHeight(i+1, tallest)); err != nil {
			return err
		}
	}
	return nil
}

// headHeight returns the height of a row above a table, whose labels are so high.
func headHeight(row int, labels float64) excelize.RowOpts {
	switch row {
	case tableTitleRow:
		return excelize.RowOpts{Height: 23}
	case columnLabelRow:
		return excelize.RowOpts{Height: min(max(labels, plainHeight), labelLines*lineHeight+1)}
	}
	return excelize.RowOpts{Height: plainHeight}
}

// padded returns cells with empty ones up to a length.
func padded(cells []any, n int) []any {
	for len(cells) < n {
		cells = append(cells, nil)
	}
	return cells
}

func head(s *styles, text string, l look) excelize.Cell {
	return excelize.Cell{Value: text, StyleID: s.of(l, "", false)}
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	if strings.HasSuffix(a, ".") {
		return a + " " + b
	}
	return a + ". " + b
}

// columnStyle returns a column's style, from its largest value.
func (wb *workbook) columnStyle(t *tablePlan, c *check.Column) int {
	l := shutLook
	if c.Given && !t.t.Library {
		l = openLook
	}
	return wb.columnLook(t, c, l)
}

func (wb *workbook) columnLook(t *tablePlan, c *check.Column, l look) int {
	largest, whole := 0.0, true
	for row := 0; row < t.t.Rows; row += 1 + t.t.Rows/1000 {
		if v := wb.shown(&c.Quantity, wb.r.Entry(c, row)); v == v {
			largest = max(largest, v, -v)
			whole = whole && isWhole(v)
		}
	}
	if !whole && isWhole(largest) {
		largest += 0.5
	}
	return wb.styles.of(l, format(&c.Quantity, largest), c.Type.Form == check.Text)
}

// entryStyle returns the style of one entry of a column that has this style. A
// given as it was typed, and a computed value without a step, have the digits
// that the sheet shows.
func (wb *workbook) entryStyle(t *tablePlan, c *check.Column, v sheet.Value, style int) int {
	switch {
	case c.Type.Form != check.Number, c.Given && t.t.Library, !c.Given && c.To != 0:
		return style
	case c.Given && !isPercent(c.Unit) && len(c.Typed) == 0:
		return style
	}
	look := shutLook
	if c.Given {
		look = openLook
	}
	return wb.styles.of(look, format(&c.Quantity, wb.shown(&c.Quantity, v)), false)
}
