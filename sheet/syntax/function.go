package syntax

import "gearleaf/sheet/diag"

// function reads a function's head and its body.
func (p *parser) function(start int32) Stmt {
	f := &Function{}
	p.next()
	p.inParams = true
	f.Name = p.wantName("function")
	p.params(f)
	p.inParams = false
	if p.tok.kind == tokName && p.tok.word == wordAs {
		f.Result = p.asUnit()
	}
	p.finish(&f.Lead, start)
	p.body(f, !p.wrong)
	f.Tail = p.tail()
	return f
}

const functionHelp = "a function is written: function name(x: mm, y: 1) as km/h"

// params reads `(x: mm, y: 1)`.
func (p *parser) params(f *Function) {
	open := p.tok.span
	if p.tok.kind != tokOpen {
		p.fail(diag.FunctionForm, p.tok.span, "found "+p.found()+" where ( and the parameters are expected", functionHelp)
		return
	}
	p.next()
	if p.tok.kind == tokClose {
		p.next()
		return
	}
	for {
		f.Params = append(f.Params, p.param())
		if p.tok.kind != tokComma {
			break
		}
		p.next()
	}
	if p.failed {
		return
	}
	if p.tok.kind != tokClose && p.tok.kind != tokEnd {
		p.fail(diag.FunctionForm, p.tok.span, "found "+p.found()+" among the parameters", functionHelp)
		return
	}
	p.close(tokClose, open)
}

// param reads `x: mm` or `x`.
func (p *parser) param() Param {
	n := Param{Name: p.wantName("parameter")}
	if p.tok.kind != tokColon {
		return n
	}
	at := p.skip(p.pos)
	if !p.unitStarts(at) && p.at(at) != '1' {
		p.next()
		p.fail(diag.UnitMissing, p.tok.span, "found "+p.found()+" where the parameter's unit is expected", "a plain number is written x: 1, a text x: text")
		return n
	}
	n.Unit = p.unitAt(at)
	p.next()
	return n
}

// body reads the lines of a function that begin with a blank.
func (p *parser) body(f *Function, sound bool) {
	p.inFunction = true
	for {
		indented, ok := p.line()
		if !ok || !indented {
			break
		}
		p.bodyLine(f)
	}
	p.inFunction = false
	if f.Body == nil {
		p.failed = !sound // an error in the head has already been reported
		p.report(diag.FunctionResult, f.Name.Span, "the function "+f.Name.Text+" has no line = formula", "its last line is the result: = x * y")
		f.Body = &BadExpr{f.Name.Span}
	}
}

// bodyLine reads one line of a function.
func (p *parser) bodyLine(f *Function) {
	start := p.begin()
	var own Lead
	if p.unfinished && p.tok.kind != tokText && p.tok.kind != tokEqual && !p.signAfter() && !p.statementWordAt(int(start), p.wordEnd(int(start))) {
		p.failed, p.wrong = true, true // the formula above continues here, which has been reported
	}
	p.unfinished = false
	if f.Body != nil {
		p.report(diag.FunctionForm, p.tok.span, "found "+p.found()+" after the line with the function's result", "write the line = formula last")
	}
	switch {
	case p.failed:
	case p.tok.kind == tokText:
		p.meaning(f)
	case p.tok.kind == tokEqual:
		p.next()
		f.Body = p.formula()
	case p.tok.kind == tokName && p.signAfter():
		p.step(f, start)
		return
	case p.tok.kind == tokName:
		if v := p.bodyWord(f, start); v {
			return
		}
	default:
		p.bodyForm()
	}
	p.finish(&own, start)
}

func (p *parser) meaning(f *Function) {
	if f.Meaning != nil {
		p.report(diag.ClauseTwice, p.tok.span, "the function's meaning is written twice", "remove one of the two")
		p.next()
		return
	}
	f.Meaning = p.optionalText()
}

// step reads `name = formula`.
func (p *parser) step(f *Function, start int32) {
	c := p.cell(start, inFunction)
	if c.Given {
		wrong := p.wrong
		p.failed = false
		p.report(diag.FunctionForm, c.Name.Span, "the step "+c.Name.Text+" of a function is given; a step is a formula", "write "+c.Name.Text+" = …")
		if !wrong {
			p.sheet.broken = append(p.sheet.broken, c.Span)
		}
	}
	f.Steps = append(f.Steps, c)
}

// bodyWord reads a line that begins with a word. It reports whether the line
// has been finished.
func (p *parser) bodyWord(f *Function, start int32) bool {
	switch word := p.tok.text; word {
	case "source":
		p.next()
		f.Sources = append(f.Sources, p.wantText(word))
	case "valid":
		v := &Valid{}
		p.next()
		v.Cond = p.formula()
		v.Message = p.optionalText()
		p.finish(&v.Lead, start)
		f.Valid = append(f.Valid, v)
		return true
	case "example":
		p.next()
		f.Example = append(f.Example, p.formula())
	default:
		p.bodyForm()
	}
	return false
}

func (p *parser) bodyForm() {
	p.fail(diag.FunctionForm, p.tok.span, "found "+p.found()+" in the body of a function", `a body has a "meaning", source "…", valid condition "…", example lines, steps name = formula, and last = formula`)
}
