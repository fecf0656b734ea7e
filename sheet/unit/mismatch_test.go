package unit

import "testing"

func TestMismatchText(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct{ left, right, message, help string }{
		{
			"psig", "inHg",
			"x < y: x is relative pressure (kPad), y is absolute pressure (kPa)",
			"add the ambient pressure: x + ambient, or give y a gauge unit, such as psig",
		},
		{
			"inHg", "psig",
			"x < y: x is absolute pressure (kPa), y is relative pressure (kPad)",
			"add the ambient pressure: y + ambient, or give x a gauge unit, such as psig",
		},
		{
			"degF", "deltaF",
			"x < y: x is temperature on a scale (degC), y is temperature difference (deltaC)",
			"a difference is not a temperature: add it to one, x + y, or give x in deltaC or deltaF",
		},
		{
			"vol%", "mass%",
			"x < y: x is share by volume (vol%), y is share by mass (mass%)",
			"densities turn it into a share by mass: blend_mass_fraction(x, density_a, density_b)",
		},
		{
			"mass%", "vol%",
			"x < y: x is share by mass (mass%), y is share by volume (vol%)",
			"densities turn it into a share by volume: blend_volume_fraction(x, density_a, density_b)",
		},
		{
			"teeth", "links",
			"x < y: x is in teeth, y is in links",
			"two different counts are incompatible; divide by one: x / (1 teeth)",
		},
		{
			"lb", "lbf",
			"x < y: x is mass (kg), y is force (N)",
			"lb and kg are masses, lbf and N are forces: a mass weighs mass * 1 gn",
		},
		{
			"lbf.ft", "lb.ft",
			"x < y: x is torque or energy (N.m), y is in kg.m",
			"lb is a mass: a torque is written lbf.ft",
		},
		{
			"1", "mm",
			"x < y: x is a plain number, y is length (m)",
			"give x a unit, such as m",
		},
		{
			"mph", "1",
			"x < y: x is speed (m/s), y is a plain number",
			"give y a unit, such as m/s",
		},
		{
			"kg/m3", "kg",
			"x < y: x is density (kg/m3), y is mass (kg)",
			"y is what x times volume (L) would be: is a factor missing?",
		},
		{
			"EUR", "USD",
			"x < y: x is money (EUR), y is money (USD)",
			"money is never converted: multiply by a rate of your own, in EUR/USD",
		},
		{
			"EUR", "pass",
			"x < y: x is money (EUR), y is in pass",
			"",
		},
		{
			"kPa", "m/s",
			"x < y: x is absolute pressure (kPa), y is speed (m/s)",
			"",
		},
	} {
		left, right := parse(t, s, c.left).Measure, parse(t, s, c.right).Measure
		message, help := s.MismatchText("x < y", left, right, "x", "y")
		if message != c.message || help != c.help {
			t.Errorf("%s, %s:\n%s\n%s\nwant\n%s\n%s", c.left, c.right, message, help, c.message, c.help)
		}
	}
	message, _ := s.MismatchText("", parse(t, s, "m").Measure, parse(t, s, "s").Measure, "", "")
	if message != "the left side is length (m), the right side is time (s)" {
		t.Errorf("without names: %s", message)
	}
}

func TestLiteralText(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct{ want, have, message, help string }{
		{"teeth", "mm", "x is in teeth, 3 mm is length (m)", "write it in teeth"},
		{"teeth", "links", "x is in teeth, 3 links is in links", "write it in teeth"},
		{"1", "mm", "x is a plain number, 3 mm is length (m)", "write the number alone"},
		{"lbf.ft", "lb.ft", "x is torque or energy (N.m), 3 lb.ft is in kg.m", "lb is a mass: a torque is written lbf.ft"},
		{"psig", "psia", "x is relative pressure (kPad), 3 psia is absolute pressure (kPa)", "write it in psig, without the pressure that it counts from"},
		{"psia", "psig", "x is absolute pressure (kPa), 3 psig is relative pressure (kPad)", "write it in psia, with the pressure that it counts from"},
		{"deltaF", "degF", "x is temperature difference (deltaC), 3 degF is temperature on a scale (degC)", "write a difference, in deltaF"},
		{"degF", "deltaF", "x is temperature on a scale (degC), 3 deltaF is temperature difference (deltaC)", "write a temperature, in degF"},
	} {
		want, have := parse(t, s, c.want), parse(t, s, c.have).Measure
		symbol := want.Symbol
		if symbol == "1" {
			symbol = ""
		}
		message, help := s.LiteralText(want.Measure, have, "x", "3 "+c.have, symbol)
		if message != c.message || help != c.help {
			t.Errorf("%s, %s:\n%s\n%s\nwant\n%s\n%s", c.want, c.have, message, help, c.message, c.help)
		}
	}
}

// TestMismatchIsTyped: what a help says to type has no words for what a function
// or a table asks for in it.
func TestMismatchIsTyped(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct{ have, want, name, help string }{
		{"kPa", "psig", "its p", "subtract the ambient pressure: a - ambient, or give it a gauge unit, such as psig"},
		{"psig", "kPa", "its p", "add the ambient pressure: a + ambient"},
		{"kPa", "psig", "the column p", "subtract the ambient pressure: a - ambient, or give it a gauge unit, such as psig"},
		{"degC", "deltaC", "its t", "subtract the temperature that it counts from, or give a in deltaC or deltaF"},
		{"deltaC", "degC", "its t", "a difference is not a temperature: add it to one, 20 degC + a"},
	} {
		_, help := s.MismatchText("f", parse(t, s, c.have).Measure, parse(t, s, c.want).Measure, "a", c.name)
		if help != c.help {
			t.Errorf("%s for %s of %s:\n%s\nwant\n%s", c.have, c.name, c.want, help, c.help)
		}
	}
}
