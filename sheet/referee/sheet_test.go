package referee_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/formulas"
	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/referee"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// library is the formulas that every sheet can call.
var library = check.ReadLibrary(formulas.Files(), formulas.Intrinsics())

// checked parses and checks text; ok is false if it holds an error.
func checked(t testing.TB, text string) (m *check.Model, g *graph.Graph, ok bool) {
	t.Helper()
	tree, list := syntax.Parse(source.New("test.leaf", text))
	if list.Errors() {
		t.Logf("%s", list[0].Message)
		return nil, nil, false
	}
	m, list = check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: library})
	for _, d := range list {
		if list.Errors() {
			t.Logf("line %d: %s", d.File.LineOf(d.Span.Start)+1, d.Message)
		}
	}
	if list.Errors() {
		return nil, nil, false
	}
	g, cycles := graph.Build(m)
	return m, g, len(cycles) == 0
}

// run evaluates text with the referee.
func run(t testing.TB, text string) (*check.Model, *graph.Graph, *referee.Referee) {
	t.Helper()
	m, g, ok := checked(t, text)
	if !ok {
		t.Fatalf("does not check:\n%s", text)
	}
	r, err := referee.New(m, g)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Run(); err != nil {
		t.Fatal(err)
	}
	return m, g, r
}

// lines of a sheet; every cell named is wanted to have a value, in SI.
var sheets = []struct {
	name string
	text string
	want string // "name=value …"; a value may be blank, fault, yes, no
}{
	{"scalars", "a : 3\nb : 4\nc = (a^2 + b^2)^0.5\nd = -a^2\ne = 2^3^2\nf = a - b - 1", "c=5 d=-9 e=512 f=-2"},
	{"units", "v : 36 km/h\nt : 2 min\nway = v * t\nhot : 20 degC\nhotter = hot + 9 deltaF", "way=1200 hotter=298.15"},
	{"compare", "a : 0.1\nb = a + 0.2 = 0.3\nc = 1 < 2 < 3\nd = 3 <> 3\ne = not d and c", "b=yes c=yes d=no e=yes"},
	{"faults", "z : 0\nbad = 1 / z\non = bad + 1\nkept = if z = 0 then 5 else bad\nmade = if bad > 1 then 1 else 1\nmore = min(bad, 3)", "bad=fault on=fault kept=5 made=fault more=fault"},
	{"and or", "z : 0\na = z > 0 and 1 / z > 1\nb = z = 0 or 1 / z > 1\nc = 1 / z > 1 and no", "a=no b=yes c=fault"},
	{"overflow", "big : 1e300\na = 1 / (big * big)\nb = big * big < 1", "a=fault b=fault"},
	{"texts", "fuel : \"methanol\" choice \"methanol\", \"ethanol\"\na = if fuel = \"methanol\" then 1 else 2\nb = fuel <> \"Methanol\"", "a=1 b=yes"},
	{"next", "table t\n  a : 1, 2, 4\n  b = next(a) - a\n  c = b + 1\ns = sum(t.b)\nn = count(t.c)\nl = last(t.b)", "t.b=1,2,blank t.c=2,3,blank s=3 n=2 l=2"},
	{"prev", "table t\n  a : 1, 2, 4\n  b = prev(a) + a start 10\n  c = prev(c) + b start 0", "t.b=10,3,6 t.c=0,3,9"},
	{"own aggregates", "table t\n  a : 1, 2, 5\n  b = a / max(a)\n  c = a - t.a[1]", "t.b=0.2,0.4,1 t.c=0,1,4"},
	{"blank fields", "table t\n  | a | b |\n  | 1 | 2 |\n  | 3 |   |\n  | 5 | 6 |\n  c = a + b\ns = sum(t.b)\nm = mean(t.c)\ni = t.b[2]\nx = lookup(3, t.a, t.b)", "t.c=3,blank,11 s=8 m=7 i=fault x=4"},
	{"lookups", "table t\n  x : 1, 2, 4\n  y : 10, 20, 40\na = lookup(3, t.x, t.y)\nb = lookup(5, t.x, t.y)\nc = lookup_clamped(5, t.x, t.y)\nd = first_at(1.5, t.x, t.y)", "a=30 b=fault c=40 d=15"},
	{"pick", "table t\n  k : \"one\", \"two\"\n  v : 1, 2\na = pick(\"two\", t.k, t.v)\nb = pick(\"Two\", t.k, t.v)", "a=2 b=fault"},
	{"until", "table t rows 5 until a >= 3\n  a = prev(a) + 1 start 1\n  b = a * 2\n  c = next(a)\ns = sum(t.b)\nl = last(t.a)\ni = t.a[4]", "t.a=1,2,3,blank,blank t.b=2,4,6,blank,blank t.c=2,3,blank,blank,blank s=12 l=3 i=fault"},
	{"at once", "table t rows 3 until a >= 1\n  a = prev(a) + 1 start 1\nn = count(t.a)", "t.a=1,blank,blank n=1"},
	{"never", "table t rows 3 until a >= 9\n  a = prev(a) + 1 start 1\n  b = a + 1\nn = count(t.a)", "t.a=1,2,3 t.b=2,3,4 n=fault"},
	{"faulty until", "table t rows 4 until 1 / (a - 2) > 5\n  a = prev(a) + 1 start 1\n  b = a + 1\nn = count(t.a)", "t.a=1,fault,fault,fault t.b=2,fault,fault,fault n=fault"},
	{"advice in faulty rows", "function f(x: 1)\n  \"f\"\n  valid x < 0 \"below zero\"\n  = x\ntable t rows 3 until 1 / (a - 2) > 5\n  a = prev(a) + 1 start 1\n  b = f(-1)\n  c = if a > 1 then f(2) else 0", "t.b=-1,fault,fault t.c=0,fault,fault"},
	{"functions", "function f(x, y: x, part: 1)\n  \"f\"\n  low = min(x, y)\n  = if part > 0 then low else y\nz : 0\na = f(3 m, 2 m, 1)\nb = f(1 / z, 4, 0)\nc = f(1 / z, 4, 1)", "a=2 b=4 c=fault"},
	{"argument not read", "function f(x: 1, part: 1)\n  \"f\"\n  twice = 2 * x\n  = if part > 0 then twice else 7\nz : 0\na = f(1 / z, 0)", "a=7"},
}

// TestSheets runs every sheet, the whole at once, and again task by task from
// the values that this gave.
func TestSheets(t *testing.T) {
	for _, s := range sheets {
		t.Run(s.name, func(t *testing.T) {
			m, g, r := run(t, s.text)
			for _, want := range strings.Fields(s.want) {
				name, value, _ := strings.Cut(want, "=")
				if got := said(m, r, name); got != value {
					t.Errorf("%s is %s, want %s", name, got, value)
				}
			}
			again, err := referee.New(m, g)
			if err != nil {
				t.Fatal(err)
			}
			found, err := referee.Confirm(t.Context(), again, r, everyTask)
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range found {
				t.Errorf("task by task differs: %s", d)
			}
		})
	}
}

// said writes what r has for a cell or a column.
func said(m *check.Model, r *referee.Referee, name string) string {
	cell, column := m.Resolve(name)
	switch {
	case cell != nil:
		return word(r.Cell(int(cell.Index)), cell.Type.Form)
	case column == nil:
		return "not there"
	}
	var words []string
	for _, v := range r.Column(int(column.Index)) {
		words = append(words, word(v, column.Type.Form))
	}
	return strings.Join(words, ",")
}

func word(v float64, form check.Form) string {
	switch {
	case kernel.IsBlank(v):
		return "blank"
	case v != v:
		return "fault"
	case form == check.Truth:
		return map[float64]string{0: "no", 1: "yes"}[v]
	}
	return fmt.Sprintf("%.12g", v)
}

func everyTask(int, int) bool { return true }
