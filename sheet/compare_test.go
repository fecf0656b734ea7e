package sheet_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet"
)

func TestCompare(t *testing.T) {
	a := loaded(t, `speed : 100 km/h
fuel  : "methanol"
mass  : 340 kg
gone  : 1
table gears
  ratio : 2.5, 1.9, 1.6
  v     = speed / ratio
half  = speed / 2
heavy = mass > 300 kg
kind  : 3
same  = 2 * mass
limit speed < 150 km/h "fast"
limit mass < 500 kg
`)
	b := loaded(t, `come  : 1
speed : 100 mph
fuel  : "gasoline"
other : "methanol"
mass  : 340 kg
table gears
  ratio : 2.5, 1.8
  v     = speed / ratio
half  = speed / 2
heavy = mass > 400 kg
kind  : 3 kg
same  = 2 * mass
limit speed < 150 km/h "fast"
`)
	c, err := sheet.Compare(a, b)
	if err != nil {
		t.Fatal(err)
	}
	names := func(list []sheet.ValuePair) string {
		var out []string
		for _, d := range list {
			out = append(out, d.Name())
		}
		return strings.Join(out, " ")
	}
	if got := names(c.Givens); got != "speed fuel gears.ratio[2] gears.ratio[3] kind" {
		t.Errorf("givens: %s", got)
	}
	if got := names(c.Results); got != "gears.v[1] gears.v[2] gears.v[3] half heavy" {
		t.Errorf("results: %s", got)
	}
	if d := c.Givens[0]; fmt.Sprintf("%.4f %.4f", d.Delta, d.Percent) != "60.9344 60.9344" {
		t.Errorf("speed differs by %v, %v %%", d.Delta, d.Percent)
	}
	if len(c.OnlyA) != 1 || c.OnlyA[0].Name() != "gone" || len(c.OnlyB) != 2 {
		t.Errorf("only in a %v, only in b %v", c.OnlyA, c.OnlyB)
	}
	if len(c.Limits) != 2 || c.Limits[0].Limit().Message != "fast" || c.Limits[1].B != nil {
		t.Errorf("limits %v", c.Limits)
	}
	if c.Same != 3 { // mass, gears.ratio[1], same
		t.Errorf("%d alike", c.Same)
	}
}

// TestCompareItself finds nothing, texts that are in another order included.
func TestCompareItself(t *testing.T) {
	a := loaded(t, "fuel : \"a\"\nother : \"b\"\nx : 1\ny = 1 / (x - 1)\n")
	b := loaded(t, "y = 1 / (x - 1)\nx : 1\nother : \"b\"\nfuel : \"a\"\n")
	c, err := sheet.Compare(a, b)
	if err != nil || len(c.Givens)+len(c.Results)+len(c.Limits)+len(c.OnlyA)+len(c.OnlyB) != 0 || c.Same != 4 {
		t.Errorf("%+v %v", c, err)
	}
}

// TestCompareKinds compares values that have the same number and do not
// measure the same: each is a difference, said in words.
func TestCompareKinds(t *testing.T) {
	for _, c := range []struct{ a, b, why string }{
		{"21 psig", "21 psia", "relative pressure in A, absolute pressure in B"},
		{"20 degC", "20 deltaC", "temperature on a scale in A, temperature difference in B"},
		{"20 vol%", "20 mass%", "share by volume in A, share by mass in B"},
		{"17 teeth", "17 links", "teeth in A, links in B"},
		{"3 m", "3 kg", "length in A, mass in B"},
		{"3", "3 teeth", "a plain number in A, teeth in B"},
		{"\"3\"", "3", "a text in A, a plain number in B"},
		{"yes", "1", "yes or no in A, a plain number in B"},
		{"1 m", "100 cm", ""},
		{"20 degC", "68 degF", ""},
		{"14.5 psia", "14.5 psia", ""},
	} {
		for _, text := range []string{"x : %\n", "x = %\n", "table t\n  x : %\n"} {
			sheetOf := func(v string) *sheet.Sheet {
				s, list := sheet.FromText("compare.leaf", strings.ReplaceAll(text, "%", v))
				if s == nil {
					t.Fatal(list)
				}
				return s
			}
			if text == "x = %\n" && (c.a == "20 vol%" || strings.Contains(c.a, "\"")) {
				continue
			}
			got, err := sheet.Compare(sheetOf(c.a), sheetOf(c.b))
			if err != nil {
				t.Fatal(err)
			}
			pairs := append(got.Givens, got.Results...)
			switch {
			case c.why == "" && len(pairs) > 0:
				t.Errorf("%s and %s differ: %s", c.a, c.b, pairs[0].Why)
			case c.why != "" && (len(pairs) != 1 || pairs[0].Why != c.why || pairs[0].Numeric):
				t.Errorf("%s and %s in %q: %v, want %s", c.a, c.b, text, pairs, c.why)
			}
		}
	}
}
