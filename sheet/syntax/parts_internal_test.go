package syntax

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"gearleaf/sheet/source"
)

// whole parses a text in one part; nil where it is not admitted.
func whole(f *source.File) *parser {
	p := newParser(f)
	p.sheet = &Worksheet{File: f}
	if !p.admit() {
		return nil
	}
	p.sheet.Stmts = make([]Stmt, 0, f.Lines())
	p.statements()
	p.sheet.exprs = p.exprs()
	return p
}

// sameInParts holds the tree of a text in n parts to that of the text as a
// whole, and reports whether there were parts.
func sameInParts(t *testing.T, text string, n int) bool {
	t.Helper()
	f := source.New("x", text)
	want := whole(f)
	if want == nil {
		return false
	}
	got := inParts(f, n, false)
	switch {
	case len(want.list) > 0 && got != nil:
		t.Fatalf("%d parts do without %q:\n%s", n, want.list[0].Message, text)
	case len(want.list) == 0 && got == nil && len(partStarts(text, n)) > 0:
		t.Fatalf("an error in %d parts and none in the whole:\n%s", n, text)
	case got != nil && !reflect.DeepEqual(got, want.sheet):
		t.Fatalf("%d parts are another tree than the whole:\n%s", n, text)
	}
	return got != nil
}

// withCells returns text with a few cells at each of its line starts in turn,
// and with a few at all of them.
func withCells(text string) []string {
	const cells = "pa : 1\npb = pa\npc = pb\n"
	lines := strings.SplitAfter(text, "\n")
	texts := []string{strings.Join(lines, cells)}
	for i := range lines {
		texts = append(texts, strings.Join(lines[:i], "")+cells+strings.Join(lines[i:], ""))
	}
	return texts
}

// TestParts parses worksheets in parts, with places to part them at wherever
// a line begins: inside tables, functions, comments and formulas that go on.
func TestParts(t *testing.T) {
	var names []string
	for _, pattern := range []string{"testdata/sheet/*.leaf", "../../templates/*.leaf"} {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("%s: no worksheets, %v", pattern, err)
		}
		names = append(names, found...)
	}
	parted := 0
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range withCells(string(text)) {
			if sameInParts(t, text, 7) {
				parted++
			}
		}
	}
	if parted < 500 {
		t.Errorf("%d texts were parsed in parts", parted)
	}
}

// TestPartStarts parts a text only where one cell at the margin stands right
// below another.
func TestPartStarts(t *testing.T) {
	for _, c := range []struct {
		text string
		want int
	}{
		{"a : 1\nb : 2\nc : 3\n", 12},
		{"a : 1\nb : 2\n\nc : 3\n", -1},
		{"a : 1\n# of c\nc : 3\nd = c\n", 19},
		{"a : 1\n  b : 2\n  c : 2\n", -1},
		{"a : 1\nb : 2,\n  3\nc : 4\n", -1},
		{"a : 1\ntable t\n  x : 1\nc : 4\n", -1},
		{"a : 1\nb = 2", -1},
	} {
		if got := partStart(c.text, 1); got != c.want {
			t.Errorf("%q is parted at %d, want %d", c.text, got, c.want)
		}
	}
}

func FuzzParts(f *testing.F) {
	for _, text := range []string{"a : 1\nb = a\nc = b + 1\nd : 2 mm\n", "t = (1 +\nb : 2\nc : 3\nd : 4)\n", "table t\n  a : 1, 2\nb : 3\nc : 4\n"} {
		f.Add(text)
		f.Add(strings.ReplaceAll(text, "\n", "\r\n"))
	}
	f.Fuzz(func(t *testing.T, text string) {
		for n := 2; n < 5; n++ {
			sameInParts(t, text, n)
		}
	})
}
