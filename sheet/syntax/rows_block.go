package syntax

import (
	"sort"
	"strings"

	"gearleaf/sheet/source"
)

// blockIndent is the indentation of a block's lines.
const blockIndent = 2

// table makes the rows of a table.
func (p *printer) table(t *Table) {
	if !p.isBroken(t.Span.Start) {
		p.tableHead(t)
	}
	if t.Grid != nil {
		p.grid(t.Grid)
	}
	for _, c := range t.Columns {
		p.cell(c, blockIndent)
	}
}

func (p *printer) tableHead(t *Table) {
	p.newRow(&t.Lead, noGroup, 0)
	head := "table " + t.Name.Text
	span := source.Span{Start: t.Span.Start, End: t.Name.Span.End}
	list := append([]piece{{slotHead, 0, span, head}}, p.tableClauses(t)...)
	if p.severalLinesIn(t.Span) {
		p.addLines(slotHead, 0, t.Span, "")
	} else {
		for _, x := range join(list) {
			p.add(x.slot, x.gap, x.span, x.text)
		}
	}
	p.endRow()
}

// tableClauses returns the clauses after a table's name, in the order of the
// text.
func (p *printer) tableClauses(t *Table) []piece {
	var list []piece
	if t.Rows != nil {
		list = append(list, p.keyed(slotValue, 1, "rows ", p.exprPiece(0, 0, t.Rows)))
	}
	if t.From != nil {
		list = append(list, p.keyed(slotValue, 1, "from ", piece{span: t.From.Span, text: p.source(t.From.Span)}))
	}
	if t.Until != nil {
		list = append(list, p.keyed(slotAs, 2, "until ", p.exprPiece(0, 0, t.Until)))
	}
	if t.Label != nil {
		list = append(list, piece{slotLabel, 2, t.Label.Span, p.source(t.Label.Span)})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].span.Start < list[j].span.Start })
	return list
}

// function makes the rows of a function.
func (p *printer) function(f *Function) {
	if !p.isBroken(f.Span.Start) {
		p.line(&f.Lead, 0, p.functionHead(f))
	}
	low := len(p.rows)
	p.functionBody(f)
	body := p.rows[low:]
	sort.SliceStable(body, func(i, j int) bool { return body[i].span.Start < body[j].span.Start })
}

func (p *printer) functionHead(f *Function) string {
	var b strings.Builder
	b.WriteString("function " + f.Name.Text + "(")
	for i, x := range f.Params {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(x.Name.Text)
		if x.Unit != nil {
			b.WriteString(": " + p.source(x.Unit.Span))
		}
	}
	b.WriteString(")")
	if f.Result != nil {
		b.WriteString(" as " + p.source(f.Result.Span))
	}
	return b.String()
}

// functionBody makes the rows of a body, kind by kind.
func (p *printer) functionBody(f *Function) {
	if f.Meaning != nil && !p.isBroken(f.Meaning.Span.Start) {
		lead := p.lead(f.Meaning.Span)
		p.line(&lead, blockIndent, p.source(f.Meaning.Span))
	}
	for _, s := range f.Sources {
		if !p.isBroken(s.Span.Start) {
			p.bodyLine("source", piece{slotValue, 1, s.Span, p.source(s.Span)})
		}
	}
	for _, e := range f.Example {
		if !p.isBroken(e.Pos().Start) {
			p.bodyLine("example", p.exprPiece(slotValue, 1, e))
		}
	}
	for _, v := range f.Valid {
		if !p.isBroken(v.Span.Start) {
			p.worded(&v.Lead, bodyGroup, blockIndent, "valid", p.condition(v.Cond, v.Message))
		}
	}
	for _, c := range f.Steps {
		p.cell(c, blockIndent)
	}
	if _, bad := f.Body.(*BadExpr); !bad && !p.isBroken(f.Body.Pos().Start) {
		p.result(f.Body)
	}
}

// result makes the row of the last line of a function.
func (p *printer) result(e Expr) {
	x := p.exprPiece(slotHead, 0, e)
	start := p.skipBack(x.span.Start) - 1
	lead := p.lead(source.Span{Start: start, End: x.span.End})
	p.newRow(&lead, noGroup, blockIndent)
	if p.severalLinesIn(x.span) {
		p.addLines(slotHead, 0, x.span, "= ")
	} else {
		p.add(slotHead, 0, lead.Span, "= "+x.text)
	}
	p.endRow()
}

// skipBack returns the end of the text before i, without trailing blanks.
func (p *printer) skipBack(i int32) int32 {
	for i > 1 && class[p.text[i-1]] == classBlank {
		i--
	}
	return i
}

// bodyLine makes a row of a word and a piece whose place is not in the tree.
func (p *printer) bodyLine(word string, x piece) {
	lead := p.lead(p.wordBefore(x.span).To(x.span))
	p.worded(&lead, bodyGroup, blockIndent, word, []piece{x})
}

// lead returns a Lead for the statement in span with the comment after it.
func (p *printer) lead(span source.Span) Lead {
	l := Lead{Span: span, Remarks: noRemarks}
	end := p.lineEnd(span.End)
	if at := strings.IndexByte(p.text[span.End:end], '#'); at >= 0 {
		start := span.End + int32(at)
		text := strings.TrimRight(p.text[start:end], " \t")
		l.Remarks = &Remarks{Trailing: &Comment{Span: source.Span{Start: start, End: start + int32(len(text))}}}
	}
	return l
}

// grid makes the rows of a grid, bars under each other.
func (p *printer) grid(g *Grid) {
	lines := p.gridTexts(g)
	if !p.neat(g) {
		for i := range g.Head {
			alignNumbers(g, lines, i)
		}
	}
	widths := columnWidths(lines)
	if !p.isBroken(g.Span.Start) {
		head := source.Span{Start: g.Span.Start, End: p.lastBar(g.Span.Start)}
		p.gridRow(head, g.Trailing, lines[0], widths)
	}
	for i, r := range g.Rows {
		if !p.isBroken(r.Span.Start) {
			p.gridRow(r.Span, r.Trailing, lines[i+1], widths)
		}
	}
}

// gridTexts returns the texts of the head and of all rows, empty for lines with
// errors.
func (p *printer) gridTexts(g *Grid) [][]string {
	lines := make([][]string, len(g.Rows)+1)
	lines[0] = make([]string, len(g.Head))
	for i, h := range g.Head {
		if p.isBroken(g.Span.Start) {
			break
		}
		lines[0][i] = h.Name.Text
		if h.Unit != nil {
			lines[0][i] += " " + p.source(h.Unit.Span)
		}
	}
	for j, r := range g.Rows {
		lines[j+1] = make([]string, len(g.Head))
		if p.isBroken(r.Span.Start) {
			continue
		}
		for i, f := range r.Fields {
			lines[j+1][i] = p.source(f.Pos())
		}
	}
	return lines
}

// lastBar returns the end of the row of bars that begins at start.
func (p *printer) lastBar(start int32) int32 {
	end := p.lineEnd(start)
	q := parser{text: p.text}
	at := int(start) + 1
	last := at
	for {
		bar, closed := q.fieldEnd(at)
		if !closed || bar >= int(end) {
			return int32(last)
		}
		at = bar + 1
		last = at
	}
}

func (p *printer) gridRow(span source.Span, trailing *Comment, fields []string, widths []int) {
	lead := Lead{Span: span, Remarks: &Remarks{Trailing: trailing}}
	p.newRow(&lead, gridGroup, blockIndent)
	var b strings.Builder
	b.WriteByte('|')
	for i, text := range fields {
		b.WriteString(" " + text + strings.Repeat(" ", widths[i]-width(text)) + " |")
	}
	p.add(slotHead, 0, span, b.String())
	p.endRow()
}

func columnWidths(lines [][]string) []int {
	widths := make([]int, len(lines[0]))
	for _, line := range lines {
		for i, text := range line {
			widths[i] = max(widths[i], width(text))
		}
	}
	return widths
}

// neat reports whether the fields of g are already left-aligned, by the
// author's own formatting.
func (p *printer) neat(g *Grid) bool {
	starts := make([]int32, len(g.Head))
	for i, h := range g.Head {
		starts[i] = h.Name.Span.Start
	}
	want := p.columnsOf(starts)
	for _, r := range g.Rows {
		for i, f := range r.Fields {
			starts[i] = f.Pos().Start
		}
		have := p.columnsOf(starts)
		for i, f := range r.Fields {
			if _, empty := f.(*Empty); !empty && have[i] != want[i] {
				return false
			}
		}
	}
	return true
}

// columnsOf returns the columns of places that follow each other on a line.
func (p *printer) columnsOf(places []int32) []int {
	columns := make([]int, len(places))
	for i, at := range places {
		if i == 0 {
			columns[0] = p.columnOf(at)
		} else {
			columns[i] = columns[i-1] + width(p.text[places[i-1]:at])
		}
	}
	return columns
}

// alignNumbers pads the numbers of column i to align their decimal points.
func alignNumbers(g *Grid, lines [][]string, i int) {
	whole := 0
	for j, r := range g.Rows {
		if _, ok := r.Fields[i].(*Number); ok {
			whole = max(whole, wholeDigits(lines[j+1][i]))
		}
	}
	for j, r := range g.Rows {
		if _, ok := r.Fields[i].(*Number); ok {
			lines[j+1][i] = strings.Repeat(" ", whole-wholeDigits(lines[j+1][i])) + lines[j+1][i]
		}
	}
}

// wholeDigits returns the number of characters before the point of a number.
func wholeDigits(number string) int {
	if i := strings.IndexAny(number, ".eE"); i >= 0 {
		return i
	}
	return len(number)
}
