package whatif

import (
	"math"
	"slices"

	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
)

// View shows the values of one point.
type View interface {
	Cell(cell int) float64
	Entry(column, row int) float64
	Live(table int) (rows int, ended bool)
	Limit(limit int) program.LimitValue
}

// Bench evaluates one sheet at many points of the same givens. Values that do
// not depend on the givens are computed once.
type Bench struct {
	p      *program.Program
	by     []Place
	mc     *program.Machine
	last   []float64                // the point that mc is at
	parts  map[uint64]*program.Part // by the changed givens, a bit each
	points [][]float64              // of the current Run

	shared *Evaluator // nil for a bench that computes by its machine alone
	module *module    // nil if the machine computes everything
}

// BlockSize returns the number of points of by in a block. It depends on the
// sheet alone, so the same points are in the same blocks on any machine.
func BlockSize(p *program.Program, by []Place) int {
	return max(fewestPoints, min(mostPoints, blockValues/Weight(p, by))) &^ 1
}

// Bounds of BlockSize, and the number of values that a block computes: some
// milliseconds of work, so several processors share even a short run of long
// sheets.
const (
	fewestPoints = 4
	mostPoints   = 256
	blockValues  = 100_000
)

// Weight returns the number of values that depend on by, the cost of one point.
func Weight(p *program.Program, by []Place) int {
	g, size := p.Graph(), 1
	for _, task := range g.Reach(tasksOf(g, by)) {
		size += values(g.Task(task))
	}
	return size
}

// tasksOf returns the tasks of givens.
func tasksOf(g *graph.Graph, by []Place) []int {
	givens := make([]int, len(by))
	for i, place := range by {
		givens[i] = place.Task(g)
	}
	return givens
}

// values counts the values that a task computes.
func values(t graph.Task) int {
	switch t.Kind {
	case graph.ColumnTask:
		return t.Column.Table.Rows
	case graph.LoopTask:
		return t.Table.Rows * max(1, len(t.Table.Loop))
	case graph.LimitTask:
		if t.Limit.Table != nil {
			return t.Limit.Table.Rows
		}
	}
	return 1
}

// NewBench returns a Bench that computes by its machine alone, over the givens
// by, with the other settings of base.
func NewBench(p *program.Program, base []Setting, by []Place) *Bench {
	mc := p.NewMachine()
	Set(mc, base)
	mc.Run()
	b := &Bench{p: p, by: by, mc: mc, last: make([]float64, len(by)), parts: map[uint64]*program.Part{}}
	for k, place := range by {
		b.last[k] = place.At(mc)
	}
	return b
}

// Run evaluates n points and shows each of them in turn: points holds the
// values of each given.
func (b *Bench) Run(points [][]float64, n int, show func(i int, at View)) {
	b.points = points
	from := 0
	if b.module != nil {
		if from = b.module.run(n, show); from < n {
			b.module = nil
		}
	}
	for i := from; i < n; i++ {
		b.moveTo(i)
		show(i, b.mc)
	}
}

// One evaluates one point. The view is valid until the next one.
func (b *Bench) One(point []float64) View {
	b.points = columnsOf(len(point), 1)
	for k, v := range point {
		b.points[k][0] = v
	}
	if b.module != nil && b.module.in.Lanes == 1 {
		var view View
		if b.module.run(1, func(_ int, at View) { view = at }) == 1 {
			return view
		}
		b.module = nil
	}
	b.moveTo(0)
	return b.mc
}

// moveTo brings the machine to point i of the current run. Only values that
// depend on the changed givens are computed: on a grid most givens, and perhaps
// a table of thousands of rows, are the same for many points.
func (b *Bench) moveTo(i int) {
	var changed uint64
	for k, place := range b.by {
		if v := b.points[k][i]; !same(v, b.last[k]) {
			b.last[k] = v
			place.set(b.mc, v)
			changed |= 1 << min(k, 63)
		}
	}
	if changed != 0 {
		b.mc.RunPart(b.part(changed))
	}
}

// part returns the dependents of the givens in changed, a bit each; bit 63 is
// for all givens from there on.
func (b *Bench) part(changed uint64) *program.Part {
	if part, known := b.parts[changed]; known {
		return part
	}
	if len(b.parts) >= mostParts {
		if changed == everyGiven {
			b.parts[changed] = partOf(b.p, b.by)
			return b.parts[changed]
		}
		return b.part(everyGiven)
	}
	var by []Place
	for k, place := range b.by {
		if changed&(1<<min(k, 63)) != 0 {
			by = append(by, place)
		}
	}
	b.parts[changed] = partOf(b.p, by)
	return b.parts[changed]
}

// partOf returns the dependents of givens without advices: nothing depends on an
// advice, and many scenarios need none.
func partOf(p *program.Program, by []Place) *program.Part {
	g := p.Graph()
	return p.Part(slices.DeleteFunc(g.Reach(tasksOf(g, by)), func(i int) bool { return g.Task(i).Kind == graph.AdviceTask }))
}

// mostParts is the number of sets of givens that have a part of their own. A
// change of any other set runs the part of all givens, whose key is everyGiven.
const mostParts = 16

const everyGiven = math.MaxUint64

// Cause returns why p has no value at point i of the current run.
func (b *Bench) Cause(p Place, i int) string {
	b.moveTo(i)
	if kernel.IsBlank(p.At(b.mc)) {
		return p.Name() + ": blank"
	}
	return Cause(b.mc, p)
}

// unkept appends to out the limits that do not hold, as indices of the model;
// one that depends on a fault or a blank does not hold either.
func unkept(at View, limits, out []int) []int {
	for _, i := range limits {
		if at.Limit(i).Value != 1 {
			out = append(out, i)
		}
	}
	return out
}

// columnsOf allocates n points of so many givens, the values of each given
// together.
func columnsOf(givens, n int) [][]float64 {
	room := make([]float64, givens*n)
	out := make([][]float64, givens)
	for k := range out {
		out[k] = room[k*n : (k+1)*n : (k+1)*n]
	}
	return out
}
