package syntax_test

import (
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

func TestPrintCorrelations(t *testing.T) {
	const text = "correlate   a ,b   0.4\ncorrelate  gears.ratio[ 2 ],  mass  -1   \"Both from one drawing\" # why\ncorrelate a,\n  b 0.4\n"
	const want = "correlate a, b 0.4\ncorrelate gears.ratio[2], mass -1  \"Both from one drawing\"  # why\ncorrelate a,\n  b 0.4\n"
	if diff := cmp.Diff(want, printed(text)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
