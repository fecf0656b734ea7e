package formulas_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
)

// TestOutsideValidity leaves the valid range of functions: the value is
// computed, and an advice names the condition.
func TestOutsideValidity(t *testing.T) {
	for _, c := range []struct{ formula, says string }{
		{"standard_pressure(25 km)", "from -5 to 20 km"},
		{"pressure_altitude(3 kPa)", "from -5 to 20 km"},
		{"density_altitude(3 kPa, 0 degC, 0 %)", "from -5 to 20 km"},
		{"saturation_pressure(-30 degC)", "from -20 to 370 degC"},
		{"vapour_pressure(20 degC, 120 %)", "between 0 and 100 %"},
		{"air_density(40 kPa, 20 degC, 50 %)", "60 to 110 kPa"},
		{"air_density(100 kPa, 65 degC, 50 %)", "15 to 27 degC"},
		{"humidity_from_wet_bulb(20 degC, 25 degC, 100 kPa)", "between freezing and the dry bulb"},
		{"power_correction_iso1585(95 kPa, 308.15 K)", "no correction beyond 7 %"}, // must warn: published row A-AIR-26
		{"power_correction_j1349(88 kPa, 308.15 K)", "no correction beyond 7 %"},
		{"gasoline_density(800 kg/m3, 20 degC)", "653 to 770 kg/m3"},
		{`fuel_density("toluene", 60 degC)`, "checked from 15 to 50 degC"},
		{`burnt_gas_heat_capacity("methanol", 0.8, 1800 K)`, "above 1700 K"},
		{`burnt_gas_molar_mass("methanol", 1) * burnt_gas_carbon_monoxide("gasoline", 0.4)`, "soot"},
		{`evaporated_share(2 degC, 100 kPa, 12, "ethanol")`, "colder than 0 degC"},
		{"power_by_oxygen(448 hp, 50 hp, 1.6)", "measure again"},
		{"carbon_dioxide_saturation_pressure(-60 degC)", "liquid from -56.6 to 31.0 degC"},
		{"nitrogen_density(50 MPa, 300 K)", "350 bar"},
		{"nitrous_oxide_liquid_density(-95 degC)", "liquid from -90.8 to 36.4 degC"},
		{"rolling_resistance(0.2 barg, 60 mph)", "car tyres"},
		{"disc_spring_force(50 mm, 25.4 mm, 2 mm, 1.4 mm, 2 mm)", "flat by now"},
		{"coil_duty(7 ms, 11000 rpm, 1)", "longer than the time between sparks"},
		{"breakdown_voltage(0.01 mm, 100 kPa, 20 degC)", "gaps of 0.1 mm"},
		{"paschen_voltage(1 kPa, 0.5 mm)", "left of the curve's minimum"},
		{"friction_factor_haaland(1500, 0)", "turbulent"},
		{"nozzle_pressure(500 cc/min, 5.7 mm2, 3.5 mm2, 0.75, 145 kPad, 787 kg/m3)", "boost blows back"},
		{"wire_resistance(-5, 1 m)", "between 0000 and 40"},
		{"blend_mass_fraction(110 %, 790 kg/m3, 745 kg/m3)", "between 0 and 100 %"},
		{"injector_flow(1000 cc/min, 43.5 psid, 5 psid)", "a quarter of the rated drop"},
		{"injector_drop(20 psig, 25 psig)", "pushes back into the rail"},
		{"commanded_duty(95 %, 1.2 ms, 11000 rpm)", "longer than the cycle"},
		{"compressor_outlet_temperature(20 degC, 2, 95 %)", "no compressor map"},
		{"power_correction_j1349(99 kPa, 40 degC)", "15 to 35 degC"},
		{"power_correction_iso1585(99 kPa, 48 degC)", "10 to 45 degC"},
		{"power_correction_din70020(101 kPa, 42 degC)", "chose 5 to 40 degC"},
		{"power_correction_j607(29.9 inHg, 2 degC)", "chose 5 to 40 degC"},
		{"boosted_air_ratio(97 kPa, -3 psig, 100 kPa)", "no boost below atmospheric"},
		{"oxygen_need(0, 0, 2)", "nothing to burn"},
		{"nitrous_afr(0, 0, 0, 2)", "nothing to burn"},
		{"injector_duty(13 ms, 10000 rpm)", "longer than the cycle"},
		{"duty_for_flow(900 lb/h, 791 kg/m3, 1685 cc/min, 4)", "bank's full flow"},
		{"centre_from_scales(-20 lb, 750 lb, 1720 mm)", "between zero and the total mass"},
		{"centre_height_from_tilt(1720 mm, 750 lb, 414 lb, -5 lb, 15 deg, 310 mm)", "between zero and the total mass"},
		{"combined_centre(560 lb, 960 mm, -20 lb, 700 mm)", "not negative"},
		{"wastegate_boost(-1 psig, 15 psig, 2.5, 25 psig, 0.35)", "not below the outside air"},
		{"wastegate_boost(1 psig, 0 psig, 2.5, 25 psig, 0.35)", "already opens the gate"},
		{"boost_for_density(0.5 kg/m3, 30 degC, 97 kPa)", "thinner than the outside air"},
		{"rear_load(750 lb, 1720 mm, 950 mm, 490 mm, 30 m/s2)", "has left the ground"},
		{"rear_load(750 lb, 1720 mm, 950 mm, 490 mm, -20 m/s2)", "has left the ground"},
		{"tyre_pressure_hot(-1 psig, 20 degC, 60 degC, 97 kPa)", "under vacuum"},
		{"rear_wheel_torque(80 lbf.ft, 10, 45 %)", "between 50 and 100 %"},
		{"grown_rollout(2 m, 90 m/s, 2.5e-5 s2/m2)", "more than 15 %"},
		{"compressor_efficiency(25 degC, 90 degC, 2.2)", "look at the readings"},
		{`fuel_saturation_pressure("ethanol", -8 degC)`, "from 0 to 100 degC"},
		{"chain_centre_distance(17 teeth, 45 teeth, 48 links, 15.875 mm)", "too short for these sprockets"},
		{"elapsed_time_for_power(7.2 s, 2)", "between days"},
	} {
		r := computed(t, load(t, c.formula, "outside = "+c.formula+"\n"))
		cell(t, r, "outside")
		said := ""
		for _, a := range r.Advices() {
			said += a.Cell + ": " + a.Text + "\n"
		}
		if !strings.Contains(said, "outside: ") || !strings.Contains(said, c.says) {
			t.Errorf("%s says %q, not %q", c.formula, said, c.says)
		}
	}
}

// TestInsideValidity keeps a hot day, a cold night and a mountain silent.
func TestInsideValidity(t *testing.T) {
	for i, formula := range []string{
		"air_density(97 kPa, 40 degC, 60 %)", "air_density(102 kPa, -5 degC, 90 %)", "oxygen_density(75 kPa, 25 degC, 20 %)",
		"density_altitude(75 kPa, 40 degC, 10 %)", "dew_point(5 degC, 30 %)", "fuel_density(\"gasoline\", 45 degC)",
		"power_correction_j1349(100 kPa, 15 degC)", "stage_rollout(305 mm, 2 in)", "trap_speed_rule(900 hp, 650 lb)",
	} {
		r := computed(t, load(t, formula, fmt.Sprintf("inside_%d = %s\n", i, formula)))
		for _, a := range r.Advices() {
			t.Errorf("%s: %s", formula, a.Text)
		}
	}
}

// TestOffTheCurve reads a curve beyond its end: a fault with the range where
// nothing is known, and an advice where the end's value is taken.
func TestOffTheCurve(t *testing.T) {
	const curve = "table map\n  flow  : 10, 20, 30 lb/min\n  ratio : 1.5, 2.1, 2.6\n"
	for _, form := range []string{"lookup", "lookup_monotone"} {
		r := computed(t, load(t, form, curve+"x = "+form+"(35 lb/min, map.flow, map.ratio)\n"))
		at, _ := r.Sheet.Model.Resolve("x")
		if f := r.Cell(at).Fault(); f == nil || !strings.Contains(f.Cause, "10 lb/min..30 lb/min") {
			t.Errorf("%s off its map: %v", form, f)
		}
	}
	for flow, want := range map[string]int{"5 lb/min": 1, "10 lb/min": 0, "30 lb/min": 0, "30.1 lb/min": 1} {
		r := computed(t, load(t, "clamped", curve+`
flow  : `+flow+`
alone = lookup_clamped(flow, map.flow, map.ratio)
other = if flow > 0 lb/min then 2 else lookup_clamped(flow, map.flow, map.ratio)
table points
  at    : 12, 25 lb/min
  ratio = lookup_clamped(at + flow - flow, map.flow, map.ratio)
`))
		said := r.Advices()
		if len(said) != want {
			t.Errorf("%s: %v", flow, said)
		}
		for _, a := range said {
			if a.Cell != "alone" || !strings.Contains(a.Text, "valid for min(map.flow) <= flow <= max(map.flow)") {
				t.Errorf("%s: %s: %s", flow, a.Cell, a.Text)
			}
		}
	}
}

// TestFaults calls functions where they have no value.
func TestFaults(t *testing.T) {
	for _, c := range []struct{ formula, cause string }{
		{`fuel_afr("kerosene")`, "kerosene"},
		{`fuel_density("Methanol", 20 degC)`, "Methanol"},
		{"compressor_efficiency(20 degC, 20 degC, 2)", "zero"},
		{"chain_length(17 teeth, 60 teeth, 50 mm, 15.875 mm)", "square root"},
		{"injector_flow(500 cc/min, 40 psid, -5 psid)", "square root"},
		{"injection_window(0 rpm)", "zero"},
		{"coil_rise_time(12 V, 2 V/A, 0.01 V.s/A, 7 A)", "above zero"},
		{"locked_torque(100 lbf.ft, 0 kg.m2, 0 lbf.ft, 0 kg.m2)", "zero"},
		{`molar_heat_capacity("argon", 300 K)`, "argon"},
		{"carbon_dioxide_saturation_pressure(35 degC)", "negative number to the power"},
		{`charge_after_evaporation(-50 degC, 100 kPa, 6, "methanol")`, "above zero"},
	} {
		r := computed(t, load(t, c.formula, "answer = "+c.formula+"\n"))
		at, _ := r.Sheet.Model.Resolve("answer")
		f := r.Cell(at).Fault()
		if f == nil {
			t.Errorf("%s has an answer", c.formula)
		} else if !strings.Contains(f.Cause, c.cause) {
			t.Errorf("%s: %s, which does not say %q", c.formula, f.Cause, c.cause)
		}
	}
}

// TestGasolineHasNoSaturationLine: a blend has no vapour pressure of its own,
// and nothing is invented for it.
func TestGasolineHasNoSaturationLine(t *testing.T) {
	r := computed(t, load(t, "gasoline", `limit_of = evaporation_limit(100 kPa, 20 degC, 12.5, "gasoline")`+"\n"))
	at, _ := r.Sheet.Model.Resolve("limit_of")
	if v := r.Cell(at).V; !kernel.IsBlank(v) && !kernel.IsFault(v) {
		t.Errorf("gasoline is saturated at %g", v)
	}
}

// TestPercentsHaveARange calls every function that takes a percentage with
// 7000 of it, which is the result of 70 read as a share: an advice says that
// this is outside.
func TestPercentsHaveARange(t *testing.T) {
	tried := 0
	for _, f := range library(t) {
		for i, p := range f.Params {
			if p.Unit == nil || !strings.HasSuffix(p.Unit.Text, "%") || len(f.Example) == 0 {
				continue
			}
			call := f.Example[0].(*syntax.Call)
			at := call.Args[i].Pos()
			start := call.Pos().Start
			text := f.tree.File.Slice(call.Pos())
			text = text[:at.Start-start] + "7000 " + p.Unit.Text + text[at.End-start:]
			r := computed(t, load(t, text, "outside = "+text+"\n"))
			if len(r.Advices()) == 0 {
				t.Errorf("%s says nothing", text)
			}
			tried++
		}
	}
	if tried < 20 {
		t.Errorf("only %d percentages tried", tried)
	}
}
