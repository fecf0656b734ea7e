package export

import (
	"math"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
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
		{"150 mph", 241, "km/h"},
		{"300 lbf.ft", 407, "N.m"},
		{"448 hp", 334, "kW"},
		{"10 deltaC", 18, "deltaF"},
		{"28 degC", 82.4, "degF"},
		{"28 degC", 70, "degF"},
		{"28 degC", 301, "K"},
		// Gauge and absolute.
		{"14 psig", 28.7, "psia"},
		{"14 psig", 28.5, "psia"},
		{"21 psig", 35.7, "psia"},
		{"21 psig", 2.46, "bara"},
		{"21 psig", 246, "kPa"},
		{"1.2 barg", 2.2, "bara"},
		{"150 kPag", 251, "kPa"},
		{"0 psig", 14.7, "psia"},
		{"0 psig", 29.92, "inHg"},
		{"29.92 inHg", 0, "psig"},
		{"101.3 kPa", 0, "kPag"},
		{"24.9 inHg", 0, "psig"},
		{"14.7 psia", 0, "psig"},
		{"35.7 psia", 21, "psig"},
		{"35.7 psia", 1.45, "barg"},
		{"246 kPa", 145, "kPag"},
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
		{"0 psig", 15, ""},
		{"0 psig", 1, ""},
		{"0 psig", 5, ""},
		{"5 psig", 20, ""},
		{"10 psig", 25, ""},
		{"14 psig", 21, ""},
		{"14 psig", 0, ""},
		{"28 psig", 14, ""},
		{"43.5 psid", 58, ""},
		{"43.5 psig", 58, ""},
		{"58 psig", 72.5, ""},
		{"3 bard", 4, ""},
		{"35.7 psia", 28, ""},
		{"28 degC", 60, ""},
		{"28 degC", 45, ""},
		{"28 degC", -5, ""},
		{"45 degF", 100, ""},
		{"10 mph", 5, ""},
		{"10 mph", 15, ""},
		{"10 mph", 20, ""},
		{"300 lbf.ft", 320, ""},
		{"300 lbf.ft", 400, "N.m"},
		{"448 hp", 400, ""},
		{"10 deltaC", 15, ""},
	} {
		s := load(t, "mixed", "title \"T\"\na : "+c.value+"\n")
		cell := s.s.Model.Cells[0]
		if got := otherUnit(s.s.Model, &cell.Quantity, c.typed, cell.Value); got != c.want {
			t.Errorf("%v after %s: %q, want %q", c.typed, c.value, got, c.want)
		}
	}
	if u, err := unit.NewSystem().Parse("psig"); err != nil || u.Measure.Dim != pascal || math.IsNaN(u.Scale) {
		t.Errorf("the dimension of a pressure is not that of psig: %v %v", u, err)
	}
}

// TestOrdinaryChanges asks about no change of up to a fifth, and none of up to 10 K,
// of any given of the templates.
func TestOrdinaryChanges(t *testing.T) {
	for _, s := range loadTemplates(t) {
		in, changes := fieldReader{s: s.s}, 0
		for _, c := range s.s.Model.Cells {
			if !c.Given || c.Plugged || c.Type.Form != check.Number || len(c.Choice) > 0 {
				continue
			}
			was := shownUnit(c.Unit).Clean(c.Value)
			for _, by := range []float64{0.8, 0.9, 0.95, 0.99, 1.01, 1.05, 1.1, 1.2} {
				v := trimmed(was * by)
				if m := c.Type.Measure; m.Dim == kelvin && m.Kind != unit.Relative {
					v = trimmed(c.Unit.Clean(c.Value + 50*(by-1)))
				}
				e := Entry{Place: sheet.Place{Cell: c}}
				if changes++; v != was {
					in.doubt(&e, v, was)
				}
				if e.Refused != "" {
					t.Errorf("%s: %s", s.name, e.Refused)
				}
			}
		}
		if changes == 0 {
			t.Errorf("%s: no given was changed", s.name)
		}
	}
}
