package export

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestTextComesBack proves that the text leaves a workbook as it went in, and
// that nothing has changed where nobody changed anything.
func TestTextComesBack(t *testing.T) {
	texts := map[string]string{
		"plain":   "title \"T\"\na : 1 mm\n",
		"crlf":    "title \"T\"\r\na : 1 mm\r\nb = a  \r\n",
		"no end":  "title \"T\"\n\n\n# a\tb  \na : 1 mm",
		"odd":     "\ufefftitle \"_x0041_ <&> \u00e4\"\n# \u200b _x000D_\na : 1 mm\n\n",
		"long":    "title \"T\"\n# " + strings.Repeat("long \u00e4 ", 9000) + "end\na : 1\n",
		"numbers": "title \"T\"\na : 28.55 inHg\nb : 58 %\nc : 86 degF\nd : 0.1\ne : -1234567.891\n",
	}
	for name, text := range texts {
		s := load(t, name, text)
		back := returned(t, s)
		if got := back.texts[0].Text; got != text {
			t.Errorf("%s: %q comes back as %q", name, text[:min(99, len(text))], got[:min(99, len(got))])
		}
	}
	for _, s := range samples(t) {
		back := returned(t, s)
		for _, e := range back.Entries {
			t.Errorf("%s: %s is taken for changed", s.name, e.Place.Name())
		}
		if changed := back.Problems; len(changed)+len(back.Notes) > 0 {
			t.Errorf("%s: taken for changed: %q %q", s.name, changed, back.Notes)
		}
		if !back.SameText(s.s) {
			t.Errorf("%s: the text is taken for changed", s.name)
		}
	}
}

func returned(t *testing.T, s sample) *Returned {
	t.Helper()
	data, _ := s.workbook(t)
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	back, list, err := OpenReturned(path, nil)
	if err != nil || back == nil {
		t.Fatalf("%s: %v %v", s.name, err, list)
	}
	return back
}

// TestGivensAreWrittenAsTyped holds the digits of entered values to those of
// the text.
func TestGivensAreWrittenAsTyped(t *testing.T) {
	s := load(t, "typed", "title \"T\"\na : 28.55 inHg\nb : 58 %\nc : 86.3 degF\nd : 0.1\nf : 1.07 psig\n")
	data, _ := s.workbook(t)
	g := readGrid(t, data)["Sheet"]
	b := newBook(s.s, s.r)
	for i, want := range []string{"28.55", "0.58", "86.3", "0.1", "1.07"} {
		if got := g[at(valueColumn, b.cells[i].row)].value; got != want {
			t.Errorf("%s is written %s, want %s", s.s.Model.Cells[i].Name, got, want)
		}
	}
}

// TestPlainFormula knows one formula in the ways in which spreadsheets write
// it.
func TestPlainFormula(t *testing.T) {
	for _, same := range [][2]string{
		{"IF(a>0,1,2)", "IF( a>0, 1, 2 )"},
		{"steps!$B$5*0.00001", "'steps'!$B$5*1E-05"},
		{"_xlfn.STDEV.S(A1:A3)", "STDEV.S(A1:A3)"},
		{"x*3.14159265358979323", "x*3.14159265358979"},
		{"IF(TRUE,1,0)", "IF(TRUE(),1,0)"},
		{"x*1.5283953820947924E-14", "x*0.00000000000001528395"}, // as LibreOffice saves it
		{"SMALL($L$4:$L$4,1)", "SMALL($L$4,1)"},                  // as gnumeric does
	} {
		if a, b := plainFormula(same[0], 0, 0), plainFormula(same[1], 0, 0); a != b {
			t.Errorf("%q and %q are taken for different: %q %q", same[0], same[1], a, b)
		}
	}
	for _, differ := range [][2]string{
		{"a+b", "a-b"}, {"a+1", "a+1.0001"}, {`"a b"`, `"ab"`}, {"A1", "A2"}, {"$A$1", "A1"}, {"a b", "ac"}, {"SUM(A1:A2)", "SUM(A1)"}, {"A1:A1x", "A1"},
	} {
		if plainFormula(differ[0], 0, 0) == plainFormula(differ[1], 0, 0) {
			t.Errorf("%q and %q are taken for the same", differ[0], differ[1])
		}
	}
	if got := plainFormula("A1+$A1+A$1+$A$1+name1x", 1, 2); got != "B3+$A3+B$1+$A$1+NAME1X" {
		t.Errorf("moved: %s", got)
	}
}
