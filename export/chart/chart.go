// Package chart draws line charts as SVG, as PNG and in the characters of a
// terminal. This file computes the layout; the writers only draw lines and
// words at the given places.
package chart

import (
	"math"
	"strconv"
)

// Chart is one chart: series over one axis of numbers.
type Chart struct {
	Title  string
	X, Y   string // the axes' quantities, with their units
	Series []Series
	// Places names the x values if they represent texts: x is then the
	// index in Places.
	Places []string
	// Seen describes the chart for people who cannot see it.
	Seen string
}

// Series is one line. A NaN in X or Y breaks it.
type Series struct {
	Name string
	X, Y []float64
}

// Size of one chart, in pixels.
const (
	Width  = 760
	Height = 420

	left, right = 74, 18 // margins inside it
	top, bottom = 66, 56
)

// ink, muted and grid are the colours of words and rules; lines has the colours
// of the series, which also differ in darkness, and dashes distinguish them in
// print.
var (
	ink    = colour{0x22, 0x2A, 0x33}
	muted  = colour{0x5B, 0x66, 0x70}
	grid   = colour{0xD9, 0xDE, 0xE2}
	lines  = []colour{{0x1F, 0x4E, 0x79}, {0xB4, 0x50, 0x2D}, {0x4E, 0x7D, 0x4D}, {0x6E, 0x56, 0x8E}, {0x9A, 0x78, 0x10}, {0x4B, 0x6B, 0x75}}
	dashes = [][]float64{nil, {8, 4}, {2, 3}, {10, 3, 2, 3}, {5, 2}, {1, 2}}
)

type colour struct{ r, g, b uint8 }

// Axis is a range of numbers with round marks.
type Axis struct {
	Lo, Hi, Step float64
}

// NewAxis returns an axis that contains lo..hi with about n marks at multiples
// of 1, 2 or 5 times a power of ten (P. Heckbert, Nice Numbers for Graph
// Labels, Graphics Gems, 1990).
func NewAxis(lo, hi float64, n int) Axis {
	lo, hi = bounded(lo), bounded(hi)
	if large := max(math.Abs(lo), math.Abs(hi)); !(hi-lo > leastSpan*large && hi-lo > leastRange) {
		pad := max(large*0.05, 0.5)
		lo, hi = lo-pad, hi+pad
	}
	step := nice((hi - lo) / float64(n))
	return Axis{Lo: math.Floor(lo/step+1e-9) * step, Hi: math.Ceil(hi/step-1e-9) * step, Step: step}
}

// Within these bounds an axis can be computed in float64. Values that differ by
// less than the least span are one value on a chart, and values beyond the
// largest are drawn at the edge.
const (
	largest    = 1e300
	leastRange = 1e-290
	leastSpan  = 1e-12
)

func bounded(v float64) float64 { return min(max(v, -largest), largest) }

// nice rounds x up to 1, 2 or 5 times a power of ten.
func nice(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	switch f := x / power; {
	case f <= 1:
		return power
	case f <= 2:
		return 2 * power
	case f <= 5:
		return 5 * power
	}
	return 10 * power
}

// Marks returns the numbers at which the axis has marks, and their texts.
func (a Axis) Marks() (at []float64, text []string) {
	for i := range mostMarks {
		v := a.Lo + float64(i)*a.Step
		if v > a.Hi+a.Step/2 {
			break
		}
		at, text = append(at, v), append(text, a.label(v))
	}
	return at, text
}

// mostMarks bounds the marks of an axis.
const mostMarks = 100

// label writes the number at a mark: in full, or with an exponent if that would
// be long.
func (a Axis) label(v float64) string {
	decimals := max(0, -int(math.Floor(math.Log10(a.Step)+1e-9)))
	if math.Abs(v) < a.Step/2 {
		return strconv.FormatFloat(0, 'f', min(decimals, longLabel), 64)
	}
	if decimals > longLabel || max(math.Abs(a.Lo), math.Abs(a.Hi)) >= 1e10 {
		digits := 1 + max(0, int(math.Floor(math.Log10(math.Abs(v)/a.Step)+1e-9)))
		short, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', min(digits, 12), 64), 64)
		return strconv.FormatFloat(short, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// longLabel is the largest number of decimals in the label of a mark.
const longLabel = 6

// share returns the place of v on the axis, 0 at Lo and 1 at Hi.
func (a Axis) share(v float64) float64 { return (bounded(v) - a.Lo) / (a.Hi - a.Lo) }

// axes returns the axes of c; ok is false if it has nothing to draw.
func (c Chart) axes(nx, ny int) (x, y Axis, ok bool) {
	xlo, xhi, ylo, yhi := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, s := range c.Series {
		for i := range s.X {
			if s.X[i] != s.X[i] || s.Y[i] != s.Y[i] {
				continue
			}
			xlo, xhi = min(xlo, s.X[i]), max(xhi, s.X[i])
			ylo, yhi = min(ylo, s.Y[i]), max(yhi, s.Y[i])
		}
	}
	if xlo > xhi {
		return x, y, false
	}
	if c.Places != nil {
		return Axis{Lo: -0.5, Hi: float64(len(c.Places)) - 0.5, Step: 1}, NewAxis(ylo, yhi, ny), true
	}
	return NewAxis(xlo, xhi, nx), NewAxis(ylo, yhi, ny), true
}

// fromZero returns the y axis with 0, the base of bars.
func (c Chart) fromZero(y Axis, n int) Axis {
	if y.Lo <= 0 && y.Hi >= 0 {
		return y
	}
	return NewAxis(min(y.Lo, 0), max(y.Hi, 0), n)
}

// xMarks returns the marks of the x axis: its numbers, or the places.
func (c Chart) xMarks(a Axis) (at []float64, text []string) {
	if c.Places == nil {
		return a.Marks()
	}
	for i, p := range c.Places {
		at, text = append(at, float64(i)), append(text, p)
	}
	return at, text
}

// canvas has the drawing operations of a picture; y grows downwards.
type canvas interface {
	rule(x1, y1, x2, y2 float64, c colour)
	line(points []point, c colour, dash []float64)
	dot(p point, c colour)
	words(p point, text string, size float64, bold bool, anchor anchor, c colour)
	upright(p point, text string, size float64, c colour) // reads upwards, centred at p
	hanging(p point, text string, size float64, c colour) // reads upwards and ends at p
	bar(x, from, to, width float64, c colour)             // upright, x in its middle
}

type point struct{ x, y float64 }

// anchor is the part of a text that is at its point.
type anchor int

const (
	begin anchor = iota
	middle
	end
)

// frame is the place of a chart: its upper left corner at (0, y), its size, and
// the heights above and below its lines.
type frame struct{ y, width, height, top, bottom float64 }

// frameOf returns the frame of that size for c.
func (c Chart) frameOf(y, width, height float64) frame {
	return frame{y: y, width: width, height: height, top: top + legendLine*float64(c.legendLines(width)-1), bottom: bottom}
}

// draw puts c on the canvas. The script of the page draws the same, in
// export/page/script/chart.js.
func (c Chart) draw(on canvas, f frame) {
	on.words(point{titleAt(f.width), f.y + 24}, c.Title, 16, true, begin, ink)
	xa, ya, ok := c.axes(max(2, int(f.width/95)), max(2, int(f.height/70)))
	if !ok {
		on.words(point{f.width / 2, f.y + f.height/2}, "nothing to draw: no row has a value", 12, false, middle, muted)
		return
	}
	var below names
	bars := c.Places != nil
	if bars {
		ya = c.fromZero(ya, max(2, int(f.height/70)))
		below = c.namesFor(f.width, f.height)
		f.bottom += below.high
	}
	px := func(v float64) float64 { return left + xa.share(v)*(f.width-left-right) }
	py := func(v float64) float64 { return f.y + f.height - f.bottom - ya.share(v)*(f.height-f.top-f.bottom) }
	at, text := ya.Marks()
	for i, v := range at {
		on.rule(left, py(v), f.width-right, py(v), grid)
		on.words(point{left - 8, py(v) + 4}, text[i], 11, false, end, muted)
	}
	if at, text = nil, nil; bars {
		below.draw(on, px, f.y+f.height-f.bottom)
	} else {
		at, text = xa.Marks()
	}
	for i, v := range at {
		on.rule(px(v), py(ya.Lo), px(v), py(ya.Hi), grid)
		on.words(point{px(v), f.y + f.height - f.bottom + 18}, text[i], 11, false, middle, muted)
	}
	on.rule(left, py(ya.Lo), f.width-right, py(ya.Lo), muted)
	on.words(point{(left + f.width - right) / 2, f.y + f.height - 12}, c.X, 12, false, middle, ink)
	on.upright(point{18, f.y + (f.top+f.height-f.bottom)/2}, c.Y, 12, ink)
	for i, s := range c.Series {
		if bars {
			c.drawBars(on, i, s, px, py)
		} else {
			c.drawSeries(on, i, s, px, py)
		}
	}
	c.legend(on, f)
}

// narrow is the width, in pixels, below which a chart is drawn for a phone:
// its title begins at the edge.
const narrow = 500

func titleAt(width float64) float64 {
	if width < narrow {
		return 4
	}
	return left
}

// drawSeries draws one line with gaps for missing values. It has dots if there are
// few points, and where a point has no neighbours.
func (c Chart) drawSeries(on canvas, i int, s Series, px, py func(float64) float64) {
	col, dash := lines[i%len(lines)], dashes[i%len(dashes)]
	var run []point
	flush := func() {
		if len(run) > 1 {
			on.line(thin(run), col, dash)
		}
		if len(s.X) <= 30 || len(run) == 1 {
			for _, p := range run {
				on.dot(p, col)
			}
		}
		run = nil
	}
	for k := range s.X {
		if s.X[k] != s.X[k] || s.Y[k] != s.Y[k] {
			flush()
			continue
		}
		run = append(run, point{px(s.X[k]), py(s.Y[k])})
	}
	flush()
}

// barShare is the part of a place that its bars take together.
const barShare = 0.7

// drawBars draws one series as bars, beside those of the others.
func (c Chart) drawBars(on canvas, i int, s Series, px, py func(float64) float64) {
	width := barShare / float64(len(c.Series))
	for k := range s.X {
		if s.X[k] != s.X[k] || s.Y[k] != s.Y[k] {
			continue
		}
		x := px(s.X[k] - barShare/2 + (float64(i)+0.5)*width)
		on.bar(x, py(0), py(s.Y[k]), px(width)-px(0), lines[i%len(lines)])
	}
}

// legendLine is the height of a line of the legend.
const legendLine = 18

// legendWidth is the width of a series in the legend.
func legendWidth(s Series) float64 { return 32 + 6.6*float64(len([]rune(s.Name))) + 22 }

// legendLines returns the number of lines of the legend, at least one.
func (c Chart) legendLines(width float64) int {
	n, x := 1, titleAt(width)
	for _, s := range c.Series {
		if x > titleAt(width) && x+legendWidth(s)-22 > width {
			n, x = n+1, titleAt(width)
		}
		x += legendWidth(s)
	}
	return n
}

// legend names the series below the title if there are several.
func (c Chart) legend(on canvas, f frame) {
	if len(c.Series) < 2 {
		return
	}
	x, y := titleAt(f.width), f.y+46
	for i, s := range c.Series {
		if x > titleAt(f.width) && x+legendWidth(s)-22 > f.width {
			x, y = titleAt(f.width), y+legendLine
		}
		col := lines[i%len(lines)]
		if c.Places != nil {
			on.bar(x+20, y-10, y+1, 12, col)
		} else {
			on.line([]point{{x, y - 4}, {x + 26, y - 4}}, col, dashes[i%len(dashes)])
		}
		on.words(point{x + 32, y}, s.Name, 11, false, begin, ink)
		x += legendWidth(s)
	}
}

// finest is the largest distance from a line, in pixels, of an omitted point.
const finest = 0.1

// thin leaves out the points of a line that make no visible difference (Ramer
// 1972, Douglas and Peucker 1973).
func thin(points []point) []point {
	keep := make([]bool, len(points))
	keep[0], keep[len(points)-1] = true, true
	for open := [][2]int{{0, len(points) - 1}}; len(open) > 0; {
		span := open[len(open)-1]
		open = open[:len(open)-1]
		at, far := 0, finest
		for i := span[0] + 1; i < span[1]; i++ {
			if d := distance(points[i], points[span[0]], points[span[1]]); d > far {
				at, far = i, d
			}
		}
		if at > 0 {
			keep[at] = true
			open = append(open, [2]int{span[0], at}, [2]int{at, span[1]})
		}
	}
	var out []point
	for i, p := range points {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

// distance is the distance of p from the segment a to b.
func distance(p, a, b point) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	t := 0.0
	if long := dx*dx + dy*dy; long > 0 {
		t = min(max(((p.x-a.x)*dx+(p.y-a.y)*dy)/long, 0), 1)
	}
	return math.Hypot(p.x-a.x-t*dx, p.y-a.y-t*dy)
}
