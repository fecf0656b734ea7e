package formulas_test

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// published is one row of a table of published values. Of columns that hold
// several values, each is cut at the semicolons.
type published struct {
	id, tolerance, source, why string
	expected, formula, unit    []string
}

// readPublished reads a table of published values; the one of units has no
// formulas and is read where units are tested.
func readPublished(t *testing.T, path string) []published {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var rows []published
	column := map[string]int{}
	for i, line := range strings.Split(strings.TrimRight(string(text), "\n"), "\n") {
		fields := strings.Split(line, "\t")
		if i == 0 {
			for j, head := range fields {
				column[head] = j
			}
			continue
		}
		if len(fields) != len(column) {
			t.Fatalf("%s:%d: %d fields under %d heads", path, i+1, len(fields), len(column))
		}
		at := func(head string) string { return fields[column[head]] }
		list := func(head string) []string {
			if at(head) == "" {
				return nil
			}
			return strings.Split(at(head), "; ")
		}
		rows = append(rows, published{
			id: at("id"), tolerance: at("tolerance"), source: at("source"), why: at("why"),
			expected: list("expected"), formula: list("formula"), unit: list("unit"),
		})
	}
	return rows
}

// publishedTables returns the tables whose rows have formulas.
func publishedTables(t *testing.T) []string {
	t.Helper()
	paths, err := filepath.Glob("../testdata/published/*.tsv")
	if err != nil {
		t.Fatal(err)
	}
	var tables []string
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		head, _, _ := strings.Cut(string(text), "\n")
		if strings.Contains(head, "\tformula\t") {
			tables = append(tables, path)
		}
	}
	if len(tables) == 0 {
		t.Fatal("no table of published values has formulas")
	}
	return tables
}

// closeTo reports whether got is expected within a tolerance such as
// "1e-5 rel", "0.1 abs" or "exact".
func closeTo(t *testing.T, got, expected float64, tolerance string) bool {
	t.Helper()
	if tolerance == "exact" {
		return got == expected
	}
	size, form, ok := strings.Cut(tolerance, " ")
	limit, err := strconv.ParseFloat(size, 64)
	if !ok || err != nil || form != "rel" && form != "abs" {
		t.Fatalf("no tolerance: %q", tolerance)
	}
	if form == "rel" {
		limit *= math.Abs(expected)
	}
	return math.Abs(got-expected) <= limit*(1+1e-6) // a value right on the limit is within
}

// above returns the worksheet beside a table, whose cells the formulas of the
// table may name: steps and curves. A table may have none.
func above(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(strings.TrimSuffix(path, ".tsv") + ".leaf")
	if errors.Is(err, fs.ErrNotExist) {
		return ""
	}
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestPublished computes published values. A row without a formula has a
// reason.
func TestPublished(t *testing.T) {
	for _, path := range publishedTables(t) {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".tsv"), func(t *testing.T) {
			rows := readPublished(t, path)
			var text strings.Builder
			text.WriteString(above(t, path))
			formulas := 0
			for i, row := range rows {
				if len(row.formula) == 0 && row.why == "" {
					t.Errorf("%s has neither a formula nor a reason", row.id)
				}
				if len(row.formula) > 0 && (len(row.formula) != len(row.expected) || len(row.unit) != len(row.expected)) {
					t.Fatalf("%s: %d formulas and %d units for %d values", row.id, len(row.formula), len(row.unit), len(row.expected))
				}
				for j, formula := range row.formula {
					if formula != "-" {
						formulas++
						fmt.Fprintf(&text, "value_%d_%d = %s\n", i, j, formula)
					}
				}
			}
			if formulas == 0 {
				return
			}
			r := computed(t, load(t, filepath.Base(path), text.String()))
			for i, row := range rows {
				for j, formula := range row.formula {
					if formula == "-" {
						continue
					}
					v, c := cell(t, r, fmt.Sprintf("value_%d_%d", i, j))
					if row.expected[j] == "true" {
						if c.Type.Form != check.Truth || v != 1 {
							t.Errorf("%s: %s does not hold (%s)", row.id, formula, row.source)
						}
						continue
					}
					u, problem := unit.NewSystem().Parse(row.unit[j])
					if problem != nil {
						t.Fatalf("%s: %s", row.id, problem.Message)
					}
					if u.Measure.Dim != c.Type.Measure.Dim {
						t.Errorf("%s: %s is not in %s", row.id, formula, row.unit[j])
						continue
					}
					expected, err := strconv.ParseFloat(row.expected[j], 64)
					if err != nil {
						t.Fatalf("%s: %v", row.id, err)
					}
					if got := u.Shown(v); !closeTo(t, got, expected, row.tolerance) {
						t.Errorf("%s: %s is %.9g %s, published %s within %s (%s)", row.id, formula, got, row.unit[j], row.expected[j], row.tolerance, row.source)
					}
				}
			}
		})
	}
}
