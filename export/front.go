package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// The front tab's columns.
const (
	labelColumn = iota + 1
	valueColumn
	unitColumn
	remarkColumn
	nameColumn
)

// Widths of the front tab's columns, in characters.
const (
	labelWidth  = 40
	unitWidth   = 11
	remarkWidth = 40
)

// writeFront writes the tab that a tuner works on: inputs, results, and the
// state of the limits.
func (wb *workbook) writeFront() error {
	tab := wb.frontTab
	if err := wb.page(tab, false, "$1:$1"); err != nil {
		return err
	}
	if err := wb.protect(tab); err != nil {
		return err
	}
	if err := wb.frontExtras(); err != nil {
		return err
	}
	out, err := wb.stream(tab)
	if err != nil {
		return err
	}
	if err := wb.frontColumns(out); err != nil {
		return err
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := wb.lines(out, wb.front); err != nil {
		return err
	}
	return out.Flush()
}

// lines writes the rows of a tab laid out in lines.
func (wb *workbook) lines(out *rowWriter, lines []line) error {
	for i, l := range lines {
		row := i + 1
		if l.kind == cautionLine {
			if err := out.MergeCell(at(labelColumn, row), at(nameColumn, row)); err != nil {
				return err
			}
		}
		cells, height := wb.frontRow(l)
		var opts []excelize.RowOpts
		if height > 0 {
			opts = append(opts, excelize.RowOpts{Height: height})
		}
		if err := out.SetRow(at(1, row), cells, opts...); err != nil {
			return err
		}
	}
	return nil
}

// writeValidity writes the tab with the state of every range and every
// condition of a function.
func (wb *workbook) writeValidity() error {
	if len(wb.side) == 0 {
		return nil
	}
	if err := wb.page(validityTab, false, "$1:$3"); err != nil {
		return err
	}
	if err := wb.protect(validityTab); err != nil {
		return err
	}
	if err := wb.colourStates(validityTab, sideHead+1, len(wb.side)); err != nil {
		return err
	}
	out, err := wb.stream(validityTab)
	if err != nil {
		return err
	}
	for i, width := range []float64{labelWidth, 12, unitWidth, 2 * remarkWidth, 30} {
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: sideHead, TopLeftCell: at(1, sideHead+1), ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := wb.lines(out, wb.side); err != nil {
		return err
	}
	return out.Flush()
}

// frontColumns sets the widths from the longest text in each column.
func (wb *workbook) frontColumns(out *rowWriter) error {
	value, name, unit := 10, 10, unitWidth
	for _, l := range wb.front {
		if l.cell != nil {
			value = max(value, wb.valueWidth(&l.cell.Quantity, wb.shown(&l.cell.Quantity, wb.r.Cell(l.cell)), wb.textOf(l.cell)))
			name = max(name, utf8.RuneCountInString(l.cell.Name))
			unit = max(unit, utf8.RuneCountInString(symbol(l.cell.Unit))+3)
		}
	}
	for i, width := range []int{labelWidth, min(value, 44) + 2, min(unit, 24), remarkWidth, min(name, 40)} {
		if err := out.SetColWidth(i+1, i+1, float64(width)); err != nil {
			return err
		}
	}
	return nil
}

func (wb *workbook) textOf(c *check.Cell) string {
	v := wb.r.Cell(c)
	if c.Type.Form != check.Text || v.IsBlank() || v.IsFault() {
		return ""
	}
	return wb.m.Texts[int(v.V)]
}

// valueWidth returns the characters that a value needs, with space for one more
// digit and a sign.
func (wb *workbook) valueWidth(q *check.Quantity, v float64, text string) int {
	switch {
	case q.Type.Form == check.Text:
		return utf8.RuneCountInString(text)
	case v != v:
		return 8
	}
	f := format(q, v)
	if f == general {
		return len(strconv.FormatFloat(v, 'g', 10, 64)) + 1
	}
	if strings.Contains(f, "E") {
		return 12
	}
	_, fraction, _ := strings.Cut(f, ".")
	width := len(strconv.FormatFloat(math.Abs(v), 'f', len(strings.TrimSuffix(fraction, "%")), 64)) + 2
	if strings.HasSuffix(f, "%") {
		width++
	}
	return width
}

// frontRow returns a line's cells and its height, 0 for the usual one.
func (wb *workbook) frontRow(l line) ([]any, float64) {
	s := &wb.styles
	text := func(t string, k look) excelize.Cell {
		return excelize.Cell{Value: clean(t), StyleID: s.of(k, "", false)}
	}
	switch l.kind {
	case titleLine:
		return []any{text(l.text, titleLook)}, 26
	case cautionLine:
		return []any{text(l.text, cautionLook)}, linesFor(l.text, 110)
	case headLine:
		return wb.blockHead(l.text), 18
	case sectionLine:
		row := make([]any, nameColumn)
		for i := range row {
			row[i] = text("", sectionLook)
		}
		row[0] = text(l.text, sectionLook)
		return row, 21
	case givenLine, resultLine:
		return wb.quantityRow(l.cell)
	case tableLine:
		return []any{text(plainName(l.tab.t.Name), labelLook), nil, nil, text(tableRemark(l.tab.t), remarkLook), text(l.tab.t.Name, nameLook)}, 0
	case limitLine, adviceLine:
		return wb.checkRow(&wb.checks[l.chk])
	case summaryLine:
		return wb.summaryRow(), 0
	}
	return nil, 0
}

// blockHead names the columns of a block.
func (wb *workbook) blockHead(head string) []any {
	names := map[string][nameColumn]string{
		"Entered":    {head, "Value", "Unit", "Allowed", "Name"},
		"Worked out": {head, "Value", "Unit", "", "Name"},
		"Tables":     {head, "", "", "Rows", "Name"},
		"Limits":     {head, "State", "", "", ""},
		validityTab:  {head, "State", "", "", "Name"},
	}[head]
	row := make([]any, nameColumn)
	for i, n := range names {
		l := blockLook
		if i == valueColumn-1 {
			l = blockRightLook
		}
		if i == unitColumn-1 && n != "" {
			n = "  " + n
		}
		row[i] = excelize.Cell{Value: n, StyleID: wb.styles.of(l, "", false)}
	}
	return row
}

func tableRemark(t *check.Table) string {
	if t.Until != 0 {
		return "up to " + rowsText(t.Rows)
	}
	return rowsText(t.Rows)
}

// linesFor returns the height of a text in a column so many characters wide.
// The width of a column is measured in digits; letters are narrower on average.
func linesFor(text string, width int) float64 {
	lines := 0
	for _, part := range strings.Split(text, "\n") {
		lines += 1 + max(utf8.RuneCountInString(part)-1, 0)/(width*6/5)
	}
	if lines == 1 {
		return 0
	}
	return min(15*float64(lines), 400) // no row is higher than 409
}

// quantityRow returns the row of a scalar.
func (wb *workbook) quantityRow(c *check.Cell) ([]any, float64) {
	s := &wb.styles
	v := wb.r.Cell(c)
	l := shutLook
	if c.Given {
		l = openLook
	}
	plan := &wb.cells[c.Index]
	formula := plan.formula
	remark := allowed(wb.m, &c.Quantity)
	if plan.why != "" {
		formula, remark = "", "A value, not a formula: "+plan.why
		wb.report.Frozen = append(wb.report.Frozen, Frozen{Cell: c.Name, Why: plan.why})
	}
	if formula != "" {
		wb.report.Formulas++
	}
	formula = place(formula, quoteSheet(wb.frontTab), plan.row)
	style := s.of(l, format(&c.Quantity, wb.shown(&c.Quantity, v)), false)
	name := label(&c.Quantity)
	row := []any{
		excelize.Cell{Value: name, StyleID: s.of(labelLook, "", false)},
		wb.value(&c.Quantity, v, formula, style),
		excelize.Cell{Value: cellSymbol(c.Unit), StyleID: s.of(unitLook, "", false)},
		excelize.Cell{Value: clean(remark), StyleID: s.of(remarkLook, "", false)},
		excelize.Cell{Value: c.Name, StyleID: s.of(nameLook, "", false)},
	}
	return row, max(linesFor(name, labelWidth), linesFor(remark, remarkWidth+4))
}

// allowed says what may be entered.
func allowed(m *check.Model, q *check.Quantity) string {
	var parts []string
	u := shownUnit(q.Unit)
	number := func(si float64) string { return strconv.FormatFloat(u.Shown(si), 'g', 10, 64) + percentSign(u) }
	switch {
	case q.Range != nil:
		parts = append(parts, number(q.Range[0])+" to "+number(q.Range[1]))
	case len(q.Choice) > 0:
		parts = append(parts, allowedChoices(m, q))
	case q.Whole && q.Given:
		parts = append(parts, "whole numbers")
	}
	spread := strconv.FormatFloat(q.Spread/u.Scale, 'g', 6, 64) + percentSign(u)
	switch q.Tolerance {
	case check.Limits:
		parts = append(parts, "± "+spread)
	case check.Deviation:
		parts = append(parts, "standard deviation "+spread)
	}
	return strings.Join(parts, "; ")
}

func allowedChoices(m *check.Model, q *check.Quantity) string {
	var list []string
	for _, v := range q.Choice {
		list = append(list, choiceText(m, q, v))
	}
	return strings.Join(list, ", ")
}

func choiceText(m *check.Model, q *check.Quantity, v float64) string {
	switch q.Type.Form {
	case check.Text:
		return m.Texts[int(v)]
	case check.Truth:
		return map[bool]string{true: "yes", false: "no"}[v != 0]
	}
	return strconv.FormatFloat(shownUnit(q.Unit).Shown(v), 'g', 10, 64) + percentSign(q.Unit)
}

// checkRow returns the row of a limit or an advice: the condition, its state in
// a word, and where it is broken.
func (wb *workbook) checkRow(c *checkPlan) ([]any, float64) {
	s := &wb.styles
	head, remark, name := wb.checkWords(c)
	state := excelize.Cell{StyleID: s.of(stateLook, "", false), Value: wb.stateOf(c)}
	tab := quoteSheet(wb.frontTab)
	wide := remarkWidth + 4
	if c.advice != nil {
		tab, wide = quoteSheet(validityTab), 2*remarkWidth+8
	}
	if c.why == "" {
		state.Formula = place(c.state, tab, c.row)
		wb.report.Formulas++
	} else {
		wb.report.Frozen = append(wb.report.Frozen, Frozen{Cell: head, Why: c.why})
	}
	row := []any{
		excelize.Cell{Value: clean(head), StyleID: s.of(labelLook, "", false)},
		state, nil,
		excelize.Cell{Value: clean(remark), StyleID: s.of(remarkLook, "", false)},
		excelize.Cell{Value: clean(name), StyleID: s.of(nameLook, "", false)},
	}
	if c.place != "" && c.why == "" {
		row[2] = excelize.Cell{Formula: place(c.place, tab, c.row), Value: wb.placeOf(c), StyleID: s.of(unitLook, "", false)}
	}
	return row, max(linesFor(head, labelWidth), linesFor(remark, wide))
}

// summaryRow gives the state of the tab of ranges and validity in one word, and
// how many conditions are not kept.
func (wb *workbook) summaryRow() []any {
	s := &wb.styles
	states := quoteSheet(validityTab) + "!" + fixed(valueColumn, sideHead+1) + ":" + fixed(valueColumn, len(wb.side))
	count := func(word string) string { return "COUNTIF(" + states + `,"` + word + `")` }
	counts := map[string]int{}
	for i := range wb.checks {
		if wb.checks[i].advice != nil {
			counts[wb.stateOf(&wb.checks[i])]++
		}
	}
	word := kept
	for _, w := range []string{waiting, advised} {
		if counts[w] > 0 {
			word = w
		}
	}
	all := len(wb.side) - sideHead
	remark := fmt.Sprintf("%d of %d are not kept", counts[advised], all)
	wb.report.Formulas += 2
	return []any{
		excelize.Cell{Value: "All on the tab of that name", StyleID: s.of(labelLook, "", false)},
		excelize.Cell{
			Formula: "IF(" + count(advised) + `>0,"` + advised + `",IF(` + count(waiting) + `>0,"` + waiting + `","` + kept + `"))`,
			Value:   word, StyleID: s.of(stateLook, "", false),
		},
		nil,
		excelize.Cell{
			Formula: count(advised) + `&" of ` + strconv.Itoa(all) + ` are not kept"`,
			Value:   remark, StyleID: s.of(remarkLook, "", false),
		},
	}
}

// checkWords returns a condition's text, its reason and its owner.
func (wb *workbook) checkWords(c *checkPlan) (head, remark, name string) {
	if l := c.limit; l != nil {
		return limitText(wb.m, l), l.Message, ""
	}
	text := strings.TrimPrefix(c.advice.Text, "outside its ")
	if col := c.advice.Column; col != nil {
		return label(&col.Quantity), text, col.Table.Name + "." + col.Name
	}
	return label(&c.advice.Cell.Quantity), text, c.advice.Cell.Name
}

// frontExtras adds what has to come before the rows are written: which
// entries are allowed, colours of states, notes.
func (wb *workbook) frontExtras() error {
	if err := wb.validateCells(); err != nil {
		return err
	}
	for i := 0; i < len(wb.front); i++ {
		first := i
		for i < len(wb.front) && (wb.front[i].kind == limitLine || wb.front[i].kind == summaryLine) {
			i++
		}
		if i > first {
			if err := wb.colourStates(wb.frontTab, first+1, i); err != nil {
				return err
			}
		}
	}
	return wb.notes()
}

// colourStates colours the word of a state.
func (wb *workbook) colourStates(tab string, first, last int) error {
	list := at(valueColumn, first) + ":" + at(valueColumn, last)
	var rules []excelize.ConditionalFormatOptions
	for _, r := range []struct{ word, ink, tone string }{
		{broken, red, redTone}, {advised, amber, amberTo}, {waiting, amber, ""}, {kept, green, ""},
	} {
		style := &excelize.Style{Font: &excelize.Font{Color: r.ink, Bold: true}}
		if r.tone != "" {
			style.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{r.tone}}
		}
		id, err := wb.f.NewConditionalStyle(style)
		if err != nil {
			return err
		}
		rules = append(rules, excelize.ConditionalFormatOptions{Type: "cell", Criteria: "==", Value: `"` + r.word + `"`, Format: &id})
	}
	return wb.f.SetConditionalFormat(tab, list, rules)
}

// maxNotes bounds the notes of one tab: each is a drawing.
const maxNotes = 2000

// notes shows the comment above a cell as a note at its value.
func (wb *workbook) notes() error {
	n := 0
	for _, l := range wb.front {
		if l.cell == nil || l.cell.Origin.Note == "" || n >= maxNotes {
			continue
		}
		n++
		if err := wb.note(wb.frontTab, at(valueColumn, wb.cells[l.cell.Index].row), l.cell.Origin.Note); err != nil {
			return err
		}
	}
	return nil
}

func (wb *workbook) note(tab, cell, text string) error {
	text = cutRunes(clean(text), 2000)
	return wb.f.AddComment(tab, excelize.Comment{
		Cell: cell, Author: "Gearleaf", Width: 320, Height: uint(30 + max(18, int(linesFor(text, 44)*1.2))),
		Paragraph: []excelize.RichTextRun{{Text: text, Font: &excelize.Font{Family: fontName, Size: 10, Color: ink}}},
	})
}
