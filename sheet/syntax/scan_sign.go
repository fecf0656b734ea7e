package syntax

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// signs are the characters beyond ASCII that people paste or type, with their
// spelling in worksheets.
var signs = map[rune]struct {
	kind  kind
	right string
}{
	'×': {tokStar, "*"}, '·': {tokStar, "*"}, '⋅': {tokStar, "*"}, '∙': {tokStar, "*"},
	'÷': {tokSlash, "/"}, '∕': {tokSlash, "/"}, '⁄': {tokSlash, "/"},
	'−': {tokMinus, "-"}, '–': {tokMinus, "-"}, '—': {tokMinus, "-"}, '‐': {tokMinus, "-"}, '‑': {tokMinus, "-"},
	'≤': {tokLessEqual, "<="}, '≥': {tokGreaterEqual, ">="}, '≠': {tokNotEqual, "<>"},
	'…': {tokRange, ".."}, '∶': {tokColon, ":"}, '：': {tokColon, ":"},
}

// scanSign reads a character beyond ASCII that is not a letter.
func (p *parser) scanSign(at int) {
	r, n := utf8.DecodeRuneInString(p.text[at:])
	if r == '±' {
		p.token(tokTolerance, at, n)
		return
	}
	if s, ok := signs[r]; ok {
		p.token(s.kind, at, n)
		p.spelling(at, n, s.right, "")
		return
	}
	span := source.Span{Start: int32(at), End: int32(at + n)}
	switch {
	case r == '“' || r == '”' || r == '„' || r == '«' || r == '»':
		p.curlyText(at, n)
	case unicode.IsSpace(r) || r == '\ufeff' || r == '\u200b':
		p.report(diag.CharacterBlank, span, fmt.Sprintf("this blank is the character U+%04X", r), "write an ordinary blank", replace(span, " "))
		p.token(tokNothing, at, n)
	case r == '²' || r == '³':
		p.token(tokJunk, at, n)
		digit := map[rune]string{'²': "2", '³': "3"}[r]
		p.report(diag.OperatorSpelling, span, "found "+string(r)+", which worksheets write ^"+digit, "", replace(span, "^"+digit))
		p.failed = true
	default:
		p.strange(at, n, "")
	}
}

// curlyText reads a text in typographic quotes, up to the next such quote.
func (p *parser) curlyText(at, n int) {
	line := p.text[at+n:]
	if end := strings.IndexByte(line, '\n'); end >= 0 {
		line = line[:end]
	}
	end := strings.IndexAny(line, "“”„«»\"")
	if end < 0 {
		p.strange(at, n, `write a text in straight quotes: "…"`)
		return
	}
	_, m := utf8.DecodeRuneInString(line[end:])
	p.tok.kind, p.tok.text = tokText, line[:end]
	p.pos = at + n + end + m
	span := source.Span{Start: int32(at), End: int32(p.pos)}
	p.report(diag.QuoteStyle, span, "this text is in typographic quotes", `write a text in straight quotes: "…"`, replace(span, Quote(p.tok.text)))
}

// junkHelp is the help for invalid ASCII characters.
var junkHelp = map[byte]string{
	'{':  "brackets are round: ( )",
	'}':  "brackets are round: ( )",
	';':  "one line is one statement, without a sign at its end",
	'!':  "write not",
	'&':  "write and",
	'%':  "the remainder of a division is mod(a, b); write a percent directly after its number",
	'$':  "write money with its three letters after the number",
	'?':  "a choice is written if … then … else …",
	'~':  "",
	'@':  "",
	'\\': "",
	'`':  "",
}

// scanJunk reads an ASCII character that is not valid in a worksheet.
func (p *parser) scanJunk(at int, c byte) {
	switch {
	case c == '\'':
		p.apostropheText(at)
	case c < ' ' || c == 0x7f:
		p.controlCharacter(at)
		p.token(tokNothing, at, 1)
	default:
		p.strange(at, 1, junkHelp[c])
	}
}

// apostropheText reads a text between apostrophes.
func (p *parser) apostropheText(at int) {
	end := at + 1
	for end < len(p.text) && p.text[end] != '\'' && p.text[end] != '\n' && p.text[end] != '"' {
		end++
	}
	if p.at(end) != '\'' {
		p.strange(at, 1, `write a text in double quotes: "…"`)
		return
	}
	p.tok.kind, p.tok.text, p.pos = tokText, p.text[at+1:end], end+1
	span := source.Span{Start: int32(at), End: int32(p.pos)}
	p.report(diag.QuoteStyle, span, "this text is between apostrophes", `write a text in double quotes: "…"`, replace(span, Quote(p.tok.text)))
}

// strange reports the character of n bytes at at and skips the rest of the
// statement.
func (p *parser) strange(at, n int, help string) {
	span := source.Span{Start: int32(at), End: int32(at + n)}
	p.token(tokJunk, at, n)
	var repairs []diag.Repair
	if p.text[at] == ';' {
		repairs = append(repairs, replace(span, ""))
	}
	p.report(diag.CharacterStrange, span, "the character "+p.text[at:at+n]+" has no place here", help, repairs...)
	p.failed = true // errors after it would only be its consequences
}

// controlCharacter reports the byte at at.
func (p *parser) controlCharacter(at int) {
	span := source.Span{Start: int32(at), End: int32(at + 1)}
	p.report(diag.CharacterControl, span, fmt.Sprintf("there is a control character (0x%02X) here", p.text[at]), "remove it", replace(span, ""))
}
