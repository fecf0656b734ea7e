package main

import (
	"io"
	"os"
	"regexp"
	"strconv"
	"strings"

	"github.com/rivo/uniseg"
	"golang.org/x/term"
)

// pipedWidth is the width of a page if neither a terminal nor COLUMNS sets it.
const pipedWidth = 80

// The narrowest and the widest page. On a wider terminal lines would get too
// long to read.
const (
	narrowest = 40
	widest    = 120
)

// page is the output of a command, and its width.
type page struct {
	w     io.Writer
	width int
	color bool
}

// newPage returns the page for w; only a terminal has colours.
func newPage(w io.Writer) page {
	p := page{w: w, width: pipedWidth}
	if columns, known := columnsOf(w); known {
		p.width = columns
	}
	p.color = isTerminal(w) && wantsColor(os.Getenv("NO_COLOR"), os.Getenv("TERM"))
	return p
}

// columnsOf returns the width of the terminal that w writes to. Otherwise it is
// the value of COLUMNS (POSIX.1, 8.3), if that is set.
func columnsOf(w io.Writer) (columns int, known bool) {
	if f := terminalOf(w); f != nil {
		columns, _, _ = term.GetSize(int(f.Fd()))
	}
	if columns <= 0 {
		columns, _ = strconv.Atoi(os.Getenv("COLUMNS"))
	}
	return min(max(columns, narrowest), widest), columns > 0
}

func wantsColor(noColor, term string) bool { return noColor == "" && term != "dumb" }

// paint returns text in the colour of a terminal's code, if the page has
// colours.
func (p page) paint(text, code string) string {
	if !p.color || text == "" {
		return text
	}
	return own("["+code+"m") + text + own("[0m")
}

func (p page) bold(text string) string  { return p.paint(text, "1") }
func (p page) quiet(text string) string { return p.paint(text, "2") }
func (p page) alarm(text string) string { return p.paint(text, "1;31") }
func (p page) warn(text string) string  { return p.paint(text, "1;33") }

// escapes are the sequences that switch colours.
var escapes = regexp.MustCompile(`\x1b\[[0-9;]*m`)

// width returns the columns that text takes on a terminal.
func width(text string) int {
	if strings.Contains(text, ours) {
		text = ownColors.ReplaceAllString(text, "")
	}
	if strings.Contains(text, "\x1b") {
		text = escapes.ReplaceAllString(text, "")
	}
	return uniseg.StringWidth(text)
}

// folded breaks a line that is wider than n columns between its words.
// Continued lines are indented further. A wider word, such as an address, is
// kept whole, so it can be copied.
func folded(line string, n int) []string {
	if width(line) <= n {
		return []string{line}
	}
	margin := line[:len(line)-len(strings.TrimLeft(line, " "))]
	var out []string
	at, rest := margin, line[len(margin):]
	further := blanks(min(len(margin)+2, n/2))
	for gap := ""; rest != ""; {
		word := rest
		if end := strings.IndexByte(rest, ' '); end >= 0 {
			word = rest[:end]
		}
		rest = rest[len(word):]
		if width(at)+len(gap)+width(word) > n && strings.TrimLeft(at, " ") != "" {
			out = append(out, at)
			at, gap = further, ""
		}
		at += gap + word
		gap = rest[:len(rest)-len(strings.TrimLeft(rest, " "))]
		rest = rest[len(gap):]
	}
	return append(out, at)
}

// padRight and padLeft fill text with blanks on the named side up to n columns.
func padRight(text string, n int) string { return text + blanks(n-width(text)) }

func padLeft(text string, n int) string { return blanks(n-width(text)) + text }

func blanks(n int) string { return strings.Repeat(" ", max(0, n)) }

// cut truncates text to n columns; … ends a truncated text.
func cut(text string, n int) string {
	if width(text) <= n {
		return text
	}
	out, at := "", 0
	graphemes := uniseg.NewGraphemes(text)
	for graphemes.Next() {
		if at += graphemes.Width(); at > n-1 {
			break
		}
		out += graphemes.Str()
	}
	return strings.TrimRight(out, " ") + "…"
}

// wrap breaks text between words into lines of at most n columns; a word that
// is longer is cut.
func wrap(text string, n int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(text) {
		word = cut(word, n)
		switch {
		case line == "":
			line = word
		case width(line)+1+width(word) <= n:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}
