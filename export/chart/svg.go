package chart

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// WriteSVG writes the charts one below the other as one SVG 1.1 document. The
// same charts give the same bytes.
func WriteSVG(w io.Writer, charts []Chart) error {
	var s svg
	height := Height * max(1, len(charts))
	fmt.Fprintf(&s.b, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %d %d" font-family="Liberation Sans, Arial, Helvetica, sans-serif">`+"\n", Width, height, Width, height)
	fmt.Fprintf(&s.b, `<rect width="%d" height="%d" fill="#FFFFFF"/>`+"\n", Width, height)
	for i, c := range charts {
		fmt.Fprintf(&s.b, "<g role=\"img\">\n<title>%s</title>\n", escape(c.Title))
		if c.Seen != "" {
			fmt.Fprintf(&s.b, "<desc>%s</desc>\n", escape(c.Seen))
		}
		c.draw(&s, c.frameOf(float64(i*Height), Width, Height))
		s.b.WriteString("</g>\n")
	}
	s.b.WriteString("</svg>\n")
	_, err := w.Write(s.b.Bytes())
	return err
}

// svg is a canvas that writes SVG elements.
type svg struct{ b bytes.Buffer }

func (c colour) hex() string { return fmt.Sprintf("#%02X%02X%02X", c.r, c.g, c.b) }

// number writes a coordinate to a hundredth of a pixel.
func number(v float64) string {
	return strconv.FormatFloat(float64(int(v*100+0.5))/100, 'f', -1, 64)
}

func escape(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a strings.Builder never fails
	return b.String()
}

func (s *svg) rule(x1, y1, x2, y2 float64, c colour) {
	fmt.Fprintf(&s.b, `<path d="M%s %sL%s %s" stroke="%s"/>`+"\n", number(x1), number(y1), number(x2), number(y2), c.hex())
}

func (s *svg) line(points []point, c colour, dash []float64) {
	s.b.WriteString(`<path d="`)
	for i, p := range points {
		s.b.WriteByte("ML"[min(i, 1)])
		s.b.WriteString(number(p.x) + " " + number(p.y))
	}
	fmt.Fprintf(&s.b, `" fill="none" stroke="%s" stroke-width="2" stroke-linejoin="round"`, c.hex())
	if dash != nil {
		parts := make([]string, len(dash))
		for i, d := range dash {
			parts[i] = number(d)
		}
		fmt.Fprintf(&s.b, ` stroke-dasharray="%s"`, strings.Join(parts, " "))
	}
	s.b.WriteString("/>\n")
}

func (s *svg) dot(p point, c colour) {
	fmt.Fprintf(&s.b, `<circle cx="%s" cy="%s" r="3" fill="%s"/>`+"\n", number(p.x), number(p.y), c.hex())
}

func (s *svg) bar(x, from, to, width float64, c colour) {
	fmt.Fprintf(&s.b, `<path d="M%s %sV%s" stroke="%s" stroke-width="%s"/>`+"\n", number(x), number(from), number(to), c.hex(), number(width))
}

func (s *svg) words(p point, text string, size float64, bold bool, a anchor, c colour) {
	weight := ""
	if bold {
		weight = ` font-weight="bold"`
	}
	fmt.Fprintf(&s.b, `<text x="%s" y="%s" font-size="%s"%s text-anchor="%s" fill="%s">%s</text>`+"\n",
		number(p.x), number(p.y), number(size), weight, [...]string{"start", "middle", "end"}[a], c.hex(), escape(text))
}

func (s *svg) upright(p point, text string, size float64, c colour) {
	s.turned(p, text, size, "middle", c)
}

func (s *svg) hanging(p point, text string, size float64, c colour) {
	s.turned(p, text, size, "end", c)
}

// turned writes a text that reads upwards.
func (s *svg) turned(p point, text string, size float64, anchor string, c colour) {
	fmt.Fprintf(&s.b, `<text transform="translate(%s %s) rotate(-90)" font-size="%s" text-anchor="%s" fill="%s">%s</text>`+"\n",
		number(p.x), number(p.y), number(size), anchor, c.hex(), escape(text))
}
