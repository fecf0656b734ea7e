package export

import (
	"testing"
)

const worstSheet = `title "Limits over rows"
table gears
  gear  : 1, 2, 3
  speed : 100, 150, 148 mph
  most  : 200, 155, 150 mph
  share = speed / most as % to 0.1
table stages
  stage : "launch", "second", "rest"
  boost : 10, 18, 15 psig
table steps
  at : 0.5, 1.5, 2.5 s
  heat = at * 2 to 0.1
table faulty
  div  : 1, 0, 2
  over = 90 mph / div
table bounded
  div   : 1, 0, 1
  value : 200, 154, 148 mph
  least = 90 mph / div
  most  : 300, 155, 150 mph
limit gears.speed <= gears.most
limit gears.share <= 97 %
limit 9 psig <= stages.boost <= 19 psig
limit steps.heat >= 2 s
limit faulty.over <= 80 mph
limit bounded.least <= bounded.value <= bounded.most
`

// TestWorstRow: a limit over rows shows both sides, the margin and the name of
// the row that is nearest to its bounds, or farthest outside.
func TestWorstRow(t *testing.T) {
	s := load(t, "worst", worstSheet)
	data, _ := s.write(t)
	g := readGrid(t, data)[limitsTab]
	for i, want := range []struct{ state, margin, is, least, most, where string }{
		{kept, "2", "148", "", "150", "Gear 3"},
		{broken, "-1.7", "98.7", "", "97", "Gear 3"},
		{kept, "1", "10", "9", "19", "launch"},
		{broken, "-1", "1", "2", "", "row 1"},
		{broken, "", "", "", "80", "row 1"},
		{waiting, "2", "148", "90", "150", "Div 1"},
	} {
		row := limitsHead + 1 + i
		value := func(column int) string { return g[at(column, row)].value }
		got := []string{value(limitStateColumn), value(limitMarginColumn), value(limitIsColumn), value(limitLeastColumn), value(limitMostColumn), value(limitRowColumn)}
		for k, w := range []string{want.state, want.margin, want.is, want.least, want.most, want.where} {
			if got[k] != w && !nearText(got[k], w) {
				t.Errorf("limit %d: %q, want %q", i+1, got, want)
			}
		}
	}
}

// nearText reports whether two texts are nearly the same number.
func nearText(a, b string) bool {
	return sameField(field{value: a}, field{value: b})
}
