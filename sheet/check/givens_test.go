package check_test

import (
	"math"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

func close12(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b)) }

// TestGivens checks values and clauses of givens, in SI.
func TestGivens(t *testing.T) {
	for _, c := range []struct {
		text          string
		value, spread float64
		lo, hi        float64
		unit          string
		to            float64
	}{
		{"x : 17 teeth range 15..19", 17, 0, 15, 19, "teeth", 0},
		{"x : 2085 mm ± 6 mm", 2.085, 0.006, 0, 0, "mm", 0},
		{"x : 2085 mm ± 6", 2.085, 0.006, 0, 0, "mm", 0},
		{"x : 2085 mm +/- 1 cm", 2.085, 0.01, 0, 0, "mm", 0},
		{"x : 2085 mm ± 2 %", 2.085, 0.0417, 0, 0, "mm", 0},
		{"x : -3 m ± 2 %", -3, 0.06, 0, 0, "m", 0},
		{"x : 85 % ± 5 %", 0.85, 0.05, 0, 0, "%", 0},
		{"x : 85 % sd 5", 0.85, 0.05, 0, 0, "%", 0},
		{"x : 3 ± 5 %", 3, 0.15, 0, 0, "", 0},
		{"x : 18 degC ± 2 degC", 291.15, 2, 0, 0, "degC", 0},
		{"x : 18 degC ± 1.8 degF", 291.15, 1, 0, 0, "degC", 0},
		{"x : 18 degC ± 2 deltaC", 291.15, 2, 0, 0, "degC", 0},
		{"x : 18 degC range 10..30", 291.15, 0, 283.15, 303.15, "degC", 0},
		{"x : 21 psig sd 1 kPad", 144789.90315653558, 1000, 0, 0, "psig", 0},
		{"x : 2 in range 1..6 cm as mm to 0.5", 0.0508, 0, 0.01, 0.06, "mm", 0.5},
		{"x : 2 in to 1 mm", 0.0508, 0, 0, 0, "in", 1 / 25.4},
		{"x : 200000 Pa as kPa", 200000, 0, 0, 0, "kPa", 0},
		{"x : yes", 1, 0, 0, 0, "", 0},
	} {
		m, list := sheet(t, c.text+"\n")
		if len(list) > 0 {
			t.Errorf("%s: %s", c.text, list[0].Message)
			continue
		}
		x := m.Cells[0]
		if !close12(x.Value, c.value) || !close12(x.Spread, c.spread) || x.Unit.Symbol != c.unit || !close12(x.To, c.to) {
			t.Errorf("%s: %v ± %v in %q to %v", c.text, x.Value, x.Spread, x.Unit.Symbol, x.To)
		}
		if c.hi != 0 && (x.Range == nil || !close12(x.Range[0], c.lo) || !close12(x.Range[1], c.hi)) {
			t.Errorf("%s: range %v", c.text, x.Range)
		}
	}
}

// TestGivenErrors checks what is refused of a given.
func TestGivenErrors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"x : 43 teeth choice 40, 41, 42", "1:5 choice-refused"},
		{"x : 41 teeth choice 40, 41.5, 42", "1:25 not-whole"},
		{"x : 41.5 teeth", "1:5 not-whole"},
		{"x : 41.5 links", "1:5 not-whole"},
		{"x : 41.5 pass", ""},
		{"x : 41.5 teeth/links", ""},
		{"x : 1 mm choice 1 mm, 0.1 cm, 2 mm", ""},
		{"x : 0.1 cm choice 1 mm, 2 mm", ""},
		{"x : \"a\" choice \"a\", 3", "1:21 form-mismatch"},
		{"x : \"c\" choice \"a\", \"b\"", "1:5 choice-refused"},
		{"x : 3 m range 1..2 kg", "1:15 dimension-mismatch 1:18 dimension-mismatch"},
		{"x : 3 psig range 1..2 kPa", "1:18 kind-mismatch 1:21 kind-mismatch"},
		{"x : 3 m ± 2 kg", "1:11 dimension-mismatch"},
		{"x : 3 m to 2 kg", "1:12 dimension-mismatch"},
		{"x : 3 m ± -2", "1:11 clause-sign"},
		{"x : 3 m to -2", "1:12 clause-sign"},
		{"x : 3 m range 5..2", "1:15 range-order"},
		{"x : 3 psi", "1:7 unit-ambiguous"},
		{"x : 3 psig as kPa", "1:15 kind-mismatch"},
		{"x : yes range 0..1", "1:15 clause-form"},
		{"x : 1e300 Tm", "1:11 unit-unknown"},
		{"x = 3 ± 1", "1:9 clause-given"},
		{"x = 3 as m", "1:10 dimension-mismatch"},
		{"x = yes to 3", "1:12 clause-form"},
		{"x : 3, 4", "1:1 given-list"},
	} {
		tree, list := parse(c.text + "\n")
		if list.Errors() {
			t.Logf("%s: left to the parser: %s", c.text, list[0].Code)
			continue
		}
		_, found := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: library()})
		got := strings.ReplaceAll(strings.TrimSpace(strings.ReplaceAll(codes(found), "\n", " ")), "sheet.leaf:", "")
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.text, got, c.want)
		}
	}
}

// TestAdmit checks which values --set and similar options may give a given.
func TestAdmit(t *testing.T) {
	m, list := sheet(t, "mass : 340 kg range 300..360\nroll : 2 in as mm\nboost : 21 psig\nair : 20 degC\nrear : 41 teeth choice 40, 41\nfuel : \"a\" choice \"a\", \"b\"\n"+
		"free : \"a\"\nwet : no\nshare : 85 %\nnumber : 3\ntable t\n  | v s |\n  | 1 |\n  |   |\n")
	if list.Errors() {
		t.Fatal(codes(list))
	}
	for _, c := range []struct {
		name, text string
		value      float64
		code       string
	}{
		{"mass", "350", 350, ""},
		{"mass", "999 kg", 999, ""},
		{"mass", "750 lb", 340.1942775, ""},
		{"mass", "3 m", 0, "dimension-mismatch"},
		{"mass", "yes", 0, "form-mismatch"},
		{"roll", "50", 0.05, ""},
		{"boost", "22", 22 * 6894.757293168361, ""},
		{"boost", "200 kPa", 0, "kind-mismatch"},
		{"boost", "200 kPad", 200000, ""},
		{"boost", "0.2 MPa", 200000, ""},
		{"boost", "20 psi", 0, "unit-ambiguous"},
		{"air", "70 degF", 294.2611111111111, ""},
		{"air", "3 deltaC", 0, "kind-mismatch"},
		{"rear", "40", 40, ""},
		{"rear", "42", 0, "choice-refused"},
		{"rear", "40.5", 0, "not-whole"},
		{"rear", "40 links", 0, "count-mismatch"},
		{"fuel", "b", 1, ""},
		{"fuel", "c", 0, "choice-refused"},
		{"free", "quite new", 3, ""},
		{"wet", "yes", 1, ""},
		{"wet", "1", 0, "form-mismatch"},
		{"share", "90", 0.9, ""},
		{"number", "4", 4, ""},
		{"number", "4 %", 0.04, ""},
		{"number", "4 m", 0, "dimension-mismatch"},
	} {
		e, list := syntax.ParseQuantity(c.text)
		if list.Errors() {
			t.Errorf("%s: %s", c.text, list[0].Message)
			continue
		}
		cell, _ := m.Resolve(c.name)
		v, d := m.Admit(&cell.Quantity, e)
		code := ""
		if d != nil {
			code = string(d.Code)
		}
		if code != c.code || code == "" && !close12(v, c.value) {
			t.Errorf("%s : %s gives %v %s, want %v %s", c.name, c.text, v, code, c.value, c.code)
		}
	}
	_, column := m.Resolve("t.v")
	if _, d := m.Admit(&column.Quantity, &syntax.Empty{}); d != nil {
		t.Errorf("an entry may be empty where another is: %s", d.Message)
	}
	cell, _ := m.Resolve("mass")
	if _, d := m.Admit(&cell.Quantity, &syntax.Empty{}); d == nil || d.Code != "given-empty" {
		t.Errorf("mass may be empty")
	}
}

func TestNearest(t *testing.T) {
	m, _ := sheet(t, "shift_speed : 3\nbaro : 4\ntable gears\n  ratio : 1\n")
	for name, want := range map[string]string{
		"shift_sped": "shift_speed", "shfit_speed": "shift_speed", "bar": "baro", "gears.ration": "gears.ratio", "gear": "gears", "nothing_like_it": "", "x": "",
	} {
		if got := m.Nearest(name); got != want {
			t.Errorf("nearest to %s: %q, want %q", name, got, want)
		}
	}
}
