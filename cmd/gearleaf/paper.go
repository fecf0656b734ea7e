package main

import (
	"fmt"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// line is one value on the page.
type line struct {
	name   string
	mark   string // ":" given, "=" computed, as in the worksheet
	number string // aligned on its decimal point if it is a number
	text   bool   // number holds words
	symbol string
	note   string
}

// The least width of the column of notes, and the greatest ones of the others;
// a wider text shifts the rest of its own line.
const (
	indent         = 2
	widestName     = 24
	widestWhole    = 10
	widestFraction = 6
	widestUnit     = 12
	leastNote      = 18
)

// columns are the widths of the parts of a line.
type columns struct{ name, whole, fraction, unit int }

// measure finds the widths that fit lines.
func measure(lines []line) columns {
	var c columns
	for _, l := range lines {
		c.name = max(c.name, width(l.name))
		c.unit = max(c.unit, width(l.symbol))
		if l.text {
			continue
		}
		whole, fraction := splitPoint(l.number)
		c.whole = max(c.whole, width(whole))
		c.fraction = max(c.fraction, width(fraction))
	}
	c.name = min(c.name, widestName)
	c.whole = min(c.whole, widestWhole)
	c.fraction = min(c.fraction, widestFraction)
	c.unit = min(c.unit, widestUnit)
	return c
}

// splitPoint splits a number before its decimal point, or its exponent.
func splitPoint(number string) (whole, fraction string) {
	if at := strings.IndexAny(number, ".e"); at >= 0 {
		return number[:at], number[at:]
	}
	return number, ""
}

// print writes l with the widths of c, its note wrapped beside it.
func (p page) print(l line, c columns) {
	head := blanks(indent) + padRight(l.name, c.name) + " " + padRight(l.mark, 1) + " " + l.value(c)
	head = strings.TrimRight(head, " ")
	at := indent + c.name + 3 + c.whole + c.fraction + 1 + c.unit + 2
	room := p.width - at
	if l.note == "" {
		fmt.Fprintln(p.w, head)
		return
	}
	if over := width(head) + 2 - at; over > 0 {
		at, room = at+over, room-over
	}
	if room < leastNote {
		fmt.Fprintln(p.w, head)
		at, room = indent+4, p.width-indent-4
		head = blanks(at)
	}
	for i, part := range wrap(l.note, room) {
		if i > 0 {
			head = ""
		}
		fmt.Fprintln(p.w, padRight(head, at)+p.quiet(part))
	}
}

// value is the number and unit of l in their columns.
func (l line) value(c columns) string {
	if l.text {
		return padRight(l.number, c.whole+c.fraction) + " " + l.symbol
	}
	whole, fraction := splitPoint(l.number)
	return padLeft(whole, c.whole) + padRight(fraction, c.fraction) + " " + l.symbol
}

// mark is the worksheet's sign of a given or a computed value.
func mark(q *check.Quantity) string {
	if q.Given {
		return ":"
	}
	return "="
}

// shown returns the number and unit of v, or the word for a missing value.
func shown(s *sheet.Sheet, q *check.Quantity, v sheet.Value) (number, symbol string, text bool) {
	switch {
	case v.IsFault():
		return "fault", "", true
	case v.IsBlank():
		return "blank", "", true
	}
	number, symbol = s.Shown(q, v.V)
	if symbol == "1" {
		symbol = ""
	}
	return number, symbol, q.Type.Form != check.Number
}

// symbolText is the symbol of a unit, empty for a plain number.
func symbolText(u unit.Unit) string {
	if u.Symbol == "1" {
		return ""
	}
	return u.Symbol
}

// spread writes the tolerance of a given, "± 6 mm"; empty without one.
func spread(s *sheet.Sheet, q *check.Quantity) string {
	sign := map[check.ToleranceForm]string{check.Limits: "± ", check.Deviation: "sd "}[q.Tolerance]
	if sign == "" {
		return ""
	}
	return sign + s.SpreadText(q)
}

// cellLine is the line of a scalar.
func cellLine(r *sheet.Result, c *check.Cell) line {
	l := line{name: c.Name, mark: mark(&c.Quantity), note: c.Origin.Label}
	v := r.Cell(c)
	l.number, l.symbol, l.text = shown(r.Sheet, &c.Quantity, v)
	if f := v.Fault(); f != nil {
		l.note = faultNote(f)
		return l
	}
	if s := spread(r.Sheet, &c.Quantity); s != "" {
		l.note = strings.TrimSpace(l.note + " (" + s + ")")
	}
	for _, plug := range r.Sheet.Model.Plugs {
		if plug.Given == c {
			from := r.Sheet.Model.Files[plug.Source.Origin.File].File.Name
			l.note = strings.TrimSpace(l.note + " (computed in " + from + ")")
		}
	}
	return l
}

// faultNote describes why a value is at fault, or what it waits on.
func faultNote(f *sheet.Fault) string {
	origin := sheet.OriginOf(f)
	switch f.WaitsOn {
	case "":
		return f.Cause
	case f.Origin, origin:
		return "waits on " + origin
	}
	return fmt.Sprintf("waits on %s; it began at %s", f.WaitsOn, origin)
}
