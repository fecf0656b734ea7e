package whatif

import (
	"runtime"
	"sync"

	"gearleaf/sheet/program"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/wasm"
)

// Evaluator makes benches for one question: a sheet, settings, and the givens
// that change from point to point. Its benches share one module, which is
// compiled if that saves time.
type Evaluator struct {
	p       *program.Program
	base    []Setting
	by      []Place
	part    *program.Part // the dependents of by
	compile bool

	modules [2]shared // of one lane, and of two
	benches []*Bench  // of Run
}

// Tests of the case without a compiler replace compile.
var compile = wasm.Compile

// shared is a module that the first bench which needs it compiles.
type shared struct {
	once   sync.Once
	module *wasm.Compiled // nil if there is no compiler
}

// NewEvaluator returns an Evaluator for about so many points over the givens
// by, with the other settings of base. The caller must close it.
func NewEvaluator(p *program.Program, base []Setting, by []Place, points int) *Evaluator {
	e := &Evaluator{p: p, base: base, by: by, part: partOf(p, by)}
	static, executed := size(p, e.part)
	switch p.Way() {
	case program.ByModule:
		e.compile = true
	case program.Auto:
		e.compile = static <= mostStatic && float64(points)*float64(executed) >= compileCost+instrCost*float64(static)
	}
	return e
}

// Twice the cost of compiling a module, in instructions that the machine
// executes in that time: for any module, and for each instruction in it. A
// module computes in a third of the machine's time. mostStatic bounds the
// compile time.
const (
	compileCost = 12e6
	instrCost   = 20e3
	mostStatic  = 20_000
)

// size returns the number of instructions of a part, and about how many of them
// one point executes.
func size(p *program.Program, part *program.Part) (static, executed int) {
	for _, s := range part.Steps {
		if s.Task < 0 {
			static, executed = static+len(s.Code), executed+len(s.Code)
			continue
		}
		t := &p.Tasks[s.Task]
		once, body := length(t.Once)+length(t.First), length(t.Body)
		static += once + body
		executed += once + body*p.Model().Tables[t.Table].Rows
	}
	return static, executed
}

func length(r code.Range) int { return int(r.To - r.From) }

// Close frees what the benches share. No bench may be used afterwards.
func (e *Evaluator) Close() {
	for i := range e.modules {
		if m := e.modules[i].module; m != nil {
			m.Close()
		}
	}
}

// instance returns an instance of the module of so many lanes; nil if there is
// no compiler or no memory for it: then the machine computes instead.
func (e *Evaluator) instance(lanes int) *wasm.Instance {
	m := &e.modules[lanes-1]
	m.once.Do(func() {
		reached := make([]bool, len(e.p.Tasks))
		for _, i := range e.part.Tasks {
			reached[i] = true
		}
		m.module, _ = compile(wasm.Emit(e.p.Sheet(), func(i int32) bool { return reached[i] }, lanes))
	})
	if m.module == nil {
		return nil
	}
	in, err := m.module.New()
	if err != nil {
		return nil
	}
	return in
}

// Bench returns a bench for points that come many at a time, for one goroutine.
func (e *Evaluator) Bench() *Bench { return e.bench(2) }

// Single returns a bench for points that come one by one.
func (e *Evaluator) Single() *Bench { return e.bench(1) }

func (e *Evaluator) bench(lanes int) *Bench {
	b := NewBench(e.p, e.base, e.by)
	b.shared = e
	if e.compile {
		b.module = newModule(b, lanes)
	}
	return b
}

// Run evaluates n points on all processors and shows each, several at the same
// time.
func (e *Evaluator) Run(points [][]float64, n int, show func(i int, at View)) {
	workers := min(runtime.GOMAXPROCS(0), (n+1)/2)
	for len(e.benches) < workers {
		e.benches = append(e.benches, e.Bench())
	}
	var all sync.WaitGroup
	for w, b := range e.benches[:workers] {
		from, to := n*w/workers, n*(w+1)/workers
		part := make([][]float64, len(points))
		for k := range part {
			part[k] = points[k][from:to]
		}
		all.Go(func() { b.Run(part, to-from, func(i int, at View) { show(from+i, at) }) })
	}
	all.Wait()
}
