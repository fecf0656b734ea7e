package export

import (
	"math"
	"testing"

	"gearleaf/sheet/unit"
)

// TestMixedUpUnits asks about the number of a reading that was taken in another
// unit, in both directions, and not about ordinary changes: a storm, another town,
// a hot afternoon, a cold morning, another boost.
func TestMixedUpUnits(t *testing.T) {
	for _, c := range []struct {
		value string
		typed float64
		want  string
	}{
		{"29.92 inHg", 1013, "hPa"},
		{"29.92 inHg", 101.3, "kPa"},
		{"29.92 inHg", 760, "mmHg"},
		{"29.92 inHg", 14.7, "psia"},
		{"28.55 inHg", 1.0, "bara"},
		{"1013 hPa", 29.92, "inHg"},
		{"101.3 kPa", 29.5, "inHg"},
		{"14.7 psia", 1009, "hPa"},
		{"30 degC", 86, "degF"},
		{"86 degF", 30, "degC"},
		{"56 degC", 130, "degF"},
		{"21 psig", 1.5, "barg"},
		{"1.5 barg", 21, "psig"},
		{"21 psig", 145, "kPag"},
		{"43.5 psid", 3, "bard"},
		{"2085 mm", 82, "in"},
		{"82 in", 2085, "mm"},
		{"660 ft", 201, "m"},
		{"340 kg", 750, "lb"},
		{"750 lb", 340, "kg"},
		{"3 galUS", 11.4, "L"},
		// Ordinary changes.
		{"29.92 inHg", 29.1, ""},
		{"29.92 inHg", 24.9, ""},
		{"1013 hPa", 850, ""},
		{"70 degF", 95, ""},
		{"70 degF", 45, ""},
		{"70 degF", 35, ""},
		{"95 degF", 60, ""},
		{"21 degC", 35, ""},
		{"30 degC", 5, ""},
		{"56 degC", 95, ""},
		{"0 degC", 15, ""},
		{"14 psig", 28, ""},
		{"28 psig", 7, ""},
		{"2085 mm", 1990, ""},
		{"6 mm", 12, ""},
		{"10 kg", 20, ""},
		{"340 kg", 300, ""},
		{"660 ft", 1320, ""},
		{"9 s", 12, ""},
		{"41", 44, ""},
		{"0 psig", 14.7, ""},
	} {
		s := load(t, "mixed", "title \"T\"\na : "+c.value+"\n")
		cell := s.s.Model.Cells[0]
		if got := otherUnit(s.s.Model.Units, &cell.Quantity, c.typed, cell.Value); got != c.want {
			t.Errorf("%v after %s: %q, want %q", c.typed, c.value, got, c.want)
		}
	}
	if u, err := unit.NewSystem().Parse("psig"); err != nil || u.Measure.Dim != pascal || math.IsNaN(u.Scale) {
		t.Errorf("the dimension of a pressure is not that of psig: %v %v", u, err)
	}
}
