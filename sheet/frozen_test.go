package sheet_test

import (
	"crypto/sha256"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/formulas"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// frozen holds worksheets that are never edited, and their values, a file for
// each version of the library.
const frozen = "../testdata/frozen"

// TestFrozenSheets computes the frozen worksheets and compares every value with the
// bits that were written down for this version of the library. A change that
// moves a bit raises formulas.Version and says in CHANGES.md what has changed;
// GEARLEAF_UPDATE=1 then writes the values of the new version, and never those
// of a version that has been written down.
func TestFrozenSheets(t *testing.T) {
	var lines []string
	for _, path := range frozenSheets(t) {
		lines = append(lines, valuesOf(t, path)...)
	}
	if len(lines) < 1500 {
		t.Errorf("only %d values were computed", len(lines))
	}
	kept := filepath.Join(frozen, fmt.Sprintf("library-%d.tsv", formulas.Version))
	data, err := os.ReadFile(kept)
	if os.IsNotExist(err) && os.Getenv("GEARLEAF_UPDATE") != "" {
		if err := os.WriteFile(kept, []byte(strings.Join(lines, "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if err != nil {
		t.Fatalf("%v: GEARLEAF_UPDATE=1 writes the values of a new version of the library", err)
	}
	compareFrozen(t, strings.Split(strings.TrimSuffix(string(data), "\n"), "\n"), lines)
}

// compareFrozen reports the first values that differ.
func compareFrozen(t *testing.T, want, got []string) {
	t.Helper()
	if len(want) != len(got) {
		t.Errorf("%d values, %d are written down", len(got), len(want))
	}
	reported := 0
	for i := range min(len(want), len(got)) {
		if !sameFrozen(want[i], got[i]) && reported < 10 {
			reported++
			t.Errorf("computed %q, written down for version %d of the library: %q; "+
				"if that is meant, raise formulas.Version and say in CHANGES.md what has changed", got[i], formulas.Version, want[i])
		}
	}
}

// sameFrozen compares two lines: bit by bit on the processor on which they
// were written, within 1e-12 on others, where the digest of a column is not
// compared.
func sameFrozen(want, got string) bool {
	if runtime.GOARCH == "amd64" || want == got {
		return want == got
	}
	w, g := strings.Split(want, "\t"), strings.Split(got, "\t")
	if len(w) != len(g) || w[0] != g[0] || w[1] != g[1] {
		return false
	}
	a, errA := strconv.ParseFloat(w[2], 64)
	b, errB := strconv.ParseFloat(g[2], 64)
	if errA != nil || errB != nil {
		return w[2] == g[2]
	}
	return math.Abs(a-b) <= 1e-12*max(math.Abs(a), math.Abs(b))
}

// frozenSheets lists the worksheets in the order of their names.
func frozenSheets(t *testing.T) []string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(frozen, "*.leaf"))
	if err != nil || len(paths) < 10 {
		t.Fatalf("%d worksheets in %s: %v", len(paths), frozen, err)
	}
	slices.Sort(paths)
	return paths
}

// valuesOf returns a line for each value of the sheet at path: a scalar, or a
// column's last live value with the rows and the digest of all of them.
func valuesOf(t *testing.T, path string) []string {
	t.Helper()
	s, list := sheet.Load(path)
	if s == nil {
		t.Fatalf("%s: %v", path, list)
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	name := filepath.Base(path)
	var lines []string
	for _, p := range s.Names() {
		if p.Cell != nil {
			lines = append(lines, fmt.Sprintf("%s\t%s\t%s", name, p.Name(), frozenText(r.Cell(p.Cell), &p.Cell.Quantity)))
			continue
		}
		digest, rows, last := sha256.New(), 0, ""
		for row := range p.Column.Table.Rows {
			v := r.Entry(p.Column, row)
			if rows == row && !v.IsBlank() {
				rows, last = row+1, frozenText(v, &p.Column.Quantity)
			}
			io.WriteString(digest, frozenText(v, &p.Column.Quantity)+"\n")
		}
		lines = append(lines, fmt.Sprintf("%s\t%s\t%s\t%d\t%.8x", name, p.Name(), last, rows, digest.Sum(nil)))
	}
	return lines
}

// frozenText writes a value so that its bits can be read back.
func frozenText(v sheet.Value, q *check.Quantity) string {
	switch {
	case v.IsBlank():
		return "blank"
	case v.IsFault():
		return "fault"
	}
	if _, number := v.Plain(q).(float64); number {
		return strconv.FormatFloat(v.V, 'x', -1, 64)
	}
	return fmt.Sprint(v.Plain(q))
}
