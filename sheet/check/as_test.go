package check_test

import (
	"strings"
	"testing"

	"gearleaf/sheet/diag"
)

// TestAsThatFailsIsToldOnce has a cell that cannot be shown in its unit:
// what reads it is not at fault, and the help is about the formula.
func TestAsThatFailsIsToldOnce(t *testing.T) {
	for _, text := range []string{
		"ambient : 97 kPa\nboost : 21 psig\nmanifold = ambient / boost as kPa\nbehind = manifold + boost as kPa\nlimit behind < 300 kPa\n",
		"way : 660 ft\nspeed = way * 2 as mph\nenergy = speed^2 * 3 kg as kJ\n",
	} {
		_, list := sheet(t, text)
		if len(list) != 1 || list[0].Severity != diag.Error {
			t.Errorf("%s: %d reports, want one error: %v", text, len(list), list)
			continue
		}
		if strings.Contains(list[0].Help, "give manifold a unit") {
			t.Errorf("the help %q tells a computed cell to have a unit", list[0].Help)
		}
	}
}
