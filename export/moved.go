package export

import (
	"fmt"
	"maps"
	"strings"
)

// A table that is cut and pasted elsewhere takes its formulas and names along, and
// leaves the lines around it. The names of its columns say where it is.

// area is a range of cells of a tab.
type area struct {
	tab         string
	first, last spot
}

// areaOf reads a reference such as 'Tab'!$C$5:$C$9.
func areaOf(ref string) (area, bool) {
	tab, cell, ok := split(ref, 0)
	first, _ := spotOf(cell)
	last := first
	if _, end, is := strings.Cut(ref[strings.LastIndex(ref, "!")+1:], ":"); is {
		var sound bool
		last, sound = spotOf(strings.ReplaceAll(end, "$", ""))
		ok = ok && sound
	}
	return area{tab, first, last}, ok
}

// movedTable is a table whose columns are all elsewhere, by the same distance.
type movedTable struct {
	name     string
	from, to area
}

// shifted returns the place of a cell of the table now.
func (t movedTable) shifted(s spot) spot {
	return spot{s.column + t.to.first.column - t.from.first.column, s.row + t.to.first.row - t.from.first.row}
}

// shiftedTables returns the tables whose names refer to other places than written.
// The name of a rounded column refers to its exact values among the steps.
func (v *survey) shiftedTables(b *book) []movedTable {
	var out []movedTable
	for _, t := range b.tables {
		tab := t.tab
		if t.host != nil {
			tab = t.host.name
		}
		all, uniform := movedTable{name: t.t.Name}, true
		for column, name := range t.names {
			was, known := areaOf(v.fresh.refs[name])
			now, named := areaOf(v.book.refs[name])
			if name == "" || !known || was.tab != tab || was.first.column != column {
				continue
			}
			if all.from.tab == "" {
				first, last := t.column(0), t.column(len(t.t.Columns)-1)
				shift := now.first.column - was.first.column
				all.from = area{tab, spot{first, was.first.row}, spot{last, was.last.row}}
				all.to = area{now.tab, spot{first + shift, now.first.row}, spot{last + shift, now.last.row}}
			}
			uniform = uniform && named && now.tab == all.to.tab && now.first == all.shifted(was.first) && now.last == all.shifted(was.last)
		}
		if uniform && all.from.tab != "" && (all.to.tab != tab || all.to.first != all.from.first) {
			out = append(out, all)
		}
	}
	return out
}

// cells returns the cells of a table that were moved with it, each with its place:
// its rows, and of its heads, title and row numbers those that are there.
func (t movedTable) cells(from, to *tabGrid) map[spot]spot {
	const heads = 3
	out := map[spot]spot{}
	for s, c := range from.cells {
		if s.column < t.from.first.column-1 || s.column > t.from.last.column || s.row < t.from.first.row-heads || s.row > t.from.last.row {
			continue
		}
		inside := s.row >= t.from.first.row && s.column >= t.from.first.column
		if there := t.shifted(s); inside || token(to.cells[there]) == token(c) {
			out[s] = there
		}
	}
	return out
}

// matchMoved matches a tab, with the tables that were moved away from their lines.
func (v *survey) matchMoved(from, to *tabGrid, entries map[spot]bool) *tabMap {
	without := &tabMap{from: from, to: to, entries: entries, moved: map[spot]spot{}}
	for _, t := range v.shifted {
		if t.from.tab == from.name {
			without.take(t)
		}
	}
	without.match()
	if len(without.moved) == 0 {
		return without
	}
	m := &tabMap{from: from, to: to, entries: entries, moved: map[spot]spot{}}
	for _, t := range v.shifted {
		switch at, _ := without.along(t.from.first); {
		case t.from.tab != from.name:
		case t.to.tab != to.name && v.book.tab(t.to.tab) != nil:
			m.take(t)
			v.problemf("the table %s was moved to the tab %s: move it back", t.name, t.to.tab)
		case t.to.tab == to.name && at != t.to.first:
			v.act("%s: the table %s was moved to %s", to.name, t.name, cellAt(m.take(t)))
		}
	}
	m.match()
	return m
}

// take records the cells of a moved table, and returns the place of the first one.
func (m *tabMap) take(t movedTable) spot {
	cells := t.cells(m.from, m.to)
	if len(cells) == 0 {
		return t.to.first
	}
	maps.Copy(m.moved, cells)
	return t.shifted(sortedSpots(cells)[0])
}

// act notes what was done to rows, columns or tabs.
func (v *survey) act(format string, args ...any) {
	v.acts = append(v.acts, fmt.Sprintf(format, args...))
	v.notef(format, args...)
}

// apart is a given whose name refers to another cell than the one in its line.
type apart struct {
	name, refers, field string
	unmoved             bool // the name refers to where the cell was written
}

// cameApart reports the givens whose values and lines came apart: their rows were
// sorted, cells were inserted or deleted, or a program did not move the names along.
func (v *survey) cameApart() {
	if len(v.gone) > 0 {
		v.problemf("the cells of %s were deleted: undo that", few(v.gone))
	}
	if len(v.apart) == 0 || len(v.problems) > 0 {
		return
	}
	one, unmoved := v.apart[0], len(v.acts) > 0
	names := make([]string, len(v.apart))
	for i, a := range v.apart {
		names[i], unmoved = a.name, unmoved && a.unmoved
	}
	example := fmt.Sprintf("the name %s refers to %s now; its field is %s", one.name, one.refers, one.field)
	switch {
	case unmoved:
		v.notAlong(example)
	case len(names) == 1:
		v.problemf("%s: undo that", example)
	default:
		v.problemf("cells were inserted, deleted or sorted beside the lines of %s (%s): undo that", few(names), example)
	}
}

// notAlong reports that names or formulas were not moved along with rows or columns.
func (v *survey) notAlong(example string) {
	if len(v.problems) == 0 || !strings.Contains(v.problems[len(v.problems)-1], didNotFollow) {
		v.problemf("%s%s (%s): undo that", few(v.acts), didNotFollow, example)
	}
}

const didNotFollow = ", but the formulas and names did not follow, as after a sort or a script"
