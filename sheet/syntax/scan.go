package syntax

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// The classes of bytes.
const (
	classOther = iota
	classBlank
	classLower // a to z and _
	classUpper
	classDigit
	classForeign // begins or continues a character beyond ASCII
)

var class = func() (table [256]uint8) {
	for c := range table {
		switch {
		case c == ' ' || c == '\t':
			table[c] = classBlank
		case 'a' <= c && c <= 'z' || c == '_':
			table[c] = classLower
		case 'A' <= c && c <= 'Z':
			table[c] = classUpper
		case '0' <= c && c <= '9':
			table[c] = classDigit
		case c >= utf8.RuneSelf:
			table[c] = classForeign
		}
	}
	return table
}()

// inName marks the bytes that names are made of.
var inName = func() (table [256]bool) {
	for c := range table {
		table[c] = class[c] == classLower || class[c] == classDigit
	}
	return table
}()

// single is the kind of the tokens that are always one byte.
var single = [256]kind{
	'-': tokMinus, '/': tokSlash, '^': tokCaret, '(': tokOpen, ')': tokClose,
	'[': tokOpenIndex, ']': tokCloseIndex, ',': tokComma,
}

func isDigit(c byte) bool { return class[c] == classDigit }

// at returns the byte at i, 0 after the end of the text.
func (p *parser) at(i int) byte {
	if i < len(p.text) {
		return p.text[i]
	}
	return 0
}

// skip returns the place of the first byte from i on that is not a blank.
func (p *parser) skip(i int) int {
	for i < len(p.text) && (p.text[i] == ' ' || p.text[i] == '\t') {
		i++
	}
	return i
}

// lineEnds reports whether the line ends at i, there or with a comment.
func (p *parser) lineEnds(i int) bool {
	if i >= len(p.text) {
		return true
	}
	c := p.text[i]
	return c == '\n' || c == '#' || c == '\r' && p.at(i+1) == '\n'
}

// next moves to the next token of the statement. At the end of the line every
// call yields tokEnd, unless the statement continues on the next line after a
// comma or in an open bracket.
func (p *parser) next() {
	p.last = p.tok.span.End
	for p.scan(); p.tok.kind == tokNothing; {
		p.scan()
	}
}

// scan reads one token, tokNothing for a refused character that is read as a
// blank.
func (p *parser) scan() {
	at := p.skip(p.pos)
	if p.lineEnds(at) {
		if on := p.continuation(at); on >= 0 {
			at = on
		} else {
			p.pos = at
			p.tok = token{kind: tokEnd, blank: true, span: source.Span{Start: int32(at), End: int32(at)}}
			return
		}
	}
	p.tok.blank, p.tok.word = at > p.pos, noWord
	p.tok.span.Start = int32(at)
	switch c := p.text[at]; {
	case class[c] == classLower:
		p.scanName(at)
	case class[c] == classDigit:
		p.scanNumber(at)
	case single[c] != 0:
		p.scanSingle(at, c)
	case singles[c] != 0 && plain[p.at(at+1)]:
		p.token(singles[c], at, 1)
	default:
		p.scanOther(at, c)
	}
	p.tok.span.End = int32(p.pos)
}

// skipRest moves to the end of the statement without reading it.
func (p *parser) skipRest() {
	for p.tok.kind != tokEnd {
		p.next()
	}
}

// token sets the kind of the current token, which is n bytes from at.
func (p *parser) token(k kind, at, n int) {
	p.tok.kind, p.pos = k, at+n
}

func (p *parser) scanSingle(at int, c byte) {
	p.token(single[c], at, 1)
	switch c {
	case '(', '[':
		if p.brackets <= source.MaxDepth {
			p.open = append(p.open[:p.brackets], int32(at))
		}
		p.brackets++
	case ')', ']':
		p.brackets = max(0, p.brackets-1)
	case '/':
		if p.at(at+1) == '/' {
			p.spelling(at, 2, "#", "a comment begins with #")
			p.failed = true
		}
	}
}

// scanOther reads the tokens that need lookahead.
func (p *parser) scanOther(at int, c byte) {
	switch {
	case c == '"':
		p.scanText(at)
	case class[c] == classUpper, class[c] == classForeign:
		p.scanForeign(at)
	case c == '.' && isDigit(p.at(at+1)):
		p.scanNumber(at)
	case c == '.' && p.at(at+1) == '.':
		p.token(tokRange, at, 2)
	case c == '.':
		p.token(tokDot, at, 1)
	case c == '+' && strings.HasPrefix(p.text[at:], "+/-"):
		p.token(tokTolerance, at, 3)
	case c == '+':
		p.token(tokPlus, at, 1)
	case c == '|' && p.at(at+1) != '|':
		p.token(tokBar, at, 1)
	default:
		p.scanComparison(at, c)
	}
}

// doubles are the operators of two characters, right and wrong ones.
var doubles = []struct {
	text  string
	kind  kind
	word  word
	right string // empty if text is right
	help  string
}{
	{"<=", tokLessEqual, noWord, "", ""},
	{">=", tokGreaterEqual, noWord, "", ""},
	{"<>", tokNotEqual, noWord, "", ""},
	{"==", tokEqual, noWord, "=", ""},
	{"=<", tokLessEqual, noWord, "<=", ""},
	{"=>", tokGreaterEqual, noWord, ">=", ""},
	{"!=", tokNotEqual, noWord, "<>", ""},
	{":=", tokEqual, noWord, "=", "write = before a formula, : before a given value"},
	{"**", tokCaret, noWord, "^", ""},
	{"&&", tokName, wordAnd, "and", ""},
	{"||", tokName, wordOr, "or", ""},
}

var singles = [256]kind{'<': tokLess, '>': tokGreater, '=': tokEqual, ':': tokColon, '*': tokStar, '+': tokPlus}

// plain marks the bytes that never extend the operator before them.
var plain = func() (table [256]bool) {
	for c := range table {
		table[c] = class[c] == classBlank || class[c] == classLower || class[c] == classDigit || c == '('
	}
	return table
}()

func (p *parser) scanComparison(at int, c byte) {
	for i := range doubles {
		d := &doubles[i]
		if c != d.text[0] || p.at(at+1) != d.text[1] {
			continue
		}
		p.token(d.kind, at, 2)
		p.tok.word, p.tok.text = d.word, d.right
		if d.right != "" {
			p.spelling(at, 2, d.right, d.help)
		}
		return
	}
	if k := singles[c]; k != 0 {
		p.token(k, at, 1)
		return
	}
	p.scanJunk(at, c)
}

// spelling reports an operator of n bytes in another language's spelling, and
// offers the right one.
func (p *parser) spelling(at, n int, right, help string) {
	span := source.Span{Start: int32(at), End: int32(at + n)}
	wrong := p.text[at : at+n]
	if help == "" {
		help = "write " + right
	}
	p.report(diag.OperatorSpelling, span, "found "+wrong+", which worksheets write "+right, help, replace(span, right))
}

// scanName reads a name or a reserved word; scanForeign reads names with other
// letters than the small ones.
func (p *parser) scanName(at int) {
	end := at + 1
	for end < len(p.text) && inName[p.text[end]] {
		end++
	}
	if end < len(p.text) && (class[p.text[end]] == classUpper || class[p.text[end]] == classForeign && p.letterAt(end)) {
		p.scanForeign(at)
		return
	}
	p.tok.kind, p.pos = tokName, end
	p.tok.text = p.text[at:end]
	p.tok.word = wordOf(p.tok.text)
	if end-at > source.MaxNameBytes {
		p.longName(at, end)
	}
}

func (p *parser) longName(at, end int) {
	span := source.Span{Start: int32(at), End: int32(end)}
	p.report(diag.NameLong, span, "this name has "+count(end-at, "character")+"; a name has at most "+count(source.MaxNameBytes, "character"), "")
}

// letterAt reports whether a letter, or a mark on one, is at i.
func (p *parser) letterAt(i int) bool {
	r, _ := utf8.DecodeRuneInString(p.text[i:])
	return unicode.IsLetter(r) || unicode.IsMark(r)
}

// scanForeign reads a name that has capitals or letters beyond ASCII, which
// names may not have, or a character beyond ASCII.
func (p *parser) scanForeign(at int) {
	end, foreign := at, false
	for end < len(p.text) {
		c := class[p.text[end]]
		if c == classForeign && p.letterAt(end) {
			_, n := utf8.DecodeRuneInString(p.text[end:])
			end += n
			foreign = true
			continue
		}
		if c != classLower && c != classUpper && c != classDigit {
			break
		}
		end++
	}
	if end == at {
		p.scanSign(at)
		return
	}
	p.tok.kind, p.pos = tokName, end
	p.tok.text = p.text[at:end]
	span := source.Span{Start: int32(at), End: int32(end)}
	if foreign {
		p.report(diag.NameLetters, span, "the name "+p.tok.text+" has other letters than a to z", "names are written with a to z, 0 to 9 and _")
		return
	}
	p.tok.text = strings.ToLower(p.tok.text)
	p.tok.word = wordOf(p.tok.text)
	p.report(diag.NameCase, span, "the name "+p.text[at:end]+" has capitals; names are written in small letters", "write "+p.tok.text, replace(span, p.tok.text))
}

// scanText reads a quoted text. It ends on its own line.
func (p *parser) scanText(at int) {
	p.tok.kind = tokText
	end, doubled := at+1, false
	for ; end < len(p.text); end++ {
		c := p.text[end]
		if c == '"' {
			if p.at(end+1) != '"' {
				break
			}
			doubled = true
			end++
		} else if c < ' ' && c != '\t' {
			if c == '\n' || c == '\r' && p.at(end+1) == '\n' {
				break
			}
			p.controlCharacter(end)
		}
	}
	if p.at(end) != '"' {
		p.openText(at, end)
		return
	}
	p.pos = end + 1
	p.tok.text = p.text[at+1 : end]
	if doubled {
		p.tok.text = strings.ReplaceAll(p.tok.text, `""`, `"`)
	}
}

// openText reports a text that its line does not close, and reads it up to
// the end of the line.
func (p *parser) openText(at, end int) {
	inner := strings.TrimRight(p.text[at+1:end], " \t")
	p.pos = at + 1 + len(inner)
	p.tok.text = strings.ReplaceAll(inner, `""`, `"`)
	span := source.Span{Start: int32(at), End: int32(p.pos)}
	closed := insert(span.End, `"`)
	if at > 0 && isDigit(p.text[at-1]) {
		inch := replace(source.Span{Start: span.Start, End: span.Start + 1}, " in")
		p.report(diag.QuoteOpen, span, "this text is not closed", "an inch is written in: 17 in", inch, closed)
		return
	}
	p.report(diag.QuoteOpen, span, "this text is not closed", "a text ends on its own line, with a quote", closed)
}
