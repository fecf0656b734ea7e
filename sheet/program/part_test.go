package program

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// TestBlocksGiveWhatTheTreeSays computes scalars together and compares them
// with the plain program and with the tree.
func TestBlocksGiveWhatTheTreeSays(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomCells(seed, 30)
		p, plain := s.compile(t, Options{}), s.compile(t, Options{Plain: true})
		steps := p.whole().Steps
		if len(steps) != 1 || len(steps[0].Code) >= len(plain.Instrs) {
			t.Fatalf("sheet %d: %d steps, %d instructions together, %d apart", seed, len(steps), len(steps[0].Code), len(plain.Instrs))
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

// TestPartsGiveWhatThePlainProgramGives changes one given after another, again
// and again, and runs the part of each.
func TestPartsGiveWhatThePlainProgramGives(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomCells(seed, 40)
		p := s.compile(t, Options{})
		one, plain := p.NewMachine(), s.compile(t, Options{Plain: true}).NewMachine()
		one.Run()
		r := rand.New(rand.NewPCG(seed, 13))
		parts := map[int]*Part{}
		for turn := range 12 {
			given, v := r.IntN(3), (&guess{r: r}).number()
			if parts[given] == nil {
				parts[given] = p.Part(p.Graph().Reach([]int{p.Graph().TaskOf(s.Cells[given])}))
			}
			one.SetCell(given, v)
			plain.SetCell(given, v)
			one.RunPart(parts[given])
			plain.Run()
			compare(t, fmt.Sprintf("sheet %d, turn %d", seed, turn), picture(one), picture(plain))
		}
		if t.Failed() {
			return
		}
	}
}
