package chart

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
)

// Inline returns one chart as an SVG element for a page, width by height
// pixels. Its colours are classes, which the page's style sheet sets: ink,
// muted, grid, and s0, s1 … for the series. The script of the page makes the
// same text.
func Inline(c Chart, width, height int) string {
	var s inline
	c.draw(&s, c.frameOf(0, float64(width), float64(height)))
	head := fmt.Sprintf(`<svg viewBox="0 0 %d %d" role="img" aria-label="%s">`, width, height, escape(c.Title))
	return head + s.rules.elements(`<path class="%s" d="`, `"/>`) + s.bars.elements(`<path class="%s" d="`, `"/>`) + s.lines.String() + s.dots.elements(`<path class="dot %s" d="`, `"/>`) +
		s.texts.elements(`<g class="%s>`, "</g>") + "</svg>"
}

// inline is a canvas that writes a few large SVG elements with classes: the
// rules of one colour are one path, so are the dots, and texts of the same
// style are a group.
type inline struct {
	rules, bars, dots, texts layers
	lines                    bytes.Buffer
}

// layers are elements by their class, in order of first use.
type layers struct {
	keys []string
	text map[string]string
}

func (l *layers) add(key, text string) {
	if l.text == nil {
		l.text = map[string]string{}
	}
	if _, known := l.text[key]; !known {
		l.keys = append(l.keys, key)
	}
	l.text[key] += text
}

// elements writes an element for each key, with the key inserted in head.
func (l *layers) elements(head, tail string) string {
	var out strings.Builder
	for _, key := range l.keys {
		out.WriteString(fmt.Sprintf(head, key) + l.text[key] + tail)
	}
	return out.String()
}

// tenth writes a coordinate to a tenth of a pixel.
func tenth(v float64) string {
	return strconv.FormatFloat(float64(int(v*10+0.5))/10, 'f', -1, 64)
}

// class returns the class of a colour.
func (c colour) class() string {
	switch c {
	case ink:
		return "ink"
	case muted:
		return "muted"
	case grid:
		return "grid"
	}
	for i, other := range lines {
		if other == c {
			return fmt.Sprintf("s%d", i)
		}
	}
	return "ink"
}

func (s *inline) rule(x1, y1, x2, y2 float64, c colour) {
	s.rules.add(c.class(), "M"+tenth(x1)+" "+tenth(y1)+"L"+tenth(x2)+" "+tenth(y2))
}

func (s *inline) line(points []point, c colour, dash []float64) {
	fmt.Fprintf(&s.lines, `<path class="line %s" d="`, c.class())
	for i, p := range points {
		s.lines.WriteByte("ML"[min(i, 1)])
		s.lines.WriteString(tenth(p.x) + " " + tenth(p.y))
	}
	s.lines.WriteByte('"')
	if dash != nil {
		parts := make([]string, len(dash))
		for i, d := range dash {
			parts[i] = tenth(d)
		}
		fmt.Fprintf(&s.lines, ` stroke-dasharray="%s"`, strings.Join(parts, " "))
	}
	s.lines.WriteString("/>")
}

// dot is a line without length, whose round caps are the dot.
func (s *inline) dot(p point, c colour) { s.dots.add(c.class(), "M"+tenth(p.x)+" "+tenth(p.y)+"h0") }

func (s *inline) bar(x, from, to, width float64, c colour) {
	s.bars.add(c.class()+`" stroke-width="`+tenth(width), "M"+tenth(x)+" "+tenth(from)+"V"+tenth(to))
}

func (s *inline) words(p point, text string, size float64, bold bool, a anchor, c colour) {
	weight := ""
	if bold {
		weight = ` font-weight="bold"`
	}
	look := fmt.Sprintf(`%s" font-size="%s"%s text-anchor="%s"`, c.class(), tenth(size), weight, [...]string{"start", "middle", "end"}[a])
	s.texts.add(look, fmt.Sprintf(`<text x="%s" y="%s">%s</text>`, tenth(p.x), tenth(p.y), escape(text)))
}

func (s *inline) upright(p point, text string, size float64, c colour) {
	s.turned(p, text, size, "middle", c)
}

func (s *inline) hanging(p point, text string, size float64, c colour) {
	s.turned(p, text, size, "end", c)
}

// turned writes a text that reads upwards.
func (s *inline) turned(p point, text string, size float64, anchor string, c colour) {
	look := fmt.Sprintf(`%s" font-size="%s" text-anchor="%s"`, c.class(), tenth(size), anchor)
	s.texts.add(look, fmt.Sprintf(`<text transform="translate(%s %s) rotate(-90)">%s</text>`, tenth(p.x), tenth(p.y), escape(text)))
}
