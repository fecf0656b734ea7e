package formulas_test

import (
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// TestRefused passes functions arguments that are often confused with the right
// ones: they are refused, with a correction, before anything is computed.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		text string
		code diag.Code
		says string // in the message, the help or a repair
	}{
		// Gauge where absolute is wanted, and back.
		{"x = air_density(21 psig, 20 degC, 50 %)", diag.ArgumentKind, "21 psig + ambient"},
		{"station : 97 kPa\nboost : 21 psig\nx = engine_air_flow(1352 cc, 10000 rpm, 100 %, boost, 50 degC)", diag.ArgumentKind, "(boost + station)"},
		{"x = pressure_ratio(21 psig, 97 kPa)", diag.ArgumentKind, "21 psig + ambient"},
		{"x = tyre_pressure_hot(22 psia, 20 degC, 60 degC, 97 kPa)", diag.ArgumentKind, "22 psia - ambient, or give it a gauge unit"},
		{"x = injector_drop(400 kPa, 21 psig)", diag.ArgumentKind, "400 kPa - ambient, or give it a gauge unit"},
		{"x = 21 psig / 97 kPa", diag.KindQuotient, ""},
		{"x = boosted_air_ratio(97 kPa, 35 psi, 100 kPa)", diag.UnitAmbiguous, "psig"},
		// A difference where a temperature is wanted, and back.
		{"x = air_density(97 kPa, 20 deltaC, 50 %)", diag.ArgumentKind, "a difference is not a temperature"},
		{"x = compressor_power(38 lb/min, 30 degC, 90 deltaF)", diag.ArgumentKind, "a difference is not a temperature"},
		{"x = standard_temperature(1 km) + 10 degC", diag.KindSum, "deltaC"},
		{"rise : 90 degC\nx = 30 degC + rise", diag.KindSum, "deltaC"},
		{"cooling = evaporation_cooling(4.8, 1168 kJ/kg, 60 %) as degC", diag.KindMismatch, "deltaC"},
		// A share by volume where one by mass is wanted, and back.
		{"share : 85 vol%\nx = blend_afr(share, 9.0, 14.6)", diag.ArgumentKind, "blend_mass_fraction(share, density_a, density_b)"},
		{"x = wet_fuel_afr(6.47, 4 vol%)", diag.ArgumentKind, "blend_mass_fraction(4 vol%, density_a, density_b)"},
		{"share : 85 mass%\nx = blend_mass_fraction(share, 789 kg/m3, 745 kg/m3)", diag.ArgumentKind, "blend_volume_fraction(share, density_a, density_b)"},
		{"x = blend_mass_fraction(85 vol%, 789 kg/m3, 745 kg/m3) + 1 vol%", diag.KindMismatch, "blend_volume_fraction"},
		{"x = blend_mass_fraction(85 vol%, 789 kg/m3, 745 kg/m3) as vol%", diag.KindMismatch, "mass%"},
		// Mass for force, torque for power.
		{"x = drag_force(1.2 kg/m3, 0.5 m2, 60 m/s) + 10 lb", diag.DimensionMismatch, "lbf"},
		{"x = trap_speed_rule(300 lbf.ft, 600 lb)", diag.DimensionMismatch, "shaft_power"},
	} {
		_, list := sheet.FromText("refused", c.text+"\n")
		if len(list) != 1 {
			t.Errorf("%q: %d diagnostics", c.text, len(list))
		}
		for _, d := range list {
			said := d.Message + "\n" + d.Help
			for _, r := range d.Repairs {
				for _, e := range r.Edits {
					said += "\n" + e.New
				}
			}
			if d.Code != c.code || !strings.Contains(said, c.says) {
				t.Errorf("%q: %s: %s\nwant %s, %q", c.text, d.Code, said, c.code, c.says)
			}
		}
	}
}

// TestSharesGoOn computes with shares that say of what they are, and with
// plain ones, which are believed.
func TestSharesGoOn(t *testing.T) {
	r := computed(t, load(t, "shares", `
share   : 85 vol% ± 2 %  range 0..100
by_mass = blend_mass_fraction(share, 789.32 kg/m3, 745 kg/m3)
back    = blend_volume_fraction(by_mass, 789.32 kg/m3, 745 kg/m3)
rest    = 1 - share
alcohol = share * 5 galUS
afr     = blend_afr(by_mass, 9.003, 14.6)
plainly = blend_afr(85.7220 %, 9.003, 14.6)
dropped = blend_afr(plain(share), 9.003, 14.6)
percent = by_mass as %
`))
	for name, want := range map[string]string{
		"by_mass": "85.722 mass%", "back": "85 vol%", "rest": "15 vol%", "alcohol": "4.25 galUS", "afr": "9.80214",
		"plainly": "9.80214", "dropped": "9.84255", "percent": "85.722 %",
	} {
		v, c := cell(t, r, name)
		if got := r.Sheet.Text(&c.Quantity, v); got != want {
			t.Errorf("%s is %s, want %s", name, got, want)
		}
	}
	share, _ := r.Sheet.Model.Resolve("share")
	if share.Spread != 0.02 {
		t.Errorf("± 2 %% of a share in %% is %g", share.Spread)
	}
}
