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
	fmt.Fprintf(&s.b, `<svg viewBox="0 0 %d %d" role="img" aria-label="%s">`, width, height, escape(c.Title))
	c.draw(&s, c.frameOf(0, float64(width), float64(height)))
	s.b.WriteString("</svg>")
	return s.b.String()
}

// inline is a canvas that writes SVG elements with classes.
type inline struct{ b bytes.Buffer }

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
	fmt.Fprintf(&s.b, `<path class="%s" d="M%s %sL%s %s"/>`, c.class(), tenth(x1), tenth(y1), tenth(x2), tenth(y2))
}

func (s *inline) line(points []point, c colour, dash []float64) {
	fmt.Fprintf(&s.b, `<path class="line %s" d="`, c.class())
	for i, p := range points {
		s.b.WriteByte("ML"[min(i, 1)])
		s.b.WriteString(tenth(p.x) + " " + tenth(p.y))
	}
	s.b.WriteByte('"')
	if dash != nil {
		parts := make([]string, len(dash))
		for i, d := range dash {
			parts[i] = tenth(d)
		}
		fmt.Fprintf(&s.b, ` stroke-dasharray="%s"`, strings.Join(parts, " "))
	}
	s.b.WriteString("/>")
}

func (s *inline) dot(p point, c colour) {
	fmt.Fprintf(&s.b, `<circle class="dot %s" cx="%s" cy="%s" r="3"/>`, c.class(), tenth(p.x), tenth(p.y))
}

func (s *inline) words(p point, text string, size float64, bold bool, a anchor, c colour) {
	weight := ""
	if bold {
		weight = ` font-weight="bold"`
	}
	fmt.Fprintf(&s.b, `<text class="%s" x="%s" y="%s" font-size="%s"%s text-anchor="%s">%s</text>`,
		c.class(), tenth(p.x), tenth(p.y), tenth(size), weight, [...]string{"start", "middle", "end"}[a], escape(text))
}

func (s *inline) upright(p point, text string, size float64, c colour) {
	fmt.Fprintf(&s.b, `<text class="%s" transform="translate(%s %s) rotate(-90)" font-size="%s" text-anchor="middle">%s</text>`,
		c.class(), tenth(p.x), tenth(p.y), tenth(size), escape(text))
}
