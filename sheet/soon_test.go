package sheet

import (
	"fmt"
	"testing"

	"gearleaf/sheet/check"
)

// TestSoon gives long sheets fewer draws where none are asked for.
func TestSoon(t *testing.T) {
	for rows, want := range map[int]int{1: MostDraws, 4000: 99_000, 1_000_000: FewestDraws} {
		s, list := FromText("x.leaf", fmt.Sprintf("a : 1 sd 0.1\ntable t rows %d\n  x = a * row\ny = sum(t.x)\n", rows))
		if s == nil {
			t.Fatal(list)
		}
		sources := s.sources([]Place{{Cell: s.Model.Cells[1]}})
		if len(sources) != 1 || sources[0].Form != check.Deviation {
			t.Fatalf("sources %v", sources)
		}
		if got := s.soon(sources); got != want {
			t.Errorf("%d rows: %d draws, want %d", rows, got, want)
		}
	}
}
