package program

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// TestBlocksGiveWhatTheTreeSays computes scalars together and compares them
// with the plain program and with the tree.
func TestBlocksGiveWhatTheTreeSays(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomCells(seed, 30)
		p, plain := s.compile(t, Options{}), s.compile(t, Options{Plain: true})
		if instrs, _, ok := p.sheet.Block(tasksOf(p), lower.ForMachine); !ok || len(instrs) >= len(plain.Instrs) {
			t.Fatalf("sheet %d: %d instructions together, %d apart", seed, len(instrs), len(plain.Instrs))
		}
		one, other := p.NewMachine(), plain.NewMachine()
		r := rand.New(rand.NewPCG(seed, 12))
		for turn := range 3 {
			o := newOracle(s.Model)
			for i, c := range s.Cells {
				if !c.Given {
					continue
				}
				v := (&guess{r: r}).number()
				o.given[i] = v
				one.SetCell(i, v)
				other.SetCell(i, v)
			}
			one.Run()
			other.Run()
			what := fmt.Sprintf("sheet %d, turn %d", seed, turn)
			compare(t, what, picture(one), painted(o))
			compare(t, what+", plain", picture(other), painted(o))
		}
		if t.Failed() {
			return
		}
	}
}

// tasksOf is every task of p that computes.
func tasksOf(p *Program) []int32 {
	var out []int32
	for i := range p.Tasks {
		if p.Tasks[i].Kind == code.ScalarTask {
			out = append(out, int32(i))
		}
	}
	return out
}

// TestPlansGiveWhatRunGives changes one given after another, again and again,
// so that each gets its plan, and compares values and the list of what changed
// with those of the plain program.
func TestPlansGiveWhatRunGives(t *testing.T) {
	together := 0
	for seed := range uint64(randomSheets) {
		s := randomCells(seed, 40)
		one, plain := s.compile(t, Options{}).NewMachine(), s.compile(t, Options{Plain: true}).NewMachine()
		one.Run()
		plain.Run()
		r := rand.New(rand.NewPCG(seed, 13))
		for turn := range 12 {
			given, v := r.IntN(3), (&guess{r: r}).number()
			one.SetCell(given, v)
			plain.SetCell(given, v)
			moved, want := slices.Clone(one.Update()), plain.Update()
			what := fmt.Sprintf("sheet %d, turn %d", seed, turn)
			if !slices.Equal(moved, want) {
				t.Errorf("%s: %v moved, want %v", what, moved, want)
			}
			compare(t, what, picture(one), picture(plain))
		}
		for _, plan := range one.plans {
			if plan.part != nil {
				together++
			}
		}
		if t.Failed() {
			return
		}
	}
	if together < randomSheets/2 {
		t.Errorf("only %d givens had a plan", together)
	}
}
