package export

import (
	"fmt"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// span is what is seen of a line of numbers: its first, last, least and greatest.
type span struct {
	first, last, low, high float64
	some                   bool
}

// add adds the next number of a line.
func (s *span) add(v float64) {
	if !s.some {
		*s = span{v, v, v, v, true}
	}
	s.last, s.low, s.high = v, min(s.low, v), max(s.high, v)
}

// text describes what is called name, with numbers as write writes them.
func (s *span) text(name string, write func(float64) string) string {
	if !s.some {
		return name + " without a value"
	}
	first, last := write(s.first), write(s.last)
	text := name + " from " + first + " to " + last
	if least := write(s.low); least != first && least != last {
		text += ", least " + least
	}
	if greatest := write(s.high); greatest != first && greatest != last {
		text += ", greatest " + greatest
	}
	return text
}

// reach describes what is called name, whose numbers are in no order.
func (s *span) reach(name string, write func(float64) string) string {
	return (&span{s.low, s.high, s.low, s.high, s.some}).text(name, write)
}

// seenText describes a chart: its title, its kind, what it is over, and its lines.
func seenText(title, kind, over string, lines []string) string {
	text := title + ". " + kind + " over " + over
	for i, line := range lines {
		text += [...]string{": ", ", "}[min(i, 1)] + line
	}
	return text + "."
}

// describe describes what a plot shows, with the values of r.
func describe(s *sheet.Sheet, r *sheet.Result, p plot) string {
	kind := "Lines"
	if p.named() {
		kind = "Bars"
	}
	var lines []string
	for _, y := range p.ys {
		lines = append(lines, spanText(s, r, y))
	}
	return seenText(p.title, kind, spanText(s, r, p.x), lines)
}

// spanText describes the values of a column.
func spanText(s *sheet.Sheet, r *sheet.Result, c *check.Column) string {
	rows, _ := r.Live(c.Table)
	var texts []string
	var numbers span
	for i := range rows {
		v := r.Entry(c, i)
		switch {
		case v.IsBlank() || v.IsFault():
		case c.Type.Form != check.Number:
			texts = append(texts, s.Text(&c.Quantity, v.V))
		default:
			numbers.add(v.V)
		}
	}
	if len(texts) > 0 {
		return namesText(seriesName(c), texts)
	}
	return numbers.text(seriesName(c), func(v float64) string { return s.Text(&c.Quantity, v) })
}

// namesText describes texts that a chart is over.
func namesText(name string, texts []string) string {
	return fmt.Sprintf("%s, %d of them, %s to %s", name, len(texts), texts[0], texts[len(texts)-1])
}

// written writes a number of a record's column with its unit.
func (c recordColumn) written(v float64) string {
	step := 0.0
	if c.format != "" && c.format != general {
		step = 1
		for range len(c.format) - len("0.") {
			step /= 10
		}
	}
	text := unit.FormatNumber(v, step)
	if c.Unit != "" {
		text += " " + c.Unit
	}
	return text
}
