package main

import (
	"fmt"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// A table of more than longTable live rows is shown by its first and last
// tableEnd rows, unless --full is given.
const (
	longTable = 14
	tableEnd  = 5
)

// gridColumn is one column of a table on the page; width fits all of it.
type gridColumn struct {
	head, unit string
	fields     []string
	left       bool // words start at the left
	width      int
}

// fit sets the width and aligns numbers on their decimal point.
func (g *gridColumn) fit() {
	fraction := 0
	for _, f := range g.fields {
		_, tail := splitPoint(f)
		fraction = max(fraction, width(tail))
	}
	for i, f := range g.fields {
		if _, tail := splitPoint(f); !g.left && isNumber(f) {
			g.fields[i] = f + blanks(fraction-width(tail))
		}
	}
	g.width = max(width(g.head), width(g.unit))
	for _, f := range g.fields {
		g.width = max(g.width, width(f))
	}
}

// isNumber distinguishes a shown number from a word.
func isNumber(field string) bool {
	return field != "" && (field[0] == '-' || '0' <= field[0] && field[0] <= '9')
}

func (g *gridColumn) pad(text string) string {
	if g.left {
		return padRight(text, g.width)
	}
	return padLeft(text, g.width)
}

// tableRows selects the live rows to show; -1 marks those left out.
func tableRows(live int, full bool) []int {
	var rows []int
	for i := range live {
		switch {
		case full || live <= longTable || i < tableEnd || i >= live-tableEnd:
			rows = append(rows, i)
		case i == tableEnd:
			rows = append(rows, -1)
		}
	}
	return rows
}

// grid prints columns beside each other, as many as the page holds; the rest
// follows below, with the first column repeated.
func (p page) grid(columns []*gridColumn, left int) {
	for _, g := range columns {
		g.fit()
	}
	first, rest := columns[0], columns[1:]
	for {
		n := p.fitting(p.width-left-first.width, rest)
		p.gridPart(append([]*gridColumn{first}, rest[:n]...), left)
		if rest = rest[n:]; len(rest) == 0 {
			return
		}
		fmt.Fprintln(p.w)
	}
}

// fitting counts the columns that fit into a width, at least one.
func (p page) fitting(room int, columns []*gridColumn) int {
	for i, g := range columns {
		if room -= g.width + 2; room < 0 && i > 0 {
			return i
		}
	}
	return len(columns)
}

func (p page) gridPart(columns []*gridColumn, left int) {
	p.gridLine(columns, left, func(g *gridColumn) string { return g.head }, p.bold)
	units := false
	for _, g := range columns {
		units = units || g.unit != ""
	}
	if units {
		p.gridLine(columns, left, func(g *gridColumn) string { return g.unit }, p.quiet)
	}
	for i := range columns[0].fields {
		p.gridLine(columns, left, func(g *gridColumn) string { return g.fields[i] }, plain)
	}
}

func plain(text string) string { return text }

func (p page) gridLine(columns []*gridColumn, left int, field func(*gridColumn) string, style func(string) string) {
	parts := make([]string, len(columns))
	for i, g := range columns {
		parts[i] = g.pad(field(g))
	}
	text := strings.TrimRight(blanks(left)+strings.Join(parts, "  "), " ")
	fmt.Fprintln(p.w, style(text))
}

// tableGrid makes the columns of t in the given rows.
func tableGrid(r *sheet.Result, columns []*check.Column, rows []int) []*gridColumn {
	var out []*gridColumn
	for _, c := range columns {
		g := &gridColumn{head: c.Name, left: c.Type.Form == check.Text}
		if c.Type.Form == check.Number && c.Unit.Symbol != "1" {
			g.unit = c.Unit.Symbol
		}
		for _, row := range rows {
			g.fields = append(g.fields, entryText(r, c, row))
		}
		out = append(out, g)
	}
	return out
}

// entryText is one field of a table on the page.
func entryText(r *sheet.Result, c *check.Column, row int) string {
	if row < 0 {
		return "⋮"
	}
	v := r.Entry(c, row)
	switch {
	case v.IsFault():
		return "fault"
	case v.IsBlank():
		return ""
	}
	number, _ := r.Sheet.Shown(&c.Quantity, v.V)
	return number
}

// rowNumbers is the column that counts rows, for a table whose first column
// does not.
func rowNumbers(rows []int) *gridColumn {
	g := &gridColumn{head: "row"}
	for _, row := range rows {
		if row < 0 {
			g.fields = append(g.fields, "⋮")
			continue
		}
		g.fields = append(g.fields, fmt.Sprint(row+1))
	}
	return g
}
