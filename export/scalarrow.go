package export

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

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
		if c.Type.Form != check.Truth {
			formula = wb.scalarRef(c)
		}
	case plan.why != "":
		formula, remark = "", "A value, not a formula: "+plan.why
		wb.report.Frozen = append(wb.report.Frozen, Frozen{Cell: c.Name, Why: plan.why})
	case v.IsFault():
		if remark = wb.causeOf(v); remark != "" {
			remark = "When written: " + remark // an entry may change the cause
		}
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
	if plan.rounded && formula != "" {
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
		cell := excelize.Cell{Value: clean(remark), StyleID: s.of(k, "", false)}
		if v.IsFault() && formula != "" {
			cell.Formula = "IF(ISERROR(" + fixed(valueColumn, plan.row) + ")," + quoteText(remark) + `,"")`
		}
		row[remarkColumn-1] = cell
	}
	if l.kind == resultLine {
		written := ""
		if v.IsFault() && remark != "" {
			written = ". " + clean(remark)
		}
		if cause, ok := wb.faultRemark(c, plan.row, v, written); ok {
			if text := cause.Value.(cachedValue).text; utf8.RuneCountInString(text) > remarkLine {
				remark, cause.StyleID = text, s.of(remarkLook, "", false)
			}
			row[remarkColumn-1] = cause
			if written != "" {
				row = append(padded(row, causeColumn-1), head(s, written, lineLook))
			}
		}
	}
	on := wb.nameOn(l, c)
	named := nameLook
	if wrapped(on, nameWidth) > 1 {
		named = remarkLook
	}
	row[nameColumn-1] = excelize.Cell{Value: on, StyleID: s.of(named, "", false)}
	tall := max(heightOf(name, labelWidth), heightOf(remark, remarkWidth), heightOf(on, nameWidth))
	if text {
		tall = max(tall, heightOf(wb.textOf(c), valueWidth+unitWidth-2)) // it is indented
	}
	return row, tall
}

// nameOn returns the name of a scalar. For a given of another sheet that is
// entered on a tab of this one, the title of that sheet is added, because
// labels of several sheets can be equal.
func (wb *workbook) nameOn(l line, c *check.Cell) string {
	if on := wb.cells[c.Index].leaf; l.kind == givenLine && c.Origin.File > 0 && (on == wb.front || on == wb.byFile[0]) {
		return c.Name + ", " + wb.titleOf(c.Origin.File)
	}
	return c.Name
}

// causeOf returns why a value is at fault, as long as it is.
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

// allowed describes the allowed entries.
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
		Cell: cell, Author: "Gearleaf", Width: 320, Height: uint(30 + max(18, int(heightOf(text, 44)*1.2))),
		Paragraph: []excelize.RichTextRun{{Text: text, Font: &excelize.Font{Family: fontName, Size: 10, Color: ink}}},
	})
}
