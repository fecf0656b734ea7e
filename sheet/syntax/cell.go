package syntax

import (
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// place is the kind of block that a cell is in.
type place uint8

const (
	atTop place = iota
	inTable
	inFunction
)

// cell reads `name : value clauses` or `name = formula clauses`.
func (p *parser) cell(start int32, where place) *Cell {
	c := p.newCell()
	c.Name = p.cellName()
	p.next()
	c.Given = p.tok.kind == tokColon
	p.next()
	switch {
	case !c.Given:
		c.Formula = p.formula()
	case p.tok.kind == tokName && p.tok.word == wordFrom && where == inTable:
		p.header(c)
	default:
		p.values(c)
	}
	p.cellClauses(c, where)
	p.finish(&c.Lead, start)
	return c
}

func (p *parser) newCell() *Cell {
	c := p.cells.one()
	c.Special, c.Clauses = noSpecial, noClauses
	return c
}

// cellName returns the current name.
func (p *parser) cellName() Name {
	n := Name{p.tok.span, p.tok.text}
	if p.tok.word != noWord && p.tok.word <= lastReserved {
		p.report(diag.NameReserved, n.Span, n.Text+" is a word of the language and not a name", "", replace(n.Span, n.Text+"_value"))
	} else if n.Text[0] == '_' {
		p.report(diag.NameLetters, n.Span, "the name "+n.Text+" begins with _; a name begins with a letter", "", p.withoutUnderscores(n)...)
	}
	return n
}

func (p *parser) withoutUnderscores(n Name) []diag.Repair {
	right := strings.TrimLeft(n.Text, "_0123456789")
	if right == "" {
		return nil
	}
	return []diag.Repair{replace(n.Span, right)}
}

// header reads `from "Header" unit`.
func (p *parser) header(c *Cell) {
	s := p.special(c)
	p.next()
	if p.tok.kind != tokText {
		p.fail(diag.TextMissing, p.tok.span, "from is followed by the head of a column in the file", `write from "Engine rpm" rpm`)
		return
	}
	from := p.strs.one()
	from.Span, from.Text = p.tok.span, p.tok.text
	s.From = from
	if at := p.skip(p.pos); (p.unitStarts(at) || p.at(at) == '1') && !p.stopWord(at) {
		s.FromUnit = p.unitAt(at)
	}
	p.next()
}

// unitAt reads the unit at a place.
func (p *parser) unitAt(at int) *UnitRef {
	span, text := p.scanUnit(at)
	p.pos = int(span.End)
	p.tok.span.End = span.End
	return p.newUnit(span, text)
}

func (p *parser) newUnit(span source.Span, text string) *UnitRef {
	u := p.units.one()
	u.Span, u.Text = span, text
	return u
}

func (p *parser) special(c *Cell) *Special {
	if c.Special == noSpecial {
		c.Special = &Special{}
	}
	return c.Special
}

// values reads the literals of a given cell.
func (p *parser) values(c *Cell) {
	low := len(p.scratch)
	checked := int32(-1)
	for {
		p.scratch = append(p.scratch, p.literal())
		if p.tok.kind != tokComma {
			break
		}
		if n, ok := p.scratch[len(p.scratch)-1].(*Number); ok && !p.inTable {
			p.decimalComma(n)
			if p.tok.kind != tokComma {
				break
			}
		} else if p.tok.span.Start > checked {
			checked = p.tightList(true)
		}
		p.next()
		if p.listEnds() {
			break
		}
	}
	c.Values = p.lists.list(p.scratch[low:])
	p.literals += len(c.Values)
	p.scratch = p.scratch[:low]
	if opOf(p.tok.kind) != NoOp || p.tok.kind == tokCaret {
		p.failed = p.failed || p.wrong // an error in the unit has been reported
		p.givenFormula()
	}
	if p.failed {
		p.forget(c)
	}
}

// forget removes the values of a cell that could not be read, to prevent
// further errors.
func (p *parser) forget(c *Cell) {
	if !p.inTable {
		c.Values = nil
	}
	for i, v := range c.Values {
		if bad, ok := v.(*BadExpr); ok {
			c.Values[i] = &Empty{bad.Span}
		}
	}
}

// listEnds reports a list that ends with a comma or has no value between two
// commas.
func (p *parser) listEnds() bool {
	comma := source.Span{Start: p.last - 1, End: p.last}
	switch p.tok.kind {
	case tokEnd:
		p.report(diag.ListEnd, comma, "the list ends with a comma", "a list continues in the next line after a comma", replace(comma, ""))
		return true
	case tokComma:
		p.report(diag.ListGap, p.tok.span, "there is no value between two commas", "", replace(p.tok.span, ""))
		for p.tok.kind == tokComma {
			p.next()
		}
	}
	return p.failed || p.tok.kind == tokEnd
}

// tightList checks the current comma. A list of whole numbers without any
// blanks is refused if it may be one number: 2,5 or 1,250,000. It returns the
// place up to which commas have been checked. list says that several values are
// allowed.
func (p *parser) tightList(list bool) int32 {
	span, ok := p.tightComma()
	if !ok || span.Start > 0 && p.text[span.Start-1] == '.' {
		return p.tok.span.Start
	}
	digits := p.file.Slice(span)
	more := strings.Count(digits, ",") > 1 || p.at(int(span.End)) == '.'
	if isThousands(digits) || !more {
		p.reportComma(span, list)
	}
	return span.End
}

// literal reads a given value: a number with its sign, a text, yes or no.
func (p *parser) literal() Expr {
	switch {
	case p.tok.kind == tokMinus || p.tok.kind == tokPlus:
		if n := p.signed(); n != nil {
			return n
		}
	case p.tok.kind == tokNumber:
		return p.number()
	case p.tok.kind == tokText:
		return p.textValue()
	case p.tok.kind == tokName && (p.tok.word == wordYes || p.tok.word == wordNo):
		return p.truth()
	case p.tok.kind == tokName && (p.tok.word == noWord || p.tok.word > lastReserved || p.tok.word == wordRow):
		return p.givenReference()
	case p.tok.kind == tokName || p.tok.kind == tokOpen || p.tok.kind == tokOpenIndex:
		return p.givenFormula()
	}
	bad := &BadExpr{p.tok.span}
	p.fail(diag.ValueMissing, p.tok.span, "found "+p.found()+" where a value is expected", `a value is a number, a text in quotes, yes or no`)
	return bad
}

// signed reads the number after the current sign, nil if there is none.
func (p *parser) signed() *Number {
	sign := p.tok
	p.next()
	if p.tok.kind != tokNumber {
		return nil
	}
	n := p.number()
	n.Span.Start = sign.span.Start
	if sign.kind == tokMinus {
		n.Value = -n.Value
	}
	return n
}

// givenReference reports a name in the place of a given value.
func (p *parser) givenReference() Expr {
	bad := &BadExpr{p.tok.span}
	word := p.tok.span
	if p.at(p.skip(p.pos)) == '(' {
		return p.givenFormula()
	}
	repairs := p.useEqual()
	if p.tok.word != wordRow {
		repairs = append(repairs, replace(word, Quote(p.tok.text)))
	}
	p.fail(diag.GivenReference, word, "found the name "+p.found()+" after : where a given value is expected",
		"write a cell that depends on others with =; write a text in quotes", repairs...)
	return bad
}

// givenFormula reports a formula in the place of a given value.
func (p *parser) givenFormula() Expr {
	bad := &BadExpr{p.tok.span}
	if p.hyphenUnit() {
		return bad
	}
	p.fail(diag.GivenFormula, p.tok.span, "found "+p.found()+" after : where only a given value is expected", "a computed value is written with =", p.useEqual()...)
	return bad
}

// hyphenUnits are units in other programs' spelling with a hyphen, in small
// letters.
var hyphenUnits = map[string]string{
	"ft-lb": "lbf.ft", "ft-lbs": "lbf.ft", "lb-ft": "lbf.ft", "lbs-ft": "lbf.ft", "ft-lbf": "lbf.ft", "lbf-ft": "lbf.ft",
	"in-lb": "lbf.in", "in-lbs": "lbf.in", "lb-in": "lbf.in", "lbf-in": "lbf.in", "n-m": "N.m", "kgf-m": "kgf.m",
	"lb/hp-hr": "lb/(hp.h)", "lb/hp-h": "lb/(hp.h)", "lbs/hp-hr": "lb/(hp.h)", "g/kw-h": "g/(kW.h)", "g/kw-hr": "g/(kW.h)",
	"hp-hr": "hp.h", "hp-h": "hp.h", "kw-h": "kWh", "kw-hr": "kWh", "w-h": "Wh", "a-h": "Ah", "amp-hr": "Ah", "amp-h": "Ah",
}

// hyphenUnit reports a unit with a hyphen in it, as in 30 ft-lb.
func (p *parser) hyphenUnit() bool {
	at := p.tok.span.Start
	unit := func(c byte) bool { return class[c] == classLower || class[c] == classUpper || c == '/' || c == '-' }
	if p.tok.kind != tokMinus || at == 0 || !unit(p.text[at-1]) || !unit(p.at(int(at)+1)) {
		return false
	}
	span := source.Span{Start: at, End: at}
	for span.Start > 0 && unit(p.text[span.Start-1]) {
		span.Start--
	}
	for unit(p.at(int(span.End))) {
		span.End++
	}
	text := p.file.Slice(span)
	meant, known := hyphenUnits[strings.ToLower(text)]
	if !known {
		meant = strings.ReplaceAll(text, "-", ".")
	}
	p.fail(diag.GivenFormula, span, "found "+text+", and a product of units is written with a point", "write "+meant, replace(span, meant))
	return true
}

// useEqual is the repair that makes the cell of the current line computed.
func (p *parser) useEqual() []diag.Repair {
	line := p.file.Line(p.file.LineOf(p.tok.span.Start))
	for i := line.Start; i < p.tok.span.Start; i++ {
		if p.text[i] == ':' {
			return []diag.Repair{replace(source.Span{Start: i, End: i + 1}, "=")}
		}
	}
	return nil
}

// override reads `table.column[row] : value`.
func (p *parser) override(start int32) Stmt {
	c := p.newCell()
	s := p.special(c)
	c.Given = true
	c.Name = Name{p.tok.span, p.tok.text}
	p.next()
	dot := p.tok.kind == tokDot
	p.next()
	s.Column = Name{p.tok.span, p.tok.text}
	switch {
	case !dot || p.tok.kind != tokName:
		p.overrideForm()
	default:
		p.next()
		s.Entry = p.entry()
		p.overrideSign()
	}
	if p.failed {
		b := &Bad{}
		p.finish(&b.Lead, start)
		return b
	}
	p.next()
	p.values(c)
	p.cellClauses(c, atTop)
	p.finish(&c.Lead, start)
	return c
}

// entry reads `[row]`.
func (p *parser) entry() Expr {
	if p.tok.kind != tokOpenIndex {
		p.overrideForm()
		return &BadExpr{p.tok.span}
	}
	p.next()
	if p.tok.kind != tokNumber {
		p.overrideForm()
		return &BadExpr{p.tok.span}
	}
	n := p.number()
	if p.tok.kind != tokCloseIndex || n.Unit != nil {
		p.overrideForm()
	}
	if !p.failed {
		p.next()
	}
	return n
}

func (p *parser) overrideSign() {
	switch p.tok.kind {
	case tokColon:
	case tokEqual:
		p.report(diag.OverrideForm, p.tok.span, "one value of a column is set with :, not with =", "", replace(p.tok.span, ":"))
	default:
		p.overrideForm()
	}
}

func (p *parser) overrideForm() {
	p.fail(diag.OverrideForm, p.tok.span, "found "+p.found()+" in a line that sets one value of a column", "write table.column[3] : 1.52")
}
