package wasm_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
	"gearleaf/sheet/program/lower"
	"gearleaf/sheet/program/wasm"
	"gearleaf/sheet/referee"
)

// given is a given with a new value: of a cell or, where column is not
// negative, of an entry.
type given struct {
	cell, column, row int
	v                 float64
}

// someGivens returns new values for some givens: other numbers, extremes that
// overflow and divide by zero, blanks and faults.
func someGivens(m *check.Model, random *rand.Rand) []given {
	value := func(old float64, form check.Form) float64 {
		switch n := random.IntN(12); {
		case n == 0:
			return kernel.Blank
		case n == 1:
			return kernel.Fault
		case form == check.Truth:
			return float64(n % 2)
		case form == check.Text:
			return old
		case n == 2:
			return 0
		case n == 3:
			return -old
		case n == 4:
			return old * 1e200
		case n == 5:
			return math.Nextafter(old, math.Inf(1))
		}
		return old * (0.5 + random.Float64())
	}
	var out []given
	for i, c := range m.Cells {
		if c.Given && random.IntN(3) == 0 {
			out = append(out, given{i, -1, 0, value(c.Value, c.Type.Form)})
		}
	}
	for i, c := range m.Columns {
		if c.Given && random.IntN(4) == 0 && len(c.Values) > 0 {
			row := random.IntN(len(c.Values))
			out = append(out, given{-1, i, row, value(c.Values[row], c.Type.Form)})
		}
	}
	return out
}

func (g given) set(in *wasm.Instance, at int) {
	if g.column < 0 {
		in.SetCell(g.cell, at, g.v)
	} else {
		in.SetEntry(g.column, g.row, at, g.v)
	}
}

// hold runs an instance whose lanes have different givens and compares each with
// a referee with the same.
func hold(t testing.TB, s *lower.Sheet, in *wasm.Instance, changes [][]given, what string) {
	t.Helper()
	for at := range in.Lanes {
		for _, g := range changes[at] {
			g.set(in, at)
		}
	}
	if _, err := in.Run(); err != nil {
		t.Fatal(err)
	}
	for at := range in.Lanes {
		r, err := referee.New(s.Code.Model, s.Graph)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range changes[at] {
			if g.column < 0 {
				r.SetCell(g.cell, g.v)
			} else {
				r.SetEntry(g.column, g.row, g.v)
			}
		}
		found, err := referee.Confirm(t.Context(), r, lane{s.Code.Model, in, at}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range found {
			t.Fatalf("%s: lane %d of %d: the evaluators differ on %s", what, at, in.Lanes, d)
		}
	}
}

// TestChangedGivens changes givens again and again, in one lane and in two that
// differ, and compares every run with the referee.
func TestChangedGivens(t *testing.T) {
	seeds, turns := seedsOf(10), 4
	texts := readTemplates(t)
	for seed := range seeds {
		o := generate.Everything(1000+seed, 10+int(seed%40))
		o.Faults = seed%2 == 0
		texts[fmt.Sprint("seed ", seed)] = generate.Worksheet(o)
	}
	for name, text := range texts {
		s, ok := sheetOf(t, text)
		if !ok {
			continue // a template that uses files
		}
		t.Run(name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(uint64(len(text)), 1))
			for lanes := 1; lanes <= 2; lanes++ {
				in := instance(t, s, lanes)
				all := make([][]given, lanes)
				for turn := range turns {
					for at := range all {
						all[at] = append(all[at], someGivens(s.Code.Model, random)...)
					}
					hold(t, s, in, all, fmt.Sprint("turn ", turn))
				}
			}
		})
	}
}

// FuzzModule compares modules of whatever checks with the referee: a text,
// with words of its formulas exchanged.
func FuzzModule(f *testing.F) {
	for seed := range uint64(20) {
		f.Add(generate.Worksheet(generate.Everything(seed, 10)), byte(3), seed)
	}
	f.Fuzz(func(t *testing.T, text string, edits byte, seed uint64) {
		s, ok := sheetOf(t, generate.Edited(text, int(edits%16), seed))
		if !ok || len(s.Code.Instrs) > 5000 || rowsOf(s.Code.Model) > 3000 {
			return
		}
		random := rand.New(rand.NewPCG(seed, 2))
		for lanes := 1; lanes <= 2; lanes++ {
			in := instance(t, s, lanes)
			all := make([][]given, lanes)
			hold(t, s, in, all, "at first")
			for at := range all {
				all[at] = someGivens(s.Code.Model, random)
			}
			hold(t, s, in, all, "changed")
		}
	})
}

func rowsOf(m *check.Model) int {
	n := 0
	for _, t := range m.Tables {
		n += t.Rows * len(t.Columns)
	}
	return n
}

// TestParts emits what some givens reach, takes everything else from the plain
// machine, and compares both lanes with the referee.
func TestParts(t *testing.T) {
	for seed := range seedsOf(6) {
		o := generate.Everything(2000+seed, 20+int(seed%40))
		o.Faults = seed%2 == 0
		s, ok := sheetOf(t, generate.Worksheet(o))
		if !ok {
			t.Fatal("it does not check")
		}
		m := s.Code.Model
		mc := program.Compile(m, s.Graph, program.Options{}).NewMachine()
		mc.Run()
		random := rand.New(rand.NewPCG(seed, 3))
		all := [][]given{nil, nil}
		for at := range all {
			all[at] = someGivens(m, random)
		}
		in := partInstance(t, s, all)
		for at := range all {
			fill(in, m, mc, at)
		}
		hold(t, s, in, all, fmt.Sprint("seed ", seed))
	}
}

// partInstance compiles what givens reach, for two lanes.
func partInstance(t *testing.T, s *lower.Sheet, all [][]given) *wasm.Instance {
	t.Helper()
	var tasks []int
	for _, g := range append(slices.Clone(all[0]), all[1]...) {
		if g.column < 0 {
			tasks = append(tasks, s.Graph.TaskOf(s.Code.Model.Cells[g.cell]))
		} else {
			tasks = append(tasks, s.Graph.TaskOf(s.Code.Model.Columns[g.column]))
		}
	}
	reached := map[int32]bool{}
	for _, i := range s.Graph.Reach(tasks) {
		reached[int32(i)] = true
	}
	for i := range s.Graph.Len() { // outcomes that are not computed cannot be filled in
		if kind := s.Graph.Task(i).Kind; kind == graph.LimitTask || kind == graph.AdviceTask {
			reached[int32(i)] = true
		}
	}
	return started(t, wasm.Emit(s, func(i int32) bool { return reached[i] }, 2))
}

// fill gives a lane all values that a machine has.
func fill(in *wasm.Instance, m *check.Model, mc *program.Machine, at int) {
	for i := range m.Cells {
		in.SetCell(i, at, mc.Cell(i))
	}
	for i, c := range m.Columns {
		for row := range c.Table.Rows {
			in.SetEntry(i, row, at, mc.Stored(i, row))
		}
	}
	for i := range m.Tables {
		rows, end := mc.Ending(i)
		in.SetLive(i, at, rows, int(end))
	}
}

// holdValues holds a sheet to the referee, alone and in two lanes, at pairs of
// values of its given v.
func holdValues(t *testing.T, text string, values []float64) {
	t.Helper()
	s, ok := sheetOf(t, text)
	if !ok {
		t.Fatal("it does not check")
	}
	c, _ := s.Code.Model.Resolve("v")
	at := func(v float64) []given { return []given{{int(c.Index), -1, 0, v}} }
	one, two := instance(t, s, 1), instance(t, s, 2)
	for i, v := range values {
		hold(t, s, one, [][]given{at(v)}, fmt.Sprint(v))
		other := values[(i*7+3)%len(values)]
		hold(t, s, two, [][]given{at(v), at(other)}, fmt.Sprint(v, other))
	}
}

// TestConstantsCompared: a comparison with a constant, on either side of it, as
// a logical value and as a choice, near the threshold.
func TestConstantsCompared(t *testing.T) {
	text := "v : 5\n"
	for i, o := range []string{"<", "<=", ">", ">=", "=", "<>"} {
		for k, c := range []string{"5", "-3", "0"} {
			text += fmt.Sprintf("a%d%d = v %s %s\nb%d%d = %s %s v\nc%d%d = if v %s %s then v * 2 else v - 7\nd%d%d = if %s %s v then 1 else 0\n", i, k, o, c, i, k, c, o, i, k, o, c, i, k, c, o)
		}
	}
	var values []float64
	for _, c := range []float64{5, -3, 0} {
		for _, v := range []float64{c, kernel.Least(c), -kernel.Least(-c)} {
			values = append(values, math.Nextafter(v, -9), v, math.Nextafter(v, 9))
		}
	}
	holdValues(t, text, append(values, 4, 1e308, -1e308, kernel.Blank, kernel.Fault))
}

// TestAggregatesOfLoops: aggregates of columns that a loop computes and of others,
// in lanes that have different rows, faults and blanks among them, or no end.
func TestAggregatesOfLoops(t *testing.T) {
	text := "v : 5\ntable run rows 90 until way > v\n  way = prev(way) + 0.25 start 0\n  back = 7 / (prev(back) - v) start v\n  side = prev(way) * v start v\n"
	for _, column := range []string{"way", "back", "side"} {
		for _, how := range []string{"first", "last", "sum", "mean", "min", "max", "count"} {
			text += fmt.Sprintf("%s_%s = %s(run.%s) + 1\n", how, column, how, column)
		}
	}
	holdValues(t, text, []float64{5, 5.1, 12, 19, -4, 0, 3, 1e200, -1e200, 21, 2.5, 22, 23, kernel.Blank, kernel.Fault, 8})
}
