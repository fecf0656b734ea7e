package templates_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gearleaf/sheet"
)

const planLeftBehind = "The plan's highest dome is not the dome wanted: gas of a pass and passes are the plan's"

// shop drives the sheets of the shop out of their limits and advices, as
// broken does the others.
var shop = []struct {
	sheet, setting, says string
}{
	{"clutch-pack", "stack_limit=24.2mm", "The clutch pack is under its limit"},
	{"clutch-pack", "stack_limit=24.06mm", "This pack does not last another pass"},
	{"clutch-pack", "face_rating=0.7MPa", "More pressure on the faces than the lining is rated for"},
	{"clutch-pack", "peak_torque=300lbf.ft", "It slips in every gear: more spring, more arm, or less torque"},
	{"clutch-pack", "shims=0mm", "Air gap outside what the clutch is set up for: change the shims"},
	{"clutch-pack", "stack_limit=23.8mm", "Take a new pack to the next event"},
	{"clutch-pack", "shims=0.2mm", "The stack has moved by more than 0.3 mm since the shims were chosen"},
	{"clutch-pack", "clutch_energy=290kJ", "The steels get hotter than they stay flat"},
	{"clutch-pack", "arm_mass=120g", "It holds far more than is needed: the start will be harsh (common practice, no source)"},
	{"clutch-pack", "arm_mass=60g", "The arms are far from what this lock-up asks for"},

	{"ignition", "dwell_set=9.5ms", "The coil gets hot: little time off (common practice, no source)"},
	{"ignition", "dwell_set=12ms", "The coil has no time to charge at the shift"},
	{"ignition", "dwell_set=4.5ms", "More current than coil and driver bear"},
	{"ignition", "coil_voltage=14kV", "The gap needs more voltage than the coil gives: it misfires under boost"},
	{"ignition", "plug_gap=1.3mm", "Less than a fifth over what the gap needs: worn plugs need more (common practice, no source)"},
	{"ignition", "dwell_set=1.5ms", "Less energy than this charge asks for"},
	{"ignition", "volts=11", "The dwell that is set is not the one for these volts"},
	{"ignition", "spark_advance=34deg", "More advance than this engine has lived with"},

	{"control-gas", "bottle_full=1700psig", "In the sun the bottle goes over its rating"},
	{"control-gas", "bottle_full=120psig", "Less in the bottle than the regulator needs: boost will fall"},
	{"control-gas", "filling_most=100kg/m3", "More carbon dioxide than the bottle may hold: it bursts its relief disc when it warms up"},
	{"control-gas", "sun_temperature=130degF", "No bottle may get warmer than 52 degC (125 degF)"},
	{"control-gas", "bottle_full=260psig", "The bottle does not last the event"},
	{"control-gas", "bottle_full=420psig", "Fill it again before the last day (common practice, no source)"},
	{"control-gas", "dome_wanted=19.4psig", planLeftBehind},
	{"control-gas", "plan.dome[2]=17psig", planLeftBehind},
	{"control-gas", "bottle_temperature=30degF", "A cold bottle gives less: keep it with the machine, not in the van"},

	{"electrics", "battery_rated=3Ah", "The battery does not last a round"},
	{"electrics", "in_series=1", "Too few volts at the starter: it will not turn the engine over"},
	{"electrics", "battery_open=12.2V", "Too few volts at the pump: the engine runs lean"},
	{"electrics", "battery_rated=10Ah", "Charge between the rounds"},
	{"electrics", "charger_current=3A", "The charger does not get the round back before the next one"},
	{"electrics", "pump_gauge=18", "The pump's wire takes much: a thicker one is flow for nothing (common practice, no source)"},
	{"electrics", "battery_open=12.9V", "The pump gives less than its rating at these volts"},

	{"pump-and-lines", "fuel_temperature=58degC", "The fuel boils at the pump's inlet: it pumps vapour and the engine runs lean"},
	{"pump-and-lines", "pump_of_turn=1.8cc/turn", "More fuel than the pump gives"},
	{"pump-and-lines", "pump_of_turn=0.5cc/turn", "Boost blows back through the nozzles: lambda and flows on this page are false"},
	{"pump-and-lines", "pump_of_turn=0.5cc/turn", "Boost blows back through the nozzles at a speed of the table: its lambda is false"},
	{"pump-and-lines", "return_jet=3mm", "Boost blows back through the nozzles at a speed of the table: its lambda is false"},
	{"pump-and-lines", "return_jet=2.6mm", "Leaner than what is known to be safe"},
	{"pump-and-lines", "fuel_temperature=42degC", "Little margin to vapour on a hot day: shade the tank, fill it cold"},
	{"pump-and-lines", "return_jet=1.2mm", "Richer than this engine has run: plugs foul and power goes"},
	{"pump-and-lines", "pressure_most=30psig", "More pressure than lines and pump like: a larger return jet is no cure for small nozzles"},
	{"pump-and-lines", "line_bore=7mm", "The line is narrow for this flow (common practice, no source)"},
	{"pump-and-lines", "pump_speeds.air[3]=90%", "Leaner somewhere below the power peak: the pump falls behind the air"},

	{"chassis", "shock_pressure=70psig", "The shock comes to its stop at the launch: more air in it"},
	{"chassis", "shock_pressure=180psig", "More air than the shock is rated for"},
	{"chassis", "low_point=52mm", "It touches the track at the launch: more air in the shock"},
	{"chassis", "fork_offset=65mm", "Less trail than it is known to run straight with"},
	{"chassis", "peak_torque=320lbf.ft", "The engine can do more than the control takes away: less boost at the launch, or weight ahead and low"},
	{"chassis", "sensor_full=4V", "The sensor is at its end before the front is at its highest: it does not see the rest"},
	{"chassis", "tilt=12deg", "A small tilt makes a large error of a small one on the scale: 15 degrees or more"},
	{"chassis", "rear_level=236lb", "The scales and the sum of the weights do not agree: weigh again"},
	{"chassis", "shock_pressure=150psig", "The shock is all the way out with the rider on: less air"},
	{"chassis", "pivot_extended=20mm", "The chain lifts or drops the rear hard under power (common practice, no source)"},
	{"chassis", "peak_torque=260lbf.ft", "A control that takes much away is late and uneven: take the power out of the launch instead (common practice, no source)"},

	{"tyre-and-track", "rear_tyre_cold=4psig", "Less air than the maker holds this tyre on its rim with"},
	{"tyre-and-track", "after_burnout=290degF", "Hotter than this tyre is allowed to get"},
	{"tyre-and-track", "hot_reading=9.6psig", "It has lost air: find the leak before the next pass"},
	{"tyre-and-track", "fast_wheel=1975rpm", "A fast turn that is no longer than the slow one: the wheel slipped, or a sensor is wrong"},
	{"tyre-and-track", "staging_time=60s", "The surface is out of its window when the lights come on"},
	{"tyre-and-track", "rear_tyre_cold=11psig", "The gearing counts on another turn of the tyre"},
	{"tyre-and-track", "burnout_time=9s", "Heat of the burnout and pyrometer do not agree: measure friction, tread and share again"},
	{"tyre-and-track", "fast_at=80mph", "Growth from a slow turn is a guess: coast from more speed"},
	{"tyre-and-track", "track_temperature=132degF", "No launch in the log on a track like this: the grip is a guess"},
	{"tyre-and-track", "track_temperature=85degF", "The pass counts on more grip than the log has shown: soften the launch"},

	{"day-log", "readings.time[7]=11.5h", "The readings are not in the order of their times: what is last is not now"},
	{"day-log", "elevation=5000ft", "A reading does not fit the elevation: is it an airport's setting?"},
	{"day-log", "readings.humid[3]=6800%", "No air holds that: is it a share or a percentage?"},
	{"day-log", "now=14h", "The last reading is later than now: set the time"},
	{"day-log", "next_round=14h", "The next round is over: set its time"},
	{"day-log", "now=15.6h", "The last reading is more than an hour old: read the station again"},
	{"day-log", "next_round=17h", "More than two hours ahead: a straight line is no forecast"},
	{"day-log", "next_round=17.2h", "The guess reaches further ahead than its readings reach back"},
	{"day-log", "trend_readings=3", "Three readings make hardly a trend: its interval is wide"},
	{"day-log", "readings.air[7]=92degF", "The readings scatter: the guess says little"},
	{"day-log", "next_round=23h", "The air moves by more than 2 % until then: plan boost and fuel for that round again"},
	{"day-log", "slips.elapsed[3]=7.31s", "The lanes differ by more than 15 ms: is it the track?"},
}

func init() { broken = append(broken, shop...) }

// plugged loads the book with sheets of the shop beside it.
func plugged(t *testing.T, names ...string) *sheet.Result {
	t.Helper()
	path := filepath.Join(folder(t), "shop.leaf")
	text := "title \"The book with its shop\"\nuse \"set-up-book.leaf\"\n"
	for _, name := range names {
		text += fmt.Sprintf("use %q\n", name+".leaf")
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return with(t, path)
}

// TestShopPlugsIn plugs each sheet into the book, alone and all of them
// together: it takes what the book computes, and the book takes what it does.
func TestShopPlugsIn(t *testing.T) {
	takes := map[string][]string{
		"clutch-pack":    {"peak_torque", "clutch_energy", "final_drive", "power_peak"},
		"ignition":       {"manifold", "charge_temperature"},
		"control-gas":    {"dome_wanted"},
		"electrics":      {"running"},
		"pump-and-lines": {"fuel_weighs", "volume_flow", "peak_accel", "power_peak"},
		"chassis":        {"mass_with_rider", "wheelbase", "centre_ahead", "peak_torque", "peak_accel", "final_drive", "ambient"},
		"tyre-and-track": {"mass_with_rider", "centre_ahead", "centre_height", "final_drive", "ambient"},
		"day-log":        nil, // what a log reads is outside
	}
	gives := map[string][]string{
		"clutch-pack": {"clutch_spring"}, "control-gas": {"dome_volume"}, "electrics": {"volts", "draw"}, "pump-and-lines": {"pump_volts"},
		"chassis": {"mass_height", "machine_centre"}, "tyre-and-track": {"tyre_growth"},
		"day-log": {"barometer", "air_temperature", "humidity", "head_wind", "reading_age"},
	}
	var all []string
	for name, wants := range takes {
		all = append(all, name)
		r := plugged(t, name)
		from := map[string]bool{}
		for _, p := range r.Sheet.Model.Plugs {
			from[p.Given.Name] = true
		}
		for _, given := range append(wants, gives[name]...) {
			if !from[given] {
				t.Errorf("%s: %s is not taken from the sheet that computes it", name, given)
			}
		}
		if r.Trouble() {
			t.Errorf("%s in the book: %v", name, r.Failures())
		}
	}
	r := plugged(t, all...)
	if r.Trouble() {
		t.Errorf("all of them: %v", r.Failures())
	}
	within(t, "the ignition's draw, A", shown(t, r, "draw"), shown(t, r, "ignition_current")+21.1, 0.01)
}

// TestShopSigns asks which way each thing must move.
func TestShopSigns(t *testing.T) {
	for _, c := range []struct {
		sheet, setting string
		up, down       []string
	}{
		{"clutch-pack", "clutch_energy=240kJ", []string{"plates_rise", "next_wear", "heat_per_area"}, []string{"left_by_heat", "pack_left"}},
		{"clutch-pack", "stack_limit=23.2mm", []string{"pack_left"}, nil},
		{"clutch-pack", "shims=0.6mm", []string{"clutch_spring", "holds_worn", "held_over_need"}, []string{"installed_height", "air_gap", "arms_wanted"}},
		{"clutch-pack", "lock_wanted=1.6s", []string{"lock_speed"}, []string{"arms_wanted"}},
		{"clutch-pack", "peak_torque=250lbf.ft", []string{"clamp_wanted", "arms_wanted"}, []string{"held_over_need"}},
		{"clutch-pack", "arm_mass=35g", []string{"clamp_at_peak", "faces_bear", "holds_fresh"}, []string{"arms_to_add"}},
		{"ignition", "volts=12", []string{"dwell_today"}, []string{"current_reached", "spark_energy"}},
		{"ignition", "manifold=280kPa", []string{"voltage_needed", "charge_at_spark"}, []string{"voltage_margin", "widest_gap"}},
		{"ignition", "charge_temperature=75degC", []string{"heat_at_spark", "end_gas"}, []string{"voltage_needed"}},
		{"ignition", "spark_advance=24deg", []string{"squeeze", "voltage_needed"}, []string{"spark_time", "piston_down"}},
		{"ignition", "plug_gap=0.7mm", []string{"voltage_needed"}, []string{"voltage_margin"}},
		{"ignition", "shift_speed=11200rpm", []string{"duty_today", "late_by"}, []string{"spark_time", "ms_per_degree"}},
		{"control-gas", "bottle_temperature=100degF", []string{"bottle_now"}, []string{"gas_of_pass"}},
		{"control-gas", "dome_wanted=20psig", []string{"gas_of_pass", "supply_least"}, []string{"passes_real"}},
		{"control-gas", "bottle_full=1300psig", nil, []string{"passes_real", "gas_in", "bottle_in_sun"}},
		{"control-gas", "fill_temperature=100degF", nil, []string{"gas_in", "bottle_now", "passes_real"}},
		{"control-gas", "leak_of_pass=0.5g", []string{"gas_of_pass"}, []string{"passes_real"}},
		{"electrics", "battery_open=13.2V", nil, []string{"volts", "crank_volts", "pump_of_rated"}},
		{"electrics", "pump_gauge=16", []string{"wire_takes"}, []string{"volts"}},
		{"electrics", "loads.current[2]=16A", []string{"draw", "round_charge", "charge_time"}, []string{"volts", "usable_charge"}},
		{"electrics", "crank_current=260A", []string{"cranking_charge"}, []string{"crank_volts", "starts_left"}},
		{"pump-and-lines", "return_jet=2.0mm", []string{"goes_back", "lambda_here"}, []string{"engine_takes", "system_pressure"}},
		{"pump-and-lines", "nozzle=1.15mm", []string{"engine_takes"}, []string{"system_pressure", "lambda_here"}},
		{"pump-and-lines", "boost=28psig", []string{"system_pressure", "lambda_here"}, []string{"engine_takes"}},
		{"pump-and-lines", "fuel_temperature=40degC", []string{"vapour_at_inlet"}, []string{"inlet_margin"}},
		{"pump-and-lines", "tank_ahead=-0.3m", nil, []string{"pushed", "inlet_pressure", "inlet_margin", "boils_at"}},
		{"pump-and-lines", "cooler_drop=6kPad", []string{"cooler_takes"}, []string{"inlet_pressure", "inlet_margin"}},
		{"control-gas", "plan.dome[2]=17psig", []string{"fills_of_pass"}, []string{"passes_real"}},
		{"control-gas", "other_fills=1", []string{"fills_of_pass", "gas_of_pass"}, []string{"passes_real"}},
		{"pump-and-lines", "pump_effect=90%", []string{"lambda_here"}, []string{"pump_gives", "pump.flow[3]"}},
		{"chassis", "shock_pressure=100psig", []string{"rear_travel", "rake", "trail", "stands_at", "launch_travel"}, []string{"ride_height", "mass_height", "launch_clearance", "takes_most"}},
		{"chassis", "front_drop=20mm", []string{"stands_at"}, []string{"rake", "mass_height", "ride_height"}},
		{"chassis", "front_tilted=286lb", []string{"mass_height", "takes_most"}, []string{"stands_at"}},
		{"chassis", "rider_back=30mm", []string{"takes_most"}, []string{"stands_at", "gears.front_margin[1]"}},
		{"chassis", "front_sprocket=16teeth", []string{}, []string{"chain_angle", "squat"}},
		{"chassis", "final_drive=2.6", []string{"gears.by_engine[2]", "targets.pulses[4]"}, []string{"gears.front_margin[2]"}},
		{"chassis", "mass_with_rider=790lb", []string{"rear_travel"}, []string{"takes_most"}},
		{"chassis", "peak_torque=220lbf.ft", []string{"gears.front_margin[1]"}, []string{"takes_most"}},
		{"chassis", "launch_exponent=1.4", []string{}, []string{"launch_travel"}},
		{"chassis", "sensor_slope=0.012V/mm", []string{"lift_reading", "lifts.reads[6]"}, nil},
		{"tyre-and-track", "rear_tyre_cold=9psig", []string{"rollout_here", "rear_tyre_hot"}, nil},
		{"tyre-and-track", "mass_with_rider=850lb", []string{"burnout_power"}, []string{"rollout_here"}},
		{"tyre-and-track", "fast_wheel=1940rpm", []string{"tyre_growth"}, nil},
		{"tyre-and-track", "track_temperature=112degF", []string{"grip_today", "surface_left"}, []string{"burnout_wanted", "burnout_longer"}},
		{"tyre-and-track", "staging_time=30s", []string{"burnout_wanted", "burnout_longer"}, []string{"surface_left"}},
		{"tyre-and-track", "cooled_to=140degF", []string{"burnout_wanted"}, []string{"tyre_cools", "surface_left"}},
		{"tyre-and-track", "burnout_time=5s", []string{"burnout_heat", "tread_rise"}, nil},
		{"tyre-and-track", "launches.gave_way[6]=1.6gn", []string{"grip_within"}, []string{"grip_today", "grip_for_degree"}},
		{"day-log", "readings.air[8]=90degF", []string{"altitude_now", "altitude_guess", "elapsed_guess"}, []string{"oxygen_now", "oxygen_guess"}},
		{"day-log", "readings.pressure[8]=28.40inHg", []string{"altitude_now"}, []string{"oxygen_now", "pressure_guess"}},
		{"day-log", "readings.humid[8]=90%", []string{"altitude_now", "grains_guess"}, []string{"oxygen_now"}},
		{"day-log", "next_round=16.5h", []string{"altitude_within", "altitude_guess"}, nil},
		{"pump-and-lines", "line_bore=8mm", []string{"line_takes", "line_flow_speed"}, []string{"inlet_pressure"}},
	} {
		before, after := template(t, c.sheet), template(t, c.sheet, c.setting)
		for _, name := range c.up {
			if !(value(t, after, name) > value(t, before, name)) {
				t.Errorf("%s with %s: %s goes from %g to %g and should rise", c.sheet, c.setting, name, value(t, before, name), value(t, after, name))
			}
		}
		for _, name := range c.down {
			if !(value(t, after, name) < value(t, before, name)) {
				t.Errorf("%s with %s: %s goes from %g to %g and should fall", c.sheet, c.setting, name, value(t, before, name), value(t, after, name))
			}
		}
	}
}

// TestShopTraps holds where such sheets mislead.
func TestShopTraps(t *testing.T) {
	for _, trap := range []struct {
		name string
		test func(*testing.T)
	}{
		{"a renewed pack begins a new count", renewedPack},
		{"a worn pack lets its springs grow longer", wornSprings},
		{"a tall disc spring clamps more on a worn pack", tallDisc},
		{"a dense charge wants more voltage than the open air", denseGap},
		{"a warm bottle of carbon dioxide is no gauge of what is in it", liquidBottle},
		{"nitrogen is no ideal gas in a full bottle", fullNitrogen},
		{"a dome of more pressure takes more gas at every stage", domeOfPlan},
		{"volts at the battery are not volts at the pump", voltsAtPump},
		{"boost closes a blown nozzle and opens no jet", blownNozzle},
		{"a tank behind the pump starves it at the launch", tankBehind},
		{"a small tilt multiplies what the scale is off by", smallTilt},
		{"air in the shock moves the predicted time", shockMovesPass},
		{"a gas spring is computed on absolute pressure", shockAbsolute},
		{"warm air adds to the absolute pressure of a tyre", tyreAbsolute},
		{"a launch that held is no point of the grip's line", heldLaunch},
		{"a slow turn is a turn as well", slowTurn},
		{"a morning's readings are no part of the afternoon's trend", morningTrend},
		{"a lifted pass is no point of the day's line", liftedPass},
		{"readings typed are readings read", typedReadings},
		{"a reading with an empty field is told", emptyReading},
		{"an engine-driven pump does not follow the battery", pumpWithoutVolts},
		{"squat is that of the lines drawn", squatByConstruction},
		{"a launch presses the gas faster than it cools", launchByHand},
		{"the guess is a line and its prediction interval", trendByHand},
		{"the grip of a launch gives its acceleration back", gripGivesItsLaunch},
	} {
		t.Run(trap.name, trap.test)
	}
}

// renewedPack renews the pack within the book: the passes left are the new
// pack's, and two readings are one pass of wear.
func renewedPack(t *testing.T) {
	where := folder(t)
	path := filepath.Join(where, "passes.csv")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	text = append(text, "9,3,2031-06-01,4.70,160.0,7.22,193.4,24.62,215,7.2,new pack\n10,3,2031-06-01,4.70,160.1,7.22,193.5,24.55,214,7.2,\n"...)
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
	r := with(t, filepath.Join(where, "clutch-pack.leaf"))
	within(t, "packs", shown(t, r, "pack_number"), 2, 0)
	within(t, "passes on this pack", shown(t, r, "pack_runs"), 1, 0)
	within(t, "wear of a pass, mm", shown(t, r, "pack_wear"), 0.07, 1e-9)
	within(t, "passes left by the pass", shown(t, r, "left_by_pass"), (24.55-23.40)/0.07, 1e-6)
	if got := shown(t, r, "stacks.taken[9]"); got != 0 {
		t.Errorf("the new pack has taken %g mm from itself", got)
	}
}

func wornSprings(t *testing.T) {
	fresh := template(t, "clutch-pack", "stack_of_set_up=24.11mm", "shims=0mm")
	worn := template(t, "clutch-pack", "stack_of_set_up=24.61mm", "shims=0mm")
	if a, b := value(t, fresh, "clutch_spring"), value(t, worn, "clutch_spring"); !(b < a*0.98) {
		t.Errorf("half a millimetre of wear takes the springs from %g to %g N", a, b)
	}
	back := template(t, "clutch-pack", "stack_of_set_up=24.61mm", "shims=0.5mm")
	within(t, "a shim restores the clamp", value(t, back, "clutch_spring")/value(t, fresh, "clutch_spring"), 1, 1e-9)
}

// tallDisc: past its peak a disc spring gives less when it is pressed further,
// so a shim takes clamp away.
func tallDisc(t *testing.T) {
	thin, more := template(t, "clutch-pack", `clutch_springs="disc"`, "shims=0.3mm"), template(t, "clutch-pack", `clutch_springs="disc"`, "shims=0.7mm")
	if a, b := value(t, thin, "clutch_spring"), value(t, more, "clutch_spring"); !(b < a) {
		t.Errorf("a shim takes the disc from %g to %g N", a, b)
	}
	if got := value(t, more, "clamp_for_shim"); !(got < 0) {
		t.Errorf("a shim of 0.10 mm gives %g N", got)
	}
}

func denseGap(t *testing.T) {
	r := template(t, "ignition")
	open := template(t, "ignition", "manifold=18kPa") // about the open air at the spark
	if a, b := value(t, open, "voltage_needed"), value(t, r, "voltage_needed"); !(b > 4*a) {
		t.Errorf("the same gap needs %g V on the bench and %g V under boost", a, b)
	}
}

func liquidBottle(t *testing.T) {
	full := template(t, "control-gas", `bottle_gas="CO2"`, "filled_by_weight=0.30kg")
	half := template(t, "control-gas", `bottle_gas="CO2"`, "filled_by_weight=0.15kg")
	within(t, "the gauge, full and half", shown(t, half, "bottle_now"), shown(t, full, "bottle_now"), 0.5)
	if a, b := value(t, full, "passes_real"), value(t, half, "passes_real"); !(a > 1.9*b) {
		t.Errorf("%g passes full, %g half", a, b)
	}
	if off := shown(t, full, "ideal_off"); !(off < -50) {
		t.Errorf("the ideal gas is off by %g %% where most is liquid", off)
	}
}

func fullNitrogen(t *testing.T) {
	r := template(t, "control-gas", "bottle_full=2900psig", "bottle_rating=3600psig", "fill_temperature=80.33degF", "bottle_temperature=80.33degF")
	ideal := 0.0280134 * (2900*6894.757 + 28.62*3386.389) / (8.314462618 * 300) // kg/m3
	within(t, "nitrogen against the ideal gas at 20 MPa", shown(t, r, "filled_to")/ideal, 0.946, 0.004)
}

// domeOfPlan: nitrogen is close to an ideal gas at the dome's pressure, so gas
// follows the gauge pressure of the plan; a plan that was forgotten is reported.
func domeOfPlan(t *testing.T) {
	was := template(t, "control-gas")
	more := template(t, "control-gas", "dome_wanted=19.37psig", "plan.dome[1]=13.39psig", "plan.dome[2]=17.29psig", "plan.dome[3]=19.37psig", "plan.dome[4]=19.37psig")
	within(t, "gas of a pass with 30 % more dome", value(t, more, "gas_of_pass")/value(t, was, "gas_of_pass"), 1.3, 1e-3)
	within(t, "fillings of a pass", value(t, more, "fills_of_pass"), value(t, was, "fills_of_pass"), 1e-9)
	for want, r := range map[bool]*sheet.Result{false: more, true: template(t, "control-gas", "dome_wanted=19.37psig")} {
		if got := says(r, planLeftBehind); got != want {
			t.Errorf("the advice on the plan is given: %v", got)
		}
	}
}

func voltsAtPump(t *testing.T) {
	thin, thick := template(t, "electrics", "pump_gauge=18"), template(t, "electrics", "pump_gauge=8")
	if a, b := value(t, thin, "volts"), value(t, thick, "volts"); !(b > a+0.5) {
		t.Errorf("%g V through a thin wire, %g through a thick one", a, b)
	}
}

func blownNozzle(t *testing.T) {
	blown, open := template(t, "pump-and-lines"), template(t, "pump-and-lines", "blown_nozzles=no")
	if a, b := value(t, open, "engine_takes"), value(t, blown, "engine_takes"); !(b < a) {
		t.Errorf("boost behind the nozzles moves their flow from %g to %g", a, b)
	}
	for _, r := range []*sheet.Result{blown, open} {
		jet := value(t, r, "discharge") * value(t, r, "jet_area") * math.Sqrt(2*value(t, r, "system_pressure")/value(t, r, "fuel_weighs"))
		within(t, "what the jet lets through, of what the nozzles leave", jet/value(t, r, "goes_back"), 1, 1e-9)
	}
}

func tankBehind(t *testing.T) {
	r := template(t, "pump-and-lines", "tank_ahead=-0.9m", "peak_accel=3gn", "fuel_temperature=40degC")
	if !says(r, "Little margin to vapour on a hot day: shade the tank, fill it cold") || !(value(t, r, "pushed") < 0) {
		t.Errorf("the launch pulls %g Pa at the pump", value(t, r, "pushed"))
	}
}
