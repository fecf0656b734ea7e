package export

import (
	"strconv"
	"strings"
	"unicode"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
	"gearleaf/sheet/source"
)

// writeWorked writes the tab that shows how each value is computed: the
// worksheet's own formula, its unit, its place and its sources.
func (wb *workbook) writeWorked() error {
	if err := wb.page(workedTab, true, "$2:$2"); err != nil {
		return err
	}
	out, err := wb.stream(workedTab)
	if err != nil {
		return err
	}
	for i, width := range []float64{28, 62, 12, 34, 60} {
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 2, TopLeftCell: "A3", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	s := &wb.styles
	row := 0
	write := func(height float64, cells ...any) error {
		row++
		return out.SetRow(at(1, row), cells, excelize.RowOpts{Height: height})
	}
	if err := write(26, head(s, workedTab, titleLook)); err != nil {
		return err
	}
	var heads []any
	for _, h := range []string{"Name", "As the worksheet says it", "Unit", "What it is", "Where it comes from"} {
		heads = append(heads, excelize.Cell{Value: h, StyleID: s.of(blockLook, "", true)})
	}
	if err := write(18, heads...); err != nil {
		return err
	}
	for _, e := range wb.explanations() {
		height := max(linesFor(e.formula, 62), linesFor(e.what, 36), linesFor(e.from, 64))
		err := write(height, head(s, e.name, labelLook), head(s, e.formula, codeLook), head(s, e.unit, unitLook),
			head(s, e.what, labelLook), head(s, e.from, remarkLook))
		if err != nil {
			return err
		}
	}
	return out.Flush()
}

// explanation is one row of that tab.
type explanation struct{ name, formula, unit, what, from string }

func (wb *workbook) explanations() []explanation {
	var all []explanation
	for item := range wb.m.Outline() {
		switch {
		case item.Cell != nil && !item.Cell.Plugged:
			all = append(all, wb.explain(item.Cell.Name, &item.Cell.Quantity))
		case item.Table != nil:
			for _, c := range item.Table.Columns {
				e := wb.explain(item.Table.Name+"."+c.Name, &c.Quantity)
				if decl := c.Decl(); c.Start != 0 && decl != nil && decl.Start != nil {
					e.formula += "\nfirst row: " + wb.slice(&c.Quantity, decl.Start)
				}
				all = append(all, e)
			}
		}
	}
	return all
}

func (wb *workbook) explain(name string, q *check.Quantity) explanation {
	e := explanation{name: clean(name), unit: symbol(q.Unit), what: clean(label(q))}
	if q.Origin.Note != "" {
		e.what += "\n" + clean(q.Origin.Note)
	}
	if q.Given {
		e.formula = "entered"
	} else if decl := q.Decl(); decl != nil && decl.Formula != nil {
		e.formula = clean(wb.slice(q, decl.Formula))
	}
	e.from = clean(strings.Join(wb.sources(q.Formula), "\n"))
	return e
}

// sources returns what the functions of a formula cite, each once, in the
// order in which they are called.
func (wb *workbook) sources(id check.NodeID) []string {
	var found []string
	seen := map[*check.Instance]bool{}
	var look func(id check.NodeID)
	look = func(id check.NodeID) {
		wb.walk(id, func(n *check.Node) {
			if n.Op != check.Call || seen[wb.m.Instances[n.Ref()]] {
				return
			}
			inst := wb.m.Instances[n.Ref()]
			seen[inst] = true
			if text := cited(inst); text != "" {
				found = append(found, text)
			}
			for _, step := range inst.Steps {
				look(step)
			}
			look(inst.Result)
		})
	}
	look(id)
	return found
}

func cited(inst *check.Instance) string {
	decl := inst.Decl()
	if decl == nil {
		return ""
	}
	var parts []string
	for _, s := range decl.Sources {
		parts = append(parts, s.Text)
	}
	if decl.Meaning != nil && len(parts) == 0 {
		parts = append(parts, decl.Meaning.Text)
	}
	if len(parts) == 0 {
		return ""
	}
	return inst.Name + ": " + strings.Join(parts, "; ")
}

// writeSteps writes the tab that holds parts of formulas.
func (wb *workbook) writeSteps() error {
	if len(wb.steps) == 0 {
		return nil
	}
	return wb.writeScalarSteps()
}

const stepsRemark = "Parts of formulas that are used more than once or would make one too long. Values are in SI units or in the unit of the column they read."

func (wb *workbook) writeScalarSteps() error {
	tab := unquoted(wb.stepsTab)
	if err := wb.protect(tab); err != nil {
		return err
	}
	if err := wb.page(tab, false, "$4:$4"); err != nil {
		return err
	}
	out, err := wb.stream(tab)
	if err != nil {
		return err
	}
	for i, width := range []float64{60, 24} {
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	s := &wb.styles
	rows := [][]any{
		{head(s, "Steps", titleLook)},
		{excelize.Cell{Value: stepsRemark, StyleID: s.of(rowLook, "", true)}},
		nil,
		{excelize.Cell{Value: "What", StyleID: s.of(blockLook, "", true)}, head(s, "Value", blockRightLook)},
	}
	for i, step := range wb.steps {
		rows = append(rows, []any{
			head(s, clean(step.what), labelLook),
			excelize.Cell{Formula: arrayText(step.array) + place(step.text, wb.stepsTab, stepsHead+i+1), StyleID: s.of(shutLook, step.format, false)},
		})
	}
	wb.report.Steps += len(wb.steps)
	for i, cells := range rows {
		if err := out.SetRow(at(1, i+1), cells, titleHeight(i)); err != nil {
			return err
		}
	}
	return out.Flush()
}

// titleHeight gives the first row of a tab of steps room for its title.
func titleHeight(i int) excelize.RowOpts {
	if i == 0 {
		return excelize.RowOpts{Height: 26}
	}
	return excelize.RowOpts{}
}

func arrayText(array bool) string {
	if array {
		return string(arrayMark)
	}
	return ""
}

// writeSource keeps the worksheet's text, a line a row, out of sight: what a
// reader needs to make the worksheet again from the workbook.
func (wb *workbook) writeSource() error {
	out, err := wb.stream(sourceTab)
	if err != nil {
		return err
	}
	row := 0
	for _, tree := range wb.m.Files {
		file := tree.File
		for i := range file.Lines() {
			row++
			cells := []any{file.Name}
			for text := keptLine(file, i); ; {
				part := cutRunes(text, maxCell)
				cells = append(cells, part)
				text = text[len(part):]
				if text == "" {
					break
				}
			}
			if err := out.SetRow(at(1, row), cells); err != nil {
				return err
			}
		}
	}
	for i, mark := range wb.marks() {
		if err := out.SetRow(at(1, row+2+i), []any{mark[0], mark[1]}); err != nil {
			return err
		}
	}
	return out.Flush()
}

// keptLine returns a line as it is kept. A line that a spreadsheet might
// change, such as one that ends with a carriage return, is kept in quotes.
func keptLine(file *source.File, i int) string {
	text := file.Slice(file.Line(i))
	if end := file.Line(i).End; int(end) < len(file.Text) && file.Text[end] == '\r' {
		text += "\r"
	}
	plain := !strings.HasPrefix(text, `"`) && !strings.Contains(text, "_x") && strings.TrimRightFunc(text, unicode.IsSpace) == text
	for _, r := range text {
		plain = plain && (r == ' ' || unicode.IsGraphic(r))
	}
	if plain {
		return text
	}
	return strconv.QuoteToGraphic(text)
}

// maxCell is how many characters a cell holds.
const maxCell = 32767
