package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// The columns of a tab laid out in lines. They are narrow, so that a short
// table in the lines has columns too, and label, value and unit together are as
// wide as a phone; a longer text is written over several.
const (
	labelColumn     = 1
	valueColumn     = 2
	unitColumn      = 3
	remarkColumn    = 4 // over four columns
	nameColumn      = 8 // over three
	lastFrontColumn = 10
)

// Widths of these columns, in characters.
const (
	labelWidth  = 32
	valueWidth  = 11
	narrowWidth = 9
	lastWidth   = 20
	remarkWidth = 4 * narrowWidth
	remarkLine  = remarkWidth - 4
	nameWidth   = 2*narrowWidth + lastWidth
	wholeWidth  = labelWidth + valueWidth + 7*narrowWidth + lastWidth
)

// writeLeaves writes the tabs that a tuner works on: the sheet, and those it
// uses.
func (wb *workbook) writeLeaves() error {
	for _, l := range wb.leaves {
		if err := wb.writeLeaf(l); err != nil {
			return fmt.Errorf("%s: %w", l.name, err)
		}
	}
	return nil
}

func (wb *workbook) writeLeaf(l *leaf) error {
	frozen := 1
	if len(l.lines) > 1 && l.lines[1].kind == verdictLine {
		frozen = 2
	}
	if err := wb.leafPaper(l, "$1:$"+strconv.Itoa(frozen)); err != nil {
		return err
	}
	if err := wb.protect(l.name); err != nil {
		return err
	}
	if err := wb.leafExtras(l); err != nil {
		return err
	}
	out, err := wb.stream(l.name)
	if err != nil {
		return err
	}
	if err := leafColumns(out); err != nil {
		return err
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: frozen, TopLeftCell: at(1, frozen+1), ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := wb.lines(out, l.lines); err != nil {
		return err
	}
	return out.Flush()
}

// leafPaper sets a tab up for paper; lines that belong on one page are made to
// fit it, unless they would be too small to read.
func (wb *workbook) leafPaper(l *leaf, titles string) error {
	if err := wb.page(l.name, false, titles); err != nil || !l.onePage {
		return err
	}
	height := 0.0
	for _, n := range l.lines {
		_, tall := wb.frontRow(n)
		height += max(tall, plainHeight)
	}
	if height > highestPage {
		return nil
	}
	one := 1
	return wb.f.SetPageLayout(l.name, &excelize.PageLayoutOptions{FitToWidth: &one, FitToHeight: &one})
}

// Heights in points: of a row, and of what is still readable on one page.
const (
	plainHeight = 15.0
	highestPage = 1250.0
)

// lines writes the rows of a tab laid out in lines.
func (wb *workbook) lines(out *rowWriter, lines []line) error {
	for i, l := range lines {
		row := i + 1
		cells, height := wb.frontRow(l)
		for _, m := range wb.merges(l, cells) {
			if err := out.MergeCell(at(m[0], row), at(m[1], row)); err != nil {
				return err
			}
		}
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

// merges returns the columns over which a line's long texts are written.
func (wb *workbook) merges(l line, cells []any) [][2]int {
	switch l.kind {
	case cautionLine, noteLine, verdictLine, moreLine:
		return [][2]int{{labelColumn, lastFrontColumn}}
	case limitLine:
		return [][2]int{{nameColumn, lastFrontColumn}}
	case givenLine, resultLine, mirrorLine:
		var out [][2]int
		if l.cell.Type.Form == check.Text {
			out = append(out, [2]int{valueColumn, unitColumn})
		}
		if c, ok := cells[remarkColumn-1].(excelize.Cell); ok {
			if text, ok := c.Value.(string); ok && utf8.RuneCountInString(text) > remarkLine {
				out = append(out, [2]int{remarkColumn, nameColumn - 1})
			}
		}
		return out
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
	for i, width := range []float64{40, 12, 11, sideRemark, 30} {
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

// leafColumns sets the widths.
func leafColumns(out *rowWriter) error {
	for i := 1; i <= lastFrontColumn; i++ {
		width := narrowWidth
		switch i {
		case labelColumn:
			width = labelWidth
		case valueColumn:
			width = valueWidth
		case lastFrontColumn:
			width = lastWidth
		}
		if err := out.SetColWidth(i, i, float64(width)); err != nil {
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
	case verdictLine:
		formula, now := wb.verdict()
		wb.report.Formulas++
		return []any{excelize.Cell{Formula: formula, Value: now, StyleID: s.of(verdictLook, "", false)}}, 2*plainHeight + 4
	case cautionLine:
		return []any{text(l.text, cautionLook)}, linesFor(l.text, wholeWidth)
	case noteLine:
		return []any{text(l.text, noteLook)}, heightOf(l.text, wholeWidth, 10)
	case headLine:
		return wb.blockHead(l.text), 18
	case sectionLine:
		return s.band(sectionLook, 1, l.text), 21
	case givenLine, resultLine, mirrorLine:
		return wb.quantityRow(l)
	case tableLine:
		row := make([]any, nameColumn)
		row[0] = text(tableTitle(l.tab.t), labelLook)
		row[remarkColumn-1] = text(tableRemark(l.tab.t)+", on the tab "+l.tab.tab, lineLook)
		return row, heightOf(tableTitle(l.tab.t), labelWidth, 10)
	case tableHeadLine, columnHeadLine, unitHeadLine, tableRowLine:
		return wb.shortTable(l)
	case limitLine:
		return wb.rankedLimit(l.chk), wb.limitHeight()
	case moreLine:
		rest := len(wb.m.Limits) - wb.listed
		return []any{text(fmt.Sprintf("and %d more on the tab %s", rest, limitsTab), noteLook)}, 0
	case adviceLine:
		return wb.adviceRow(&wb.checks[l.chk])
	case summaryLine:
		return wb.summaryRow(), 0
	}
	return nil, 0
}

// blockHead names the columns of a block.
func (wb *workbook) blockHead(head string) []any {
	names := map[string][lastFrontColumn]string{
		sheetBlock:  {"", "Value", "Unit", "Allowed", "", "", "", "Name"},
		limitsTab:   {head, "State", "Margin", "Unit", "Is", "At least", "At most", "  Why"},
		validityTab: {head, "State", "", "", "Name"},
	}[head]
	row := make([]any, lastFrontColumn)
	for i, n := range names {
		l := blockLook
		if i == valueColumn-1 || head == limitsTab && (i == 2 || i > 3 && i < 7) {
			l = blockRightLook
		}
		if i == unitColumn-1 && head == sheetBlock || i == 3 && head == limitsTab {
			n = "  " + n
		}
		row[i] = excelize.Cell{Value: n, StyleID: wb.styles.of(l, "", false)}
	}
	return row
}

// tableTitle returns the name of a table in words, with its label.
func tableTitle(t *check.Table) string {
	if t.Origin.Label == "" {
		return plainName(t.Name)
	}
	return plainName(t.Name) + ": " + clean(t.Origin.Label)
}

func tableRemark(t *check.Table) string {
	if t.Until != 0 {
		return "up to " + rowsText(t.Rows)
	}
	return rowsText(t.Rows)
}

// linesFor returns the height of a text of usual size in a column so many
// characters wide, 0 for one line.
func linesFor(text string, width int) float64 { return heightOf(text, width, 11) }

// heightOf returns the height of a text of a size in points, 0 for one line.
func heightOf(text string, width int, size float64) float64 {
	lines := wrapped(text, width, size)
	if lines == 1 {
		return 0
	}
	return min(float64(lineHeight(size)*float64(lines))+2, 400) // no row is higher than 409
}

// lineHeight returns the height of a line of text.
func lineHeight(size float64) float64 { return size * 1.32 }

// wrapped counts the lines of a text that is broken between words. The width of
// a column is measured in digits of 11 points, about one of which is its margins;
// letters are narrower on average, which is left as a reserve.
func wrapped(text string, width int, size float64) int {
	lines, chars := 0, max(1, int((float64(width)-1)*11/size))
	for _, part := range strings.Split(text, "\n") {
		lines++
		used := 0
		for _, word := range strings.Fields(part) {
			n := utf8.RuneCountInString(word)
			if used > 0 && used+1+n > chars {
				lines, used = lines+1, 0
			}
			for used == 0 && n > chars {
				lines, n = lines+1, n-chars
			}
			if used > 0 {
				used++
			}
			used += n
		}
	}
	return lines
}

// quantityRow returns the row of a scalar.
func (wb *workbook) quantityRow(l line) ([]any, float64) {
	s, c := &wb.styles, l.cell
	v := wb.r.Cell(c)
	k := shutLook
	if l.kind == givenLine {
		k = openLook
	}
	plan := &wb.cells[c.Index]
	formula := plan.formula
	remark := allowed(wb.m, &c.Quantity)
	switch {
	case l.kind == mirrorLine:
		formula, remark = plan.name, "set on the tab "+wb.front.name
	case plan.why != "":
		formula, remark = "", "A value, not a formula: "+plan.why
		wb.report.Frozen = append(wb.report.Frozen, Frozen{Cell: c.Name, Why: plan.why})
	case v.IsFault():
		remark = wb.causeOf(v)
	}
	if formula != "" {
		wb.report.Formulas++
		formula = place(formula, plan.leaf.quoted, plan.row)
	}
	text := c.Type.Form == check.Text
	row := make([]any, nameColumn)
	name := label(&c.Quantity)
	row[labelColumn-1] = excelize.Cell{Value: name, StyleID: s.of(labelLook, "", false)}
	style := s.of(k, format(&c.Quantity, wb.shown(&c.Quantity, v)), text)
	value := wb.value(&c.Quantity, v, formula, style)
	if plan.rounded {
		value.Value = wb.roundedValue(&c.Quantity, v)
	}
	row[valueColumn-1] = value
	if text {
		row[unitColumn-1] = excelize.Cell{StyleID: style}
	} else if unit := cellSymbol(c.Unit); unit != "" {
		row[unitColumn-1] = excelize.Cell{Value: unit, StyleID: s.of(unitLook, "", false)}
	}
	if remark != "" {
		k := remarkLook
		if utf8.RuneCountInString(remark) <= remarkLine {
			k = lineLook // over the empty cells beside it
		}
		row[remarkColumn-1] = excelize.Cell{Value: clean(remark), StyleID: s.of(k, "", false)}
	}
	row[nameColumn-1] = excelize.Cell{Value: c.Name, StyleID: s.of(nameLook, "", false)}
	tall := max(heightOf(name, labelWidth, 10), heightOf(remark, remarkWidth, 10))
	if text {
		tall = max(tall, linesFor(wb.textOf(c), valueWidth+narrowWidth))
	}
	return row, tall
}

// causeOf says in words why a value is at fault, as long as it is.
func (wb *workbook) causeOf(v sheet.Value) string {
	wb.explained++
	if wb.explained > maxExplained {
		return ""
	}
	f := v.Fault()
	switch {
	case f == nil:
		return ""
	case f.WaitsOn != "":
		return "waits on " + f.Origin + ": " + f.Cause
	}
	return f.Cause
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
			lines = max(lines, wrapped(name, t.charsOf(i), 9))
			row[i] = excelize.Cell{Value: name, StyleID: s.of(columnLabelLook, "", left)}
		case unitHeadLine:
			row[i] = excelize.Cell{Value: cellSymbol(c.Unit), StyleID: s.of(columnUnitLook, "", left)}
		case tableRowLine:
			row[i] = wb.shortEntry(t, i, c, l.row)
			lines = max(lines, wrapped(wb.entryText(c, l.row), t.charsOf(i), 11))
		}
	}
	switch l.kind {
	case tableHeadLine:
		return s.band(tableLook, len(t.t.Columns), tableTitle(t.t)), 18
	case columnHeadLine:
		return row, max(float64(lineHeight(9)*float64(lines))+2, plainHeight)
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

// charsOf returns the width of a column of a short table.
func (t *tablePlan) charsOf(i int) int {
	switch i + 1 {
	case labelColumn:
		return labelWidth
	case valueColumn:
		return valueWidth
	case lastFrontColumn:
		return lastWidth
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

// sideRemark is the width of the remarks on the tab of ranges and validity.
const sideRemark = 80

// adviceRow returns the row of a range or a validity: the condition, its state
// in a word, and where it is broken.
func (wb *workbook) adviceRow(c *checkPlan) ([]any, float64) {
	s := &wb.styles
	head, remark, name := wb.adviceWords(c)
	row := []any{
		excelize.Cell{Value: clean(head), StyleID: s.of(labelLook, "", false)},
		wb.stateCell(c, quoteSheet(validityTab), head), nil,
		excelize.Cell{Value: clean(remark), StyleID: s.of(remarkLook, "", false)},
		excelize.Cell{Value: clean(name), StyleID: s.of(nameLook, "", false)},
	}
	if c.place != "" && c.why == "" {
		row[2] = excelize.Cell{Formula: place(c.place, quoteSheet(validityTab), c.row), Value: wb.placeOf(c), StyleID: s.of(unitLook, "", false)}
	}
	return row, max(heightOf(head, 40, 10), heightOf(remark, sideRemark, 10))
}

// stateCell returns the state of a condition in a word.
func (wb *workbook) stateCell(c *checkPlan, tab, about string) excelize.Cell {
	state := excelize.Cell{StyleID: wb.styles.of(stateLook, "", false), Value: wb.stateOf(c)}
	if c.why != "" {
		wb.report.Frozen = append(wb.report.Frozen, Frozen{Cell: about, Why: c.why})
		return state
	}
	state.Formula = place(c.state, tab, c.row)
	wb.report.Formulas++
	return state
}

// summaryRow gives the state of the tab of ranges and validity in one word, and
// how many conditions are not kept.
func (wb *workbook) summaryRow() []any {
	s := &wb.styles
	states := quoteSheet(validityTab) + "!" + fixed(valueColumn, sideHead+1) + ":" + fixed(valueColumn, len(wb.side))
	count := func(word string) string { return "COUNTIF(" + states + `,"` + word + `")` }
	counts, first := map[string]int{}, -1
	for i := range wb.checks {
		if wb.checks[i].advice != nil {
			state := wb.stateOf(&wb.checks[i])
			if counts[state]++; state == advised && first < 0 {
				first = i
			}
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
	if first >= 0 {
		head, _, name := wb.adviceWords(&wb.checks[first])
		remark += ": " + clean(head) + ", " + clean(name)
	}
	list := func(column int) string {
		at := quoteSheet(validityTab) + "!" + fixed(column, sideHead+1) + ":" + fixed(column, len(wb.side))
		return "INDEX(" + at + `,MATCH("` + advised + `",` + states + ",0))"
	}
	wb.report.Formulas += 2
	return []any{
		excelize.Cell{Value: "All on the tab of that name", StyleID: s.of(labelLook, "", false)},
		excelize.Cell{
			Formula: "IF(" + count(advised) + `>0,"` + advised + `",IF(` + count(waiting) + `>0,"` + waiting + `","` + kept + `"))`,
			Value:   word, StyleID: s.of(stateLook, "", false),
		},
		nil,
		excelize.Cell{
			Formula: count(advised) + `&" of ` + strconv.Itoa(all) + ` are not kept"&IF(` + count(advised) + `>0,": "&` + list(1) + `&", "&` + list(5) + `,"")`,
			Value:   remark, StyleID: s.of(lineLook, "", false),
		},
	}
}

// adviceWords returns what an advice is about, what it says and its name.
func (wb *workbook) adviceWords(c *checkPlan) (head, remark, name string) {
	text := strings.TrimPrefix(c.advice.Text, "outside its ")
	if col := c.advice.Column; col != nil {
		return label(&col.Quantity), text, col.Table.Name + "." + col.Name
	}
	return label(&c.advice.Cell.Quantity), text, c.advice.Cell.Name
}

// leafExtras adds what has to come before the rows are written: which entries
// are allowed, colours of states, notes.
func (wb *workbook) leafExtras(l *leaf) error {
	if err := wb.validateCells(l); err != nil {
		return err
	}
	for i := 0; i < len(l.lines); i++ {
		first := i
		for i < len(l.lines) && (l.lines[i].kind == limitLine || l.lines[i].kind == summaryLine) {
			i++
		}
		if i > first {
			if err := wb.colourStates(l.name, first+1, i); err != nil {
				return err
			}
		}
	}
	return wb.notes(l)
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
func (wb *workbook) notes(l *leaf) error {
	n := 0
	for i, line := range l.lines {
		if line.cell == nil || line.cell.Origin.Note == "" || line.kind == mirrorLine || n >= maxNotes {
			continue
		}
		n++
		if err := wb.note(l.name, at(valueColumn, i+1), line.cell.Origin.Note); err != nil {
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
