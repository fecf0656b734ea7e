package speed

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"gearleaf/sheet/generate"
	"gearleaf/sheet/program"
)

// large is what a large sheet costs.
type large struct {
	name   string
	cells  int
	text   string
	goals  [4]string // of load, memory, full, one input
	memory uint64    // bytes after loading and not before, and its text
	mc     *program.Machine
}

// loads is how often a large sheet is loaded, and loadsOfMillion one of a
// million cells.
const loads, loadsOfMillion = 7, 3

// layered are the large sheets: deep ones, in which a given reaches nearly
// everything, and shallow ones of eight layers, in which it reaches some
// hundreds of cells.
func layered() []*large {
	return []*large{
		{name: "layers/100000", cells: 100_000, text: generate.Layered(100_000, 1), goals: [4]string{"≤ 80 ms", "", "≤ 0.5 ms", ""}},
		{name: "layers/1000000", cells: 1_000_000, text: generate.Layered(1_000_000, 1), goals: [4]string{"≤ 1.6 s", "≤ 400 MB", "≤ 8 ms", ""}},
		{name: "shallow/100000", cells: 100_000, text: generate.Shallow(100_000, 8, 1), goals: [4]string{"", "", "", "≤ 15 µs"}},
		{name: "shallow/1000000", cells: 1_000_000, text: generate.Shallow(1_000_000, 8, 1), goals: [4]string{"", "", "", "≤ 30 µs"}},
	}
}

// measure loads the sheet and computes it.
func (l *large) measure(tb testing.TB) []string {
	n := loads
	if l.cells >= 1_000_000 {
		n = loadsOfMillion
	}
	var s *loaded
	var waits, works []float64 // what one waits for it, and what all threads compute
	for range n {
		s = nil
		before := live()
		clock, began := time.Now(), processTime()
		s = load(tb, l.text)
		waits, works = append(waits, float64(time.Since(clock))), append(works, float64(processTime()-began))
		l.memory = live() - before + uint64(len(l.text))
	}
	wait, work := median(waits), median(works)
	l.mc = s.program.NewMachine()
	full := median(samples(l.mc.Run))
	given, v := s.model.Cells[0].Index, s.model.Cells[0].Value
	one := median(samples(func() {
		v += 0.01
		l.mc.SetCell(int(given), v)
		l.mc.Update()
	}))
	reached := len(s.graph.Reach([]int{s.graph.TaskOf(s.model.Cells[given])})) - 1
	per := float64(l.cells)
	line := func(what, took, each, goal string) string {
		return fmt.Sprintf("| %s/%s | | | %s | %s | | %s |", l.name, what, took, each, goal)
	}
	return []string{
		line("load", length(wait), fmt.Sprintf("%.3g ns", wait/per), l.goals[0]),
		line("load, computing time", length(work), fmt.Sprintf("%.3g ns", work/per), ""),
		line("memory", fmt.Sprintf("%d MB", l.memory>>20), fmt.Sprintf("%d bytes", l.memory/uint64(l.cells)), l.goals[1]),
		line("full", length(full), fmt.Sprintf("%.3g ns", full/per), l.goals[2]),
		line(fmt.Sprintf("one input, %d cells reached", reached), length(one), fmt.Sprintf("%.3g ns", one/float64(reached)), l.goals[3]),
	}
}

// samples times f in several rounds.
func samples(f func()) []float64 {
	f()
	f()
	var out []float64
	for range rounds {
		out = append(out, once(threadTime, f))
	}
	return out
}

// live returns the bytes that are in use.
func live() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// commands times whole processes, from their start to their end: one on a
// template, one on a large sheet, whose memory is all new then.
func commands(t *testing.T) string {
	t.Helper()
	root := filepath.Join("..", "..", "..")
	binary := filepath.Join(t.TempDir(), "gearleaf")
	build := exec.Command("go", "build", "-o", binary, "./cmd/gearleaf")
	build.Dir = root
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	large := filepath.Join(t.TempDir(), "layers.leaf")
	if err := os.WriteFile(large, []byte(generate.Layered(100_000, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	run := func(args ...string) string {
		var took []float64
		for range 3 * rounds {
			c := exec.Command(binary, args...)
			c.Dir, c.Stderr = root, os.Stderr
			began := time.Now()
			if _, err := c.Output(); err != nil {
				t.Fatalf("%v: %v", args, err)
			}
			took = append(took, float64(time.Since(began)))
		}
		return length(median(took))
	}
	return fmt.Sprintf("| command/calc of a template, whole process | | | %s | | | ≤ 30 ms |\n", run("calc", filepath.Join("templates", "sprocket-change.leaf"))) +
		fmt.Sprintf("| command/check of layers/100000, whole process | | | %s | | |  |", run("check", large))
}

// BenchmarkLayers times the parts of a large sheet by themselves.
func BenchmarkLayers(b *testing.B) {
	for _, l := range layered() {
		b.Run(l.name+"/load", func(b *testing.B) {
			for b.Loop() {
				load(b, l.text)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(l.cells), "ns/cell")
		})
		b.Run(l.name+"/full", func(b *testing.B) { turns(b, load(b, l.text).program.NewMachine().Run, l.cells) })
	}
}
