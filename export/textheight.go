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

// wrapped counts the lines of a text that is broken between words. The width of
// a column is measured in digits of 11 points, about one of which is its margins;
// letters are narrower on average, which is a reserve.
func wrapped(text string, width int) int {
	lines, chars := 0, max(1, int((float64(width)-1)*11/smallestFont))
	for _, part := range strings.Split(text, "\n") {
		lines++
		used := 0
		for _, word := range strings.Fields(part) {
			n := utf8.RuneCountInString(word)
			if used > 0 && used+1+n > chars {
				lines, used = lines+1, 0
			}
			for used == 0 && n > chars {
				lines, n = lines+1, n-chars
			}
			if used > 0 {
				used++
			}
			used += n
		}
	}
	return lines
}
