package speed

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"gearleaf/sheet/generate"
	"gearleaf/sheet/program"
	"gearleaf/sheet/source"
	"gearleaf/sheet/whatif"
)

// BenchmarkSpeed is the table of SPEED.md: each line runs the same work by
// hand and by the program in turns, and reports the median of the ratios and
// both times. Go's ns/op has no meaning here.
//
//	go test ./sheet/program/speed -run '^$' -bench Speed -benchtime 9x
func BenchmarkSpeed(b *testing.B) {
	for _, s := range shapes(b) {
		l := s.ready(b)
		for _, w := range append(ways(b, &s, l), swept(b, &s, l)...) {
			b.Run(s.name+"/"+w.name, func(b *testing.B) { ratio(b, w.hand, w.program, w.values) })
		}
	}
	e := newTokens(b, load(b, generate.Gearing150()))
	mc := load(b, generate.Gearing150()).program.NewMachine()
	b.Run("gears-and-air/against-govaluate", func(b *testing.B) {
		ratio(b, func() {
			if err := e.compute(); err != nil {
				b.Fatal(err)
			}
		}, mc.Run, 150)
	})
}

// work is one line: the same by hand and by the program.
type work struct {
	name          string
	values        int
	hand, program func()
}

// ways are one evaluation of the whole sheet, by the machine and by a module,
// and one after a change of one given.
func ways(tb testing.TB, s *shape, l *loaded) []work {
	mc, one := l.program.NewMachine(), l.program.NewMachine()
	mc.Run()
	one.Run()
	c, _ := l.model.Resolve(s.swept[0])
	part := l.reached(c)
	at, turn := s.cells[s.swept[0]], 0.0
	next := func() float64 {
		turn = 0.01 - turn
		return c.Value * (1 + turn)
	}
	out := []work{{"full", s.values, s.compute, mc.Run}}
	module := newBench(tb, s, l, program.ByModule).one()
	return append(out,
		work{"one-input", s.values, func() { *at = next(); s.compute() }, func() { one.SetCell(int(c.Index), next()); one.RunPart(part) }},
		work{"full-by-module", s.values, func() { *at = next(); s.compute() }, func() { module(next()) }},
	)
}

// swept is a sweep of two givens, by the machine and by a module.
func swept(tb testing.TB, s *shape, l *loaded) []work {
	var out []work
	scenarios := 256
	if s.steps {
		scenarios = 4
	}
	for _, way := range []program.Way{program.ByMachine, program.ByModule} {
		bench := newBench(tb, s, l, way)
		x, y, result := s.cells[s.swept[0]], s.cells[s.swept[1]], s.cells[s.result]
		out = append(out, work{
			"swept-by-" + []string{"", "machine", "module"}[way], s.values * scenarios,
			func() {
				sum := 0.0
				for i := range scenarios {
					*x, *y = bench.points[0][i%differing], bench.points[1][i%differing]
					s.compute()
					sum += *result
				}
				sink = sum
			},
			func() { sink = bench.run(scenarios) },
		})
	}
	return out
}

// differing is the number of different points.
const differing = 256

var sink float64

// bench sweeps two givens of a shape.
type bench struct {
	eval   *whatif.Evaluator
	bench  *whatif.Bench
	points [][]float64
	result int
}

func newBench(tb testing.TB, s *shape, l *loaded, way program.Way) *bench {
	p := program.Compile(l.model, l.graph, program.Options{Way: way})
	b := &bench{points: make([][]float64, 2)}
	var by []whatif.Place
	for k, name := range s.swept {
		c, _ := l.model.Resolve(name)
		by = append(by, whatif.Place{Cell: c})
		for i := range differing {
			b.points[k] = append(b.points[k], c.Value*(1+float64((i*(7+4*k))%differing)/(16*differing)))
		}
	}
	c, _ := l.model.Resolve(s.result)
	b.result = int(c.Index)
	b.eval = whatif.NewEvaluator(p, nil, by, 1)
	tb.Cleanup(b.eval.Close)
	b.bench = b.eval.Bench()
	return b
}

func (b *bench) run(scenarios int) float64 {
	sum := 0.0
	for from := 0; from < scenarios; from += differing {
		n := min(differing, scenarios-from)
		b.bench.Run(b.points, n, func(_ int, at whatif.View) { sum += at.Cell(b.result) })
	}
	return sum
}

// one returns what computes one point, given the value of its first given.
func (b *bench) one() func(v float64) {
	single := b.eval.Single()
	point := []float64{0, b.points[1][0]}
	return func(v float64) {
		point[0] = v
		sink = single.One(point).Cell(b.result)
	}
}

// ratio runs both in turns and reports medians.
func ratio(b *testing.B, hand, program func(), values int) {
	var h, p, q []float64
	for b.Loop() {
		x, y := once(hand), once(program)
		h, p, q = append(h, x), append(p, y), append(q, y/x)
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(median(h), "hand-ns")
	b.ReportMetric(median(p), "program-ns")
	b.ReportMetric(median(p)/float64(values), "ns/value")
	b.ReportMetric(median(q), "ratio")
}

// enough is the least duration of one measurement, by the clock: so short that
// often no other process interrupts it. Of several the least counts.
const enough, measurements = 200 * time.Microsecond, 15

// once returns the nanoseconds that one turn of f takes.
func once(f func()) float64 {
	f()
	took := func(n int) time.Duration {
		least := time.Duration(math.MaxInt64)
		for range measurements {
			began := time.Now()
			for range n {
				f()
			}
			least = min(least, time.Since(began))
		}
		return least
	}
	for n := 1; ; n *= 2 {
		if t := took(n); t >= enough {
			return float64(t) / float64(n)
		}
	}
}

func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

// live returns the bytes that are in use.
func live() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// TestSpeedRuns runs every line of the table once: it tests no figure.
func TestSpeedRuns(t *testing.T) {
	for _, s := range shapes(t) {
		l := s.ready(t)
		for _, w := range append(ways(t, &s, l), swept(t, &s, l)...) {
			w.hand()
			want := sink
			w.program()
			if strings.HasPrefix(w.name, "swept") && !close(sink, want) {
				t.Errorf("%s/%s: %v by the program, %v by hand", s.name, w.name, sink, want)
			}
		}
	}
}

// BenchmarkLarge loads and computes sheets all of whose lines differ, against a
// loader as a programmer would write it without units, tables or messages.
func BenchmarkLarge(b *testing.B) {
	sizes := []int{100_000, 150_000}
	if source.MaxLines > 1_000_000 { // by the build tag large
		sizes = append(sizes, 1_000_000)
	}
	for _, n := range sizes {
		text := generate.Various(n, 1)
		var kept any
		b.Run(fmt.Sprint(n, "/load"), func(b *testing.B) {
			var h, p, q []float64
			memory := 0.0
			for b.Loop() {
				took := func(f func()) float64 {
					kept = nil
					before, began := live(), processTime()
					f()
					spent := float64(processTime() - began)
					memory = float64(live()-before+uint64(len(text))) / float64(n)
					return spent
				}
				x := took(func() { kept = loadPlain(text) })
				y := took(func() { kept = load(b, text) })
				h, p, q = append(h, x), append(p, y), append(q, y/x)
			}
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(median(h)/1e6, "plain-ms")
			b.ReportMetric(median(p)/1e6, "program-ms")
			b.ReportMetric(median(q), "ratio")
			b.ReportMetric(memory, "bytes/cell")
		})
		l, ok := kept.(*loaded)
		if !ok {
			l = load(b, text)
		}
		mc := l.program.NewMachine()
		v, c := 0.0, l.model.Cells[7]
		part := l.reached(c)
		change := func() { v = 0.01 - v; mc.SetCell(int(c.Index), c.Value+v); mc.RunPart(part) }
		for _, w := range []work{{name: "full", values: n, program: mc.Run}, {name: "one-input", values: len(part.Tasks) - 1, program: change}} {
			b.Run(fmt.Sprint(n, "/", w.name), func(b *testing.B) {
				w.program()
				w.program()
				var took []float64
				for b.Loop() {
					took = append(took, once(w.program))
				}
				b.ReportMetric(0, "ns/op")
				b.ReportMetric(median(took)/1e3, "program-us")
				b.ReportMetric(float64(w.values), "values")
			})
		}
	}
}

// BenchmarkCommand times the whole process of a calc of a template.
func BenchmarkCommand(b *testing.B) {
	root := filepath.Join("..", "..", "..")
	binary := filepath.Join(b.TempDir(), "gearleaf")
	build := exec.Command("go", "build", "-o", binary, "./cmd/gearleaf")
	build.Dir = root
	if out, err := build.CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	var took []float64
	for b.Loop() {
		c := exec.Command(binary, "calc", filepath.Join("templates", "sprocket-change.leaf"))
		c.Dir, c.Stderr = root, os.Stderr
		began := time.Now()
		if _, err := c.Output(); err != nil {
			b.Fatal(err)
		}
		took = append(took, float64(time.Since(began)))
	}
	b.ReportMetric(slices.Min(took)/1e6, "least-ms")
	b.ReportMetric(median(took)/1e6, "median-ms")
}
