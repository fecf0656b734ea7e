package export

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

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
	for i, width := range []float64{sideLabel, 9, 9, sideRemark, 26} {
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: sideHead, TopLeftCell: at(1, sideHead+1), ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if _, err := wb.lines(out, wb.side); err != nil {
		return err
	}
	return out.Flush()
}

// validityColumns is the number of columns of that tab.
const validityColumns = 5

// Widths of labels and remarks on the tab of ranges and validity.
const (
	sideLabel  = 35
	sideRemark = 58
)

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
	return row, max(heightOf(head, sideLabel), heightOf(remark, sideRemark))
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
// the number of conditions that are not kept.
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
		at := quoteSheet(validityTab) + "!" + fixed(column, sideHead+1) + ":" + fixed(column, len(wb.side)+1)
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

// adviceWords returns the subject of an advice, its text and its name.
func (wb *workbook) adviceWords(c *checkPlan) (head, remark, name string) {
	text := strings.TrimPrefix(c.advice.Text, "outside its ")
	if col := c.advice.Column; col != nil {
		return label(&col.Quantity), text, col.Table.Name + "." + col.Name
	}
	return label(&c.advice.Cell.Quantity), text, c.advice.Cell.Name
}

// colourStates colours the word of a state.
func (wb *workbook) colourStates(tab string, first, last int) error {
	return colourWords(wb.f, tab, at(valueColumn, first)+":"+at(valueColumn, last))
}

// colourWords colours the words of states in a range.
func colourWords(f *excelize.File, tab, list string) error {
	var rules []excelize.ConditionalFormatOptions
	for _, r := range []struct{ word, ink, tone string }{
		{broken, red, redTone}, {advised, amber, amberTo}, {waiting, amber, ""}, {kept, green, ""},
	} {
		style := &excelize.Style{Font: &excelize.Font{Color: r.ink, Bold: true}}
		if r.tone != "" {
			style.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{r.tone}}
		}
		id, err := f.NewConditionalStyle(style)
		if err != nil {
			return err
		}
		rules = append(rules, excelize.ConditionalFormatOptions{Type: "cell", Criteria: "==", Value: `"` + r.word + `"`, Format: &id})
	}
	return f.SetConditionalFormat(tab, list, rules)
}
