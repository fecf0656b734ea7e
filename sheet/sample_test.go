package sheet_test

import (
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/generate"
)

// TestConfirmedShare counts what the second evaluator has confirmed: all of a
// sheet up to CheckAll values, and about CheckAll of a larger one, scalars or
// rows of a step table alike.
func TestConfirmedShare(t *testing.T) {
	for _, c := range []struct {
		name, text string
		whole      bool
	}{
		{"gearing", generate.Gearing150(), true},
		{"step table", generate.StepTable(2000), true},
		{"long step table", generate.StepTable(20_000), false},
		{"many cells", generate.Layered(80_000, 1), false},
	} {
		s, list := sheet.FromText(c.name, c.text)
		if s == nil {
			t.Fatalf("%s: %v", c.name, list)
		}
		r, err := s.Compute()
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if r.Checked.Whole() != c.whole {
			t.Errorf("%s: %d of %d values confirmed; whole should be %v", c.name, r.Checked.Tasks, r.Checked.Of, c.whole)
		}
		if n := r.Checked.Tasks; !c.whole && (n < sheet.CheckAll*9/10 || n > sheet.CheckAll*11/10) {
			t.Errorf("%s: %d of %d values confirmed, want about %d", c.name, n, r.Checked.Of, sheet.CheckAll)
		}
	}
}
