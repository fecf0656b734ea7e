package syntax

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// primary reads an operand.
func (p *parser) primary() Expr {
	switch p.tok.kind {
	case tokNumber:
		return p.number()
	case tokText:
		return p.textValue()
	case tokOpen:
		return p.paren()
	case tokName:
		return p.named()
	}
	return p.operandMissing()
}

// number returns the current number.
func (p *parser) number() *Number {
	n := p.numbers.one()
	n.Span, n.Value = p.tok.span, p.tok.value
	if p.tok.unit != "" {
		n.Unit = p.newUnit(p.tok.unitSpan, p.tok.unit)
	}
	p.next()
	return n
}

func (p *parser) textValue() Expr {
	t := p.texts.one()
	t.Span, t.Value = p.tok.span, p.tok.text
	p.next()
	return t
}

func (p *parser) truth() Expr {
	t := p.truths.one()
	t.Span, t.Value = p.tok.span, p.tok.word == wordYes
	p.next()
	return t
}

// paren reads `(x)`.
func (p *parser) paren() Expr {
	open := p.tok.span
	if !p.enter() {
		return p.badExpr()
	}
	e := p.parens.one()
	p.next()
	e.X = p.expr()
	p.close(tokClose, open)
	e.Span = source.Span{Start: open.Start, End: p.last}
	p.depth--
	return e
}

// close reads the bracket that closes the one at open.
func (p *parser) close(k kind, open source.Span) {
	switch {
	case p.tok.kind == k:
		p.next()
	case p.tok.kind == tokEnd:
		if p.brackets > 0 && p.brackets <= len(p.open) {
			p.openBracket()
		} else {
			p.fail(diag.BracketOpen, open, "this bracket is not closed", "", insert(p.last, kindText[k]))
		}
	default:
		p.extraOperand()
	}
}

// extraOperand reports the current token, found inside a formula where an
// operator or a closing bracket is expected.
func (p *parser) extraOperand() {
	switch {
	case p.failed:
	case p.tok.kind == tokNumber && p.splitNumber():
	case p.tok.kind == tokComma && p.commaInNumber():
	case p.tok.kind == tokName || p.tok.kind == tokNumber || p.tok.kind == tokText || p.tok.kind == tokOpen:
		p.fail(diag.FormulaExtra, p.tok.span, "found "+p.found()+" where an operator or a bracket is expected", "products are written with *", insert(p.last, " *"))
	default:
		p.fail(diag.FormulaExtra, p.tok.span, "found "+p.found()+" where an operator or a bracket is expected", "")
	}
}

// named reads an operand that begins with a word.
func (p *parser) named() Expr {
	switch p.tok.word {
	case wordYes, wordNo:
		return p.truth()
	case wordIf, wordNot:
		return p.needsBrackets()
	case wordPrev, wordNext:
		return p.neighbour()
	case wordThen, wordElse, wordAs, wordTo, wordAnd, wordOr:
		return p.operandMissing()
	}
	if p.at(p.skip(p.pos)) == '(' {
		return p.call()
	}
	return p.name()
}

// needsBrackets reads an if or a not that is an operand.
func (p *parser) needsBrackets() Expr {
	word := p.tok
	var e Expr
	if word.word == wordIf {
		e = p.ifExpr()
	} else {
		e = p.unary(Not, p.not)
	}
	p.report(diag.FormulaBrackets, word.span, word.text+" is inside a formula without brackets around it", "", wrap(e.Pos(), "(", ")"))
	return e
}

// neighbour reads `prev(c)` or `next(c)`.
func (p *parser) neighbour() Expr {
	word := p.tok
	if p.at(p.skip(p.pos)) != '(' {
		p.fail(diag.NeighbourForm, word.span, word.text+" is without a column", "write "+word.text+"(speed)")
		return &BadExpr{word.span}
	}
	e := p.call()
	c, ok := e.(*Call)
	if !ok || p.failed {
		return e
	}
	if len(c.Args) == 1 {
		if _, ok := c.Args[0].(*Ref); ok {
			return e
		}
	}
	p.report(diag.NeighbourForm, c.Span, word.text+" takes the name of one column of its table", "give the formula a column of its own and name that")
	return e
}

// name reads `name`, `table.column` or `table.column[row]`.
func (p *parser) name() Expr {
	first := Name{p.tok.span, p.tok.text}
	p.next()
	if p.tok.kind == tokOpenIndex {
		return p.bareIndex(first)
	}
	if p.tok.kind != tokDot {
		r := p.refs.one()
		r.Name = first
		return r
	}
	p.next()
	if p.tok.kind != tokName {
		p.fail(diag.FormulaGap, p.tok.span, "found "+p.found()+" where a column is expected after "+first.Text+".", "")
		return p.badExpr()
	}
	c := p.columns.one()
	c.Table, c.Name = first, Name{p.tok.span, p.tok.text}
	p.next()
	if p.tok.kind != tokOpenIndex {
		return c
	}
	return p.index(c)
}

// index reads `[row]` after a column.
func (p *parser) index(c *Column) Expr {
	open := p.tok.span
	if !p.enter() {
		return p.badExpr()
	}
	e := &Index{Column: c}
	p.next()
	e.Row = p.expr()
	p.close(tokCloseIndex, open)
	e.Span = source.Span{Start: c.Table.Span.Start, End: p.last}
	p.depth--
	return e
}

// bareIndex reports an index after a name without its table.
func (p *parser) bareIndex(n Name) Expr {
	p.report(diag.IndexTable, n.Span, "an index is after "+n.Text+", which names no table", "write table."+n.Text+"[…]")
	e := p.index(&Column{Name: n, Table: n})
	return &BadExpr{e.Pos()}
}

// call reads `name(a, b)`.
func (p *parser) call() Expr {
	name := Name{p.tok.span, p.tok.text}
	p.next()
	open := p.tok.span
	if !p.enter() {
		return p.badExpr()
	}
	p.next()
	c := p.calls.one()
	c.Name, c.Args = name, p.arguments()
	p.close(tokClose, open)
	c.Span = source.Span{Start: name.Span.Start, End: p.last}
	p.depth--
	return c
}

func (p *parser) arguments() []Expr {
	if p.tok.kind == tokClose {
		return nil
	}
	low := len(p.scratch)
	for {
		p.scratch = append(p.scratch, p.expr())
		if p.tok.kind != tokComma {
			break
		}
		p.next()
	}
	list := p.lists.list(p.scratch[low:])
	p.scratch = p.scratch[:low]
	return list
}

// operandMissing reports the current token, found where an operand is expected.
func (p *parser) operandMissing() Expr {
	bad := p.badExpr()
	if p.tok.kind == tokEnd && p.brackets > 0 && p.brackets <= len(p.open) {
		p.openBracket()
		return bad
	}
	p.unfinished = p.tok.kind == tokEnd
	help := "a value is a number, a name, a call, or a formula in brackets"
	if p.tok.kind == tokEnd && p.last > 0 {
		help = "a formula continues in the next line only inside brackets"
	}
	if p.tok.kind == tokTolerance {
		help = "write a range after the value of a cell"
	}
	p.fail(diag.FormulaGap, p.tok.span, "found "+p.found()+" where a value is expected", help)
	return bad
}

// openBracket reports that the lines end, or another statement begins, inside
// the brackets that are open.
func (p *parser) openBracket() {
	open := p.open[p.brackets-1]
	closing := ")"
	if p.text[open] == '[' {
		closing = "]"
	}
	var repairs []diag.Repair
	switch {
	case p.text[p.last-1] == ',':
		repairs = append(repairs, replace(source.Span{Start: p.last - 1, End: p.last}, closing))
	case p.operandBefore():
		repairs = append(repairs, insert(p.last, closing))
	}
	p.fail(diag.BracketOpen, source.Span{Start: open, End: open + 1}, "this bracket is not closed before "+p.whatEnds(), "a formula may continue in the next lines up to the bracket that closes it", repairs...)
}

// whatEnds describes why the statement ends.
func (p *parser) whatEnds() string {
	at := p.pos
	for at < len(p.text) && p.lineEnds(p.skip(at)) {
		at = p.lineAfter(at)
	}
	if at == len(p.text) {
		return "the text ends"
	}
	return "the next statement begins"
}
