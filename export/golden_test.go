package export

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew: read what changed before you keep it")

// formulas lists a workbook's formulas, a line each.
func formulas(g grid) string {
	var b strings.Builder
	for _, tab := range g.tabs() {
		for _, ref := range g.places(tab) {
			if f := g[tab][ref].formula; f != "" {
				b.WriteString(tab + "!" + ref + " =" + f + "\n")
			}
		}
	}
	return b.String()
}

// TestGolden compares what is written of the sheets in testdata with what was
// read and found right. Of the step table the first rows say everything. The
// picture in dots is compared with itself, written twice, in another test: it is the
// drawing, and its text could not be read here.
func TestGolden(t *testing.T) {
	for _, name := range []string{"scalars", "tables"} {
		text, err := os.ReadFile("testdata/" + name + ".leaf")
		if err != nil {
			t.Fatal(err)
		}
		s := load(t, name, string(text))
		data, _ := s.workbook(t)
		golden(t, name+".formulas", []byte(formulas(readGrid(t, data))))
		for _, f := range Formats() {
			if !slices.Contains([]string{".csv", ".json", ".md", ".svg"}, f.Extension) {
				continue
			}
			var b bytes.Buffer
			if len(s.s.Model.Charts) == 0 && f.Extension == ".svg" {
				continue // nothing to draw, which the writer says
			}
			if _, err := f.Write(&b, s.s, s.r, Options{}); err != nil {
				t.Fatal(err)
			}
			golden(t, name+f.Extension, b.Bytes())
		}
	}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", "golden", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		a, b := strings.Split(string(got), "\n"), strings.Split(string(want), "\n")
		for i := range a {
			if i >= len(b) || a[i] != b[i] {
				t.Fatalf("%s, line %d: got\n%s\nwant\n%s", name, i+1, a[i], append(b, "")[min(i, len(b))])
			}
		}
		t.Fatalf("%s is shorter than it was", name)
	}
}

func TestFormatsTwiceTheSameBytes(t *testing.T) {
	for _, s := range samples(t) {
		for _, f := range Formats()[1:] {
			if len(s.s.Model.Charts) == 0 && (f.Name == "svg" || f.Name == "png") {
				if _, err := f.Write(&bytes.Buffer{}, s.s, s.r, Options{}); err == nil {
					t.Errorf("%s: %s without a chart was written", s.name, f.Name)
				}
				continue
			}
			var first, second bytes.Buffer
			for _, out := range []*bytes.Buffer{&first, &second} {
				if _, err := f.Write(out, s.s, s.r, Options{}); err != nil {
					t.Fatalf("%s: %s: %v", s.name, f.Name, err)
				}
			}
			if first.Len() == 0 || !bytes.Equal(first.Bytes(), second.Bytes()) {
				t.Errorf("%s: two outputs in %s differ", s.name, f.Name)
			}
		}
	}
}

func TestFormatsList(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Formats() {
		if f.Meaning == "" || seen[f.Name] || seen[f.Extension] {
			t.Errorf("%+v has no meaning, or its name or extension twice", f)
		}
		seen[f.Name], seen[f.Extension] = true, true
		got, ok := ByExtension("Some.File" + strings.ToUpper(f.Extension))
		if !ok || got.Name != f.Name {
			t.Errorf("%s leads to %q", f.Extension, got.Name)
		}
	}
	if _, ok := ByExtension("sheet.docx"); ok {
		t.Error("an unknown extension was taken")
	}
}

const hostile = `title "=HYPERLINK(""x"")"
caution "@SUM(1)"
section "+1"
word : "=1+1" choice "=1+1", "-2", "@x", "a,b", "line"   "=cmd|' /C calc'!A0"
minus : -1.5
shown = if word = "=1+1" then "+49" else "none"
# =1+1 in a note
table t
  key : "=2", "-3", "a""b"
`

// TestNoTextBecomesAFormula writes texts that a spreadsheet would take for
// formulas.
func TestNoTextBecomesAFormula(t *testing.T) {
	s := load(t, "hostile", hostile)
	data, _ := s.workbook(t)
	g := readGrid(t, data)
	found := 0
	for _, tab := range g.tabs() {
		for _, ref := range g.places(tab) {
			f := g[tab][ref]
			if f.formula == "" {
				if strings.HasPrefix(f.value, "=") && f.kind == "inlineStr" {
					found++
				}
				continue
			}
			outside := stringsOut(f.formula)
			if strings.Contains(outside, "HYPERLINK") || strings.Contains(outside, "cmd") || strings.Contains(outside, "49") {
				t.Errorf("%s!%s: %s", tab, ref, f.formula)
			}
		}
	}
	if found < 3 {
		t.Errorf("%d texts with a leading = were found as texts", found)
	}
	var b bytes.Buffer
	if _, err := writeCSV(&b, s.s, s.r, Options{}); err != nil {
		t.Fatal(err)
	}
	csv := b.String()
	for _, want := range []string{",'=1+1,", ",-1.5,", ",'+49,", ",'=2,", ",'-3,", `,"a""b",`, "'=cmd|' /C calc'!A0"} {
		if !strings.Contains(csv, want) {
			t.Errorf("CSV has no %s:\n%s", want, csv)
		}
	}
	if strings.Count(csv, "\n") != strings.Count(csv, "\r\n") {
		t.Error("a CSV line does not end in CR LF")
	}
}

// stringsOut takes the text constants out of a formula.
func stringsOut(formula string) string {
	var b strings.Builder
	for i, part := range strings.Split(formula, `"`) {
		if i%2 == 0 {
			b.WriteString(part)
		}
	}
	return b.String()
}

func TestCSVOfOneTable(t *testing.T) {
	s := load(t, "one", "table gears\n  gear : 1, 2\n  speed : 50, 60.5 mph\n")
	var b bytes.Buffer
	if _, err := writeCSV(&b, s.s, s.r, Options{Table: "gears"}); err != nil {
		t.Fatal(err)
	}
	if want := "gear,speed mph\r\n1,50\r\n2,60.5\r\n"; b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
	if _, err := writeCSV(&b, s.s, s.r, Options{Table: "none"}); err == nil {
		t.Error("a table that is not there was written")
	}
}

// TestJSONReadsBack proves that every number is read back to the bit.
func TestJSONReadsBack(t *testing.T) {
	for _, s := range samples(t) {
		var b bytes.Buffer
		if _, err := writeJSON(&b, s.s, s.r, Options{}); err != nil {
			t.Fatal(err)
		}
		var out jsonSheet
		if err := json.Unmarshal(b.Bytes(), &out); err != nil {
			t.Fatalf("%s: %v", s.name, err)
		}
		for i, c := range ownCells(s.s.Model) {
			v := s.r.Cell(c)
			got := out.Cells[i]
			switch {
			case v.IsFault():
				if got.Value != nil || got.SI != nil || got.Fault == nil || *got.Fault == "" {
					t.Errorf("%s: %s is at fault, JSON says %+v", s.name, c.Name, got)
				}
			case v.IsBlank():
				if got.Value != nil || got.SI != nil || got.Fault != nil {
					t.Errorf("%s: %s is blank, JSON says %+v", s.name, c.Name, got)
				}
			case got.SI != nil:
				if *got.SI != v.V {
					t.Errorf("%s: %s is %v, JSON says %v", s.name, c.Name, v.V, *got.SI)
				}
			}
		}
	}
}

// TestFormulasDoNotHoldGivens proves that no entered value is baked into a
// formula: with other givens the same formulas are written.
func TestFormulasDoNotHoldGivens(t *testing.T) {
	for name, changes := range map[string][]string{
		"scalars": {"front_sprocket=16", "tyre_rollout=2000 mm", "outside=70 degF", "a=7", "fuel=ethanol", "wet=no", "zero=2"},
		"tables":  {"gears.ratio[2]=1.8", "wanted=9000 rpm", "curve.torque[3]=140 N.m"},
		"steps":   {"step=0.03 s", "track_length=150 m", "cut.weight[2]=3 kg"},
	} {
		text, err := os.ReadFile("testdata/" + name + ".leaf")
		if err != nil {
			t.Fatal(err)
		}
		before := load(t, name, string(text))
		s := load(t, name, string(text)).s
		for _, change := range changes {
			set, d := s.ParseSetting(change)
			if d != nil {
				t.Fatalf("%s: %s: %s", name, change, d.Message)
			}
			s.Set(set)
		}
		after := computed(t, name, s, nil)
		was, _ := before.write(t)
		is, _ := after.write(t)
		if a, b := formulas(readGrid(t, was)), formulas(readGrid(t, is)); a != b {
			x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
			for i := range min(len(x), len(y)) {
				if x[i] != y[i] {
					t.Fatalf("%s: with other givens\n%s\nbecomes\n%s", name, x[i], y[i])
				}
			}
			t.Fatalf("%s: %d formulas become %d", name, len(x), len(y))
		}
		if bytes.Equal(was, is) {
			t.Errorf("%s: the changes changed nothing", name)
		}
	}
}

// TestReadsTab: a formula that reads another tab must not be shared.
func TestReadsTab(t *testing.T) {
	for formula, want := range map[string]bool{
		"a+$B5": false, `IF(a="it's","!",b)`: false, `"""!"&a`: false,
		"run!$A5": true, `'17" rim'!$B5`: true, `IF(a="x",'It''s "it"'!B1,2)`: true,
	} {
		if got := readsTab(formula); got != want {
			t.Errorf("%s: %t", formula, got)
		}
	}
}
