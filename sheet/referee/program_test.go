package referee_test

import (
	"fmt"
	"math"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
	"gearleaf/sheet/referee"
)

// values shows one lane of a machine to the referee.
type values struct {
	mc *program.Machine
}

func (v values) Cell(i int) float64            { return v.mc.Cell(i) }
func (v values) Entry(column, row int) float64 { return v.mc.Entry(column, row) }
func (v values) Live(table int) (int, bool)    { return v.mc.Live(table) }

func (v values) Limit(i int) (float64, int) {
	l := v.mc.Limit(i)
	return l.Value, l.Row
}

func (v values) Advice(i int) (float64, int) {
	l := v.mc.Advice(i)
	return l.Value, l.Row
}

// differences runs both evaluators.
func differences(t testing.TB, m *check.Model, g *graph.Graph, sample func(int, int) bool) []referee.Difference {
	t.Helper()
	mc := program.Compile(m, g, program.Options{}).NewMachine()
	mc.Run()
	r, err := referee.New(m, g)
	if err != nil {
		t.Fatal(err)
	}
	found, err := referee.Confirm(t.Context(), r, values{mc}, sample)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// TestEvaluatorsAgree compares them bit for bit on random sheets, the whole
// at once and task by task.
func TestEvaluatorsAgree(t *testing.T) {
	seeds := uint64(400)
	if testing.Short() {
		seeds = 50
	}
	for seed := range seeds {
		o := generate.Everything(seed, 5+int(seed%60))
		o.Faults = seed%3 != 0
		agree(t, generate.Worksheet(o), fmt.Sprintf("seed %d", seed))
	}
	agree(t, generate.Gearing150(), "gearing")
	agree(t, generate.StepTable(300), "step table")
	agree(t, generate.Layered(3000, 1), "layers")
}

func agree(t *testing.T, text, name string) {
	t.Helper()
	m, g, ok := checked(t, text)
	if !ok {
		t.Errorf("%s does not check", name)
		return
	}
	for _, sample := range []func(int, int) bool{nil, everyTask} {
		for _, d := range differences(t, m, g, sample) {
			t.Errorf("%s: the evaluators differ on %s", name, d)
		}
	}
}

// FuzzSheet compares the evaluators on whatever checks: a text, with words of
// its formulas exchanged.
func FuzzSheet(f *testing.F) {
	for i, s := range sheets {
		f.Add(s.text, byte(i), uint64(i))
	}
	for seed := range uint64(20) {
		f.Add(generate.Worksheet(generate.Everything(seed, 10)), byte(3), seed)
	}
	f.Fuzz(func(t *testing.T, text string, edits byte, seed uint64) {
		m, g, ok := checked(t, generate.Edited(text, int(edits%16), seed))
		if !ok || tooLarge(m) {
			return
		}
		for _, sample := range []func(int, int) bool{nil, everyTask} {
			for _, d := range differences(t, m, g, sample) {
				t.Errorf("the evaluators differ on %s", d)
			}
		}
	})
}

func tooLarge(m *check.Model) bool {
	fields := 0
	for _, c := range m.Columns {
		fields += c.Table.Rows
	}
	return fields > 10_000
}

// wrong is a machine that has one value wrong.
type wrong struct {
	values
	cell, column, row int
}

func (w wrong) Cell(i int) float64 {
	v := w.values.Cell(i)
	if i == w.cell {
		return math.Nextafter(v, 1e9)
	}
	return v
}

func (w wrong) Entry(column, row int) float64 {
	v := w.values.Entry(column, row)
	if column == w.column && row == w.row {
		return math.Nextafter(v, 1e9)
	}
	return v
}

// TestOneBitIsFound makes every computed value wrong in its last bit, one
// after the other.
func TestOneBitIsFound(t *testing.T) {
	text := "a : 2\nb = a * 3\ntable t rows 4 until n >= 3\n  n = prev(n) + 1 start 1\n  m = n / 7\nc = sum(t.m) + b\n"
	m, g, _ := run(t, text)
	mc := program.Compile(m, g, program.Options{}).NewMachine()
	mc.Run()
	found := func(w wrong, sample func(int, int) bool) bool {
		r, err := referee.New(m, g)
		if err != nil {
			t.Fatal(err)
		}
		d, err := referee.Confirm(t.Context(), r, w, sample)
		if err != nil {
			t.Fatal(err)
		}
		return len(d) > 0
	}
	for _, sample := range []func(int, int) bool{nil, everyTask} {
		for _, c := range m.Cells {
			if !found(wrong{values{mc}, int(c.Index), -1, -1}, sample) {
				t.Errorf("%s wrong, and nobody says so", c.Name)
			}
		}
		for _, c := range m.Columns {
			for row := range 3 {
				if !c.Table.Library && !found(wrong{values{mc}, -1, int(c.Index), row}, sample) {
					t.Errorf("%s[%d] wrong, and nobody says so", c.Name, row+1)
				}
			}
		}
		if found(wrong{values{mc}, -1, -1, -1}, sample) {
			t.Error("nothing wrong, and a difference found")
		}
	}
}

// TestNoFaultsUnlessAskedFor: without the
// switch everything in its sheets can be computed.
func TestNoFaultsUnlessAskedFor(t *testing.T) {
	for seed := range uint64(200) {
		o := generate.Everything(seed, 25)
		o.Faults = false
		m, _, r := run(t, generate.Worksheet(o))
		for _, c := range m.Cells {
			if v := r.Cell(int(c.Index)); v != v {
				t.Errorf("seed %d: %s is %v", seed, c.Name, word(v, c.Type.Form))
			}
		}
	}
}

// benchmarkConfirm is what the confirmation of one sheet costs after the
// program has computed it.
func benchmarkConfirm(b *testing.B, text string, sample func(task, _ int) bool) {
	m, g, ok := checked(b, text)
	if !ok {
		b.Fatal("does not check")
	}
	mc := program.Compile(m, g, program.Options{}).NewMachine()
	mc.Run()
	for b.Loop() {
		r, err := referee.New(m, g)
		if err != nil {
			b.Fatal(err)
		}
		if found, err := referee.Confirm(b.Context(), r, values{mc}, sample); err != nil || len(found) > 0 {
			b.Fatal(found, err)
		}
	}
}

func BenchmarkConfirmGearing(b *testing.B) { benchmarkConfirm(b, generate.Gearing150(), nil) }

func BenchmarkConfirmStepTable(b *testing.B) { benchmarkConfirm(b, generate.StepTable(2000), nil) }

func BenchmarkConfirmSampleOfMany(b *testing.B) {
	benchmarkConfirm(b, generate.Layered(200_000, 1), func(task, _ int) bool { return task%20 == 0 })
}
