package syntax

import (
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// cellClauses reads the clauses after a cell's value, in any order.
func (p *parser) cellClauses(c *Cell, where place) {
	for p.tok.kind != tokEnd && !p.failed {
		if c.Label != nil && p.tok.kind != tokText && p.clauseStarts() {
			p.labelLast(c.Label)
		}
		switch {
		case p.tok.kind == tokTolerance:
			p.tolerance(p.clausesOf(c))
		case p.tok.kind == tokText:
			p.label(p.clausesOf(c))
		case p.tok.kind != tokName:
			p.extra()
		case p.tok.word == wordStart:
			p.start(c, where)
		default:
			p.wordClause(c)
		}
	}
}

func (p *parser) clausesOf(c *Cell) *Clauses {
	if c.Clauses == noClauses {
		c.Clauses = p.clauses.one()
	}
	return c.Clauses
}

func (p *parser) clauseStarts() bool {
	switch p.tok.word {
	case wordStart, wordSd, wordRange, wordChoice, wordAs, wordTo:
		return true
	}
	return p.tok.kind == tokTolerance
}

// wordClause reads a clause that begins with a word.
func (p *parser) wordClause(c *Cell) {
	w := p.tok
	switch w.word {
	case wordSd, wordRange, wordChoice, wordAs, wordTo:
	default:
		p.unknownClause(!c.Given)
		return
	}
	l := p.clausesOf(c)
	twice := false
	switch w.word {
	case wordSd:
		twice = l.Deviation != nil || l.Tolerance != nil
		p.next()
		l.Deviation = p.clauseNumber("sd")
	case wordRange:
		twice = l.Range != nil
		p.next()
		l.Range = p.rangeClause()
	case wordChoice:
		twice = l.Choice != nil
		p.next()
		l.Choice = p.choice()
	case wordAs:
		twice = l.As != nil
		l.As = p.asUnit()
	case wordTo:
		twice = l.To != nil
		p.next()
		l.To = p.clauseNumber("to")
	}
	if twice {
		p.twice(w.span, w.text)
	}
}

func (p *parser) twice(span source.Span, what string) {
	help := "remove one of the two"
	if what == "sd" || what == "±" {
		what = "± or sd"
		help = "± gives limits, sd one standard deviation: remove one of the two"
	}
	p.report(diag.ClauseTwice, span, what+" is written twice after this value", help)
}

// tolerance reads `± q`.
func (p *parser) tolerance(l *Clauses) {
	span := p.tok.span
	twice := l.Tolerance != nil || l.Deviation != nil
	p.next()
	l.Tolerance = p.clauseNumber("±")
	if twice {
		p.twice(span, "±")
	}
}

// clauseNumber reads the number after what.
func (p *parser) clauseNumber(what string) *Number {
	var n *Number
	switch p.tok.kind {
	case tokNumber:
		n = p.number()
	case tokMinus, tokPlus:
		n = p.signed()
	}
	if n == nil {
		p.fail(diag.ClauseValue, p.tok.span, "found "+p.found()+" where a number is expected after "+what, clauseHelp(what))
		return nil
	}
	p.decimalComma(n)
	return n
}

// decimalComma reads a comma and decimals after n as if the comma were a decimal
// point.
func (p *parser) decimalComma(n *Number) {
	span, ok := p.tightComma()
	if !ok || span.Start < n.Span.Start || span.Start > n.Span.Start && p.text[span.Start-1] == '.' {
		return
	}
	p.reportComma(span, false)
	digits := p.file.Slice(span)
	if isThousands(digits) {
		digits = strings.ReplaceAll(digits, ",", "")
	}
	value, _ := strconv.ParseFloat(strings.Replace(digits, ",", ".", 1), 64)
	n.Value = math.Copysign(value, n.Value)
	p.pos = int(span.End)
	p.tok = token{kind: tokNumber, span: span}
	p.scanUnitAfter(p.pos)
	p.tok.span.End = int32(p.pos)
	if p.tok.unit != "" {
		n.Unit = p.newUnit(p.tok.unitSpan, p.tok.unit)
	}
	n.Span.End = p.tok.span.End
	p.next()
}

func clauseHelp(what string) string {
	switch what {
	case "to":
		return "to is followed by the step to show: to 0.1"
	case "range":
		return "a range is written: range 15..19"
	case "sd":
		return "sd is followed by one standard deviation: sd 0.5 mm"
	}
	return "± is followed by the limits on either side: ± 6 mm"
}

// rangeClause reads `a..b`.
func (p *parser) rangeClause() *Range {
	r := p.ranges.one()
	lo := p.clauseNumber("range")
	if lo == nil || p.failed {
		return nil
	}
	if p.tok.kind != tokRange {
		p.rangeSign()
	}
	if p.failed {
		return nil
	}
	p.next()
	hi := p.clauseNumber("range")
	if hi == nil {
		return nil
	}
	r.Lo, r.Hi, r.Span = lo, hi, lo.Span.To(hi.Span)
	return r
}

// rangeSign reports a sign other than two points between the ends of a range.
func (p *parser) rangeSign() {
	if p.tok.kind == tokMinus || p.tok.kind == tokName && p.tok.word == wordTo {
		gap := source.Span{Start: p.last, End: int32(p.skip(p.pos))}
		p.report(diag.ClauseValue, p.tok.span, "found "+p.found()+" between the ends of a range", clauseHelp("range"), replace(gap, ".."))
		return
	}
	p.fail(diag.ClauseValue, p.tok.span, "found "+p.found()+" where .. is expected in a range", clauseHelp("range"))
}

// choice reads `a, b, c`.
func (p *parser) choice() []Expr {
	low := len(p.scratch)
	checked := int32(-1)
	first := p.tok.span.Start
	var commas []diag.Edit // where one is missing
	for {
		p.scratch = append(p.scratch, p.choiceValue())
		if p.tok.kind == tokNumber && !p.splitNumber() && !p.mixedFraction() {
			commas = append(commas, diag.Edit{Span: source.Span{Start: p.last, End: p.last}, New: ","})
			continue
		}
		if p.tok.kind != tokComma {
			break
		}
		if p.tok.span.Start > checked {
			checked = p.tightList(true)
		}
		p.next()
		if p.listEnds() {
			break
		}
	}
	if commas != nil {
		p.noCommas(source.Span{Start: first, End: p.last}, commas)
	}
	list := p.lists.list(p.scratch[low:])
	p.scratch = p.scratch[:low]
	if p.failed {
		return nil // half a list would refuse valid values
	}
	return list
}

func (p *parser) choiceValue() Expr {
	if p.tok.kind == tokName && p.tok.word == noWord {
		bad := &BadExpr{p.tok.span}
		p.fail(diag.QuoteMissing, p.tok.span, "found the word "+p.found()+" among the choices", "write a text in quotes", replace(p.tok.span, Quote(p.tok.text)))
		return bad
	}
	return p.literal()
}

// asUnit reads the unit after as.
func (p *parser) asUnit() *UnitRef {
	at := p.skip(p.pos)
	if !p.unitStarts(at) && p.at(at) != '1' || p.stopWord(at) {
		p.next()
		p.fail(diag.UnitMissing, p.tok.span, "found "+p.found()+" where a unit is expected after as", "write as km/h")
		return nil
	}
	u := p.unitAt(at)
	p.next()
	if p.tok.kind == tokSlash || p.tok.kind == tokDot {
		sign := source.Span{Start: u.Span.End, End: int32(p.skip(p.pos))}
		p.fail(diag.UnitBlank, sign, "there are blanks inside a unit", "a unit is written without blanks", replace(sign, p.file.Slice(p.tok.span)))
		return nil
	}
	return u
}

// label reads the text at the end of a cell's line.
func (p *parser) label(l *Clauses) {
	if l.Label != nil {
		p.twice(p.tok.span, "a label")
	}
	l.Label = p.optionalText()
}

// labelLast reports the current clause, which follows the label.
func (p *parser) labelLast(label *Str) {
	rest := p.restOfLine()
	text := p.file.Slice(rest) + "   " + p.file.Slice(label.Span)
	whole := label.Span.To(rest)
	p.report(diag.LabelLast, p.tok.span, "the label is before "+p.found()+"; write it last", "", replace(whole, text))
}

// start reads the value of a column's first row.
func (p *parser) start(c *Cell, where place) {
	word := p.tok.span
	twice := c.Start != nil
	p.next()
	p.special(c).Start = p.formula()
	switch {
	case twice:
		p.twice(word, "start")
	case where != inTable || c.Given:
		p.report(diag.StartPlace, word, "start is after a cell that is not a computed column", "start gives the first row of a column that depends on prev")
	}
}

// unknownClause reports the current word, which begins no clause.
func (p *parser) unknownClause(computed bool) {
	rest := p.restOfLine()
	p.retract(rest)
	quoted := replace(rest, Quote(strings.ReplaceAll(p.file.Slice(rest), `"`, "")))
	if right := nearest(p.tok.text, clauseWords); right != "" {
		p.fail(diag.ClauseUnknown, p.tok.span, p.found()+" begins no clause; did you mean "+right+"?", "", replace(p.tok.span, right), quoted)
		return
	}
	if p.tok.word != noWord {
		p.extra()
		return
	}
	repairs := []diag.Repair{quoted}
	if computed {
		repairs = append(repairs, insert(p.last, " *"))
	}
	p.fail(diag.ClauseUnknown, p.tok.span, "found "+p.found()+" after the value", "a value is followed by ±, sd, range, choice, as, to and a label in quotes; write a product with *", repairs...)
}
