package main

import (
	"io"
	"os"
	"strings"

	"github.com/rivo/uniseg"
	"golang.org/x/term"
)

// pipedWidth is the width of a page where there is no terminal to ask.
const pipedWidth = 80

// A terminal wider than widest is not filled: lines get too long to read.
const widest = 120

// page is the output of a command, and its width.
type page struct {
	w     io.Writer
	width int
	color bool
}

// newPage returns the page for w: only a terminal has a width and colours.
func newPage(w io.Writer) page {
	p := page{w: w, width: pipedWidth}
	f := terminalOf(w)
	if f == nil {
		return p
	}
	if columns, _, err := term.GetSize(int(f.Fd())); err == nil && columns >= 40 {
		p.width = min(columns, widest)
	}
	p.color = wantsColor(os.Getenv("NO_COLOR"), os.Getenv("TERM"))
	return p
}

// colored reports whether diagnostics may be coloured on w.
func colored(w io.Writer) bool { return newPage(w).color }

func wantsColor(noColor, term string) bool { return noColor == "" && term != "dumb" }

// paint returns text in the colour of a terminal's code, where the page has any.
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

// width returns the columns that text takes on a terminal.
func width(text string) int {
	if strings.Contains(text, ours) {
		text = ownColors.ReplaceAllString(text, "")
	}
	return uniseg.StringWidth(text)
}

// padRight and padLeft fill text with blanks on the named side up to n columns.
func padRight(text string, n int) string { return text + blanks(n-width(text)) }

func padLeft(text string, n int) string { return blanks(n-width(text)) + text }

func blanks(n int) string { return strings.Repeat(" ", max(0, n)) }

// cut shortens text to n columns, the last of them … where something is gone.
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
