package check_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

func TestCorrelations(t *testing.T) {
	m, list := sheet(t, `mass : 340 kg sd 1 kg
length : 2 m ± 1 mm
table gears
  ratio : 2.5, 1.9 ± 0.01
correlate mass, length -0.5
correlate gears.ratio[2], mass 0.5 "Both from one drawing"
`)
	if len(list) > 0 {
		t.Fatal(list)
	}
	var got []string
	for _, c := range m.Correlations {
		got = append(got, fmt.Sprintf("%s[%d] %s[%d] %g", c.A.Quantity().Name, c.A.Row, c.B.Quantity().Name, c.B.Row, c.Coefficient))
	}
	if text := strings.Join(got, "; "); text != "mass[0] length[0] -0.5; ratio[1] mass[0] 0.5" {
		t.Errorf("got %s", text)
	}
	givens, matrix := m.CorrelationMatrix()
	if len(givens) != 3 || fmt.Sprint(matrix) != "[[1 -0.5 0.5] [-0.5 1 0] [0.5 0 1]]" {
		t.Errorf("%d givens, %v", len(givens), matrix)
	}
}

func TestCorrelationsThatAreNone(t *testing.T) {
	const givens = "mass : 340 kg sd 1 kg\nlength : 2 m ± 1 mm\nexact : 3\ntwice = 2 * mass\ntable gears\n  ratio : 2.5, 1.9 ± 0.01\n  half = ratio / 2\n"
	for line, want := range map[string]string{
		"correlate mass, lenght 0.4":         `there is no "lenght"`,
		"correlate mass, exact 0.4":          "exact is exact",
		"correlate mass, twice 0.4":          "twice is computed",
		"correlate mass, gears.half[1] 0.4":  "half is computed",
		"correlate mass, gears.ratio 0.4":    "as in gears.ratio[1]",
		"correlate mass, gears.ratio[3] 0.4": "gears.ratio has rows 1 to 2",
		"correlate mass, gears.ration[1] 1":  `no column "ration"`,
		"correlate mass, gears 0.4":          "gears is a table",
		"correlate mass, mass 0.4":           "correlated with itself",
		"correlate mass, length 40 %":        "plain number from -1 to 1",
		"correlate mass, length -1.01":       "plain number from -1 to 1",
	} {
		_, list := sheet(t, givens+line+"\n")
		if len(list) != 1 || !strings.Contains(list[0].Message, want) {
			t.Errorf("%s: %v, want one error with %q", line, list, want)
		}
	}
}

// TestCorrelationAbove lets the sheet that uses another settle a coefficient.
func TestCorrelationAbove(t *testing.T) {
	parse := func(name, text string) check.File {
		tree, list := syntax.Parse(source.New(name, text))
		if list.Errors() {
			t.Fatal(list)
		}
		return check.File{Tree: tree, Uses: map[*syntax.Use]int{}}
	}
	const bike = "a : 1 sd 0.1\nb : 1 sd 0.1\ncorrelate a, b 0.4\n"
	for own, want := range map[string]float64{"correlate b, a -0.2\n": -0.2, "": 0.4} {
		day := parse("day.leaf", "use \"bike.leaf\"\n"+own)
		day.Uses[day.Tree.Stmts[0].(*syntax.Use)] = 1
		m, list := check.Check(check.Input{Files: []check.File{day, parse("bike.leaf", bike)}, Library: library()})
		if len(list) > 0 || len(m.Correlations) != 1 || m.Correlations[0].Coefficient != want {
			t.Errorf("%q: %v %v, want %v", own, list, m.Correlations, want)
		}
	}
}

func TestTooManyCorrelated(t *testing.T) {
	var text strings.Builder
	for i := range source.MaxCorrelated + 1 {
		fmt.Fprintf(&text, "x%d : 1 sd 0.1\n", i)
	}
	for i := range source.MaxCorrelated {
		fmt.Fprintf(&text, "correlate x%d, x%d 0.01\n", i, i+1)
	}
	_, list := sheet(t, text.String())
	if len(list) != 1 || !strings.Contains(list[0].Message, "more than 500 givens are correlated") {
		t.Errorf("got %v", list)
	}
}
