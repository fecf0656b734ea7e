package unit

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// publishedRow is a line of testdata/published: values from publications, or
// derived from the formula in the source (see status).
type publishedRow struct {
	id                   string
	inputs, expected     []string
	tolerance            float64
	relative             bool
	what, source, status string
}

func readPublished(t *testing.T, path string) []publishedRow {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimRight(string(text), "\n"), "\n")
	if lines[0] != "id\twhat\tinputs\texpected\ttolerance\tsource\tstatus" {
		t.Fatalf("%s: columns are %q", path, lines[0])
	}
	var rows []publishedRow
	for _, line := range lines[1:] {
		f := strings.Split(line, "\t")
		if len(f) != 7 {
			t.Fatalf("%s: %d columns in %q", path, len(f), line)
		}
		row := publishedRow{id: f[0], what: f[1], source: f[5], status: f[6]}
		row.inputs, row.expected = strings.Split(f[2], "; "), strings.Split(f[3], "; ")
		size, form, _ := strings.Cut(f[4], " ")
		if row.tolerance, err = strconv.ParseFloat(size, 64); err != nil || form != "rel" && form != "abs" {
			t.Fatalf("%s: tolerance %q", row.id, f[4])
		}
		row.relative = form == "rel"
		if len(row.inputs) != len(row.expected) || row.source == "" {
			t.Fatalf("%s: inputs, expected and source do not match up", row.id)
		}
		rows = append(rows, row)
	}
	return rows
}

// convert reads "77 degF as K" and returns the number in K.
func convert(t *testing.T, text string) float64 {
	t.Helper()
	s := NewSystem()
	number, rest, _ := strings.Cut(text, " ")
	from, to, _ := strings.Cut(rest, " as ")
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		t.Fatal(err)
	}
	a, b := parse(t, s, from), parse(t, s, to)
	if problem := Meets(a.Measure, b.Measure); problem != "" {
		t.Fatalf("%s: %s", text, problem)
	}
	return b.Clean(a.SI(v))
}

// parse is Parse of a unit that must be one.
func parse(t testing.TB, s *System, text string) Unit {
	t.Helper()
	u, err := s.Parse(text)
	if err != nil {
		t.Fatalf("%s: %s", text, err.Message)
	}
	return u
}

func TestPublished(t *testing.T) {
	rows := readPublished(t, "../../testdata/published/units.tsv")
	if len(rows) < 18 {
		t.Errorf("only %d rows", len(rows))
	}
	for _, row := range rows {
		for i, input := range row.inputs {
			want, err := strconv.ParseFloat(row.expected[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			allowed := row.tolerance
			if row.relative {
				allowed *= math.Abs(want)
			}
			if got := convert(t, input); !(math.Abs(got-want) <= allowed) {
				t.Errorf("%s (%s): %s is %v, want %v", row.id, row.source, input, got, want)
			}
		}
	}
}
