package question

import (
	"fmt"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// TestSoon gives long sheets fewer draws where none are requested.
func TestSoon(t *testing.T) {
	for rows, want := range map[int]int{1: MostDraws, 4000: 99_000, 190_000: FewestDraws, 1_000_000: 0} {
		s, list := sheet.FromText("x.leaf", fmt.Sprintf("a : 1 sd 0.1\ntable t rows %d\n  x = a * row\ny = sum(t.x)\n", rows))
		if s == nil {
			t.Fatal(list)
		}
		found := sources(s, []sheet.Place{{Cell: s.Model.Cells[1]}})
		if len(found) != 1 || found[0].Form != check.Deviation {
			t.Fatalf("sources %v", found)
		}
		if got, err := soon(s, found); got != want || (err != nil) != (want == 0) {
			t.Errorf("%d rows: %d draws, want %d (%v)", rows, got, want, err)
		}
	}
}
