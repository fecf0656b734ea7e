package syntax

import (
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"gearleaf/sheet/source"
)

// withRepeats parses a text in one part, looking for repeats; nil where it is
// not admitted.
func withRepeats(f *source.File) *parser {
	p := newParser(f)
	p.sheet = &Worksheet{File: f}
	if !p.admit() {
		return nil
	}
	p.lines = newRepeats()
	p.statements()
	return p
}

// TestRepeatsWithErrors leaves no repeats in a text that has an error.
func TestRepeatsWithErrors(t *testing.T) {
	long := strings.Repeat("a = b + c\n", repeatBytes/10+1)
	for _, c := range []struct {
		text    string
		repeats bool
	}{{long, true}, {long + "d = e +\n", false}, {long[:repeatBytes/20*10], false}} {
		w, list := ParseRepeats(source.New("x", c.text))
		if c.repeats != (w.Patterns() > 0) || (len(list) > 0) != strings.HasSuffix(c.text, "+\n") {
			t.Errorf("%d patterns and %d errors in %d bytes", w.Patterns(), len(list), len(c.text))
		}
	}
}

// sameRepeats holds the statements of a text, its repeats expanded, to those
// of the text without repeats, and returns how many there are.
func sameRepeats(t *testing.T, text string) int {
	t.Helper()
	f := source.New("x", text)
	want, got := whole(f), withRepeats(f)
	if want == nil {
		return 0
	}
	if len(got.list) != len(want.list) {
		t.Fatalf("%d errors with repeats, %d without:\n%s", len(got.list), len(want.list), text)
	}
	if len(got.sheet.Stmts) != len(want.sheet.Stmts) || !reflect.DeepEqual(got.sheet.Tail, want.sheet.Tail) {
		t.Fatalf("%d statements with repeats, %d without:\n%s", len(got.sheet.Stmts), len(want.sheet.Stmts), text)
	}
	repeats, expander := 0, NewExpander(got.sheet)
	for i, s := range got.sheet.Stmts {
		if r, ok := s.(*Repeat); ok {
			repeats++
			if have, want := r.Span, want.sheet.Stmts[i].Base().Span; have != want {
				t.Fatalf("%q is at %v with repeats, at %v without", f.Slice(want), have, want)
			}
			s = expander.Cell(r)
			holdNames(t, r, s.(*Cell))
		}
		if !reflect.DeepEqual(s, want.sheet.Stmts[i]) {
			t.Fatalf("%q is %s with repeats, %s without", f.Slice(want.sheet.Stmts[i].Base().Span), String(s.(*Cell).Formula), String(want.sheet.Stmts[i].(*Cell).Formula))
		}
	}
	if got, want := got.exprs(), want.exprs(); got != want {
		t.Fatalf("%d operations with repeats, %d without:\n%s", got, want, text)
	}
	return repeats
}

// holdNames holds the names of a repeat to those of the cell that it is.
func holdNames(t *testing.T, r *Repeat, c *Cell) {
	t.Helper()
	names := []source.Span{c.Name.Span}
	Walk(c.Formula, func(e Expr) bool {
		if ref, ok := e.(*Ref); ok && ref.Name.Text != "pi" {
			names = append(names, ref.Name.Span)
		}
		return true
	})
	if !reflect.DeepEqual(names, r.Names) {
		t.Fatalf("the names of %s stand at %v, not %v", c.Name.Text, names, r.Names)
	}
}

// renamed returns text with every name of three letters and more made another
// one; words of the language and of the library stay.
func renamed(text string) string {
	return regexp.MustCompile(`\b[a-z_][a-z0-9_]{2,}\b`).ReplaceAllStringFunc(text, func(name string) string {
		if wordOf(name) != noWord {
			return name
		}
		return name + "2"
	})
}

func TestRepeats(t *testing.T) {
	for _, c := range []struct {
		text string
		want int
	}{
		{"a = b\nc = d\n", 1},
		{"a = b\r\nc = d\r\ne = f", 2},
		{"a = b + c\ncd = ef + gh\n", 1},
		{"a = b + c\nd = e - f\n", 0},
		{"a = b + 1\nc = d + 2\n", 0},
		{"a = b + 1 kg\nc = d + 1 kg\n", 1},
		{"a = 2 * b as kg/m3 to 0.1\nc = 2 * d as kg/m3 to 0.1\n", 1},
		{"a = b \"of a\"\nc = d \"of a\"\n", 0},
		{"a = b # same\nc = d # same\n", 0},
		{"a = b\n# of c\nc = d\n", 0},
		{"a = b\n\nc = d\n", 1},
		{"a = b\n# stands alone\n\nc = d\n", 1},
		{"a = (b +\n  c)\nd = (e +\n  c)\n", 0},
		{"a = min(b,\n  c)\nd = min(e,\n  f)\n", 0},
		{"a = min(b, c)\nd = min(e, f)\ng = max(h, i)\n", 1},
		{"a = t.b\nc = t.b\n", 0},
		{"a = b * pi\nc = d * pi\ne = f * g\n", 1},
		{"a = x\nb = y\n", 0},
		{"a = _b\nc = _d\n", 0},
		{"a = if b > 1 then c else d\ne = if f > 1 then g else h\n", 1},
		{"a = if b then 2 else 3\nc = if d then 2 else 3\n", 1},
		{"a = b and not (c)\nd = e and not (f)\n", 1},
		{"a = 5 kg/m3*b\nc = 5 kg/m3*d\n", 0},
		{"a = 5 kg / b\nc = 5 kg / d\n", 1},
		{"a = b as km/h\nc = d as km/h\ne = f as mph\n", 1},
		{"table t\n  a = b\n  c = d\ne = f\ng = h\n", 1},
		{"a = b +\nc = d +\n", 0},
		{"a = yes\nb = yes\n", 1},
		{"a : 1\nb : 1\n", 0},
		{"a = b choice 1\nc = d choice 1\n", 0},
		{"a = b range 1..2\nc = d range 1..2\n", 0},
		{"a == b\nc == d\n", 0},
		{"a = B\nc = D\n", 0},
		{"a = bÄ\nc = dÄ\n", 0},
		{"a = b + " + strings.Repeat("1", keyBytes) + "\nc = d + " + strings.Repeat("1", keyBytes) + "\n", 0},
		{"a = b + c" + strings.Repeat(" ", keyBytes+9) + "\nd = e + f" + strings.Repeat(" ", keyBytes+9), 0},
		{"a = b + c" + strings.Repeat(" ", keyBytes-12) + "\nd = e + f" + strings.Repeat(" ", keyBytes-12), 1},
		{"a = b + 1" + strings.Repeat("0", keyBytes+9) + "\nd = e + 1" + strings.Repeat("0", keyBytes+1) + "1", 0},
		{"a = t .b\nc = t .b\n", 0},
		{"a = min (b, c)\nd = min (e, f)\n", 1},
		{strings.Repeat("n", source.MaxNameBytes+1) + " = b\na = b\n", 0},
	} {
		if got := sameRepeats(t, c.text); got != c.want {
			t.Errorf("%q has %d repeats, want %d", c.text, got, c.want)
		}
	}
}

// labels finds computed cells with their labels and comments.
var labels = regexp.MustCompile(`(?m)^(\w+ *=[^"#\n]*?) *["#].*$`)

// TestRepeatsOfSheets repeats every line of whole worksheets with other names,
// as it is and without the labels.
func TestRepeatsOfSheets(t *testing.T) {
	repeats := 0
	for _, pattern := range []string{"testdata/sheet/*.leaf", "../../templates/*.leaf"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			t.Fatalf("%s: no worksheets, %v", pattern, err)
		}
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			bare := labels.ReplaceAllString(string(text), "$1")
			repeats += sameRepeats(t, string(text)+"\n"+renamed(string(text)))
			repeats += sameRepeats(t, bare+"\n"+renamed(bare))
		}
	}
	if repeats < 40 {
		t.Errorf("%d lines were repeats", repeats)
	}
}

// TestRepeatsEnd stops looking where few lines repeat others.
func TestRepeatsEnd(t *testing.T) {
	var text strings.Builder
	for i := range 2 * repeatTrials {
		text.WriteString("a = b + " + strings.Repeat("1", 1+i%9) + strings.Repeat(" ", i/9) + "\n")
	}
	p := withRepeats(source.New("x", text.String()))
	if p.lines.tried != repeatTrials || len(p.sheet.Stmts) != 2*repeatTrials {
		t.Errorf("%d of %d lines were looked at", p.lines.tried, len(p.sheet.Stmts))
	}
}

func FuzzRepeats(f *testing.F) {
	for _, text := range []string{
		"a = b + 1 kg\n", "abc = if def > 2 then ghi else min(jkl, 5 m/s)\n", "a = b as km/h to 0.1\n", "a = 5 kg/(hp.h) * b ^ 2\n", "a = not (b)\n",
		"a = (b\n", "a = b * pi\n", "a = 1e3 * b - -c\n", "a = 5 % * b\n", "table t\n  a = b\nc = d\n",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		sameRepeats(t, text+"\n"+renamed(text)+"\n"+text)
		sameRepeats(t, text+text)
	})
}
