package generate

import (
	"fmt"
	"strconv"
	"strings"
)

// column is a column that formulas outside its table may read.
type column struct {
	name     string
	quantity quantity
	given    bool
	rising   bool // its values rise, so look-ups may read along it
	keys     bool // its values differ, so that pick may
	blanks   bool
	values   []string // a given column's fields
}

// table is a table that formulas may read.
type table struct {
	name    string
	rows    int
	columns []column
	// sure says that it certainly ends, so its whole columns have results.
	sure bool
}

// plainTable writes a table of givens with computed columns after them.
func (w *writer) plainTable() {
	t := &table{name: w.name("plan"), rows: 2 + w.rnd.IntN(5), sure: true}
	t.columns = append(t.columns, w.rising(t.rows))
	if w.Texts {
		t.columns = append(t.columns, w.keys(t.rows))
	}
	grid := w.chance(2)
	for range 1 + w.rnd.IntN(3) {
		t.columns = append(t.columns, w.givenColumn(t.rows, grid))
	}
	text := fmt.Sprintf("table %s\n", t.name) + writeGivens(t, grid)
	w.within(t, func() {
		for range 1 + w.rnd.IntN(3) {
			text += w.leaning(t)
		}
		w.tables = append(w.tables, t)
		text += w.after(t)
	})
	w.write("%s", text)
}

// within runs make with the columns of t in scope.
func (w *writer) within(t *table, make func()) {
	outer := w.scope
	w.scope = &scope{outer: outer}
	w.scope.add(ratio, "row")
	for _, c := range t.columns {
		w.scope.add(c.quantity, c.name)
	}
	make()
	w.scope = outer
}

// rising returns a given column whose values rise.
func (w *writer) rising(rows int) column {
	q := choose(w, []quantity{ratio, length, timing, speed, pressureAbsolute, heatPoint, turning})
	c := column{name: w.name("along"), quantity: q, given: true, rising: true, keys: true}
	v := float64(int(q.facts().low))
	for range rows {
		v += float64(1+w.rnd.IntN(40)) / 4
		c.values = append(c.values, strconv.FormatFloat(v, 'g', -1, 64))
	}
	return c
}

// keys returns a given column of texts that differ.
func (w *writer) keys(rows int) column {
	c := column{name: w.name("key"), quantity: words, given: true, keys: true}
	for _, i := range w.rnd.Perm(len(vocabulary))[:rows] {
		c.values = append(c.values, quoted(vocabulary[i]))
	}
	return c
}

// givenColumn returns a given column, in a grid sometimes with blanks.
func (w *writer) givenColumn(rows int, grid bool) column {
	q := quantity(w.rnd.IntN(int(quantities) + 1))
	c := column{name: w.name("col"), quantity: q, given: true}
	for i := range rows {
		if i > 0 && grid && w.chance(5) {
			c.blanks = true
			c.values = append(c.values, "")
			continue
		}
		if q == truth {
			c.values = append(c.values, w.literal(truth).text)
			continue
		}
		c.values = append(c.values, measured(w.number(q), ""))
	}
	return c
}

// writeGivens writes the given columns of t, between bars or as lists.
func writeGivens(t *table, grid bool) string {
	if grid {
		return writeGrid(t)
	}
	text := ""
	for _, c := range t.columns {
		text += fmt.Sprintf("  %s : %s", c.name, strings.Join(c.values, ", "))
		if unit := unitOf(c.quantity); unit != "" {
			text += " " + unit
		}
		text += "\n"
	}
	return text
}

func writeGrid(t *table) string {
	text := "  |"
	for _, c := range t.columns {
		text += " " + strings.TrimSpace(c.name+" "+unitOf(c.quantity)) + " |"
	}
	text += "\n"
	for row := range t.rows {
		text += "  |"
		for _, c := range t.columns {
			text += " " + c.values[row] + " |"
		}
		text += "\n"
	}
	return text
}

func unitOf(q quantity) string {
	if q >= quantities {
		return ""
	}
	return q.facts().units[0]
}

// leaning writes a computed column that may read the row before.
func (w *writer) leaning(t *table) string {
	q, name := w.anyQuantity(), w.name("fig")
	inner := w.scope
	w.scope = &scope{outer: inner}
	for _, c := range t.columns {
		w.scope.add(c.quantity, fmt.Sprintf("prev(%s)", c.name))
	}
	if q != truth {
		w.scope.add(q, fmt.Sprintf("prev(%s)", name))
	}
	text := w.formula(q, 2).text
	w.scope = inner
	start := ""
	if strings.Contains(text, "prev(") {
		start = " start " + w.literal(q).text
	}
	w.keep(t, column{name: name, quantity: q, blanks: t.hasBlanks()})
	return fmt.Sprintf("  %s = %s%s\n", name, text, start)
}

// hasBlanks reports whether a column of t has blanks, so a column computed from
// it may have them.
func (t *table) hasBlanks() bool {
	for _, c := range t.columns {
		if c.blanks {
			return true
		}
	}
	return false
}

// keep adds a computed column to t and to the row's scope.
func (w *writer) keep(t *table, c column) {
	t.columns = append(t.columns, c)
	w.scope.add(c.quantity, c.name)
}

// after writes columns that read the row after and t's own whole columns.
func (w *writer) after(t *table) string {
	text := ""
	for range w.rnd.IntN(3) {
		q, name := w.anyQuantity(), w.name("out")
		inner := w.scope
		w.scope = &scope{outer: inner}
		for _, c := range t.columns {
			w.scope.add(c.quantity, fmt.Sprintf("next(%s)", c.name))
		}
		text += fmt.Sprintf("  %s = %s\n", name, w.formula(q, 2).text)
		w.scope = inner
		w.scope.add(q, name)
	}
	return text
}

// stepTable writes a table that is computed row by row.
func (w *writer) stepTable() {
	t := &table{name: w.name("pass"), rows: 1 + w.rnd.IntN(40)}
	clock := w.name("clock")
	body := fmt.Sprintf("  %s = prev(%s) + 0.25 s start 0 s\n", clock, clock)
	until := ""
	w.within(t, func() {
		w.keep(t, column{name: clock, quantity: timing})
		body += w.gliding(t)
		for range 1 + w.rnd.IntN(3) {
			body += w.leaning(t)
		}
		until = w.until(t, clock)
		if t.sure || w.Faults {
			w.tables = append(w.tables, t)
		}
		body += w.after(t)
	})
	w.write("table %s rows %d%s\n%s", t.name, t.rows, until, body)
}

// gliding writes a pair of columns that depend on each other.
func (w *writer) gliding(t *table) string {
	v, s := w.name("pace"), w.name("way")
	w.keep(t, column{name: v, quantity: speed})
	w.keep(t, column{name: s, quantity: length})
	return fmt.Sprintf("  %s = prev(%s) * 0.9 + prev(%s) / (4 s) + 1 m/s start %s\n", v, v, s, w.literal(speed).text) +
		fmt.Sprintf("  %s = prev(%s) * 0.5 + prev(%s) * 0.25 s start 0 m\n", s, s, v)
}

// until returns the condition that ends t: at once, in some row, never, or by
// chance.
func (w *writer) until(t *table, clock string) string {
	t.sure = true
	switch w.rnd.IntN(6) {
	case 0:
		return fmt.Sprintf(" until %s >= 0 s", clock)
	case 1, 2:
		return fmt.Sprintf(" until %s >= %s s", clock, measured(0.25*float64(w.rnd.IntN(t.rows)), ""))
	case 3:
		t.sure = false
		return fmt.Sprintf(" until %s > 1000000 s", clock)
	case 4:
		t.sure = false
		return " until " + w.condition(2).text
	}
	return ""
}
