package whatif

import (
	"gearleaf/sheet/program"
)

// Bench evaluates one sheet at many points of the same givens, a block of
// lanes at a time. What the givens do not reach is computed once.
type Bench struct {
	Machine *program.Machine
	// Evaluations counts the points evaluated so far.
	Evaluations int

	by []Place
}

// blockLanes is how many points a Bench for many points takes at once: enough
// for one loop an instruction, few enough to stay in the cache.
const blockLanes = 256

// NewBench returns a Bench over the givens by, everything else as base says.
func NewBench(p *program.Program, base []Setting, by []Place, lanes int) *Bench {
	mc := p.NewMachine(lanes)
	Set(mc, base)
	mc.Run()
	return &Bench{Machine: mc, by: by}
}

// Run evaluates points, each with a value for every given, at most as many
// as the machine has lanes; lane i then holds point i. Lanes left over repeat
// the last point.
func (b *Bench) Run(points [][]float64) {
	last := len(points) - 1
	for k, place := range b.by {
		for lane := range b.Machine.Lanes() {
			place.set(b.Machine, lane, points[min(lane, last)][k])
		}
	}
	b.Machine.Update()
	b.Evaluations += len(points)
}

// each evaluates any number of points and calls read for each, in order.
func (b *Bench) each(points [][]float64, read func(point, lane int)) {
	lanes := b.Machine.Lanes()
	for from := 0; from < len(points); from += lanes {
		block := points[from:min(from+lanes, len(points))]
		b.Run(block)
		for lane := range block {
			read(from+lane, lane)
		}
	}
}

// Broken returns the limits (not the advise lines) that lane breaks, as
// indices of the model; a limit that waits on a fault counts as broken.
func (b *Bench) broken(limits []int, lane int) []int {
	var out []int
	for _, i := range limits {
		if v := b.Machine.Limit(i, lane).Value; v != 1 {
			out = append(out, i)
		}
	}
	return out
}
