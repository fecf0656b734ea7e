package referee_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"gearleaf/formulas"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
	"gearleaf/sheet/referee"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// TestLongAndDeepFormulas goes to the bounds of the language.
func TestLongAndDeepFormulas(t *testing.T) {
	const deep = source.MaxDepth - 10
	for name, formula := range map[string]string{
		"sum":      "1" + strings.Repeat(" + a", 9000),
		"product":  "a" + strings.Repeat(" * 1.0001 / 1.0001", 5000),
		"brackets": strings.Repeat("(a + ", deep) + "a" + strings.Repeat(")", deep),
		"left":     strings.Repeat("(", deep) + "a" + strings.Repeat(" - 1)", deep),
		"ifs":      strings.Repeat("if a < 0 then 1 else ", deep) + "a",
		"powers":   "a" + strings.Repeat("^1", deep),
		"ands":     "if a > 0" + strings.Repeat(" and a > 0", 4000) + " then 1 else 2",
		"calls":    strings.Repeat("max(1, ", deep) + "a" + strings.Repeat(")", deep),
		"many":     "max(a" + strings.Repeat(", a", 5000) + ")",
		"within":   "if a > 0 then 1" + strings.Repeat(" + a", 5000) + " else 1 / 0",
	} {
		agree(t, "a : 1.5\nb = "+formula+"\n", name)
		agree(t, "table t\n  | a |\n  |   |\n  | 2 |\n  b = "+formula+"\n", name+" of blanks")
	}
}

// TestLongChain is 100,000 cells each of which reads the one before.
func TestLongChain(t *testing.T) {
	var text strings.Builder
	text.WriteString("c0 : 1\n")
	for i := range 100_000 {
		fmt.Fprintf(&text, "c%d = c%d * 1.0000001 + 0.5\n", i+1, i)
	}
	m, g, ok := checked(t, text.String())
	if !ok {
		t.Fatal("does not check")
	}
	for _, d := range differences(t, m, g, nil) {
		t.Errorf("the evaluators differ on %s", d)
	}
	sample := func(task, _ int) bool { return task%97 == 0 }
	for _, d := range differences(t, m, g, sample) {
		t.Errorf("in a sample the evaluators differ on %s", d)
	}
}

// TestChangedGivens changes givens again and again and lets the machine
// compute what they reach, where the referee computes everything.
func TestChangedGivens(t *testing.T) {
	for seed := range uint64(60) {
		p, r, mc := bothEvaluators(t, seed, program.Options{})
		mc.Run()
		rnd := rand.New(rand.NewPCG(seed, 1))
		for range 5 {
			mc.RunPart(p.Part(p.Graph().Reach(change(rnd, p.Graph(), r, mc))))
			confirm(t, seed, r, mc)
		}
	}
}

// TestPlainPrograms computes changed sheets by programs that save no work.
func TestPlainPrograms(t *testing.T) {
	for seed := range uint64(60) {
		p, r, mc := bothEvaluators(t, seed, program.Options{Plain: true})
		change(rand.New(rand.NewPCG(seed, 2)), p.Graph(), r, mc)
		mc.Run()
		confirm(t, seed, r, mc)
	}
}

// bothEvaluators makes a random sheet, a referee and a machine for it.
func bothEvaluators(t *testing.T, seed uint64, opt program.Options) (*program.Program, *referee.Referee, *program.Machine) {
	t.Helper()
	m, g, ok := checked(t, generate.Worksheet(generate.Everything(seed, 20)))
	if !ok {
		t.Fatalf("seed %d does not check", seed)
	}
	r, err := referee.New(m, g)
	if err != nil {
		t.Fatal(err)
	}
	p := program.Compile(m, g, opt)
	return p, r, p.NewMachine()
}

// confirm fails on every value on which the referee and a machine differ.
func confirm(t *testing.T, seed uint64, r *referee.Referee, mc *program.Machine) {
	t.Helper()
	found, err := referee.Confirm(t.Context(), r, values{mc}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range found {
		t.Errorf("seed %d: after a change the evaluators differ on %s", seed, d)
	}
}

// change gives one in three given numbers another value, and returns their tasks.
func change(rnd *rand.Rand, g *graph.Graph, r *referee.Referee, mc *program.Machine) (tasks []int) {
	for i := range g.Len() {
		task := g.Task(i)
		factor := []float64{0, 0.5, -1, 3}[rnd.IntN(4)]
		switch {
		case rnd.IntN(3) > 0:
		case task.Kind == graph.CellTask && task.Cell.Given && task.Cell.Type.Form == 0:
			v := task.Cell.Value * factor
			r.SetCell(int(task.Cell.Index), v)
			mc.SetCell(int(task.Cell.Index), v)
			tasks = append(tasks, i)
		case task.Kind == graph.ColumnTask && task.Column.Given && task.Column.Type.Form == 0 && len(task.Column.Values) > 0:
			row := rnd.IntN(len(task.Column.Values))
			v := task.Column.Values[row] * factor
			r.SetEntry(int(task.Column.Index), row, v)
			mc.SetEntry(int(task.Column.Index), row, v)
			tasks = append(tasks, i)
		}
	}
	return tasks
}

// TestLibraryAgrees calls every function of the library with arguments of the
// declared units, good ones and bad ones.
func TestLibraryAgrees(t *testing.T) {
	calls, failed := 0, 0
	for _, file := range formulas.Files() {
		tree, _ := syntax.Parse(file)
		for _, s := range tree.Stmts {
			f, ok := s.(*syntax.Function)
			if !ok {
				continue
			}
			for _, number := range []string{"1", "0", "0.62", "17", "95", "-3", "2500"} {
				text := callOf(f, number)
				calls++
				if _, _, ok := checked(t, text); !ok {
					failed++
					continue
				}
				agree(t, text, text)
			}
		}
	}
	if calls < 300 || failed > calls/10 {
		t.Errorf("%d of %d calls do not check", failed, calls)
	}
}

// callOf writes a sheet that calls f with number in the units it asks for.
func callOf(f *syntax.Function, number string) string {
	text, names := "", []string{}
	for i, p := range f.Params {
		unit := ""
		if p.Unit != nil && p.Unit.Text != "1" {
			unit = p.Unit.Text
		}
		for _, other := range f.Params[:i] {
			if unit == other.Name.Text {
				unit = ""
			}
		}
		value := strings.TrimSpace(number + " " + unit)
		if unit == "text" {
			value = `"methanol"`
		}
		names = append(names, fmt.Sprintf("given_%d", i))
		text += fmt.Sprintf("given_%d : %s\n", i, value)
	}
	return text + fmt.Sprintf("result = %s(%s)\n", f.Name.Text, strings.Join(names, ", "))
}
