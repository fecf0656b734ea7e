package templates_test

import (
	"os"
	"path/filepath"
	"testing"

	"gearleaf/sheet"
)

// TestNamesStay: cells that a day's sheet overrides, a report shows and a sweep
// names keep their names and what they measure; a day's sheet of the first
// version plugs into today's book.
func TestNamesStay(t *testing.T) {
	book := with(t, filepath.Join(folder(t), "set-up-book.leaf"))
	for name, quantity := range map[string]string{
		"predicted_time": "1 s", "predicted_speed": "1 mph", "boost": "1 psig", "air_temperature": "60 degF", "barometer": "29 inHg",
		"humidity": "50 %", "power_by_air": "1 hp", "commanded": "80 %", "fuel_flow_run": "1 lb/h", "clutch_friction": "0.1",
		"clutch_energy": "1 kJ", "density_hold": "1 psig", "clutch_left": "", "plan.crank": "1 hp",
	} {
		p, d := book.Sheet.Place(name)
		if d != nil {
			if p, d = book.Sheet.Place(name + "[1]"); d != nil {
				t.Errorf("the book has no %s: %s", name, d.Message)
				continue
			}
		}
		if quantity == "" { // passes are a unit of each sheet's own
			continue
		}
		probe, list := sheet.FromText("probe.leaf", "probe : "+quantity+"\n")
		if probe == nil {
			t.Fatal(list)
		}
		want, _ := probe.Model.Resolve("probe")
		if got := p.Quantity().Type.Measure; got.Dim != want.Type.Measure.Dim || got.Kind != want.Type.Measure.Kind {
			t.Errorf("%s measures %s now", name, p.Quantity().Unit.Symbol)
		}
	}
	dir := folder(t)
	old, err := os.ReadFile("../testdata/frozen/saturday.leaf")
	if err != nil {
		t.Fatal(err)
	}
	day := filepath.Join(dir, "saturday.leaf")
	if err := os.WriteFile(day, old, 0o644); err != nil {
		t.Fatal(err)
	}
	within(t, "the old day's time, s", value(t, with(t, day), "predicted_time"), 7.25, 0.1)
}
