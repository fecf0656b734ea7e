package whatif

import (
	"context"
	"fmt"
	"math/rand/v2"
	"runtime"
	"sync"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
)

// Axis is a given with the values it takes in a sweep, in SI.
type Axis struct {
	Place
	Values []float64
}

// Sweep evaluates a sheet at every combination of its axes, the last axis
// turning fastest, or at Drawn points.
type Sweep struct {
	Program *program.Program
	Base    []Setting
	Axes    []Axis
	// Drawn, where not nil, replaces the combinations: a point has a value
	// for each axis.
	Drawn [][]float64
	// Show is what is read at every point: cells and entries.
	Show []Place
	// Limits are the indices of the limits to watch.
	Limits []int
	// Shard of Shards parts is evaluated: parts are disjoint, and in order
	// they are the whole. Shards 0 means the whole.
	Shard, Shards int
	// Workers is the number of machines at work; 0 means one a processor.
	Workers int
}

// Scenario is one point of a sweep with what it gives. Its slices are valid
// only during the call that hands it out.
type Scenario struct {
	Index  int // in the whole sweep, from 0
	Inputs []float64
	// Shown is a value in flight for each of Sweep.Show: faults are holes.
	Shown []float64
	// Broken are the watched limits that do not hold here.
	Broken []int
}

// Holes counts, by cause, the scenarios that have a hole.
type Holes map[string]int

// Size returns the number of scenarios of the whole sweep.
func (s *Sweep) Size() int {
	if s.Drawn != nil {
		return len(s.Drawn)
	}
	n := 1
	for _, a := range s.Axes {
		n *= len(a.Values)
	}
	return n
}

// Part returns the half-open range of scenarios that the shard has.
func (s *Sweep) Part() (from, to int) {
	n := s.Size()
	if s.Shards <= 1 {
		return 0, n
	}
	return n * s.Shard / s.Shards, n * (s.Shard + 1) / s.Shards
}

// point writes the inputs of scenario i into out.
func (s *Sweep) point(i int, out []float64) {
	if s.Drawn != nil {
		copy(out, s.Drawn[i])
		return
	}
	for k := len(s.Axes) - 1; k >= 0; k-- {
		n := len(s.Axes[k].Values)
		out[k] = s.Axes[k].Values[i%n]
		i /= n
	}
}

// block is a run of scenarios that one worker evaluates at once.
type block struct {
	scenarios []Scenario
	holes     Holes
	done      chan struct{}
}

// Run evaluates the sweep's part and hands every scenario to each, in order.
// It stops early when ctx is done or each returns an error.
func (s *Sweep) Run(ctx context.Context, each func(*Scenario) error) (Holes, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	workers := s.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	from, to := s.Part()
	ordered := make(chan *block, 4*workers)
	work := make(chan *block, 4*workers)
	var wait sync.WaitGroup
	for range workers {
		wait.Go(func() { s.worker(work) })
	}
	go s.feed(ctx, from, to, ordered, work)
	holes := Holes{}
	err := gather(ctx, ordered, holes, each)
	cancel()
	for b := range ordered {
		<-b.done // workers still write into these
	}
	wait.Wait()
	return holes, err
}

// feed cuts from..to into blocks, for the workers and, in order, for gather.
func (s *Sweep) feed(ctx context.Context, from, to int, ordered, work chan<- *block) {
	defer close(ordered)
	defer close(work)
	for at := from; at < to; at += blockLanes {
		b := &block{done: make(chan struct{})}
		for i := at; i < min(at+blockLanes, to); i++ {
			b.scenarios = append(b.scenarios, Scenario{Index: i})
		}
		select {
		case <-ctx.Done():
			return
		case work <- b:
		}
		ordered <- b
	}
}

// worker evaluates blocks on a machine of its own.
func (s *Sweep) worker(work <-chan *block) {
	by := make([]Place, len(s.Axes))
	for k, a := range s.Axes {
		by[k] = a.Place
	}
	bench := NewBench(s.Program, s.Base, by, blockLanes)
	for b := range work {
		s.evaluate(bench, b)
		close(b.done)
	}
}

// evaluate fills b.
func (s *Sweep) evaluate(bench *Bench, b *block) {
	wide := len(s.Axes) + len(s.Show)
	values := make([]float64, wide*len(b.scenarios))
	points := make([][]float64, len(b.scenarios))
	for i := range b.scenarios {
		row := values[i*wide : (i+1)*wide]
		b.scenarios[i].Inputs, b.scenarios[i].Shown = row[:len(s.Axes)], row[len(s.Axes):]
		s.point(b.scenarios[i].Index, b.scenarios[i].Inputs)
		points[i] = b.scenarios[i].Inputs
	}
	bench.Run(points)
	b.holes = Holes{}
	for lane := range b.scenarios {
		sc := &b.scenarios[lane]
		hole := -1
		for k, p := range s.Show {
			sc.Shown[k] = p.At(bench.Machine, lane)
			if hole < 0 && kernel.IsFault(sc.Shown[k]) {
				hole = k
			}
		}
		sc.Broken = bench.broken(s.Limits, lane)
		if hole >= 0 {
			b.holes[s.cause(bench.Machine, s.Show[hole], lane)]++
		}
	}
}

// cause words why p is at fault in lane.
func (s *Sweep) cause(mc *program.Machine, p Place, lane int) string {
	f := mc.Explain(p.Task(s.Program.Graph()), p.Row, lane)
	if f == nil {
		return p.Name() + ": no value"
	}
	return fmt.Sprintf("%s: %s", f.Origin, f.Cause)
}

// gather hands finished blocks out in order.
func gather(ctx context.Context, ordered <-chan *block, holes Holes, each func(*Scenario) error) error {
	for b := range ordered {
		select {
		case <-ctx.Done():
			<-b.done
			return ctx.Err()
		case <-b.done:
		}
		for cause, n := range b.holes {
			holes[cause] += n
		}
		for i := range b.scenarios {
			if err := each(&b.scenarios[i]); err != nil {
				return err
			}
		}
	}
	return ctx.Err()
}

// LatinHypercube draws n points in the box of bounds: on every axis each of n
// equal slices is hit once. The same seed draws the same points.
func LatinHypercube(n int, bounds [][2]float64, seed uint64) [][]float64 {
	random := rand.New(rand.NewPCG(seed, 0x1A71))
	flat := make([]float64, n*len(bounds))
	out := make([][]float64, n)
	for i := range out {
		out[i] = flat[i*len(bounds) : (i+1)*len(bounds)]
	}
	for k, b := range bounds {
		for i, slice := range random.Perm(n) {
			u := (float64(slice) + random.Float64()) / float64(n)
			out[i][k] = b[0] + u*(b[1]-b[0])
		}
	}
	return out
}
