package syntax

import (
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// ReplaceValue returns the text of w with text in the place of the given value
// number entry of c, a cell of w or one of GridColumns. Every byte that does
// not belong to the value stays: a bare number in text keeps the existing unit,
// and in a grid, whose head has the unit, only the number is replaced. If the
// unit changes, numbers that shared the old one get it explicitly. The text is
// returned unchanged if c has no such value.
func ReplaceValue(w *Worksheet, c *Cell, entry int, text string) string {
	if entry < 0 || entry >= len(c.Values) {
		return w.File.Text
	}
	text = strings.TrimSpace(text)
	span := c.Values[entry].Pos()
	old, _ := c.Values[entry].(*Number)
	parsed, list := ParseQuantity(text)
	fresh, _ := parsed.(*Number)
	if fresh == nil || list.Errors() {
		return diag.Apply(w.File.Text, []diag.Edit{{Span: span, New: text}})
	}
	digits := strings.TrimSpace(text)
	if fresh.Unit != nil {
		digits = strings.TrimSpace(text[:fresh.Unit.Span.Start])
	}
	switch {
	case InGrid(c):
		return diag.Apply(w.File.Text, []diag.Edit{{Span: span, New: digits}})
	case old == nil:
		return diag.Apply(w.File.Text, []diag.Edit{{Span: span, New: text}})
	}
	shared := sharedUnit(c)
	same := fresh.Unit == nil || fresh.Unit.Text == shared
	if same && (old.Unit == nil || old.Unit.Text == shared) {
		return diag.Apply(w.File.Text, []diag.Edit{{Span: digitsOf(w.File.Text, old), New: digits}})
	}
	edits := []diag.Edit{{Span: span, New: text}}
	if old.Unit != nil && entry == len(c.Values)-1 {
		edits = append(edits, spellOut(c, old)...)
	}
	return diag.Apply(w.File.Text, edits)
}

// sharedUnit is the unit of the numbers of c that have none: the unit of the
// last value.
func sharedUnit(c *Cell) string {
	if n, ok := c.Values[len(c.Values)-1].(*Number); ok && n.Unit != nil {
		return n.Unit.Text
	}
	return ""
}

// UnitOf returns the unit of value number entry of c: its own, else the shared
// one; empty for none.
func UnitOf(c *Cell, entry int) string {
	if n, ok := c.Values[entry].(*Number); ok && n.Unit != nil {
		return n.Unit.Text
	}
	return sharedUnit(c)
}

// digitsOf returns the place in text of n without its unit and the blank
// before that.
func digitsOf(text string, n *Number) source.Span {
	if n.Unit == nil {
		return n.Span
	}
	end := n.Unit.Span.Start
	for end > n.Span.Start && class[text[end-1]] == classBlank {
		end--
	}
	return source.Span{Start: n.Span.Start, End: end}
}

// spellOut adds the unit of old after the numbers of c that share it.
func spellOut(c *Cell, old *Number) []diag.Edit {
	var edits []diag.Edit
	add := func(e Expr) {
		if n, ok := e.(*Number); ok && n != nil && n != old && n.Unit == nil {
			edits = append(edits, diag.Edit{Span: source.Span{Start: n.Span.End, End: n.Span.End}, New: " " + old.Unit.Text})
		}
	}
	for _, v := range c.Values {
		add(v)
	}
	for _, v := range c.Choice {
		add(v)
	}
	if c.Range != nil {
		add(c.Range.Lo)
		add(c.Range.Hi)
	}
	add(c.Tolerance)
	add(c.Deviation)
	if c.As == nil {
		add(c.To)
	}
	return edits
}
