package check_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet/check"
)

// columnFacts writes what is known of the columns of the first table: G for a
// given, L for one of the loop, B for one that can be blank.
func columnFacts(m *check.Model) string {
	var words []string
	for _, c := range m.Tables[0].Columns {
		word := c.Name
		flags := ""
		if c.Given {
			flags += "G"
		}
		if c.Looped {
			flags += "L"
		}
		if c.Type.MayBlank {
			flags += "B"
		}
		if flags != "" {
			word += ":" + flags
		}
		words = append(words, word)
	}
	return strings.Join(words, " ")
}

// TestTables checks which columns are computed row by row, which can be
// blank, and what tables are refused.
func TestTables(t *testing.T) {
	for _, c := range []struct{ name, text, columns, codes string }{
		{"plain", "table t\n  a : 1, 2\n  b = a * 2\n", "a:G b", ""},
		{"next", "table t\n  a : 1, 2\n  b = next(a) - a\n  c = b + 1\n  d = mean(b)\n", "a:G b:B c:B d", ""},
		{"prev of a given", "table t\n  a : 1, 2\n  b = a - prev(a) start 0\n", "a:G b", ""},
		{"a look both ways", "table t\n  a : 1, 2, 4\n  b = a * 2\n  c = prev(b) + next(b) start 0\n  d = prev(a) / sum(a) + t.b[2] start 0\n", "a:G b:L c:B d", ""},
		{"a look both ways that another column depends on", "table t\n  a : 1, 2, 4\n  b = prev(a) + next(a) start 0\n  c = prev(b) start 0\n", "a:G b:L c:B", "3:17 loop-whole"},
		{"prev of a computed column", "table t\n  a : 1, 2\n  b = a * 2\n  c = b - prev(b) start 0\n  d = c + 1\n", "a:G b:L c d", ""},
		{"what the loop reads in its row", "table t rows 3\n  a = prev(a) + b start 0\n  b = c * 2\n  c = row\n  d = a\n", "a:L b:L c:L d", ""},
		{"until", "table t rows 9 until d > 5\n  a = prev(a) + 1 start 0\n  b = a * 2\n  d = a\n  e = row\n", "a:LB b:B d:LB e:B", ""},
		{"a start alone", "table t rows 3\n  a = row * 2 start 7\n", "a", ""},
		{"an empty field", "table t\n  | a | b s |\n  | 1 | 2 |\n  | 3 |   |\n  c = a * 2\n  d = b * 2\n", "a:G b:GB c d:B", ""},
		{"an empty field in the loop", "table t\n  | a | b s |\n  | 1 | 2 |\n  | 3 |   |\n  c = prev(c) + b start 0 s\n  d = prev(d) + 1 start 0\n", "a:G b:GB c:LB d:LB", ""},
		{"text and truth", "table t\n  | a | b   | c |\n  | x | yes | \"17\"\" rim\" |\n  | y | no | z |\n  d = if b then a else c\n", "a:G b:G c:G d", ""},

		{"next in the loop", "table t rows 3\n  a = prev(a) + b start 0\n  b = next(c)\n  c = row\n", "a:L b:LB c", "3:7 loop-whole"},
		{"the whole column in the loop", "table t rows 3\n  a = prev(a) + max(c) start 0\n  c = row\n", "a:L c", "2:17 loop-whole"},
		{"an index in the loop", "table t rows 3\n  a = prev(a) + t.c[1] start 0\n  c = row\n", "a:L c", "2:17 loop-whole"},
		{"a look-up in another table", "table t rows 3\n  a = prev(a) + lookup(row, u.x, u.y) start 0\ntable u\n  x : 1, 3\n  y : 4, 5\n", "a:L", ""},
		{"until looks ahead", "table t rows 3 until next(a) > 3\n  a = row\n", "a:B", "1:22 loop-whole"},
		{"until is no condition", "table t rows 3 until a\n  a = row\n", "a:LB", "1:22 form-mismatch"},
		{"prev without a start", "table t rows 3\n  a = prev(a) + 1\n", "a:L", "2:3 start-missing"},
		{"a start of another dimension", "table t rows 3\n  a = prev(a) + 1 s start 0\n", "a:L", "2:7 dimension-mismatch"},
		{"a start of another form", "table t rows 3\n  a = if prev(a) > 3 then 1 else 2 start yes\n", "a:L", "2:10 form-mismatch"},
		{"a formula of another dimension", "table t rows 3\n  a = b * 2 start 0\n  b = row * 1 s\n", "a b", "2:19 dimension-mismatch"},
		{"an aggregate of its own table outside the loop", "table t rows 3\n  a = prev(a) + 1 start 0\n  b = a / max(a)\n", "a:L b", ""},
		{"columns of other lengths", "table t\n  a : 1, 2\n  b : 1, 2, 3\n  c : 1, 2, 3\n", "a:G b:G c:G", "3:3 column-length"},
		{"rows against values", "table t rows 3\n  a : 1, 2\n", "a:G", "2:3 column-length"},
		{"no rows", "table t\n  a = row\n", "a", "1:7 table-rows"},
		{"no columns", "table t rows 3\n", "", "1:7 table-columns"},
		{"no columns, ended early", "x = 1\ntable t rows 3 until x > 0\n", "", "2:7 table-columns"},
		{"no columns and no rows", "table t\n", "", "1:7 table-columns"},
		{"too many rows", "table t rows 1000001\n  a = row\n", "a", "1:14 table-rows"},
		{"mixed values", "table t\n  a : 1, \"x\"\n  b : 1 s, 2 m\n", "a:G b:G", "2:10 form-mismatch\n3:7 dimension-mismatch"},
		{"a kind against another", "table t\n  a : 1 psig, 2 kPa\n", "a:G", "2:7 kind-mismatch"},
		{"a column twice", "table t\n  a : 1\n  a : 2\n", "a:G", "3:3 name-duplicate"},
		{"a cell's clause on a column", "table t\n  a : 17, 18 teeth choice 16, 17\n  b : 1, 1.5 teeth\n", "a:G b:G", "2:11 choice-refused\n3:10 not-whole"},
		{"± of every value", "table t\n  a : 17, 18 mm ± 2 %\n", "a:G", "2:19 clause-form"},
		{"a column hides a cell", "a : 3 kg\ntable t\n  a : 1, 2\n  b = a + 1\n", "a:G b", ""},
		{"a table hides the library's", "table fuels\n  a : 1\nx = last(fuels.a)\n", "a:G", "1:7 library-shadowed"},
	} {
		m, list := sheet(t, c.text)
		got := strings.ReplaceAll(strings.TrimSpace(codes(list)), "sheet.leaf:", "")
		if got != c.codes {
			t.Errorf("%s: found %s, want %s", c.name, got, c.codes)
			for _, d := range list {
				t.Log(d.Message)
			}
		}
		if facts := columnFacts(m); facts != c.columns {
			t.Errorf("%s: columns %s, want %s", c.name, facts, c.columns)
		}
	}
}

// TestColumnUnits checks which unit bare numbers take, and which a
// column is shown in.
func TestColumnUnits(t *testing.T) {
	m, list := sheet(t, "table t\n  a : 6000, 7000, 8000 rpm\n  b : 1 in, 2, 3 ft\n  c : 1, 2, 3\n  d = a * 2\n  e = b * c   as mm to 0.5\n  f = prev(f) + b start 0 ft\n"+
		"table grid\n  | name | duration s | speed rpm |\n  | warm | 180 | 2500 |\n  | burn | 7 | 9200 |\n")
	if list.Errors() {
		t.Fatal(codes(list))
	}
	for name, want := range map[string]string{
		"t.a": "rpm [100 116.66666666666667 133.33333333333334]", "t.b": "ft [0.0254 0.6096 0.9144]", "t.c": " [1 2 3]",
		"t.d": "rpm []", "t.e": "mm []", "t.f": "ft []",
		"grid.name": " [0 1]", "grid.duration": "s [180 7]", "grid.speed": "rpm [41.666666666666664 153.33333333333334]",
	} {
		_, c := m.Resolve(name)
		if got := fmt.Sprint(c.Unit.Symbol, " ", c.Values); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	if _, e := m.Resolve("t.e"); e.To != 0.5 {
		t.Errorf("t.e is shown to %v", e.To)
	}
}

// TestLimits checks which limits hold for every row of a table, and which are
// refused.
func TestLimits(t *testing.T) {
	const tables = "a : 3\nfree : 2 m\ntable t\n  x : 1, 2\n  ok : yes, no\n  n : \"p\", \"q\"\ntable u\n  y : 1, 2\n"
	for _, c := range []struct{ limit, want string }{
		{"limit a <= 5", "-"},
		{"limit t.x <= 5", "t"},
		{"limit 0 < t.x <= a", "t"},
		{"limit t.x <= 5 and (t.x) > a", "t"},
		{"limit t.ok", "t"},
		{"limit not t.ok or a > 3", "t"},
		{"limit t.n = \"p\"", "t"},
		{"advise max(t.x) <= 5", "-"},
		{"advise t.x <= max(u.y)", "t"},
		{"limit t.x <= u.y", "limit-tables"},
		{"limit t.x * 2 <= 5", "column-whole"},
		{"limit sqrt(t.x) <= 5", "column-whole"},
		{"limit max(t.x, 3) <= 5", "column-whole"},
		{"limit x <= 5", "name-unknown"},
		{"limit a", "form-mismatch"},
		{"limit t.x", "form-mismatch"},
		{"limit a <= free", "dimension-mismatch"},
		{"limit t.z <= 3", "column-unknown"},
	} {
		m, list := sheet(t, tables+c.limit+" \"Careful\"\n")
		got := "-"
		if l := m.Limits[0]; l.Table != nil {
			got = l.Table.Name
		}
		for _, d := range list {
			got = string(d.Code)
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.limit, got, c.want)
		}
	}
	m, _ := sheet(t, tables+"advise  t.x  <=  5 \"Careful\"\nlimit a > 2\n")
	if l := m.Limits[0]; !l.Advise || l.Message != "Careful" || l.Text != "t.x <= 5" {
		t.Errorf("limit %+v", l)
	}
	if l := m.Limits[1]; l.Advise || l.Message != "" || l.Index != 1 {
		t.Errorf("limit %+v", l)
	}
}

// TestCharts checks the columns that charts show.
func TestCharts(t *testing.T) {
	const tables = "a : 3\ntable t\n  x : 1, 2\n  y : 3, 4\n  n : \"p\", \"q\"\ntable u\n  y : 1, 2\n"
	for _, c := range []struct{ chart, want string }{
		{"x t.x y t.y", ""},
		{"x t.n y t.y, t.x", ""},
		{"x t.x y t.n", "form-mismatch"},
		{"x t.x y u.y", "chart-column"},
		{"x x y t.y", "chart-column"},
		{"x t.x y a", "chart-column"},
		{"x t.q y t.y", "column-unknown"},
	} {
		_, list := sheet(t, tables+"chart \"Title\" "+c.chart+"\n")
		got := ""
		for _, d := range list {
			got = string(d.Code)
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.chart, got, c.want)
		}
	}
}
