package templates_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"gearleaf/sheet"
)

func init() {
	broken = append(broken, []struct{ sheet, setting, says string }{
		{"fuel-system", "fuel_temperature=60degC", "The fuel boils before the pump: it gives vapour and the engine runs lean"},
		{"fuel-system", "fuel_temperature=58degC", "Little margin to vapour before the pump on a hot day: shade the tank, fill it cold"},

		{"nitrous", "fuel_pressure=24psig", "Too little fuel for the nitrous: pistons melt before it can be heard"},
		{"nitrous", "stages.fuel_jet[1]=8thou", "A stage has too little fuel: by itself it melts the engine"},
		{"nitrous", "lambda_alone=0.97", "Leaner, air and nitrous together, than what is known to be safe"},
		{"nitrous", "nitrous_temperature=45degF", "A cold bottle: less flow, rich (common practice, no source)"},
		{"nitrous", "ratio_melts=5.3", "A warm bottle makes these jets lean: the fuel does not follow the bottle"},
		{"nitrous", "fuel_temperature=48degC", "The gasoline boils before the pump: nitrous without fuel"},
		{"nitrous", "fuel_temperature=42degC", "Little margin to vapour at the fuel pump on a hot day"},
		{"nitrous", "nitrous_temperature=96degF", "Near 97 degF nitrous is no liquid any more: jets and gauge mean nothing"},
		{"nitrous", "nitrous_rating=800psig", "More pressure than the bottle is rated for"},
		{"nitrous", "bottle_on_scales=24.2lb", "More in the bottle than it may hold: it bursts its relief when it warms up"},
		{"nitrous", "sun_temperature=128degF", "No bottle may get warmer than 52 degC (125 degF)"},
		{"nitrous", "bottle_on_scales=17.5lb", "Not enough liquid for the pass: it ends on gas, lean or without power"},
		{"nitrous", "fuel_pressure=90psig", "Much more fuel than it needs: power goes, plugs foul"},
		{"nitrous", "bottle_on_scales=18.8lb", "Fill the bottle before the next round but two"},
		{"nitrous", "nitrous_room=4.8L", "The liquid fills the bottle: its pressure climbs with every degree"},
		{"nitrous", "bottle_on_scales=17.7lb", "The bottle falls in the pass: rich at the end of it"},
		{"nitrous", "stages.nitrous_jet[2]=22thou", "More than an engine of this size usually bears (common practice, no source)"},
	}...)
}

// course is a setting, and what goes up and down with it.
type course struct {
	sheet, setting string
	up, down       []string
}

// moves holds that every value of signs goes where it must.
func moves(t *testing.T, signs []course) {
	t.Helper()
	for _, c := range signs {
		before, after := template(t, c.sheet), template(t, c.sheet, c.setting)
		for direction, names := range map[float64][]string{1: c.up, -1: c.down} {
			for _, name := range names {
				if a, b := value(t, before, name), value(t, after, name); !(direction*(b-a) > 0) {
					t.Errorf("%s with %s: %s goes from %g to %g, the wrong way", c.sheet, c.setting, name, a, b)
				}
			}
		}
	}
}

func TestNitrousSigns(t *testing.T) {
	moves(t, []course{
		{"nitrous", "nitrous_temperature=88degF", []string{"nitrous_shows", "nitrous_flow", "jets_ratio", "gas_left"}, []string{"passes_left", "liquid_weighs"}},
		{"nitrous", "nitrous_temperature=60degF", []string{"passes_left"}, []string{"nitrous_shows", "nitrous_flow", "jets_ratio", "power_added", "bottle_cools"}},
		{"nitrous", "fuel_pressure=36psig", []string{"jets_ratio", "lambda_with"}, []string{"fuel_added"}},
		{"nitrous", "stages.nitrous_jet[2]=16thou", []string{"nitrous_flow", "jets_ratio", "power_added", "peak_torque", "nitrous_of_pass", "charge_cools", "falls_by"}, []string{"weighs_after", "passes_left"}},
		{"nitrous", "stages.fuel_jet[2]=13thou", []string{"fuel_added"}, []string{"jets_ratio", "lambda_with"}},
		{"nitrous", "on_speed=7000rpm", []string{"torque_added", "peak_torque"}, nil},
		{"nitrous", "test_loss=0.40lb", []string{"nitrous_discharge", "nitrous_flow", "jets_ratio"}, nil},
		{"nitrous", "boils_in_time=40%", nil, []string{"charge_cools"}},
		{"nitrous", "reid_pressure=11psia", []string{"gasoline_boils"}, []string{"gasoline_margin"}},
		{"nitrous", "fuel_temperature=35degC", []string{"gasoline_boils", "jets_ratio"}, []string{"gasoline", "gasoline_margin"}},
		{"nitrous", "air_temperature=100degF", []string{"charge", "charge_cools"}, nil},
		{"nitrous", "heat_into_work=30%", []string{"power_added", "peak_power"}, nil},
	})
}

// TestNitrousTraps holds where such sheets mislead.
func TestNitrousTraps(t *testing.T) {
	t.Run("a warmer bottle is leaner with the same jets", func(t *testing.T) {
		cold, warm := template(t, "nitrous", "nitrous_temperature=50degF"), template(t, "nitrous", "nitrous_temperature=85degF")
		if a, b := value(t, cold, "jets_ratio"), value(t, warm, "jets_ratio"); !(b > 1.1*a) {
			t.Errorf("from 50 to 85 degF the ratio goes from %g to %g", a, b)
		}
		within(t, "the fuel stays", value(t, warm, "fuel_added"), value(t, cold, "fuel_added"), 1e-12)
	})
	t.Run("near 90 degF more heat is less flow", func(t *testing.T) {
		best, hot := template(t, "nitrous", "nitrous_temperature=88degF"), template(t, "nitrous", "nitrous_temperature=95degF")
		if a, b := value(t, best, "nitrous_flow"), value(t, hot, "nitrous_flow"); !(b < a) || !(value(t, hot, "nitrous_shows") > value(t, best, "nitrous_shows")) {
			t.Errorf("the flow goes from %g to %g kg/s while the gauge rises", a, b)
		}
	})
	t.Run("the gauge shows how warm the bottle is, not how full", func(t *testing.T) {
		full, half := template(t, "nitrous"), template(t, "nitrous", "bottle_on_scales=18.9lb")
		within(t, "gauge", value(t, half, "nitrous_shows"), value(t, full, "nitrous_shows"), 1e-9)
		if a, b := value(t, full, "passes_left"), value(t, half, "passes_left"); !(b < a/2) {
			t.Errorf("%g passes full, %g half", a, b)
		}
	})
	t.Run("the last gas in the bottle is no pass", func(t *testing.T) {
		r := template(t, "nitrous")
		if all, use := value(t, r, "nitrous_in")/value(t, r, "nitrous_of_pass"), value(t, r, "passes_left"); !(use < 0.7*all) {
			t.Errorf("%g passes by the scales, %g by the liquid", all, use)
		}
	})
	t.Run("too little fuel is a limit, at any stage", func(t *testing.T) {
		for _, setting := range []string{"stages.fuel_jet[2]=0thou", "fuel_pressure=3psig", "fuel_discharge=0.4"} {
			if !template(t, "nitrous", setting).Trouble() {
				t.Errorf("%s leaves the verdict green", setting)
			}
		}
	})
	t.Run("gasoline boils at the pump on a hot day", func(t *testing.T) {
		const boils = "The fuel boils at the pump's inlet: it pumps vapour and the engine runs lean"
		for setting, want := range map[string]bool{"fuel_temperature=20degC": false, "fuel_temperature=42degC": true} {
			if got := says(template(t, "pump-and-lines", `fuel="gasoline"`, setting), boils); got != want {
				t.Errorf("%s: it boils: %v", setting, got)
			}
		}
		for setting, want := range map[string]bool{"fuel_temperature=25degC": false, "fuel_temperature=50degC": true} {
			const boils = "The fuel boils before the pump: it gives vapour and the engine runs lean"
			if got := says(template(t, "fuel-system", `fuel="gasoline"`, setting), boils); got != want {
				t.Errorf("electric pump, %s: it boils: %v", setting, got)
			}
		}
		within(t, "9 psi gasoline boils, degC", shown(t, template(t, "pump-and-lines", `fuel="gasoline"`), "boils_at"), 51, 2)
	})
}

// TestNitrousByHand recomputes the sheet from the printed saturation state of
// nitrous oxide at 300 K (5.8875 MPa, 724.7 and 202.9 kg/m3 by the equation of
// state of Lemmon and Span) with nothing of the library.
func TestNitrousByHand(t *testing.T) {
	const pound, inch = 0.45359237, 0.0254
	r := template(t, "nitrous", "nitrous_temperature=80.33degF", "test_temperature=80.33degF")
	speed := math.Sqrt(2 * 724.7 * 5.8875e6) // kg/(m2 s)
	bore := func(thou float64) float64 { return math.Pi / 4 * math.Pow(thou*inch/1000, 2) }
	discharge := 0.362 * pound / 30 / (bore(14) * speed)
	within(t, "discharge", shown(t, r, "nitrous_discharge"), discharge, 0.002*discharge)
	flow := discharge * speed * 4 * (bore(12) + bore(14))
	within(t, "nitrous, kg/s", value(t, r, "nitrous_flow"), flow, 0.001*flow)
	gasoline := shown(t, r, "gasoline")
	fuel := 0.72 * 4 * (bore(10) + bore(12)) * math.Sqrt(2*gasoline*43*6894.757)
	within(t, "its fuel, kg/s", value(t, r, "fuel_added"), fuel, 0.001*fuel)
	within(t, "ratio", value(t, r, "jets_ratio"), flow/fuel, 0.003)
	power := flow * 0.27 * (44e6/9.2960943 + 81.6e3/0.044013)
	within(t, "power added, W", value(t, r, "power_added"), power, 0.001*power)
	within(t, "shows, psi", shown(t, r, "nitrous_shows"), 5.8875e6/6894.757-28.62*0.4911542, 1)
	left := math.Floor((7.7*pound - 202.9*6.75e-3) / (flow*(6.8*0.424+5.4*0.576) + 0.12*pound))
	if got := value(t, r, "passes_left"); math.Abs(got-left) > 1 {
		t.Errorf("%g passes left, by hand %g", got, left)
	}
	air := 398 / 10.2 * pound / 60
	cools := 0.8 * flow * (235.91e3 + 880*(84-80.33)/1.8) / (air*1005 + 0.8*flow*880)
	within(t, "the charge is cooled, K", value(t, r, "charge_cools"), cools, 0.05)
	charge := (84-32)/1.8 + 273.15 - cools
	within(t, "air kept", value(t, r, "air_kept"), ((84-32)/1.8+273.15)/charge-0.8*flow*28.965/44.013/air, 5e-4)
}

// TestNitrousPlugsIn puts the sheet beside those of a machine that is naturally
// aspirated: gearing takes its power, it takes the air of the day.
func TestNitrousPlugsIn(t *testing.T) {
	path := filepath.Join(folder(t), "street.leaf")
	text := "title \"Invented\"\nuse \"sprocket-change.leaf\"\nuse \"nitrous.leaf\"\nuse \"air-of-the-day.leaf\"\n" +
		"chain_strength : 16000 lbf\ngears.ratio[5] : 1.30\n"
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	r := with(t, path)
	plugs(t, r, "peak_power", "peak_torque", "ambient")
	within(t, "gearing reads the power", value(t, r, "peak_power"), value(t, template(t, "nitrous", "ambient=28.62inHg"), "peak_power"), 1e-6*value(t, r, "peak_power"))
}

// plugs holds that the givens called names are taken from other sheets.
func plugs(t *testing.T, r *sheet.Result, names ...string) {
	t.Helper()
	from := map[string]bool{}
	for _, p := range r.Sheet.Model.Plugs {
		from[p.Given.Name] = true
	}
	for _, name := range names {
		if !from[name] {
			t.Errorf("%s is not taken from the sheet that computes it", name)
		}
	}
}
