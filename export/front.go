package export

import (
	"fmt"
	"strconv"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// The columns of a tab of lines. They are narrow, so that a short
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

// lines writes the rows of a tab of lines.
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
			text, _ := c.Value.(string)
			if cached, ok := c.Value.(cachedValue); ok {
				text = cached.text
			}
			if utf8.RuneCountInString(text) > remarkLine {
				out = append(out, [2]int{remarkColumn, nameColumn - 1})
			}
		}
		return out
	}
	return nil
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
	return out.SetColVisible(causeColumn, causeColumn, false)
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
