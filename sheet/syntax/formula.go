package syntax

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// formula reads one formula of a statement.
func (p *parser) formula() Expr {
	p.depth, p.operators = 0, 0
	return p.expr()
}

// enter begins a deeper level, or reports that the bound is reached.
func (p *parser) enter() bool {
	p.depth++
	if p.depth <= source.MaxDepth {
		return true
	}
	p.fail(diag.FormulaDepth, p.tok.span, "brackets, ifs and signs are nested more than "+count(source.MaxDepth, "level")+" deep inside each other here", "give the parts names of their own")
	return false
}

// operator counts an operator, or reports that the bound is reached.
func (p *parser) operator() bool {
	p.operators++
	if p.operators <= source.MaxOperators {
		return true
	}
	p.fail(diag.FormulaLong, p.tok.span, "this formula has more than "+count(source.MaxOperators, "operator"), "give its parts names of their own")
	return false
}

func (p *parser) badExpr() Expr { return &BadExpr{p.tok.span} }

// expr reads `if …` or an expression that binds tighter.
func (p *parser) expr() Expr {
	if p.tok.word == wordIf {
		return p.ifExpr()
	}
	return p.or()
}

// ifExpr reads `if c then a else b`.
func (p *parser) ifExpr() Expr {
	start := p.tok.span
	if !p.enter() {
		return p.badExpr()
	}
	e := p.ifs.one()
	p.next()
	e.Cond = p.or()
	e.Then, e.Else = p.branch(wordThen, "then"), p.branch(wordElse, "else")
	e.Span = source.Span{Start: start.Start, End: p.last}
	p.depth--
	return e
}

// branch reads then or else and the expression after it.
func (p *parser) branch(w word, text string) Expr {
	if p.tok.word != w {
		if p.tok.kind == tokComma || p.tok.kind == tokEnd || p.tok.kind == tokName {
			p.fail(diag.FormulaIf, p.tok.span, "found "+p.found()+" where "+text+" is expected", "write if condition then value else value")
		} else {
			p.extraOperand()
		}
		return p.badExpr()
	}
	p.next()
	if w == wordElse {
		return p.expr()
	}
	return p.or()
}

func (p *parser) or() Expr {
	x := p.and()
	for p.tok.word == wordOr && p.operator() {
		p.next()
		x = p.newBinary(Or, x, p.and())
	}
	return x
}

func (p *parser) and() Expr {
	x := p.not()
	for p.tok.word == wordAnd && p.operator() {
		p.next()
		x = p.newBinary(And, x, p.not())
	}
	return x
}

func (p *parser) newBinary(op Op, x, y Expr) Expr {
	b := p.binaries.one()
	b.Op, b.X, b.Y = op, x, y
	return b
}

func (p *parser) not() Expr {
	if p.tok.word != wordNot {
		return p.comparison()
	}
	return p.unary(Not, p.not)
}

// unary reads the current sign or word and its operand.
func (p *parser) unary(op Op, operand func() Expr) Expr {
	if !p.enter() {
		return p.badExpr()
	}
	u := p.unaries.one()
	start := p.tok.span.Start
	p.next()
	u.Op, u.X = op, operand()
	u.Span = source.Span{Start: start, End: u.X.Pos().End}
	p.depth--
	return u
}

func isComparison(k kind) bool { return tokEqual <= k && k <= tokGreaterEqual }

// comparison reads a sum, or a chain of sums compared.
func (p *parser) comparison() Expr {
	first := p.sum()
	if !isComparison(p.tok.kind) {
		return first
	}
	low, lowOp := len(p.scratch), len(p.ops)
	p.scratch = append(p.scratch, first)
	for isComparison(p.tok.kind) && p.operator() {
		p.ops = append(p.ops, opOf(p.tok.kind))
		p.next()
		p.scratch = append(p.scratch, p.sum())
	}
	c := p.chains.one()
	c.Operands, c.Ops = p.lists.list(p.scratch[low:]), p.opLists.list(p.ops[lowOp:])
	p.scratch, p.ops = p.scratch[:low], p.ops[:lowOp]
	return c
}

// tight is the precedence of + - * /.
var tight = [256]uint8{tokPlus: 1, tokMinus: 1, tokStar: 2, tokSlash: 2}

func (p *parser) sum() Expr { return p.arithmetic(1) }

// arithmetic reads operands joined by + - * / that bind at least as tightly
// as least.
func (p *parser) arithmetic(least uint8) Expr {
	x := p.sign()
	last := x
	for {
		k := p.tok.kind
		if tight[k] < least || !p.operator() {
			return x
		}
		p.next()
		y := p.arithmetic(tight[k] + 1)
		if k == tokSlash {
			p.fraction(last, y)
		}
		x, last = p.newBinary(opOf(k), x, y), y
	}
}

// fraction refuses `5 / 8 in`: it is read as a fraction of an inch and
// computed as a number over eight inches.
func (p *parser) fraction(above, below Expr) {
	n, ok := below.(*Number)
	if !ok || n.Unit == nil {
		return
	}
	if u, ok := above.(*Unary); ok {
		above = u.X
	}
	m, ok := above.(*Number)
	if !ok || m.Unit != nil {
		return
	}
	right := "(" + p.file.Slice(m.Span) + "/" + p.file.Slice(digitsOf(p.text, n)) + ") * 1 " + n.Unit.Text
	span := m.Span.To(n.Span)
	p.report(diag.UnitFraction, span, "found number / number unit: the unit would belong to the lower number alone", "write "+right, replace(span, right))
}

// sign reads a minus and its operand, or an expression that binds tighter.
func (p *parser) sign() Expr {
	for p.tok.kind == tokPlus {
		gap := source.Span{Start: p.tok.span.Start, End: int32(p.skip(p.pos))}
		p.report(diag.FormulaSign, p.tok.span, "found + where a value is expected", "", replace(gap, ""))
		p.next()
	}
	if p.tok.kind == tokMinus {
		return p.minus()
	}
	return p.power()
}

// minus reads a minus in front of an operand. Directly before a number with a
// unit it is the number's sign, unless ^ follows: -5 degC is a point on a
// scale, and points cannot be negated.
func (p *parser) minus() Expr {
	minus := p.tok.span.Start
	x := p.unary(Neg, p.sign)
	u, ok := x.(*Unary)
	if !ok {
		return x
	}
	n, ok := u.X.(*Number)
	if !ok || n.Unit == nil || n.Span.Start < minus || p.text[n.Span.Start] == '-' {
		return x
	}
	n.Value, n.Span.Start = -n.Value, minus
	return n
}

// power reads `x^y`; ^ binds to the right and takes a sign after it.
func (p *parser) power() Expr {
	x := p.primary()
	if p.tok.kind != tokCaret || !p.operator() || !p.enter() {
		return x
	}
	p.next()
	x = p.newBinary(Pow, x, p.sign())
	p.depth--
	return x
}
