package question_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gearleaf/sheet/question"
)

// solved asks a worksheet.
func solved(t testing.TB, text, goal, by, within string) *question.Solution {
	t.Helper()
	s := loaded(t, text)
	g, d := question.ParseGoal(s, goal)
	if d != nil {
		t.Fatal(d.Message)
	}
	a, d := question.ParseWithin(s, by, within)
	if d != nil {
		t.Fatal(d.Message)
	}
	out, err := question.Solve(s, g, a)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// roots writes what was found.
func roots(a *question.Solution) string {
	var parts []string
	for _, r := range a.Found {
		text := fmt.Sprintf("%.6g", r.X)
		if r.Until != r.X {
			text += fmt.Sprintf("..%.6g", r.Until)
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, " ")
}

// TestSolvePublished solves published problems through worksheets. APS is
// Alefeld, Potra, Shi, ACM TOMS 21 (1995), from SciPy's test set; Wallis and
// the fixed point of the cosine are classics. The rows name their sources.
func TestSolvePublished(t *testing.T) {
	for _, c := range []struct {
		id      string
		at      int
		formula string
		within  string
	}{
		{"A-NUM-1", 0, "sin(x * 1 rad) - x / 2", "1.5707963267948966..3.141592653589793"},
		{"A-NUM-2", 0, "x^4 - 0.2", "0..5"},
		{"A-NUM-2", 1, "x^6 - 0.2", "0..5"},
		{"A-NUM-3", 0, "x^3 - 2 * x - 5", "2..3"},
		{"A-NUM-10", 0, "cos(x * 1 rad) - x", "0..1"},
	} {
		t.Run(c.id+" "+c.formula, func(t *testing.T) {
			a := solved(t, "x : 1\ny = "+c.formula+"\n", "y=0", "x", c.within)
			if len(a.Found) != 1 {
				t.Fatalf("found %d roots, want one: %s", len(a.Found), roots(a))
			}
			row(t, "numerics.tsv", c.id).check(t, c.at, "root", a.Found[0].X)
			if a.Evaluations > 300 {
				t.Errorf("it took %d evaluations", a.Evaluations)
			}
		})
	}
}

func TestSolveFinds(t *testing.T) {
	for _, c := range []struct {
		name, text, goal, by, within string
		want                         string
	}{
		{"several changes of sign", "x : 1\ny = (x - 1) * (x - 2) * (x - 4)\n", "y=0", "x", "0..5", "1 2 4"},
		{"a target far from nought", "x : 1\ny = 101325 + x\n", "y=101330", "x", "0..10", "5"},
		{"units of both", "x : 100 mm range 10..1000\ny = 2 * x as m\n", "y=1 m", "x", "", "0.5"},
		{"a place where it touches", "x : 1\ny = (x - 1.2345)^2\n", "y=0", "x", "0..5", "1.2345"},
		{"a corner that touches", "x : 1\ny = abs(x - 1.2345) + 3\n", "y=3", "x", "0..5", "1.2345"},
		{"two within one step of the scan", "x : 1\ny = (x - 1.2345) * (x - 1.236)\n", "y=0", "x", "0..5", "1.2345 1.236"},
		{"at the ends", "x : 1\ny = x * (5 - x)\n", "y=0", "x", "0..5", "0 5"},
		{"a stretch", "x : 1\ny = max(2, x)\n", "y=2", "x", "0..8", "0..2"},
		{"a root at nought", "x : 1\ny = x^3\n", "y=0", "x", "-1..2", "0"},
		{"exact among whole ones", "x : 17 teeth range 10..30\ny = 2 * x\n", "y=34", "x", "", "17"},
		{"a text", "fuel : \"gasoline\" choice \"methanol\", \"gasoline\"\nn = if fuel = \"methanol\" then 6 else 14\n", "n=6", "fuel", "", "0"},
		{"half to twice", "x : 10\ny = x\n", "y=19", "x", "", "19"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := solved(t, c.text, c.goal, c.by, c.within)
			if c.name == "a text" { // the number is its place among the texts
				if len(a.Found) != 1 || a.Found[0].Y != 6 {
					t.Errorf("found %s", roots(a))
				}
				return
			}
			if got := roots(a); got != c.want {
				t.Errorf("found %q, want %q", got, c.want)
			}
			for _, f := range a.Found {
				p := a.Goal.Place
				if got := f.Result.At(p).V; math.Abs(got-a.Goal.Target) > 1e-8*max(1, math.Abs(got)) {
					t.Errorf("at %g the sheet has %g, not %g", f.X, got, a.Goal.Target)
				}
			}
		})
	}
}

// TestSolveNeighbours asks for what no whole number gives.
func TestSolveNeighbours(t *testing.T) {
	a := solved(t, "x : 44 teeth choice 46, 40, 41, 44\ny = 10 * x\n", "y=425", "x", "")
	if len(a.Found) != 0 || len(a.Beside) != 2 || a.Beside[0].X != 41 || a.Beside[1].X != 44 {
		t.Fatalf("found %v, beside %v", a.Found, a.Beside)
	}
	if a.Beside[0].Y != 410 || a.Nearest.X != 41 && a.Nearest.X != 44 {
		t.Errorf("beside %v, nearest %v", a.Beside, a.Nearest)
	}
	if a.Evaluations != 4 {
		t.Errorf("%d evaluations of 4 values", a.Evaluations)
	}
}

func TestSolveWithoutSolution(t *testing.T) {
	a := solved(t, "x : 1\ny = (x - 3)^2 + 1\n", "y=0.5", "x", "0..5")
	if len(a.Found) != 0 || len(a.Jumps) != 0 || len(a.Beside) != 1 {
		t.Fatalf("found %v", a)
	}
	if math.Abs(a.Nearest.X-3) > 1e-6 || math.Abs(a.Nearest.Y-1) > 1e-9 {
		t.Errorf("nearest is %v, want 3 with 1", a.Nearest)
	}
}

// TestSolveJumps goes over a target that is never met.
func TestSolveJumps(t *testing.T) {
	for name, text := range map[string]string{
		"a step":     "x : 1\ny = if x < 2.5 then 1 else 3\n",
		"a pole":     "x : 1\ny = 1 / (x - 2.51)\n",
		"a gap":      "x : 1\ny = if x < 2.4 then 0 else if x > 2.6 then 4 else sqrt(-1 * x)\n",
		"whole only": "x : 1\ny = floor(x) + 0.5\n",
	} {
		goal := "y=2"
		if name == "a pole" {
			goal = "y=0"
		}
		a := solved(t, text, goal, "x", "0..5")
		if len(a.Found) != 0 {
			t.Errorf("%s: found %s", name, roots(a))
		}
		want := 1
		if name == "a gap" {
			want = 0 // the scan has no value there, so no two neighbours differ in sign
		}
		if len(a.Jumps) != want {
			t.Errorf("%s: jumps %v", name, a.Jumps)
		}
	}
}

func TestSolveHoles(t *testing.T) {
	a := solved(t, "x : 1\ny = sqrt(x)\n", "y=1", "x", "-1..3")
	if roots(a) != "1" {
		t.Errorf("found %s", roots(a))
	}
	total := 0
	for cause, n := range a.Holes {
		total += n
		if !strings.HasPrefix(cause, "y: ") {
			t.Errorf("cause %q", cause)
		}
	}
	if total != 64 { // -1 and the 63 steps after it; the 64th step ends at 0
		t.Errorf("%d holes: %v", total, a.Holes)
	}
	a = solved(t, "x : 1\ny = 1 / (x - x)\n", "y=1", "x", "0..3")
	if len(a.Found)+len(a.Beside) != 0 {
		t.Errorf("a cell without any value gives %v", a)
	}
}

func TestSolveRefuses(t *testing.T) {
	s := loaded(t, "x : 1\nz : 2 degC\nw : -3 kg\ny = x + 1\nname = if x > 1 then \"a\" else \"b\"\ntable t\n  a : 1, 2\n  b = a * x\n")
	for goal, want := range map[string]string{
		"y":          "write cell=quantity",
		"q=1":        `no cell "q"`,
		"x=1":        "x is given",
		"name=1":     "name is not a number",
		"t.b=1":      "name the row, as in t.b[1]",
		"y=3 kg":     "y: ",
		"y=":         "",
		"t.b[3]=1":   "t.b has rows 1 to 2",
		"y=\"text\"": "y is a number",
	} {
		if _, d := question.ParseGoal(s, goal); d == nil || !strings.Contains(d.Message, want) {
			t.Errorf("%s: %v, want %q", goal, d, want)
		}
	}
	for _, by := range []string{"z", "w"} {
		if _, d := question.ParseWithin(s, by, ""); d == nil || !strings.Contains(d.Message, "--within a..b") {
			t.Errorf("%s: %v", by, d)
		}
	}
	g, _ := question.ParseGoal(s, "y=3")
	by, _ := question.ParseWithin(s, "z", "1..5 degC")
	if _, err := question.Solve(s, g, by); err == nil || err.Error() != "y does not depend on z" {
		t.Errorf("%v", err)
	}
}
