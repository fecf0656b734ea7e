package export

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
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

// TestGivensAreWrittenAsTyped holds what is shown of entered values, everywhere,
// to the digits of the text.
func TestGivensAreWrittenAsTyped(t *testing.T) {
	cases := []struct{ name, line, shown, unit, stored, format string }{
		{"a", "28.55 inHg", "28.55", "inHg", "28.55", "General"},
		{"b", "58 %", "58", "%", "0.58", "0%"},
		{"c", "86.3 degF", "86.3", "degF", "86.3", "General"},
		{"d", "0.1", "0.1", "", "0.1", "General"},
		{"e", "1.07 psig", "1.07", "psig", "1.07", "General"},
		{"f", "28.00 inHg", "28.00", "inHg", "28", "0.00######"},
		{"g", "2.50", "2.50", "", "2.5", "0.00######"},
		{"h", "3.14159265358979", "3.14159265358979", "", "3.14159265358979", "0.00000000000000"},
		{"i", "123456789.123", "123456789.123", "", "1.23456789123e+08", "0.000#####"},
		{"j", "123456789012", "123456789012", "", "123456789012", "0"},
		{"k", "5.50 %", "5.50", "%", "0.055", "0.00%"},
		{"l", "-.50 mm", "-0.50", "mm", "-0.5", "0.00######"},
		{"m", "0.00 psig", "0.00", "psig", "0", "0.00######"},
		{"n", "20.0 degC", "20.0", "degC", "20", "0.0#######"},
		{"o", "28.5 mm to 0.01", "28.50", "mm", "28.5", "0.00######"},
		{"p", "28.5678 mm to 0.01", "28.5678", "mm", "28.5678", "0.0000####"},
		{"q", "0.000012345", "0.000012345", "", "1.2345e-05", "0.000000000"},
		{"r", "1.50e3", "1500", "", "1500", "General"},
		{"s", "1.00 in as mm", "25.4", "mm", "25.4", "General"}, // converted to be shown
		{"u", "28.1234567890123 inHg", "28.1234567890123", "inHg", "28.1234567890123", "0.0000000000000"},
		{"v", "2.50 choice 2.50, 2.75", "2.50", "", "2.5", "0.00######"},
	}
	text := "title \"T\"\n"
	for _, c := range cases {
		text += c.name + " : " + c.line + "\n"
	}
	text += "table gears\n  ratio : 2.50, 1.9, 1.00, 1.05\n  grip : 5.0, 6, 7, 7 %\n"
	s := load(t, "typed", text)
	data, _ := s.workbook(t)
	g := readGrid(t, data)["Sheet"]
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	b := newBook(s.s, s.r)
	var markdown, page bytes.Buffer
	if _, err := writeMarkdown(&markdown, s.s, s.r, Options{}); err != nil {
		t.Fatal(err)
	}
	if _, err := writePage(&page, s.s, s.r, Options{}); err != nil {
		t.Fatal(err)
	}
	format := func(place string) string {
		id, err := f.GetCellStyle("Sheet", place)
		if err != nil {
			t.Fatal(err)
		}
		style, err := f.GetStyle(id)
		if err != nil {
			t.Fatal(err)
		}
		if style.CustomNumFmt == nil {
			return "General"
		}
		return *style.CustomNumFmt
	}
	for i, c := range cases {
		q := &s.s.Model.Cells[i].Quantity
		place := at(valueColumn, b.cells[i].row)
		if number, symbol := s.s.Shown(q, s.s.Model.Cells[i].Value); number != c.shown || symbol != c.unit && symbol != "1" {
			t.Errorf("%s is shown as %q %q, want %q %q", c.name, number, symbol, c.shown, c.unit)
		}
		if got := g[place].value; got != c.stored {
			t.Errorf("%s is written %s, want %s", c.name, got, c.stored)
		}
		if got := format(place); got != c.format {
			t.Errorf("%s has the format %s, want %s", c.name, got, c.format)
		}
		for in, out := range map[string]string{"Markdown": markdown.String(), "the page": page.String()} {
			if !strings.Contains(out, c.shown) {
				t.Errorf("%s: %s shows no %s", c.name, in, c.shown)
			}
		}
	}
	for row, want := range [][2]string{{"0.00######", "0.0%"}, {"General", "0%"}, {"0.00######", "0%"}, {"General", "0%"}} {
		for column := range want {
			place := at(1+column, b.tables[0].first+row)
			if got := format(place); got != want[column] {
				t.Errorf("%s has the format %s, want %s", place, got, want[column])
			}
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
