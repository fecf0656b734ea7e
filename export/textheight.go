package export

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"gearleaf/sheet/check"
)

func (wb *workbook) textOf(c *check.Cell) string {
	v := wb.r.Cell(c)
	if c.Type.Form != check.Text || v.IsBlank() || v.IsFault() {
		return ""
	}
	return wb.m.Texts[int(v.V)]
}

// valueWidth returns the characters that a value needs, with space for one more
// digit and a sign.
func (wb *workbook) valueWidth(q *check.Quantity, v float64, text string) int {
	switch {
	case q.Type.Form == check.Text:
		return utf8.RuneCountInString(text)
	case v != v:
		return 8
	}
	f := format(q, v)
	if q.Given {
		f = strings.TrimRight(f, "#") // an entry with more digits shrinks
	}
	return numberWidth(f, v)
}

// numberWidth returns the characters that a number needs in a number format, with
// space for one more digit and a sign; in General, which takes fewer digits in a
// narrow column, ten of its digits.
func numberWidth(format string, v float64) int {
	if format == "" || format == general {
		return len(strconv.FormatFloat(v, 'g', 10, 64)) + 1
	}
	if strings.Contains(format, "E") {
		return 12
	}
	_, fraction, _ := strings.Cut(strings.TrimSuffix(format, "%"), ".")
	width := len(strconv.FormatFloat(math.Abs(v), 'f', len(fraction), 64)) + 2
	if strings.HasSuffix(format, "%") {
		width++
	}
	return width
}

// heightOf returns the height of a text in a column so many characters wide, 0 for
// one line.
func heightOf(text string, width int) float64 {
	lines := wrapped(text, width)
	if lines == 1 {
		return 0
	}
	return min(float64(lineHeight*float64(lines))+1, 400) // no row is higher than 409
}

// lineHeight is the height of a line of text in points.
const lineHeight = smallestFont * 1.28

// wrapped counts the lines of a text that is broken between words, in a column so
// many characters wide.
func wrapped(text string, width int) int {
	// A column's width counts digits of 7 pixels, and five pixels are its margins.
	room := max(1, (float64(7*float64(width))-5)/digitPixels)
	lines := 0
	for _, part := range strings.Split(text, "\n") {
		lines++
		used := 0.0
		for _, word := range strings.Fields(part) {
			n := float64(textWidth(word))
			if used > 0 && used+spaceWidth+n > room {
				lines, used = lines+1, 0
			}
			for used == 0 && n > room {
				lines, n = lines+1, n-room
			}
			if used > 0 {
				used += spaceWidth
			}
			used += n
		}
	}
	return lines
}

// digitPixels is the width of a digit of the text on paper in pixels, and spaceWidth
// that of a space in digits.
const (
	digitPixels = smallestFont / 0.75 * 0.507
	spaceWidth  = 0.44
)

// letterWidths are the widths of Calibri's characters from the space to the tilde: a
// character each, whose code is 22 more than fifty times its width in digits.
const letterWidths = ",6>GH]Y,44GG/4/<HHHHHHHHHH00GGGDnOLKSFCTS/5I?jVWIXLCFUNnIFD4<4GG3EJ@JG4DJ-.C-eJJJJ8=7JC]AC=5C5G"

// textWidth returns the width of a text in digits, with a reserve for other fonts.
func textWidth(text string) float64 {
	wide := 0.0
	for _, r := range text {
		if ' ' <= r && r <= '~' {
			wide += float64(letterWidths[r-' ']-22) / 50
		} else {
			wide++
		}
	}
	return wide * 1.02
}
