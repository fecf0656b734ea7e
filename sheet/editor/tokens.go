package editor

import (
	"slices"
	"strings"
	"unicode/utf8"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// TokenTypes are the types of semantic tokens, in the order of their numbers.
var TokenTypes = []string{"variable", "property", "struct", "function", "parameter", "type", "string", "number", "keyword", "comment", "operator"}

// TokenModifiers are the modifiers, a bit each.
var TokenModifiers = []string{"declaration", "readonly", "defaultLibrary"}

// The bits of TokenModifiers.
const (
	declared = 1 << iota
	readonly
	fromLibrary
)

// Token is a coloured piece of the text, within one line.
type Token struct {
	Span      source.Span
	Type      int
	Modifiers int
}

func tokenType(name string) int { return slices.Index(TokenTypes, name) }

// kindTypes are the types of names.
var kindTypes = map[Kind]string{
	CellName: "variable", ColumnName: "property", TableName: "struct", FunctionName: "function",
	ParameterName: "parameter", UnitName: "type", TextName: "string",
}

// Tokens returns the coloured pieces of the document, in order.
func (d *Document) Tokens() []Token {
	l := &lexer{d: d, found: d.index().files[0].found, givens: d.givens(), words: keywords()}
	for i := range d.File.Lines() {
		l.line(d.File.Line(i))
	}
	return l.out
}

// givens returns the names of the cells that are given.
func (d *Document) givens() map[string]bool {
	out := map[string]bool{}
	for _, t := range d.trees() {
		for _, s := range t.Stmts {
			if c, ok := s.(*syntax.Cell); ok && c.Given {
				out[c.Name.Text] = true
			}
		}
	}
	return out
}

func keywords() map[string]bool {
	all := syntax.AllWords()
	out := map[string]bool{}
	for _, w := range slices.Concat(all.Statements, all.Reserved, all.Clauses, all.Body) {
		out[w] = true
	}
	return out
}

// lexer colours lines: names by the tree, the rest by its spelling.
type lexer struct {
	d      *Document
	found  []Occurrence // not coloured yet
	givens map[string]bool
	words  map[string]bool
	out    []Token
}

func (l *lexer) put(start, end int32, kind string, modifiers int) {
	if end > start {
		l.out = append(l.out, Token{source.Span{Start: start, End: end}, tokenType(kind), modifiers})
	}
}

func (l *lexer) line(line source.Span) {
	text := l.d.File.Text
	for at := line.Start; at < line.End; {
		for len(l.found) > 0 && l.found[0].Span.Start < at {
			l.found = l.found[1:]
		}
		if len(l.found) > 0 && l.found[0].Span.Start == at && l.found[0].Span.End <= line.End && l.found[0].Span.End > at {
			at = l.name(l.found[0])
			continue
		}
		c := text[at]
		end := at + 1
		switch {
		case c == '#':
			end = line.End
			l.put(at, end, "comment", 0)
		case c == '"':
			end = textEnd(text, at, line.End)
			l.put(at, end, "string", 0)
		case c >= '0' && c <= '9':
			end = numberEnd(text, at, line.End)
			l.put(at, end, "number", 0)
		case isWord(c):
			for end < line.End && isWord(text[end]) {
				end++
			}
			if l.words[text[at:end]] {
				l.put(at, end, "keyword", 0)
			}
		case strings.IndexByte("+-*/^<>=:|", c) >= 0:
			l.put(at, end, "operator", 0)
		default:
			_, size := utf8.DecodeRuneInString(text[at:line.End])
			end = at + int32(size)
		}
		at = end
	}
}

// name colours an occurrence and returns its end.
func (l *lexer) name(o Occurrence) int32 {
	modifiers := 0
	if o.Declares {
		modifiers |= declared
	}
	if o.Kind == CellName && l.givens[o.Name] {
		modifiers |= readonly
	}
	if o.Kind == FunctionName && !l.d.index().own[o.Name] {
		modifiers |= fromLibrary
	}
	l.put(o.Span.Start, o.Span.End, kindTypes[o.Kind], modifiers)
	return o.Span.End
}

// textEnd returns the end of the quoted text at at.
func textEnd(text string, at, end int32) int32 {
	for i := at + 1; i < end; i++ {
		if text[i] == '"' {
			if i+1 < end && text[i+1] == '"' {
				i++
				continue
			}
			return i + 1
		}
	}
	return end
}

// numberEnd returns the end of the number at at.
func numberEnd(text string, at, end int32) int32 {
	i := at
	for i < end && (text[i] >= '0' && text[i] <= '9' || text[i] == '.' && i+1 < end && text[i+1] >= '0' && text[i+1] <= '9') {
		i++
	}
	if i+1 < end && (text[i] == 'e' || text[i] == 'E') {
		j := i + 1
		if text[j] == '+' || text[j] == '-' {
			j++
		}
		if j < end && text[j] >= '0' && text[j] <= '9' {
			for j < end && text[j] >= '0' && text[j] <= '9' {
				j++
			}
			return j
		}
	}
	return i
}
