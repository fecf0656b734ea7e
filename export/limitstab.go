package export

import (
	"cmp"
	"math"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// writeLimits writes the tab of limits: the condition, its state, both sides
// and the margin in one unit, and its reason.
func (wb *workbook) writeLimits() error {
	if len(wb.m.Limits) == 0 {
		return nil
	}
	if err := wb.page(limitsTab, true, "$1:$"+strconv.Itoa(limitsHead)); err != nil {
		return err
	}
	if err := wb.protect(limitsTab); err != nil {
		return err
	}
	if err := wb.colourStates(limitsTab, limitsHead+1, limitsHead+len(wb.m.Limits)); err != nil {
		return err
	}
	out, err := wb.stream(limitsTab)
	if err != nil {
		return err
	}
	for i, width := range []float64{limitWidth, 11, 11, 10, 11, 11, 11, 12, reasonWidth, 20} {
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if err := out.SetColVisible(limitDigitsColumn, limitWaitedColumn, false); err != nil {
		return err
	}
	panes := &excelize.Panes{Freeze: true, YSplit: limitsHead, TopLeftCell: at(1, limitsHead+1), ActivePane: "bottomLeft"}
	if err := out.SetPanes(panes); err != nil {
		return err
	}
	if err := wb.limitRows(out); err != nil {
		return err
	}
	return out.Flush()
}

const (
	limitWidth  = 50
	reasonWidth = 68
)

func (wb *workbook) limitRows(out *rowWriter) error {
	s := &wb.styles
	heads := []any{}
	for i, text := range []string{"Limit", "State", "Margin", "  Unit", "Is", "At least", "At most", "Where", "Why", "Sheet"} {
		l := blockLook
		if i > 0 && i < 7 && i != 3 {
			l = blockRightLook
		}
		heads = append(heads, head(s, text, l))
	}
	for i, cells := range [][]any{{head(s, limitsTab, titleLook)}, {head(s, "In the sheet's order. A margin below 0 is how far a limit is broken; over the rows of a table it is that of the worst row.", lineLook)}, heads} {
		opts := excelize.RowOpts{}
		if i == 0 {
			opts.Height = 26
		}
		if err := out.SetRow(at(1, i+1), cells, opts); err != nil {
			return err
		}
	}
	order := wb.order()
	for i := range wb.m.Limits {
		c := &wb.checks[i]
		height := max(heightOf(c.limit.Text, limitWidth), heightOf(wb.whyOf(c), reasonWidth))
		if err := out.SetRow(at(1, c.row), wb.limitRow(c, i, order[i]), excelize.RowOpts{Height: max(height, plainHeight)}); err != nil {
			return err
		}
	}
	return nil
}

// whyOf returns the reason of a limit, and what it waits on.
func (wb *workbook) whyOf(c *checkPlan) string {
	text := clean(c.limit.Message)
	if f := wb.r.LimitFault(c.limit); f != nil {
		text = joined(text, "When written it waited on "+f.Origin+": "+f.Cause)
	}
	return text
}

// whyCells writes the reason of a limit. While the limit waits, the value that
// it waited on when written is shown; it is in a hidden cell, because formulas
// do not depend on values.
func (wb *workbook) whyCells(c *checkPlan, row []any) {
	why := head(&wb.styles, wb.whyOf(c), remarkLook)
	row[limitWaitedColumn-1] = head(&wb.styles, wb.whyOf(c), lineLook) // not wrapped: a fitted height counts it
	why.Formula = "IF(" + fixed(limitStateColumn, c.row) + `="` + waiting + `",` + fixed(limitWaitedColumn, c.row) + "," + quoteText(clean(c.limit.Message)) + ")"
	row[limitReasonColumn-1] = why
	wb.report.Formulas++
}

// limitRow returns the row of the i-th limit; first is the one that is now at
// that place of the order.
func (wb *workbook) limitRow(c *checkPlan, i, first int) []any {
	s := &wb.styles
	row := make([]any, limitWaitedColumn)
	row[limitColumn-1] = head(s, clean(c.limit.Text), labelLook)
	row[limitStateColumn-1] = wb.stateCell(c, limitsTab, c.limit.Text)
	if where := rowOf(c); where != "" {
		row[limitRowColumn-1] = excelize.Cell{Formula: place(where, limitsTab, c.row), Value: wb.placeOf(c), StyleID: s.of(unitLook, "", false)}
	}
	wb.whyCells(c, row)
	if c.limit.Origin.File > 0 || len(wb.leaves) > 1 {
		row[limitFromColumn-1] = head(s, wb.titleOf(c.limit.Origin.File), nameLook)
	}
	if c.bounds != nil {
		wb.boundCells(c, row)
	}
	state := fixed(limitStateColumn, c.row)
	weight := "IF(" + state + `="` + broken + `",1,IF(` + state + `="` + advised + `",2,IF(` + state + `="` + waiting + `",3,4)))`
	plain := s.of(shutLook, "", false)
	n := len(wb.m.Limits)
	row[limitKeyColumn-1] = excelize.Cell{
		Formula: weight + "*" + strconv.Itoa(n) + "+" + strconv.Itoa(i), StyleID: plain,
		Value: float64((weights[wb.stateOf(c)]+1)*n + i),
	}
	if i >= max(wb.listed, leastOrder) {
		return row
	}
	keys := fixed(limitKeyColumn, limitsHead+1) + ":" + fixed(limitKeyColumn, limitsHead+n)
	row[limitOrderColumn-1] = excelize.Cell{
		Formula: "MATCH(SMALL(" + keys + "," + strconv.Itoa(i+1) + ")," + keys + ",0)", StyleID: plain,
		Value: float64(first + 1),
	}
	return row
}

// rowOf is the formula of the row in which a limit is broken, empty if it has none.
func rowOf(c *checkPlan) string {
	if c.why != "" {
		return ""
	}
	return c.place
}

// boundCells writes both sides of a limit and the margin.
func (wb *workbook) boundCells(c *checkPlan, row []any) {
	s, p := &wb.styles, c.bounds
	style := s.of(shutLook, decimals(p.places), false)
	number := func(formula string, v float64) excelize.Cell {
		if n, err := strconv.ParseFloat(formula, 64); err == nil {
			return excelize.Cell{Value: n, StyleID: style}
		}
		cell := excelize.Cell{Formula: place(formula, limitsTab, c.row), StyleID: style}
		if v == v && !math.IsInf(v, 0) {
			cell.Value = v
		}
		wb.report.Formulas++
		return cell
	}
	row[limitIsColumn-1] = number(p.is, p.isV)
	if w := p.worst; w != nil {
		at := math.NaN()
		if w.row >= 0 {
			at = float64(w.row + 1)
		}
		row[limitWorstColumn-1] = number(w.find, at)
		name := excelize.Cell{StyleID: s.of(unitLook, "", false), Value: wb.nameNow(c)}
		name.Formula = place("IFERROR(IF(N($"+letters(limitWorstColumn)+thisRow+")=0,"+cmp.Or(rowOf(c), `""`)+","+w.name+`),"")`, limitsTab, c.row)
		row[limitRowColumn-1] = name
	}
	is, sides, margin := at(limitIsColumn, c.row), 1, ""
	if p.least != "" {
		row[limitLeastColumn-1] = number(p.least, p.leastV)
		sides, margin = sides+1, is+"-"+at(limitLeastColumn, c.row)
	}
	if p.most != "" {
		row[limitMostColumn-1] = number(p.most, p.mostV)
		up := at(limitMostColumn, c.row) + "-" + is
		if sides++; margin != "" {
			up = "MIN(" + margin + "," + up + ")"
		}
		margin = up
	}
	all := at(limitIsColumn, c.row) + ":" + at(limitMostColumn, c.row)
	row[limitMarginColumn-1] = number("IF(COUNT("+all+")="+strconv.Itoa(sides)+","+margin+`,"")`, p.margin())
	if unit := symbol(p.unit); unit != "" {
		row[limitUnitColumn-1] = head(s, unit, unitLook)
	}
	row[limitDigitsColumn-1] = excelize.Cell{Value: p.places, StyleID: s.of(shutLook, "", false)}
}

// rankedLimit returns the row, on the front, of the limit that is at place k of
// the order.
func (wb *workbook) rankedLimit(k int) []any {
	s := &wb.styles
	c := &wb.checks[wb.order()[k]]
	row := make([]any, lastFrontColumn)
	text := func(column int, now string, l look) excelize.Cell {
		wb.report.Formulas++
		return excelize.Cell{Formula: wb.ranked(column, k) + `&""`, Value: clean(now), StyleID: s.of(l, "", false)}
	}
	row[0] = text(limitColumn, c.limit.Text, labelLook)
	row[1] = text(limitStateColumn, wb.stateOf(c), stateLook)
	unit, isV, leastV, mostV, margin := "", math.NaN(), math.NaN(), math.NaN(), math.NaN()
	if p := c.bounds; p != nil {
		unit, isV, leastV, mostV, margin = symbol(p.unit), p.isV, p.leastV, p.mostV, p.margin()
	}
	row[3] = text(limitUnitColumn, unit, unitLook)
	number := func(column int, v float64, there bool) excelize.Cell {
		wb.report.Formulas++
		entry := wb.ranked(column, k)
		cell := excelize.Cell{
			Formula: "IF(COUNT(" + entry + ")=1,ROUND(" + entry + "," + wb.ranked(limitDigitsColumn, k) + `),"")`,
			StyleID: s.of(shutLook, "General", false),
		}
		switch {
		case v == v:
			cell.Value = rounded(v, c.bounds.places)
		case !there:
			cell.Value = cachedValue{kind: 's'}
		}
		return cell
	}
	there := c.bounds != nil
	row[2], row[4] = number(limitMarginColumn, margin, there), number(limitIsColumn, isV, there)
	row[5] = number(limitLeastColumn, leastV, there && c.bounds.least != "")
	row[6] = number(limitMostColumn, mostV, there && c.bounds.most != "")
	where := wb.ranked(limitRowColumn, k)
	at := wb.placeOf(c)
	if c.bounds != nil && c.bounds.worst != nil {
		at = wb.nameNow(c)
	} else if c.place == "" || c.why != "" {
		at = ""
	}
	reason := text(limitReasonColumn, joinedPlace(wb.usedTitle(c), joinedPlace(at, wb.whyOf(c))), reasonLook)
	reason.Formula = "IF(" + where + `="","",` + where + `&": ")&` + reason.Formula
	if len(wb.leaves) > 1 {
		from := wb.ranked(limitFromColumn, k)
		reason.Formula = "IF(" + from + "=" + quoteText(wb.titleOf(0)) + `,"",` + from + `&": ")&` + reason.Formula
	}
	row[nameColumn-1] = reason
	return row
}

// limitHeight returns the height of a limit on the front, the same in all rows,
// because any limit can be in any row.
func (wb *workbook) limitHeight() float64 {
	if wb.limitTall > 0 {
		return wb.limitTall
	}
	tall := plainHeight
	for i := range wb.m.Limits {
		c := &wb.checks[i]
		tall = max(tall, heightOf(c.limit.Text, labelWidth), heightOf(joinedPlace(wb.usedTitle(c), "row 999: "+wb.whyOf(c)), nameWidth-2))
	}
	wb.limitTall = min(tall, 4*plainHeight)
	return wb.limitTall
}

// usedTitle returns the title of the sheet that a limit comes from, empty for
// the sheet itself.
func (wb *workbook) usedTitle(c *checkPlan) string {
	if c.limit.Origin.File == 0 {
		return ""
	}
	return wb.titleOf(c.limit.Origin.File)
}

func joinedPlace(place, text string) string {
	if place == "" {
		return text
	}
	return place + ": " + text
}

// rounded rounds half away from zero, as spreadsheets do.
func rounded(v float64, places int) float64 {
	scale := math.Pow(10, float64(places))
	return math.Round(v*scale) / scale
}
