package speed

import (
	"runtime"
	"sync"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/whatif"
)

// row is one comparison: the same work by hand and by the program. by is
// what the program is held against where that is not hand-written Go.
type row struct {
	name  string
	cells int // values that one turn computes
	by    string
	hand  func()
	prog  func()
	goal  float64 // program ÷ hand, at most; 0 where there is no goal
}

// The scenarios of the sweeps, and how many are evaluated at once.
const (
	scenarios     = 100_000
	sweepBlock    = 256
	stepScenarios = 1000
)

// comparisons are all rows with something to compare with.
func comparisons(tb testing.TB) []row {
	rows := gearingRows(tb)
	rows = append(rows, sweepRows(tb)...)
	return append(rows, stepRowsOf(tb)...)
}

func gearingRows(tb testing.TB) []row {
	s := load(tb, generate.Gearing150())
	g, mc, one := byHand(tb, s), s.program.NewMachine(), s.program.NewMachine()
	one.Run()
	e := newTokens(tb, s)
	rear, _ := s.model.Resolve("rear_sprocket")
	turn := func() float64 { // between two sprockets
		g.RearSprocket = 86 - g.RearSprocket
		return g.RearSprocket
	}
	g.RearSprocket = 42
	return []row{
		{name: "gearing/full", cells: 150, hand: g.compute, prog: mc.Run, goal: 2.5},
		{
			name: "gearing/one-input", cells: 75, goal: 1.5,
			hand: func() { turn(); g.compute() },
			prog: func() { one.SetCell(int(rear.Index), turn()); one.Update() },
		},
		{ // code that somebody wrote for this one input
			name: "gearing/one-input-alone", cells: 75,
			hand: func() { turn(); g.rearChanged() },
			prog: func() { one.SetCell(int(rear.Index), turn()); one.Update() },
		},
		{
			name: "gearing/govaluate", cells: 150, by: "govaluate", goal: 1.0 / 50, prog: mc.Run,
			hand: func() {
				if err := e.compute(); err != nil {
					panic(err)
				}
			},
		},
	}
}

// swept is a given that a sweep goes over, with its place in the hand-written
// sheet, and its values: those of a scenario and of as many as a machine has in
// work stand in a row. Making them is no part of what is measured.
type swept struct {
	cell   *check.Cell
	at     *float64
	values []float64
}

// differing is how many scenarios there are before they begin again: so few
// that their values are near, as those of a question are, which have just been
// made. No block of lanes is like the one before it.
const differing = 192

// newSwept makes the values of a given: within one part in eight of what the
// sheet says.
func newSwept(cell *check.Cell, at *float64) swept {
	s := swept{cell, at, make([]float64, differing+sweepBlock)}
	for i := range s.values {
		s.values[i] = cell.Value * (1 + float64(i%differing)/(8*differing))
	}
	return s
}

func sweepRows(tb testing.TB) []row {
	s := load(tb, generate.Gearing150())
	var all []string
	for _, c := range s.model.Cells {
		if c.Given {
			all = append(all, c.Name)
		}
	}
	two := []string{"boost", "rear_sprocket"}
	rows := []row{
		sweepRow(tb, s, "sweep/two-inputs", two),
		sweepRow(tb, s, "sweep/every-input", all),
		sweepRow(tb, s, "sweep/two-inputs-all-cores", two),
	}
	rows[0].goal = 0.75
	one, cores := rows[0].prog, runtime.GOMAXPROCS(0)
	rows[2].by = "one core"
	rows[2].hand = one
	rows[2].prog = onCores(tb, s, two, cores)
	return rows
}

func sweepRow(tb testing.TB, s *loaded, name string, names []string) row {
	g := byHand(tb, s)
	over := sweptOf(s, g, names)
	bench := newBench(s, over)
	return row{
		name: name, cells: 150 * scenarios,
		hand: func() {
			sum := 0.0
			for i := range scenarios {
				at := i % differing
				for k := range over {
					*over[k].at = over[k].values[at]
				}
				g.compute()
				sum += g.Duty[5]
			}
			sink = sum
		},
		prog: func() { sink = bench.run(0, scenarios) },
	}
}

var sink float64

func sweptOf(s *loaded, g *gearing, names []string) []swept {
	cells := g.cells()
	var over []swept
	for _, name := range names {
		c, _ := s.model.Resolve(name)
		over = append(over, newSwept(c, cells[name]))
	}
	return over
}

// bench evaluates scenarios, a block of them at a time, and adds up one figure.
type bench struct {
	over   *whatif.Bench
	values [][]float64
	points [][]float64
	duty   whatif.Place
}

func newBench(s *loaded, over []swept) *bench {
	duty, _ := s.model.Resolve("duty_6")
	b := &bench{duty: whatif.Place{Cell: duty}, points: make([][]float64, len(over))}
	var by []whatif.Place
	for _, o := range over {
		by, b.values = append(by, whatif.Place{Cell: o.cell}), append(b.values, o.values)
	}
	b.over = whatif.NewBench(s.program, nil, by)
	return b
}

func (b *bench) run(from, to int) float64 {
	sum := 0.0
	for ; from < to; from += sweepBlock {
		n, at := min(sweepBlock, to-from), from%differing
		for i := range b.points {
			b.points[i] = b.values[i][at : at+n]
		}
		b.over.Run(b.points, n, func(_ int, at whatif.View) { sum += b.duty.At(at) })
	}
	return sum
}

// onCores runs the sweep on so many cores, a part each.
func onCores(tb testing.TB, s *loaded, names []string, cores int) func() {
	var benches []*bench
	for range cores {
		benches = append(benches, newBench(s, sweptOf(s, byHand(tb, s), names)))
	}
	return func() {
		var all sync.WaitGroup
		for i, b := range benches {
			all.Go(func() { b.run(i*scenarios/cores, (i+1)*scenarios/cores) })
		}
		all.Wait()
	}
}

func TestSweepByHand(t *testing.T) {
	for _, r := range sweepRows(t)[:2] {
		r.hand()
		want := sink
		r.prog()
		if !close(sink, want) {
			t.Errorf("%s: %v by the program, %v by hand", r.name, sink, want)
		}
	}
}

func stepRowsOf(tb testing.TB) []row {
	s := load(tb, generate.StepTable(stepRows))
	p, mc := passByHand(tb, s), s.program.NewMachine()
	grip, _ := s.model.Resolve("grip")
	top, _ := s.model.Resolve("top_speed")
	value := func(i int) float64 { return 12 + float64(i)*0.01 }
	many := whatif.NewBench(s.program, nil, []whatif.Place{{Cell: grip}})
	grips := make([]float64, stepScenarios)
	for i := range grips {
		grips[i] = value(i)
	}
	cells := int(12 * stepEnd)
	return []row{
		{name: "steps/full", cells: cells, hand: func() { p.compute(stepEnd) }, prog: mc.Run, goal: 2},
		{
			name: "steps/swept", cells: cells * stepScenarios, goal: 1,
			hand: func() {
				sum := 0.0
				for i := range stepScenarios {
					p.Grip = value(i)
					p.compute(stepEnd)
					sum += p.TopSpeed
				}
				sink = sum
			},
			prog: func() {
				sum := 0.0
				many.Run([][]float64{grips}, stepScenarios, func(_ int, at whatif.View) { sum += at.Cell(int(top.Index)) })
				sink = sum
			},
		},
	}
}
