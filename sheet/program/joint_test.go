package program

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestJointCodeGivesWhatTheTreeSays computes scalars together, on one lane
// and on many, and holds them to the plain program and to the tree.
func TestJointCodeGivesWhatTheTreeSays(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomCells(seed, 30)
		p, plain := s.compile(t, Options{}), s.compile(t, Options{Plain: true})
		if code, _, ok := p.joint(tasksOf(p)); !ok || len(code) >= len(plain.code) {
			t.Fatalf("sheet %d: %d instructions together, %d apart", seed, len(code), len(plain.code))
		}
		one, other, many := p.NewMachine(1), plain.NewMachine(1), p.NewMachine(3)
		r := rand.New(rand.NewPCG(seed, 12))
		for turn := range 3 {
			o := newOracle(s.Model)
			for i, c := range s.Cells {
				if !c.Given {
					continue
				}
				v := (&guess{r: r}).number()
				o.given[i] = v
				one.SetCell(i, 0, v)
				other.SetCell(i, 0, v)
				many.SetCell(i, turn, v)
			}
			one.Run()
			other.Run()
			many.Run()
			what := fmt.Sprintf("sheet %d, turn %d", seed, turn)
			compare(t, what, picture(one, 0), painted(o))
			compare(t, what+", plain", picture(other, 0), painted(o))
			compare(t, what+", in a lane", picture(many, turn), painted(o))
		}
		if t.Failed() {
			return
		}
	}
}

// tasksOf is every task of p that computes.
func tasksOf(p *Program) []int32 {
	var out []int32
	for i := range p.tasks {
		if p.tasks[i].kind == scalarTask {
			out = append(out, int32(i))
		}
	}
	return out
}

// TestReachGivesWhatRunGives moves one given after the other, again and
// again, so that what it reaches is computed together, and holds values and
// the list of what has moved to those of the plain program.
func TestReachGivesWhatRunGives(t *testing.T) {
	together := 0
	for seed := range uint64(randomSheets) {
		s := randomCells(seed, 40)
		one, plain := s.compile(t, Options{}).NewMachine(1), s.compile(t, Options{Plain: true}).NewMachine(1)
		one.Run()
		plain.Run()
		r := rand.New(rand.NewPCG(seed, 13))
		for turn := range 12 {
			given, v := r.IntN(3), (&guess{r: r}).number()
			one.SetCell(given, 0, v)
			plain.SetCell(given, 0, v)
			moved, want := slices.Clone(one.Update()), plain.Update()
			what := fmt.Sprintf("sheet %d, turn %d", seed, turn)
			if !slices.Equal(moved, want) {
				t.Errorf("%s: %v moved, want %v", what, moved, want)
			}
			compare(t, what, picture(one, 0), picture(plain, 0))
		}
		for _, reach := range one.reaches {
			if reach.steps != nil {
				together++
			}
		}
		if t.Failed() {
			return
		}
	}
	if together < randomSheets/2 {
		t.Errorf("only %d givens had what they reach computed together", together)
	}
}
