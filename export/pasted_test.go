package export

import (
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/outside"
)

// TestImpossibleEntriesAreFaults empties one given after the other, and pastes into
// it what it cannot be, in other programs. Whatever is a fault, by our own computing,
// where that given is one must then be no number, no limit that waits may be judged,
// and the verdict may not say that all are kept. Large books are left out: each entry
// takes them seconds.
func TestImpossibleEntriesAreFaults(t *testing.T) {
	if testing.Short() && !outside.Required() {
		t.Skip("entries in other programs take a minute")
	}
	programs := slices.DeleteFunc(otherPrograms(t), func(p program) bool { return p.name() == "LibreOffice de-DE" })
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		few := []string{"tables", "scalars", "edges", "empty", "template-day-log"}
		if len(data) > largeBook || !allWorkbooks() && !slices.Contains(few, s.name) {
			continue
		}
		path := filepath.Join(t.TempDir(), s.name+".xlsx")
		if err := os.WriteFile(path, misled(t, data), 0o644); err != nil {
			t.Fatal(err)
		}
		cases := impossibleEntries(t, s)
		for _, p := range programs {
			dir, silent, needless := t.TempDir(), 0, 0
			for _, c := range cases {
				if p.skips(c) {
					continue
				}
				made := p.compute(c, path, dir)
				if made.err != nil {
					t.Fatalf("%s: %s: %v", p.name(), c.what, made.err)
				}
				lines, more := silentCells(c.expected(t), readValues(t, made))
				needless += more
				for _, line := range lines {
					if silent++; silent <= 12 {
						t.Errorf("%s %s: %q in %s!%s of %s is taken: %s", p.name(), s.name, c.changes[0].field[3], c.changes[0].field[1], c.changes[0].field[2], c.changes[0].setting.Name(), line)
					}
				}
				_, _ = os.Remove(made.values), os.Remove(made.saved)
			}
			t.Logf("%s %s: %d entries, %d cells show a number or a verdict, %d are at fault without need", p.name(), s.name, len(cases), silent, needless)
		}
	}
}

// impossibleEntries returns a case for each entry that a given cannot have; after it,
// the given is at fault.
func impossibleEntries(t *testing.T, s sample) (cases []*changedCase) {
	t.Helper()
	for _, kind := range []string{"number", "percent", "count", "truth", "choice", "text", "entry"} {
		seen := map[[4]string]bool{}
		for _, l := range []level{low, 1, 2} { // a value that is the present one is no change
			for _, ch := range changesOf(t, s, kind, l) {
				place := ch.field
				place[0], place[3] = "", ""
				if seen[place] {
					continue
				}
				seen[place] = true
				for _, text := range impossible(s, ch.setting) {
					bad := ch
					bad.setting.Value, bad.field[0], bad.field[3] = kernel.Fault, "text", text
					if _, err := strconv.ParseFloat(text, 64); err == nil {
						bad.field[0] = "number"
					}
					c := &changedCase{sample: s, what: "impossible" + strconv.Itoa(len(cases)), changes: []change{bad}}
					c.compute(t)
					cases = append(cases, c)
				}
			}
		}
	}
	return cases
}

// impossible lists what a given cannot be.
func impossible(s sample, set sheet.Setting) []string {
	q := set.Quantity()
	var texts []string
	if !mayBeBlank(s, set) {
		texts = append(texts, "")
	}
	switch {
	case len(q.Choice) > 0 && q.Type.Form == check.Text:
		one := s.s.Model.Texts[int(q.Choice[0])]
		texts = append(texts, one+" ", swapCase(one), "*", "petrol")
	case q.Type.Form != check.Text:
		texts = append(texts, "n/a")
	}
	if q.Whole {
		texts = append(texts, "15.5")
	}
	return texts
}

// mayBeBlank reports whether the worksheet leaves a given, or another entry of its
// column, blank or an empty text.
func mayBeBlank(s sample, set sheet.Setting) bool {
	values := []float64{}
	if set.Cell != nil {
		values = append(values, set.Cell.Value)
	} else {
		values = set.Column.Values
	}
	return slices.ContainsFunc(values, func(v float64) bool {
		return kernel.IsBlank(v) || set.Quantity().Type.Form == check.Text && s.s.Model.Texts[int(v)] == ""
	})
}

// swapCase returns a text in the other case.
func swapCase(text string) string {
	if upper := strings.ToUpper(text); upper != text {
		return upper
	}
	return cmp.Or(strings.ToLower(text), "x")
}

func isState(text string) bool { return slices.Contains([]string{kept, broken, advised}, text) }

// silentCells lists the cells that show a number, or a verdict, where ours is a
// fault, and counts those that are a fault where ours is none.
func silentCells(ours, theirs grid) (list []string, needless int) {
	for tab, fields := range ours {
		for ref, f := range fields {
			their := theirs[tab][ref]
			_, err := strconv.ParseFloat(their.value, 64)
			number := their.kind != "e" && err == nil
			switch {
			case f.formula == "" || f.formula == "NA()":
			case f.kind == "e" && (number || isState(their.value)), f.value == waiting && isState(their.value):
				list = append(list, tab+"!"+ref+" shows "+their.value+", "+f.formula)
			case strings.HasPrefix(their.value, "All ") || strings.HasPrefix(their.value, "The limit is kept"):
				if their.value != f.value {
					list = append(list, tab+"!"+ref+" says "+their.value)
				}
			case their.kind == "e" && f.kind == "n":
				needless++
			}
		}
	}
	slices.Sort(list)
	return list, needless
}
