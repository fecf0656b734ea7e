package check_test

import (
	"testing"

	"gearleaf/sheet/check"
)

// TestHelp checks the help of errors.
func TestHelp(t *testing.T) {
	const givens = "gauge : 10 psig\npoint : 100 kPa\nwarmer : 5 deltaC\ninside : 20 degC\nteeth : 17 teeth\n"
	for _, c := range []struct{ line, message, help string }{
		{
			"x = warmer / inside", "warmer is a temperature difference and inside is absolute: their quotient is not a ratio of temperatures",
			"a ratio is (inside + warmer) / inside; a rise as a share of a temperature is plain(warmer) / inside",
		},
		{
			"x = mod(point - point, 3)", "mod takes a number without a dimension; point - point is relative pressure, kg/(m.s2)",
			"divide by the unit that is meant, as in mod((point - point) / 1 kPad, 3)",
		},
		{
			"x = mod(point, gauge)", "mod takes a number without a dimension; point is absolute pressure, kg/(m.s2)",
			"divide by the unit that is meant, as in mod(point / 1 kPa, gauge / 1 kPad)",
		},
		{"x = 2gauge", "\"gauge\" is not a unit", "to multiply by gauge, write 2 * gauge"},
		{"table t rows 2\n  a = row\n  b = 2.5 a", "\"a\" is not a unit", "to multiply by a, write 2.5 * a"},
		{"limit \"x\"", "limit needs a condition, and \"x\" is a text", `compare it, as in "x" = "…"`},
		{"limit teeth", "limit needs a condition, and teeth is a number", "compare it, as in teeth > 0"},
		{"x = true", "there is no \"true\" in this worksheet", "write yes"},
		{"x : 3 teeth range 1 mm..3 mm", "x is in teeth, 1 mm is length (m)", "write it in teeth"},
	} {
		_, list := sheet(t, givens+c.line+"\n")
		if len(list) == 0 {
			t.Errorf("%s: nothing found", c.line)
			continue
		}
		if d := list[0]; d.Message != c.message || d.Help != c.help {
			t.Errorf("%s:\n%s\n%s\nwant\n%s\n%s", c.line, d.Message, d.Help, c.message, c.help)
		}
	}
}

// TestReportedOnce checks that what the parser has reported is not reported again.
func TestReportedOnce(t *testing.T) {
	texts := []string{"a : 5 choice\n", "a : 5 ± 1 sd 1\n"}
	for _, formula := range []string{"prev(a + 1)", "prev(t.a)", "prev(2)", "next()", "next(a, a)"} {
		texts = append(texts, "table t rows 3\n  a = row\n  b = "+formula+" start 0\n")
	}
	for _, text := range texts {
		tree, reported := parse(text)
		_, list := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: library()})
		if len(reported) != 1 || len(list) > 0 {
			t.Errorf("%s: the parser reports %d, then %s", text, len(reported), codes(list))
		}
	}
}
