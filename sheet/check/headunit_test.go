package check_test

import (
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/unit"
)

// TestHeadUnit compares the unit in a file's head with the unit that a sheet
// declares.
func TestHeadUnit(t *testing.T) {
	m, _ := sheet(t, "x : 1\n")
	for _, c := range []struct{ head, declared, offers string }{
		{"Temp [degF]", "degF", ""},
		{"Temp [°F]", "degC", "degF"},
		{"Temp [°C]", "deltaC", ""},
		{"Temp [K]", "degC", "K"},
		{"Boost (psi)", "psig", ""},
		{"Boost (psi)", "psia", ""},
		{"Boost (psi)", "kPag", "psig or psia or psid"},
		{"Boost [psia]", "psig", "psia"},
		{"MAP/kPa", "kPa", ""},
		{"MAP/kPa", "kPag", ""},
		{"MAP/kPa", "psia", "kPa"},
		{"MAP [kPaa]", "kPag", "kPa"},
		{"MAP [kPa abs]", "kPag", "kPa"},
		{"MAP [kPa (a)]", "kPag", "kPa"},
		{"MAP [bar abs]", "barg", "bara"},
		{"MAP abs [kPa]", "kPag", "kPa"},
		{"Manifold absolute pressure [kPa]", "kPag", "kPa"},
		{"Manifold_abs_pressure [mbar]", "mbarg", "mbar"},
		{"Boost, absent [kPa]", "kPag", ""},
		{"Engine rpm", "rpm", ""},
		{"Engine rpm", "mph", "rpm"},
		{"Engine rpm", "1", "rpm"},
		{"Speed [km/h]", "mph", "km/h"},
		{"Duty [%]", "1", "%"},
		{"Duty [%]", "%", ""},
		{"Lambda [-]", "1", ""},
		{"Share [-]", "%", "nothing"},
		{"Engine (ECU)", "rpm", ""},
		{"Flow [g/s]", "kg/s", "g/s"},
		{"Mix [vol%]", "%", "vol%"},
		{"Mix [vol%]", "mass%", "vol%"},
		{"Mix [%]", "vol%", ""},
		{"Lead [deg]", "1", "deg"},
		{"Lead (°)", "deg", ""},
		{"Lead (°)", "1", "deg"},
		{"Oil [deg]", "degC", ""},
		{"Rise [deltaC]", "degC", "deltaC"},
		{"Rear [teeth]", "links", "teeth"},
		{"Rear [teeth]", "1", "teeth"},
		{"Engine [krpm]", "rpm", "krpm"},
		{"Engine [1000 rpm]", "rpm", "1000 rpm"},
		{"Engine (rpm x1000)", "rpm", "rpm x1000"},
		{"Engine (rpm/100)", "rpm", "rpm/100"},
		{"Engine [1000 rpm]", "Hz", ""},
		{"MAP sensor (3 bara)", "bara", ""},
		{"Wheel (front)", "mph", ""},
		{"time_ms", "s", "ms"},
		{"time_ms", "ms", ""},
		{"time_ms", "rpm", ""},
		{"oil_temp_F", "degC", "degF"},
		{"oil_temp_C", "degC", ""},
		{"map_psi", "psig", ""},
		{"map_kPa", "psia", "kPa"},
		{"gap_in", "mm", ""},
		{"lead_2", "deg", ""},
	} {
		h := runlog.ReadHead(c.head)
		u := unit.Unit{Scale: 1}
		if c.declared != "1" {
			var err *unit.ParseError
			if u, err = m.Units.Parse(c.declared); err != nil {
				t.Fatal(c.declared, err)
			}
		}
		offers := m.HeadUnit(check.Head{Text: h.Text, Name: h.Name, Unit: h.Unit, Spelled: runlog.SpellUnit(h.Unit), Suffix: h.Suffix()}, u)
		got := strings.Join(offers, " or ")
		if len(offers) == 1 && offers[0] == "" {
			got = "nothing"
		}
		if got != c.offers {
			t.Errorf("%s read in %s: %q, want %q", c.head, c.declared, got, c.offers)
		}
	}
}

// TestToRead checks the offered lines: in a unit, as plain numbers, or in a
// unit that the sheet has to name first.
func TestToRead(t *testing.T) {
	m, _ := sheets(t, "-- a.leaf --\na : 1\n")
	for offer, want := range map[string]string{
		"ms": `write a : from "Time" ms`,
		"":   `write a : from "Time"`,
		"rpm x1000": "name the unit, as in  unit krpm = 1000 rpm  for thousands of revolutions a minute, " +
			`and write it after a : from "Time"`,
	} {
		if got := m.ToRead("a", "Time", offer); got != want {
			t.Errorf("%q: %q, want %q", offer, got, want)
		}
	}
}
