package syntax

import (
	"strconv"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// unknown reads a line that begins no statement and reports the probable
// intention.
func (p *parser) unknown(start int32) Stmt {
	if p.failed {
		return p.bad(start)
	}
	switch {
	case p.tabbedRows(p.tableAbove()):
	case p.tok.kind == tokBar:
		p.fail(diag.GridPlace, p.tok.span, "write rows between bars below a table line", "begin them with: table name")
	case p.tok.kind != tokName:
		p.unknownStart()
	default:
		if s := p.misspelt(start); s != nil {
			return s
		}
		if !p.wordsForName() && !p.signMissing() {
			p.fail(diag.StatementUnknown, p.tok.span, p.found()+" begins no statement", statementHelp)
		}
	}
	return p.bad(start)
}

// tableAbove reports whether the statement above is a table that is still
// empty.
func (p *parser) tableAbove() bool {
	if len(p.sheet.Stmts) == 0 {
		return false
	}
	t, ok := p.sheet.Stmts[len(p.sheet.Stmts)-1].(*Table)
	return ok && len(t.Columns) == 0 && t.Grid == nil && t.From == nil
}

const statementHelp = "a line is name : value, name = formula, or begins with title, caution, note, section, table, limit, advise, chart, correlate, log, function, unit or use"

// unknownStart reports a line whose first token is not a word.
func (p *parser) unknownStart() {
	help := statementHelp
	switch p.tok.kind {
	case tokNumber:
		help = "a name begins with a letter; " + help
	case tokText:
		help = `write a text after a word, as in note "…"; ` + help
	}
	p.fail(diag.StatementUnknown, p.tok.span, "found "+p.found()+" where a statement should begin", help)
}

// misspelt reads the statement whose word is misspelt.
func (p *parser) misspelt(start int32) Stmt {
	right := nearest(p.tok.text, statementWords)
	if right == "" {
		return nil
	}
	p.report(diag.StatementUnknown, p.tok.span, p.found()+" begins no statement; did you mean "+right+"?", "", replace(p.tok.span, right))
	p.tok.text = right
	return p.worded(right, start)
}

// wordsForName reports a name of several words: `tyre rollout : 2085 mm`.
func (p *parser) wordsForName() bool {
	line := p.file.Line(p.file.LineOf(p.tok.span.Start))
	rest := p.text[p.tok.span.Start:line.End]
	sign := strings.IndexAny(rest, ":=")
	if sign < 0 {
		return false
	}
	name := strings.TrimRight(rest[:sign], " \t")
	for i := range len(name) {
		if c := class[name[i]]; c != classLower && c != classUpper && c != classDigit && c != classBlank && name[i] != '-' {
			return false
		}
	}
	right := strings.ToLower(strings.Join(strings.FieldsFunc(name, func(r rune) bool { return r == ' ' || r == '\t' || r == '-' }), "_"))
	span := source.Span{Start: p.tok.span.Start, End: p.tok.span.Start + int32(len(name))}
	p.retract(span)
	p.fail(diag.NameWords, span, "a name is one word", "write "+right, replace(span, right))
	return true
}

// signMissing reports a name with a value after it and no sign between.
func (p *parser) signMissing() bool {
	at := p.skip(p.pos)
	name := p.tok.span
	if c := p.at(at); !isDigit(c) && c != '"' && (c != '-' || !isDigit(p.at(at+1))) {
		return false
	}
	p.fail(diag.SignMissing, name, "there is no : or = after "+p.file.Slice(name), "a given value is written name : value", insert(name.End, " :"))
	return true
}

// extra reports the current token, found where the statement should have ended,
// and skips the rest.
func (p *parser) extra() {
	switch {
	case p.failed:
		p.skipRest()
	case p.tok.kind == tokClose || p.tok.kind == tokCloseIndex:
		p.fail(diag.BracketClose, p.tok.span, "this bracket closes none", "", replace(p.tok.span, ""))
	case p.tok.kind == tokComma && p.commaInNumber():
		p.skipRest()
	case p.tok.kind == tokNumber && p.splitNumber():
		p.skipRest()
	case p.tok.kind == tokNumber && (p.mixedFraction() || p.listWithoutCommas()):
		p.skipRest()
	case p.tok.kind == tokComma:
		p.fail(diag.StatementExtra, p.tok.span, "found a comma where the line should end", "write the decimals of a number after a point")
	case p.tok.kind == tokName && (p.tok.word == noWord || p.tok.word > lastReserved) && p.last > 0 && p.operandBefore():
		p.fail(diag.StatementExtra, p.tok.span, "found "+p.found()+" where an operator or the end of the line is expected", "products are written with *", insert(p.last, " *"))
	default:
		p.fail(diag.StatementExtra, p.tok.span, "found "+p.found()+" where the line should end", "")
	}
}

// operandBefore reports whether the token before the current one ends an
// operand.
func (p *parser) operandBefore() bool {
	switch c := p.text[p.last-1]; class[c] {
	case classLower, classUpper, classDigit:
		return true
	default:
		return c == ')' || c == ']' || c == '"' || c == '%'
	}
}

// splitNumber reports a number with a blank between its thousands.
func (p *parser) splitNumber() bool {
	if p.last == 0 || !isDigit(p.text[p.last-1]) || p.tok.digits-p.tok.span.Start != 3 {
		return false
	}
	first := p.last
	for first > 0 && isDigit(p.text[first-1]) {
		first--
	}
	if p.last-first > 3 || first > 0 && (p.text[first-1] == '.' || class[p.text[first-1]] == classLower) {
		return false
	}
	span := source.Span{Start: first, End: p.tok.digits}
	plain := p.text[first:p.last] + p.text[p.tok.span.Start:p.tok.digits]
	p.fail(diag.NumberThousands, span, "this number has a thousands separator", "write the digits together: "+plain, replace(span, plain))
	return true
}

// numberBefore returns the start of the number that ends at end, and whether
// there is one.
func (p *parser) numberBefore(end int32) (int32, bool) {
	first := end
	for first > 0 && (isDigit(p.text[first-1]) || p.text[first-1] == '.') {
		first--
	}
	return first, first < end && isDigit(p.text[end-1])
}

// mixedFraction reports a number such as 72 1/2.
func (p *parser) mixedFraction() bool {
	start, ok := p.numberBefore(p.last)
	over := int(p.tok.digits)
	if !ok || p.at(over) != '/' || !isDigit(p.at(over+1)) {
		return false
	}
	end := digitsEnd(p.text, over+1)
	whole, _ := strconv.ParseFloat(p.text[start:p.last], 64)
	above, _ := strconv.ParseFloat(p.text[p.tok.span.Start:over], 64)
	below, _ := strconv.ParseFloat(p.text[over+1:end], 64)
	if below == 0 {
		return false
	}
	span := source.Span{Start: start, End: int32(end)}
	decimal := strconv.FormatFloat(whole+above/below, 'f', -1, 64)
	p.fail(diag.NumberForm, span, "a number has decimals, not a fraction after it", "write "+decimal, replace(span, decimal))
	return true
}

// listWithoutCommas reports adjacent numbers, which a list separates by commas.
func (p *parser) listWithoutCommas() bool {
	line := p.file.Line(p.file.LineOf(p.tok.span.Start))
	if _, ok := p.numberBefore(p.last); !ok || !strings.Contains(p.text[line.Start:p.last], ":") {
		return false
	}
	fix := diag.Repair{Title: "write commas between them"}
	at, span := p.last, source.Span{Start: p.tok.span.Start, End: p.tok.digits}
	for {
		fix.Edits = append(fix.Edits, diag.Edit{Span: source.Span{Start: at, End: at}, New: ","})
		next := p.skip(int(span.End))
		end := numberEnd(p.text, next)
		if end == next {
			break
		}
		at, span.End = span.End, int32(end)
	}
	p.fail(diag.StatementExtra, span, "found "+p.file.Slice(span)+" where the line should end", "the values of a list have commas between them", fix)
	return true
}

// noCommas reports the choices of span, which lack commas.
func (p *parser) noCommas(span source.Span, commas []diag.Edit) {
	fix := diag.Repair{Title: "write commas between them", Edits: commas}
	p.report(diag.StatementExtra, span, "there are no commas between the choices", "the values of a list have commas between them", fix)
}

// commaInNumber reports the current token if it is a comma directly between two
// digits where no list is allowed, and skips the rest.
func (p *parser) commaInNumber() bool {
	span, ok := p.tightComma()
	if !ok {
		return false
	}
	p.reportComma(span, false)
	p.failed = true
	p.skipRest()
	return true
}

// tightComma returns the place of the digits around the current comma if it is
// directly between them, digits after further commas included.
func (p *parser) tightComma() (source.Span, bool) {
	at := int(p.tok.span.Start)
	if p.tok.kind != tokComma || p.failed || at == 0 || !isDigit(p.text[at-1]) || !isDigit(p.at(at+1)) {
		return source.Span{}, false
	}
	first, end := at, at
	for first > 0 && isDigit(p.text[first-1]) {
		first--
	}
	for p.at(end) == ',' && isDigit(p.at(end+1)) {
		end = digitsEnd(p.text, end+1)
	}
	return source.Span{Start: int32(first), End: int32(end)}, true
}

// isThousands reports whether digits look like 1,250,000.
func isThousands(digits string) bool {
	groups := strings.Split(digits, ",")
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return false
		}
	}
	return len(groups[0]) <= 3 && groups[0] != "0"
}

// reportComma reports the digits in span, which have commas in them. They may
// be meant as a list if list is set.
func (p *parser) reportComma(span source.Span, list bool) {
	digits := p.file.Slice(span)
	plain := strings.ReplaceAll(digits, ",", "")
	point := strings.Replace(digits, ",", ".", 1)
	apart := strings.ReplaceAll(digits, ",", ", ")
	thousands, single := isThousands(digits), strings.Count(digits, ",") == 1
	var ways []string
	if thousands {
		ways = append(ways, plain)
	}
	if single {
		ways = append(ways, point)
	}
	if list || len(ways) == 0 {
		ways = append(ways, apart)
	}
	var repairs []diag.Repair
	for _, way := range ways {
		repairs = append(repairs, replace(span, way))
	}
	code, message := diag.NumberComma, "found a comma in a number; write decimals after a point"
	if thousands {
		code, message = diag.NumberThousands, "found a comma in a number; write thousands together"
	}
	p.report(code, span, message, "write "+strings.Join(ways, " or "), repairs...)
}
