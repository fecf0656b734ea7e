package syntax

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// admit refuses the whole input if it is not text or exceeds the bound.
func (p *parser) admit() bool {
	span := source.Span{}
	long, bytes := longLine(p.text)
	switch {
	case len(p.text) > source.MaxFileBytes:
		p.report(diag.FileLong, span, fmt.Sprintf("this worksheet has %d bytes; the bound is %d", len(p.text), source.MaxFileBytes), "")
	case !utf8.ValidString(p.text):
		at := firstInvalid(p.text)
		span = source.Span{Start: int32(at), End: int32(at + 1)}
		p.report(diag.FileEncoding, span, fmt.Sprintf("this byte (0x%02X) is not UTF-8 text", p.text[at]), "save the worksheet as UTF-8")
	case bytes > 0:
		span = source.Span{Start: int32(long), End: int32(long + 1)}
		p.report(diag.LineLong, span, fmt.Sprintf("this line has %d bytes; the bound is %d", bytes, source.MaxLineBytes), "a list continues in the next line after a comma, a comment after another #")
	default:
		return true
	}
	p.refuseWhole()
	return false
}

// refuseWhole makes the whole text one statement that cannot be read.
func (p *parser) refuseWhole() {
	whole := source.Span{Start: 0, End: int32(min(len(p.text), source.MaxFileBytes))}
	p.sheet.Stmts = []Stmt{&Bad{Lead{Span: whole, Remarks: noRemarks}}}
	p.sheet.broken = []source.Span{whole}
}

// longLine returns the start of the first line over the bound and its number of
// bytes, 0 if there is none.
func longLine(text string) (at, bytes int) {
	for len(text)-at > source.MaxLineBytes {
		line, _, _ := strings.Cut(text[at:], "\n")
		if bytes := len(strings.TrimSuffix(line, "\r")); bytes > source.MaxLineBytes {
			return at, bytes
		}
		at += len(line) + 1
	}
	return 0, 0
}

func firstInvalid(text string) int {
	for i, r := range text {
		if r == utf8.RuneError {
			if _, n := utf8.DecodeRuneInString(text[i:]); n == 1 {
				return i
			}
		}
	}
	return len(text)
}

// line moves to the next line with more than a comment and collects the
// comments before it. It reports false at the end of the text. If called again
// before begin, it returns the same result.
func (p *parser) line() (indented, ok bool) {
	if p.ahead {
		return p.indented, p.pos < len(p.text)
	}
	p.ahead, p.failed = true, false
	for p.pos < len(p.text) {
		start := p.pos
		at := p.skip(start)
		switch {
		case p.at(at) == '#':
			p.above = append(p.above, p.readComment(at))
			p.pos = p.lineAfter(at)
		case p.lineEnds(at):
			p.loose = append(p.loose, p.above...)
			p.above = p.above[:0]
			p.pos = p.lineAfter(at)
		default:
			p.pos, p.indented = at, at > start
			return p.indented, true
		}
	}
	return false, false
}

// readComment returns the comment at at.
func (p *parser) readComment(at int) Comment {
	p.checkComment(at)
	text := strings.TrimRight(p.text[at+1:p.lineAfter(at)], " \t\r\n")
	return Comment{Span: source.Span{Start: int32(at), End: int32(at + 1 + len(text))}, Text: strings.TrimPrefix(text, " ")}
}

// checkComment reports control characters in the comment at at.
func (p *parser) checkComment(at int) {
	for ; at < len(p.text) && p.text[at] != '\n'; at++ {
		if c := p.text[at]; c < ' ' && c != '\t' && (c != '\r' || p.at(at+1) != '\n') {
			p.controlCharacter(at)
		}
	}
}

// begin starts a statement, or a line of a block, at the place that line has
// found, reads its first token and returns its start.
func (p *parser) begin() int32 {
	start := int32(p.pos)
	p.ahead, p.wrong, p.failed = false, false, false
	p.brackets = 0
	p.tok = token{kind: tokEnd}
	p.depth, p.operators = 0, 0
	p.next()
	return start
}

// finish ends the statement that began at start: nothing may follow on its
// line but a comment.
func (p *parser) finish(l *Lead, start int32) {
	p.expectEnd()
	l.Span = source.Span{Start: start, End: max(start, p.last)}
	if p.wrong {
		l.Span.End = int32(len(strings.TrimRight(p.text[:p.pos], " \t")))
		p.sheet.broken = append(p.sheet.broken, source.Span{Start: start, End: int32(p.pos)})
	}
	l.Remarks = p.takeRemarks()
}

// takeRemarks returns the comments around the current statement and moves to
// the next line.
func (p *parser) takeRemarks() *Remarks {
	r := noRemarks
	if len(p.above) > 0 {
		r = p.remarks.one()
		r.Above = p.comments.list(p.above)
		p.above = p.above[:0]
	}
	p.loose = p.loose[:0]
	if p.at(p.pos) == '#' {
		if r == noRemarks {
			r = p.remarks.one()
		}
		r.Trailing = p.comments.one()
		*r.Trailing = p.readComment(p.pos)
	}
	p.pos = p.lineAfter(p.pos)
	return r
}

// tail returns the comments that follow the last line of a block and
// begin with a blank, as the block's lines do.
func (p *parser) tail() []Comment {
	all := append(append([]Comment(nil), p.loose...), p.above...)
	n := 0
	for n < len(all) && all[n].Span.Start > 0 && class[p.text[all[n].Span.Start-1]] == classBlank {
		n++
	}
	if n == 0 {
		return nil
	}
	if n >= len(p.loose) {
		p.above = append(p.above[:0], all[n:]...)
		p.loose = p.loose[:0]
	} else {
		p.loose = append(p.loose[:0], all[n:len(p.loose)]...)
	}
	return all[:n]
}

// expectEnd reports anything after the end of a statement.
func (p *parser) expectEnd() {
	if p.tok.kind != tokEnd {
		p.extra()
	}
}
