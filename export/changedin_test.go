package export

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/outside"
)

// TestChangedInOtherPrograms changes givens of every kind in LibreOffice, in two
// locales, and in gnumeric. What each computes then must be what we compute, faults
// and broken limits included, and what is read back exactly what was changed. The
// workbooks that they open hold no cached value. The programs work on a case while
// the one before is compared.
func TestChangedInOtherPrograms(t *testing.T) {
	if testing.Short() && !outside.Required() {
		t.Skip("changes in other programs take a minute")
	}
	cases, books := changedCases(t), t.TempDir()
	for _, c := range cases {
		if path := filepath.Join(books, c.sample.name+".xlsx"); c.saved && !exists(path) {
			data, _ := c.workbook(t)
			if err := os.WriteFile(path, misled(t, data), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	programs := otherPrograms(t)
	var outcomes []<-chan outcome
	for _, p := range programs {
		outcomes = append(outcomes, work(p, cases, books, t.TempDir()))
	}
	seen := tally{start: time.Now()}
	for i, c := range cases {
		ours := c.expected(t)
		for k, p := range programs {
			if made := <-outcomes[k]; made.err != nil {
				t.Fatalf("%s: %v", p.name(), made.err)
			} else if !p.skips(c) {
				seen.compared += c.check(t, p, made, ours)
			}
		}
		seen.add(c)
		if i == len(cases)-1 || cases[i+1].sample.name != c.sample.name {
			t.Logf("%s: %v", c.sample.name, &seen)
		}
	}
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// work has a program compute all cases, one ahead of what is received. What a case
// computed is not for several goroutines.
func work(p program, cases []*changedCase, books, dir string) <-chan outcome {
	outcomes := make(chan outcome)
	skips := make([]bool, len(cases))
	for i, c := range cases {
		skips[i] = p.skips(c)
	}
	go func() {
		defer close(outcomes)
		for i, c := range cases {
			var made outcome
			if !skips[i] {
				made = p.compute(c, filepath.Join(books, c.sample.name+".xlsx"), dir)
			}
			if outcomes <- made; made.err != nil {
				return
			}
		}
	}()
	return outcomes
}

// tally is how much was compared.
type tally struct {
	start                            time.Time
	cases, atFault, broken, compared int
}

func (a *tally) add(c *changedCase) {
	a.cases++
	if faults(c.after) > faults(c.r) {
		a.atFault++
	}
	if slices.ContainsFunc(c.s.Model.Limits, func(l *check.Limit) bool {
		state, _ := c.after.Limit(l)
		return state == sheet.Broken
	}) {
		a.broken++
	}
}

func (a *tally) String() string {
	return fmt.Sprintf("%d cases after %.0f s, %d with new faults, %d with broken limits, %d cells compared",
		a.cases, time.Since(a.start).Seconds(), a.atFault, a.broken, a.compared)
}

// expected returns the workbook of the changed sheet.
func (c *changedCase) expected(t *testing.T) grid {
	t.Helper()
	var ours bytes.Buffer
	after := *c.s
	after.Settings = nil
	after.Set(c.settings()...)
	if _, err := writeWorkbook(&ours, &after, c.after, Options{}); err != nil {
		t.Fatal(err)
	}
	return withPoints(readGrid(t, ours.Bytes()))
}

// check compares what another program has computed with our workbook, and reads
// back what it saved. It returns how many cells were compared.
func (c *changedCase) check(t *testing.T, p program, made outcome, ours grid) int {
	t.Helper()
	name := p.name() + " " + c.name()
	if c.saved {
		c.readBack(t, name, made.saved)
	}
	theirs := withPoints(readValues(t, made))
	_, _ = os.Remove(made.values), os.Remove(made.saved)
	// A fault's cause is that of the values when the workbook was written.
	without := []string{"When written"}
	if p.name() == "gnumeric" && c.byChance() {
		// Its longer numbers decide between rows that are equal but for rounding.
		without = append(without, "MATCH(MIN(", `"row "&$`, "&IF(OR(I")
	}
	if _, is := p.(*office); is {
		c.withoutUnended(ours, theirs)
	}
	return compareGrids(t, name, ours, theirs, without...)
}

// withoutUnended leaves out, of a table whose until does not hold in any row, the
// cells of the last row in which LibreOffice has an error, and the cause that it then
// finds there. It computes a chain of thousands of cells in parts; the last cells of
// some columns keep the #VALUE! of a first attempt, though all that they read has its
// value by then, and have it if they are entered again. Such a table is at fault
// as a whole, there as here.
func (c *changedCase) withoutUnended(ours, theirs grid) {
	for _, plan := range newBook(c.s, c.after).tables {
		live, ended := c.after.Live(plan.t)
		if plan.t.Until == 0 || ended || live < plan.t.Rows {
			continue
		}
		row, left := plan.rowText(live-1), false
		for ref, f := range theirs[plan.tab] {
			if strings.TrimLeft(ref, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == row && f.kind == "e" && ours[plan.tab][ref].kind != "e" {
				delete(ours[plan.tab], ref)
				left = true
			}
		}
		for tab := range ours {
			for ref, f := range ours[tab] {
				if left && strings.HasSuffix(f.value, "At fault: "+neverEnds) && strings.Contains(f.formula, plan.cause) {
					delete(ours[tab], ref)
				}
			}
		}
	}
}

// withPoints writes a point for the decimal comma of numbers in texts, where a
// locale has one.
func withPoints(g grid) grid {
	for _, fields := range g {
		for ref, f := range fields {
			if f.kind == "str" && strings.Contains(f.value, ",") {
				f.value = decimalComma.ReplaceAllString(f.value, "$1.$2")
				fields[ref] = f
			}
		}
	}
	return g
}

var decimalComma = regexp.MustCompile(`(\d),(\d)`)

// readBack reads back a workbook that another program saved: exactly what was
// changed.
func (c *changedCase) readBack(t *testing.T, name, path string) {
	t.Helper()
	back, list, err := OpenReturned(path, c.s)
	if err != nil || back == nil {
		t.Errorf("%s: %v %v", name, err, list)
		return
	}
	if len(back.Problems)+len(back.Notes) > 0 {
		t.Errorf("%s: taken for changed: %q %q", name, back.Problems, back.Notes)
	}
	for _, e := range back.Entries {
		if e.Asked { // a hundred times the old value, or a hundredth
			if err := back.Accept([]string{e.Place.Name()}); err != nil {
				t.Error(err)
			}
		}
	}
	c.checkSettings(t, name, back)
}

// checkSettings compares what is read back with what was changed.
func (c *changedCase) checkSettings(t *testing.T, name string, back *Returned) {
	t.Helper()
	m, err := back.Merge(c.s)
	if err != nil || len(m.Conflicts)+len(m.Refused)+len(m.Already) > 0 || m.TextChanged {
		t.Errorf("%s: %+v %v", name, m, err)
		return
	}
	got := map[string]float64{}
	for _, set := range m.Settings {
		got[set.Name()] = set.Value
	}
	for _, set := range c.settings() {
		if w, ok := got[set.Name()]; !ok || !agree(set.Value, w, 1e-14) {
			t.Errorf("%s: %s is %v, read back %v (%t)", name, set.Name(), set.Value, w, ok)
		}
	}
	if len(got) != len(c.changes) {
		t.Errorf("%s: %d changes were made, %d read back: %v", name, len(c.changes), len(got), got)
	}
}

// TestManyScalars changes the givens of a sheet with more scalars than a
// spreadsheet takes names, so that formulas refer to places, in LibreOffice, and
// compares every cell. With GEARLEAF_WORKBOOKS=all it has 70,000 scalars.
func TestManyScalars(t *testing.T) {
	if testing.Short() && !outside.Required() {
		t.Skip("31,000 scalars in LibreOffice take a minute")
	}
	n := maxNames + 1000
	if allWorkbooks() {
		n = 70_000
	}
	s := load(t, "scalars-"+strconv.Itoa(n), generate.Layered(n, 1))
	data, _ := s.workbook(t)
	path := filepath.Join(t.TempDir(), s.name+".xlsx")
	if err := os.WriteFile(path, misled(t, data), 0o644); err != nil {
		t.Fatal(err)
	}
	o := startOffice(t, "en-US", changeInOffice)
	for _, c := range casesOf(t, s, "number", 1, changesOf(t, s, "number", 1)) {
		if faults(c.after) > 0 {
			t.Errorf("%s: %.1f %% of the values are at fault", c.name(), 100*faults(c.after))
		}
		start := time.Now()
		made := o.compute(c, path, t.TempDir())
		if made.err != nil {
			t.Fatal(made.err)
		}
		compared := c.check(t, o, made, c.expected(t))
		t.Logf("%s: %d givens changed, %d cells compared after %.0f s", c.name(), len(c.changes), compared, time.Since(start).Seconds())
		if compared < n-len(c.changes) {
			t.Errorf("only %d cells with a formula were compared", compared)
		}
	}
}
