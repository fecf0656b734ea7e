package export

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/unit"
)

// boundCells writes both sides of a limit and the margin.
func (wb *workbook) boundCells(c *checkPlan, row []any) {
	p := c.bounds
	if w := p.worst; w != nil {
		wb.worstCells(c, row)
	}
	for i, s := range p.sides() {
		if s.there() {
			row[limitIsColumn-1+i] = wb.sideCell(c, s.cell, s.shown, s.si, s.format())
		}
	}
	cells := [3]string{at(limitIsColumn, c.row), at(limitLeastColumn, c.row), at(limitMostColumn, c.row)}
	margin := "IF(COUNT(" + cells[0] + ":" + cells[2] + ")=" + strconv.Itoa(1+len(p.bounds())) + "," + p.marginText([3]string{p.is.exact, p.least.exact, p.most.exact}) + `,"")`
	row[limitMarginColumn-1] = wb.sideCell(c, margin, p.margin(), kernel.Blank, p.marginFormat())
	for column, u := range map[int]unit.Unit{limitUnitColumn: p.unit.DifferenceUnit(), limitValueUnitColumn: p.unit} {
		if text := symbol(u); text != "" {
			row[column-1] = head(&wb.styles, text, unitLook)
		}
	}
	wb.digitCells(c, row)
}

// worstCells writes which row of a table a limit is about: its number, and what it
// is called.
func (wb *workbook) worstCells(c *checkPlan, row []any) {
	w := c.bounds.worst
	number, si := math.NaN(), kernel.Blank
	if w.row >= 0 {
		number, si = float64(w.row+1), 0
	}
	row[limitWorstColumn-1] = wb.sideCell(c, w.find, number, si, general)
	name := excelize.Cell{StyleID: wb.styles.of(unitLook, "", false), Value: wb.nameNow(c)}
	name.Formula = place("IFERROR(IF(N($"+letters(limitWorstColumn)+thisRow+")=0,"+cmp.Or(rowOf(c), `""`)+","+w.name+`),"")`, limitsTab, c.row)
	row[limitRowColumn-1] = name
}

// sideCell returns a cell with a number of a limit; si is a blank or a fault
// where it has none.
func (wb *workbook) sideCell(c *checkPlan, formula string, now, si float64, format string) excelize.Cell {
	cell := excelize.Cell{StyleID: wb.styles.of(shutLook, format, false), Value: now}
	if _, err := strconv.ParseFloat(formula, 64); err == nil {
		return cell
	}
	wb.report.Formulas++
	cell.Formula = place(formula, limitsTab, c.row)
	switch {
	case now == now:
	case kernel.IsFault(si):
		cell.Value = cachedValue{kind: 'e', text: "#N/A"}
	default:
		cell.Value = ""
	}
	return cell
}

// digitCells writes to how many decimals the front shows the margin, the value and
// its bounds: they follow the margin, what was typed is shown as it is.
func (wb *workbook) digitCells(c *checkPlan, row []any) {
	p, style := c.bounds, wb.styles.of(shutLook, "", false)
	for _, column := range []int{limitDigitsColumn, limitIsDigitsColumn, limitBoundDigitsColumn} {
		cell := excelize.Cell{Value: p.sideDigits(column), StyleID: style}
		if !p.asTyped(column) {
			cell.Formula = p.digitsText(c.row)
		}
		row[column-1] = cell
	}
}

// asTyped reports whether all that a column of digits is about was typed.
func (p *boundsPlan) asTyped(column int) bool {
	switch column {
	case limitIsDigitsColumn:
		return p.is.typed
	case limitBoundDigitsColumn:
		return typed(p.bounds()...)
	}
	return typed(append(p.bounds(), &p.is)...)
}

// sideDigits returns the number in a column of digits.
func (p *boundsPlan) sideDigits(column int) int {
	if p.asTyped(column) {
		return mostDigits
	}
	return p.digits()
}

// format returns the number format of a side, which is that of its own cell.
func (s *side) format() string {
	switch {
	case s.typed || s.shown != s.shown || s.shown == math.Trunc(s.shown) && s.to == 0:
		return general
	case s.to != 0:
		return decimals(unit.Decimals(s.to))
	}
	return asShown(s.shown, "")
}

// marginFormat returns the number format of the margin.
func (p *boundsPlan) marginFormat() string {
	near := p.margin()
	if near == near {
		near = rounded(near, p.digits())
	}
	return (&side{shown: near, typed: p.asTyped(limitDigitsColumn), to: p.step()}).format()
}

// moreDigits lets computed numbers show the digits that a small margin needs.
func (wb *workbook) moreDigits() error {
	cells := map[int][]string{} // by the decimals that they show
	for i := range wb.m.Limits {
		c := &wb.checks[i]
		p := c.bounds
		if p == nil || p.asTyped(limitDigitsColumn) {
			continue
		}
		places := max(p.places(), 0)
		cells[places] = append(cells[places], at(limitMarginColumn, c.row))
		for k, s := range p.sides() {
			if s.there() && !s.typed {
				cells[places] = append(cells[places], at(limitIsColumn+k, c.row))
			}
		}
	}
	if len(cells) == 0 {
		return nil
	}
	long := "0.0########"
	style, err := wb.f.NewConditionalStyle(&excelize.Style{CustomNumFmt: &long})
	if err != nil {
		return err
	}
	for _, places := range slices.Sorted(maps.Keys(cells)) {
		list := cells[places]
		first, _ := parseCell(list[0])
		criteria := smallMargin(first.row, "$") + ">" + strconv.Itoa(places)
		err := wb.f.SetConditionalFormat(limitsTab, strings.Join(list, " "), []excelize.ConditionalFormatOptions{{Type: "formula", Criteria: criteria, Format: &style}})
		if err != nil {
			return err
		}
	}
	return nil
}
