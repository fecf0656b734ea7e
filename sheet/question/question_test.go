package question_test

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/question"
)

// loaded checks a worksheet, which has to be without errors.
func loaded(t testing.TB, text string) *sheet.Sheet {
	t.Helper()
	s, list := sheet.FromText("test.leaf", text)
	if s == nil {
		t.Fatalf("%s\n%v", text, list)
	}
	return s
}

// axis reads an input.
func axis(t testing.TB, s *sheet.Sheet, text string, free bool) question.Axis {
	t.Helper()
	a, d := question.ParseAxis(s, text, free)
	if d != nil {
		t.Fatal(d.Message)
	}
	return a
}

// shown reads names to show.
func shown(t testing.TB, s *sheet.Sheet, names ...string) []sheet.Place {
	t.Helper()
	places, d := question.ParseShow(s, names)
	if d != nil {
		t.Fatal(d.Message)
	}
	return places
}

// published is a row of testdata/published.
type published struct {
	id        string
	expected  []float64
	tolerance string
}

// row returns a published row.
func row(t testing.TB, file, id string) published {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		fields := strings.Split(lines.Text(), "\t")
		if fields[0] != id {
			continue
		}
		p := published{id: id, tolerance: fields[4]}
		for text := range strings.SplitSeq(fields[3], ";") {
			v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
			if err != nil {
				t.Fatalf("%s: %v", id, err)
			}
			p.expected = append(p.expected, v)
		}
		return p
	}
	t.Fatalf("%s holds no row %s", file, id)
	return published{}
}

// check compares got with the i-th expected value.
func (p published) check(t testing.TB, i int, what string, got float64) {
	t.Helper()
	size, kind, _ := strings.Cut(p.tolerance, " ")
	within, err := strconv.ParseFloat(size, 64)
	if err != nil {
		t.Fatalf("%s: tolerance %q", p.id, p.tolerance)
	}
	want := p.expected[i]
	if kind == "rel" {
		within *= math.Abs(want)
	}
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s, %s: %.10g, published %.10g ± %g", p.id, what, got, want, within)
	}
}
