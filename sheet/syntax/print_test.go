package syntax_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

func printed(text string) string {
	w, _ := syntax.Parse(source.New("x", text))
	return syntax.Print(w)
}

func TestPrintLeavesCarefulSheets(t *testing.T) {
	for _, name := range []string{"mule", "tables"} {
		want := sheets(t)[name]
		if diff := cmp.Diff(want, printed(want)); diff != "" {
			t.Errorf("%s does not print as it stands (-stands +printed):\n%s", name, diff)
		}
	}
}

// TestPrint holds the cases in testdata/print: a worksheet, a line ---, and
// how it prints. What is printed prints as itself again.
func TestPrint(t *testing.T) {
	names, _ := filepath.Glob("testdata/print/*.txt")
	if len(names) == 0 {
		t.Fatal("no cases in testdata/print")
	}
	for _, name := range names {
		var out strings.Builder
		for _, c := range casesIn(t, name) {
			text := strings.TrimSuffix(c.text, "\n")
			got := printed(text)
			out.WriteString("=== " + c.name + "\n" + c.text + "---\n" + got + "\n")
			if want := c.want; got != want && !*update {
				t.Errorf("%s: %s (-want +got):\n%s", name, c.name, cmp.Diff(want, got))
			}
			if again := printed(got); again != got {
				t.Errorf("%s: %s prints otherwise the second time (-once +twice):\n%s", name, c.name, cmp.Diff(got, again))
			}
			if squeeze(got) != squeeze(c.text) {
				t.Errorf("%s: %s: more than blanks changed:\n%s", name, c.name, got)
			}
		}
		if *update {
			if err := os.WriteFile(name, []byte(strings.TrimRight(out.String(), "\n")+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func TestPrintTwice(t *testing.T) {
	for name, text := range sheets(t) {
		once := printed(text)
		if diff := cmp.Diff(once, printed(once)); diff != "" {
			t.Errorf("%s prints otherwise the second time (-once +twice):\n%s", name, diff)
		}
	}
}

func TestPrintTwiceWithErrors(t *testing.T) {
	for _, c := range cases(t) {
		once := printed(c.text)
		if diff := cmp.Diff(once, printed(once)); diff != "" {
			t.Errorf("%s prints otherwise the second time (-once +twice):\n%s", c.name, diff)
		}
		if squeeze(once) != squeeze(c.text) {
			t.Errorf("%s: printing changed more than blanks:\n%s\n%s", c.name, c.text, once)
		}
	}
}

func TestPrintKeepsLineEnds(t *testing.T) {
	for name, text := range sheets(t) {
		want := strings.ReplaceAll(printed(text), "\n", "\r\n")
		if got := printed(strings.ReplaceAll(text, "\n", "\r\n")); got != want {
			t.Errorf("%s (-want +got):\n%s", name, cmp.Diff(want, got))
		}
	}
	broken := "title foo\r\n\r\n\r\nx:1\r\ny  :  (\r\n"
	if got, want := printed(broken), "title foo\r\n\r\nx : 1\r\ny  :  (\r\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestPrintNothing(t *testing.T) {
	for text, want := range map[string]string{
		"":                "",
		"\n\n":            "",
		"  \n# a\n\n\n#b": "# a\n\n#b\n",
		"x:1":             "x : 1\n",
		"x\rx":            "x\rx",
		"y:1\r\nx:2\rz":   "y:1\r\nx:2\rz", // formatted, the return would end a line
	} {
		if got := printed(text); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
}
