package templates_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gearleaf/sheet"
)

// A sign is the direction in which a change must move a cell, with bounds.
// Times are in milliseconds, everything else is relative to the previous value.
type sign struct {
	change string   // what is done, in words
	set    []string // how
	cell   string
	lo, hi float64
}

// anything bounds a move on one side only.
const anything = 1e6

// hotter is 20 degF more, with the water that the air holds at 84 degF and
// 58 %, or with as much as 58 % of what it can hold.
var (
	hotterSameWater    = []string{"air_temperature=104degF", "humidity=31.4%"}
	hotterSameRelative = []string{"air_temperature=104degF"}
	thinner            = []string{"barometer=24.90inHg", "elevation=4600ft"}
	holding            = []string{"clutch_spring=1050lbf"}
)

// signs are what a change must do to the machine of the set-up book. Bounds
// follow an independent integration of the same machine, made wide.
var signs = []sign{
	{"hotter, the same water", hotterSameWater, "predicted_time", 2, 20},
	{"hotter, the same water", hotterSameWater, "power_by_air", -0.04, -0.005},
	{"hotter, the same relative humidity", hotterSameRelative, "predicted_time", 15, 65},
	{"hotter, the same relative humidity", hotterSameRelative, "predicted_speed", -anything, -0.002},
	{"damp air", []string{"humidity=95%"}, "predicted_time", 5, 30},
	{"damp air", []string{"humidity=95%"}, "oxygen_ratio", -0.019, -0.013},
	{"damp air", []string{"humidity=95%"}, "lambda_today", -0.019, -0.013},
	{"thin air", thinner, "predicted_time", 35, 110},
	{"thin air", thinner, "oxygen_ratio", -0.085, -0.055},
	{"thin air", thinner, "fuel_flow_run", -0.085, -0.04},
	{"thin air", thinner, "commanded", -anything, -0.02},
	{"thin air", thinner, "fill_to", -0.04, -0.005}, // idling takes the same air on every day
	{"thin air", thinner, "phases.boost[1]", -0.3, -0.1},
	{"14 psig", []string{"boost=14psig"}, "predicted_time", 150, 330},
	{"14 psig", []string{"boost=14psig"}, "oxygen_ratio", -0.20, -0.13},
	{"14 psig", []string{"boost=14psig"}, "fuel_flow_run", -0.24, -0.12},
	{"14 psig", []string{"boost=14psig"}, "commanded", -0.2, -0.08},
	{"28 psig, the clutch holds", append([]string{"boost=28psig"}, holding...), "predicted_time", -250, -60},
	{"28 psig, the clutch holds", append([]string{"boost=28psig"}, holding...), "fuel_flow_run", 0.10, 0.20},
	{"28 psig", []string{"boost=28psig"}, "clutch_slip", 0.3, anything},
	{"28 psig", []string{"boost=28psig"}, "clutch_energy", 0.02, anything},
	{"28 psig", []string{"boost=28psig"}, "commanded", 0.06, anything},
	{"leaner wanted", []string{"lambda_run=0.78"}, "lambda_today", 0.04, 0.07},
	{"leaner wanted", []string{"lambda_run=0.78"}, "commanded", -0.07, -0.02},
	{"leaner wanted", []string{"lambda_run=0.78"}, "predicted_time", 0.5, 15},
	{"heavier", []string{"rider=210lb"}, "predicted_time", 15, 120},
	{"heavier", []string{"rider=210lb"}, "predicted_speed", -0.03, -0.003},
	{"more drag", []string{"drag_area=0.43m2"}, "predicted_time", 10, 80},
	{"more drag", []string{"drag_area=0.43m2"}, "predicted_speed", -0.04, -0.005},
	{"head wind", []string{"head_wind=10mph"}, "predicted_time", 30, 75},
	{"tail wind", []string{"head_wind=-10mph"}, "predicted_time", -75, -30},
	{"less grip", []string{"friction=1.5"}, "predicted_time", 200, 3000},
	{"more grip than the front wheel allows", []string{"friction=3.2"}, "predicted_time", -1, 1},
	{"a tooth more", []string{"rear_sprocket=43teeth"}, "finish_revs", 0.015, 0.03},
	{"a tooth more", []string{"rear_sprocket=43teeth"}, "lock_up", -anything, -0.005},
	{"taller", []string{"rear_sprocket=40teeth"}, "finish_revs", -0.09, -0.04},
	{"taller", []string{"rear_sprocket=40teeth"}, "clutch_energy", 0.05, 0.3},
	{"a weak spring", []string{"clutch_spring=600lbf"}, "clutch_slip", 0.1, anything},
	{"a weak spring", []string{"clutch_spring=600lbf"}, "clutch_energy", 0.005, anything},
	{"a weak spring", []string{"clutch_spring=600lbf"}, "predicted_time", 0.5, 300},
	{"no arms", []string{"arm_mass=0g"}, "clutch_slip", 0.02, anything},
	{"uphill", []string{"grade=0.5%"}, "predicted_time", 2, 20},
	{"rider back", []string{"rider_back=10mm"}, "predicted_time", 5, 40},
	{"a bar", []string{"wheelie_bar=yes"}, "predicted_time", -300, -20},
	{"later spark", []string{`preset="soft"`}, "predicted_time", 5, 200},
	{"a slow rise", []string{"rise_limit=1psid/s", `preset="soft"`}, "predicted_time", 3, 200},
}

// moved computes by how much cell moves from a to b: milliseconds of a time,
// parts of anything else.
func moved(t *testing.T, a, b *sheet.Result, cell string) float64 {
	t.Helper()
	before, after := value(t, a, cell), value(t, b, cell)
	if cell == "predicted_time" || cell == "elapsed_time" {
		return (after - before) * 1000
	}
	return after/before - 1
}

// TestSigns asks the book what a hotter day, more boost, a weaker clutch do.
func TestSigns(t *testing.T) {
	book := filepath.Join(folder(t), "set-up-book.leaf")
	was := with(t, book)
	for _, c := range signs {
		if got := moved(t, was, with(t, book, c.set...), c.cell); !(got >= c.lo && got <= c.hi) {
			t.Errorf("%s: %s moves by %g, want %g to %g", c.change, c.cell, got, c.lo, c.hi)
		}
	}
	if r := with(t, book, "boost=28psig"); !says(r, "It slips in the upper gears as well: more spring, more arm, or less boost") {
		t.Error("28 psig is more than the clutch holds, and no limit breaks")
	}
}

// TestColdMorningRunsLean is the dangerous side: more oxygen at the same
// boost, and fuel that follows it only as far as the fuelling does.
func TestColdMorningRunsLean(t *testing.T) {
	book := filepath.Join(folder(t), "set-up-book.leaf")
	cold := []string{"air_temperature=35degF", "barometer=30.4inHg", "humidity=30%", "elevation=0ft"}
	lambda := map[string]float64{}
	for _, fuelling := range []string{"pressure and temperature", "pressure", "none"} {
		r := with(t, book, append(cold, `fuelling="`+fuelling+`"`)...)
		lambda[fuelling] = value(t, r, "lambda_today")
	}
	if !(lambda["none"] > lambda["pressure"] && lambda["pressure"] > lambda["pressure and temperature"]-1e-9 && lambda["none"] > 0.76) {
		t.Errorf("lambda on a cold morning: %v", lambda)
	}
	lean := with(t, book, append(cold, `fuelling="none"`, "boost=24psig")...)
	if !says(lean, "The charge holds more air than the fuelling follows: leaner than what is known to be safe") {
		t.Errorf("lambda %g passes", value(t, lean, "lambda_today"))
	}
}

// TestBoostToHold sets the boost that the sheet names for the reference's
// charge: the charge is the reference's then, and the name does not move.
func TestBoostToHold(t *testing.T) {
	book := filepath.Join(folder(t), "set-up-book.leaf")
	hold := shown(t, with(t, book), "density_hold")
	r := with(t, book, fmt.Sprintf("boost=%.12gpsig", hold))
	within(t, "oxygen at the boost to hold", value(t, r, "oxygen_ratio"), 1, 3e-4)
	within(t, "the boost to hold, psig", shown(t, r, "density_hold"), hold, 1e-9)
	alone := shown(t, template(t, "air-of-the-day"), "density_hold")
	within(t, "alone, psig", shown(t, template(t, "air-of-the-day", "boost=27psig"), "density_hold"), alone, 1e-9)
}

// TestPowerReachesWheel has the pass run on the power that it is given.
func TestPowerReachesWheel(t *testing.T) {
	last := 0.0
	for _, power := range []string{"60%", "80%", "100%", "115%"} {
		r := template(t, "quarter-mile", "power_ratio="+power, "clutch_spring=1300lbf")
		if got := value(t, r, "elapsed_time"); last > 0 && !(got < last-0.01) {
			t.Errorf("%s: %g s after %g", power, got, last)
		} else {
			last = got
		}
	}
	// Beyond what the clutch holds, heat and slip show it.
	full, more := template(t, "quarter-mile"), template(t, "quarter-mile", "power_ratio=125%")
	if !(value(t, more, "clutch_energy") > 1.2*value(t, full, "clutch_energy")) || !says(more, "The clutch pack does not take this much heat") {
		t.Errorf("125 %% heat the clutch with %g J, 100 %% with %g", value(t, more, "clutch_energy"), value(t, full, "clutch_energy"))
	}
}

// TestNothingTypedTwice changes a number in one place and finds it wherever
// the book shows it.
func TestNothingTypedTwice(t *testing.T) {
	book := filepath.Join(folder(t), "set-up-book.leaf")
	r := with(t, book, "boost=19psig", "barometer=28.1inHg")
	within(t, "power of pass and boost sheet", value(t, r, "peak_power"), value(t, r, "power_ratio")*value(t, r, "reference_power"), 1e-6)
	within(t, "the plan's last stage is the boost", shown(t, r, "plan.boost[4]"), 19, 1e-9)
	within(t, "the race's phases run on it", shown(t, r, "phases.boost[9]"), 19, 1e-9)
	within(t, "the pass ends on it", value(t, r, "run.boost[300]"), value(t, r, "boost_today"), 1e-6)
}

// second is a machine that is in no template: 1,998 cc of gasoline with an
// intercooler, heavy, on street gearing.
const second = `gearleaf 1
title   "Another machine"
caution "Invented. The rule book and the makers' limits come first."
use "set-up-book.leaf"
fuel : "ethanol"
bore : 89 mm
stroke : 80.3 mm
machine_dry : 610 lb
rider : 215 lb
cooler : 70 %
evaporated : 25 %
port_heat : 15 deltaC
lambda_run : 0.82
reference_lambda : 0.82
lambda_safe : 0.92
boost : 17 psig
reference_boost : 18 psig
reference_charge_temperature : 52 degC
reference_evaporates : 25 %
reference_back_pressure : 19 psig
filling : 98 %
consumption : 0.78 lb/(hp.h)
power_per_air : 10.6 hp.min/lb
drag_area : 0.48 m2
clutch_spring : 900 lbf
friction : 2.2
`

// TestSignsOfAnotherMachine holds the signs on a machine that nothing was
// tuned to, and along sweeps.
func TestSignsOfAnotherMachine(t *testing.T) {
	dir := folder(t)
	path := filepath.Join(dir, "another.leaf")
	if err := os.WriteFile(path, []byte(second), 0o644); err != nil {
		t.Fatal(err)
	}
	was := with(t, path)
	for _, c := range []struct {
		setting, cell string
		way           float64
	}{
		{"air_temperature=104degF", "predicted_time", 1},
		{"air_temperature=60degF", "predicted_time", -1},
		{"barometer=26.5inHg", "predicted_time", 1},
		{"humidity=95%", "predicted_time", 1},
		{"humidity=95%", "lambda_today", -1},
		{"boost=20psig", "predicted_time", -1},
		{"boost=20psig", "fuel_flow_run", 1},
		{"boost=20psig", "commanded", 1},
		{"rider=260lb", "predicted_time", 1},
		{"drag_area=0.6m2", "predicted_speed", -1},
		{"head_wind=10mph", "predicted_time", 1},
		{"friction=1.3", "predicted_time", 1},
		{"lambda_run=0.78", "commanded", 1},
		{"clutch_spring=450lbf", "clutch_slip", 1},
		{"clutch_spring=450lbf", "clutch_energy", 1},
		{"cooler=30%", "predicted_time", 1},
	} {
		if got := moved(t, was, with(t, path, c.setting), c.cell) * c.way; !(got > 1e-5) {
			t.Errorf("%s: %s moves the other way, by %g", c.setting, c.cell, got)
		}
	}
	for _, c := range []struct {
		given  string
		values []string
		cell   string
		way    float64
	}{
		{"boost", []string{"11psig", "13psig", "15psig", "17psig", "19psig", "21psig"}, "predicted_time", -1},
		{"air_temperature", []string{"40degF", "60degF", "80degF", "100degF"}, "oxygen_ratio", -1},
		{"barometer", []string{"24inHg", "26inHg", "28inHg", "30inHg"}, "oxygen_ratio", 1},
		{"humidity", []string{"5%", "35%", "65%", "95%"}, "oxygen_ratio", -1},
		{"clutch_spring", []string{"300lbf", "450lbf", "600lbf"}, "clutch_slip", -1},
	} {
		last := value(t, with(t, path, c.given+"="+c.values[0]), c.cell)
		for _, v := range c.values[1:] {
			got := value(t, with(t, path, c.given+"="+v), c.cell)
			if !((got-last)*c.way > 0) {
				t.Errorf("%s to %s: %s goes from %g to %g", c.given, v, c.cell, last, got)
			}
			last = got
		}
	}
}
