package export

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// recordTab is a tab of an answer's records: title, remark, heads as above a
// sheet's table, then the rows.
type recordTab struct {
	name, title, remark string
	foot                string // of each page
	columns             []recordColumn
	count               int     // of records
	why                 int     // the column of texts that are wrapped; 0 for none
	records             [][]any // all of them, if they are known before they are written
	state               int     // the column of states, which are coloured; 0 for none
	mixed               bool    // a number has a format of its own
}

// recordColumn is one column of a recordTab.
type recordColumn struct {
	Field
	label  string // above the name
	format string // of numbers; without one a number shows all its digits
	width  int    // at least
	text   bool
}

// bookHeads is the number of rows above the records.
const bookHeads = columnUnitRow

// mostPrinted is the largest number of records of a tab that are printed: if
// there are more, a selection from the first to the last, or the first ones if
// not all are known.
const mostPrinted = 130

// recordBook is a workbook of records with one tab of them, and charts.
type recordBook struct {
	recordTab
	charts func(t *recordTab) []*excelize.Chart // nil for none
	legend []string                             // on the hidden tab of chart data
}

// write writes records to a workbook as they come.
func (b *recordBook) write(w io.Writer, rows recordRows) error {
	return writeRecordTabs(w, b.foot, func(f *excelize.File, st *styles, text *tabRows) ([]*excelize.Chart, error) {
		if err := f.SetSheetName("Sheet1", b.name); err != nil {
			return nil, err
		}
		if err := b.writeLegend(f); err != nil {
			return nil, err
		}
		if err := b.recordTab.write(f, st, text, rows); err != nil || b.charts == nil || b.count < 2 {
			return nil, err
		}
		return b.charts(&b.recordTab), nil
	})
}

// writeLegend writes what the lines of charts are called to a hidden tab.
func (b *recordBook) writeLegend(f *excelize.File) error {
	if len(b.legend) == 0 {
		return nil
	}
	if _, err := f.NewSheet(chartDataTab); err != nil {
		return err
	}
	for i, name := range b.legend {
		if err := f.SetCellStr(chartDataTab, at(i+1, 1), clean(name)); err != nil {
			return err
		}
	}
	return f.SetSheetVisible(chartDataTab, false)
}

// recordRows calls row with each record.
type recordRows func(row func([]any) error) error

// each returns the rows of records that are known.
func each(records [][]any) recordRows {
	return func(row func([]any) error) error {
		for _, values := range records {
			if err := row(values); err != nil {
				return err
			}
		}
		return nil
	}
}

// writeRecordTabs writes a workbook with tabs that fill makes, and a tab of the
// charts that it returns.
func writeRecordTabs(w io.Writer, title string, fill func(f *excelize.File, st *styles, text *tabRows) ([]*excelize.Chart, error)) error {
	f := excelize.NewFile()
	defer func() { _ = f.Close() }()
	if err := f.SetDefaultFont(fontName); err != nil {
		return err
	}
	st, text := &styles{f: f, known: map[styleKey]int{}}, newTabRows()
	charts, err := fill(f, st, text)
	if err != nil {
		return err
	}
	if len(charts) > 0 {
		if _, err := f.NewSheet(chartsTab); err != nil {
			return err
		}
		if err := chartSheet(f, st, title, charts); err != nil {
			return err
		}
	}
	if st.err != nil {
		return st.err
	}
	packWith(f, text)
	return f.Write(w)
}

// write writes the tab, which exists.
func (t *recordTab) write(f *excelize.File, st *styles, text *tabRows, rows recordRows) error {
	t.measure()
	if err := t.page(f); err != nil {
		return err
	}
	if t.state > 0 {
		list := at(t.state, bookHeads+1) + ":" + at(t.state, bookHeads+max(t.count, 1))
		if err := colourWords(f, t.name, list); err != nil {
			return err
		}
	}
	out, err := streamRows(f, text, t.name)
	if err != nil {
		return err
	}
	if err := t.widths(out); err != nil {
		return err
	}
	panes := &excelize.Panes{Freeze: true, YSplit: bookHeads, TopLeftCell: at(1, bookHeads+1), ActivePane: "bottomLeft"}
	if err := out.SetPanes(panes); err != nil {
		return err
	}
	if err := t.heads(out, st); err != nil {
		return err
	}
	if err := t.rows(out, st, rows); err != nil {
		return err
	}
	return out.Flush()
}

// measure makes the columns as wide as their longest known content.
func (t *recordTab) measure() {
	for i := range t.columns {
		c := &t.columns[i]
		if t.group(i) == 1 {
			c.width = max(c.width, widthOfLabel(c.label))
		}
		c.width = max(c.width, 9, utf8.RuneCountInString(c.Name)+2, utf8.RuneCountInString(c.Unit)+2)
		for _, row := range t.records {
			if i >= len(row) {
				continue
			}
			switch v := row[i].(type) {
			case string:
				c.text = true
				c.width = max(c.width, min(utf8.RuneCountInString(v)+2, mostWide))
			case float64:
				format := c.format
				if t.mixed {
					format = mixedFormat(v)
				}
				c.width = max(c.width, min(numberWidth(format, v), 14))
			}
		}
	}
}

// form reports whether a selection of rows is printed, from a form beside them.
func (t *recordTab) form() bool { return t.count > mostPrinted && t.records != nil }

// formColumn is the first column of the form beside the records.
func (t *recordTab) formColumn() int { return len(t.columns) + 2 }

// page sets the tab up for paper.
func (t *recordTab) page(f *excelize.File) error {
	width := 0
	for _, c := range t.columns {
		width += c.width
	}
	titles := "$" + strconv.Itoa(columnLabelRow) + ":$" + strconv.Itoa(columnUnitRow)
	if err := paper(f, t.name, t.foot, width > portrait.chars(), titles); err != nil || t.count <= mostPrinted {
		return err
	}
	first, last, row := 1, len(t.columns), bookHeads+mostPrinted
	if t.form() {
		first, last, row = t.formColumn(), t.formColumn()+len(t.columns)-1, bookHeads+formRows
	}
	return printArea(f, t.name, first, last, row)
}

func (t *recordTab) widths(out *rowWriter) error {
	for i, c := range t.columns {
		if err := out.SetColWidth(i+1, i+1, float64(c.width)); err != nil {
			return err
		}
	}
	if !t.form() {
		return nil
	}
	for i, c := range t.columns {
		if err := out.SetColWidth(t.formColumn()+i, t.formColumn()+i, float64(c.width)); err != nil {
			return err
		}
	}
	return nil
}

// heads writes the rows above the records.
func (t *recordTab) heads(out *rowWriter, st *styles) error {
	title := excelize.Cell{Value: clean(t.title), StyleID: st.of(titleLook, "", true)}
	remark := excelize.Cell{Value: clean(t.printed()), StyleID: st.of(rowLook, "", true)}
	labels, names, units := []any{}, []any{}, []any{}
	high := plainHeight
	for i, c := range t.columns {
		label, look := clean(c.label), columnLabelLook
		switch n := t.group(i); {
		case n == 0:
			label = ""
		case n > 1:
			look = groupLook
			if err := t.join(out, i, n); err != nil {
				return err
			}
		default:
			high = max(high, heightOf(c.label, c.width))
		}
		labels = append(labels, excelize.Cell{Value: label, StyleID: st.of(look, "", c.text && look == columnLabelLook)})
		names = append(names, excelize.Cell{Value: clean(c.Name), StyleID: st.of(columnLook, "", c.text)})
		units = append(units, excelize.Cell{Value: clean(c.Unit), StyleID: st.of(columnUnitLook, "", c.text)})
	}
	for i, cells := range [][]any{{title}, {remark}, labels, names, units} {
		row := i + 1
		if t.form() {
			cells = append(padded(slices.Clone(cells), t.formColumn()-1), cells...)
		}
		if err := out.SetRow(at(1, row), cells, headHeight(row, high)); err != nil {
			return err
		}
	}
	return nil
}

// group returns the number of neighbouring columns from the i-th on that share
// a label, 0 for a column that shares the label of the one before.
func (t *recordTab) group(i int) int {
	label := t.columns[i].label
	if label != "" && i > 0 && t.columns[i-1].label == label {
		return 0
	}
	n := 1
	for label != "" && i+n < len(t.columns) && t.columns[i+n].label == label {
		n++
	}
	return n
}

// join joins the cells of a label over n columns, and those of the form.
func (t *recordTab) join(out *rowWriter, i, n int) error {
	if err := out.MergeCell(at(i+1, columnLabelRow), at(i+n, columnLabelRow)); err != nil || !t.form() {
		return err
	}
	i += t.formColumn()
	return out.MergeCell(at(i, columnLabelRow), at(i+n-1, columnLabelRow))
}

// printed returns the remark, with the printed selection of many records.
func (t *recordTab) printed() string {
	switch {
	case t.count <= mostPrinted:
		return t.remark
	case t.form():
		return joined(t.remark, fmt.Sprintf("Printed: %d rows from the first to the last, from column %s on.", formRows, letters(t.formColumn())))
	}
	return joined(t.remark, fmt.Sprintf("Printed: the first %d rows.", mostPrinted))
}

// rows writes the records.
func (t *recordTab) rows(out *rowWriter, st *styles, rows recordRows) error {
	looks := make([]int, len(t.columns))
	for i, c := range t.columns {
		looks[i] = st.of(shutLook, c.format, false)
	}
	left, state, why := st.of(shutLook, "", true), st.of(stateLook, "", false), st.of(remarkLook, "", true)
	write := func(column int, values []any) {
		for i, v := range values {
			look := looks[min(i, len(looks)-1)]
			switch v := v.(type) {
			case nil:
				continue
			case string:
				switch look = left; i + 1 {
				case t.state:
					look = state
				case t.why:
					look = why
				}
				out.cell(column+i, excelize.Cell{Value: clean(v), StyleID: look})
			case bool:
				out.cell(column+i, excelize.Cell{Value: truth(v), StyleID: left})
			case float64:
				if t.mixed {
					look = st.of(shutLook, mixedFormat(v), false)
				}
				out.cell(column+i, excelize.Cell{Value: v, StyleID: look})
			default:
				out.cell(column+i, excelize.Cell{Value: v, StyleID: look})
			}
		}
	}
	n := 0
	return rows(func(values []any) error {
		n++
		out.begin(bookHeads+n, excelize.RowOpts{Height: t.height(values)})
		write(1, values)
		if t.form() && n <= formRows {
			k := int(math.Round(float64(t.count-1) * float64(n-1) / (formRows - 1)))
			write(t.formColumn(), t.records[k])
		}
		out.end()
		return nil
	})
}

// mixedFormat returns the format of a number among those of other quantities.
func mixedFormat(v float64) string {
	if fewDigits(v) {
		return general
	}
	return digitsOf(v)
}

// height returns the height of a record, 0 for one line.
func (t *recordTab) height(values []any) float64 {
	if t.why == 0 || t.why > len(values) {
		return 0
	}
	text, _ := values[t.why-1].(string)
	return heightOf(text, t.columns[t.why-1].width-2)
}

// entries returns the reference to records of a column, from one to another,
// counted from 0.
func (t *recordTab) entries(column, from, to int) string {
	return quoteSheet(t.name) + "!" + fixed(column+1, bookHeads+1+from) + ":" + fixed(column+1, bookHeads+1+to)
}

// headOf returns the reference to a column's name.
func (t *recordTab) headOf(column int) string {
	return quoteSheet(t.name) + "!" + fixed(column+1, columnNameRow)
}

// caption returns the name of a column.
func (c recordColumn) caption() string {
	if c.label != "" {
		return c.label
	}
	return plainName(c.Name)
}

// named returns the name of an axis over a column.
func (c recordColumn) named() string {
	name := c.caption()
	if c.Unit == "" {
		return name
	}
	return name + ", " + c.Unit
}
