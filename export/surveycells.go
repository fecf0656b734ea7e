package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// changedUnits refuses a changed unit, also one where there was none: the number
// beside it would be read otherwise than it is meant.
func (v *survey) changedUnits(m *tabMap) {
	var changed []spot
	var of []unitCell
	for _, s := range sortedSpots(v.units[m.from.name]) {
		at, ok := m.at(s)
		unit := v.units[m.from.name][s]
		now := m.to.cells[at].value
		switch {
		case !ok || sameUnit(now, unit.unit) || v.movedUnit(unit):
		case unit.unit == "":
			v.problemf("%s!%s: %s has no unit, and the cell holds %s: empty it, and write a unit in the worksheet's text",
				m.to.name, cellAt(at), unit.what, cutRunes(now, 40))
		default:
			changed, of = append(changed, at), append(of, unit)
		}
	}
	if len(changed) == 0 {
		return
	}
	units := "unit of " + of[0].what + " was"
	if len(of) > 1 {
		units = fmt.Sprintf("units of %s and %d more were", of[0].what, len(of)-1)
	}
	v.problemf("%s!%s: the %s changed from %s to %s: put it back, and write a value in another unit as in \"78 in\"",
		m.to.name, few(cellRanges(changed)), units, of[0].unit, cmp.Or(cutRunes(m.to.cells[changed[0]].value, 40), "nothing"))
}

// movedUnit reports whether a scalar has its unit beside it where its name is now.
func (v *survey) movedUnit(of unitCell) bool {
	tab, cell, ok := split(v.book.refs[of.name], 0)
	s, _ := spotOf(cell)
	return ok && of.unit != "" && sameUnit(v.book.tab(tab)[cellAt(spot{s.column + 1, s.row})].value, of.unit)
}

// sameUnit reports whether a cell for a unit holds it; that of a percentage may be
// empty, because the number has the sign.
func sameUnit(text, unit string) bool {
	text = strings.TrimSpace(sameBlanks(text))
	return text == unit || unit == "%" && text == ""
}

// texts lists changed names, labels and heads.
func (v *survey) texts(m *tabMap) {
	var changed []string
	for _, s := range sortedSpots(m.from.cells) {
		c := m.from.cells[s]
		if m.entries[s] || c.formula != "" || !c.isText() || v.units[m.from.name][s].what != "" {
			continue
		}
		at, ok := m.at(s)
		if now := m.to.cells[at].value; ok && now != c.value && !strings.HasPrefix(now, c.value+"\n"+setRemarkBegins) {
			changed = append(changed, m.to.name+"!"+cellAt(at))
		}
	}
	if len(changed) > 0 {
		v.notef("a text was changed in %s: ignored", few(changed))
	}
}

// numbers refuses another number in place of one that the workbook computes with
// and does not take from a field: a bound of a limit, a constant among the steps.
// Where a table is read from a file, which may have changed, it is only said.
func (v *survey) numbers(m *tabMap) {
	var rows, others []string
	for _, s := range sortedSpots(m.from.cells) {
		was := m.from.cells[s]
		at, ok := m.at(s)
		if m.entries[s] || was.formula != "" || was.isText() || !ok || token(m.to.cells[at]) == token(was) {
			continue
		}
		place := m.to.name + "!" + cellAt(at)
		switch now := m.to.cells[at]; {
		case s.column == 1:
			rows = append(rows, place)
		case v.files:
			others = append(others, place)
		case now.value == "":
			v.problemf("%s: %s was deleted, which the worksheet's text gives: put it back", place, was.value)
		default:
			v.problemf("%s: %s was changed to %s: put it back, and change the worksheet's text", place, was.value, cutRunes(now.value, 40))
		}
	}
	if len(rows) > 0 {
		v.notef("a row's number was changed in %s: ignored", few(rows))
	}
	if len(others) > 0 {
		v.notef("%s holds another number than the worksheet and its files give: ignored", few(others))
	}
}

// formulas compares every formula with the written one.
func (v *survey) formulas(m *tabMap) {
	ours := map[spot]bool{}
	for s := range m.entries {
		if at, ok := m.at(s); ok {
			ours[at] = true
		}
	}
	faults := map[formulaFault][]spot{}
	for _, s := range sortedSpots(m.from.cells) {
		c := m.from.cells[s]
		at, ok := m.at(s)
		if c.formula == "" || !ok {
			continue
		}
		ours[at] = true
		if fault := v.formula(m, c, at); fault != "" {
			faults[fault] = append(faults[fault], at)
		}
	}
	v.faults(m, faults)
	var own []string
	for _, s := range sortedSpots(m.to.cells) {
		if m.to.cells[s].formula != "" && !ours[s] {
			own = append(own, m.to.name+"!"+cellAt(s))
		}
	}
	if len(own) > 0 {
		v.notef("%s holds a formula that the worksheet does not have: ignored", few(own))
	}
}

// formulaFault is how a formula differs from the written one.
type formulaFault string

const (
	deletedFormula  formulaFault = "deleted"
	replacedFormula formulaFault = "replaced by "
	changedFormula  formulaFault = "changed to ="
	unmovedFormula  formulaFault = "as it was, in a moved row or column"
)

// formula compares one formula; at is where it is now.
func (v *survey) formula(m *tabMap, was content, at spot) formulaFault {
	now := m.to.cells[at]
	switch want, sound := moveFormula(was.formula, m, v.tabs); {
	case !sound: // it refers to what was deleted, which is said
	case now.formula == "" && now.value == "":
		return deletedFormula
	case now.formula == "":
		return replacedFormula
	case plainFormula(now.formula, 0, 0) == plainFormula(want, 0, 0):
	case plainFormula(now.formula, 0, 0) == plainFormula(was.formula, 0, 0):
		return unmovedFormula
	default:
		return changedFormula
	}
	return ""
}

// faults reports the faults of the formulas of a tab, each kind once.
func (v *survey) faults(m *tabMap, faults map[formulaFault][]spot) {
	for _, fault := range []formulaFault{unmovedFormula, deletedFormula, replacedFormula, changedFormula} {
		at := faults[fault]
		if len(at) == 0 {
			continue
		}
		now := m.to.cells[at[0]]
		text, way := string(fault), "undo that"
		if len(v.acts) > 0 {
			way += "; also found: " + few(v.acts)
		}
		switch fault {
		case unmovedFormula:
			v.notAlong(m.to.name + "!" + cellAt(at[0]) + " holds =" + cutRunes(now.formula, 60))
			return
		case replacedFormula:
			text += now.value
		case changedFormula:
			text += cutRunes(now.formula, 60)
		}
		if len(at) == 1 {
			v.problemf("%s!%s: the formula was %s: %s", m.to.name, cellAt(at[0]), text, way)
			continue
		}
		v.problemf("%s!%s: %d formulas were %s: %s", m.to.name, few(cellRanges(at)), len(at), strings.Replace(text, " ", ", the first ", 1), way)
	}
}

// cellRanges writes cells, in the order of rows and columns, as ranges of rows or of
// columns.
func cellRanges(cells []spot) []string {
	rows := runs(cells, spot{1, 0})
	down := slices.SortedFunc(slices.Values(cells), func(a, b spot) int { return cmp.Or(a.column-b.column, a.row-b.row) })
	if columns := runs(down, spot{0, 1}); len(columns) < len(rows) {
		return columns
	}
	return rows
}

// runs writes sorted cells as ranges of neighbours in the direction of step.
func runs(cells []spot, step spot) []string {
	var out []string
	for i := 0; i < len(cells); {
		n := 1
		for i+n < len(cells) && cells[i+n] == (spot{cells[i].column + n*step.column, cells[i].row + n*step.row}) {
			n++
		}
		text := cellAt(cells[i])
		if n > 1 {
			text += ":" + cellAt(cells[i+n-1])
		}
		out, i = append(out, text), i+n
	}
	return out
}
