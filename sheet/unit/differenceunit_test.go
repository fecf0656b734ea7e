package unit_test

import (
	"testing"

	"gearleaf/sheet/unit"
)

// TestDifferenceUnit: every point and every difference of the catalogue has a unit of
// differences with its scale.
func TestDifferenceUnit(t *testing.T) {
	for symbol, want := range map[string]string{
		"degF": "deltaF", "degC": "deltaC", "deltaF": "deltaF", "psia": "psid", "psig": "psid", "psid": "psid", "kPa": "kPad",
		"kPag": "kPad", "bara": "bard", "barg": "bard", "inHg": "inHgd", "inHgg": "inHgd", "mbar": "mbard", "hPa": "hPad", "K": "K", "mm": "mm", "%": "%", "vol%": "vol%",
	} {
		u, err := unit.NewSystem().Parse(symbol)
		if err != nil {
			t.Fatal(err)
		}
		d := u.DifferenceUnit()
		if d.Symbol != want || d.Scale != u.Scale || d.Offset != 0 || d.Measure.Dim != u.Measure.Dim {
			t.Errorf("the difference of %s is in %+v, want %s", symbol, d, want)
		}
	}
	for _, row := range unit.Catalog() {
		if d := row.Unit.DifferenceUnit(); row.Unit.Measure.Kind == unit.Absolute && (d.Symbol == row.Symbol || d.Measure.Kind != unit.Relative) {
			t.Errorf("the difference of %s is in %s", row.Symbol, d.Symbol)
		}
	}
}
