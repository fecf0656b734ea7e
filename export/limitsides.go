package export

import (
	"cmp"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/unit"
)

// boundCells writes both sides of a limit and the margin: rounded where they are
// seen, and exact in hidden columns unless they were typed.
func (wb *workbook) boundCells(c *checkPlan, row []any) {
	p := c.bounds
	if w := p.worst; w != nil {
		wb.worstCells(c, row)
	}
	for i, s := range p.sides() {
		if !s.there() {
			continue
		}
		row[limitIsColumn-1+i] = wb.sideCell(c, s.cell, s.shown, s.si)
		if !s.typed {
			row[limitExactColumn-1+i] = wb.sideCell(c, s.text, s.value, s.si)
		}
	}
	row[limitMarginColumn-1] = wb.sideCell(c, p.marginText(), p.margin(), kernel.Blank)
	if !p.typed() {
		row[limitExactMarginColumn-1] = row[limitMarginColumn-1]
		margin, digits := at(limitExactMarginColumn, c.row), at(limitDigitsColumn, c.row)
		row[limitMarginColumn-1] = wb.sideCell(c, "IFERROR(ROUND("+margin+","+digits+`),"")`, rounded(p.margin(), p.digits()), kernel.Blank)
		row[limitDigitsColumn-1] = wb.sideCell(c, p.digitsText(c.row), float64(p.digits()), 0)
	}
	for column, u := range map[int]unit.Unit{limitUnitColumn: p.unit.DifferenceUnit(), limitValueUnitColumn: p.unit} {
		if text := symbol(u); text != "" {
			row[column-1] = head(&wb.styles, text, unitLook)
		}
	}
}

// worstCells writes which row of a table a limit is about: its number, and what it
// is called.
func (wb *workbook) worstCells(c *checkPlan, row []any) {
	w := c.bounds.worst
	number, si := math.NaN(), kernel.Blank
	if w.row >= 0 {
		number, si = float64(w.row+1), 0
	}
	row[limitWorstColumn-1] = wb.sideCell(c, w.find, number, si)
	name := excelize.Cell{StyleID: wb.styles.of(unitLook, "", false), Value: wb.nameNow(c)}
	name.Formula = place("IFERROR(IF(N($"+letters(limitWorstColumn)+thisRow+")=0,"+cmp.Or(rowOf(c), `""`)+","+w.name+`),"")`, limitsTab, c.row)
	row[limitRowColumn-1] = name
}

// sideCell returns a cell with a number of a limit; si is a blank or a fault
// where it has none.
func (wb *workbook) sideCell(c *checkPlan, formula string, now, si float64) excelize.Cell {
	cell := excelize.Cell{StyleID: wb.styles.of(shutLook, general, false), Value: now}
	if _, err := strconv.ParseFloat(formula, 64); err == nil {
		return cell
	}
	wb.report.Formulas++
	cell.Formula = place(formula, limitsTab, c.row)
	switch {
	case now == now:
	case kernel.IsFault(si) && !strings.HasPrefix(formula, "IFERROR("):
		cell.Value = cachedValue{kind: 'e', text: "#N/A"}
	default:
		cell.Value = ""
	}
	return cell
}
