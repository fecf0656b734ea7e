package sheet_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// mixture is a large sheet whose lines repeat one another, with cells that a
// formula reads twice, functions, units, and cells that stand behind what
// reads them.
func mixture(cells int) string {
	rnd := rand.New(rand.NewPCG(7, 1))
	var text strings.Builder
	text.WriteString("title \"Invented\"\nfunction both(x, y: x)\n  = x + y\n")
	pick := func(i int) string { return fmt.Sprintf("cell_%d", max(0, i-1-rnd.IntN(40))) }
	for i := range cells {
		switch kind := rnd.IntN(8); {
		case i < 20:
			fmt.Fprintf(&text, "cell_%d : %d mm\n", i, 1+i)
		case kind == 0:
			a := pick(i)
			fmt.Fprintf(&text, "cell_%d = (%s + %s) / 2\n", i, a, a)
		case kind == 1:
			fmt.Fprintf(&text, "cell_%d = both(%s, %s) / 2\n", i, pick(i), pick(i))
		case kind == 2:
			fmt.Fprintf(&text, "cell_%d = if %s > 5 mm then %s else %s as in to 0.01\n", i, pick(i), pick(i), pick(i))
		case kind == 3 && i%2 == 0 && i+1 < cells:
			fmt.Fprintf(&text, "cell_%d = cell_%d_late + %s / 3\ncell_%d_late = sqrt(%s * %s)\n", i, i, pick(i), i, pick(i), pick(i))
		case kind == 4:
			fmt.Fprintf(&text, "cell_%d = min(%s, %s, 3 mm) + 5 %% * %s\n", i, pick(i), pick(i), pick(i))
		default:
			fmt.Fprintf(&text, "cell_%d = (%s + %s) / 2\n", i, pick(i), pick(i))
		}
	}
	return text.String()
}

// TestRepeatsCompileAlike compiles sheets whose repeated lines have been taken
// over and those read line by line to the same graph and the same program.
func TestRepeatsCompileAlike(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(2)) // side by side, whatever the machine has
	for name, text := range map[string]string{
		"mixture": mixture(25_000), "layers": generate.Layered(25_000, 3), "shallow": generate.Shallow(25_000, 8, 3),
	} {
		t.Run(name, func(t *testing.T) {
			got, list := sheet.FromText("x.leaf", text)
			if got == nil {
				t.Fatal(list)
			}
			tree, _ := syntax.Parse(source.New("x.leaf", text))
			m, found := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: sheet.Library()})
			if found.Errors() {
				t.Fatal(found)
			}
			g, _ := graph.Build(m)
			if got.Graph.Len() != g.Len() {
				t.Fatalf("%d tasks with repeats, %d without", got.Graph.Len(), g.Len())
			}
			for i := range g.Len() {
				if !reflect.DeepEqual(got.Graph.NeedsOf(i), g.NeedsOf(i)) {
					t.Fatalf("task %d needs %v with repeats, %v without", i, got.Graph.NeedsOf(i), g.NeedsOf(i))
				}
			}
			have, want := got.Program.Disassemble(), program.Compile(m, g, program.Options{}).Disassemble()
			if have != want {
				t.Fatal("with repeats the program is another one")
			}
			formed := 0
			for _, c := range got.Model.Cells {
				if got.Model.FormOf(c) > 0 {
					formed++
				}
			}
			if formed < len(got.Model.Cells)/2 {
				t.Errorf("%d of %d cells have a form", formed, len(got.Model.Cells))
			}
		})
	}
}
