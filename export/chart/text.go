package chart

import (
	"fmt"
	"math"
	"strings"

	"github.com/rivo/uniseg"
)

// signs mark the series of a chart in a terminal, by shape rather than
// colour.
var signs = []rune{'•', '+', '×', 'o', '*', '~'}

// Text draws c in columns × rows characters, marks and names included. A single
// series is drawn in Braille dots; several have a sign each.
func Text(c Chart, columns, rows int) string {
	var b strings.Builder
	b.WriteString(c.Title + "\n")
	xa, ya, ok := c.axes(max(2, columns/14), max(2, rows/4))
	if !ok {
		b.WriteString("  nothing to draw: no row has a value\n")
		return b.String()
	}
	if len(c.Series) > 1 {
		names := make([]string, len(c.Series))
		for i, s := range c.Series {
			names[i] = fmt.Sprintf("%c %s", signs[i%len(signs)], s.Name)
		}
		b.WriteString("  " + strings.Join(names, "   ") + "\n")
	}
	if c.Y != "" {
		b.WriteString("  " + c.Y + "\n")
	}
	at, text := ya.Marks()
	margin := 0
	for _, t := range text {
		margin = max(margin, len(t))
	}
	wide, high := max(columns-margin-4, 8), max(rows-4, 2)
	cells := c.field(wide, high, xa, ya)
	labels := make([]string, high)
	for i, v := range at {
		if y := high - 1 - int(math.Round(ya.share(v)*float64(high-1))); y >= 0 && y < high {
			labels[y] = text[i]
		}
	}
	for y, row := range cells {
		sign := "│"
		if labels[y] != "" {
			sign = "┤"
		}
		b.WriteString(strings.TrimRight(fmt.Sprintf("  %*s %s%s", margin, labels[y], sign, string(row)), " ") + "\n")
	}
	b.WriteString(c.foot(margin, wide, xa))
	return b.String()
}

// field returns the rows of characters between the axes.
func (c Chart) field(wide, high int, xa, ya Axis) [][]rune {
	cells := make([][]rune, high)
	for y := range cells {
		cells[y] = []rune(strings.Repeat(" ", wide))
	}
	fine := len(c.Series) == 1
	dotsX, dotsY := wide, high
	if fine {
		dotsX, dotsY = 2*wide, 4*high
	}
	for i, s := range c.Series {
		put := func(x, y int) {
			if x < 0 || y < 0 || x >= dotsX || y >= dotsY {
				return
			}
			if !fine {
				cells[y][x] = signs[i%len(signs)]
				return
			}
			cell := &cells[y/4][x/2]
			if *cell == ' ' {
				*cell = '\u2800'
			}
			*cell |= braille[y%4][x%2]
		}
		trace(s, dotsX, dotsY, xa, ya, put)
	}
	return cells
}

// braille is the dot of a Braille pattern at a row and a column (Unicode,
// block Braille Patterns).
var braille = [4][2]rune{{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}

// trace calls put for every dot of the line through the points of s.
func trace(s Series, wide, high int, xa, ya Axis, put func(x, y int)) {
	before := point{math.NaN(), 0}
	for k := range s.X {
		if s.X[k] != s.X[k] || s.Y[k] != s.Y[k] {
			before.x = math.NaN()
			continue
		}
		p := point{xa.share(s.X[k]) * float64(wide-1), (1 - ya.share(s.Y[k])) * float64(high-1)}
		if before.x != before.x {
			before = p
		}
		steps := max(1, int(math.Ceil(max(math.Abs(p.x-before.x), math.Abs(p.y-before.y)))))
		for i := range steps + 1 {
			t := float64(i) / float64(steps)
			put(int(math.Round(before.x+t*(p.x-before.x))), int(math.Round(before.y+t*(p.y-before.y))))
		}
		before = p
	}
}

// foot returns the x axis with its marks and its name.
func (c Chart) foot(margin, wide int, xa Axis) string {
	rule := []rune(strings.Repeat("─", wide))
	marks := strings.Repeat(" ", wide+8)
	at, text := c.xMarks(xa)
	free := 0
	for i, v := range at {
		x := int(math.Round(xa.share(v) * float64(wide-1)))
		if x < 0 || x >= wide {
			continue
		}
		rule[x] = '┴'
		width := uniseg.StringWidth(text[i])
		from := max(0, x-width/2)
		if from < free || from+width > wide+4 {
			continue
		}
		marks = marks[:from] + text[i] + marks[min(len(marks), from+width):]
		free = from + width + 1
	}
	pad := strings.Repeat(" ", margin+3)
	return pad + "└" + string(rule) + "\n" + pad + " " + strings.TrimRight(marks, " ") + "\n" + pad + " " + c.X + "\n"
}
