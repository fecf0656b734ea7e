package check_test

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// filler makes a text long enough to be looked through for repeats.
var filler = strings.Repeat("# "+strings.Repeat("-", 100)+"\n", 700) + "\n"

// checkText checks one worksheet, with or without repeats.
func checkText(f *source.File, repeats bool, lib check.Library) (*check.Model, diag.List, int) {
	parse, found := syntax.Parse, 0
	if repeats {
		parse = syntax.ParseRepeats
	}
	tree, list := parse(f)
	for _, s := range tree.Stmts {
		if _, ok := s.(*syntax.Repeat); ok {
			found++
		}
	}
	m, more := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: lib})
	return m, append(list, more...), found
}

// sameWithRepeats holds what becomes of a text when its repeats are taken over
// to what becomes of it line by line, and returns how many repeats there are.
func sameWithRepeats(t *testing.T, text string, lib check.Library) int {
	t.Helper()
	f := source.New("sheet.leaf", filler+text)
	want, wantList, _ := checkText(f, false, lib)
	got, gotList, repeats := checkText(f, true, lib)
	if !reflect.DeepEqual(gotList, wantList) {
		t.Fatalf("with repeats\n%v\nwithout\n%v\n%s", gotList, wantList, text)
	}
	if len(got.Cells) != len(want.Cells) || len(got.Advices) != len(want.Advices) || len(got.Plugs) != len(want.Plugs) {
		t.Fatalf("%d cells, %d advices with repeats, %d and %d without", len(got.Cells), len(got.Advices), len(want.Cells), len(want.Advices))
	}
	for i, c := range got.Cells {
		if have, want := described(got, c), described(want, want.Cells[i]); have != want {
			t.Fatalf("with repeats\n%s\nwithout\n%s\n%s", have, want, text)
		}
	}
	for i, a := range got.Advices {
		if have, want := written(got, a.Cond)+a.Text, written(want, want.Advices[i].Cond)+want.Advices[i].Text; have != want {
			t.Fatalf("advice %s with repeats, %s without", have, want)
		}
	}
	return repeats
}

// described tells everything about a cell.
func described(m *check.Model, c *check.Cell) string {
	details := *c.Details
	details.Range = nil
	within := [2]float64{}
	if c.Range != nil {
		within = *c.Range
	}
	return fmt.Sprintf("%s %v given %v plugged %v at %+v, details %+v in %v, value %v, look %+v, section %q note %q, = %s",
		c.Name, c.Index, c.Given, c.Plugged, c.Decl().Span, details, within, c.Value, *c.Look, c.Origin.Section, c.Origin.Note, written(m, c.Formula))
}

// written writes a formula of the model, with all types.
func written(m *check.Model, id check.NodeID) string {
	if id == 0 {
		return "-"
	}
	n := m.Node(id)
	text := fmt.Sprintf("(%d:%v", n.Op, m.TypeOf(id))
	switch n.Op {
	case check.Const:
		text += fmt.Sprint(" ", n.Num())
	case check.CellRef, check.ColumnRef, check.PrevRef, check.NextRef, check.ParamRef, check.StepRef, check.IndexAt:
		text += fmt.Sprint(" ", n.Ref())
	case check.Intrinsic:
		text += " " + m.IntrinsicOf(n).Name
	case check.Call:
		text += " " + m.Instances[m.InstanceOf(n)].Name
	case check.Aggregate:
		return text + fmt.Sprint(" ", n.A, n.B, ")")
	}
	for _, o := range m.AppendOperands(nil, n) {
		text += " " + written(m, o)
	}
	return text + ")"
}

func TestRepeats(t *testing.T) {
	const givens = `a1 : 2 kg
a2 : 3 kg
b1 : 4 m
b2 : 5 ft
n1 : 6
n2 : 7
t1 : "alky"
t2 : "gas"
w1 : yes
w2 : no
p1 : 20 psig
p2 : 14.7 psia
r1 : 9000 rpm
`
	lib := library(t)
	for _, c := range []struct {
		name, text string
		repeats    int
	}{
		{"the same types", "c1 = a1 + a2\nc2 = a2 + a1\nc3 = c1 + c2\nc4 = c3 + c3\n", 3},
		{"other types", "c1 = a1 * b1\nc2 = n1 * b1\nc3 = b1 * b2\nc4 = a2 * b2\nc5 = c4 * c4\n", 4},
		{"more types than are remembered", "c1 = a1 * n1\nc2 = c1 * a1\nc3 = c2 * a1\nc4 = c3 * a1\nc5 = c4 * a1\nc6 = c5 * a1\nc7 = c6 * a1\nc8 = c7 * a1\nc9 = c8 * a1\nc10 = c9 * a1\nc11 = c10 * a1\n", 10},
		{"shown units", "c1 = b1 + b2\nc2 = b2 + b1\nc3 = c1 + c2\nc4 = b2 + b2\n", 3},
		{"as and to", "c1 = a1 * 2 as lb to 0.1\nc2 = a2 * 2 as lb to 0.1\nc3 = c2 * 2 as lb to 0.1\n", 2},
		{"as that does not fit", "c1 = a1 * 2 as lb\nc2 = b1 * 2 as lb\nc3 = a2 * 2 as lb\n", 2},
		{"units that do not go together", "c1 = a1 + a2\nc2 = a1 + b1\nc3 = b1 + b2\nc4 = a2 + b2\n", 3},
		{"a name that is not there", "c1 = a1 + a2\nc2 = a1 + nobody\nc3 = a2 + a2\n", 2},
		{"a name with a slip", "c1 = a1 + a2\nc2 = a1 + a22\n", 1},
		{"behind what reads it", "c1 = a1 + c2\nc2 = a2 + c3\nc3 = a1 + c4\nc4 = a1 + a2\nc5 = c1 + c2\n", 4},
		{"a circle", "c1 = a1 + c2\nc2 = a1 + c3\nc3 = a1 + c1\nc4 = a1 + c3\nc5 = c4 + a1\n", 4},
		{"itself", "c1 = a1 + a2\nc2 = a1 + c2\n", 1},
		{"choices", "c1 = if w1 then a1 else a2\nc2 = if w2 then b1 else b2\nc3 = if w1 then t1 else t2\nc4 = if w2 then t2 else t1\n", 3},
		{"comparisons", "c1 = a1 < a2\nc2 = t1 < t2\nc3 = b1 < b2\nc4 = a1 = a2\nc5 = t1 = t2\nc6 = w1 = w2\n", 4},
		{"chains", "c1 = a1 < a2 <= a1 < a1 + a2\nc2 = b1 < b2 <= b1 < b1 + b2\nc3 = b2 < b1 <= b2 < b2 + b1\n", 2},
		{"functions of values", "c1 = min(a1, a2, a1) / max(a1, a2)\nc2 = min(b1, b2, b1) / max(b1, b2)\nc3 = min(b2, b1, b2) / max(b2, b1)\n", 2},
		{"roots and powers", "c1 = sqrt(a1) * a2 ^ 0.5\nc2 = sqrt(b1) * b2 ^ 0.5\nc3 = sqrt(n1) * n2 ^ 0.5\nc4 = sqrt(a2) * a1 ^ 0.5\nc5 = n1 ^ n2\nc6 = n2 ^ n1\nc7 = a1 ^ n1\n", 5},
		{"functions of the library", "c1 = density_of(n1)\nc2 = density_of(n2)\nc3 = circle_area(b1)\nc4 = circle_area(b2)\n", 2},
		{"functions of its own", "function twice(x)\n  = x + x\nc1 = twice(a1)\nc2 = twice(b1)\nc3 = twice(a2)\nc4 = twice(t1)\n", 3},
		{"validity", "function near(x: m) as m\n  valid x < 3 m\n  = x\nc1 = near(b1) + b2\nc2 = near(b2) + b1\nc3 = near(b1) + b1\n", 2},
		{"kinds of pressure", "c1 = p1 + p2\nc2 = p2 + p1\nc3 = p2 + p2\nc4 = p1 + p1\n", 3},
		{"turns left in", "c1 = a1 * b1 ^ 2 / 1 s ^ 2 * r1\nc2 = a2 * b1 ^ 2 / 1 s ^ 2 * r1\nc3 = a2 * b2 ^ 2 / 1 s ^ 2 * r1\n", 2},
		{"pi is a number", "c1 = a1 * pi\nc2 = a2 * pi\nc3 = a2 * pi\n", 2},
		{"pi is a cell", "pi : 3 m\nc1 = a1 * pi\nc2 = a2 * pi\nc3 = c2 * pi\n", 2},
		{"a name twice", "c1 = a1 + a2\nc2 = a2 + a1\nc2 = a1 + a1\n", 2},
		{"a name that a table has", "table c2\n  x : 1, 2\nc1 = a1 + a2\nc2 = a2 + a1\nc3 = c2 + a1\n", 2},
		{"columns read repeats", "c1 = a1 + a2\nc2 = a2 + a1\ntable t\n  x : 1, 2\n  y = x * c2\nc3 = a2 + c4\nc4 = a1 + c2\nlimit c4 > c3\n", 3},
		{"sections and notes", "section \"one\"\nc1 = a1 + a2\n\nc2 = a2 + a1\nsection \"two\"\n# of c3\nc3 = a1 + a1\nc4 = c3 + c2\n", 2},
		{"a unit of its own", "unit plug\nc1 = 3 plug * n1\nc2 = 3 plug * n2\nc3 = c1 + c2\nc4 = c2 + c1\n", 2},
		{"not a number in reach", "c1 = 1e308 * 10 * n1\nc2 = 1e308 * 10 * n2\n", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := sameWithRepeats(t, givens+c.text, lib); got != c.repeats {
				t.Errorf("%d repeats, want %d", got, c.repeats)
			}
		})
	}
}

// unlabelled returns a text without the labels and comments of its computed
// cells: with them, no line repeats another.
func unlabelled(text string) string {
	return regexp.MustCompile(`(?m)^(\w+ *=[^"#\n]*?) *["#].*$`).ReplaceAllString(text, "$1")
}

// again returns a text with all its cells a second time, under other names, so
// that the second ones are repeats.
func again(text string) string {
	cells := regexp.MustCompile(`(?m)^(\w+) *[:=].*$`)
	second := strings.Join(cells.FindAllString(text, -1), "\n")
	for _, m := range cells.FindAllStringSubmatch(text, -1) {
		second = regexp.MustCompile(`\b`+m[1]+`\b([^(]|$)`).ReplaceAllString(second, m[1]+"_b$1")
	}
	return text + "\n" + second + "\n"
}

// TestRepeatsOfSheets checks whole worksheets, templates and random ones, with
// all their cells twice.
func TestRepeatsOfSheets(t *testing.T) {
	lib := library(t)
	names, err := filepath.Glob("../../templates/*.leaf")
	if err != nil || len(names) == 0 {
		t.Fatalf("no templates, %v", err)
	}
	repeats := 0
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		repeats += sameWithRepeats(t, again(unlabelled(string(text))), lib)
	}
	seeds, least := uint64(30), 4000
	if testing.Short() {
		seeds, least = 6, 3000
	}
	for seed := range seeds {
		n := sameWithRepeats(t, again(generate.Worksheet(generate.Everything(seed, 60))), lib)
		if repeats += n; n < 10 {
			t.Errorf("%d repeats in sheet %d", n, seed)
		}
	}
	repeats += sameWithRepeats(t, generate.Layered(3000, 1), lib)
	repeats += sameWithRepeats(t, again(generate.Gearing150()), lib)
	if repeats < least {
		t.Errorf("%d lines were repeats", repeats)
	}
}

func FuzzRepeats(f *testing.F) {
	f.Add("a : 1 kg\nb = a + 2 kg\nc = b * a as lb2\n")
	f.Add("a = b\nb = c\nc = a\n")
	f.Add("a : \"x\"\nb = if a = \"x\" then 1 else 2\nc = b < 2\n")
	f.Add("function f(x)\n  = x + x\na : 2 m\nb = f(a)\nc = f(b)\n")
	lib := library(f)
	f.Fuzz(func(t *testing.T, text string) { sameWithRepeats(t, again(text), lib) })
}
