package whatif

import (
	"slices"

	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
)

// Bench evaluates one sheet at many points of the same givens, a block of
// lanes at a time. What the givens do not reach is computed once.
type Bench struct {
	Machine *program.Machine
	p       *program.Program
	by      []Place
	last    [][]float64     // the values of each given in the last block
	whole   map[uint64]bool // by the givens that have moved: see runWhole
}

// Lanes of a block: enough that choosing an instruction costs nothing, few
// enough that the block stays in the cache.
const (
	mostLanes   = 256
	fewestLanes = 8
)

// blockValues bounds the values that one block holds, so that a sheet of a
// million cells does not take 256 times its room for every worker.
const blockValues = 4 << 20

// Lanes returns how many points of by a Bench should take at once. It follows
// from the sheet alone, so that the same points fall into the same blocks on
// any machine.
func Lanes(p *program.Program, by []Place) int {
	return max(fewestLanes, min(mostLanes, blockValues/Weight(p, by)))
}

// Weight returns how many values hang on by, which is what one point costs.
func Weight(p *program.Program, by []Place) int {
	g := p.Graph()
	givens := make([]int, len(by))
	for i, place := range by {
		givens[i] = place.Task(g)
	}
	size := 1
	for _, task := range g.Reach(givens) {
		size += values(g.Task(task))
	}
	return size
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

// NewBench returns a Bench over the givens by, everything else as base says.
func NewBench(p *program.Program, base []Setting, by []Place, lanes int) *Bench {
	mc := p.NewMachine(lanes)
	Set(mc, base)
	mc.Run()
	return &Bench{Machine: mc, p: p, by: by, last: make([][]float64, len(by)), whole: map[uint64]bool{}}
}

// Run evaluates n points, at most as many as the machine has lanes: points
// holds the values of each given in turn. Lane i then holds point i; lanes
// left over repeat the last one.
func (b *Bench) Run(points [][]float64, n int) {
	var moved uint64
	for k, place := range b.by {
		values := points[k][:n]
		place.setLanes(b.Machine, values)
		if !slices.Equal(values, b.last[k]) {
			moved |= 1 << min(k, 63)
		}
		b.last[k] = append(b.last[k][:0], values...)
	}
	if b.runWhole(moved) {
		b.Machine.Run()
	} else {
		b.Machine.Update()
	}
}

// runWhole reports whether a block in which these givens have moved is better
// computed as a whole, by code that was made for it, than task by task from
// those on: where they reach at least half of what all of them do. On a grid
// the axes outside stand still for many blocks, and with them, it may be, a
// table of thousands of rows.
func (b *Bench) runWhole(moved uint64) bool {
	whole, known := b.whole[moved]
	if !known && b.Machine.Lanes() > 1 {
		var by []Place
		for k, place := range b.by {
			if moved&(1<<min(k, 63)) != 0 {
				by = append(by, place)
			}
		}
		whole = len(by) > 0 && 2*Weight(b.p, by) >= Weight(b.p, b.by)
		b.whole[moved] = whole
	}
	return whole
}

// One evaluates one point on every lane.
func (b *Bench) One(point []float64) {
	for k, place := range b.by {
		for lane := range b.Machine.Lanes() {
			place.set(b.Machine, lane, point[k])
		}
	}
	b.Machine.Update()
}

// unkept appends to out the limits that do not hold in lane, as indices of
// the model; one that waits on a fault or a blank does not hold either.
func (b *Bench) unkept(limits []int, lane int, out []int) []int {
	for _, i := range limits {
		if b.Machine.Limit(i, lane).Value != 1 {
			out = append(out, i)
		}
	}
	return out
}

// columnsOf cuts room for n points of so many givens, the values of each given
// standing together.
func columnsOf(givens, n int) [][]float64 {
	room := make([]float64, givens*n)
	out := make([][]float64, givens)
	for k := range out {
		out[k] = room[k*n : (k+1)*n : (k+1)*n]
	}
	return out
}
