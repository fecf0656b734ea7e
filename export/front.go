package export

import (
	"fmt"
	"slices"
	"strconv"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// The columns of a tab of lines. They are narrow, because a short table in the
// lines uses them too, and label, value and unit together are as wide as a
// phone; a longer text spans several.
const (
	labelColumn     = 1
	valueColumn     = 2
	unitColumn      = 3
	remarkColumn    = 4 // over four columns
	nameColumn      = 8 // to the last
	lastFrontColumn = 10
)

// Widths of these columns, in characters.
const (
	labelWidth  = 32
	valueWidth  = 10
	unitWidth   = 10
	narrowWidth = 9
	remarkWidth = 4 * narrowWidth
	remarkLine  = remarkWidth - 4
	nameWidth   = 3 * narrowWidth
	wholeWidth  = labelWidth + valueWidth + unitWidth + 7*narrowWidth
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
	head := strconv.Itoa(l.head() + 1)
	if err := wb.page(l.name, false, "$"+head+":$"+head); err != nil {
		return err
	}
	// A scale of its own, because programs that fit a tab to pages ignore breaks.
	if err := fitPages(wb.f, l.name, false); err != nil {
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
	if err := wb.leafColumns(out, l); err != nil {
		return err
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: frozen, TopLeftCell: at(1, frozen+1), ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	heights, err := wb.lines(out, l.lines)
	if err != nil {
		return err
	}
	if err := wb.leafPages(l, heights); err != nil {
		return err
	}
	return out.Flush()
}

// Heights in points: of a row of usual text, and of one that separates two
// blocks.
const (
	plainHeight = 12.75
	gapHeight   = 6.0
)

// lines writes the rows of a tab of lines, and returns their heights.
func (wb *workbook) lines(out *rowWriter, lines []line) ([]float64, error) {
	heights := make([]float64, len(lines))
	for i, l := range lines {
		row := i + 1
		cells, height := wb.frontRow(l)
		for _, m := range wb.merges(l, cells) {
			if err := out.MergeCell(at(m[0], row), at(m[1], row)); err != nil {
				return nil, err
			}
		}
		heights[i] = height
		if height == 0 {
			heights[i] = plainHeight
		}
		out.begin(row, excelize.RowOpts{Height: heights[i]})
		out.list(1, cells)
		if l.tab != nil && l.tab.host != nil {
			wb.stepsOfRow(out, l.tab, row)
		}
		out.end()
	}
	return heights, nil
}

// setRemark names the givens that --set has changed, below the title of the
// front: a line of its own would move the cells below it.
func (wb *workbook) setRemark(title line) string {
	if title.text != wb.front.title {
		return ""
	}
	return setRemark(SetText(wb.s))
}

// merges returns the columns over which a line's long texts are written.
func (wb *workbook) merges(l line, cells []any) [][2]int {
	switch l.kind {
	case titleLine:
		if wb.setRemark(l) == "" {
			return nil
		}
		return [][2]int{{labelColumn, lastFrontColumn}}
	case cautionLine, noteLine, verdictLine, moreLine, whyLine:
		return [][2]int{{labelColumn, lastFrontColumn}}
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
		if c, ok := cells[nameColumn-1].(excelize.Cell); ok && wrapped(c.Value.(string), nameWidth) > 1 {
			out = append(out, [2]int{nameColumn, lastFrontColumn})
		}
		return out
	}
	return nil
}

// leafColumns sets the widths, and hides the columns that are not to be read.
func (wb *workbook) leafColumns(out *rowWriter, l *leaf) error {
	for i := 1; i <= lastFrontColumn; i++ {
		width := narrowWidth
		switch i {
		case labelColumn:
			width = labelWidth
		case valueColumn:
			width = valueWidth
		case unitColumn:
			width = unitWidth
		}
		if err := out.SetColWidth(i, i, float64(width)); err != nil {
			return err
		}
	}
	last := causeColumn
	for _, t := range wb.tables {
		if t.host == l && len(t.steps) > 0 {
			last = max(last, t.nextStep()-1)
		}
	}
	return out.SetColVisible(causeColumn, last, false)
}

// frontRow returns a line's cells and its height, 0 for the usual one.
func (wb *workbook) frontRow(l line) ([]any, float64) {
	s := &wb.styles
	text := func(t string, k look) excelize.Cell {
		return excelize.Cell{Value: clean(t), StyleID: s.of(k, "", false)}
	}
	switch l.kind {
	case titleLine:
		if set := wb.setRemark(l); set != "" {
			return []any{text(l.text+"\n"+set, verdictLook)}, 24 + float64(lineHeight*float64(wrapped(set, wholeWidth*10/12)))
		}
		return []any{text(l.text, titleLook)}, 24
	case verdictLine:
		formula, now := wb.verdict()
		wb.report.Formulas++
		return []any{excelize.Cell{Formula: formula, Value: now, StyleID: s.of(verdictLook, "", false)}}, wb.verdictHeight()
	case cautionLine:
		return []any{text(l.text, cautionLook)}, heightOf(l.text, wholeWidth)
	case noteLine:
		return []any{text(l.text, noteLook)}, heightOf(l.text, wholeWidth)
	case headLine:
		return wb.blockHead(l.text), 15
	case sectionLine:
		return s.band(sectionLook, 1, l.text), 16
	case givenLine, resultLine, mirrorLine:
		return wb.quantityRow(l)
	case tableLine:
		row := make([]any, nameColumn)
		row[0] = text(tableTitle(l.tab.t), labelLook)
		row[remarkColumn-1] = wb.withCause(l.tab, text(wb.tableRemark(l.tab), lineLook))
		return row, heightOf(tableTitle(l.tab.t), labelWidth)
	case tableHeadLine, columnHeadLine, unitHeadLine, tableRowLine:
		return wb.shortTable(l)
	case limitLine:
		return wb.rankedLimit(l.chk), 0
	case whyLine:
		return []any{wb.rankedReason(l.chk)}, wb.reasonHeight()
	case moreLine:
		rest := len(wb.m.Limits) - wb.listed
		return []any{text(fmt.Sprintf("and %d more on the tab %s", rest, limitsTab), noteLook)}, 0
	case adviceLine:
		return wb.adviceRow(&wb.checks[l.chk])
	case summaryLine:
		return wb.summaryRow(), 0
	}
	return nil, gapHeight
}

// blockHead names the columns of a block.
func (wb *workbook) blockHead(head string) []any {
	names := map[string][lastFrontColumn]string{
		sheetBlock:  {"", "Value", "Unit", "Allowed", "", "", "", "Name"},
		limitsTab:   {head, "State", "Margin", "Unit", "Is", "At least", "At most", "  Unit", "Below: if broken"},
		validityTab: {head, "State", "", "", "Name"},
	}[head]
	row := make([]any, lastFrontColumn)
	if head == validityTab {
		row = row[:validityColumns]
	}
	for i := range row {
		n := names[i]
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

// leafExtras adds the parts that precede the rows: rules for entries, colours
// of states, notes.
func (wb *workbook) leafExtras(l *leaf) error {
	if err := wb.validateCells(l); err != nil {
		return err
	}
	for i := 0; i < len(l.lines); i++ {
		first := i
		for i < len(l.lines) && slices.Contains([]lineKind{limitLine, whyLine, summaryLine}, l.lines[i].kind) {
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
