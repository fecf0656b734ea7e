package main

import (
	"fmt"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// changeReport writes a change: what broke, what was changed, what it reaches.
type changeReport struct {
	page
	change *sheet.Changed
	full   bool
}

func (r *changeReport) write() {
	rep := report{page: r.page, sheet: r.change.Before.Sheet, result: r.change.After, full: r.full}
	rep.title()
	r.verdicts()
	r.settings()
	r.body()
	rep.advices()
	rep.cautions()
	r.counts()
}

// verdicts writes the limits that are broken or changed their state, and the
// faults that are there afterwards.
func (r *changeReport) verdicts() {
	gap := true
	tell := func(kind string, style func(string) string, text string) {
		if gap {
			fmt.Fprintln(r.w)
		}
		gap = false
		r.finding(kind, style, text)
	}
	for _, l := range r.change.Before.Sheet.Model.Limits {
		before, _ := r.change.Before.Limit(l)
		after, _ := r.change.After.Limit(l)
		story := limitStory(r.change.After, l)
		switch {
		case after == sheet.Broken && before != sheet.Broken:
			tell("BROKEN", r.alarm, "now: "+story)
		case after == sheet.Broken:
			tell("BROKEN", r.alarm, "as before: "+story)
		case after == sheet.Waiting && before != after:
			tell("waits", r.warn, "now: "+story)
		case before == sheet.Broken:
			tell("kept", r.bold, "again: "+story)
		case before == sheet.Advised && after == sheet.Kept:
			tell("kept", r.bold, "again: "+story)
		case after == sheet.Advised && before != after:
			tell("advice", r.warn, "now: "+story)
		}
	}
	for _, f := range r.change.After.Failures() {
		tell("FAULT", r.alarm, failureText(f))
	}
}

// moveLine is one value before and after, in parts that are aligned.
type moveLine struct {
	name, before, after, symbol, delta, percent string
	text                                        bool
}

func (r *changeReport) moveLine(p sheet.Place) moveLine {
	d := r.change.Difference(p)
	q := p.Quantity()
	s := r.change.Before.Sheet
	l := moveLine{name: p.Name()}
	var symbol string
	var words bool
	l.before, l.symbol, l.text = shown(s, q, d.Before)
	l.after, symbol, words = shown(s, q, d.After)
	l.text = l.text || words
	if symbol != "" {
		l.symbol = symbol
	}
	l.delta, l.percent = deltaText(d)
	return l
}

// deltaText words a difference: how much in the shown unit, and in percent.
func deltaText(d sheet.Difference) (delta, percent string) {
	switch {
	case !d.Moved:
		return "same", ""
	case !d.Numeric:
		return "", ""
	}
	delta = signed(unit.FormatNumber(d.Delta, d.Quantity().To))
	if d.Relative {
		percent = signed(unit.FormatNumber(d.Percent, percentStep(d.Percent))) + " %"
	}
	return delta, percent
}

// percentStep keeps about three figures of a percentage.
func percentStep(percent float64) float64 {
	switch p := max(percent, -percent); {
	case p >= 100:
		return 1
	case p >= 1:
		return 0.1
	}
	return 0.01
}

func signed(number string) string {
	if strings.HasPrefix(number, "-") {
		return "−" + number[1:]
	}
	return "+" + number
}

// settings writes the changed givens.
func (r *changeReport) settings() {
	var lines []moveLine
	for _, s := range r.change.Settings {
		lines = append(lines, r.moveLine(sheet.Place{Cell: s.Cell, Column: s.Column, Row: s.Row}))
	}
	fmt.Fprintf(r.w, "\n%s\n", r.bold("Changed"))
	r.moves(lines, moveWidths(lines))
}

// moveColumns are the widths of the parts of a moveLine.
type moveColumns struct {
	name, whole, fraction, afterWhole, afterFraction, symbol, delta, percent int
}

func moveWidths(lines []moveLine) moveColumns {
	var c moveColumns
	for _, l := range lines {
		c.name = min(max(c.name, width(l.name)), widestName)
		c.symbol = max(c.symbol, width(l.symbol))
		c.delta = max(c.delta, width(l.delta))
		c.percent = max(c.percent, width(l.percent))
		if l.text {
			continue
		}
		whole, fraction := splitPoint(l.before)
		c.whole, c.fraction = max(c.whole, width(whole)), max(c.fraction, width(fraction))
		whole, fraction = splitPoint(l.after)
		c.afterWhole, c.afterFraction = max(c.afterWhole, width(whole)), max(c.afterFraction, width(fraction))
	}
	return c
}

// align puts number on its decimal point.
func align(number string, whole, fraction int) string {
	w, f := splitPoint(number)
	return padLeft(w, whole) + padRight(f, fraction)
}

func (p page) moves(lines []moveLine, c moveColumns) {
	for _, l := range lines {
		before, after := align(l.before, c.whole, c.fraction), align(l.after, c.afterWhole, c.afterFraction)
		if l.text {
			before, after = padLeft(l.before, c.whole+c.fraction), padRight(l.after, c.afterWhole+c.afterFraction)
		}
		text := blanks(indent) + padRight(l.name, c.name) + "  " + before + " → " + after +
			" " + padRight(l.symbol, c.symbol) + "  " + padLeft(l.delta, c.delta) + "  " + padLeft(l.percent, c.percent)
		fmt.Fprintln(p.w, strings.TrimRight(text, " "))
	}
}

// body writes what the change reaches, in reading order.
func (r *changeReport) body() {
	outline := r.change.Outline()
	if len(outline) == 0 {
		fmt.Fprintf(r.w, "\nNothing hangs on it.\n")
		return
	}
	var lines []moveLine
	for _, item := range outline {
		if item.Cell != nil {
			lines = append(lines, r.moveLine(sheet.Place{Cell: item.Cell}))
		}
	}
	widths, next := moveWidths(lines), 0
	gap := true
	for _, item := range outline {
		switch {
		case item.Section != "":
			fmt.Fprintf(r.w, "\n%s\n", r.bold(cut(item.Section, r.width)))
			gap = false
		case item.Cell != nil:
			if gap {
				fmt.Fprintln(r.w)
			}
			r.moves(lines[next:next+1], widths)
			next++
			gap = false
		case item.Table != nil:
			fmt.Fprintln(r.w)
			r.table(item.Table)
			gap = true
		}
	}
}

// table writes the columns that the change reaches, before → after, with the
// table's first column to tell the rows apart.
func (r *changeReport) table(t *check.Table) {
	before, _ := r.change.Before.Live(t)
	after, _ := r.change.After.Live(t)
	head := r.bold(t.Name)
	if before != after {
		head += fmt.Sprintf("  %d → %d rows", before, after)
	}
	fmt.Fprintln(r.w, blanks(indent)+head)
	rows := tableRows(max(before, after), r.full)
	if len(rows) == 0 {
		fmt.Fprintln(r.w, blanks(indent)+r.quiet("no rows"))
		return
	}
	columns := r.change.Columns(t)
	grid := []*gridColumn{rowNumbers(rows)}
	if key := t.Columns[0]; key != columns[0] && len(rows) == max(before, after) {
		grid = tableGrid(r.change.After, []*check.Column{key}, rows)
	}
	for _, c := range columns {
		grid = append(grid, r.column(c, rows))
	}
	r.grid(grid, indent)
	if len(rows) < max(before, after) {
		fmt.Fprintln(r.w, blanks(indent)+r.quiet(fmt.Sprintf("%d of %d rows; --full shows all", len(rows)-1, max(before, after))))
	}
}

// column is one column of a table, each field before → after.
func (r *changeReport) column(c *check.Column, rows []int) *gridColumn {
	g := &gridColumn{head: c.Name, left: true}
	if c.Type.Form == check.Number && c.Unit.Symbol != "1" {
		g.unit = c.Unit.Symbol
	}
	var before, after gridColumn
	for _, row := range rows {
		before.fields = append(before.fields, entryText(r.change.Before, c, row))
		after.fields = append(after.fields, entryText(r.change.After, c, row))
	}
	before.fit()
	after.fit()
	for i, row := range rows {
		b, a := before.pad(before.fields[i]), after.pad(after.fields[i])
		switch {
		case row < 0:
			g.fields = append(g.fields, padLeft("⋮", before.width))
		case !r.change.Difference(sheet.Place{Column: c, Row: row}).Moved:
			g.fields = append(g.fields, b+"   same")
		default:
			g.fields = append(g.fields, b+" → "+a)
		}
	}
	return g
}

func (r *changeReport) counts() {
	reached, of, moved := r.change.Count()
	fmt.Fprintf(r.w, "\n%d of %d cells reached, %d moved\n", reached, of, moved)
	fmt.Fprintln(r.w, r.quiet(confirmedText(r.change.After.Checked)))
}
