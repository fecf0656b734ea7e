package export

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet/outside"
)

// TestPastedTextIsAFault pastes a text over one number after the other, in other
// programs. Whatever follows that number, when it is smaller or larger, must then
// be no number, and no limit that does may be judged. Large books are left out: each
// text takes them seconds.
func TestPastedTextIsAFault(t *testing.T) {
	if testing.Short() && !outside.Required() {
		t.Skip("texts in other programs take half a minute")
	}
	programs := slices.DeleteFunc(otherPrograms(t), func(p program) bool { return p.name() == "LibreOffice de-DE" })
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		few := []string{"tables", "scalars", "edges", "template-day-log"}
		if strings.HasPrefix(s.name, "chance-") || len(data) > largeBook || !allWorkbooks() && !slices.Contains(few, s.name) {
			continue
		}
		path := filepath.Join(t.TempDir(), s.name+".xlsx")
		if err := os.WriteFile(path, misled(t, data), 0o644); err != nil {
			t.Fatal(err)
		}
		pasted, moved := pastedTexts(t, s, readGrid(t, data))
		for _, p := range programs {
			dir, silent := t.TempDir(), 0
			for i, c := range pasted {
				made := p.compute(c, path, dir)
				if made.err != nil {
					t.Fatalf("%s: %s: %v", p.name(), c.what, made.err)
				}
				for _, line := range silentCells(readValues(t, made), moved[i]) {
					if silent++; silent <= 12 {
						t.Errorf("%s %s: a text over %s is left out: %s", p.name(), s.name, c.what, line)
					}
				}
				_, _ = os.Remove(made.values), os.Remove(made.saved)
			}
			t.Logf("%s %s: %d texts, %d cells show a number", p.name(), s.name, len(pasted), silent)
		}
	}
}

// pastedTexts returns a case for each number of a sheet, and the cells, with their
// formulas, that follow it.
func pastedTexts(t *testing.T, s sample, base grid) (cases []*changedCase, moved []map[[2]string]string) {
	t.Helper()
	for _, kind := range []string{"number", "percent", "count", "entry"} {
		for _, l := range []level{low, 2} {
			for _, ch := range changesOf(t, s, kind, l) {
				if ch.field[0] != "number" {
					continue
				}
				changed := &changedCase{sample: s, level: l, changes: []change{ch}}
				changed.compute(t)
				found := movedCells(base, changed.expected(t))
				ch.field[0], ch.field[3] = "text", "n/a"
				i := slices.IndexFunc(cases, func(c *changedCase) bool { return c.changes[0].field == ch.field })
				if i < 0 {
					i = len(cases)
					cases = append(cases, &changedCase{sample: s, what: "pasted" + strconv.Itoa(i), changes: []change{ch}, after: s.r})
					moved = append(moved, map[[2]string]string{})
				}
				for at, formula := range found {
					moved[i][at] = formula
				}
			}
		}
	}
	return cases, moved
}

// ofTheList are parts of the formulas of the front's list of limits, which is in
// another order then, and of the digits in which the sides of limits are shown.
var ofTheList = []string{"INDEX(" + limitsTab + "!", "SMALL(", `="broken",1`, "INT(LOG10("}

// movedCells returns the cells that show another number, or another state.
func movedCells(base, changed grid) map[[2]string]string {
	moved := map[[2]string]string{}
	for tab, fields := range base {
		for ref, f := range fields {
			if f.formula == "" || slices.ContainsFunc(ofTheList, func(part string) bool { return strings.Contains(f.formula, part) }) {
				continue
			}
			after := changed[tab][ref]
			x, errX := strconv.ParseFloat(f.value, 64)
			y, errY := strconv.ParseFloat(after.value, 64)
			number := errX == nil && errY == nil && math.Abs(x-y) > 1e-9*math.Abs(x)
			if number || isState(f.value) && isState(after.value) && f.value != after.value {
				moved[[2]string{tab, ref}] = f.formula
			}
		}
	}
	return moved
}

func isState(text string) bool { return slices.Contains([]string{kept, broken, advised}, text) }

// silentCells lists the cells that show a number, or a verdict, nevertheless.
func silentCells(theirs grid, moved map[[2]string]string) (list []string) {
	for at, formula := range moved {
		f := theirs[at[0]][at[1]]
		if _, err := strconv.ParseFloat(f.value, 64); f.kind != "e" && err == nil || isState(f.value) {
			list = append(list, at[0]+"!"+at[1]+" shows "+f.value+", "+formula)
		}
	}
	slices.Sort(list)
	return list
}
