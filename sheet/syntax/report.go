package syntax

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// report records an error; reading continues as if the statement were repaired.
func (p *parser) report(code diag.Code, span source.Span, message, help string, repairs ...diag.Repair) {
	p.wrong = true
	if p.failed {
		return
	}
	p.errors++
	switch {
	case p.errors == source.MaxErrors+1:
		code, message, help, repairs = diag.TooManyErrors, fmt.Sprintf("more than %d errors: the rest is not listed", source.MaxErrors), "", nil
	case p.errors > source.MaxErrors:
		return
	}
	p.list.Add(diag.Diagnostic{Code: code, File: p.file, Span: span, Message: message, Help: help, Repairs: repairs})
}

// retract removes the diagnostics about the spelling of words within span: they
// are not names.
func (p *parser) retract(span source.Span) {
	for len(p.list) > 0 {
		last := p.list[len(p.list)-1]
		if last.Code != diag.NameCase && last.Code != diag.NameLetters || last.Span.Start < span.Start || last.Span.End > span.End {
			return
		}
		p.list = p.list[:len(p.list)-1]
		p.errors--
	}
}

// fail records an error and skips the rest of the statement.
func (p *parser) fail(code diag.Code, span source.Span, message, help string, repairs ...diag.Repair) {
	p.report(code, span, message, help, repairs...)
	p.failed = true
	p.skipRest()
}

// replace is the repair that puts text in the place of span.
func replace(span source.Span, text string) diag.Repair {
	title := "write " + text
	if text == "" {
		title = "remove it"
	} else if strings.TrimSpace(text) == "" {
		title = "put one blank there"
	}
	return diag.Repair{Title: title, Edits: []diag.Edit{{Span: span, New: text}}}
}

// insert is the repair that adds text at at.
func insert(at int32, text string) diag.Repair {
	return diag.Repair{
		Title: "add " + strings.TrimSpace(text),
		Edits: []diag.Edit{{Span: source.Span{Start: at, End: at}, New: text}},
	}
}

// wrap is the repair that puts before and after around span.
func wrap(span source.Span, before, after string) diag.Repair {
	return diag.Repair{Title: "put " + before + " " + after + " around it", Edits: []diag.Edit{
		{Span: source.Span{Start: span.Start, End: span.Start}, New: before},
		{Span: source.Span{Start: span.End, End: span.End}, New: after},
	}}
}

// count returns "3 fields".
func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// found describes the current token.
func (p *parser) found() string {
	switch p.tok.kind {
	case tokName, tokNumber, tokText:
		return clip(p.file.Slice(p.tok.span))
	}
	return kindText[p.tok.kind]
}

// clip shortens text for a message.
func clip(text string) string {
	if utf8.RuneCountInString(text) <= 40 {
		return text
	}
	return string([]rune(text)[:39]) + "…"
}

// nearest returns the word of words that text misspells, or "".
func nearest(text string, words []string) string {
	best, least := "", 3
	for _, w := range words {
		if d := distance(text, w); d < least && d*3 <= len(w) {
			best, least = w, d
		}
	}
	return best
}

// distance returns the number of letters to change, add, drop or swap with
// their neighbour that turn a into b; long texts are far from everything.
func distance(a, b string) int {
	if len(a) > 30 || len(b) > 30 {
		return 30
	}
	var rows [3][32]int
	for j := range len(b) + 1 {
		rows[1][j] = j
	}
	for i := range len(a) {
		row, up, upper := &rows[(i+2)%3], &rows[(i+1)%3], &rows[i%3]
		row[0] = i + 1
		for j := range len(b) {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			row[j+1] = min(up[j]+cost, up[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], upper[j-1]+1)
			}
		}
	}
	return rows[(len(a)+1)%3][len(b)]
}
