package syntax

import "strings"

// continuation returns the place at which the statement continues after the
// line that ends at at, or -1 if it ends there. After a trailing comma or in
// an open bracket it continues; a line that begins another statement never
// belongs to them.
func (p *parser) continuation(at int) int {
	if p.brackets == 0 && p.tok.kind != tokComma {
		return -1
	}
	for at < len(p.text) {
		if p.text[at] == '#' {
			p.checkComment(at)
		}
		at = p.lineAfter(at)
		indent := at
		at = p.skip(at)
		if p.lineEnds(at) {
			continue
		}
		if p.beginsStatement(at, at > indent) {
			return -1
		}
		return at
	}
	return -1
}

// lineAfter returns the start of the line below the one that holds i.
func (p *parser) lineAfter(i int) int {
	if p.at(i) == '\n' {
		return i + 1
	}
	if n := strings.IndexByte(p.text[i:], '\n'); n >= 0 {
		return i + n + 1
	}
	return len(p.text)
}

// beginsStatement reports whether the line whose first word is at i can
// only be a statement: `name :`, `name =`, `table.column[…] :`, a statement
// word with what follows it, a function's last line, a row of a grid.
func (p *parser) beginsStatement(i int, indented bool) bool {
	switch c := p.text[i]; {
	case c == '=':
		return p.inFunction
	case c == '|':
		return p.inTable
	case class[c] != classLower && class[c] != classUpper:
		return false
	}
	end := p.wordEnd(i)
	at := p.skip(end)
	switch p.at(at) {
	case ':':
		return !(p.inParams && indented)
	case '=':
		return true
	case '.':
		return p.overrideAt(at)
	}
	return p.statementWordAt(i, end)
}

// wordEnd returns the end of the word at i.
func (p *parser) wordEnd(i int) int {
	for i < len(p.text) && (class[p.text[i]] == classLower || class[p.text[i]] == classUpper || class[p.text[i]] == classDigit) {
		i++
	}
	return i
}

// overrideAt reports whether `.column[…] :` is at i.
func (p *parser) overrideAt(i int) bool {
	i = p.skip(p.wordEnd(p.skip(i + 1)))
	if p.at(i) != '[' {
		return false
	}
	for i < len(p.text) && p.text[i] != ']' && p.text[i] != '\n' {
		i++
	}
	return p.at(i) == ']' && p.at(p.skip(i+1)) == ':'
}

// statementWordAt reports whether the word from i to end is a statement word,
// followed by a valid continuation of such a statement. A cell may have the
// same name, so an operator or a comma after the word makes it a name.
func (p *parser) statementWordAt(i, end int) bool {
	at := p.skip(end)
	c := p.at(at)
	name := class[c] == classLower || class[c] == classUpper
	switch p.text[i:end] {
	case "title", "caution", "note", "section", "use", "source":
		return c == '"'
	case "chart":
		return c == '"' || name && wordOf(p.text[at:p.wordEnd(at)]) == noWord
	case "table", "function", "unit", "correlate":
		return name && wordOf(p.text[at:p.wordEnd(at)]) == noWord
	case "limit", "advise":
		return isDigit(c) || c == '"' || c == '(' && at > end || name && !infixWord(p.text[at:p.wordEnd(at)])
	case "valid", "example":
		return p.inFunction && name && !infixWord(p.text[at:p.wordEnd(at)])
	}
	return false
}

// infixWord reports whether a formula continues with text after an operand.
func infixWord(text string) bool {
	switch wordOf(text) {
	case wordAnd, wordOr, wordThen, wordElse, wordAs, wordTo, wordRange, wordChoice, wordSd, wordStart, wordUntil:
		return true
	}
	return false
}
