package templates_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Ways in which these sheets were caught once: a reference read from today's
// value, a row typed where it should follow, readings counted as intervals, a
// part renewed within the book, a number read as a count.

// bookOf computes wear-and-cost on a book of these lines: pass, event, stack and
// heat.
func bookOf(t *testing.T, lines ...string) func(string) float64 {
	t.Helper()
	dir := folder(t)
	text := "pass,event,elapsed 660 s,elapsed 1320 s,speed 1320 mph,clutch stack mm,clutch heat kJ\n"
	for _, line := range lines {
		f := strings.Split(line, " ")
		text += strings.Join([]string{f[0], f[1], "4.7", "7.2", "193", f[2], f[3]}, ",") + "\n"
	}
	if err := os.WriteFile(filepath.Join(dir, "passes.csv"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	r := with(t, filepath.Join(dir, "wear-and-cost.leaf"))
	return func(name string) float64 { return shown(t, r, name) }
}

// TestRenewedClutch: a pack that is renewed within the book begins again, and
// right after the change the earlier packs predict.
func TestRenewedClutch(t *testing.T) {
	before := []string{"1 1 24.60 200", "2 1 24.40 210", "3 1 24.10 220", "4 1 23.60 230"}
	g := bookOf(t, before...)
	within(t, "three passes lie between four readings", g("pack_passes"), 3, 0)
	within(t, "left of the old pack", g("clutch_left"), 0.2*3/1.0, 1e-9)
	g = bookOf(t, append(before, "5 1 24.60 210")...)
	within(t, "a new pack has no pass behind it", g("pack_passes"), 0, 0)
	within(t, "left of the new pack, as the old one wore", g("clutch_left"), 1.2/(1.0/3), 1e-9)
	g = bookOf(t, append(before, "5 1 24.60 210", "6 1 24.20 215")...)
	within(t, "left by its own wear", g("clutch_left"), 0.8/0.4, 1e-9)
	within(t, "most by one pass, no growth taken for wear", g("stack_most"), 0.5, 1e-9)
	within(t, "wear for the heat of the passes that were measured", g("wear_of_heat"), (0.2+0.3+0.5+0.4)/(210+220+230+215), 1e-9)
	// The first line of a book has nothing before it, which shows in the life.
	g = bookOf(t, "1 1 24.60 200")
	within(t, "one reading goes by the life", g("clutch_left"), 22, 1e-9)
}

// TestEventsAreCounted: an event is counted once, whatever its number is.
func TestEventsAreCounted(t *testing.T) {
	g := bookOf(t, "1 3 24.6 200", "2 3 24.5 200", "3 7 24.4 200")
	within(t, "events", g("events_run"), 2, 0)
}

// TestNewPartsGoByTheirLife: a part without measurable wear divides by nothing.
func TestNewPartsGoByTheirLife(t *testing.T) {
	r := template(t, "wear-and-cost", "tyre_now=4.0mm", "tyre_passes=0pass", "chain_now=1524mm", "chain_passes=2pass")
	within(t, "a new tyre's passes", shown(t, r, "tyre_left"), 45, 1e-9)
	within(t, "a new chain's passes", shown(t, r, "chain_left"), 58, 1e-9)
	if r.Trouble() {
		t.Errorf("trouble: %v", r.Failures())
	}
}

// TestPlanFollows: the plan's power falls with the boost, whatever dome is
// set, and its rows follow the power peak.
func TestPlanFollows(t *testing.T) {
	was, less := template(t, "boost-and-turbo"), template(t, "boost-and-turbo", "boost=18psig")
	for _, row := range []string{"[1]", "[2]", "[3]", "[4]"} {
		if a, b := value(t, was, "plan.crank"+row), value(t, less, "plan.crank"+row); !(b < 0.97*a) {
			t.Errorf("stage %s: %g W at 21 psig, %g at 18", row, a, b)
		}
		if a, b := value(t, was, "plan.dome"+row), value(t, less, "plan.dome"+row); !(b < a) {
			t.Errorf("stage %s: dome %g at 21 psig, %g at 18", row, a, b)
		}
	}
	peak := template(t, "boost-and-turbo", "power_peak=9000rpm")
	within(t, "the map's second point, rpm", shown(t, peak, "points.at[2]"), 9000, 1e-9)
}

// TestReferenceStands: nothing of the reference moves with today.
func TestReferenceStands(t *testing.T) {
	book := filepath.Join(folder(t), "set-up-book.leaf")
	was := with(t, book)
	now := with(t, book, "boost=26psig", "barometer=27.9inHg", "air_temperature=60degF", "humidity=20%", "lambda_run=0.7", "cooler=50%", "evaporated=45%")
	for _, name := range []string{"reference_charge", "reference_oxygen", "reference_manifold", "reference_grains", "reference_air_share", "reference_power", "reference_flow", "reference_exhaust_filling"} {
		within(t, name, value(t, now, name), value(t, was, name), 1e-9*value(t, was, name))
	}
}
