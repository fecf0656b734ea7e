package syntax

import (
	"sort"
	"strings"

	"gearleaf/sheet/source"
)

// newRow begins a row; the segments added from then on are its own.
func (p *printer) newRow(l *Lead, g group, indent int) *row {
	p.rows = append(p.rows, row{span: l.Span, group: g, indent: indent, first: len(p.segs), trailing: l.Trailing})
	return &p.rows[len(p.rows)-1]
}

// add appends a segment to the last row.
func (p *printer) add(slot int, gap int, span source.Span, text string) {
	p.segs = append(p.segs, segment{slot: slot, gap: gap, span: span, place: span.Start, text: text, width: width(text)})
	p.rows[len(p.rows)-1].n++
}

// addLines appends a segment that stays unchanged in the source, after head.
func (p *printer) addLines(slot int, gap int, span source.Span, head string) {
	p.segs = append(p.segs, segment{
		slot: slot, gap: gap, span: span, place: span.Start, text: head, lines: true, indent: width(head),
	})
	p.rows[len(p.rows)-1].n++
}

// endRow adds the comment after the last row.
func (p *printer) endRow() {
	r := &p.rows[len(p.rows)-1]
	if r.trailing != nil {
		p.add(slotComment, 2, r.trailing.Span, p.text[r.trailing.Span.Start:r.trailing.Span.End])
	}
}

// severalLinesIn reports whether the line breaks inside span.
func (p *printer) severalLinesIn(span source.Span) bool {
	return strings.Contains(p.text[span.Start:span.End], "\n")
}

// line is a row of one segment.
func (p *printer) line(l *Lead, indent int, text string) {
	p.newRow(l, noGroup, indent)
	if p.severalLinesIn(l.Span) {
		p.addLines(slotHead, 0, l.Span, "")
	} else {
		p.add(slotHead, 0, l.Span, text)
	}
	p.endRow()
}

// worded is a row of a word and the pieces after it.
func (p *printer) worded(l *Lead, g group, indent int, word string, rest []piece) {
	p.newRow(l, g, indent)
	p.add(slotHead, 0, source.Span{Start: l.Span.Start, End: l.Span.Start + int32(len(word))}, word)
	p.pieces(rest)
	p.endRow()
}

// piece is a part of a row before it gets a segment.
type piece struct {
	slot, gap int
	span      source.Span
	text      string
}

// pieces adds list as segments: one of several lines includes all after it.
func (p *printer) pieces(list []piece) {
	if len(list) == 0 {
		return
	}
	whole := list[0].span.To(list[len(list)-1].span)
	if p.severalLinesIn(whole) {
		p.addLines(list[0].slot, list[0].gap, whole, "")
		return
	}
	for _, x := range list {
		p.add(x.slot, x.gap, x.span, x.text)
	}
}

// statement makes the rows of s; lines with errors get none here.
func (p *printer) statement(s Stmt) {
	switch s := s.(type) {
	case *Table:
		p.table(s)
		return
	case *Log:
		p.log(s)
		return
	case *Function:
		p.function(s)
		return
	}
	if p.isBroken(s.Base().Span.Start) {
		return
	}
	switch s := s.(type) {
	case *Version:
		p.line(&s.Lead, 0, p.words(s.Span))
	case *Title:
		p.textLine(&s.TextLine, "title", textGroup)
	case *Caution:
		p.textLine(&s.TextLine, "caution", textGroup)
	case *Note:
		p.textLine(&s.TextLine, "note", textGroup)
	case *Section:
		p.textLine(&s.TextLine, "section", noGroup)
		p.rows[len(p.rows)-1].sectional = true
	case *Cell:
		p.cell(s, 0)
	case *Limit:
		p.limit(s)
	case *Chart:
		p.chart(s)
	case *Correlate:
		p.correlate(s)
	case *UnitDecl:
		p.unitDecl(s)
	case *Use:
		p.line(&s.Lead, 0, "use "+p.source(s.Path.Span))
	}
}

func (p *printer) source(s source.Span) string { return p.text[s.Start:s.End] }

// words returns the words in span with one blank between.
func (p *printer) words(s source.Span) string { return strings.Join(strings.Fields(p.source(s)), " ") }

func (p *printer) formula(e Expr) string { return string(p.expr(nil, e, 0)) }

func (p *printer) textLine(t *TextLine, word string, g group) {
	p.worded(&t.Lead, g, 0, word, []piece{{slotValue, 1, t.Text.Span, p.source(t.Text.Span)}})
}

func (p *printer) limit(l *Limit) {
	word := "limit"
	if l.Advise {
		word = "advise"
	}
	p.worded(&l.Lead, limitGroup, 0, word, p.condition(l.Cond, l.Message))
}

func (p *printer) condition(cond Expr, message *Str) []piece {
	list := []piece{p.exprPiece(slotValue, 1, cond)}
	if message != nil {
		list = append(list, piece{slotStart, 2, message.Span, p.source(message.Span)})
	}
	return list
}

// exprPiece writes e, unless it has several lines and stays unchanged.
func (p *printer) exprPiece(slot, gap int, e Expr) piece {
	span := e.Pos()
	if p.severalLinesIn(span) {
		return piece{slot, gap, span, ""}
	}
	return piece{slot, gap, span, p.formula(e)}
}

func (p *printer) chart(c *Chart) {
	title := piece{slotValue, 1, c.Title.Span, p.source(c.Title.Span)}
	x := p.wordBefore(c.X.Pos())
	y := p.wordBefore(c.Y[0].Pos())
	last := c.Y[len(c.Y)-1].Pos()
	list := string(p.list(nil, c.Y))
	p.worded(&c.Lead, noGroup, 0, "chart", []piece{
		title,
		{slotStart, 2, x.To(c.X.Pos()), "x " + p.formula(c.X)},
		{slotRange, 2, y.To(last), "y " + list},
	})
}

// wordBefore returns the place of the word that is before s.
func (p *printer) wordBefore(s source.Span) source.Span {
	end := s.Start
	for strings.ContainsRune(" \t\r\n", rune(p.text[end-1])) {
		end--
	}
	start := end
	for start > 0 && (class[p.text[start-1]] == classLower || class[p.text[start-1]] == classUpper) {
		start--
	}
	return source.Span{Start: start, End: end}
}

func (p *printer) correlate(c *Correlate) {
	text := string(p.list(nil, []Expr{c.A, c.B})) + " " + p.formula(c.Value)
	list := []piece{{slotValue, 1, c.A.Pos().To(c.Value.Pos()), text}}
	if c.Label != nil {
		list = append(list, piece{slotStart, 2, c.Label.Span, p.source(c.Label.Span)})
	}
	p.worded(&c.Lead, noGroup, 0, "correlate", list)
}

func (p *printer) unitDecl(u *UnitDecl) {
	text := "unit " + p.source(u.Name.Span)
	if u.Value != nil {
		text += " = " + p.formula(u.Value)
	}
	p.line(&u.Lead, 0, text)
}

// cell makes the row of a cell, a column or a step.
func (p *printer) cell(c *Cell, indent int) {
	if p.isBroken(c.Span.Start) {
		return
	}
	p.newRow(&c.Lead, cellGroup, indent)
	name, nameSpan := c.Name.Text, c.Name.Span
	if c.Column.Text != "" {
		name += "." + c.Column.Text + "[" + p.formula(c.Entry) + "]"
	}
	p.add(slotHead, 0, nameSpan, name)
	sign := ": "
	if !c.Given {
		sign = "= "
	}
	list := p.cellPieces(c)
	whole := list[0].span.To(list[len(list)-1].span)
	if p.severalLinesIn(whole) {
		p.addLines(slotValue, 1, whole, sign)
	} else {
		list[0].text = sign + list[0].text
		for _, x := range join(list) {
			p.add(x.slot, x.gap, x.span, x.text)
		}
	}
	p.segs[p.rows[len(p.rows)-1].first+1].place = p.skipBack(whole.Start) - 1
	p.endRow()
}

// cellPieces returns a cell's value and clauses in the order of the text.
func (p *printer) cellPieces(c *Cell) []piece {
	list := make([]piece, 1, 6)
	list[0] = p.cellValue(c)
	if c.Clauses != noClauses {
		list = p.clausePieces(list, c.Clauses)
	}
	if c.Start != nil {
		list = append(list, p.keyed(slotStart, 2, "start ", p.exprPiece(0, 0, c.Start)))
	}
	sort.SliceStable(list[1:], func(i, j int) bool { return list[1+i].span.Start < list[1+j].span.Start })
	return list
}

func (p *printer) cellValue(c *Cell) piece {
	switch {
	case !c.Given:
		return p.exprPiece(slotValue, 1, c.Formula)
	case c.From != nil:
		x := p.keyed(slotValue, 1, "from ", piece{span: c.From.Span, text: p.source(c.From.Span)})
		if c.FromUnit != nil {
			x.text += " " + p.source(c.FromUnit.Span)
			x.span.End = c.FromUnit.Span.End
		}
		return x
	}
	return p.literals(slotValue, 1, c.Values)
}

// literals writes a list of values.
func (p *printer) literals(slot, gap int, values []Expr) piece {
	span := values[0].Pos().To(values[len(values)-1].Pos())
	if p.severalLinesIn(span) {
		return piece{slot, gap, span, ""}
	}
	return piece{slot, gap, span, string(p.list(nil, values))}
}

// keyed puts the word of a clause before x.
func (p *printer) keyed(slot, gap int, word string, x piece) piece {
	return piece{slot, gap, p.wordBefore(x.span).To(x.span), word + x.text}
}

func (p *printer) clausePieces(list []piece, l *Clauses) []piece {
	if l.Tolerance != nil {
		list = append(list, p.tolerance(l.Tolerance))
	}
	if l.Deviation != nil {
		list = append(list, p.keyed(slotValue, 1, "sd ", p.exprPiece(0, 0, l.Deviation)))
	}
	if l.Range != nil {
		text := p.formula(l.Range.Lo) + ".." + p.formula(l.Range.Hi)
		list = append(list, p.keyed(slotRange, 2, "range ", piece{span: l.Range.Span, text: text}))
	}
	if l.Choice != nil {
		list = append(list, p.keyed(slotRange, 2, "choice ", p.literals(0, 0, l.Choice)))
	}
	if l.As != nil {
		list = append(list, p.keyed(slotAs, 2, "as ", piece{span: l.As.Span, text: p.source(l.As.Span)}))
	}
	if l.To != nil {
		list = append(list, p.keyed(slotAs, 2, "to ", p.exprPiece(0, 0, l.To)))
	}
	if l.Label != nil {
		list = append(list, piece{slotLabel, 2, l.Label.Span, p.source(l.Label.Span)})
	}
	return list
}

// tolerance writes `± q` with the sign that is there.
func (p *printer) tolerance(n *Number) piece {
	end := n.Span.Start
	for class[p.text[end-1]] == classBlank {
		end--
	}
	sign := "±"
	if p.text[end-1] == '-' {
		sign = "+/-"
	}
	span := source.Span{Start: end - int32(len(sign)), End: n.Span.End}
	return piece{slotValue, 1, span, sign + " " + p.formula(n)}
}

// join assigns slots to the clauses in list: the first clauses of adjacent
// lines share a column, the second ones the next, regardless of their kind.
// Pieces that belong to the value or to the clause before are joined to it.
func join(list []piece) []piece {
	out, free, before := list[:1], slotStart, list[0].slot
	for _, x := range list[1:] {
		last := &out[len(out)-1]
		kind := x.slot
		switch {
		case kind == slotLabel, kind == slotValue && last.slot == slotHead:
			out = append(out, x)
		case kind == slotValue && last.slot == slotValue, kind == slotAs && before == slotAs:
			last.text += " " + x.text
			last.span.End = x.span.End
		case free <= slotAs:
			x.slot, x.gap = free, 2
			free++
			out = append(out, x)
		default:
			last.text += "  " + x.text
			last.span.End = x.span.End
		}
		before = kind
	}
	return out
}
