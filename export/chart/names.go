package chart

import "strings"

// Sizes of the names below bars.
const (
	nameSize  = 11
	nameChar  = 6.6 // width of a character
	nameLine  = 13.0
	nameLines = 3    // of a name that reads across
	nameGap   = 6    // pixels between neighbours
	mostOf    = 0.35 // of the height of a chart, for names that read upwards
)

// names are the names below bars: across in a few lines, or, if one does not fit,
// upwards; every step-th has room.
type names struct {
	lines  [][]string
	upward bool
	step   int
	high   float64 // more than a line across
}

// namesFor returns the names of c's places for a chart of that size.
func (c Chart) namesFor(width, height float64) names {
	room := (width - left - right) / float64(max(1, len(c.Places)))
	n := names{step: 1}
	for _, p := range c.Places {
		lines := wrapped(p, int((room-nameGap)/nameChar))
		if lines == nil {
			return c.upwardNames(room, height)
		}
		n.lines = append(n.lines, lines)
		n.high = max(n.high, nameLine*float64(len(lines)-1))
	}
	return n
}

// upwardNames returns names that read upwards, long ones without their middle.
func (c Chart) upwardNames(room, height float64) names {
	n := names{upward: true, step: 1}
	for float64(n.step)*room < nameLine {
		n.step++
	}
	for _, p := range c.Places {
		text := shortened([]rune(p), int(height*mostOf/nameChar))
		n.lines = append(n.lines, []string{text})
		n.high = max(n.high, nameChar*float64(len([]rune(text)))-nameLine)
	}
	return n
}

// wrapped divides a text into lines of so many characters, nil if it takes too many
// or a word is longer.
func wrapped(text string, chars int) []string {
	var lines []string
	for _, word := range strings.Fields(text) {
		last := len(lines) - 1
		switch size := len([]rune(word)); {
		case size > chars:
			return nil
		case last >= 0 && len([]rune(lines[last]))+1+size <= chars:
			lines[last] += " " + word
		case len(lines) == nameLines:
			return nil
		default:
			lines = append(lines, word)
		}
	}
	if lines == nil {
		lines = []string{""}
	}
	return lines
}

// shortened leaves out the middle of a long text: names often differ at their ends.
func shortened(text []rune, most int) string {
	if len(text) <= most {
		return string(text)
	}
	end := most / 2
	return string(text[:most-1-end]) + "…" + string(text[len(text)-end:])
}

// draw writes the names below the axis at y.
func (n names) draw(on canvas, px func(float64) float64, y float64) {
	for i, lines := range n.lines {
		if i%n.step != 0 {
			continue
		}
		x := px(float64(i))
		if n.upward {
			on.hanging(point{x + nameSize/3.0, y + 8}, lines[0], nameSize, muted)
			continue
		}
		for k, line := range lines {
			on.words(point{x, y + 18 + nameLine*float64(k)}, line, nameSize, false, middle, muted)
		}
	}
}
