package main

import (
	"io"
	"os"
	"regexp"
	"strings"

	"github.com/fatih/color"
	"github.com/rivo/uniseg"
	"golang.org/x/term"
)

// pipedWidth is the width of a page where there is no terminal to ask.
const pipedWidth = 80

// A terminal wider than widest is not filled: lines get too long to read.
const widest = 120

// page is where a command writes what it computed, and how wide that may be.
type page struct {
	w     io.Writer
	width int
	color bool
}

// newPage looks at w: only a terminal has a width and colours.
func newPage(w io.Writer) page {
	p := page{w: w, width: pipedWidth}
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
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

// paint returns text in a colour where the page has any.
func (p page) paint(text string, attributes ...color.Attribute) string {
	if !p.color || text == "" {
		return text
	}
	c := color.New(attributes...)
	c.EnableColor()
	return c.Sprint(text)
}

func (p page) bold(text string) string  { return p.paint(text, color.Bold) }
func (p page) quiet(text string) string { return p.paint(text, color.Faint) }
func (p page) alarm(text string) string { return p.paint(text, color.Bold, color.FgRed) }
func (p page) warn(text string) string  { return p.paint(text, color.Bold, color.FgYellow) }

// escapes are the colours that paint puts around a text.
var escapes = regexp.MustCompile("\x1b\\[[0-9;]*m")

// width returns the columns that text takes on a terminal.
func width(text string) int {
	if strings.Contains(text, "\x1b") {
		text = escapes.ReplaceAllString(text, "")
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
