package program

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gearleaf/sheet/check"
)

// lattice is a random sheet of layers: the cells of a layer have a few shapes
// and read cells of the layers above, whichever.
func lattice(seed uint64) *sketch {
	const layers, width, shapes = 9, 250, 12
	g := &guess{sketch: newSketch(), r: rand.New(rand.NewPCG(seed, 21))}
	g.functions()
	pick := rand.New(rand.NewPCG(seed, 22))
	var above []*check.Cell
	for range 60 {
		above = append(above, g.given(fmt.Sprint("g", len(g.Cells)), g.number()))
	}
	for layer := range uint64(layers) {
		var made []*check.Cell
		for i := range width {
			g.cells = g.cells[:0]
			for range 6 {
				g.cells = append(g.cells, above[pick.IntN(len(above))])
			}
			g.r = rand.New(rand.NewPCG(seed<<8+layer, uint64(i%shapes))) // the same formula for each shape
			made = append(made, g.cell(fmt.Sprint("c", len(g.Cells)), g.formula(3)))
		}
		above = append(made, above[:40]...)
	}
	g.r = pick
	g.judge()
	return g.sketch
}

// TestBatchesGiveWhatThePlainProgramGives computes large sheets whole, by
// updates and in lanes, faults and their causes included.
func TestBatchesGiveWhatThePlainProgramGives(t *testing.T) {
	for seed := range uint64(8) {
		s := lattice(seed)
		p, plain := s.compile(t, Options{}), s.compile(t, Options{Plain: true})
		inBatches := 0
		for i := range p.batches {
			inBatches += len(p.batches[i].tasks)
		}
		if inBatches < len(s.Cells)/3 || len(plain.batches) > 0 {
			t.Fatalf("sheet %d: %d cells in batches, %d batches in the plain program", seed, inBatches, len(plain.batches))
		}
		one, other, lanes := p.NewMachine(1), plain.NewMachine(1), p.NewMachine(3)
		one.Run()
		other.Run()
		lanes.Run()
		r := &guess{r: rand.New(rand.NewPCG(seed, 23))}
		for turn := range 3 {
			what := fmt.Sprintf("sheet %d, turn %d", seed, turn)
			want := picture(other, 0)
			compare(t, what, picture(one, 0), want)
			compare(t, what+", a lane", picture(lanes, 0), want)
			sameCauses(t, what, one, other)
			for range 3 {
				given, v := r.r.IntN(60), r.number()
				one.SetCell(given, 0, v)
				other.SetCell(given, 0, v)
				lanes.SetCell(given, 0, v)
			}
			sameMoves(t, what, one, other)
			for range 3 { // one given alone, from the second time on by its reach
				v := r.number()
				one.SetCell(7, 0, v)
				other.SetCell(7, 0, v)
				lanes.SetCell(7, 0, v)
				sameMoves(t, what+", one given", one, other)
			}
			if lanes.Update(); turn == 1 {
				one.Run()
				lanes.Run()
			}
		}
		if t.Failed() {
			return
		}
	}
}

// sameMoves updates two machines and compares what has moved.
func sameMoves(t *testing.T, what string, a, b *Machine) {
	t.Helper()
	if moved, want := slices.Clone(a.Update()), b.Update(); !slices.Equal(moved, want) {
		t.Errorf("%s: %d tasks moved, want %d", what, len(moved), len(want))
	}
}

// sameCauses compares what two machines say of every fault.
func sameCauses(t *testing.T, what string, a, b *Machine) {
	t.Helper()
	for i := range a.p.m.Cells {
		if diff := cmp.Diff(b.ExplainCell(i, 0), a.ExplainCell(i, 0)); diff != "" {
			t.Fatalf("%s, cell %d: %s", what, i, diff)
		}
	}
}

func TestListingOfABatch(t *testing.T) {
	s := newSketch()
	var row []*check.Cell
	for i := range 1000 {
		row = append(row, s.given(fmt.Sprint("g", i), float64(i)))
	}
	steady := s.given("steady", 7)
	var made []*check.Cell
	for i := range 1000 {
		sum := s.op(check.Add, s.cellRef(row[i]), s.cellRef(steady))
		made = append(made, s.cell(fmt.Sprint("c", i), s.op(check.Mul, sum, s.cellRef(row[(i+500)%1000]))))
	}
	s.cell("sum", s.op(check.Add, s.cellRef(made[3]), s.cellRef(made[4])))
	listing := s.compile(t, Options{}).DisassembleRun()
	want := `batch of 1000: c0 … c999
  t3 = add-mul t0 t1 t2
  t0 from g0 on, t1 all steady, t2 one by one, t3 to c0 on
sum = add c3 c4
`
	if !strings.HasSuffix(listing, want) {
		t.Error(cmp.Diff(want, listing))
	}
}

// TestPartsFindTheSameBatches signs the formulas of a sheet in parts.
func TestPartsFindTheSameBatches(t *testing.T) {
	s := lattice(3)
	p := s.compile(t, Options{})
	whole := group(s.Model, p.g)
	for parts := 2; parts < 6; parts++ {
		gr := &grouping{
			m: s.Model, g: p.g, shapes: map[string]int32{},
			level: make([]int32, p.g.Len()), batchOf: make([]int32, p.g.Len()),
		}
		gr.sign(parts)
		gr.gather()
		gr.dropSmall()
		if diff := cmp.Diff(whole.order(), gr.order()); diff != "" || len(gr.batches) == 0 {
			t.Fatalf("%d parts: %d batches in another order: %s", parts, len(gr.batches), diff)
		}
		for i := range p.g.Len() {
			if !slices.Equal(whole.leavesOf(int32(i)), gr.leavesOf(int32(i))) || whole.batchOf[i] != gr.batchOf[i] {
				t.Fatalf("%d parts: task %d reads %v in batch %d, want %v in %d", parts, i,
					gr.leavesOf(int32(i)), gr.batchOf[i], whole.leavesOf(int32(i)), whole.batchOf[i])
			}
		}
		for i, b := range gr.batches {
			if b.shape != whole.batches[i].shape || !slices.Equal(b.tasks, whole.batches[i].tasks) {
				t.Fatalf("%d parts: batch %d differs", parts, i)
			}
		}
	}
}

// TestBatchesRunInLanes runs large sheets in lanes at once, every given having
// a value of its own in each.
func TestBatchesRunInLanes(t *testing.T) {
	for seed := range uint64(4) {
		s := lattice(seed)
		p := s.compile(t, Options{})
		lanes, one := p.NewMachine(3), p.NewMachine(1)
		r := &guess{r: rand.New(rand.NewPCG(seed, 24))}
		values := make([][3]float64, 60)
		for i := range values {
			values[i] = [3]float64{r.number(), r.number(), r.number()}
			for lane, v := range values[i] {
				lanes.SetCell(i, lane, v)
			}
		}
		lanes.Run()
		for lane := range 3 {
			for i := range values {
				one.SetCell(i, 0, values[i][lane])
			}
			one.Run()
			compare(t, fmt.Sprintf("sheet %d, lane %d", seed, lane), picture(lanes, lane), picture(one, 0))
		}
	}
}
