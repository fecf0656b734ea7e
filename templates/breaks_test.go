package templates_test

import (
	"fmt"
	"math"
	"testing"

	"gearleaf/sheet/question"
	"gearleaf/templates"
)

// broken drives each sheet out of each of its limits and advices. The sheet
// that the template is made of is driven by TestSaysWhatBreaks.
var broken = []struct {
	sheet, setting, says string
}{
	{"air-of-the-day", "reading_age=90min", "The reading is more than an hour old: take a new one"},
	{"air-of-the-day", "elevation=5000ft", "The barometer does not fit the elevation: is it an airport's setting?"},
	{"air-of-the-day", "lambda_run=0.85", "Leaner than what is known to be safe on this engine"},
	{"air-of-the-day", "barometer=24.5inHg", "A trim of more than 2 psi: think again about the tune"},
	{"air-of-the-day", "air_temperature=115degF", "Wet air: the reading of the humidity counts"},

	{"boost-and-turbo", "boost=32psig", "More boost than the dome table knows: no run has been there"},
	{"boost-and-turbo", "presets.launch[2]=5%", "The gate's spring alone gives more boost than a stage asks for"},
	{"boost-and-turbo", "compressor.surge[4]=36lb/min", "A stage of the plan surges the compressor"},
	{"boost-and-turbo", "compressor.choke[4]=34lb/min", "A stage of the plan chokes the compressor"},
	{"boost-and-turbo", "filling=62%", "The compressor surges here"},
	{"boost-and-turbo", "swept=2000cc", "The compressor is choked: there is no more air in it"},
	{"boost-and-turbo", "shaft_speed=150000rpm", "The shaft runs faster than its maker allows: it bursts"},
	{"boost-and-turbo", "bottle_full=2000psig", "More in the bottle than it is rated for"},
	{"boost-and-turbo", "bottle_full=120psig", "The bottle does not last the event"},
	{"boost-and-turbo", "filling=70%", "Near surge"},
	{"boost-and-turbo", "swept=1700cc", "Near choke: the compressor gets hot for little air"},
	{"boost-and-turbo", "compressor_efficiency=80%", "Better than the map's best: read the map again"},
	{"boost-and-turbo", "port_heat=80deltaC", "A hot charge: detonation comes early"},
	{"boost-and-turbo", "evaporated=30%", "35 to 70 % of the methanol is believable (common practice, no source)"},
	{"boost-and-turbo", "through_turbine=45%", "Back pressure is 0.8 to 1.5 times the boost (common practice, no source)"},
	{"boost-and-turbo", "power_per_air=13hp.min/lb", "10.5 to 12 hp for a lb/min on methanol (common practice, no source)"},
	{"boost-and-turbo", "dome=10psig", "This dome pressure does not give the boost wanted"},

	{"boost-and-turbo", "reference_boost=45psig", "Far from the reference: log the power again before you trust this"},
	{"fuel-system", "oxygen_ratio=115%", "The charge holds more air than the fuelling follows: leaner than what is known to be safe"},
	{"fuel-system", "oxygen_ratio=85%", "Richer than this engine has run: plugs foul and power goes"},
	{"fuel-system", "oxygen_ratio=105%", "What the fuelling does not follow moves lambda by more than 3 %: correct it by hand"},
	{"fuel-system", "peak_power=620hp", "The injectors cannot carry this power: they would stand open"},
	{"fuel-system", "hand_over_power=200hp", "The primary bank stands open before the secondary comes in"},
	{"fuel-system", "peak_power=600hp", "The pump cannot feed this power"},
	{"fuel-system", "rail_rating=70psig", "More pressure than rail and lines are rated for"},
	{"fuel-system", "peak_power=530hp", "Little reserve: 85 to 90 % is where to stop (common practice, no source)"},
	{"fuel-system", "hand_over_power=20hp", "The pulse after the hand-over is too short to repeat"},
	{"fuel-system", "hand_over_power=30hp", "A small error of the opening time makes a large step in lambda here"},
	{"fuel-system", "peak_power=500hp", "15 to 20 % reserve is common practice, no source"},
	{"fuel-system", "line_bore=5mm", "The line is narrow for this flow (common practice, no source)"},
	{"fuel-system", "consumption=0.95lb/(hp.h)", "Consumption, lambda and power for the air do not go together: one is wrong"},
	{"fuel-system", "referenced=no", "The regulator does not follow the boost: the drop falls as boost comes in"},

	{"fuel-per-pass", "tank=0.5galUS", "The tank runs dry before the return"},
	{"fuel-per-pass", "tank=0.6galUS", "More has to go in than the tank holds"},
	{"fuel-per-pass", "tank=0.7galUS", "Less than the wanted reserve is left"},
	{"fuel-per-pass", "phases.duration[8]=20s", "The pass burns more than warm-up, staging and return: look at their times"},

	{"quarter-mile", "rear_sprocket=46teeth", "More engine speed at the finish than the engine is built for"},
	{"quarter-mile", "shutdown=2000ft", "The shutdown area is too short to stop at half a g"},
	{"quarter-mile", "tyre_rating=190mph", "Faster than the tyre is rated for"},
	{"quarter-mile", "clutch_rating=150kJ", "The clutch pack does not take this much heat"},
	{"quarter-mile", "chain_strength=4000lbf", "The start pulls harder than the chain is strong"},
	{"quarter-mile", "chain_strength=7000lbf", "Less than twice the pull of the start (common practice, no source): ask the chain's maker"},
	{"quarter-mile", "friction=1.2", "The clutch slips for long"},
	{"quarter-mile", "power_ratio=130%", "It slips in the upper gears as well: more spring, more arm, or less boost"},
	{"quarter-mile", "plates_limit=150deltaC", "The clutch's plates get hotter than they bear"},
	{"quarter-mile", "mass_with_rider=4500lb", "A pass of more than 12 s: this sheet is not made for it"},
	{"quarter-mile", "shift_speed=10900rpm", "Shifts are best 200 to 700 rpm past the power peak (common practice, no source)"},
	{"quarter-mile", "gears.ratio[6]=0.92", "Geared tall: the engine is below its best at the finish"},
	{"quarter-mile", "drag_area=1m2", "The rule of thumb says something else: check power and mass"},

	{"wear-and-cost", "stack_limit=24.2mm", "The clutch pack is under its limit"},
	{"wear-and-cost", "chain_now=1545mm", "The chain has stretched past its limit"},
	{"wear-and-cost", "tyre_now=1.2mm", "The rear tyre is worn out"},
	{"wear-and-cost", "battery=2A.h", "The battery does not last a full cycle"},
	{"wear-and-cost", "stack_limit=23.9mm", "Take a new clutch pack to the next event"},
	{"wear-and-cost", "chain_now=1537mm", "Take a chain"},
	{"wear-and-cost", "tyre_now=2.0mm", "Take a rear tyre"},
	{"wear-and-cost", "oil_passes=6pass", "The oil is due"},
	{"wear-and-cost", "plug_passes=12pass", "The plugs are due"},
	{"wear-and-cost", "spring_passes=61pass", "The valve springs are due"},
	{"wear-and-cost", "battery=5A.h", "Charge between the rounds"},

	{"set-up-book", "minimum_weight=760lb", "Under the minimum weight after the run"},
	{"set-up-book", `second_reader="rider"`, "Two people read the limits, not one of them twice"},
	{"set-up-book", "qualifying=8", "The bottle is planned for fewer passes than the event has"},
	{"set-up-book", "ballast=60lb", "More ballast than the rule asks for"},
	{"set-up-book", "filling=125%", "The air and the power curve do not agree"},
	{"set-up-book", "phases.duration[9]=5s", "The pass and the phases do not agree about the fuel"},

	{"between-rounds", "reading_age=90min", "The reading is more than an hour old: take a new one"},
	{"between-rounds", "times.last[5]=7.5s", "The book's own pass says something else: mass, drag or grip have changed, or fit the book"},
	{"between-rounds", "rider=215lb", "The book's own pass says something else: mass, drag or grip have changed, or fit the book"},
	{"between-rounds", "lambda_run=0.85", "Leaner than what is known to be safe on this engine"},
	{"between-rounds", "boost=25psig", "Another day than the last pass's: this page is for small changes"},
	{"between-rounds", "rear_sprocket=40teeth", "Predicted for one tooth: with more the chain may change by links, which moves the axle. Take the book's pass"},
	{"between-rounds", "rear_sprocket=44teeth", "Predicted for one tooth: with more the chain may change by links, which moves the axle. Take the book's pass"},
	{"between-rounds", "barometer=24inHg", "A trim of more than 2 psi: think again about the tune"},
}

// byBook are said of a file alone, the book of passes or of readings, which no given reaches.
var byBook = map[string]bool{
	"A pass took more of the pack than 0.012 in (common practice, no source): why?":           true,
	"A pass of the book has no seconds at full load or no event: counts after it are missing": true,
	"A reading lacks pressure, air or humidity: complete its line, or take it out":            true,
}

// TestEveryLimitSpeaks drives each limit once, and sees that none was left out.
func TestEveryLimitSpeaks(t *testing.T) {
	driven := map[string]bool{}
	for _, c := range broken {
		driven[c.sheet+": "+c.says] = true
		r := template(t, c.sheet, c.setting)
		if !says(r, c.says) {
			t.Errorf("%s with %s: nothing says %q", c.sheet, c.setting, c.says)
		}
	}
	for _, tpl := range templates.List() {
		if tpl.Name == "sprocket-change" {
			continue
		}
		for _, l := range template(t, tpl.Name).Sheet.Model.Limits {
			if byBook[l.Message] {
				continue
			}
			if l.Origin.File == 0 && !driven[tpl.Name+": "+l.Message] {
				t.Errorf("%s: nothing drives %q", tpl.Name, l.Message)
			}
		}
	}
}

// TestBookIsOneMachine lets one sprocket, one reading and one rider move every
// sheet that they are for.
func TestBookIsOneMachine(t *testing.T) {
	book := template(t, "set-up-book")
	plugs := map[string]bool{}
	for _, p := range book.Sheet.Model.Plugs {
		plugs[p.Given.Name] = true
	}
	for _, name := range []string{"finish_speed", "wheelbase", "centre_ahead", "mass_with_rider", "air_density", "ambient", "charge_temperature", "peak_power", "power_peak", "swept", "fuel_weighs", "running", "fuel_a_pass"} {
		if !plugs[name] {
			t.Errorf("%s is not taken from the sheet that computes it", name)
		}
	}
	for _, c := range []struct {
		setting string
		moves   []string
	}{
		{"rear_sprocket=43teeth", []string{"axle_place", "wheelbase", "front_lifts", "finish_speed", "predicted_time", "finish_revs"}},
		{"barometer=28.2inHg", []string{"air_density", "predicted_time", "boost_trim", "rear_tyre_hot", "cycle_fuel"}},
		{"rider=200lb", []string{"mass_with_rider", "weight_after", "centre_ahead", "predicted_time"}},
		{"boost=19psig", []string{"dome_today", "rail_pressure", "boosted_ratio", "charge_temperature"}},
	} {
		other := template(t, "set-up-book", c.setting)
		for _, name := range c.moves {
			if value(t, book, name) == value(t, other, name) {
				t.Errorf("%s does not move %s", c.setting, name)
			}
		}
	}
	within(t, "one mass, lb", shown(t, book, "mass_with_rider"), 750, 1)
	within(t, "one wheelbase, mm", shown(t, book, "wheelbase"), 1720, 1)
	within(t, "one centre of mass, mm", shown(t, book, "centre_ahead"), 950, 1)
	within(t, "one slip, s", shown(t, book, "predicted_time"), 7.20, 0.06)
}

// TestSaturday sees that a day's few lines are on top of the whole book.
func TestSaturday(t *testing.T) {
	day := template(t, "saturday")
	within(t, "rear sprocket", shown(t, day, "rear_sprocket"), 43, 0)
	within(t, "barometer", shown(t, day, "barometer"), 28.70, 1e-9)
	if len(day.Sheet.Model.Files[0].Tree().Stmts) > 12 {
		t.Errorf("the day has %d lines", len(day.Sheet.Model.Files[0].Tree().Stmts))
	}
}

// TestBetweenRounds compares the page's small table with the pass of the book:
// what a little more power, wind, air and a tooth do to it.
func TestBetweenRounds(t *testing.T) {
	page := template(t, "between-rounds")
	for _, c := range []struct{ amount, show, into string }{
		{"power_fit=1%", "slip.elapsed", "times.power"},
		{"head_wind=1mph", "slip.elapsed", "times.wind"},
		{"drag_area=1%", "slip.elapsed", "times.air"},
		{"rear_sprocket=1", "slip.elapsed", "times.tooth"},
		{"power_fit=1%", "slip.on_slip", "speeds.power"},
		{"head_wind=1mph", "slip.on_slip", "speeds.wind"},
		{"drag_area=1%", "slip.on_slip", "speeds.air"},
	} {
		step, d1 := question.ParseStep(page.Sheet, c.amount)
		show, d2 := page.Sheet.Place(c.show)
		if d1 != nil || d2 != nil {
			t.Fatal(d1, d2)
		}
		w, err := question.WorthOf(page.Sheet, []question.Step{step}, show)
		if err != nil {
			t.Fatal(err)
		}
		_, into := page.Sheet.Model.Resolve(c.into)
		settings, d := w.Into(0, into)
		if d != nil {
			t.Fatal(d.Message)
		}
		for _, set := range settings {
			within(t, fmt.Sprintf("%s[%d], as gearleaf worth writes it", c.into, set.Row+1), page.Entry(into, set.Row).V, set.Value, 2e-5)
		}
	}
	// The same day, wind and boost predict the last slip again.
	same := template(t, "between-rounds", "barometer=28.62inHg", "air_temperature=84degF", "humidity=58%", "head_wind=3mph", "boost=21psig")
	for _, row := range []string{"[1]", "[2]", "[3]", "[4]", "[5]"} {
		within(t, "nothing has changed, row "+row, value(t, same, "times.predicted"+row), value(t, same, "times.last"+row), 1e-12)
	}
	// The dome follows the boost of the log.
	within(t, "dome for half a psi more, psig", shown(t, page, "dome_now"), 15.7, 0.01)
	// What is written into an empty box is compared with the prediction.
	ran := template(t, "between-rounds", "times.actual[5]=7.240s")
	if got := value(t, ran, "times.missed[5]"); math.Abs(got-(7.240-value(t, ran, "times.predicted[5]"))) > 1e-12 {
		t.Errorf("missed by %g s", got)
	}
	_, actual := page.Sheet.Model.Resolve("times.actual")
	for row := range 5 {
		if !page.Entry(actual, row).IsBlank() {
			t.Errorf("the box in row %d is not empty", row+1)
		}
	}
}

// TestFuelToChange: what the page between two rounds says of fuel has the sign of
// the fuel to add for the lambda wanted. A controller that follows the pressure may
// ask for less fuel although the charge holds more air. The predicted time moves
// with the power.
func TestFuelToChange(t *testing.T) {
	base := value(t, template(t, "between-rounds"), "times.predicted[5]")
	for _, c := range []struct {
		settings []string
		slower   float64 // ms, about
		says     string
	}{
		{nil, 0, "take out by hand"},
		{[]string{"boost=26psig"}, -127, "take out by hand"},
		{[]string{"boost=17psig"}, 140, "add by hand"},
		{[]string{"air_temperature=60degF"}, -36, "add by hand"},
		{[]string{"air_temperature=78degF"}, -11, "leave it"},
		{[]string{"air_temperature=106degF"}, 42, "take out by hand"},
		{[]string{"humidity=95%"}, 22, "take out by hand"},
		{[]string{"barometer=26inHg", "elevation=3200ft"}, 36, "take out by hand"},
		{[]string{"rear_sprocket=41teeth"}, -6, "take out by hand"},
		{[]string{"air_temperature=60degF", `fuelling="none"`}, -36, "add by hand"},
		{[]string{"air_temperature=106degF", `fuelling="none"`}, 42, "take out by hand"},
	} {
		r := template(t, "between-rounds", c.settings...)
		cell, _ := r.Sheet.Model.Resolve("fuel_change")
		if got := r.Sheet.Text(&cell.Quantity, r.Cell(cell).V); got != c.says {
			t.Errorf("%v: fuel_change is %q, want %q; fuel_by_hand is %.3f", c.settings, got, c.says, value(t, r, "fuel_by_hand"))
		}
		slower := 1000 * (value(t, r, "times.predicted[5]") - base)
		within(t, fmt.Sprintf("%v: slower, ms", c.settings), slower, c.slower, 0.4*math.Abs(c.slower)+1)
	}
}

// TestVacuumIsNeverBoost: in a throttled manifold no air is thin enough, and no vacuum
// small enough, for a pressure above today's air.
func TestVacuumIsNeverBoost(t *testing.T) {
	last := math.Inf(-1)
	for _, gauge := range []string{"-7.5", "-3", "-0.5", "-0.1"} {
		r := template(t, "fuel-per-pass", "ambient=26inHg", "phases.gauge[1]="+gauge+"psig")
		got := value(t, r, "phases.boost[1]")
		if got > 0 || got < last {
			t.Errorf("%s psig: the boost is %g Pa, and %g Pa with more vacuum", gauge, got, last)
		}
		last = got
	}
}

// TestTrackIsNoDoubt: a slower track moves the prediction, and not what is thought
// of the machine.
func TestTrackIsNoDoubt(t *testing.T) {
	for _, change := range []string{"-60ms", "60ms"} {
		r := template(t, "between-rounds", "track_change="+change)
		if doubt := "The book's own pass says something else: mass, drag or grip have changed, or fit the book"; says(r, doubt) {
			t.Errorf("track_change=%s: %s", change, doubt)
		}
	}
}
