package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gearleaf/sheet/check"
)

// survey compares a returned workbook with a new one from the text in it, to
// find changes other than entries.
type survey struct {
	fresh, book *opened
	tabs        map[string]*tabMap // by the tab's name as written
	grids       []*tabGrid         // of the returned workbook, in its order
	taken       map[*tabGrid]string
	fields      []givenField
	units       map[string]map[spot]unitCell // by tab
	files       bool                         // tables of the worksheet are read from files
	shifted     []movedTable
	apart       []apart
	gone        []string // givens whose cells were deleted, the rows being there
	exact       bool     // the workbook is written in the same way today
	acts        []string // what was done to rows, columns and tabs; they are notes too
	// notes are changes without effect, problems are changes that prevent
	// reading.
	notes, problems []string
}

// givenField is the field of a given.
type givenField struct {
	what string // the given, or its column, in the worksheet
	name string // in the workbook
	row  int    // in the column
	tab  string // as written
	at   spot
	// column says that the given is one of a column's entries.
	column bool
}

// unitCell is the cell for the unit of a quantity, which may have none; name is that
// of a scalar.
type unitCell struct{ what, unit, name string }

// newSurvey finds the fields of b in fresh and matches the tabs.
func newSurvey(b *book, fresh, returned *opened) *survey {
	v := &survey{fresh: fresh, book: returned, tabs: map[string]*tabMap{}, taken: map[*tabGrid]string{}, units: map[string]map[spot]unitCell{}}
	mark, known := returned.props[stampProperty]
	v.exact = !known || fresh.stamp().String() == mark
	v.shifted = v.shiftedTables(b)
	entries := v.collect(b)
	for _, t := range returned.tabs {
		if !isSource(t) {
			v.grids = append(v.grids, gridOf(t))
		}
	}
	v.matchTabs(entries)
	v.places()
	return v
}

// collect lists the fields of all givens, and the cells of units.
func (v *survey) collect(b *book) map[string]map[spot]bool {
	entries := map[string]map[spot]bool{}
	field := func(ref, what string, q *check.Quantity, row int, given bool) {
		tab, cell, ok := split(v.fresh.refs[ref], row)
		at, sound := spotOf(cell)
		if !ok || !sound {
			return
		}
		if given {
			v.fields = append(v.fields, givenField{what, ref, row, tab, at, strings.Contains(what, ".")})
			if entries[tab] == nil {
				entries[tab] = map[spot]bool{}
			}
			entries[tab][at] = true
		}
		v.unitOf(tab, at, q, what, ref, row)
	}
	for i, c := range b.m.Cells {
		if !c.Plugged {
			field(b.cells[i].name, c.Name, &c.Quantity, 0, c.Given)
		}
	}
	for _, t := range b.tables {
		v.files = v.files || t.t.From != ""
		for i, c := range t.t.Columns {
			entered := c.Given && !t.t.Library && t.t.From == ""
			rows := 1
			if entered {
				rows = len(c.Values)
			}
			for row := range rows {
				field(t.names[t.column(i)], t.t.Name+"."+c.Name, &c.Quantity, row, entered)
			}
		}
	}
	return entries
}

// unitOf records the cell for the unit of a quantity: to the right of a scalar,
// above the first row of a column.
func (v *survey) unitOf(tab string, at spot, q *check.Quantity, what, name string, row int) {
	near := []spot{{at.column + 1, at.row}}
	if strings.Contains(what, ".") {
		near, name = []spot{{at.column, at.row - 1}, {at.column, at.row - 2}}, ""
	}
	for _, s := range near {
		if unit := v.fresh.tab(tab)[cellAt(s)]; row == 0 && q.Type.Form != check.Text && unit.formula == "" && sameUnit(unit.value, symbol(q.Unit)) {
			if v.units[tab] == nil {
				v.units[tab] = map[spot]unitCell{}
			}
			v.units[tab][s] = unitCell{what, symbol(q.Unit), name}
			return
		}
	}
}

func cellAt(s spot) string {
	if s.row < 1 {
		return ""
	}
	return at(s.column, s.row)
}

// matchTabs finds each tab by its name, then by its content.
func (v *survey) matchTabs(entries map[string]map[spot]bool) {
	var order []int
	for _, t := range v.fresh.tabs {
		if isSource(t) {
			continue
		}
		from := gridOf(t)
		to := v.find(from)
		m := &tabMap{from: from}
		if to != nil {
			v.taken[to] = t.name
			m = v.matchMoved(from, to, entries[t.name])
			order = append(order, slices.Index(v.grids, to))
			if to.name != t.name {
				v.act("the tab %s was renamed to %s", t.name, to.name)
			}
		}
		v.tabs[t.name] = m
		switch {
		case to != nil:
		case entries[t.name] != nil:
			v.problemf("the tab %s was deleted, and with it its entries", t.name)
		default:
			v.notef("the tab %s was deleted", t.name)
		}
	}
	if !slices.IsSorted(order) {
		v.notef("the tabs were put into another order")
	}
	v.strangeTabs()
}

// find returns the tab that corresponds to from: the one with its name, unless
// another is clearly more similar.
func (v *survey) find(from *tabGrid) *tabGrid {
	const enough = 0.6
	var best *tabGrid
	most := 0.0
	for _, g := range v.grids {
		if v.taken[g] != "" {
			continue
		}
		same := likeness(from, g)
		if g.name == from.name {
			if same >= enough || len(from.cells) == 0 {
				return g
			}
			same += 0.1
		}
		if same > most {
			best, most = g, same
		}
	}
	if most < enough {
		return nil
	}
	return best
}

// strangeTabs names the tabs that are none of the written ones.
func (v *survey) strangeTabs() {
	for _, g := range v.grids {
		if v.taken[g] != "" {
			continue
		}
		what, most := "is not of this worksheet", 0.9
		for _, t := range v.fresh.tabs {
			m := v.tabs[t.name]
			if m == nil || m.to == nil || len(g.cells) == 0 {
				continue
			}
			// Both ways: the few texts of a small tab can all be on a large one.
			if same := min(likeness(m.from, g), likeness(g, m.from)); same > most {
				what, most = "is a copy of "+m.to.name+m.otherwise(g), same
			}
		}
		v.notef("the tab %s %s: ignored", g.name, what)
	}
}

// otherwise names the entries of a copied tab that are not those of the tab.
func (m *tabMap) otherwise(tab *tabGrid) string {
	var cells []spot
	for _, s := range sortedSpots(m.entries) {
		if at, ok := m.at(s); ok && tab.cells[at].value != m.to.cells[at].value {
			cells = append(cells, at)
		}
	}
	if len(cells) == 0 {
		return ""
	}
	return ", with other values in " + few(cellRanges(cells))
}

func (v *survey) notef(format string, args ...any) {
	v.notes = append(v.notes, fmt.Sprintf(format, args...))
}

func (v *survey) problemf(format string, args ...any) {
	v.problems = append(v.problems, fmt.Sprintf(format, args...))
}

// compared lists the tabs that are compared.
func (v *survey) compared() []*tabMap {
	var out []*tabMap
	for _, t := range v.fresh.tabs {
		if m := v.tabs[t.name]; m != nil && m.to != nil && (v.exact || len(m.entries) > 0) {
			out = append(out, m)
		}
	}
	return out
}

// places lists what was done to the rows and columns of every tab.
func (v *survey) places() {
	for _, m := range v.compared() {
		v.movedRows(m)
		v.movedColumns(m)
		v.below(m)
	}
}

// compare lists the other changes of every tab, with those of formulas if set.
func (v *survey) compare(formulas bool) {
	for _, m := range v.compared() {
		v.changedUnits(m)
		if v.exact {
			v.texts(m)
			v.numbers(m)
		}
		if formulas {
			v.formulas(m)
		}
	}
}

// movedRows lists the rows that were inserted, deleted or reordered.
func (v *survey) movedRows(m *tabMap) {
	last := 0
	for row := 1; row < len(m.rows); row++ {
		if now := m.rows[row]; now != 0 && now < last {
			v.reordered(m, row)
			return
		}
		last = max(last, m.rows[row])
	}
	last = 0
	var deleted []int
	for row := 1; row < len(m.rows); row++ {
		now := m.rows[row]
		if now == 0 {
			deleted = append(deleted, row)
			continue
		}
		if now > last+1 {
			v.inserted(m, row, last+1, now-1)
		}
		last = now
	}
	for len(deleted) > 0 {
		n := 1
		for n < len(deleted) && deleted[n] == deleted[0]+n {
			n++
		}
		first, last := deleted[0], deleted[n-1]
		v.deleted(m, rowsWere(first, last), func(s spot) bool { return s.row >= first && s.row <= last })
		deleted = deleted[n:]
	}
}

// deleted reports rows or columns that are gone; entries may have been in them.
func (v *survey) deleted(m *tabMap, was string, in func(spot) bool) {
	var gone []string
	for _, s := range sortedSpots(m.entries) {
		if _, is := m.at(s); !is && in(s) {
			gone = append(gone, v.fieldAt(m.from.name, s))
		}
	}
	switch {
	case len(gone) > 0:
		v.problemf("%s: %s deleted, with %s: undo that; givens and rows are deleted in the worksheet's text", m.to.name, was, few(gone))
	case m.from.holds(in):
		v.act("%s: %s deleted", m.to.name, was)
	}
}

// rowsWere begins a sentence about rows.
func rowsWere(first, last int) string {
	if last > first {
		return fmt.Sprintf("rows %d to %d were", first, last)
	}
	return fmt.Sprintf("row %d was", first)
}

// reordered reports rows in another order. The order of a table's rows has a
// meaning; other rows are found by name.
func (v *survey) reordered(m *tabMap, row int) {
	for _, at := range sortedSpots(m.entries) {
		if _, moved := m.moved[at]; !moved && at.row == row && (m.entries[spot{at.column, row - 1}] || m.entries[spot{at.column, row + 1}]) && v.inTable(m.from.name, at) {
			v.problemf("the rows of %s were put into another order: undo that", m.to.name)
			return
		}
	}
	v.act("%s: rows were put into another order", m.to.name)
}

// inTable reports whether an entry is one of a column.
func (v *survey) inTable(tab string, at spot) bool {
	for _, f := range v.fields {
		if f.tab == tab && f.at == at {
			return f.column
		}
	}
	return false
}

// fieldAt names the given that is entered at a place.
func (v *survey) fieldAt(tab string, at spot) string {
	for _, f := range v.fields {
		if f.tab == tab && f.at == at {
			return f.label()
		}
	}
	return "an entry"
}

// inserted reports new rows in front of a row. Within a table they must be
// empty: the table has its rows in the worksheet's text.
func (v *survey) inserted(m *tabMap, row, first, last int) {
	rows := rowsWere(first, last)
	for _, at := range sortedSpots(m.entries) {
		if _, moved := m.moved[at]; moved || at.row != row || !v.inTable(m.from.name, at) || !v.inTable(m.from.name, spot{at.column, row - 1}) {
			continue
		}
		for n := first; n <= last; n++ {
			if c := m.to.cells[spot{m.columns[at.column], n}]; c.value != "" {
				v.problemf("%s: %s inserted, with an entry in %s: a row is added in the worksheet's text", m.to.name, rows, cellAt(spot{m.columns[at.column], n}))
				return
			}
		}
	}
	v.act("%s: %s inserted", m.to.name, rows)
}

// below names entries under the last row of a table: no formula reaches them.
func (v *survey) below(m *tabMap) {
	var cells []spot
	var hold []string
	for _, at := range sortedSpots(m.entries) {
		under := spot{at.column, at.row + 1}
		here, ok := m.at(at)
		if !ok || m.entries[under] || m.from.cells[under].value != "" || !v.inTable(m.from.name, at) {
			continue
		}
		here.row++
		if c := m.to.cells[here]; c.value != "" && c.formula == "" {
			cells, hold = append(cells, here), append(hold, cutRunes(c.value, 40))
		}
	}
	if len(cells) > 0 {
		v.notef("%s!%s holds %s below the last row of its table, ignored: a row is added in the worksheet's text", m.to.name, few(cellRanges(cells)), few(hold))
	}
}

// movedColumns lists the columns that were inserted or deleted.
func (v *survey) movedColumns(m *tabMap) {
	last := 0
	for column := 1; column < len(m.columns); column++ {
		switch now := m.columns[column]; {
		case now == 0:
			v.deleted(m, "column "+letters(column)+" was", func(s spot) bool { return s.column == column })
		default:
			if now == last+2 {
				v.act("%s: column %s was inserted", m.to.name, letters(last+1))
			} else if now > last+2 {
				v.act("%s: columns %s to %s were inserted", m.to.name, letters(last+1), letters(now-1))
			}
			last = now
		}
	}
}

func sortedSpots[T any](m map[spot]T) []spot {
	out := make([]spot, 0, len(m))
	for s := range m {
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b spot) int { return cmp.Or(a.row-b.row, a.column-b.column) })
	return out
}

// label names a given as people read it.
func (f givenField) label() string {
	if f.column {
		return fmt.Sprintf("%s[%d]", f.what, f.row+1)
	}
	return f.what
}

// locate returns the present tab and cell of a given.
func (v *survey) locate(f givenField) (tab, cell string, ok bool) {
	m := v.tabs[f.tab]
	here, found := m.at(f.at)
	refTab, refCell, named := split(v.book.refs[f.name], 0)
	switch {
	case m.to == nil:
		return "", "", false
	case found && strings.Contains(v.book.refs[f.name], "#REF!"):
		if f.row > 0 {
			return "", "", false
		}
		v.gone = append(v.gone, fmt.Sprintf("%s (%s!%s)", f.what, m.to.name, cellAt(here)))
		return "", "", false
	}
	if f.row > 0 || !named || v.book.tab(refTab) == nil {
		return m.to.name, cellAt(here), found
	}
	there, _ := spotOf(refCell)
	if found && refTab == m.to.name && there == here {
		return refTab, refCell, true
	}
	return v.renamed(f, m, here, found, refTab, refCell)
}

// isEntry reports whether a cell is that of a given.
func (m *tabMap) isEntry(tab string, cell spot) bool {
	for s := range m.entries {
		if at, ok := m.at(s); ok && at == cell && tab == m.to.name {
			return true
		}
	}
	return false
}

// renamed finds a given whose name does not refer to the cell in its row: if it
// was moved, that cell is empty, and it is on none of another given.
func (v *survey) renamed(f givenField, m *tabMap, here spot, found bool, refTab, refCell string) (string, string, bool) {
	there, _ := spotOf(refCell)
	content := v.book.tab(refTab)[refCell]
	switch {
	case found && (f.column || m.to.cells[here].value != "" || m.isEntry(refTab, there)):
		v.apart = append(v.apart, apart{f.name, refTab + "!" + refCell, m.to.name + "!" + cellAt(here), v.book.refs[f.name] == v.fresh.refs[f.name]})
		return "", "", false
	case content.value == "":
		return m.to.name, cellAt(here), found
	}
	v.notef("%s was moved to %s!%s", f.what, refTab, refCell)
	return refTab, refCell, true
}

// few lists the first of many.
func few(list []string) string {
	const most = 5
	if len(list) <= most {
		return strings.Join(list, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(list[:most], ", "), len(list)-most)
}
