package export

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// A table that is too long or too wide for a page is read on the screen and
// printed as a form to the right of it: rows from the first live one to the last,
// all columns in blocks one below the other, or those that the sheet shows. A
// form is one page. Its place and its columns do not depend on values, like the
// places of all cells.

const (
	formRows   = 38
	mostRows   = 120 // a table of fixed length is printed whole up to these
	mostMoving = 45  // and one whose length moves

	rowDigits  = 6     // width of the numbers of rows
	formHead   = 5     // rows above the first block's
	formHigh   = 120.0 // their height in points, with a label of several lines
	blockHeads = 3     // label, name and unit of a column
	numberWide = 10    // width of a number that is not known yet
	formRow    = 15.0  // height of a row in points
	textWide   = 16    // and of a text
	mostWide   = 40    // of any column
)

// paperForm is the plan of what is printed of a table.
type paperForm struct {
	column int     // of the tab: the numbers of the rows
	blocks [][]int // the table's columns by index
	rows   int
	styles []int // by the table's column, once they are known
}

// formChars is the width of a form, with a reserve for values that are wider
// than estimated.
var formChars = landscape.chars() * 93 / 100

// long reports whether a table is printed with some of its rows.
func (t *tablePlan) long() bool {
	if t.t.Library || len(t.t.Columns) == 0 {
		return false
	}
	return t.t.Rows > mostRows || t.t.Until != 0 && t.t.Rows > mostMoving
}

// planForm plans the form of a table that needs one.
func (b *book) planForm(t *tablePlan) {
	if t.host != nil || t.t.Library || len(t.t.Columns) == 0 {
		return
	}
	f := &paperForm{column: t.nextStep() + 1, rows: t.t.Rows}
	widths := b.estimates(t.t)
	switch all := fullWidth(widths); {
	case t.long():
		f.rows = formRows
		f.blocks = [][]int{b.shownColumns(t.t, widths)}
	case all <= landscape.chars():
		return
	default:
		f.blocks = folded(widths, formChars)
		if f.high() > landscape.points() {
			f.blocks = [][]int{b.shownColumns(t.t, widths)}
		}
	}
	t.form = f
}

// high returns the height of a form in points.
func (f *paperForm) high() float64 {
	return formHigh + float64(formRow*float64(len(f.blocks)*(f.rows+1)+(len(f.blocks)-1)*(blockHeads+labelLines)))
}

// fullWidth returns the width of columns with the numbers of the rows.
func fullWidth(widths []int) int {
	sum := rowDigits
	for _, w := range widths {
		sum += w
	}
	return sum
}

// estimates returns the widths that columns need, whatever their values.
func (b *book) estimates(t *check.Table) []int {
	var out []int
	for _, c := range t.Columns {
		width := numberWide
		if c.Type.Form == check.Text {
			width = textWide
			if c.Given {
				width = numberWide
			}
			for _, v := range c.Values {
				if v == v {
					width = max(width, utf8.RuneCountInString(b.m.Texts[int(v)])+2)
				}
			}
		}
		out = append(out, min(max(width, headWidth(c)), mostWide))
	}
	return out
}

// labelLines is the largest number of lines of a label above a column: the
// heads are frozen, and leave half of a phone's screen.
const labelLines = 2

// widthOfLabel returns the width of a column in which a label has so many lines.
func widthOfLabel(text string) int {
	width := 9
	for width < mostWide && wrapped(text, width) > labelLines {
		width++
	}
	return width
}

// headWidth returns the width that the heads of a column need.
func headWidth(c *check.Column) int {
	return max(widthOfLabel(c.Origin.Label), utf8.RuneCountInString(c.Name)+1, utf8.RuneCountInString(symbol(c.Unit))+1)
}

// folded divides columns into blocks of a width. Each begins with the first
// column, which identifies the rows.
func folded(widths []int, wide int) [][]int {
	var out [][]int
	block, used := []int{0}, rowDigits+widths[0]
	for i := 1; i < len(widths); i++ {
		if used+widths[i] > wide && len(block) > 1 {
			out = append(out, block)
			block, used = []int{0}, rowDigits+widths[0]
		}
		block, used = append(block, i), used+widths[i]
	}
	return append(out, block)
}

// shownColumns returns the columns that fit on a page, in this order of
// preference: the first one, those in charts, those in limits, those with a
// label, those with a precision, the others.
func (b *book) shownColumns(t *check.Table, widths []int) []int {
	rank := make([]int, len(t.Columns))
	for i, c := range t.Columns {
		switch {
		case i == 0:
		case b.charted(c):
			rank[i] = 1
		case b.limited(c):
			rank[i] = 2
		case c.Origin.Label != "":
			rank[i] = 3
		case c.To != 0:
			rank[i] = 4
		default:
			rank[i] = 5
		}
	}
	var out []int
	used := rowDigits
	for r := range 6 {
		for i, w := range widths {
			if rank[i] == r && used+w <= formChars {
				out, used = append(out, i), used+w
			}
		}
	}
	slices.Sort(out)
	return out
}

// charted reports whether a chart draws a column.
func (b *book) charted(c *check.Column) bool {
	for _, chart := range b.m.Charts {
		if chart.X == c || slices.Contains(chart.Y, c) {
			return true
		}
	}
	return false
}

// limited reports whether a limit reads a column.
func (b *book) limited(c *check.Column) bool {
	found := false
	for _, l := range b.m.Limits {
		b.walk(l.Cond, func(n *check.Node) {
			switch n.Op {
			case check.ColumnRef, check.PrevRef, check.NextRef, check.Aggregate, check.IndexAt:
				found = found || int32(n.Ref()) == c.Index
			}
		})
	}
	return found
}

// wide returns the number of columns of a form.
func (f *paperForm) wide() int {
	n := 0
	for _, block := range f.blocks {
		n = max(n, len(block)+1)
	}
	return n
}

// last returns the last row of a form.
func (f *paperForm) last() int {
	return formHead + len(f.blocks)*f.rows + (len(f.blocks)-1)*(blockHeads+1)
}

// block returns the block of a row of the tab, and the row's place in it,
// counted from the first entries; below 0 are heads.
func (f *paperForm) block(row int) (block, k int) {
	row -= tableTop
	pitch := f.rows + 1 + blockHeads
	if row < 0 {
		return 0, row
	}
	block, k = row/pitch, row%pitch
	if k >= f.rows {
		return block + 1, k - pitch
	}
	return block, k
}

// formColumns sets the widths of a form's columns.
func (wb *workbook) formColumns(out *rowWriter, t *tablePlan) error {
	f := t.form
	estimated, widths := wb.estimates(t.t), make([]int, f.wide())
	widths[0] = rowDigits
	for _, block := range f.blocks {
		for k, i := range block {
			widths[k+1] = max(widths[k+1], estimated[i], min(t.widths[i], numberWide+4))
		}
	}
	for k, w := range widths {
		if err := out.SetColWidth(f.column+k, f.column+k, float64(w)); err != nil {
			return err
		}
	}
	return nil
}

// formHeads returns a form's cells in one of the rows of heads: of labels, names
// and units, counted from the first entries down.
func (wb *workbook) formHeads(t *tablePlan, block []int, k int) []any {
	s := &wb.styles
	cells := []any{head(s, "", columnUnitLook)}
	switch k {
	case -3:
		cells[0] = nil
	case -2:
		cells[0] = head(s, "row", columnLook)
	}
	for _, i := range block {
		c := t.t.Columns[i]
		left := c.Type.Form == check.Text
		switch k {
		case -3:
			cells = append(cells, excelize.Cell{Value: clean(c.Origin.Label), StyleID: s.of(columnLabelLook, "", left)})
		case -2:
			cells = append(cells, excelize.Cell{Value: c.Name, StyleID: s.of(columnLook, "", left)})
		case -1:
			cells = append(cells, excelize.Cell{Value: symbol(c.Unit), StyleID: s.of(columnUnitLook, "", left)})
		}
	}
	return cells
}

// formCells returns a form's cells in a row of the tab.
func (wb *workbook) formCells(t *tablePlan, row int) []any {
	s := &wb.styles
	switch f := t.form; {
	case f == nil || row > f.last():
		return nil
	case row == tableTitleRow:
		return []any{excelize.Cell{Value: plainName(t.t.Name), StyleID: s.of(titleLook, "", true)}}
	case row == tableRemarkRow:
		return []any{wb.formRemark(t)}
	default:
		n, k := f.block(row)
		switch {
		case k < -blockHeads:
			return nil
		case k < 0:
			return wb.formHeads(t, f.blocks[n], k)
		}
		return wb.formRow(t, f.blocks[n], k, row)
	}
}

// formHeight returns the height of a row below the table that only the form has,
// 0 for the usual one.
func (wb *workbook) formHeight(t *tablePlan, row int) float64 {
	n, k := t.form.block(row)
	high := 0.0
	if k == -blockHeads {
		for _, i := range t.form.blocks[n] {
			high = max(high, heightOf(t.t.Columns[i].Origin.Label, headWidth(t.t.Columns[i])))
		}
	}
	return high
}

// formRemark is the cell that describes a form: the number of its rows, and of
// its columns.
func (wb *workbook) formRemark(t *tablePlan) excelize.Cell {
	before, after := t.t.Origin.Label, ""
	if n := len(t.form.blocks[0]); len(t.form.blocks) == 1 && n < len(t.t.Columns) {
		after = ". " + strconv.Itoa(n) + " of " + strconv.Itoa(len(t.t.Columns)) + " columns"
	}
	look := wb.styles.of(rowLook, "", true)
	if !t.long() {
		return excelize.Cell{Value: clean(strings.TrimPrefix(before+after, ". ")), StyleID: look}
	}
	text := func(rows string) string {
		return joined(before, rows+" rows, spread evenly from the first to the last"+after)
	}
	most := strconv.Itoa(t.form.rows)
	if t.rows == "" {
		return excelize.Cell{Value: clean(text(most + " of " + strconv.Itoa(t.t.Rows))), StyleID: look}
	}
	all := joined(before, "All rows"+after)
	first, rest, _ := strings.Cut(text(most+" of \x00"), "\x00")
	wb.report.Formulas++
	cell := excelize.Cell{
		Formula: "IF(COUNT(" + t.rows + ")=0," + quoteText(before) + ",IF(" + t.rows + ">" + most + "," + quoteText(first) + "&" + t.rows + "&" + quoteText(rest) + "," + quoteText(all) + "))",
		StyleID: look,
	}
	switch live, ended := wb.r.Live(t.t); {
	case !ended:
		cell.Value = clean(before)
	case live > t.form.rows:
		cell.Value = clean(text(most + " of " + strconv.Itoa(live)))
	default:
		cell.Value = clean(all)
	}
	return cell
}

// formRow returns the k-th row of a block: the number of the table's row that it
// shows, and the entries there.
func (wb *workbook) formRow(t *tablePlan, block []int, k, tabRow int) []any {
	number, row, shown := wb.formNumber(t, k)
	cells := []any{number}
	here := "$" + letters(t.form.column) + strconv.Itoa(tabRow)
	for _, i := range block {
		c := t.t.Columns[i]
		entry := t.entry(t.entryRange(c), here)
		cell := excelize.Cell{Formula: place("IF("+here+`="","",IF(`+entry+`="","",`+entry+"))", t.quoted, 0), StyleID: wb.formStyles(t)[i], Value: number.Value}
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

// formStyles returns the styles of a table's columns in its form.
func (wb *workbook) formStyles(t *tablePlan) []int {
	if t.form.styles == nil {
		for _, c := range t.t.Columns {
			t.form.styles = append(t.form.styles, wb.columnLook(t, c, shutLook))
		}
	}
	return t.form.styles
}

// formNumber returns the cell with the number of the row that a form's k-th row
// shows, the row, and whether it is shown.
func (wb *workbook) formNumber(t *tablePlan, k int) (number excelize.Cell, row int, shown bool) {
	last := t.form.rows - 1
	spread := func(rows int) int { return int(math.Round(float64(rows-1) * float64(k) / float64(max(last, 1)))) }
	row = spread(t.t.Rows)
	number = excelize.Cell{Value: row + 1, StyleID: wb.styles.of(rowLook, "0", false)}
	if t.rows == "" {
		return number, row, true
	}
	ks := strconv.Itoa(k)
	number.Formula = "IF(" + t.rows + ">" + strconv.Itoa(last+1) + ",1+ROUND((" + t.rows + "-1)*" + ks + "/" + strconv.Itoa(max(last, 1)) +
		",0),IF(" + ks + "<" + t.rows + "," + strconv.Itoa(k+1) + `,""))`
	live, ended := wb.r.Live(t.t)
	if row = k; live > last+1 {
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
	return number, row, shown
}
