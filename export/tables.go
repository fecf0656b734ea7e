package export

import (
	"fmt"
	"strconv"
	"unicode/utf8"

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
		if t.brief != "" {
			if err := wb.writeBrief(t); err != nil {
				return err
			}
		}
	}
	return nil
}

func (wb *workbook) writeTable(t *tablePlan) error {
	if err := wb.tablePage(t, t.tab); err != nil {
		return err
	}
	if !t.t.Library { // an area of a hidden tab would be printed
		if err := wb.printArea(t.tab, len(t.t.Columns)+1, t.first+min(t.t.Rows, t.printedRows())-1); err != nil {
			return err
		}
	}
	if err := wb.protect(t.tab); err != nil {
		return err
	}
	if err := wb.guardTable(t); err != nil {
		return err
	}
	out, err := wb.tableTop(t, t.tab, plainName(t.t.Name), tabRemark(t))
	if err != nil {
		return err
	}
	if err := wb.tableRows(out, t); err != nil {
		return err
	}
	return out.Flush()
}

// tablePage lays out the pages of a tab with a table's rows: the heads are
// printed on each.
func (wb *workbook) tablePage(t *tablePlan, tab string) error {
	titles := "$" + strconv.Itoa(columnLabelRow) + ":$" + strconv.Itoa(columnUnitRow)
	return wb.page(tab, len(t.t.Columns) > 7, titles)
}

// tableTop begins a tab with a table's rows: columns, panes and heads. The rows
// come next.
func (wb *workbook) tableTop(t *tablePlan, tab, title, remark string) (*rowWriter, error) {
	out, err := wb.stream(tab)
	if err != nil {
		return nil, err
	}
	if err := wb.tableColumns(out, t); err != nil {
		return nil, err
	}
	if err := out.SetPanes(tablePanes()); err != nil {
		return nil, err
	}
	return out, wb.tableHead(out, t, title, remark)
}

// guardTable says what may be entered in the given columns, and shows the
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

// tableColumns sets the widths from the longest thing in each column.
func (wb *workbook) tableColumns(out *rowWriter, t *tablePlan) error {
	if err := out.SetColWidth(1, 1, 6); err != nil {
		return err
	}
	for i, c := range t.t.Columns {
		width := max(9, utf8.RuneCountInString(c.Name)+1, utf8.RuneCountInString(symbol(c.Unit))+1)
		for row := 0; row < t.t.Rows; row += 1 + t.t.Rows/1000 {
			v := wb.r.Entry(c, row)
			text := ""
			if c.Type.Form == check.Text && !v.IsBlank() && !v.IsFault() {
				text = wb.m.Texts[int(v.V)]
			}
			width = max(width, wb.valueWidth(&c.Quantity, wb.shown(&c.Quantity, v), text)+1)
		}
		if err := out.SetColWidth(i+2, i+2, float64(min(width, 40))); err != nil {
			return err
		}
	}
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

// tabRemark says what the tab of a table holds.
func tabRemark(t *tablePlan) string {
	remark := t.t.Origin.Label
	if t.t.Library {
		remark = "A table of the formula library."
	}
	if t.t.Until != 0 {
		remark = joined(remark, "Ends with the first row in which its condition holds; rows after it are blank.")
	}
	if t.brief != "" {
		remark = joined(remark, fmt.Sprintf("Printed: the first %d rows here, and rows from first to last on the tab %s.", t.printedRows(), t.brief))
	}
	return remark
}

// tableHead writes the lines above a table's rows.
func (wb *workbook) tableHead(out *rowWriter, t *tablePlan, title, remark string) error {
	s := &wb.styles
	rows := [][]any{
		tableTitleRow - 1:  {excelize.Cell{Value: title, StyleID: s.of(titleLook, "", true)}},
		tableRemarkRow - 1: {excelize.Cell{Value: clean(remark), StyleID: s.of(rowLook, "", true)}},
		columnLabelRow - 1: {nil}, columnNameRow - 1: {head(s, "row", columnLook)}, columnUnitRow - 1: {head(s, "", columnUnitLook)},
	}
	tallest := 0.0
	for _, c := range t.t.Columns {
		name := ""
		if c.Origin.Label != "" {
			name = clean(c.Origin.Label)
		}
		tallest = max(tallest, heightOf(name, 10, 9))
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
		opts := excelize.RowOpts{}
		switch i + 1 {
		case tableTitleRow:
			opts.Height = 24
		case columnLabelRow:
			opts.Height = min(max(tallest, 14), 75)
		}
		if err := out.SetRow(at(1, i+1), cells, opts); err != nil {
			return err
		}
	}
	return nil
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

// shutStyle returns the style of a column whose values are shown, not entered.
func (wb *workbook) shutStyle(t *tablePlan, c *check.Column) int {
	return wb.columnLook(t, c, shutLook)
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
// percentage that was typed, and a computed value without a step, have the digits
// that the sheet shows.
func (wb *workbook) entryStyle(t *tablePlan, c *check.Column, v sheet.Value, style int) int {
	switch {
	case c.Type.Form != check.Number:
		return style
	case c.Given && !isPercent(c.Unit), c.Given && t.t.Library, !c.Given && c.To != 0:
		return style
	}
	look := shutLook
	if c.Given {
		look = openLook
	}
	return wb.styles.of(look, format(&c.Quantity, wb.shown(&c.Quantity, v)), false)
}
