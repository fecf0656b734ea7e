package formulas_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/program"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// given is a value that a property draws by chance.
type given struct {
	name, unit string
	low, high  float64 // as shown in unit
	whole      bool
}

// lanes is how many draws a test computes.
const lanes = 512

// drawn computes text for many draws of its givens at once.
type drawn struct {
	s        *sheet.Sheet
	machines [lanes]*program.Machine
}

// draw compiles a sheet of the givens and the lines below them, and computes
// it over lanes drawn by chance from a fixed seed.
func draw(t *testing.T, givens []given, formulas string) drawn {
	t.Helper()
	var text strings.Builder
	for _, g := range givens {
		fmt.Fprintf(&text, "%s : %g %s\n", g.name, g.low, strings.TrimSuffix(g.unit, "1"))
	}
	text.WriteString(formulas)
	s := load(t, "property", text.String())
	d := drawn{s: s}
	for lane := range lanes {
		d.machines[lane] = s.Program.NewMachine()
	}
	random := rand.New(rand.NewPCG(7, uint64(len(formulas))))
	for _, g := range givens {
		u, problem := unit.NewSystem().Parse(g.unit)
		if problem != nil {
			t.Fatal(problem.Message)
		}
		c, _ := s.Model.Resolve(g.name)
		for lane := range lanes {
			v := g.low + (g.high-g.low)*random.Float64()
			if g.whole {
				v = math.Round(v)
			}
			d.machines[lane].SetCell(int(c.Index), u.SI(v))
		}
	}
	for _, mc := range d.machines {
		mc.Run()
	}
	return d
}

// at returns the value of a cell in a lane.
func (d drawn) at(t *testing.T, name string, lane int) float64 {
	t.Helper()
	c, _ := d.s.Model.Resolve(name)
	if c == nil {
		t.Fatalf("there is no cell %s", name)
	}
	return d.machines[lane].Cell(int(c.Index))
}

// TestInversesUndo computes each pair there and back.
func TestInversesUndo(t *testing.T) {
	altitude := given{"altitude", "m", -5000, 20000, false}
	temperature := given{"temperature", "degC", -20, 60, false}
	humidity := given{"humidity", "%", 1, 100, false}
	for _, p := range []struct {
		back, want string
		givens     []given
	}{
		{"pressure_altitude(standard_pressure(altitude)) + 10 km", "altitude + 10 km", []given{altitude}},
		{"altitude_of_density(standard_density(altitude)) + 10 km", "altitude + 10 km", []given{altitude}},
		{"density_altitude(standard_pressure(altitude), standard_temperature(altitude), 0 %) + 10 km", "altitude + 10 km", []given{altitude}},
		{
			"standard_density(density_altitude(pressure, temperature, humidity))", "ideal_air_density(pressure, temperature, humidity)",
			[]given{{"pressure", "kPa", 60, 110, false}, temperature, humidity},
		},
		{"saturation_temperature(saturation_pressure(temperature))", "temperature", []given{{"temperature", "degC", -20, 370, false}}},
		{"saturation_pressure(dew_point(temperature, humidity))", "vapour_pressure(temperature, humidity)", []given{{"temperature", "degC", 0, 60, false}, {"humidity", "%", 30, 100, false}}},
		{"dew_point(temperature, 100 %)", "temperature", []given{temperature}},
		{"humidity_from_wet_bulb(temperature, temperature, 98 kPa)", "100 % + 0 * (temperature / 1 K)", []given{{"temperature", "degC", 1, 50, false}}},
		{
			"pressure_altitude(station_pressure(setting, elevation)) + 10 km", "pressure_altitude(setting) + elevation + 10 km",
			[]given{{"setting", "inHg", 28, 31, false}, {"elevation", "ft", -1000, 12000, false}},
		},
		{
			"compressor_efficiency(temperature, compressor_outlet_temperature(temperature, ratio, efficiency), ratio)", "efficiency",
			[]given{temperature, {"ratio", "1", 1.2, 5, false}, {"efficiency", "%", 40, 85, false}},
		},
		{
			"expansion_ratio_for_power(turbine_power(flow, heat, ratio, efficiency), flow, heat, efficiency)", "ratio",
			[]given{{"flow", "lb/min", 10, 90, false}, {"heat", "degC", 500, 950, false}, {"ratio", "1", 1.1, 4, false}, {"efficiency", "%", 50, 80, false}},
		},
		{
			"chain_centre_distance(front, rear, chain_length(front, rear, centre, pitch), pitch)", "centre",
			[]given{{"front", "teeth", 6, 60, true}, {"rear", "teeth", 6, 120, true}, {"centre", "mm", 480, 900, false}, {"pitch", "mm", 12.7, 15.875, false}},
		},
		{ // from sprockets that touch to far apart
			"chain_centre_distance(front, rear, chain_length(front, rear, apart * (sprocket_pitch_diameter(pitch, front) + sprocket_pitch_diameter(pitch, rear)) / 2, pitch), pitch)",
			"apart * (sprocket_pitch_diameter(pitch, front) + sprocket_pitch_diameter(pitch, rear)) / 2",
			[]given{{"front", "teeth", 6, 60, true}, {"rear", "teeth", 6, 120, true}, {"apart", "1", 1.0001, 1.2, false}, {"pitch", "mm", 9.525, 19.05, false}},
		},
		{
			"engine_speed_at(road_speed(engine, ratio, rollout), ratio, rollout)", "engine",
			[]given{{"engine", "rpm", 2000, 14000, false}, {"ratio", "1", 3, 15, false}, {"rollout", "mm", 1700, 2300, false}},
		},
		{"nitrogen_pressure(nitrogen_density(pressure, temperature), temperature)", "plain(pressure)", []given{{"pressure", "MPa", 0.1, 30, false}, {"temperature", "degC", -30, 110, false}}},
		{"carbon_dioxide_pressure(carbon_dioxide_density(pressure, temperature), temperature)", "plain(pressure)", []given{{"pressure", "MPa", 0.1, 14, false}, {"temperature", "degC", 60, 200, false}}},
		{"coil_current(volts, resistance, inductance, coil_rise_time(volts, resistance, inductance, current))", "current", []given{{"volts", "V", 11, 15, false}, {"resistance", "ohm", 0.3, 1, false}, {"inductance", "mH", 1, 8, false}, {"current", "A", 1, 10, false}}},
		{"mach_from_total_pressure_ratio(total_pressure_ratio(mach, heats), heats)", "mach", []given{{"mach", "1", 0.05, 2, false}, {"heats", "1", 1.25, 1.4, false}}},
		{"orifice_flow(orifice_diameter(flow, discharge, drop, density), discharge, drop, density)", "flow", []given{{"flow", "cc/min", 100, 9000, false}, {"discharge", "1", 0.5, 0.95, false}, {"drop", "kPad", 20, 600, false}, {"density", "kg/m3", 680, 1140, false}}},
		{
			// What a drop lets through, so that every lane is inside the validity.
			"nozzle_pressure(discharge * sqrt(2 / density) * (nozzles * sqrt(plain(drop)) + jet * sqrt(plain(blown + drop))), nozzles, jet, discharge, blown, density)", "blown + drop",
			[]given{{"drop", "kPad", 1, 500, false}, {"nozzles", "mm2", 2, 8, false}, {"jet", "mm2", 0.5, 12, false}, {"discharge", "1", 0.6, 0.9, false}, {"blown", "kPad", 0, 300, false}, {"density", "kg/m3", 680, 1140, false}},
		},
		{"power_from_trap(trap_speed_rule(power, mass), mass)", "power", []given{{"power", "hp", 50, 900, false}, {"mass", "lb", 500, 1200, false}}},
		{
			"pulse_width_for(fuel_per_injection(pulse, flow, offset), flow, offset)", "pulse",
			[]given{{"pulse", "ms", 2, 12, false}, {"flow", "cc/min", 200, 2000, false}, {"offset", "ms", 0.5, 1.5, false}},
		},
		{
			"injector_flow(injector_flow(flow, drop_a, drop_b), drop_b, drop_a)", "flow",
			[]given{{"flow", "cc/min", 200, 2000, false}, {"drop_a", "psid", 30, 60, false}, {"drop_b", "psid", 30, 60, false}},
		},
		{"shaft_torque(shaft_power(torque, speed), speed)", "torque", []given{{"torque", "lbf.ft", 10, 400, false}, {"speed", "rpm", 1000, 14000, false}}},
		{
			"specific_consumption(fuel_for_power(power, consumption), power)", "consumption",
			[]given{{"power", "hp", 50, 900, false}, {"consumption", "lb/(hp.h)", 0.4, 1.3, false}},
		},
		{
			"blend_volume_fraction(blend_mass_fraction(share, light, heavy), light, heavy)", "share",
			[]given{{"share", "vol%", 0.1, 100, false}, {"light", "kg/m3", 680, 760, false}, {"heavy", "kg/m3", 770, 1140, false}},
		},
		{"wheel_radius(tyre_rollout(diameter)) * 2", "diameter", []given{{"diameter", "mm", 500, 750, false}}},
		{
			"tyre_pressure_hot(tyre_pressure_hot(cold, low, high, ambient), high, low, ambient)", "cold",
			[]given{{"cold", "psig", 4, 40, false}, {"low", "degC", 0, 30, false}, {"high", "degC", 31, 90, false}, {"ambient", "kPa", 80, 104, false}},
		},
		{
			"(ambient + boost_for_density(density, heat, ambient)) / (287.05 J/(kg.K) * heat)", "density",
			[]given{{"density", "kg/m3", 1, 4, false}, {"heat", "degC", 10, 120, false}, {"ambient", "kPa", 80, 104, false}},
		},
		{
			"ideal_elapsed_time(power, mass, distance) * ideal_trap_speed(power, mass, distance)", "1.5 * distance",
			[]given{{"power", "hp", 50, 900, false}, {"mass", "lb", 500, 1200, false}, {"distance", "ft", 60, 5280, false}},
		},
		{
			"centre_height_from_tilt(base, mass, mass * ahead / base, mass * (ahead / base - (height - axle) * tan(tilt) / base), tilt, axle)", "height",
			[]given{{"base", "mm", 1300, 1900, false}, {"mass", "lb", 300, 900, false}, {"ahead", "mm", 500, 1000, false}, {"height", "mm", 400, 800, false}, {"tilt", "deg", 8, 30, false}, {"axle", "mm", 290, 330, false}},
		},
	} {
		d := draw(t, p.givens, "back = "+p.back+"\nwant = "+p.want+"\n")
		for lane := range lanes {
			back, want := d.at(t, "back", lane), d.at(t, "want", lane)
			if !(math.Abs(back-want) <= 1e-9*math.Abs(want)) {
				t.Errorf("%s is %.12g, not %.12g (lane %d)", p.back, back, want, lane)
				break
			}
		}
	}
}

// TestReferenceDays: a power correction is exactly 1 on the day that its
// standard's formula refers to.
func TestReferenceDays(t *testing.T) {
	r := computed(t, load(t, "reference days", `
j1349    = power_correction_j1349(99 kPa, 298 K)
iso1585  = power_correction_iso1585(99 kPa, 298 K)
din70020 = power_correction_din70020(101.3 kPa, 293 K)
j607     = power_correction_j607(29.92 inHg, 520 / 1.8 * 1 K)
`))
	for _, name := range []string{"j1349", "iso1585", "din70020", "j607"} {
		if v, _ := cell(t, r, name); v != 1 {
			t.Errorf("%s is 1 and %g on its own reference day", name, v-1)
		}
	}
}

// TestDensityFalls: air is thinner where it is higher, warmer or damper, and
// carries less oxygen.
func TestDensityFalls(t *testing.T) {
	givens := []given{{"pressure", "kPa", 70, 105, false}, {"temperature", "degC", 0, 45, false}, {"humidity", "%", 0, 90, false}, {"altitude", "m", -4000, 19000, false}}
	for _, f := range []string{"air_density", "dry_air_density", "oxygen_density", "ideal_air_density"} {
		d := draw(t, givens, fmt.Sprintf(`
here   = %[1]s(pressure, temperature, humidity)
damper = %[1]s(pressure, temperature, humidity + 5 %%)
warmer = %[1]s(pressure, temperature + 2 deltaC, humidity)
lower  = %[1]s(pressure + 500 Pa, temperature, humidity)
high   = standard_density(altitude + 200 m)
low    = standard_density(altitude)
`, f))
		for lane := range lanes {
			here := d.at(t, "here", lane)
			for name, holds := range map[string]bool{
				"damper": d.at(t, "damper", lane) < here,
				"warmer": d.at(t, "warmer", lane) < here,
				"lower":  d.at(t, "lower", lane) > here,
				"high":   d.at(t, "high", lane) < d.at(t, "low", lane),
			} {
				if !holds {
					t.Errorf("%s: %s air is not thinner (or lower air not denser) than %g kg/m3", f, name, here)
				}
			}
		}
	}
}

// TestGripGivesNoMoreThanItsWeight: with all the weight on the rear tyre its
// grip gives friction times gravity; up to there the front wheel is down.
func TestGripGivesNoMoreThanItsWeight(t *testing.T) {
	d := draw(t, []given{{"friction", "1", 0.2, 4, false}, {"base", "mm", 1300, 1900, false}, {"ahead", "mm", 500, 1000, false}, {"height", "mm", 400, 800, false}}, `
grip  = traction_limit(friction, base, ahead, height)
most  = friction * 9.80665 m/s2
front = wheelie_limit(ahead, height)
`)
	lifted := 0
	for lane := range lanes {
		grip, most, front := d.at(t, "grip", lane), d.at(t, "most", lane), d.at(t, "front", lane)
		if grip > most*(1+1e-12) {
			t.Errorf("grip of %g g gives %g m/s2", most/9.80665, grip)
		}
		if (grip < front) != (grip < most) {
			t.Errorf("the front wheel is up at %g m/s2, grip gives %g of %g", front, grip, most)
		}
		if grip >= front {
			lifted++
		}
	}
	if lifted == 0 || lifted == lanes {
		t.Errorf("the front wheel is up in %d of %d lanes", lifted, lanes)
	}
}

// TestScale draws machines twice, all lengths, masses, times or pressures of
// the second larger by one factor: what is a ratio stays, the rest grows with
// the factor's power. A number that hides a unit shows here.
func TestScale(t *testing.T) {
	length := func(name string) given { return given{name, "mm", 300, 900, false} }
	k := given{"k", "1", 0.5, 2, false}
	for _, c := range []struct {
		once, scaled, factor string
		givens               []given
	}{
		{"wheelie_limit(a, b)", "wheelie_limit(k * a, k * b)", "1", []given{length("a"), length("b")}},
		{"traction_limit(1.1, a + b, a, c)", "traction_limit(1.1, k * (a + b), k * a, k * c)", "1", []given{length("a"), length("b"), length("c")}},
		{"rear_load(m, a + b, a, c, g)", "rear_load(k * m, a + b, a, c, g)", "k", []given{length("a"), length("b"), length("c"), {"m", "kg", 150, 400, false}, {"g", "m/s2", 0, 20, false}}},
		{"chain_length(17 teeth, 42 teeth, a, p)", "chain_length(17 teeth, 42 teeth, k * a, k * p)", "1", []given{length("a"), {"p", "mm", 10, 20, false}}},
		{"chain_centre_distance(17 teeth, 42 teeth, 110 links, p)", "chain_centre_distance(17 teeth, 42 teeth, 110 links, k * p)", "k", []given{{"p", "mm", 10, 20, false}}},
		{"road_speed(n, 5.1, a)", "road_speed(k * n, 5.1, k * a)", "k^2", []given{length("a"), {"n", "rpm", 4000, 12000, false}}},
		{"stage_rollout(a, a / 9)", "stage_rollout(k * a, k * a / 9)", "k", []given{length("a")}},
		{"displacement(a, b, 4)", "displacement(k * a, k * b, 4)", "k^3", []given{length("a"), length("b")}},
		{"equivalent_mass(i, 8, a)", "equivalent_mass(i, 8, k * a)", "1 / k^2", []given{length("a"), {"i", "kg.m2", 0.001, 0.1, false}}},
		{"centrifugal_clamp(30 g, a, n)", "centrifugal_clamp(30 g, a, k * n)", "k^2", []given{length("a"), {"n", "rpm", 2000, 9000, false}}},
		{"ideal_trap_speed(w, m, s)", "ideal_trap_speed(k * w, k * m, s)", "1", []given{{"w", "hp", 50, 900, false}, {"m", "lb", 400, 900, false}, {"s", "ft", 60, 5280, false}}},
		{"ideal_elapsed_time(w, m, s)", "ideal_elapsed_time(k^3 * w, m, s)", "1 / k", []given{{"w", "hp", 50, 900, false}, {"m", "lb", 400, 900, false}, {"s", "ft", 60, 5280, false}}},
		{"trap_speed_rule(w, m)", "trap_speed_rule(k^3 * w, m)", "k", []given{{"w", "hp", 50, 900, false}, {"m", "lb", 400, 900, false}}},
		{"pressure_ratio(a, b)", "pressure_ratio(k * a, k * b)", "1", []given{{"a", "kPa", 90, 350, false}, {"b", "kPa", 70, 105, false}}},
		{"boosted_air_ratio(a, d, b)", "boosted_air_ratio(k * a, k * d, k * b)", "1", []given{{"a", "kPa", 70, 105, false}, {"b", "kPa", 70, 105, false}, {"d", "psig", 5, 45, false}}},
		{"corrected_air_flow(f, 30 degC, a, 25 degC, b)", "corrected_air_flow(f, 30 degC, k * a, 25 degC, k * b)", "1", []given{{"f", "lb/min", 10, 90, false}, {"a", "kPa", 70, 105, false}, {"b", "kPa", 70, 105, false}}},
		{"wastegate_boost(s, d, 2.5, e, 0.35)", "wastegate_boost(k * s, k * d, 2.5, k * e, 0.35)", "k", []given{{"s", "psig", 2, 12, false}, {"d", "psig", 0, 40, false}, {"e", "psig", 0, 40, false}}},
		{"injector_flow_on_fuel(q, d, 2 * d, 684 kg/m3, r)", "injector_flow_on_fuel(q, k * d, 2 * k * d, 684 kg/m3, r)", "1", []given{{"q", "cc/min", 200, 2000, false}, {"d", "psid", 30, 60, false}, {"r", "kg/m3", 680, 1140, false}}},
		{"tyre_pressure_hot(p, 20 degC, h, a)", "tyre_pressure_hot(k * p, 20 degC, h, k * a)", "k", []given{{"p", "psig", 5, 40, false}, {"h", "degC", 30, 90, false}, {"a", "kPa", 70, 105, false}}},
		{"brake_mean_effective_pressure(w, v, n)", "brake_mean_effective_pressure(k * w, v, n)", "k", []given{{"w", "hp", 50, 900, false}, {"v", "cc", 300, 2000, false}, {"n", "rpm", 4000, 12000, false}}},
		{"compressor_power(f, 20 degC, h)", "compressor_power(k * f, 20 degC, h)", "k", []given{{"f", "lb/min", 10, 90, false}, {"h", "degC", 60, 200, false}}},
	} {
		d := draw(t, append([]given{k}, c.givens...), "once = ("+c.once+") * ("+c.factor+")\nscaled = "+c.scaled+"\n")
		for lane := range lanes {
			once, scaled := d.at(t, "once", lane), d.at(t, "scaled", lane)
			if !(math.Abs(once-scaled) <= 1e-11*math.Abs(once)) {
				t.Errorf("%s is %.12g, times %s; scaled %.12g", c.once, once, c.factor, scaled)
				break
			}
		}
	}
}

// TestBlendsLieBetween: a blend's ratio and share lie between its parts'.
func TestBlendsLieBetween(t *testing.T) {
	d := draw(t, []given{{"share", "%", 1, 99, false}, {"a", "1", 2, 9, false}, {"b", "1", 9.1, 18, false}, {"light", "kg/m3", 680, 750, false}, {"heavy", "kg/m3", 760, 1150, false}}, `
ratio      = blend_afr(share, a, b)
of_heavy   = blend_mass_fraction(share, heavy, light)
of_light   = blend_mass_fraction(share, light, heavy)
`)
	for lane := range lanes {
		share := d.at(t, "share", lane)
		if r := d.at(t, "ratio", lane); !(d.at(t, "a", lane) < r && r < d.at(t, "b", lane)) {
			t.Errorf("a blend of %g and %g burns at %g", d.at(t, "a", lane), d.at(t, "b", lane), r)
		}
		if h := d.at(t, "of_heavy", lane); !(share < h && h < 1) {
			t.Errorf("the heavy part's share by mass, %g, is not above %g by volume", h, share)
		}
		if l := d.at(t, "of_light", lane); !(0 < l && l < share) {
			t.Errorf("the light part's share by mass, %g, is not below %g by volume", l, share)
		}
	}
}

// TestUnitsDoNotMatter writes every literal of every example in another unit
// of its measure: the result stays.
func TestUnitsDoNotMatter(t *testing.T) {
	text, names := examples(t)
	first := computed(t, load(t, "examples", text))
	changed := 0
	var other strings.Builder
	for _, f := range library(t) {
		for i, e := range f.Example {
			line := f.Name.Text + strings.Repeat("_again", i) + " = "
			at := e.Pos().Start
			syntax.Walk(e, func(x syntax.Expr) bool {
				n, ok := x.(*syntax.Number)
				if !ok || n.Unit == nil {
					return true
				}
				if said, ok := elsewhere(t, n); ok {
					line += f.tree.File.Text[at:n.Span.Start] + said
					at = n.Span.End
					changed++
				}
				return true
			})
			other.WriteString(line + f.tree.File.Text[at:e.Pos().End] + "\n")
		}
	}
	if changed < 200 {
		t.Errorf("only %d literals were written in another unit", changed)
	}
	second := computed(t, load(t, "examples in other units", other.String()))
	for _, name := range names {
		a, _ := cell(t, first, name)
		b, _ := cell(t, second, name)
		if !(math.Abs(a-b) <= 1e-9*math.Abs(a)) {
			t.Errorf("%s: %.12g, in other units %.12g", name, a, b)
		}
	}
}

// elsewhere writes a literal in another unit of its measure, the first of the
// catalogue with another scale; for compound units, in SI.
func elsewhere(t *testing.T, n *syntax.Number) (string, bool) {
	t.Helper()
	system := unit.NewSystem()
	u, problem := system.Parse(n.Unit.Text)
	if problem != nil {
		t.Fatal(problem.Message)
	}
	for _, row := range unit.Catalog() {
		v := row.Unit
		if v.Measure == u.Measure && v.Symbol != "1" && (v.Scale != u.Scale || v.Offset != u.Offset) && len(row.Asks) == 0 && !row.Own {
			return fmt.Sprintf("%.17g %s", v.Shown(u.SI(n.Value)), v.Symbol), true
		}
	}
	symbol := system.Compose(u.Measure)
	if v, problem := system.Parse(symbol); problem == nil && symbol != n.Unit.Text && v.Measure == u.Measure {
		return fmt.Sprintf("%.17g %s", v.Shown(u.SI(n.Value)), symbol), true
	}
	return "", false
}
