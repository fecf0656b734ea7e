package templates_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// smallTilt weighs one machine on two tilts, the front scale half a pound off:
// the error of the height is as many times larger as the tangent is smaller.
func smallTilt(t *testing.T) {
	off := func(tilt, right, wrong string) float64 {
		a, b := template(t, "chassis", "tilt="+tilt, "front_tilted="+right), template(t, "chassis", "tilt="+tilt, "front_tilted="+wrong)
		return math.Abs(value(t, a, "machine_height") - value(t, b, "machine_height"))
	}
	small, large := off("5deg", "297lb", "296.5lb"), off("20deg", "289lb", "288.5lb")
	within(t, "error on 5 degrees over that on 20", small/large, math.Tan(20*math.Pi/180)/math.Tan(5*math.Pi/180), 1e-6)
}

// shockMovesPass lets air out of the shock in the book: the machine is lower,
// its front wheel holds for longer and the pass is quicker.
func shockMovesPass(t *testing.T) {
	path := filepath.Join(folder(t), "low.leaf")
	if err := os.WriteFile(path, []byte("use \"set-up-book.leaf\"\nuse \"chassis.leaf\"\nshock_pressure : 100 psig\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	low, stands := with(t, path), plugged(t, "chassis")
	for _, name := range []string{"centre_height", "elapsed_time"} {
		if a, b := value(t, stands, name), value(t, low, name); !(b < a) {
			t.Errorf("with less air in the shock %s goes from %g to %g", name, a, b)
		}
	}
}

// shockAbsolute works the rider's sag by hand from Boyle's law on absolute
// pressure; on the gauge's it would be another.
func shockAbsolute(t *testing.T) {
	const psi, inHg, pound = 6894.757293, 3386.388640, 0.45359237 * 9.80665
	r := template(t, "chassis")
	area, outside := math.Pi/4*0.05*0.05, 28.62*inHg
	load := (750*(1-950.0/1720) - 62) * pound / 0.6
	full := 115*psi + outside
	pressed := 260e-6 * (1 - full/(load/area+outside)) / area
	within(t, "shock pressed in, mm", shown(t, r, "shock_in"), pressed*1000, 1e-6)
	gauge := 260e-6 * (1 - 115*psi/(load/area)) / area
	if math.Abs(gauge-pressed) < 0.001 {
		t.Error("this check does not tell absolute from gauge")
	}
}

func tyreAbsolute(t *testing.T) {
	r := template(t, "tyre-and-track")
	outside := 28.62 * 3386.388640 / 6894.757293 // psi
	within(t, "hot, psig", shown(t, r, "rear_tyre_hot"), (8+outside)*(140+459.67)/(84+459.67)-outside, 1e-6)
}

// heldLaunch adds launches in which the tyre held: the line stays where it was.
func heldLaunch(t *testing.T) {
	was, more := template(t, "tyre-and-track"), template(t, "tyre-and-track", "launches.held[7]=1.2gn", "launches.held[8]=1.2gn")
	for _, name := range []string{"grip_today", "grip_within"} {
		within(t, name, value(t, more, name), value(t, was, name), 1e-12)
	}
}

// slowTurn: a turn at walking pace is nearly the one at rest, and the growth
// from both fits both.
func slowTurn(t *testing.T) {
	r := template(t, "tyre-and-track", "slow_at=40mph")
	growth, slow, fast := value(t, r, "tyre_growth"), value(t, r, "slow_at"), value(t, r, "fast_at")
	within(t, "the ratio of the turns", (1+growth*fast*fast)/(1+growth*slow*slow), value(t, r, "turn_fast")/value(t, r, "turn_slow"), 1e-12)
}

// morningTrend: the day bends at noon, so a line through all of it is steeper
// than the afternoon's.
func morningTrend(t *testing.T) {
	last, all := template(t, "day-log", "next_round=16.5h"), template(t, "day-log", "next_round=16.5h", "trend_readings=8")
	if a, b := value(t, last, "altitude_guess"), value(t, all, "altitude_guess"); !(b > a) {
		t.Errorf("through the afternoon %g m, through the whole day %g m", a, b)
	}
	few := template(t, "day-log", "trend_readings=12")
	within(t, "no more readings than there are", value(t, few, "trend_factor"), value(t, all, "trend_factor"), 1e-12)
}

// liftedPass: the third slip has no time, and is counted nowhere.
func liftedPass(t *testing.T) {
	r := template(t, "day-log")
	_, off := r.Sheet.Model.Resolve("slips.off")
	if !r.Entry(off, 3).IsBlank() {
		t.Error("a pass without a time has a distance from the line")
	}
	within(t, "lefts and rights", value(t, r, "slips.left_one[1]")+value(t, r, "slips.right_one[2]"), 2, 0)
	if says(r, "The lanes differ by more than 15 ms: is it the track?") {
		t.Error("the lanes differ")
	}
}

// typedReadings replaces the file by a grid, as the manual says.
func typedReadings(t *testing.T) {
	where := folder(t)
	path := filepath.Join(where, "day-log.leaf")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	csv, err := os.ReadFile(filepath.Join(where, "weather.csv"))
	if err != nil {
		t.Fatal(err)
	}
	grid := []string{`table readings  "A line a reading"`, "  | time h | pressure inHg | air degF | humid % | wind mph | ground degF |"}
	for _, line := range strings.Split(strings.TrimSpace(string(csv)), "\n")[1:] {
		grid = append(grid, "  | "+strings.Join(strings.Split(line, ",")[:6], " | ")+" |")
	}
	var typed []string
	for line := range strings.Lines(string(text)) {
		switch {
		case strings.HasPrefix(line, "table readings"):
			typed = append(typed, grid...)
		case strings.Contains(line, ": from "):
		default:
			typed = append(typed, strings.TrimSuffix(line, "\n"))
		}
	}
	if err := os.WriteFile(path, []byte(strings.Join(typed, "\n")+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	read, wrote := template(t, "day-log"), with(t, path)
	for _, name := range []string{"altitude_guess", "altitude_within", "elapsed_guess", "barometer", "track_temperature"} {
		within(t, name, value(t, wrote, name), value(t, read, name), 1e-12)
	}
}

func pumpWithoutVolts(t *testing.T) {
	path := filepath.Join(folder(t), "flat.leaf")
	if err := os.WriteFile(path, []byte("use \"set-up-book.leaf\"\nuse \"pump-and-lines.leaf\"\nvolts : 10\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	flat, full := with(t, path), plugged(t, "pump-and-lines")
	within(t, "pump at the rail's pressure", value(t, flat, "pump_flow"), value(t, full, "pump_flow"), 1e-12)
	more := template(t, "pump-and-lines", "pump_of_turn=3.5cc/turn")
	if a, b := value(t, full, "pump.flow[1]"), value(t, more, "pump.flow[1]"); !(b > a) {
		t.Errorf("a larger pump gives %g, the smaller one %g", b, a)
	}
}

// squatByConstruction draws the swing arm and the upper chain run, takes the
// point where they meet, and the slope of the line to it from the rear tyre's
// contact: Cossalter, Motorcycle Dynamics (from memory).
func squatByConstruction(t *testing.T) {
	r := template(t, "chassis", "rear_sprocket=44teeth", "shock_pressure=105psig")
	v := func(name string) float64 { return value(t, r, name) }
	// Rear axle at the origin, forwards and upwards positive.
	arm := math.Asin(v("pivot_over_axle") / v("swing_arm"))
	pivot := [2]float64{v("swing_arm") * math.Cos(arm), v("pivot_over_axle")}
	front := [2]float64{pivot[0] + v("sprocket_ahead"), pivot[1] + v("sprocket_above")}
	radius := func(teeth string) float64 { return v("chain_pitch") / 2 / math.Sin(math.Pi/v(teeth)) }
	back, fore := radius("rear_sprocket"), radius("front_sprocket")
	// The common tangent: turn its angle until both circles touch it.
	low, high := -1.0, 1.0
	for range 100 {
		angle := (low + high) / 2
		if front[1]*math.Cos(angle)-front[0]*math.Sin(angle)+fore > back {
			low = angle
		} else {
			high = angle
		}
	}
	run := math.Tan(low)
	top := back / math.Cos(low) // the run's height over the rear axle
	x := top / (math.Tan(arm) - run)
	contact := v("tyre_rollout") / (2 * math.Pi)
	line := (x*math.Tan(arm) + contact) / x
	within(t, "squat ratio", v("squat"), v("centre_height")/v("wheelbase")/line, 1e-9)
	within(t, "the launch's load on the springs, of the transfer", v("launch_on_springs")/v("launch_moves"), 1-1/v("squat"), 1e-12)
}

// launchByHand compresses the shock from its position by p V^1.3.
func launchByHand(t *testing.T) {
	r := template(t, "chassis", "peak_accel=2.2gn")
	area := math.Pi / 4 * 0.05 * 0.05
	outside := value(t, r, "ambient")
	stands := 260e-6 - value(t, r, "shock_in")*area
	pushed := value(t, r, "launch_force")/area + outside
	volume := stands * math.Pow(value(t, r, "stands_pressure")/pushed, 1/1.3)
	within(t, "shock at the launch, mm", shown(t, r, "launch_stroke"), (260e-6-volume)/area*1000, 1e-9)
}

// trendByHand fits the trend's points and their interval by the textbook's
// sums: JCGM 100, H.3; Student's t of three degrees of freedom is 3.182.
func trendByHand(t *testing.T) {
	r := template(t, "day-log")
	var xs, ys []float64
	for row := 1; row <= 5; row++ {
		xs = append(xs, value(t, r, fmt.Sprintf("trend.at[%d]", row)))
		ys = append(ys, value(t, r, fmt.Sprintf("trend.height[%d]", row)))
	}
	var mx, my, sxx, sxy, rest float64
	for i := range xs {
		mx, my = mx+xs[i]/5, my+ys[i]/5
	}
	for i := range xs {
		sxx, sxy = sxx+(xs[i]-mx)*(xs[i]-mx), sxy+(xs[i]-mx)*(ys[i]-my)
	}
	for i := range xs {
		off := ys[i] - my - sxy/sxx*(xs[i]-mx)
		rest += off * off
	}
	x := value(t, r, "next_round")
	within(t, "guess, m", value(t, r, "altitude_guess"), my+sxy/sxx*(x-mx), 1e-9*my)
	half := 3.182 * math.Sqrt(rest/3*(1+1.0/5+(x-mx)*(x-mx)/sxx))
	within(t, "its interval, m", value(t, r, "altitude_within"), half, 1e-9*my)
}

// gripGivesItsLaunch turns the grip of a launch back into its acceleration by
// the pass's own limit of grip.
func gripGivesItsLaunch(t *testing.T) {
	r := template(t, "tyre-and-track", "launches.at[3]=0mph", "rolling_force=0lbf", "launches.gave_way[3]=1.4gn")
	pass := template(t, "quarter-mile", "friction="+strconv.FormatFloat(value(t, r, "launches.grip[3]"), 'g', 17, 64))
	within(t, "the pass's limit of grip, m/s2", value(t, pass, "grip_limit"), 1.4*9.80665, 1e-9)
}

// emptyReading adds a line without its temperature: an older reading's must not
// pass for this one's in silence.
func emptyReading(t *testing.T) {
	where := folder(t)
	path := filepath.Join(where, "weather.csv")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, append(text, "14.6,28.61,,57,3,104,\n"...), 0o644); err != nil {
		t.Fatal(err)
	}
	r := with(t, filepath.Join(where, "day-log.leaf"))
	if !says(r, "A reading lacks pressure, air or humidity: complete its line, or take it out") || !r.Trouble() {
		t.Error("a reading without a temperature is not told")
	}
}
