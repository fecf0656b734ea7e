package syntax

import (
	"fmt"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// splitRow returns the places of the fields of the row at p.pos, without
// blanks, and moves past its last bar.
func (p *parser) splitRow() []source.Span {
	p.fields = p.fields[:0]
	start := p.pos
	at := p.pos + 1
	for {
		end, closed := p.fieldEnd(at)
		if !closed && strings.TrimSpace(p.text[at:end]) == "" && len(p.fields) > 0 {
			p.pos = end
			return p.fields
		}
		p.fields = append(p.fields, p.trim(at, end))
		if !closed {
			p.pos = end
			last := p.fields[len(p.fields)-1].End
			p.report(diag.GridBar, source.Span{Start: int32(start), End: int32(start + 1)}, "this row ends without a bar", "", insert(last, " |"))
			return p.fields
		}
		at = end + 1
	}
}

// fieldEnd returns the place of the bar that ends the field at i, or the end
// of the line and false. Bars in a quoted text do not count, unless the quote
// is never closed.
func (p *parser) fieldEnd(i int) (int, bool) {
	quoted, opened := false, 0
	for ; i < len(p.text) && p.text[i] != '\n'; i++ {
		switch c := p.text[i]; {
		case c == '\r' && p.at(i+1) == '\n':
		case c == '"':
			quoted, opened = !quoted, i
		case quoted:
		case c == '#':
			return i, false
		case c == '|':
			return i, true
		}
	}
	if bar := strings.IndexByte(p.text[opened:i], '|'); quoted && bar >= 0 {
		return opened + bar, true
	}
	if p.text[i-1] == '\r' && i < len(p.text) {
		i--
	}
	return i, false
}

func (p *parser) trim(at, end int) source.Span {
	for at < end && class[p.text[at]] == classBlank {
		at++
	}
	for end > at && class[p.text[end-1]] == classBlank {
		end--
	}
	return source.Span{Start: int32(at), End: int32(end)}
}

// gridHead reads the heads of a grid's columns.
func (p *parser) gridHead(fields []source.Span) []GridHead {
	heads := make([]GridHead, len(fields))
	end := p.pos
	for i, f := range fields {
		heads[i] = p.oneHead(f)
	}
	p.pos = end
	return heads
}

// oneHead reads `duration s`.
func (p *parser) oneHead(f source.Span) GridHead {
	failed := p.failed
	p.failed = false
	defer func() { p.failed = failed }()
	h := GridHead{Name: Name{Span: f}}
	end := p.wordEnd(int(f.Start))
	if end == int(f.Start) || end > int(f.End) || isDigit(p.text[f.Start]) {
		p.headForm(f)
		return h
	}
	h.Name = p.headName(f.Start, end)
	at := p.skip(end)
	if at >= int(f.End) {
		return h
	}
	if !p.unitStarts(at) && p.text[at] != '1' {
		p.headForm(f)
		return h
	}
	span, text := p.scanUnit(at)
	if span.End != f.End {
		p.headForm(f)
		return h
	}
	h.Unit = p.newUnit(span, text)
	return h
}

// headName reads the name in a head.
func (p *parser) headName(start int32, end int) Name {
	p.tok = token{kind: tokName}
	p.pos = int(start)
	p.next()
	if p.tok.kind != tokName || p.pos != end {
		span := source.Span{Start: start, End: int32(end)}
		p.headForm(span)
		return Name{Span: span, Text: p.file.Slice(span)}
	}
	return p.cellName()
}

func (p *parser) headForm(f source.Span) {
	p.report(diag.GridHead, f, fmt.Sprintf("found %q in the head of a grid", clip(p.file.Slice(f))), "the head of a column is a name and, where there is one, its unit: duration s")
}

// gridRow reads the fields of a row.
func (p *parser) gridRow(g *Grid, fields []source.Span) {
	start := int32(p.pos)
	if len(fields) > 0 {
		start = p.barBefore(fields[0].Start)
	}
	if p.ruleRow(fields) {
		line := p.file.Line(p.file.LineOf(start))
		p.report(diag.GridRule, source.Span{Start: start, End: fields[len(fields)-1].End}, "a grid has no line below its head", "", replace(source.Span{Start: line.Start, End: int32(p.lineAfter(int(line.Start)))}, ""))
		return
	}
	low := len(p.scratch)
	for _, f := range fields {
		p.scratch = append(p.scratch, p.field(f))
	}
	p.fitRow(g, low, start)
	g.Rows = append(g.Rows, GridRow{Span: source.Span{Start: start}, Fields: p.lists.list(p.scratch[low:])})
	p.scratch = p.scratch[:low]
}

// barBefore returns the place of the bar before i.
func (p *parser) barBefore(i int32) int32 {
	for i--; p.text[i] != '|'; i-- {
	}
	return i
}

// fitRow makes the row on the scratch as wide as the head, and reports a
// different width.
func (p *parser) fitRow(g *Grid, low int, start int32) {
	have, want := len(p.scratch)-low, len(g.Head)
	if have == want {
		return
	}
	p.report(diag.GridWidth, source.Span{Start: start, End: int32(p.pos)}, "this row has "+count(have, "field")+"; the head has "+count(want, "column"), "an empty field is written as two bars with a blank between")
	for ; have < want; have++ {
		p.scratch = append(p.scratch, &Empty{source.Span{Start: int32(p.pos), End: int32(p.pos)}})
	}
	p.scratch = p.scratch[:low+want]
}

// ruleRow reports whether all fields are lines of hyphens.
func (p *parser) ruleRow(fields []source.Span) bool {
	for _, f := range fields {
		if f.Len() < 2 || strings.Trim(p.file.Slice(f), "-:") != "" {
			return false
		}
	}
	return len(fields) > 0
}

// field reads one field of a row: a number, a text with or without quotes,
// yes, no or nothing.
func (p *parser) field(f source.Span) Expr {
	text := p.file.Slice(f)
	switch {
	case text == "":
		e := p.empties.one()
		e.Span = f
		return e
	case text == "yes" || text == "no":
		t := p.truths.one()
		t.Span, t.Value = f, text == "yes"
		return t
	case text[0] == '"':
		return p.quotedField(f, text)
	}
	digits := text
	if digits[0] == '-' || digits[0] == '+' {
		digits = digits[1:]
	}
	if n := numberEnd(digits, 0); n > 0 {
		return p.numberField(f, text, digits, n)
	}
	return p.wordField(f, text)
}

// quotedField reads a field that begins with a quote.
func (p *parser) quotedField(f source.Span, text string) Expr {
	inner := text[1:]
	if len(inner) == 0 || inner[len(inner)-1] != '"' || strings.Contains(strings.ReplaceAll(inner[:len(inner)-1], `""`, ""), `"`) {
		p.report(diag.QuoteOpen, f, "this text is not closed, or continues after its quote", "")
		return &Empty{f}
	}
	p.checkField(f)
	t := p.texts.one()
	t.Span, t.Value = f, strings.ReplaceAll(inner[:len(inner)-1], `""`, `"`)
	return t
}

// numberField reads a field that begins with a number, n bytes of digits.
func (p *parser) numberField(f source.Span, text, digits string, n int) Expr {
	if n == len(digits) {
		e := p.numbers.one()
		e.Span = f
		e.Value = p.float(int(f.End)-n, int(f.End))
		if text[0] == '-' {
			e.Value = -e.Value
		}
		return e
	}
	p.oddField(f, text, digits[n:])
	return &Empty{f}
}

// oddField reports a field that begins with a number, followed by rest.
func (p *parser) oddField(f source.Span, text, rest string) {
	number := source.Span{Start: f.Start, End: f.End - int32(len(rest))}
	if rest[0] == ',' && strings.Trim(rest, ",0123456789") == "" && isDigit(rest[len(rest)-1]) {
		digits := source.Span{Start: f.Start, End: f.End}
		if !isDigit(p.text[f.Start]) {
			digits.Start++
		}
		p.reportComma(digits, false)
		return
	}
	repairs := []diag.Repair{replace(f, Quote(text)), replace(f, p.file.Slice(number))}
	if class[rest[0]] == classBlank {
		repairs[0], repairs[1] = repairs[1], repairs[0]
	}
	p.report(diag.GridField, f, fmt.Sprintf("found %q in a field that begins like a number", clip(text)), "write the unit in the head of the column, and a text that begins with a digit in quotes", repairs...)
}

// wordField reads a text without quotes.
func (p *parser) wordField(f source.Span, text string) Expr {
	if strings.Contains(text, `"`) {
		p.report(diag.QuoteOpen, f, "there is a quote inside a text without quotes", "", replace(f, Quote(text)))
	}
	p.checkField(f)
	t := p.texts.one()
	t.Span, t.Value, t.Bare = f, text, true
	return t
}

func (p *parser) checkField(f source.Span) {
	for i := f.Start; i < f.End; i++ {
		if c := p.text[i]; c < ' ' && c != '\t' {
			p.controlCharacter(int(i))
		}
	}
}

// bareWords returns the whole text as a text value.
func (p *parser) bareWords() Expr {
	f := p.trim(0, len(p.text))
	p.checkField(f)
	return &Text{Span: f, Value: p.file.Slice(f), Bare: true}
}

// GridColumns returns the columns that are in the grid of t as given cells,
// their unit in FromUnit, or nil if t has no grid.
func GridColumns(t *Table) []*Cell {
	if t.Grid == nil {
		return nil
	}
	g := t.Grid
	columns := make([]*Cell, len(g.Head))
	for i := range g.Head {
		head := &g.Head[i]
		values := make([]Expr, len(g.Rows))
		for j := range g.Rows {
			values[j] = g.Rows[j].Fields[i]
		}
		columns[i] = &Cell{
			Lead: Lead{Span: head.Name.Span, Remarks: noRemarks}, Name: head.Name, Given: true, Values: values,
			Special: &Special{Head: head, FromUnit: head.Unit}, Clauses: noClauses,
		}
	}
	return columns
}

// InGrid reports whether c is a column that is in a grid.
func InGrid(c *Cell) bool { return c.Special != nil && c.Head != nil }
