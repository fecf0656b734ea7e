package export

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
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
	for i, width := range []float64{limitWidth, 10, 11, 9, 11, 11, 11, 9, 11, reasonWidth, fromWidth} {
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if err := out.SetColVisible(limitExactColumn, limitFrontColumn, false); err != nil {
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
	limitWidth  = 44
	reasonWidth = 48
	fromWidth   = 24
)

func (wb *workbook) limitRows(out *rowWriter) error {
	s := &wb.styles
	heads := []any{}
	for i, text := range []string{"Limit", "State", "Margin", "  Unit", "Is", "At least", "At most", "  Unit", "Where", "If broken", "Sheet"} {
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
		height := max(heightOf(c.limit.Text, limitWidth), heightOf(wb.whyOf(c), reasonWidth), heightOf(wb.titleOf(c.limit.Origin.File), fromWidth))
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
	why.Formula = "IF(" + fixed(limitStateColumn, c.row) + `="` + waiting + `",` + fixed(limitWaitedColumn, c.row) + `&"",` + quoteText(clean(c.limit.Message)) + ")"
	row[limitReasonColumn-1] = why
	wb.report.Formulas += 2
	front := head(&wb.styles, wb.reasonNow(c), lineLook)
	front.Formula = wb.frontReason(c)
	row[limitFrontColumn-1] = front
}

// frontReason is the formula of reasonNow.
func (wb *workbook) frontReason(c *checkPlan) string {
	where, why := at(limitRowColumn, c.row), at(limitReasonColumn, c.row)
	text, place := why+`&""`, ""
	if c.bounds != nil && c.bounds.worst != nil || rowOf(c) != "" {
		text, place = where+"&IF(OR("+where+`="",`+why+`=""),"",": ")&`+why, "&IF("+where+`="","",": "&`+where+")"
	}
	if title := wb.usedTitle(c); title != "" {
		text = quoteText(title) + place + "&IF(" + why + `="","",": "&` + why + ")"
	}
	return text
}

// limitRow returns the row of the i-th limit; first is the one that is now at
// that place of the order.
func (wb *workbook) limitRow(c *checkPlan, i, first int) []any {
	s := &wb.styles
	row := make([]any, limitFrontColumn)
	row[limitColumn-1] = head(s, clean(c.limit.Text), labelLook)
	row[limitStateColumn-1] = wb.stateCell(c, limitsTab, c.limit.Text)
	if where := rowOf(c); where != "" {
		row[limitRowColumn-1] = excelize.Cell{Formula: place(where, limitsTab, c.row), Value: wb.placeOf(c), StyleID: s.of(unitLook, "", false)}
	}
	wb.whyCells(c, row)
	if c.limit.Origin.File > 0 || len(wb.leaves) > 1 {
		row[limitFromColumn-1] = head(s, wb.titleOf(c.limit.Origin.File), remarkLook)
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

// rankedLimit returns the row, on the front, of the limit that is at place k of
// the order.
func (wb *workbook) rankedLimit(k int) []any {
	c := &wb.checks[wb.order()[k]]
	row := make([]any, lastFrontColumn)
	text := func(column int, now string, l look) excelize.Cell {
		wb.report.Formulas++
		return excelize.Cell{Formula: wb.ranked(column, k) + `&""`, Value: clean(now), StyleID: wb.styles.of(l, "", false)}
	}
	row[0] = wb.rankedCondition(k)
	row[1] = text(limitStateColumn, wb.stateOf(c), stateLook)
	p := c.bounds
	if p == nil {
		p = noBounds()
	}
	margin := p.margin()
	if !p.typed() {
		margin = rounded(margin, p.digits())
	}
	row[2] = wb.rankedNumber(k, limitMarginColumn, margin)
	row[3] = text(limitUnitColumn, symbol(p.unit.DifferenceUnit()), unitLook)
	for i, s := range p.sides() {
		row[4+i] = wb.rankedNumber(k, limitIsColumn+i, s.shown)
	}
	row[nameColumn-1] = text(limitValueUnitColumn, symbol(p.unit), unitLook)
	return row
}

// mostCondition is how many characters of a limit's condition are beside its
// numbers; a longer one is in full on the tab of limits.
const mostCondition = 34

// briefCondition is the part of a condition that is beside its numbers.
func briefCondition(text string) string {
	if utf8.RuneCountInString(text) <= mostCondition {
		return text
	}
	return cutRunes(text, mostCondition-1) + "…"
}

// rankedCondition returns the condition of the limit that is at place k of the order.
func (wb *workbook) rankedCondition(k int) excelize.Cell {
	wb.report.Formulas++
	all := wb.ranked(limitColumn, k)
	formula := all + `&""`
	if slices.ContainsFunc(wb.m.Limits, func(l *check.Limit) bool { return briefCondition(l.Text) != l.Text }) {
		formula = fmt.Sprintf(`IF(LEN(%[1]s)>%[2]d,LEFT(%[1]s,%[3]d)&"…",%[1]s&"")`, all, mostCondition, mostCondition-1)
	}
	text := clean(briefCondition(wb.checks[wb.order()[k]].limit.Text))
	return excelize.Cell{Formula: formula, Value: text, StyleID: wb.styles.of(conditionLook, "", false)}
}

// rankedReason returns the cell below the limit that is at place k of the order:
// the sheet that it comes from, where it is broken, and its reason.
func (wb *workbook) rankedReason(k int) excelize.Cell {
	wb.report.Formulas++
	now := clean(wb.reasonNow(&wb.checks[wb.order()[k]]))
	return excelize.Cell{Formula: wb.ranked(limitFrontColumn, k) + `&""`, Value: now, StyleID: wb.styles.of(reasonLook, "", wb.reasonHeight() > plainHeight)}
}

// rankedNumber returns a number of the limit that is at place k.
func (wb *workbook) rankedNumber(k, column int, now float64) excelize.Cell {
	wb.report.Formulas++
	entry := wb.ranked(column, k)
	cell := excelize.Cell{
		Formula: "IF(COUNT(" + entry + ")=1," + entry + `,"")`,
		StyleID: wb.styles.of(sideLook, general, false), Value: "",
	}
	if now == now {
		cell.Value = now
	}
	return cell
}

// reasonNow is what the front says beside a limit: the sheet that it comes from,
// where it is broken, and why it is there.
func (wb *workbook) reasonNow(c *checkPlan) string {
	where := wb.placeOf(c)
	if c.bounds != nil && c.bounds.worst != nil {
		where = wb.nameNow(c)
	} else if c.place == "" || c.why != "" {
		where = ""
	}
	return joinedPlace(wb.usedTitle(c), joinedPlace(where, wb.whyOf(c)))
}

// reasonHeight returns the height of a reason on the front: any of them can come
// to be in any row. One that is a little longer than a line is written smaller.
func (wb *workbook) reasonHeight() float64 {
	if wb.reasonTall > 0 {
		return wb.reasonTall
	}
	tall := plainHeight
	for i := range wb.m.Limits {
		c := &wb.checks[i]
		where := ""
		if c.limit.Table != nil {
			where = "row 999"
		}
		if text := joinedPlace(wb.usedTitle(c), joinedPlace(where, wb.whyOf(c))); wrapped(text, wholeWidth*6/5) > 1 {
			tall = max(tall, heightOf(text, wholeWidth-2)) // it is indented
		}
	}
	wb.reasonTall = min(tall, 4*plainHeight)
	return wb.reasonTall
}

// verdictHeight returns the height of the verdict, whatever limits are broken.
func (wb *workbook) verdictHeight() float64 {
	const large = 12 / smallestFont * 1.05 // in bold letters
	_, advises := wb.limitCount()
	var texts []string
	for _, l := range wb.m.Limits {
		texts = append(texts, l.Text)
	}
	slices.SortFunc(texts, func(a, b string) int { return len(b) - len(a) })
	words := "99 of 99 limits broken: " + strings.Join(texts[:min(leastOrder, len(texts))], "; ")
	if len(texts) > leastOrder {
		words += "; and 99 more. 99 cannot be judged: a value is missing or at fault"
	}
	if advises > 0 {
		words += ". 99 of 99 advices not kept"
	}
	lines := max(2, wrapped(words, int(math.Floor(wholeWidth/large))))
	return float64(large*lineHeight*float64(min(lines, 3))) + 1
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
	if place == "" || text == "" {
		return place + text
	}
	return place + ": " + text
}

// rounded rounds half away from zero, as spreadsheets do; it never returns -0.
func rounded(v float64, places int) float64 {
	scale := math.Pow10(max(places, -places))
	if places < 0 {
		return float64(math.Round(trimmed(v/scale))*scale) + 0
	}
	return math.Round(trimmed(v*scale))/scale + 0
}
