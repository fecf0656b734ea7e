package whatif_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"runtime"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
	"gearleaf/sheet/referee"
	"gearleaf/sheet/whatif"
)

// TestWaysAgree computes the same points by the machine, by a module two at a
// time and by a module one at a time, and compares everything that they show,
// to the bit, with the causes of faults; the referee confirms some of it.
func TestWaysAgree(t *testing.T) {
	seeds, modules, sheets := uint64(24), 0, 0
	ways := func(what string, s *sheet.Sheet, seed uint64) {
		sheets++
		if agree(t, what, s, seed) {
			modules++
		}
	}
	if testing.Short() {
		seeds = 6
	}
	for seed := range seeds {
		o := generate.Everything(seed, 8+int(seed%30))
		o.Faults = seed%3 != 0
		ways(fmt.Sprint("seed ", seed), sheetOf(t, generate.Worksheet(o)), seed)
	}
	ways("gearing", sheetOf(t, generate.Gearing150()), 1)
	ways("steps", sheetOf(t, generate.StepTable(200)), 2)
	for i, name := range templates(t) {
		s, list := sheet.Load(name)
		if s == nil {
			t.Fatal(list)
		}
		if !testing.Short() || i%4 == 0 {
			ways(filepath.Base(name), s, uint64(i))
		}
	}
	if compiles := runtime.GOARCH == "amd64" || runtime.GOARCH == "arm64"; compiles && modules < sheets-2 {
		t.Errorf("modules computed %d of %d sheets", modules, sheets)
	}
}

// TestWithoutCompiler: where no module can be had, machines compute the same.
func TestWithoutCompiler(t *testing.T) {
	whatif.WithoutCompiler(t)
	for seed := range uint64(4) {
		if agree(t, fmt.Sprint("seed ", seed), sheetOf(t, generate.Worksheet(generate.Everything(seed, 20))), seed) {
			t.Error("a module ran")
		}
	}
}

func FuzzWays(f *testing.F) {
	f.Add(uint64(1), 12, true)
	f.Fuzz(func(t *testing.T, seed uint64, cells int, faults bool) {
		o := generate.Everything(seed, 1+max(cells, -cells)%60)
		o.Faults = faults
		agree(t, fmt.Sprint("seed ", seed), sheetOf(t, generate.Worksheet(o)), seed)
	})
}

func sheetOf(t *testing.T, text string) *sheet.Sheet {
	t.Helper()
	s, list := sheet.FromText("ways.leaf", text)
	if s == nil {
		t.Fatal(list)
	}
	return s
}

func templates(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("../../templates/*.leaf")
	if err != nil || len(files) < 5 {
		t.Fatal(err, files)
	}
	return files
}

// agree compares the ways on one sheet and reports whether a module computed
// all points.
func agree(t *testing.T, what string, s *sheet.Sheet, seed uint64) (modular bool) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 3))
	by := somePlaces(s.Model, r)
	if len(by) == 0 {
		return false
	}
	const n = 7
	points := make([][]float64, len(by))
	for k, p := range by {
		for range n {
			points[k] = append(points[k], oddValue(current(p), p.Quantity(), r))
		}
	}
	machine := whatif.NewEvaluator(compiled(s, program.ByMachine), s.Settings, by, n)
	module := whatif.NewEvaluator(compiled(s, program.ByModule), s.Settings, by, n)
	defer machine.Close()
	defer module.Close()
	want := shown(machine.Bench(), s.Model, points, n)
	if got := shown(module.Bench(), s.Model, points, n); !same(t, what+", two at a time", got, want) {
		return false
	}
	single := module.Single()
	if got := shown(single, s.Model, points, n); !same(t, what+", one at a time", got, want) {
		return false
	}
	confirm(t, what, s, by, points)
	return module.Bench().Modular() && single.Modular()
}

// compiled is the program of a sheet that goes one way.
func compiled(s *sheet.Sheet, way program.Way) *program.Program {
	return program.Compile(s.Model, s.Graph, program.Options{Way: way})
}

// somePlaces are some givens of a sheet.
func somePlaces(m *check.Model, r *rand.Rand) []whatif.Place {
	var out []whatif.Place
	for _, c := range m.Cells {
		if c.Given && r.IntN(3) > 0 {
			out = append(out, whatif.Place{Cell: c})
		}
	}
	for _, c := range m.Columns {
		if c.Given && len(c.Values) > 0 && r.IntN(3) == 0 {
			out = append(out, whatif.Place{Column: c, Row: r.IntN(len(c.Values))})
		}
	}
	return out
}

// current is what the sheet says of a given.
func current(p whatif.Place) float64 {
	if p.Cell != nil {
		return p.Cell.Value
	}
	return p.Column.Values[p.Row]
}

// oddValue is a value near v, mostly; at times one that divides by zero,
// overflows, or is none.
func oddValue(v float64, q *check.Quantity, r *rand.Rand) float64 {
	if q.Type.Form != check.Number {
		return v
	}
	switch r.IntN(14) {
	case 0:
		return 0
	case 1:
		return -v
	case 2:
		return v * 1e200
	case 3:
		return kernel.Blank
	case 4:
		return kernel.Fault
	}
	return v * (0.9 + 0.2*r.Float64())
}

// shown is everything that a bench shows at n points, and why cells have no
// value.
func shown(b *whatif.Bench, m *check.Model, points [][]float64, n int) [][]string {
	out := make([][]string, n)
	b.Run(points, n, func(i int, at whatif.View) {
		for c, cell := range m.Cells {
			v := at.Cell(c)
			out[i] = append(out[i], fmt.Sprintf("%s %v %x", cell.Name, v, math.Float64bits(v)))
			if kernel.IsFault(v) {
				out[i] = append(out[i], b.Cause(whatif.Place{Cell: cell}, i))
			}
		}
		for c, column := range m.Columns {
			for row := range column.Table.Rows {
				v := at.Entry(c, row)
				out[i] = append(out[i], fmt.Sprintf("%s[%d] %v %x", column.Name, row, v, math.Float64bits(v)))
			}
		}
		for k := range m.Tables {
			rows, ended := at.Live(k)
			out[i] = append(out[i], fmt.Sprint("rows ", rows, ended))
		}
		for k := range m.Limits {
			l := at.Limit(k)
			out[i] = append(out[i], fmt.Sprintf("limit %d %v %x row %d", k, l.Value, math.Float64bits(l.Value), l.Row))
		}
	})
	return out
}

func same(t *testing.T, what string, got, want [][]string) bool {
	t.Helper()
	for i := range want {
		for k := range want[i] {
			if k >= len(got[i]) || got[i][k] != want[i][k] {
				t.Errorf("%s, point %d: %s, by the machine %s", what, i, got[i][min(k, len(got[i])-1)], want[i][k])
				return false
			}
		}
	}
	return true
}

// confirm compares the machine with the referee at the last point.
func confirm(t *testing.T, what string, s *sheet.Sheet, by []whatif.Place, points [][]float64) {
	t.Helper()
	ref, err := referee.New(s.Model, s.Graph)
	if err != nil {
		t.Fatal(err)
	}
	mc := s.Program.NewMachine()
	whatif.Set(mc, s.Settings)
	for _, p := range s.Settings {
		if p.Cell != nil {
			ref.SetCell(int(p.Cell.Index), p.Value)
		} else {
			ref.SetEntry(int(p.Column.Index), p.Row, p.Value)
		}
	}
	for k, p := range by {
		v := points[k][len(points[k])-1]
		whatif.Set(mc, []whatif.Setting{{Place: p, Value: v}})
		if p.Cell != nil {
			ref.SetCell(int(p.Cell.Index), v)
		} else {
			ref.SetEntry(int(p.Column.Index), p.Row, v)
		}
	}
	mc.Run()
	found, err := referee.Confirm(t.Context(), ref, whatif.Values{Machine: mc}, func(task, row int) bool { return row < 40 })
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range found {
		t.Errorf("%s: the referee differs on %s", what, d)
	}
}

// TestManySetsOfGivens: a bench keeps a part for some sets of changed givens, and
// one for all others.
func TestManySetsOfGivens(t *testing.T) {
	text, sum := "", "0"
	for i := range 8 {
		text += fmt.Sprintf("g%d : 1 choice 1, 2\n", i)
		sum += fmt.Sprintf(" + g%d * %d", i, 1<<i)
	}
	s := sheetOf(t, text+"v = "+sum+"\n")
	var by []whatif.Place
	points := make([][]float64, 8)
	for k, c := range s.Model.Cells[:8] {
		by = append(by, whatif.Place{Cell: c})
		for i := range 200 {
			points[k] = append(points[k], float64(1+(i*37>>k)&1))
		}
	}
	b := whatif.NewBench(compiled(s, program.ByMachine), s.Settings, by)
	b.Run(points, 200, func(i int, at whatif.View) {
		want := 0.0
		for k := range points {
			want += points[k][i] * float64(int(1)<<k)
		}
		if at.Cell(8) != want {
			t.Fatalf("point %d is %v, want %v", i, at.Cell(8), want)
		}
	})
	if n := b.Parts(); n > 17 {
		t.Errorf("%d parts are kept", n)
	}
}
