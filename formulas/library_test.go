package formulas_test

import (
	"strings"
	"testing"

	"gearleaf/formulas"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
)

// contract is the functions that worksheets written elsewhere rely on, by
// name and order of arguments.
const contract = `
standard_pressure(altitude)
standard_temperature(altitude)
standard_density(altitude)
saturation_pressure(temperature)
vapour_pressure(temperature, relative_humidity)
dry_pressure(pressure, temperature, relative_humidity)
dew_point(temperature, relative_humidity)
humidity_from_wet_bulb(dry_bulb, wet_bulb, pressure)
humidity_ratio(pressure, temperature, relative_humidity)
air_density(pressure, temperature, relative_humidity)
dry_air_density(pressure, temperature, relative_humidity)
oxygen_density(pressure, temperature, relative_humidity)
density_altitude(pressure, temperature, relative_humidity)
pressure_altitude(pressure)
station_pressure(altimeter_setting, elevation)
power_correction_j1349(dry_pressure, temperature)
power_correction_iso1585(dry_pressure, temperature)
power_correction_j607(dry_pressure, temperature)
power_correction_din70020(pressure, temperature)
boosted_air_ratio(ambient, boost, reference_ambient)
molar_mass(c, h, o, n)
stoichiometric_afr(c, h, o, n)
fuel_afr(fuel)
fuel_density(fuel, temperature)
lower_heating_value(fuel)
heat_of_vaporisation(fuel)
blend_mass_fraction(volume_fraction_a, density_a, density_b)
blend_afr(mass_fraction_a, afr_a, afr_b)
wet_fuel_afr(afr, water_mass_fraction)
lambda(afr, stoichiometric_afr)
displayed_afr(lambda, scale_afr)
fuel_flow(air_flow, afr)
power_from_fuel(fuel_flow, lower_heating_value, efficiency)
fuel_for_power(power, brake_specific_consumption)
specific_consumption(fuel_flow, power)
nitrous_afr(c, h, o, n)
evaporation_cooling(afr, heat_of_vaporisation, evaporated_fraction)
methanol_saturation_pressure(temperature)
evaporation_limit(manifold, temperature, afr, fuel)
air_partial_pressure(manifold, afr, evaporated_fraction, fuel_molar_mass)
injector_flow(rated_flow, rated_drop, drop)
injector_flow_on_fuel(rated_flow, rated_drop, drop, test_density, fuel_density)
injector_drop(rail, manifold)
injection_window(engine_speed)
injector_duty(pulse_width, engine_speed)
pulse_width_for(fuel_per_injection, static_flow, offset)
duty_for_flow(fuel_flow, fuel_density, static_flow, count)
commanded_duty(hydraulic_duty, offset, engine_speed)
pump_margin(pump_flow_at_rail, fuel_flow)
pressure_ratio(outlet, inlet)
compressor_outlet_temperature(inlet_temperature, pressure_ratio, efficiency)
compressor_efficiency(inlet_temperature, outlet_temperature, pressure_ratio)
compressor_power(air_flow, inlet_temperature, outlet_temperature)
turbine_power(gas_flow, inlet_temperature, expansion_ratio, efficiency)
expansion_ratio_for_power(power, gas_flow, inlet_temperature, efficiency)
intercooler_outlet_temperature(inlet_temperature, coolant_temperature, effectiveness)
engine_air_flow(displacement, engine_speed, volumetric_efficiency, manifold, manifold_temperature)
corrected_air_flow(air_flow, inlet_temperature, inlet_pressure, reference_temperature, reference_pressure)
corrected_shaft_speed(shaft_speed, inlet_temperature, reference_temperature)
boost_for_density(target_density, manifold_temperature, ambient)
wastegate_boost(spring, dome, dome_to_valve_area, exhaust, valve_to_actuator_area)
displacement(bore, stroke, cylinders)
mean_piston_speed(stroke, engine_speed)
brake_mean_effective_pressure(power, displacement, engine_speed)
final_ratio(rear_teeth, front_teeth)
overall_ratio(primary_ratio, gear_ratio, final_ratio)
road_speed(engine_speed, overall_ratio, rollout)
engine_speed_at(road_speed, overall_ratio, rollout)
speed_after_shift(engine_speed, ratio_from, ratio_to)
rear_wheel_torque(engine_torque, overall_ratio, efficiency)
tyre_rollout(outer_diameter)
tyre_diameter(rim_diameter, section_width, aspect)
wheel_radius(rollout)
grown_rollout(rollout, road_speed, growth_per_speed_squared)
slip(wheel_speed, ground_speed)
tyre_pressure_hot(cold, cold_temperature, hot_temperature, ambient)
sprocket_pitch_diameter(pitch, teeth)
chain_length(front_teeth, rear_teeth, centre_distance, pitch)
chain_length_handbook(front_teeth, rear_teeth, centre_distance, pitch)
chain_centre_distance(front_teeth, rear_teeth, links, pitch)
chain_speed(front_teeth, shaft_speed, pitch)
chain_pull(shaft_torque, front_teeth, pitch)
chain_pull_from_thrust(thrust, rollout, rear_teeth, pitch)
chordal_variation(teeth)
wheelie_limit(centre_of_mass_ahead_of_rear_axle, centre_of_mass_height)
wheelie_limit_with_drag(centre_of_mass_ahead_of_rear_axle, centre_of_mass_height, drag, drag_height, mass)
traction_limit(friction, wheelbase, centre_of_mass_ahead_of_rear_axle, centre_of_mass_height)
rear_load(mass, wheelbase, centre_of_mass_ahead_of_rear_axle, centre_of_mass_height, acceleration)
centre_from_scales(front_load, total_mass, wheelbase)
centre_height_from_tilt(wheelbase, total_mass, front_load_level, front_load_tilted, tilt_angle, axle_height)
combined_centre(mass_a, place_a, mass_b, place_b)
equivalent_mass(inertia, overall_ratio, rollout)
drag_force(air_density, drag_area, air_speed)
power_for_speed(drag_area, air_density, rolling_force, speed)
shaft_power(torque, speed)
shaft_torque(power, speed)
clutch_torque(friction, plates, clamp_force, mean_radius)
centrifugal_clamp(arm_mass, radius, speed)
stopping_distance(speed, deceleration)
trap_speed_rule(power, mass)
ideal_trap_speed(power, mass, distance)
ideal_elapsed_time(power, mass, distance)
power_from_trap(speed, mass)
elapsed_time_for_power(elapsed_time, power_ratio)
stage_rollout(wheel_radius, beam_height)
remaining_passes(new, now, limit, passes_so_far)
cost_per_pass(price, life)
`

// contractIntrinsics is the functions that no formula says.
const contractIntrinsics = `abs sqrt cbrt exp ln log10 sin cos tan asin acos atan atan2 min max floor ceil round mod sign hypot plain gcd
lookup lookup_clamped lookup_monotone first_at pick sum mean count first last pi`

// function is one function of the library with the file it stands in.
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
	heads := map[string]bool{}
	for _, f := range library(t) {
		names := make([]string, len(f.Params))
		for i, p := range f.Params {
			names[i] = p.Name.Text
		}
		heads[f.Name.Text+"("+strings.Join(names, ", ")+")"] = true
	}
	for head := range strings.Lines(strings.TrimSpace(contract)) {
		if head = strings.TrimSpace(head); !heads[head] {
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

func TestEveryFunctionIsWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range library(t) {
		name := f.Name.Text
		if seen[name] {
			t.Errorf("%s stands twice in the library", name)
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
		spelled := in.Sheet != "" && (in.Page != "" || in.Aggregate != kernel.NoAggregate)
		if in.Lookup == kernel.NoLookup && !spelled {
			t.Errorf("%s has no spelling in a workbook or on a page", key)
		}
		for _, arg := range []string{"$1", "$2"}[:min(max(in.Min, 0), 2)] {
			if in.Sheet != "" && !strings.Contains(in.Sheet, arg) {
				t.Errorf("%s spells %s without %s", key, in.Sheet, arg)
			}
		}
	}
}

// TestIntrinsicExamples computes the worked example of every intrinsic and
// holds it against what a pocket calculator says.
func TestIntrinsicExamples(t *testing.T) {
	want := map[string]string{
		"pi": "6.28319", "abs": "3.5 psid", "sign": "-1", "min": "1.2192 m", "max": "3 m", "plain": "144790 Pa", "hypot": "5 m",
		"sqrt": "1.41421 m", "cbrt": "-3", "exp": "2.71828", "ln": "2.30259", "log10": "3",
		"sin": "0.18375", "cos": "0.5", "tan": "1", "asin": "0.0833333 turn", "acos": "0.25 turn", "atan": "0.125 turn", "atan2": "0.125 turn",
		"floor": "6", "ceil": "111", "round": "-3", "mod": "2", "gcd": "1",
		"sum of a column": "92 m/s", "mean of a column": "23 m/s", "min of a column": "0 m/s", "max of a column": "40 m/s",
		"count of a column": "4", "first of a column": "0 m/s", "last of a column": "40 m/s",
		"lookup": "26 m/s", "lookup_clamped": "40 m/s", "lookup_monotone": "26.675 m/s", "first_at": "1.83333 s", "pick": "32 m/s",
	}
	for _, in := range formulas.Intrinsics() {
		key := in.Name
		if in.Aggregate != kernel.NoAggregate {
			key += " of a column"
		}
		if got, err := sheet.Worked(in.Example); err != nil || got != want[key] {
			t.Errorf("%s: %s is %s, %v; want %s", key, in.Example, got, err, want[key])
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
