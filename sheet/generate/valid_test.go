package generate_test

import (
	"fmt"
	"testing"

	"gearleaf/formulas"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// library holds the intrinsics alone: the texts call no library functions.
var library = check.Library{Intrinsics: formulas.Intrinsics()}

// mustCheck parses and checks text and looks for cycles.
func mustCheck(t *testing.T, name, text string) *check.Model {
	t.Helper()
	file := source.New(name, text)
	tree, list := syntax.Parse(file)
	if report(t, name, file, list) {
		return nil
	}
	m, list := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: library})
	if report(t, name, file, list) {
		return nil
	}
	if _, cycles := graph.Build(m); len(cycles) > 0 {
		t.Errorf("%s: %s", name, cycles[0].Diagnostic().Message)
	}
	return m
}

// report reports the errors in list, with the lines they are about.
func report(t *testing.T, name string, file *source.File, list diag.List) bool {
	t.Helper()
	for _, d := range list {
		if d.Severity == diag.Error {
			line := file.LineOf(d.Span.Start)
			t.Errorf("%s:%d: %s (%s)\n%s", name, line+1, d.Message, d.Code, file.Slice(file.Line(line)))
		}
	}
	return list.Errors()
}

// TestWorksheetsCheck checks random worksheets with every set of switches.
func TestWorksheetsCheck(t *testing.T) {
	for seed := range uint64(640) {
		on := func(bit int) bool { return seed>>bit&1 != 0 }
		o := generate.Options{
			Seed: seed, Cells: 3 + int(seed)%50,
			Faults: on(0), Tables: on(1), Loops: on(2), Functions: on(3), Texts: on(4), Limits: on(5),
		}
		mustCheck(t, fmt.Sprintf("seed %d", seed), generate.Worksheet(o))
		if t.Failed() {
			return
		}
	}
}

func TestFixedSheetsCheck(t *testing.T) {
	if m := mustCheck(t, "gearing", generate.Gearing150()); m != nil && len(m.Cells) != 150 {
		t.Errorf("%d cells", len(m.Cells))
	}
	mustCheck(t, "layers", generate.Layered(20_000, 5))
	mustCheck(t, "step table", generate.StepTable(2000))
}

// TestEdited changes formulas alone, and most of what it changes still checks.
func TestEdited(t *testing.T) {
	sound, changed := 0, 0
	const sheets = 100
	for seed := range uint64(sheets) {
		text := generate.Worksheet(generate.Everything(seed, 10))
		edited := generate.Edited(text, 3, seed)
		if edited != text {
			changed++
		}
		tree, list := syntax.Parse(source.New("edited", edited))
		if _, found := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: library}); !list.Errors() && !found.Errors() {
			sound++
		}
	}
	if changed < sheets*3/4 || sound < sheets/3 {
		t.Errorf("of %d worksheets %d were changed, %d check", sheets, changed, sound)
	}
}
