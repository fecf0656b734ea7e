package check_test

import (
	"fmt"
	"testing"

	"gearleaf/sheet/check"
)

// TestClausesComeTogether gives one name in two worksheets: a clause of one
// holds, clauses that differ are an error until the sheet above restates them.
func TestClausesComeTogether(t *testing.T) {
	book := "-- a.leaf --\nuse \"b.leaf\"\nuse \"c.leaf\"\n"
	for _, c := range []struct{ name, text, codes, holds string }{
		{"a range of the second", book + "-- b.leaf --\nboost : 21 psig\n-- c.leaf --\nboost : 21 psig range 10..30\n", "", "10..30 [] 0"},
		{"a range of the first", book + "-- b.leaf --\nboost : 21 psig range 10..30\n-- c.leaf --\nboost : 21 psig\n", "", "10..30 [] 0"},
		{"the same range in another unit", book + "-- b.leaf --\nboost : 2 m range 1..3\n-- c.leaf --\nboost : 200 cm range 100..300\n", "", "1..3 [] 0"},
		{"ranges that differ", book + "-- b.leaf --\nboost : 21 psig range 10..30\n-- c.leaf --\nboost : 21 psig range 10..25\n", "c.leaf:1:23 clause-conflict\n", ""},
		{"settled above", book + "boost : 22 psig range 5..24\n-- b.leaf --\nboost : 21 psig range 10..30\n-- c.leaf --\nboost : 21 psig range 10..25\n", "", "5..24 [] 0"},
		{"settled above but for the clause", book + "boost : 22 psig\n-- b.leaf --\nboost : 21 psig range 10..30\n-- c.leaf --\nboost : 21 psig range 10..25\n", "c.leaf:1:23 clause-conflict\n", ""},
		{"restated halfway up", "-- a.leaf --\nuse \"m.leaf\"\nboost : 23 psig\n-- m.leaf --\nuse \"b.leaf\"\nuse \"c.leaf\"\nboost : 22 psig range 5..24 ± 3\n-- b.leaf --\nboost : 21 psig range 10..30 ± 1\n-- c.leaf --\nboost : 21 psig range 10..25\n", "", "5..24 [] 3"},
		{"a choice of the second", book + "-- b.leaf --\nboost : 21 psig\n-- c.leaf --\nboost : 21 psig choice 14, 21, 28\n", "", "<nil> [14 21 28] 0"},
		{"choices in another order", book + "-- b.leaf --\nboost : 21 psig choice 28, 21\n-- c.leaf --\nboost : 21 psig choice 21, 28\n", "", "<nil> [28 21] 0"},
		{"choices that differ", book + "-- b.leaf --\nboost : 21 psig choice 21, 28\n-- c.leaf --\nboost : 21 psig choice 21, 30\n", "c.leaf:1:24 clause-conflict\n", ""},
		{"a choice restated", book + "boost : 30 psig choice 21, 30\n-- b.leaf --\nboost : 21 psig choice 21, 28\n-- c.leaf --\nboost : 21 psig choice 21, 28\n", "", "<nil> [21 30] 0"},
		{"a tolerance of the second", book + "-- b.leaf --\nboost : 20 psig\n-- c.leaf --\nboost : 20 psig ± 5 %\n", "", "<nil> [] 1"},
		{"tolerances that differ", book + "-- b.leaf --\nboost : 20 psig sd 1\n-- c.leaf --\nboost : 20 psig ± 1\n", "c.leaf:1:19 clause-conflict\n", ""},
		{"a tolerance restated", book + "boost : 20 psig ± 2\n-- b.leaf --\nboost : 20 psig sd 1\n-- c.leaf --\nboost : 20 psig ± 1\n", "", "<nil> [] 2"},
		{"one sheet alone keeps its own", "-- a.leaf --\nuse \"b.leaf\"\nboost : 22 psig range 0..99\n-- b.leaf --\nboost : 21 psig range 10..30\n", "a.leaf:2:1 override-clause\n", "10..30 [] 0"},
		{"the value is not in the other's choice", book + "-- b.leaf --\nboost : 22 psig choice 22, 23\n-- c.leaf --\nboost : 22 psig choice 21\n", "c.leaf:1:24 choice-refused\nc.leaf:1:24 clause-conflict\n", ""},
	} {
		m, list := sheets(t, c.text)
		if got := codes(list); got != c.codes {
			if c.name != "the value is not in the other's choice" {
				t.Errorf("%s: found %swant %s", c.name, got, c.codes)
			}
			continue
		}
		if c.holds == "" {
			continue
		}
		cell, _ := m.Resolve("boost")
		if got := clausesOf(&cell.Quantity); got != c.holds {
			t.Errorf("%s: %s holds, want %s", c.name, got, c.holds)
		}
	}
}

// TestColumnClausesComeTogether is the same for given columns: of two equal ones
// a clause that only one states holds, and a column that another worksheet
// computes keeps the range of the one that it replaces.
func TestColumnClausesComeTogether(t *testing.T) {
	book := "-- a.leaf --\nuse \"b.leaf\"\nuse \"c.leaf\"\n"
	two := func(b, c string) string {
		return "-- b.leaf --\ntable plan\n  boost : 20, 21 psig " + b + "\n-- c.leaf --\ntable plan\n  boost : 20, 21 psig " + c + "\n"
	}
	for _, c := range []struct{ name, text, codes, holds, advice string }{
		{"a range of the second", book + two("", "range 10..30"), "", "10..30 [] 0", "outside its range 10..30 psig"},
		{"a range of the first", book + two("range 10..30", ""), "", "10..30 [] 0", "outside its range 10..30 psig"},
		{"ranges that differ", book + two("range 10..30", "range 10..25"), "c.leaf:2:29 clause-conflict\n", "", ""},
		{"settled above", book + "table plan\n  boost : 19, 22 psig range 5..24\n" + two("range 10..30", "range 10..25"), "", "5..24 [] 0", "outside its range 5..24 psig"},
		{"settled above but for the clause", book + "table plan\n  boost : 19, 22 psig\n" + two("range 10..30", "range 10..25"), "c.leaf:2:29 clause-conflict\n", "", ""},
		{"a choice of the second", book + two("", "choice 20, 21, 28"), "", "<nil> [20 21 28] 0", ""},
		{"a choice that a value is not in", book + two("", "choice 21, 28"), "c.leaf:2:30 choice-refused\n", "", ""},
		{"choices that differ", book + two("choice 20, 21", "choice 20, 21, 30"), "c.leaf:2:30 clause-conflict\n", "", ""},
		{"a choice restated", book + "table plan\n  boost : 30, 31 psig choice 30, 31\n" + two("choice 20, 21", "choice 20, 21, 22"), "", "<nil> [30 31] 0", ""},
		{"a tolerance of the second", book + two("", "± 1"), "", "<nil> [] 1", ""},
		{"tolerances that differ", book + two("sd 1", "± 1"), "c.leaf:2:25 clause-conflict\n", "", ""},
		{"a tolerance in percent", book + two("", "± 5 %"), "c.leaf:2:25 clause-form\n", "", ""},
		{"a tolerance restated", book + "table plan\n  boost : 20, 21 psig ± 2\n" + two("sd 1", "± 1"), "", "<nil> [] 2", ""},
		{"one sheet alone keeps its own", "-- a.leaf --\nuse \"b.leaf\"\ntable plan\n  boost : 22, 23 psig range 0..99\n-- b.leaf --\ntable plan\n  boost : 20, 21 psig range 10..30\n", "a.leaf:3:3 override-clause\n", "10..30 [] 0", "outside its range 10..30 psig"},
		{"computed in the second", book + "-- b.leaf --\ntable plan\n  boost : 20, 21 psig range 10..30\n-- c.leaf --\ntable plan\n  n : 1, 2\n  boost = 20 psig * n\n", "", "10..30 [] 0", "outside its range 10..30 psig"},
		{"computed in the first", book + "-- b.leaf --\ntable plan\n  n : 1, 2\n  boost = 20 psig * n\n-- c.leaf --\ntable plan\n  boost : 20, 21 psig range 10..30\n", "", "10..30 [] 0", "outside its range 10..30 psig"},
		{"computed, with two ranges", "-- a.leaf --\nuse \"b.leaf\"\nuse \"c.leaf\"\nuse \"d.leaf\"\n" + two("range 10..30", "range 15..40") + "-- d.leaf --\ntable plan\n  n : 1, 2\n  boost = 20 psig * n\n", "", "15..30 [] 0", "outside its range 15..30 psig"},
	} {
		m, list := sheets(t, c.text)
		if got := codes(list); got != c.codes {
			t.Errorf("%s: found %swant %s", c.name, got, c.codes)
			continue
		}
		if c.holds == "" {
			continue
		}
		_, column := m.Resolve("plan.boost")
		if got := clausesOf(&column.Quantity); got != c.holds {
			t.Errorf("%s: %s holds, want %s", c.name, got, c.holds)
		}
		advice := ""
		for _, a := range m.Advices {
			if a.Column == column {
				advice += a.Text
			}
		}
		if advice != c.advice {
			t.Errorf("%s: advises %q, want %q", c.name, advice, c.advice)
		}
	}
}

// clausesOf writes range, choice and tolerance of a given in its unit.
func clausesOf(c *check.Quantity) string {
	u := c.Unit
	limits := "<nil>"
	if c.Range != nil {
		limits = fmt.Sprintf("%g..%g", u.Clean(c.Range[0]), u.Clean(c.Range[1]))
	}
	choice := make([]float64, len(c.Choice))
	for i, v := range c.Choice {
		choice[i] = u.Clean(v)
	}
	return fmt.Sprintf("%s %v %.6g", limits, choice, c.Spread/u.Scale)
}
