package syntax

import (
	"fmt"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// newest is the version of the language that this parser reads.
const newest = 1

// statements reads the whole text.
func (p *parser) statements() {
	for {
		indented, ok := p.line()
		if !ok {
			break
		}
		p.sheet.Stmts = append(p.sheet.Stmts, p.statement(indented))
		if p.exprs() > source.MaxFormulas {
			p.report(diag.FileLong, source.Span{}, "the formulas of this worksheet have more than "+count(source.MaxFormulas, "operation"), "")
			p.refuseWhole()
			return
		}
	}
	p.sheet.Tail = append(append(p.sheet.Tail, p.loose...), p.above...)
}

// statement reads one statement with the block below it.
func (p *parser) statement(indented bool) Stmt {
	start := p.begin()
	if indented && (p.badBlock || p.unfinished && !p.signAfter()) {
		return p.silent(start)
	}
	p.badBlock, p.unfinished = false, false
	if indented && !p.failed {
		p.indentedStatement(start)
	}
	switch {
	case p.tok.kind != tokName:
		return p.unknown(start)
	case p.signAfter():
		return p.cell(start, atTop)
	case p.at(p.skip(p.pos)) == '.' && (p.tok.word == noWord || p.tok.word > lastReserved):
		return p.override(start)
	}
	if s := p.worded(p.tok.text, start); s != nil {
		return s
	}
	return p.unknown(start)
}

// silent skips a line that the error above covers: it is below a line that is
// not a statement, or continues an incomplete formula.
func (p *parser) silent(start int32) Stmt {
	p.failed = true
	return p.bad(start)
}

// signAfter reports whether : or = follows the current token: then the line is
// a cell, regardless of its first word.
func (p *parser) signAfter() bool {
	at := p.skip(p.pos)
	c := p.at(at)
	return c == ':' || c == '='
}

func (p *parser) indentedStatement(start int32) {
	line := p.file.Line(p.file.LineOf(start))
	blanks := source.Span{Start: line.Start, End: start}
	if strings.HasPrefix(p.file.Slice(blanks), bom) {
		blanks.Start += int32(len(bom))
	}
	p.report(diag.StatementIndent, source.Span{Start: start, End: p.tok.span.End},
		"this line begins with a blank, but the statement above opens no block", "begin it at the margin", replace(blanks, ""))
}

// worded reads a statement that begins with a statement word, nil if word is
// none.
func (p *parser) worded(word string, start int32) Stmt {
	switch word {
	case "title":
		return &Title{p.textLine(start)}
	case "caution":
		return &Caution{p.textLine(start)}
	case "note":
		return &Note{p.textLine(start)}
	case "section":
		return &Section{p.textLine(start)}
	case "table":
		return p.table(start)
	case "limit", "advise":
		return p.limit(start, word == "advise")
	case "chart":
		return p.chart(start)
	case "correlate":
		return p.correlate(start)
	case "log":
		return p.log(start)
	case "function":
		return p.function(start)
	case "unit":
		return p.unitDecl(start)
	case "use":
		return p.use(start)
	case "gearleaf":
		return p.version(start)
	}
	return nil
}

// textLine reads a statement word with one text.
func (p *parser) textLine(start int32) TextLine {
	word := p.tok.text
	p.next()
	t := TextLine{Text: p.wantText(word)}
	p.finish(&t.Lead, start)
	return t
}

// wantText reads the quoted text that follows word.
func (p *parser) wantText(word string) Str {
	if p.tok.kind == tokText {
		s := Str{p.tok.span, p.tok.text}
		p.next()
		return s
	}
	if p.tok.kind == tokEnd {
		p.fail(diag.TextMissing, p.tok.span, word+" needs a text", "write "+word+` "…"`)
	} else {
		rest := p.restOfLine()
		p.retract(rest)
		p.fail(diag.QuoteMissing, rest, "the text of "+word+" is not in quotes", "write "+word+" "+Quote(clip(p.file.Slice(rest))), replace(rest, Quote(p.file.Slice(rest))))
	}
	return Str{Span: p.tok.span}
}

// restOfLine returns the place from the current token to the end of its line,
// without the comment.
func (p *parser) restOfLine() source.Span {
	line := p.file.Line(p.file.LineOf(p.tok.span.Start))
	text := p.text[p.tok.span.Start:line.End]
	if i := strings.Index(text, " #"); i >= 0 {
		text = text[:i]
	}
	return source.Span{Start: p.tok.span.Start, End: p.tok.span.Start + int32(len(strings.TrimRight(text, " \t")))}
}

// version reads `gearleaf 1`.
func (p *parser) version(start int32) Stmt {
	v := &Version{}
	p.next()
	switch {
	case p.tok.kind != tokNumber || p.tok.unit != "" || p.tok.value != float64(int(p.tok.value)):
		p.fail(diag.VersionForm, p.tok.span, "gearleaf is followed by the number of the language's version", "write gearleaf 1")
	case len(p.sheet.Stmts) > 0:
		p.report(diag.VersionPlace, source.Span{Start: start, End: p.tok.span.End}, "the version is not in the first line", "")
	case p.tok.value > newest || p.tok.value < 1:
		p.report(diag.VersionNew, p.tok.span, fmt.Sprintf("this worksheet is written in version %s of the language; this program reads version %d", p.found(), newest), "use a newer gearleaf")
	}
	if !p.failed {
		v.Number = int(p.tok.value)
		p.next()
	}
	p.finish(&v.Lead, start)
	return v
}

// limit reads `limit condition "message"` or `advise …`.
func (p *parser) limit(start int32, advise bool) Stmt {
	l := &Limit{Advise: advise}
	p.next()
	l.Cond = p.formula()
	l.Message = p.optionalText()
	p.finish(&l.Lead, start)
	return l
}

func (p *parser) optionalText() *Str {
	if p.tok.kind != tokText {
		return nil
	}
	s := p.strs.one()
	s.Span, s.Text = p.tok.span, p.tok.text
	p.next()
	return s
}

// chart reads `chart "title" x table.column y table.column, …`.
func (p *parser) chart(start int32) Stmt {
	c := &Chart{}
	p.next()
	c.Title = p.wantText("chart")
	if p.chartWord(wordX, "x") {
		c.X = p.chartColumn()
	}
	if p.chartWord(wordY, "y") {
		for {
			c.Y = append(c.Y, p.chartColumn())
			if p.tok.kind != tokComma {
				break
			}
			p.next()
		}
	}
	if p.failed {
		return p.bad(start)
	}
	p.finish(&c.Lead, start)
	return c
}

const chartHelp = `a chart is written: chart "title" x table.column y table.column`

func (p *parser) chartWord(w word, text string) bool {
	if p.failed {
		return false
	}
	if p.tok.kind != tokName || p.tok.word != w {
		p.fail(diag.ChartForm, p.tok.span, "found "+p.found()+" where "+text+" and a column are expected", chartHelp)
		return false
	}
	p.next()
	return true
}

// chartColumn reads `table.column` or a name.
func (p *parser) chartColumn() Expr {
	if p.tok.kind != tokName {
		p.fail(diag.ChartForm, p.tok.span, "found "+p.found()+" where a column is expected", chartHelp)
		return &BadExpr{p.tok.span}
	}
	return p.name()
}

// correlate reads `correlate name, name coefficient "label"`.
func (p *parser) correlate(start int32) Stmt {
	c := &Correlate{}
	p.next()
	c.A = p.correlated()
	if p.tok.kind == tokComma {
		p.next()
		c.B = p.correlated()
		c.Value = p.coefficient()
	} else if !p.failed {
		p.fail(diag.CorrelateForm, p.tok.span, "found "+p.found()+" where a comma and a second given are expected", correlateHelp)
	}
	c.Label = p.optionalText()
	p.finish(&c.Lead, start)
	return c
}

const correlateHelp = "two givens and the correlation of their errors, from -1 to 1: correlate drag_area, mass 0.4"

// correlated reads the name of a given, or of one row of a column.
func (p *parser) correlated() Expr {
	if p.failed {
		return &BadExpr{p.tok.span}
	}
	if p.tok.kind != tokName {
		p.fail(diag.CorrelateForm, p.tok.span, "found "+p.found()+" where a given is expected", correlateHelp)
		return &BadExpr{p.tok.span}
	}
	return p.name()
}

// coefficient reads the number after the names.
func (p *parser) coefficient() *Number {
	var n *Number
	switch {
	case p.failed:
		return nil
	case p.tok.kind == tokNumber:
		n = p.number()
	case p.tok.kind == tokMinus || p.tok.kind == tokPlus:
		n = p.signed()
	}
	if n == nil {
		p.fail(diag.CorrelateForm, p.tok.span, "found "+p.found()+" where a coefficient is expected", correlateHelp)
		return nil
	}
	p.decimalComma(n)
	return n
}

// unitDecl reads `unit plug` or `unit furlong = 220 yd`.
func (p *parser) unitDecl(start int32) Stmt {
	u := &UnitDecl{}
	u.Name.Span, u.Name.Text = p.unitWord()
	if p.tok.kind == tokEqual {
		p.next()
		u.Value = p.unitValue()
	}
	p.finish(&u.Lead, start)
	return u
}

// unitValue reads the value of a declared unit.
func (p *parser) unitValue() *Number {
	if p.tok.kind == tokNumber {
		return p.number()
	}
	p.fail(diag.UnitDeclaration, p.tok.span, "found "+p.found()+" where a number with a unit is expected", "write unit furlong = 220 yd")
	return nil
}

// unitWord reads the unit directly after the current token, which a declaration
// names: one word.
func (p *parser) unitWord() (source.Span, string) {
	at := p.skip(p.pos)
	if !p.unitStarts(at) {
		p.next()
		p.fail(diag.UnitDeclaration, p.tok.span, "found "+p.found()+" where the name of a unit is expected", "write unit plug, or unit furlong = 220 yd")
		return p.tok.span, ""
	}
	span, text := p.scanUnit(at)
	p.pos = int(span.End)
	p.tok.span = span
	p.next()
	if strings.ContainsAny(text, "./(%") {
		p.fail(diag.UnitDeclaration, span, "a declared unit is one word, not "+text, "")
	}
	return span, text
}

// use reads `use "bike.leaf"`.
func (p *parser) use(start int32) Stmt {
	u := &Use{}
	p.next()
	u.Path = p.wantText("use")
	p.finish(&u.Lead, start)
	return u
}

// bad ends a line that could not be read.
func (p *parser) bad(start int32) Stmt {
	b := &Bad{}
	p.wrong, p.badBlock = true, !p.unfinished
	p.skipRest()
	p.finish(&b.Lead, start)
	return b
}
