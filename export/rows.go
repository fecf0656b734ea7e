package export

import (
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// rowWriter writes one tab. The library writes everything but the rows: widths,
// panes, rules, protection.
type rowWriter struct {
	*rowText
	out     *excelize.StreamWriter
	columns map[int]columnWidth
}

// columnWidth is the width of a column, 0 if the program's own, and whether it
// is hidden.
type columnWidth struct {
	width  float64
	hidden bool
}

// rowText is the rows of a tab. They are written once, with the correct cached
// value for each formula, and deflated in a stream. Nothing in it refers to the
// library's file: the linker keeps all methods of types that the packer refers
// to, which would add 3 MB.
type rowText struct {
	tab    int // number of the tab, from 1
	stamp  formulaStamp
	text   []byte // of the piece being written
	body   *pieces
	shared int // formulas shared so far
	row    int
	digits []byte // of the row's number
}

// A text of a tab's rows is deflated in pieces of about this size.
const pieceSize = 512 << 10

// streamRows begins the rows of a tab.
func streamRows(f *excelize.File, r *tabRows, tab string) (*rowWriter, error) {
	out, err := f.NewStreamWriter(tab)
	if err != nil {
		return nil, err
	}
	index, err := f.GetSheetIndex(tab)
	if err != nil {
		return nil, err
	}
	text := &rowText{tab: index + 1, body: newPieces(r.slots)}
	r.tabs[fmt.Sprintf("xl/worksheets/sheet%d.xml", text.tab)] = text
	return &rowWriter{text, out, map[int]columnWidth{}}, nil
}

// SetColWidth sets the width of columns.
func (w *rowWriter) SetColWidth(first, last int, width float64) error {
	if first < excelize.MinColumns || last > excelize.MaxColumns {
		return excelize.ErrColumnNumber
	}
	for i := first; i <= last; i++ {
		w.columns[i] = columnWidth{width, w.columns[i].hidden}
	}
	return nil
}

// SetColVisible hides columns or shows them.
func (w *rowWriter) SetColVisible(first, last int, visible bool) error {
	if first < excelize.MinColumns || last > excelize.MaxColumns {
		return excelize.ErrColumnNumber
	}
	for i := first; i <= last; i++ {
		w.columns[i] = columnWidth{w.columns[i].width, !visible}
	}
	return nil
}

// flushColumns passes the columns to the library from the last to the first:
// the library inserts each before the existing ones, and readers may require
// ascending order. It copies all of them at every call, so equal neighbours are
// passed together.
func (w *rowWriter) flushColumns() error {
	sorted := slices.Sorted(maps.Keys(w.columns))
	for to := len(sorted); to > 0; {
		from := to - 1
		last, look := sorted[from], w.columns[sorted[from]]
		for from > 0 && sorted[from-1] == sorted[from]-1 && w.columns[sorted[from-1]] == look {
			from--
		}
		to = from
		if look.width > 0 {
			if err := w.out.SetColWidth(sorted[from], last, look.width); err != nil {
				return err
			}
		}
		if look.hidden {
			if err := w.out.SetColVisible(sorted[from], last, false); err != nil {
				return err
			}
		}
	}
	return nil
}

// SetPanes freezes rows and columns, before the first row.
func (w *rowWriter) SetPanes(p *excelize.Panes) error { return w.out.SetPanes(p) }

// MergeCell joins the cells of a range.
func (w *rowWriter) MergeCell(first, last string) error { return w.out.MergeCell(first, last) }

// Flush ends the tab: the library writes everything but the rows.
func (w *rowWriter) Flush() error {
	if err := w.flushColumns(); err != nil {
		return err
	}
	return w.out.Flush()
}

// SetRow writes a row of cells: nil, excelize.Cell, or a plain value.
func (w *rowText) SetRow(cell string, cells []any, opts ...excelize.RowOpts) error {
	column, row, err := excelize.CellNameToCoordinates(cell)
	if err != nil {
		return err
	}
	w.begin(row, opts...)
	w.list(column, cells)
	w.end()
	return nil
}

// list writes cells into the current row, from a column on.
func (w *rowText) list(column int, cells []any) {
	for i, c := range cells {
		switch c := c.(type) {
		case nil:
		case excelize.Cell:
			w.cell(column+i, c)
		default:
			w.cell(column+i, excelize.Cell{Value: c})
		}
	}
}

// begin begins a row.
func (w *rowText) begin(row int, opts ...excelize.RowOpts) {
	w.row = row
	w.digits = strconv.AppendInt(w.digits[:0], int64(row), 10)
	w.text = append(append(append(w.text, `<row r="`...), w.digits...), '"')
	for _, o := range opts {
		if o.Height > 0 {
			w.text = append(w.text, ` ht="`...)
			w.text = strconv.AppendFloat(w.text, o.Height, 'f', -1, 64)
			w.text = append(w.text, `" customHeight="1"`...)
		}
		if o.Hidden {
			w.text = append(w.text, ` hidden="1"`...)
		}
	}
	w.text = append(w.text, '>')
}

// end ends a row. Full pieces are deflated.
func (w *rowText) end() {
	w.text = append(w.text, "</row>"...)
	if len(w.text) >= pieceSize {
		w.text = w.body.add(w.text)
	}
}

// open writes a cell's tag up to its type.
func (w *rowText) open(column, style int) {
	w.text = appendLetters(append(w.text, `<c r="`...), column)
	w.text = append(append(w.text, w.digits...), '"')
	if style > 0 {
		w.text = append(w.text, ` s="`...)
		w.text = strconv.AppendInt(w.text, int64(style), 10)
		w.text = append(w.text, '"')
	}
}

// appendLetters writes the letters of column n, counted from 1.
func appendLetters(b []byte, n int) []byte {
	if n > 26 {
		b = appendLetters(b, (n-1)/26)
	}
	return append(b, byte('A'+(n-1)%26))
}

// cell writes a cell in the library's description.
func (w *rowText) cell(column int, c excelize.Cell) {
	if c.Formula == "" {
		w.open(column, c.StyleID)
		w.plain(c.Value)
		return
	}
	text, array := strings.CutPrefix(c.Formula, string(arrayMark))
	w.stamp.addForm(w.tab, column, w.row, formOf(text, column, w.row))
	v := cachedOf(c.Value)
	w.formula(column, c.StyleID, v, func(b []byte) []byte {
		return w.full(b, text, column, array, v)
	})
}

// full appends a formula that is written out.
//
// LibreOffice takes the cached number of a plain formula for computed. It computes
// every other formula when its cell is first read, and until then does not tell those
// that read it of a change: a plain formula with a number would keep the number after a
// given has changed. So it is written as one that is shared by its own cell alone, or,
// since those must not read another tab, as one over ranges: LibreOffice computes
// these in any case. For other programs they are the same formula.
func (w *rowText) full(b []byte, text string, column int, array bool, v cachedValue) []byte {
	shared := v.kind == 'n' && !array && !readsTab(text)
	array = array || v.kind == 'n' && !shared
	switch {
	case shared:
		b = append(b, `<f t="shared" ref="`...)
	case array:
		b = append(b, `<f t="array" ref="`...)
	default:
		b = append(b, "<f>"...)
	}
	if shared || array {
		b = append(append(appendLetters(b, column), w.digits...), '"')
		if shared {
			b = append(strconv.AppendInt(append(b, ` si="`...), int64(w.shared), 10), '"')
			w.shared++
		}
		b = append(b, '>')
	}
	return append(appendEscaped(b, text), "</f>"...)
}

// plain writes the rest of a cell that has no formula.
func (w *rowText) plain(v any) {
	switch v := v.(type) {
	case string:
		if v == "" {
			w.text = append(w.text, "/>"...)
			return
		}
		w.text = append(w.text, ` t="inlineStr"><is><t`...)
		if v != strings.TrimSpace(v) {
			w.text = append(w.text, ` xml:space="preserve"`...)
		}
		w.text = append(appendText(append(w.text, '>'), v), "</t></is></c>"...)
	case bool:
		w.text = append(append(w.text, ` t="b"><v>`...), truthDigit(v))
		w.text = append(w.text, "</v></c>"...)
	case int:
		w.text = append(strconv.AppendInt(append(w.text, "><v>"...), int64(v), 10), "</v></c>"...)
	case float64:
		if v-v != 0 {
			w.text = append(w.text, "/>"...)
			return
		}
		w.text = append(appendFloat(append(w.text, "><v>"...), v), "</v></c>"...)
	default:
		w.text = append(w.text, "/>"...)
	}
}

func truthDigit(v bool) byte {
	if v {
		return '1'
	}
	return '0'
}

// appendFloat writes a number with all its digits, in the shorter notation.
func appendFloat(b []byte, v float64) []byte {
	if v == math.Trunc(v) && math.Abs(v) < 1e15 {
		return strconv.AppendInt(b, int64(v), 10)
	}
	return strconv.AppendFloat(b, v, 'g', -1, 64)
}

// cachedValue is the value of a cell until its formula is computed again.
type cachedValue struct {
	kind   byte // 0 nothing, 'n' a number, 's' a text, 'b' a logical value, 'e' an error
	number float64
	text   string
}

// cachedOf returns the cached value of a formula's cell.
func cachedOf(v any) cachedValue {
	switch v := v.(type) {
	case cachedValue:
		return v
	case float64:
		return cachedValue{kind: 'n', number: v}
	case int:
		return cachedValue{kind: 'n', number: float64(v)}
	case bool:
		return cachedValue{kind: 'b', number: float64(truthDigit(v) - '0')}
	case string:
		return cachedValue{kind: 's', text: v}
	}
	return cachedValue{}
}

// formula writes a cell with a formula, which write appends, and its cached
// value.
func (w *rowText) formula(column, style int, v cachedValue, write func([]byte) []byte) {
	w.open(column, style)
	w.text = append(w.text, kindText[v.kind]...)
	w.text = write(append(w.text, '>'))
	if v.kind != 0 {
		w.text = append(w.text, "<v>"...)
		switch v.kind {
		case 'n', 'b':
			w.text = appendFloat(w.text, v.number)
		default:
			w.text = appendText(w.text, v.text)
		}
		w.text = append(w.text, "</v>"...)
	}
	w.text = append(w.text, "</c>"...)
}

var kindText = ['t']string{'s': ` t="str"`, 'b': ` t="b"`, 'e': ` t="e"`}

// repeated is a formula in the cells of one column, row after row, moved.
type repeated struct {
	text   string // with marks
	tab    string // the tab's name, quoted
	array  bool
	column int
	first  int // its first row
	last   int
	form   uint64
	index  int // among the tab's shared formulas
	alone  bool
	placed string
}

// repeat begins a formula for a column from row first to last.
// Spreadsheets share formulas within a tab only, and none over whole ranges.
func (w *rowText) repeat(text, tab string, array bool, column, first, last int) *repeated {
	r := &repeated{text: text, tab: tab, array: array, column: column, first: first, last: last}
	r.placed = place(text, tab, first)
	r.form = formOf(r.placed, column, first)
	r.alone = array || first == last || readsTab(r.placed)
	if !r.alone {
		r.index = w.shared
		w.shared++
	}
	return r
}

// readsTab reports whether a formula refers to another tab. What is between
// apostrophes is the name of one, which may have a quote in it.
func readsTab(formula string) bool {
	for s := formula; ; {
		i := strings.IndexAny(s, `!'"`)
		if i < 0 || s[i] != '"' {
			return i >= 0
		}
		s = s[i+quotedLength(s[i:], '"'):]
	}
}

// repeat writes the current row's cell of a repeated formula.
func (r *repeated) write(w *rowText, style int, v cachedValue) {
	w.stamp.addForm(w.tab, r.column, w.row, r.form)
	w.formula(r.column, style, v, func(b []byte) []byte {
		switch {
		case r.alone:
			return w.full(b, place(r.text, r.tab, w.row), r.column, r.array, v)
		case w.row == r.first:
			b = append(b, `<f t="shared" ref="`...)
			b = append(strconv.AppendInt(appendLetters(b, r.column), int64(r.first), 10), ':')
			b = append(strconv.AppendInt(appendLetters(b, r.column), int64(r.last), 10), `" si="`...)
			b = append(strconv.AppendInt(b, int64(r.index), 10), `">`...)
			return append(appendEscaped(b, r.placed), "</f>"...)
		}
		b = strconv.AppendInt(append(b, `<f t="shared" si="`...), int64(r.index), 10)
		return append(b, `"/>`...)
	})
}

// escapeMark matches a text that a workbook reads as one character.
var escapeMark = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)

// appendText writes a text of a cell.
func appendText(b []byte, s string) []byte {
	if len(s) > maxCell {
		s = s[:cellEnd(s)]
	}
	if strings.Contains(s, "_x") {
		s = escapeMark.ReplaceAllStringFunc(s, func(mark string) string { return "_x005F" + mark })
	}
	return appendEscaped(b, s)
}

// cellEnd returns the number of bytes of s that fit in a cell, which counts
// UTF-16 units.
func cellEnd(s string) int {
	units := 0
	for i, r := range s {
		units++
		if r > 0xFFFF {
			units++
		}
		if units > maxCell {
			return i
		}
	}
	return len(s)
}

// appendEscaped writes a text between tags. Characters that XML cannot contain
// become the replacement character.
func appendEscaped(b []byte, s string) []byte {
	from := 0
	for i := 0; i < len(s); {
		r, size := rune(s[i]), 1
		if r >= utf8.RuneSelf {
			r, size = utf8.DecodeRuneInString(s[i:])
		}
		escape := ""
		switch {
		case r == '<':
			escape = "&lt;"
		case r == '>':
			escape = "&gt;"
		case r == '&':
			escape = "&amp;"
		case r == '\r':
			escape = "&#xD;"
		case r < ' ' && r != '\n' && r != '\t', r == 0xFFFE, r == 0xFFFF, r == utf8.RuneError && size == 1:
			escape = "\uFFFD"
		}
		if escape != "" {
			b = append(append(b, s[from:i]...), escape...)
			from = i + size
		}
		i += size
	}
	return append(b, s[from:]...)
}
