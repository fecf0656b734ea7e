package unit

import "testing"

func TestMismatchText(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct{ left, right, message, help string }{
		{
			"psig", "inHg",
			"x < y: x is relative pressure (kPad), y is absolute pressure (kPa)",
			"add ambient pressure: x + ambient, or give y as gauge",
		},
		{
			"inHg", "psig",
			"x < y: x is absolute pressure (kPa), y is relative pressure (kPad)",
			"add ambient pressure: y + ambient, or give x as gauge",
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
			"two different counts do not meet; divide one away: x / (1 teeth)",
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

func TestKindText(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct {
		problem                    KindProblem
		left, right, message, help string
	}{
		{
			AbsolutePlusAbsolute, "psia", "psia", "sum: x and y are both absolute, and their sum means nothing",
			"if one is boost or a drop, give it as psig, psid or kPad; if their average is meant, use mean",
		},
		{
			AbsolutePlusAbsolute, "degF", "degC", "sum: x and y are both absolute, and their sum means nothing",
			"if one is a rise, give it in deltaC or deltaF; if their average is meant, use mean",
		},
		{
			RelativeMinusAbsolute, "psig", "psia", "sum: x is relative, y is absolute: less that, nothing is left that means anything",
			"turn it round: y - x; or make it absolute first: x + ambient",
		},
		{
			RelativeMinusAbsolute, "deltaC", "degC", "sum: x is relative, y is absolute: less that, nothing is left that means anything",
			"turn it round: y - x",
		},
		{
			RelativeOverAbsolute, "psig", "psia", "sum: x is relative, y is absolute: their ratio is not a ratio of pressures",
			"add the pressure it counts from: (x + ambient) / y",
		},
		{
			RelativeOverAbsolute, "deltaC", "degC", "sum: x is relative, y is absolute: their ratio is not a ratio of temperatures",
			"add the temperature it counts from: (x + y) / y",
		},
		{NegatedAbsolute, "psia", "1", "sum: x is absolute and has no negative", "if that is meant: -plain(x)"},
		{
			SumOfAbsolute, "degC", "1", "sum: x is absolute, and the sum of absolute values means nothing",
			"the average is mean(x)",
		},
		{
			AbsoluteMeetsRelative, "psia", "psig", "sum: x is absolute pressure (kPa), y is relative pressure (kPad)",
			"add ambient pressure: y + ambient, or give x as gauge",
		},
	} {
		left, right := parse(t, s, c.left).Measure, parse(t, s, c.right).Measure
		message, help := s.KindText(c.problem, "sum", left, right, "x", "y")
		if message != c.message || help != c.help {
			t.Errorf("%s:\n%s\n%s\nwant\n%s\n%s", c.problem, message, help, c.message, c.help)
		}
	}
}
