package diag

import (
	"fmt"
	"io"
	"strings"

	"github.com/rivo/uniseg"

	"gearleaf/sheet/source"
)

// Look is the style of printed diagnostics: in colours, and with source lines
// truncated to a width in columns; 0 means widestLine.
type Look struct {
	Color bool
	Width int
}

// Print writes l for people: each diagnostic with its file, line and column,
// the source line with the span marked, and the correction.
func Print(w io.Writer, l List, look Look) {
	p := printer{color: look.Color, width: look.Width}
	if p.width == 0 {
		p.width = widestLine
	}
	for i, d := range l {
		if i > 0 {
			p.b.WriteByte('\n')
		}
		p.diagnostic(d)
	}
	io.WriteString(w, p.b.String())
}

// The terminal's colours, as the sequences that switch them on.
const (
	red    = "\x1b[1;31m"
	yellow = "\x1b[1;33m"
	cyan   = "\x1b[36m"
	bold   = "\x1b[1m"
	plain  = "\x1b[0m"
)

type printer struct {
	b     strings.Builder
	color bool
	width int
}

func (p *printer) paint(color, text string) string {
	if !p.color || text == "" {
		return text
	}
	return color + text + plain
}

func (p *printer) diagnostic(d Diagnostic) {
	severity, color := "error", red
	if d.Severity == Advice {
		severity, color = "advice", yellow
	}
	code := ""
	if d.Code != "" {
		code = " [" + string(d.Code) + "]"
	}
	fmt.Fprintf(&p.b, "%s%s %s%s\n", p.place(d.File, d.Span), p.paint(color, severity+":"), visible(d.Message), code)
	p.excerpt(d.File, d.Span, color)
	for _, r := range d.Related {
		fmt.Fprintf(&p.b, "  %s%s\n", p.place(r.File, r.Span), visible(r.Message))
		p.excerpt(r.File, r.Span, cyan)
	}
	if d.Help != "" {
		fmt.Fprintf(&p.b, "  %s %s\n", p.paint(cyan, "help:"), visible(d.Help))
	}
}

// place returns "file:line:column: ".
func (p *printer) place(f *source.File, s source.Span) string {
	if f == nil {
		return ""
	}
	at := f.Position(s.Start)
	return p.paint(bold, fmt.Sprintf("%s:%d:%d:", visible(f.Name), at.Line, at.Column)) + " "
}

// excerpt writes the line in which s begins, and marks the part of s in that
// line below it.
func (p *printer) excerpt(f *source.File, s source.Span, color string) {
	if f == nil || len(f.Text) == 0 {
		return
	}
	number := f.LineOf(s.Start)
	line := f.Line(number)
	from, to := min(s.Start, line.End), min(max(s.End, s.Start), line.End)
	before := visible(f.Text[line.Start:from])
	marked := visible(f.Text[from:to])
	rest := visible(f.Text[to:line.End])
	before, marked, rest = fit(before, marked, rest, p.width-gutterWidth)
	gutter := fmt.Sprintf("%6d | ", number+1)
	carets := strings.Repeat("^", max(1, uniseg.StringWidth(marked)))
	fmt.Fprintf(&p.b, "%s%s%s%s\n", gutter, before, p.paint(color, marked), rest)
	fmt.Fprintf(&p.b, "%s| %s%s\n", strings.Repeat(" ", 7), strings.Repeat(" ", uniseg.StringWidth(before)), p.paint(color, carets))
}

// widestLine is the width of a source line with its gutter, and gutterWidth that
// of the gutter, which holds the line's number.
const (
	widestLine  = 129
	gutterWidth = 9
)

// fit truncates a long line to a width around the marked part.
func fit(before, marked, rest string, width int) (string, string, string) {
	if uniseg.StringWidth(before)+uniseg.StringWidth(marked)+uniseg.StringWidth(rest) <= width {
		return before, marked, rest
	}
	return keepEnd(before, width*3/8), keepStart(marked, width*3/8), keepStart(rest, width/4)
}

// keepStart returns the first width columns of text, with … for the rest.
func keepStart(text string, width int) string {
	if len(text) <= width {
		return text
	}
	used, rest, state := 0, text, -1
	for rest != "" {
		_, next, w, s := uniseg.FirstGraphemeClusterInString(rest, state)
		if used+w > width-1 {
			return text[:len(text)-len(rest)] + "…"
		}
		used, rest, state = used+w, next, s
	}
	return text
}

// keepEnd returns the last width columns of text, with … for the rest.
func keepEnd(text string, width int) string {
	if len(text) <= width {
		return text
	}
	var starts, widths []int
	window := text[max(0, len(text)-8*width):]
	for rest, state := window, -1; rest != ""; {
		_, next, w, s := uniseg.FirstGraphemeClusterInString(rest, state)
		starts, widths = append(starts, len(window)-len(rest)), append(widths, w)
		rest, state = next, s
	}
	used, i := 0, len(starts)
	for i > 0 && used+widths[i-1] <= width-1 {
		i--
		used += widths[i]
	}
	if i == 0 && len(window) == len(text) {
		return text
	}
	if i == len(starts) {
		return "…"
	}
	return "…" + window[starts[i]:]
}

// Visible returns the replacement of a character that a terminal would
// interpret: the picture of a control character, and a question mark for a
// character that changes the writing direction or ends a line without being a
// line end. It is r for all others.
func Visible(r rune) rune {
	switch {
	case r < ' ':
		return '␀' + r
	case r == 0x7f:
		return '␡'
	case r >= 0x80 && r < 0xa0, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069,
		r == 0x061c, r == 0x200e, r == 0x200f, r == 0x2028, r == 0x2029, r == 0xfeff:
		return '\ufffd'
	}
	return r
}

// visible replaces characters that a terminal would interpret; a tab becomes
// blanks.
func visible(text string) string {
	if plainText(text) {
		return text
	}
	var b strings.Builder
	for _, r := range text {
		if r == '\t' {
			b.WriteString("    ")
		} else {
			b.WriteRune(Visible(r))
		}
	}
	return b.String()
}

func plainText(text string) bool {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c >= 0x7f {
			return false
		}
	}
	return true
}
