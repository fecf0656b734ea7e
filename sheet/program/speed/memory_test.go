package speed

import (
	"runtime"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// memory is the number of bytes per cell, by owner. The tree exists only while
// the sheet is loaded.
type memory struct{ text, tree, model, graph, program, machine float64 }

// kept is what a loaded sheet takes in all, its text among it.
func (m *memory) kept() float64 { return m.text + m.model + m.graph + m.program }

// weigh takes a text through the stages and weighs what each leaves.
func weigh(tb testing.TB, text string, cells int) *memory {
	lib := sheet.Library()
	before := live()
	per := func() float64 {
		now := live()
		took := float64(int64(now-before)) / float64(cells)
		before = now
		return took
	}
	out := &memory{}
	file := source.New("speed.leaf", text)
	out.text = float64(len(text))/float64(cells) + per()
	tree, list := syntax.Parse(file)
	out.tree = per()
	m, found := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: lib})
	if list = append(list, found...); list.Errors() {
		tb.Fatal(list)
	}
	runtime.KeepAlive(tree)
	out.model = per() + out.tree // the tree has been released
	g, _ := graph.Build(m)
	out.graph = per()
	p := program.Compile(m, g, program.Options{})
	out.program = per()
	mc := p.NewMachine()
	mc.Run()
	out.machine = per()
	runtime.KeepAlive(mc)
	return out
}

// TestMemory bounds the size of a large sheet. What it guards against most is
// that something keeps the tree, which is larger than all the rest.
func TestMemory(t *testing.T) {
	const cells = 100_000
	text := generate.Layered(cells, 1)
	m := weigh(t, text, cells)
	if m.kept() > 450 {
		t.Errorf("a sheet of %d cells takes %.0f bytes a cell, and 450 are enough: %+v", cells, m.kept(), *m)
	}
	before := live()
	s := load(t, text)
	if took := float64(live()-before) / cells; took > 400 {
		t.Errorf("beside its text, a loaded sheet takes %.0f bytes a cell, and 400 are enough", took)
	}
	runtime.KeepAlive(s)
}

// BenchmarkMemory weighs a sheet of 250,000 cells.
func BenchmarkMemory(b *testing.B) {
	const cells = 250_000
	text := generate.Layered(cells, 1)
	for b.Loop() {
		m := weigh(b, text, cells)
		b.ReportMetric(m.kept(), "bytes/cell")
		b.ReportMetric(m.model, "model-bytes/cell")
		b.ReportMetric(m.graph, "graph-bytes/cell")
		b.ReportMetric(m.program, "program-bytes/cell")
	}
}
