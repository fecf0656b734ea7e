package export

import (
	"math"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// A long table is read on the screen and printed in brief: so many of its live
// rows, from the first to the last, on a tab that is one page.

const (
	inBrief    = " in brief"
	briefRows  = 40
	mostRows   = 120 // a table of fixed length is printed whole up to these
	mostMoving = 45  // and one whose length moves
)

// long reports whether a table has a tab in brief.
func (t *tablePlan) long() bool {
	if t.t.Library || len(t.t.Columns) == 0 {
		return false
	}
	return t.t.Rows > mostRows || t.t.Until != 0 && t.t.Rows > mostMoving
}

// printedRows returns how many rows are printed of the tab with all.
func (t *tablePlan) printedRows() int {
	if t.long() {
		return briefRows
	}
	return t.t.Rows
}

// writeBrief writes the tab of a long table's rows to print.
func (wb *workbook) writeBrief(t *tablePlan) error {
	if err := wb.tablePage(t, t.brief); err != nil {
		return err
	}
	one := 1
	if err := wb.f.SetPageLayout(t.brief, &excelize.PageLayoutOptions{FitToWidth: &one, FitToHeight: &one}); err != nil {
		return err
	}
	if err := wb.protect(t.brief); err != nil {
		return err
	}
	out, err := wb.tableTop(t, t.brief, plainName(t.t.Name)+inBrief, "Rows from the first to the last; all are on the tab "+t.tab+".")
	if err != nil {
		return err
	}
	styles := make([]int, len(t.t.Columns))
	for i, c := range t.t.Columns {
		styles[i] = wb.shutStyle(t, c)
	}
	for k := range briefRows {
		if err := out.SetRow(at(1, tableTop+k), wb.briefRow(t, k, styles)); err != nil {
			return err
		}
	}
	return out.Flush()
}

// briefRow returns the k-th row: the number of the table's row that it shows,
// and the entries there.
func (wb *workbook) briefRow(t *tablePlan, k int, styles []int) []any {
	spread := func(rows int) int {
		return int(math.Round(float64(rows-1) * float64(k) / (briefRows - 1)))
	}
	number := excelize.Cell{Value: spread(t.t.Rows) + 1, StyleID: wb.styles.of(rowLook, "0", false)}
	row, shown := spread(t.t.Rows), true
	if t.rows != "" {
		ks := strconv.Itoa(k)
		number.Formula = "IF(" + t.rows + ">" + strconv.Itoa(briefRows) + ",1+ROUND((" + t.rows + "-1)*" + ks + "/" + strconv.Itoa(briefRows-1) +
			",0),IF(" + ks + "<" + t.rows + "," + strconv.Itoa(k+1) + `,""))`
		live, ended := wb.r.Live(t.t)
		if row = k; live > briefRows {
			row = spread(live)
		}
		switch shown = row < live; {
		case !ended:
			number.Value, shown = notAvailable, false
		case shown:
			number.Value = float64(row + 1)
		default:
			number.Value = cachedValue{kind: 's'}
		}
	}
	cells := []any{number}
	here := "$A" + strconv.Itoa(tableTop+k)
	for i, c := range t.t.Columns {
		entry := "INDEX(" + t.entryRange(c) + "," + here + ")"
		cell := excelize.Cell{Formula: "IF(" + here + `="","",IF(` + entry + `="","",` + entry + "))", StyleID: styles[i], Value: number.Value}
		if shown {
			v := wb.r.Entry(c, row)
			cell.Value = wb.roundedValue(&c.Quantity, v)
			if !c.Given {
				cell.StyleID = wb.entryStyle(t, c, v, cell.StyleID)
			}
		}
		wb.report.Formulas++
		cells = append(cells, cell)
	}
	return cells
}
