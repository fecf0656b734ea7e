package check_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// TestMistakesRepeated repeats one mistake beyond the number of errors that
// are reported of a file: each reported one still offers its remedy, and the
// others are dropped.
func TestMistakesRepeated(t *testing.T) {
	head := "share : 70 %\nboost : 21 psig\nambient : 100 kPa\ntable t\n  a : 1, 2\nfunction gauge(p: psig) as psig\n  = p\nfunction absolute(p: kPa) as kPa\n  = p\n"
	for _, c := range []struct {
		formula string
		code    diag.Code
		help    string
	}{
		{"share + 5", diag.BareNumber, "write 500 % to keep the value, 5 % to change it"},
		{"shift_sped(%d)", diag.FunctionUnknown, ""},
		{"last(t.b)", diag.ColumnUnknown, ""},
		{"last(tt.a)", diag.TableUnknown, ""},
		{"gauge(ambient)", diag.ArgumentKind, "the difference from ambient is ambient - ambient"},
		{"absolute(boost)", diag.ArgumentKind, "the absolute value is boost + ambient"},
		{"boost / ambient", diag.KindQuotient, "the absolute value is boost + ambient"},
	} {
		var b strings.Builder
		b.WriteString(head)
		for i := range source.MaxErrors + 5 {
			fmt.Fprintf(&b, "x%d = %s\n", i, strings.ReplaceAll(c.formula, "%d", fmt.Sprint(i)))
		}
		_, list := sheet(t, b.String())
		if len(list) != source.MaxErrors {
			t.Errorf("%s: %d errors, want %d", c.formula, len(list), source.MaxErrors)
		}
		for _, d := range list {
			if d.Code != c.code || d.Help != c.help && c.help != "" {
				t.Errorf("%s: %s, help %q", c.formula, d.Code, d.Help)
				break
			}
		}
	}
}

// TestCallsThatGrow has a formula, a started column, a condition and an until
// with more operations than the bound once their calls are expanded.
func TestCallsThatGrow(t *testing.T) {
	head := "function f(x: 1) as 1\n  = x" + strings.Repeat(" + x", 4990) + "\n"
	calls := "f(1)" + strings.Repeat(" + f(1)", source.MaxExpanded/10_000+1)
	for _, c := range []struct{ text, at, says string }{
		{"x = CALLS\n", "1:1", "the formula of x has more than 100000 operations when its calls are expanded"},
		{"table t rows 3\n  a = prev(a) + CALLS start 1\n", "2:3", "the formula of a has more than 100000 operations when its calls are expanded"},
		{"limit CALLS < 3\n", "1:7", "this condition has more than 100000 operations when its calls are expanded"},
		{"table t rows 3  until a + CALLS > 3\n  a = row\n", "1:23", "this condition has more than 100000 operations when its calls are expanded"},
	} {
		_, list := sheet(t, head+strings.ReplaceAll(c.text, "CALLS", calls))
		found := false
		for _, d := range list {
			p := d.File.Position(d.Span.Start)
			found = found || d.Code == diag.TooLarge && d.Message == c.says && fmt.Sprintf("%d:%d", p.Line-2, p.Column) == c.at
		}
		if !found {
			t.Errorf("%s: %s", c.text, wordsOf(list))
		}
	}
}

// TestSheetsThatAreTooLarge has sheets that are within the bounds of each line and
// table, and beyond one for the whole.
func TestSheetsThatAreTooLarge(t *testing.T) {
	head := "function f(x: 1) as 1\n  = x" + strings.Repeat(" + x", 4990) + "\n"
	numbered := func(line string, n int) string {
		var b strings.Builder
		for i := range n {
			b.WriteString(strings.ReplaceAll(line, "#", fmt.Sprint(i)))
		}
		return b.String()
	}
	for _, c := range []struct{ name, text, want string }{
		{
			"work", head + "table t rows 1000000\n  a = f(1)\n",
			"sheet.leaf:4:3 too-large «a» the tables up to t.a take more than 1000000000 operations to compute once\n  help: fewer rows, or shorter formulas\n",
		},
		{
			"calls", head + numbered("x# = f(1) + f(2) + f(3) + f(4) + f(5)\n", 101),
			"sheet.leaf:1:1 too-large «» the formulas of this sheet have more than 5000000 operations when their calls are expanded, or read more than 1000000000 rows\n",
		},
		{
			"fields", "table t rows 1000000\n" + numbered("  a# = row\n", 11),
			"sheet.leaf:1:7 too-large «t» the tables up to t have more than 10000000 fields together\n",
		},
		{
			"limits", "x : 1\n" + strings.Repeat("limit x < 2\n", source.MaxLimits+1),
			"sheet.leaf:1:1 too-large «» this sheet has 100001 limits and advises; the bound is 100000\n",
		},
	} {
		_, list := sheet(t, c.text)
		if got := wordsOf(list); got != c.want {
			t.Errorf("%s: found %.400s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestTooManyRows reads a file with more rows than a table may have.
func TestTooManyRows(t *testing.T) {
	tree, _ := parse("table t from \"t.csv\"\n  a : from \"a\"\n")
	csv := &check.CSV{Name: "t.csv", Heads: []check.Head{{Text: "a", Name: "a"}}, Rows: source.MaxRows + 1, Each: func(func(int, [][]byte) bool) {}}
	in := check.Input{
		Files: []check.File{{Tree: tree}}, Library: library(),
		CSV: func(int, string, []string) (*check.CSV, error) { return csv, nil },
	}
	_, list := check.Check(in)
	want := "sheet.leaf:1:14 too-large «\"t.csv\"» a table can have 1000000 rows; the file t.csv has 1000001\n"
	if got := wordsOf(list); got != want {
		t.Errorf("found %swant %s", got, want)
	}
}

// TestErrorAtNoStatement has an error of the whole sheet, in front of its first
// statement: nothing of the sheet is computed.
func TestErrorAtNoStatement(t *testing.T) {
	m, list := sheet(t, "# a note\n\nx : 1\ny = x\n"+strings.Repeat("limit x < 2\n", source.MaxLimits+1))
	if len(list) != 1 || list[0].Span != (source.Span{}) {
		t.Fatal(wordsOf(list))
	}
	waits := map[string]bool{}
	for _, u := range m.Unsound(list) {
		if u.Cell != nil && u.Error == 0 {
			waits[u.Cell.Name] = true
		}
	}
	if !waits["x"] || !waits["y"] {
		t.Errorf("only %v wait for the error", waits)
	}
}

// TestFilesThatAreNotThere checks a sheet where no files are read, and one whose
// file has no name of its own.
func TestFilesThatAreNotThere(t *testing.T) {
	const text = "table t from \"t.csv\"\n  a : from \"a\"\n"
	m, list := sheet(t, text)
	if len(list) > 0 || m.Tables[0].Fault != "t.csv cannot be read here" {
		t.Errorf("fault %q, %s", m.Tables[0].Fault, wordsOf(list))
	}
	tree, _ := parse(text)
	csv := &check.CSV{Heads: []check.Head{{Text: "a", Name: "a"}}, Each: func(func(int, [][]byte) bool) {}, Doubts: []string{"line 2 is odd"}}
	_, list = check.Check(check.Input{
		Files: []check.File{{Tree: tree}}, Library: library(),
		CSV: func(int, string, []string) (*check.CSV, error) { return csv, nil },
	})
	want := "sheet.leaf:1:14 csv-doubt «\"t.csv\"» t.csv, line 2 is odd\n"
	if got := wordsOf(list); !strings.HasPrefix(got, want) {
		t.Errorf("found %swant %s", got, want)
	}
}
