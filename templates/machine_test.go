package templates_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/templates"
)

// folder writes every template and its files into a new folder.
func folder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for _, tpl := range templates.List() {
		for _, f := range append(tpl.Beside, templates.File{Name: tpl.Name + ".leaf", Text: tpl.Text}) {
			if err := os.WriteFile(filepath.Join(dir, f.Name), []byte(f.Text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	return dir
}

// with computes the worksheet at path with other givens. That both evaluators
// agree on a template is tested by TestEveryTemplateStands.
func with(t *testing.T, path string, settings ...string) *sheet.Result {
	t.Helper()
	s, list := sheet.Load(path)
	if s == nil {
		t.Fatalf("%s: %v", path, list)
	}
	for _, text := range settings {
		set, d := s.ParseSetting(text)
		if d != nil {
			t.Fatalf("%s: %s: %s", path, text, d.Message)
		}
		s.Set(set)
	}
	return s.Evaluate()
}

// template computes a template with other givens.
func template(t *testing.T, name string, settings ...string) *sheet.Result {
	t.Helper()
	return with(t, filepath.Join(folder(t), name+".leaf"), settings...)
}

// shown returns a value in the unit in which the sheet shows it.
func shown(t *testing.T, r *sheet.Result, name string) float64 {
	t.Helper()
	v := value(t, r, name)
	plain, _, _ := strings.Cut(name, "[")
	if cell, column := r.Sheet.Model.Resolve(plain); cell != nil {
		return cell.Unit.Shown(v)
	} else if column != nil {
		return column.Unit.Shown(v)
	}
	return v
}

// word returns a text value.
func word(t *testing.T, r *sheet.Result, name string) string {
	t.Helper()
	return r.Sheet.Model.Texts[int(value(t, r, name))]
}

// says reports whether a limit or advice that is not kept has that message.
func says(r *sheet.Result, message string) bool {
	for _, l := range r.Sheet.Model.Limits {
		if state, _ := r.Limit(l); state != sheet.Kept && l.Message == message {
			return true
		}
	}
	return false
}

// within fails unless got is want, give or take.
func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %g, want %g ± %g", what, got, want, tolerance)
	}
}

// TestDemonstrationMachine holds the sheets together: what one machine has
// must come out of every sheet alike. The figures are ranges that are common
// practice, no source; they were computed together.
func TestDemonstrationMachine(t *testing.T) {
	pass := template(t, "quarter-mile")
	for _, c := range []struct {
		name          string
		want, within_ float64
	}{
		{"slip.elapsed[1]", 1.24, 0.03},
		{"slip.elapsed[2]", 3.15, 0.03},
		{"slip.elapsed[3]", 4.70, 0.03},
		{"slip.at_mark[3]", 161, 2},
		{"slip.elapsed[4]", 6.04, 0.05},
		{"slip.elapsed[5]", 7.20, 0.06},
		{"slip.at_mark[5]", 194, 2},
		{"clutch_energy", 230, 50},
		{"start_run", 9.5, 2.5},
		{"peak_power", 448, 0.5},
	} {
		within(t, c.name, shown(t, pass, c.name), c.want, c.within_)
	}
	boost := template(t, "boost-and-turbo")
	within(t, "charge, degC", shown(t, boost, "charge_temperature"), 70, 2)
	within(t, "air, lb/min", shown(t, boost, "air_flow"), 38.3, 0.4)
	within(t, "power by air, hp", shown(t, boost, "power_by_air"), 448, 5)
	fuel := template(t, "fuel-system")
	within(t, "true ratio", shown(t, fuel, "true_afr"), 4.79, 0.01)
	within(t, "meter", shown(t, fuel, "meter_reads"), 10.9, 0.05)
	within(t, "fuel, lb/h", shown(t, fuel, "fuel_flow_run"), 480, 1)
	within(t, "hydraulic duty, %", shown(t, fuel, "hydraulic"), 68, 0.5)
	within(t, "commanded duty, %", shown(t, fuel, "commanded"), 78, 1)
	cycle := template(t, "fuel-per-pass")
	within(t, "displacement, cc", shown(t, cycle, "swept"), 1352, 1)
	within(t, "fuel of the pass, floz: phases and steps", shown(t, cycle, "raced_volume"), shown(t, pass, "pass_volume"), 2)
}

// TestTradeOnTemplates compares the templates with figures that are common
// practice, no source.
func TestTradeOnTemplates(t *testing.T) {
	t.Run("a bare spring", func(t *testing.T) {
		r := template(t, "boost-and-turbo", "spring=3psig", "dome=0psig", "valve_to_actuator=0.0001", "runs.boost[1]=5.5psig")
		within(t, "the balance says the spring", shown(t, r, "by_balance"), 3, 0.01)
		within(t, "the log says 5 to 6", shown(t, r, "by_table"), 5.5, 0.5)
		within(t, "the rise is named", shown(t, r, "rise"), 2.5, 0.5)
	})
	t.Run("a full cycle of 700 hp on one gallon", func(t *testing.T) {
		r := template(t, "fuel-per-pass", "bore=84mm", "stroke=66mm", "tank=1galUS", "usable=98%", "phases.duration[1]=240s", "phases.duration[10]=240s",
			"boost_today=35psig", "phases.share[4]=60%", "filling_today=110%")
		share := value(t, r, "cycle_volume") / value(t, r, "tank")
		if !(share >= 0.6 && share < 1) {
			t.Errorf("it burns %g of the tank", share)
		}
		if got := shown(t, r, "raced_share"); !(got < 50) {
			t.Errorf("the pass burns %g %% of it", got)
		}
	})
	t.Run("two banks at their end", func(t *testing.T) {
		bank := []string{"primary_rated=240 cc/min", "secondary_rated=1700 cc/min", "peak_power=700hp", "base_pressure=43.5psig", "fuel_temperature=20degC"}
		density := shown(t, template(t, "fuel-system", bank...), "fuel_weighs")
		bank = append(bank, "test_density="+unitless(density)+" kg/m3")
		for _, c := range []struct {
			consumption string
			carried     bool
		}{{"1.05", true}, {"1.15", true}, {"1.18", false}} {
			r := template(t, "fuel-system", append(bank, "consumption="+c.consumption+" lb/(hp.h)")...)
			if got := shown(t, r, "hydraulic"); (got <= 100) != c.carried {
				t.Errorf("%s lb/(hp.h): hydraulic duty %g %%", c.consumption, got)
			}
			if c.consumption != "1.05" && !says(r, "The injectors cannot carry this power: they would stand open") {
				t.Errorf("%s lb/(hp.h): opening time counts, and nothing says so", c.consumption)
			}
		}
	})
	t.Run("700 hp on a long chassis", func(t *testing.T) {
		r := template(t, "quarter-mile", "power_ratio=156.25%", "rear_sprocket=38teeth", "clutch_spring=1500lbf")
		within(t, "speed on the slip, mph", shown(t, r, "trap_speed"), 220, 0.04*220)
		within(t, "rule of thumb, mph", shown(t, r, "finish_rule"), 220, 0.04*220)
	})
}

// TestRangesFit gives each sheet the largest machine that it is for, 700 hp, 450
// lbf.ft and 220 mph: no range advises against it.
func TestRangesFit(t *testing.T) {
	for sheet, settings := range map[string][]string{
		"sprocket-change": {"peak_power=700hp", "peak_torque=450lbf.ft", "finish_speed=220mph", "tyre_rating=240mph", "mass_with_rider=900lb", "friction=3"},
		"quarter-mile":    {"power_ratio=156.25%", "rear_sprocket=38teeth", "clutch_spring=1500lbf", "tyre_rating=240mph", "shutdown=4000ft", "chain_strength=15000lbf", "clutch_rating=500kJ"},
		"fuel-system":     {"peak_power=700hp", "primary_rated=550cc/min", "secondary_rated=2200cc/min", "boost=35psig"},
		"boost-and-turbo": {"reference_power=700hp", "boost=35psig", "runs.boost[7]=40psig", "swept=1500cc", "shaft_limit=180000rpm"},
		"set-up-book":     {"curve.power[7]=700hp", "boost=29psig"},
		"fuel-per-pass":   {"bore=84mm", "stroke=66mm", "boost_today=35psig", "tank=2galUS"},
	} {
		for _, a := range template(t, sheet, settings...).Advices() {
			if strings.Contains(a.Text, "range") {
				t.Errorf("%s: %s: %s", sheet, a.Cell, a.Text)
			}
		}
	}
}
