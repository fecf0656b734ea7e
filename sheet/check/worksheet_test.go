package check_test

import (
	"slices"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

// TestCautions reads the cautions of each worksheet, and of it alone.
func TestCautions(t *testing.T) {
	m, list := sheets(t, "-- a.leaf --\nuse \"b.leaf\"\ncaution \"One.\"\nx : 1\ncaution \"Two.\"\n-- b.leaf --\ncaution \"Three.\"\n")
	if len(list) > 0 {
		t.Fatal(codes(list))
	}
	for i, want := range [][]string{{"One.", "Two."}, {"Three."}} {
		if got := m.Files[i].Cautions(); !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", m.Files[i].File.Name, got, want)
		}
	}
}

// TestOutlineStops ends a walk over the outline early, within a run of entries.
func TestOutlineStops(t *testing.T) {
	m, _ := sheet(t, "a : 1\nb : 2\nc : 3\n")
	var seen []string
	for item := range m.Outline() {
		seen = append(seen, item.Cell.Name)
		if len(seen) == 2 {
			break
		}
	}
	if !slices.Equal(seen, []string{"a", "b"}) {
		t.Errorf("saw %v", seen)
	}
}

// TestLibraryWithAnError reports a value of the library that cannot be read in
// the library's own file.
func TestLibraryWithAnError(t *testing.T) {
	lib := library()
	tree, _ := parse("constant : 3 kgg\nfunction f(n: 1)\n  = n * constant\n")
	lib.Files = []*syntax.Worksheet{tree}
	_, list := check.CheckLibrary(lib)
	want := "sheet.leaf:1:14 unit-unknown «kgg» \"kgg\" is not a unit\n"
	if got := wordsOf(list); len(got) < len(want) || got[:len(want)] != want {
		t.Errorf("found %s", got)
	}
}
