package formulas_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"gearleaf/formulas"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// contract is the functions that worksheets written elsewhere rely on: names,
// the order of arguments, and what each measures, kinds included.
const contract = `
standard_pressure(altitude: ft) as kPa
standard_temperature(altitude: ft) as degC
standard_density(altitude: ft) as kg/m3
saturation_pressure(temperature: degC) as Pa
vapour_pressure(temperature: degF, relative_humidity: %) as Pa
dry_pressure(pressure: kPa, temperature: degF, relative_humidity: %) as kPa
dew_point(temperature: degF, relative_humidity: %) as degF
humidity_from_wet_bulb(dry_bulb: degF, wet_bulb: degF, pressure: kPa) as %
humidity_ratio(pressure: kPa, temperature: degF, relative_humidity: %) as gr/lb
air_density(pressure: kPa, temperature: degF, relative_humidity: %) as kg/m3
dry_air_density(pressure: kPa, temperature: degF, relative_humidity: %) as kg/m3
oxygen_density(pressure: kPa, temperature: degF, relative_humidity: %) as kg/m3
density_altitude(pressure: inHg, temperature: degF, relative_humidity: %) as ft
pressure_altitude(pressure: kPa) as ft
station_pressure(altimeter_setting: inHg, elevation: ft) as inHg
power_correction_j1349(dry_pressure: kPa, temperature: degF) as 1
power_correction_iso1585(dry_pressure: kPa, temperature: degF) as 1
power_correction_j607(dry_pressure: inHg, temperature: degF) as 1
power_correction_din70020(pressure: kPa, temperature: degF) as 1
boosted_air_ratio(ambient: kPa, boost: psig, reference_ambient: kPa) as 1
molar_mass(c: 1, h: 1, o: 1, n: 1) as g/mol
stoichiometric_afr(c: 1, h: 1, o: 1, n: 1) as 1
fuel_afr(fuel: text) as 1
fuel_density(fuel: text, temperature: degC) as kg/m3
lower_heating_value(fuel: text) as MJ/kg
heat_of_vaporisation(fuel: text) as kJ/kg
blend_mass_fraction(volume_fraction_a: vol%, density_a: kg/m3, density_b: kg/m3) as mass%
blend_afr(mass_fraction_a: mass%, afr_a: 1, afr_b: 1) as 1
wet_fuel_afr(afr: 1, water_mass_fraction: mass%) as 1
lambda(afr: 1, stoichiometric_afr: 1) as 1
displayed_afr(lambda: 1, scale_afr: 1) as 1
fuel_flow(air_flow: lb/min, afr: 1) as lb/h
power_from_fuel(fuel_flow: lb/h, lower_heating_value: MJ/kg, efficiency: %) as hp
fuel_for_power(power: hp, brake_specific_consumption: lb/(hp.h)) as lb/h
specific_consumption(fuel_flow: lb/h, power: hp) as lb/(hp.h)
nitrous_afr(c: 1, h: 1, o: 1, n: 1) as 1
evaporation_cooling(afr: 1, heat_of_vaporisation: kJ/kg, evaporated_fraction: %) as deltaC
methanol_saturation_pressure(temperature: degC) as Pa
evaporation_limit(manifold: kPa, temperature: degC, afr: 1, fuel: text) as 1
air_partial_pressure(manifold: kPa, afr: 1, evaporated_fraction: %, fuel_molar_mass: g/mol) as kPa
injector_flow(rated_flow: cc/min, rated_drop: psid, drop: psid) as cc/min
injector_flow_on_fuel(rated_flow: cc/min, rated_drop: psid, drop: psid, test_density: kg/m3, fuel_density: kg/m3) as cc/min
injector_drop(rail: psig, manifold: psig) as psid
injection_window(engine_speed: rpm) as ms
injector_duty(pulse_width: ms, engine_speed: rpm) as %
pulse_width_for(fuel_per_injection: cc, static_flow: cc/min, offset: ms) as ms
duty_for_flow(fuel_flow: lb/h, fuel_density: kg/m3, static_flow: cc/min, count: 1) as %
commanded_duty(hydraulic_duty: %, offset: ms, engine_speed: rpm) as %
pump_margin(pump_flow_at_rail: cc/min, fuel_flow: cc/min) as %
pressure_ratio(outlet: kPa, inlet: kPa) as 1
compressor_outlet_temperature(inlet_temperature: degC, pressure_ratio: 1, efficiency: %) as degC
compressor_efficiency(inlet_temperature: degC, outlet_temperature: degC, pressure_ratio: 1) as 1
compressor_power(air_flow: lb/min, inlet_temperature: degC, outlet_temperature: degC) as hp
turbine_power(gas_flow: lb/min, inlet_temperature: degC, expansion_ratio: 1, efficiency: %) as hp
expansion_ratio_for_power(power: hp, gas_flow: lb/min, inlet_temperature: degC, efficiency: %) as 1
intercooler_outlet_temperature(inlet_temperature: degC, coolant_temperature: degC, effectiveness: %) as degC
engine_air_flow(displacement: cc, engine_speed: rpm, volumetric_efficiency: %, manifold: kPa, manifold_temperature: degC) as lb/min
corrected_air_flow(air_flow: lb/min, inlet_temperature: degC, inlet_pressure: kPa, reference_temperature: degC, reference_pressure: kPa) as lb/min
corrected_shaft_speed(shaft_speed: rpm, inlet_temperature: degC, reference_temperature: degC) as rpm
boost_for_density(target_density: kg/m3, manifold_temperature: degC, ambient: kPa) as psig
wastegate_boost(spring: psig, dome: psig, dome_to_valve_area: 1, exhaust: psig, valve_to_actuator_area: 1) as psig
displacement(bore: mm, stroke: mm, cylinders: 1) as cc
mean_piston_speed(stroke: mm, engine_speed: rpm) as m/s
brake_mean_effective_pressure(power: hp, displacement: cc, engine_speed: rpm) as MPa
final_ratio(rear_teeth: teeth, front_teeth: teeth) as 1
overall_ratio(primary_ratio: 1, gear_ratio: 1, final_ratio: 1) as 1
road_speed(engine_speed: rpm, overall_ratio: 1, rollout: mm) as mph
engine_speed_at(road_speed: mph, overall_ratio: 1, rollout: mm) as rpm
speed_after_shift(engine_speed: rpm, ratio_from: 1, ratio_to: 1) as rpm
rear_wheel_torque(engine_torque: lbf.ft, overall_ratio: 1, efficiency: %) as lbf.ft
tyre_rollout(outer_diameter: mm) as mm
tyre_diameter(rim_diameter: in, section_width: mm, aspect: %) as mm
wheel_radius(rollout: mm) as mm
grown_rollout(rollout: mm, road_speed: mph, growth_per_speed_squared: s2/m2) as mm
slip(wheel_speed: mph, ground_speed: mph) as %
tyre_pressure_hot(cold: psig, cold_temperature: degF, hot_temperature: degF, ambient: kPa) as psig
sprocket_pitch_diameter(pitch: mm, teeth: teeth) as mm
chain_length(front_teeth: teeth, rear_teeth: teeth, centre_distance: mm, pitch: mm) as links
chain_length_handbook(front_teeth: teeth, rear_teeth: teeth, centre_distance: mm, pitch: mm) as links
chain_centre_distance(front_teeth: teeth, rear_teeth: teeth, links: links, pitch: mm) as mm
chain_speed(front_teeth: teeth, shaft_speed: rpm, pitch: mm) as m/s
chain_pull(shaft_torque: lbf.ft, front_teeth: teeth, pitch: mm) as lbf
chain_pull_from_thrust(thrust: lbf, rollout: mm, rear_teeth: teeth, pitch: mm) as lbf
chordal_variation(teeth: teeth) as %
wheelie_limit(centre_of_mass_ahead_of_rear_axle: mm, centre_of_mass_height: mm) as m/s2
wheelie_limit_with_drag(centre_of_mass_ahead_of_rear_axle: mm, centre_of_mass_height: mm, drag: lbf, drag_height: mm, mass: lb) as m/s2
traction_limit(friction: 1, wheelbase: mm, centre_of_mass_ahead_of_rear_axle: mm, centre_of_mass_height: mm) as m/s2
rear_load(mass: lb, wheelbase: mm, centre_of_mass_ahead_of_rear_axle: mm, centre_of_mass_height: mm, acceleration: m/s2) as lbf
centre_from_scales(front_load: lb, total_mass: lb, wheelbase: mm) as mm
centre_height_from_tilt(wheelbase: mm, total_mass: lb, front_load_level: lb, front_load_tilted: lb, tilt_angle: deg, axle_height: mm) as mm
combined_centre(mass_a: lb, place_a: mm, mass_b: lb, place_b: mm) as mm
equivalent_mass(inertia: kg.m2, overall_ratio: 1, rollout: mm) as lb
drag_force(air_density: kg/m3, drag_area: m2, air_speed: mph) as lbf
power_for_speed(drag_area: m2, air_density: kg/m3, rolling_force: lbf, speed: mph) as hp
shaft_power(torque: lbf.ft, speed: rpm) as hp
shaft_torque(power: hp, speed: rpm) as lbf.ft
clutch_torque(friction: 1, plates: 1, clamp_force: lbf, mean_radius: mm) as lbf.ft
centrifugal_clamp(arm_mass: g, radius: mm, speed: rpm) as lbf
stopping_distance(speed: mph, deceleration: m/s2) as ft
trap_speed_rule(power: hp, mass: lb) as mph
ideal_trap_speed(power: hp, mass: lb, distance: ft) as mph
ideal_elapsed_time(power: hp, mass: lb, distance: ft) as s
power_from_trap(speed: mph, mass: lb) as hp
elapsed_time_for_power(elapsed_time: s, power_ratio: 1) as s
stage_rollout(wheel_radius: mm, beam_height: mm) as in
remaining_passes(new, now: new, limit: new, passes_so_far: pass) as pass
cost_per_pass(price, life) as price/life
molar_heat_capacity(gas: text, temperature: degC) as J/(mol.K)
burnt_gas_molar_mass(fuel: text, lambda: 1) as g/mol
burnt_gas_carbon_monoxide(fuel: text, lambda: 1) as 1
burnt_gas_heat_capacity(fuel: text, lambda: 1, temperature: degC) as J/(kg.K)
burnt_gas_heat_ratio(fuel: text, lambda: 1, temperature: degC) as 1
clutch_torque_uniform_wear(friction: 1, surfaces: 1, clamp_force: lbf, outer_diameter: mm, inner_diameter: mm) as lbf.ft
clutch_torque_uniform_pressure(friction: 1, surfaces: 1, clamp_force: lbf, outer_diameter: mm, inner_diameter: mm) as lbf.ft
centrifugal_clutch_torque(friction: 1, shoes: 1, shoe_mass: kg, radius: mm, engagement_speed: rpm, speed: rpm, drum_radius: mm) as lbf.ft
coil_spring_rate(wire_diameter: mm, mean_diameter: mm, active_coils: 1, shear_modulus: GPa) as lbf/in
disc_spring_force(outer_diameter: mm, inner_diameter: mm, thickness: mm, cone_height: mm, deflection: mm) as lbf
load_transfer(mass: kg, acceleration: m/s2, centre_of_mass_height: mm, wheelbase: mm) as lbf
squat_ratio(swing_arm_angle: deg, chain_angle: deg, wheel_radius: mm, sprocket_radius: mm, centre_of_mass_height: mm, wheelbase: mm) as 1
wheelie_limit_with_inertia(centre_of_mass_ahead_of_rear_axle: mm, centre_of_mass_height: mm, mass: kg, inertia: kg.m2, rollout: mm) as m/s2
wheelie_bar_load(mass: kg, centre_of_mass_ahead_of_rear_axle: mm, centre_of_mass_height: mm, acceleration: m/s2, bar_length: mm) as lbf
rolling_resistance(pressure: barg, speed: km/h) as 1
chain_centrifugal_pull(mass_per_length: kg/m, chain_speed: m/s) as lbf
charge_density(manifold: kPa, temperature: degC, afr: 1, evaporated_fraction: %, fuel_molar_mass: g/mol) as kg/m3
charge_after_evaporation(temperature: degC, manifold: kPa, afr: 1, fuel: text) as degC
evaporated_share(temperature: degC, manifold: kPa, afr: 1, fuel: text) as 1
total_temperature_ratio(mach: 1, heat_ratio: 1) as 1
total_pressure_ratio(mach: 1, heat_ratio: 1) as 1
mach_from_total_pressure_ratio(total_pressure_ratio: 1, heat_ratio: 1) as 1
gas_spring_pressure(charge_pressure: kPa, charge_volume: cc, volume: cc, exponent: 1) as kPa
carbon_dioxide_saturation_pressure(temperature: degC) as MPa
carbon_dioxide_liquid_density(temperature: degC) as kg/m3
carbon_dioxide_vapour_density(temperature: degC) as kg/m3
carbon_dioxide_density(pressure: kPa, temperature: degC) as kg/m3
nitrogen_density(pressure: kPa, temperature: degC) as kg/m3
nitrous_oxide_saturation_pressure(temperature: degC) as MPa
nitrous_oxide_liquid_density(temperature: degC) as kg/m3
nitrous_oxide_vapour_density(temperature: degC) as kg/m3
fuel_saturation_pressure(fuel: text, temperature: degC) as Pa
reynolds_number(speed: m/s, diameter: mm, density: kg/m3, viscosity: Pa.s) as 1
friction_factor_haaland(reynolds_number: 1, relative_roughness: 1) as 1
friction_factor(reynolds_number: 1, relative_roughness: 1) as 1
pipe_pressure_drop(friction_factor: 1, length: m, diameter: mm, density: kg/m3, speed: m/s) as kPad
orifice_flow(diameter: mm, discharge: 1, drop: kPad, density: kg/m3) as cc/min
acceleration_head(density: kg/m3, acceleration: m/s2, length: mm) as kPad
coil_current(voltage: V, resistance: V/A, inductance: V.s/A, time: ms) as A
coil_rise_time(voltage: V, resistance: V/A, inductance: V.s/A, current: A) as ms
coil_energy(inductance: mH, current: A) as mJ
paschen_voltage(pressure: kPa, gap: mm) as kV
breakdown_voltage(gap: mm, pressure: kPa, temperature: degC) as kV
battery_discharge_time(capacity: Ah, rated_time: h, current: A, peukert_exponent: 1) as min
wire_resistance(gauge: 1, length: m) as ohm
prediction_sd(residual_sd, count: 1, x, mean_x: x, sum_of_squares) as residual_sd
`

// contractIntrinsics is the functions that no formula says.
const contractIntrinsics = `abs sqrt cbrt exp ln log10 sin cos tan asin acos atan atan2 min max floor ceil round mod sign hypot plain gcd
lookup lookup_clamped lookup_monotone first_at pick sum mean count first last pi
regression_intercept regression_slope regression_intercept_sd regression_slope_sd regression_residual_sd regression_mean_sd regression_prediction_sd effective_freedom`

// function is one function of the library with the file it is written in.
type function struct {
	*syntax.Function
	tree *syntax.Worksheet
}

// library returns every function of the library in order.
func library(t testing.TB) []function {
	t.Helper()
	var all []function
	for _, file := range formulas.Files() {
		tree, list := syntax.Parse(file)
		for _, d := range list {
			t.Errorf("%s: %s", file.Name, d.Message)
		}
		for _, s := range tree.Stmts {
			if f, ok := s.(*syntax.Function); ok {
				all = append(all, function{f, tree})
			}
		}
	}
	if t.Failed() {
		t.FailNow()
	}
	return all
}

func TestFilesStandInOneOrder(t *testing.T) {
	last := ""
	for _, f := range formulas.Files() {
		if f.Name <= last || !strings.HasSuffix(f.Name, ".leaf") {
			t.Errorf("%s after %s", f.Name, last)
		}
		last = f.Name
	}
}

func TestContract(t *testing.T) {
	heads := map[string]string{}
	for _, f := range sheet.Functions() {
		heads[measured(t, f.Usage)] = f.Name
	}
	for head := range strings.Lines(strings.TrimSpace(contract)) {
		if head = strings.TrimSpace(head); heads[measured(t, head)] == "" {
			t.Errorf("the library has no %s", head)
		}
	}
	intrinsics := map[string]bool{}
	for _, in := range formulas.Intrinsics() {
		intrinsics[in.Name] = true
	}
	for _, name := range strings.Fields(contractIntrinsics) {
		if !intrinsics[name] {
			t.Errorf("there is no intrinsic %s", name)
		}
	}
}

// unitOf is a parameter's unit, or a result's.
var unitOf = regexp.MustCompile(`: ([^,]+?)(?:,|\)(?: as |$))|\) as (.+)$`)

// measured writes a head with measures in the place of units.
func measured(t *testing.T, head string) string {
	t.Helper()
	system := unit.NewSystem()
	return unitOf.ReplaceAllStringFunc(head, func(text string) string {
		m := unitOf.FindStringSubmatch(text)
		name := m[1] + m[2]
		u, problem := system.Parse(name)
		if problem != nil {
			return text // text, another parameter, price/life
		}
		return strings.Replace(text, name, fmt.Sprint(u.Measure), 1)
	})
}

func TestEveryFunctionIsWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range library(t) {
		name := f.Name.Text
		if seen[name] {
			t.Errorf("%s is in the library twice", name)
		}
		seen[name] = true
		if f.Meaning == nil || !strings.HasSuffix(f.Meaning.Text, ".") {
			t.Errorf("%s has no meaning in a sentence", name)
		}
		if len(f.Sources) == 0 {
			t.Errorf("%s cites no source", name)
		}
		if len(f.Example) == 0 {
			t.Errorf("%s has no worked example", name)
		}
		for _, e := range f.Example {
			if call, ok := e.(*syntax.Call); !ok || call.Name.Text != name {
				t.Errorf("an example of %s does not call it", name)
			}
		}
	}
}

// examples returns a worksheet with a cell for every example of the library.
func examples(t testing.TB) (text string, names []string) {
	t.Helper()
	var b strings.Builder
	for _, f := range library(t) {
		for i, e := range f.Example {
			name := f.Name.Text
			if i > 0 {
				name += strings.Repeat("_again", i)
			}
			names = append(names, name)
			b.WriteString(name + " = " + f.tree.File.Slice(e.Pos()) + "\n")
		}
	}
	return b.String(), names
}

// load checks and compiles text and fails the test on any diagnostic.
func load(t testing.TB, name, text string) *sheet.Sheet {
	t.Helper()
	s, list := sheet.FromText(name, text)
	for _, d := range list {
		where := ""
		if d.File != nil {
			at := d.File.Position(d.Span.Start)
			where = d.File.Name + ":" + d.File.Slice(d.File.Line(at.Line-1)) + ": "
		}
		t.Errorf("%s: %s%s", name, where, d.Message)
	}
	if s == nil {
		t.FailNow()
	}
	return s
}

// computed evaluates s on both evaluators.
func computed(t testing.TB, s *sheet.Sheet) *sheet.Result {
	t.Helper()
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// cell returns the value and the declaration of the cell called name.
func cell(t testing.TB, r *sheet.Result, name string) (float64, *check.Cell) {
	t.Helper()
	c, _ := r.Sheet.Model.Resolve(name)
	if c == nil {
		t.Fatalf("there is no cell %s", name)
	}
	v := r.Cell(c)
	if f := v.Fault(); f != nil {
		t.Errorf("%s: %s", name, f.Cause)
	}
	return v.V, c
}

// TestExamples computes every worked example: no diagnostic, no fault, inside
// its function's validity, and the same on both evaluators.
func TestExamples(t *testing.T) {
	text, names := examples(t)
	r := computed(t, load(t, "examples", text))
	for _, name := range names {
		if v, _ := cell(t, r, name); kernel.IsBlank(v) {
			t.Errorf("the example of %s is blank", name)
		}
	}
	for _, a := range r.Advices() {
		t.Errorf("the example of %s is outside: %s", a.Cell, a.Text)
	}
}

func TestIntrinsicsAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, in := range formulas.Intrinsics() {
		key := in.Name
		if in.Aggregate != kernel.NoAggregate {
			key += " of a column"
		}
		if seen[key] {
			t.Errorf("%s has two rows", key)
		}
		seen[key] = true
		if in.Meaning == "" || in.Usage == "" || in.Why == "" || in.Example == "" {
			t.Errorf("%s lacks its meaning, its usage, an example or why it is an intrinsic", key)
		}
		if !strings.HasPrefix(in.Usage, in.Name) {
			t.Errorf("%s is used as %s", in.Name, in.Usage)
		}
		spelled := in.Sheet != ""
		if in.Lookup == kernel.NoLookup && !spelled {
			t.Errorf("%s has no spelling in a workbook", key)
		}
		for _, arg := range []string{"$1", "$2"}[:min(max(in.Min, 0), 2)] {
			if in.Sheet != "" && !strings.Contains(in.Sheet, arg) {
				t.Errorf("%s spells %s without %s", key, in.Sheet, arg)
			}
		}
	}
}

// TestIntrinsicExamples computes the worked example of every intrinsic and
// compares it with what a pocket calculator says.
func TestIntrinsicExamples(t *testing.T) {
	want := map[string]string{
		"pi": "6.28319", "abs": "3.5 psid", "sign": "-1", "min": "1.2192 m", "max": "3 m", "plain": "144790 Pa", "hypot": "5 m",
		"sqrt": "1.41421 m", "cbrt": "-3", "exp": "2.71828", "ln": "2.30259", "log10": "3",
		"sin": "0.18375", "cos": "0.5", "tan": "1", "asin": "0.0833333 turn", "acos": "0.25 turn", "atan": "0.125 turn", "atan2": "0.125 turn",
		"floor": "6", "ceil": "111", "round": "-3", "mod": "2", "gcd": "1",
		"sum of a column": "92 m/s", "mean of a column": "23 m/s", "min of a column": "0 m/s", "max of a column": "40 m/s",
		"count of a column": "4", "first of a column": "0 m/s", "last of a column": "40 m/s",
		"lookup": "26 m/s", "lookup_clamped": "40 m/s", "lookup_monotone": "26.675 m/s", "first_at": "1.83333 s", "pick": "32 m/s",
		// By hand: means 1.5 s and 23 m/s, products 66 m, squares 5 s2, residuals -3.2, 3.6, 2.4, -2.8 m/s.
		"regression_slope": "13.2 m/s2", "regression_intercept": "3.2 m/s", "regression_mean": "56 m/s", "regression_residual_sd": "4.28952 m/s",
		"regression_slope_sd": "1.91833 m/s2", "regression_intercept_sd": "3.58887 m/s", "regression_mean_sd": "5.25357 m/s", "regression_prediction_sd": "6.78233 m/s", "effective_freedom": "12.7956",
	}
	for _, in := range formulas.Intrinsics() {
		key := in.Name
		if in.Aggregate != kernel.NoAggregate {
			key += " of a column"
		}
		result, ok := want[key]
		if !ok {
			t.Errorf("%s: add the result of its example, from a pocket calculator, to this test", key)
		}
		if got, err := sheet.Worked(in.Example); err != nil || got != result {
			t.Errorf("%s: %s is %s, %v; want %s", key, in.Example, got, err, result)
		}
	}
}

// TestFilesPrintAsThemselves keeps the library in the language's own layout.
func TestFilesPrintAsThemselves(t *testing.T) {
	for _, file := range formulas.Files() {
		tree, _ := syntax.Parse(file)
		printed := strings.Split(syntax.Print(tree), "\n")
		for i, line := range strings.Split(file.Text, "\n") {
			if i >= len(printed) || printed[i] != line {
				t.Errorf("%s:%d is laid out otherwise: %q", file.Name, i+1, line)
				break
			}
		}
	}
}
