package syntax_test

import (
	"strings"
	"testing"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// find returns the cell or column called name, as in "gears.ratio".
func find(w *syntax.Worksheet, name string) *syntax.Cell {
	table, column, dotted := strings.Cut(name, ".")
	for _, s := range w.Stmts {
		switch s := s.(type) {
		case *syntax.Cell:
			if s.Name.Text == table && s.Column.Text == column {
				return s
			}
		case *syntax.Table:
			for _, c := range append(syntax.GridColumns(s), s.Columns...) {
				if dotted && s.Name.Text == table && c.Name.Text == column {
					return c
				}
			}
		}
	}
	return nil
}

func TestReplaceValue(t *testing.T) {
	cases := []struct {
		name, text, cell string
		entry            int
		value, want      string
	}{
		{"a number with its unit", "# top\r\nx :  17 teeth\t range 15..19  # note\r\n", "x", 0, "18 teeth", "# top\r\nx :  18 teeth\t range 15..19  # note\r\n"},
		{"a bare number keeps the unit", "x : 17teeth", "x", 0, "18", "x : 18teeth"},
		{"a sign", "x : - 5 degC", "x", 0, "3.5 degC", "x : 3.5 degC"},
		{"a text", `x : "a ""b"""  choice "c"`, "x", 0, `"c"`, `x : "c"  choice "c"`},
		{"a bare word for a text", `x : "a"`, "x", 0, "no", "x : no"},
		{"first of a list", "x : 6000, 7000,\n 8000 rpm", "x", 0, "6500 rpm", "x : 6500, 7000,\n 8000 rpm"},
		{"last of a list", "x : 6000, 7000, 8000 rpm", "x", 2, "8500", "x : 6000, 7000, 8500 rpm"},
		{"another unit in the last of a list", "x : 6, 7 m, 8 km", "x", 2, "900 m", "x : 6 km, 7 m, 900 m"},
		{"another unit in the first of a list", "x : 6, 7, 8 km", "x", 0, "900 m", "x : 900 m, 7, 8 km"},
		{"another unit and a range", "x : 6 km ± 1 range 3..9 to 0.1", "x", 0, "6000 m", "x : 6000 m ± 1 km range 3 km..9 km to 0.1 km"},
		{"another unit and a choice", "x : 6 km choice 6, 7 as m to 0.1", "x", 0, "7000 m", "x : 7000 m choice 6 km, 7 km as m to 0.1"},
		{"a unit where none stood", "x : 6", "x", 0, "7 m", "x : 7 m"},
		{"an override", "use \"b\"\ng.r[3] : 1.50  # was", "g.r", 0, "1.52", "use \"b\"\ng.r[3] : 1.52  # was"},
		{"a field of a grid", "table t\n | a s | b |\n | 180 | warm-up |\n | 7   | burnout |\n", "t.a", 1, "7.25 s", "table t\n | a s | b |\n | 180 | warm-up |\n | 7.25   | burnout |\n"},
		{"a text in a grid", "table t\n | a s | b |\n | 180 | warm-up |\n", "t.b", 0, `"x"`, "table t\n | a s | b |\n | 180 | \"x\" |\n"},
		{"a number for a text", `x : "a"  choice "b"`, "x", 0, "5 m", `x : 5 m  choice "b"`},
		{"no such value", "x : 6", "x", 1, "7", "x : 6"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w, list := syntax.Parse(source.New("x", c.text))
			if len(list) > 0 {
				t.Fatalf("%v", list)
			}
			cell := find(w, c.cell)
			if cell == nil {
				t.Fatalf("no cell %s", c.cell)
			}
			if got := syntax.ReplaceValue(w, cell, c.entry, c.value); got != c.want {
				t.Errorf("got\n%q\nwant\n%q", got, c.want)
			}
		})
	}
}
