package sheet_test

import (
	"testing"

	"gearleaf/sheet"
)

// TestFaultOfTheColumnAskedFor has two columns of one loop at fault for
// different reasons: each value has its own cause.
func TestFaultOfTheColumnAskedFor(t *testing.T) {
	s, list := sheet.FromText("two", `table run rows 3
  a = sqrt(1 - prev(a)) - 2   start 2
  b = prev(b) / (prev(b) - 1)   start 1
  both = prev(both) + a + b   start 0
`)
	if s == nil {
		t.Fatal(list)
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	table := s.Model.Tables[0]
	a, b := r.Entry(table.Columns[0], 1).Fault(), r.Entry(table.Columns[1], 1).Fault()
	if a == nil || b == nil {
		t.Fatalf("faults %v, %v", a, b)
	}
	if a.Cause == b.Cause || a.Origin == b.Origin {
		t.Errorf("one fault for both: %q of %q, %q of %q", a.Cause, a.Origin, b.Cause, b.Origin)
	}
}

// TestListBesideMissingFile: where a table's file is missing, a column that the
// sheet lists itself is at fault as well, for both evaluators.
func TestListBesideMissingFile(t *testing.T) {
	s := loaded(t, "table book from \"none.csv\"\n  a : from \"a\"\n  b : 1\nx = sum(book.b)\ny : 3\n")
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	x, _ := s.Model.Resolve("x")
	if !r.Cell(x).IsFault() {
		t.Errorf("x is %v", r.Cell(x).V)
	}
}
