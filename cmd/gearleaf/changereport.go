package main

import (
	"fmt"
	"math"
	"strings"
	"sync"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// changeReport writes a change: broken limits, changed givens, the values that
// depend on them.
type changeReport struct {
	page
	change *sheet.Changed
	full   bool
}

func (r *changeReport) write() {
	rep := report{page: r.page, sheet: r.change.Before.Sheet, result: r.change.After, full: r.full}
	rep.title()
	written := r.verdicts()
	r.settings()
	r.body()
	rep.advices(written)
	rep.cautions()
	rep.usedCautions()
	r.counts()
}

// verdicts writes the limits that are broken or changed their state, and the
// faults after the change. It returns the limits that it wrote.
func (r *changeReport) verdicts() map[*check.Limit]bool {
	written := map[*check.Limit]bool{}
	gap := sync.OnceFunc(func() { fmt.Fprintln(r.w) })
	after := r.change.After
	for _, l := range after.Sheet.Model.Limits {
		was, _ := r.change.Before.Limit(l)
		is, _ := after.Limit(l)
		if was == is && is != sheet.Broken {
			continue
		}
		gap()
		written[l] = true
		switch {
		case was == is:
			r.broken("BROKEN", "as before: ", after, l)
		case is == sheet.Broken:
			r.broken("BROKEN", "now: ", after, l)
		case is == sheet.Advised:
			r.broken("advice", "now: ", after, l)
		case is == sheet.Waiting:
			r.finding("waits", r.warn, "now: "+limitText(after, l))
		default:
			r.finding("kept", r.bold, "again: "+limitText(after, l))
		}
	}
	for _, f := range after.Failures() {
		gap()
		r.finding("FAULT", r.alarm, failureText(f))
	}
	return written
}

// same replaces a difference of zero, and about one that the shown digits do
// not contain.
const (
	same  = "same"
	about = "≈ same"
)

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
	l.blur()
	return l
}

// blur leaves out the difference of two numbers with the same shown text.
func (l *moveLine) blur() {
	if l.before == l.after && l.delta != same && !l.text {
		l.delta, l.percent = about, ""
	}
}

// deltaText writes a difference in the shown unit and in percent. A value in
// percent has only its difference, because a percentage of a percentage beside
// it would be misread.
func deltaText(d sheet.Difference) (delta, percent string) {
	switch {
	case !d.Moved:
		return same, ""
	case !d.Numeric:
		return "", ""
	}
	delta = signed(deltaNumber(d.Delta, d.Quantity().To))
	if d.Relative && !strings.HasSuffix(d.Quantity().Unit.Symbol, "%") {
		percent = signed(unit.FormatNumber(d.Percent, percentStep(d.Percent))) + " %"
	}
	return delta, percent
}

// deltaNumber writes a difference, which is that of the values and not of the
// figures that are shown of them, to the step of the value. One near the step gets
// two figures and the decimals of the value, one without a step four figures.
func deltaNumber(delta, step float64) string {
	size := math.Abs(delta)
	switch {
	case size == 0 || size >= 10*step && step > 0:
		return unit.FormatNumber(delta, step)
	case step == 0:
		return unit.FormatNumber(unit.Significant(delta, 4), 0)
	}
	fine := min(step, math.Pow(10, math.Floor(math.Log10(size))-1))
	if places := unit.Decimals(step); unit.Decimals(fine) < places {
		fine = math.Pow10(-places)
	}
	return unit.FormatNumber(delta, fine)
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
	if len(lines) == 1 {
		return // if it reaches nothing, the body reports it
	}
	var moved []sheet.Place
	for _, s := range r.change.Settings {
		moved = append(moved, sheet.Place{Cell: s.Cell, Column: s.Column, Row: s.Row})
	}
	for _, p := range r.change.Before.Sheet.Ends(moved) {
		r.hang(blanks(indent), p.Name()+" reaches nothing: no formula and no limit reads it")
	}
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

// width is that of an aligned line.
func (c moveColumns) width() int {
	return indent + c.name + 2 + c.whole + c.fraction + 3 + c.afterWhole + c.afterFraction + 1 + c.symbol + 2 + c.delta + 2 + c.percent
}

// moves writes lines in columns if the page is wide enough for all of them;
// otherwise each in its least width, if necessary below its name.
func (p page) moves(lines []moveLine, c moveColumns) {
	for _, l := range lines {
		name := blanks(indent) + padRight(l.name, c.name) + "  "
		text := l.aligned(c)
		if c.width() > p.width {
			text = l.compact()
		}
		if width(name)+width(text) > p.width {
			p.hang(blanks(indent), l.name)
			fmt.Fprintln(p.w, blanks(2*indent)+l.compact())
			continue
		}
		fmt.Fprintln(p.w, name+text)
	}
}

// aligned is l without its name, in columns.
func (l moveLine) aligned(c moveColumns) string {
	before, after := align(l.before, c.whole, c.fraction), align(l.after, c.afterWhole, c.afterFraction)
	if l.text {
		before, after = padLeft(l.before, c.whole+c.fraction), padRight(l.after, c.afterWhole+c.afterFraction)
	}
	arrow := " → "
	if l.stays() {
		arrow, after = "   ", blanks(c.afterWhole+c.afterFraction)
	}
	text := before + arrow + after + " " + padRight(l.symbol, c.symbol) + "  " + padLeft(l.delta, c.delta) + "  " + padLeft(l.percent, c.percent)
	return strings.TrimRight(text, " ")
}

// stays reports whether both values have the same shown text.
func (l moveLine) stays() bool { return l.delta == same || l.delta == about }

// compact is l without its name, in as few columns as possible.
func (l moveLine) compact() string {
	text := l.before
	if !l.stays() {
		text += " → " + l.after
	}
	for _, part := range []struct{ gap, text string }{{" ", l.symbol}, {"  ", l.delta}, {"  ", l.percent}} {
		if part.text != "" {
			text += part.gap + part.text
		}
	}
	return text
}

// body writes the values that the change reaches, in reading order.
func (r *changeReport) body() {
	outline := r.change.Outline()
	if len(outline) == 0 {
		fmt.Fprintf(r.w, "\nNothing depends on it.\n")
		return
	}
	var lines []moveLine
	for _, item := range outline {
		if item.Cell != nil {
			lines = append(lines, r.moveLine(sheet.Place{Cell: item.Cell}))
		}
	}
	widths, gap := moveWidths(lines), true
	section := ""
	for _, item := range outline {
		if item.Section != "" {
			section = item.Section
			continue
		}
		if item.Cell == nil && item.Table == nil {
			continue
		}
		r.sectionHead(section, item.Table != nil, gap)
		section, gap = "", item.Table != nil
		if item.Table != nil {
			r.table(item.Table)
			continue
		}
		r.moves(lines[:1], widths)
		lines = lines[1:]
	}
}

// table writes the columns that the change moves, before → after, with the
// table's first column to identify the rows, and names those that it reaches
// but does not change.
func (r *changeReport) table(t *check.Table) {
	before, _ := r.change.Before.Live(t)
	after, _ := r.change.After.Live(t)
	size := ""
	if before != after {
		size = fmt.Sprintf("  %d → %d rows", before, after)
	}
	r.tableHead(t, size)
	var moved []*check.Column
	var unmoved []string
	for _, c := range r.change.Columns(t) {
		if r.change.ColumnMoved(c) {
			moved = append(moved, c)
		} else {
			unmoved = append(unmoved, c.Name)
		}
	}
	if len(moved) > 0 {
		r.rows(t, moved, max(before, after))
	}
	if len(unmoved) > 0 {
		r.hang(blanks(indent), r.quiet("the same in every row: "+strings.Join(unmoved, ", ")))
	}
}

// rows writes the moved columns of t, which has live rows.
func (r *changeReport) rows(t *check.Table, moved []*check.Column, live int) {
	rows := tableRows(live, r.full)
	grid := []*gridColumn{rowNumbers(rows)}
	if key := t.Columns[0]; key != moved[0] && len(rows) == live {
		grid = tableGrid(r.change.After, []*check.Column{key}, rows)
	}
	for _, c := range moved {
		grid = append(grid, r.column(c, rows))
	}
	r.grid(grid, indent)
	if len(rows) < live {
		fmt.Fprintln(r.w, blanks(indent)+r.quiet(fmt.Sprintf("%d of %d rows; --full shows all", len(rows)-1, live)))
	}
}

// column is one column of a table, each field before → after.
func (r *changeReport) column(c *check.Column, rows []int) *gridColumn {
	var list []twoFields
	for _, row := range rows {
		f := twoFields{before: entryText(r.change.Before, c, row), after: entryText(r.change.After, c, row), left: row < 0}
		if row >= 0 && !r.change.Difference(sheet.Place{Column: c, Row: row}).Moved {
			f.stays = same
		}
		list = append(list, f)
	}
	return arrowColumn(c, list)
}

// twoFields are one field of a table before and after.
type twoFields struct {
	before, after string
	stays         string // same if they are equal
	left          bool   // rows are left out here
}

// arrowColumn is the column c of a table, each field before → after.
func arrowColumn(c *check.Column, list []twoFields) *gridColumn {
	g := &gridColumn{head: c.Name, left: true}
	if c.Type.Form == check.Number {
		g.unit = symbolText(c.Unit)
	}
	var before, after gridColumn
	for _, f := range list {
		before.fields = append(before.fields, f.before)
		after.fields = append(after.fields, f.after)
	}
	before.fit()
	after.fit()
	for i, f := range list {
		b, a := before.pad(before.fields[i]), after.pad(after.fields[i])
		switch {
		case f.left:
			g.fields = append(g.fields, padLeft("⋮", before.width))
		case f.before == "" && f.after == "":
			g.fields = append(g.fields, "")
		case f.stays != "":
			g.fields = append(g.fields, b+"   "+f.stays)
		case f.before == f.after:
			g.fields = append(g.fields, b+"   "+about)
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
