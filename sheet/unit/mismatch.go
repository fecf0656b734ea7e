package unit

import "strings"

// MismatchText describes why left and right, which Meets refuses, are
// incompatible: both sides with their measures, and in help the correction.
// what begins the message and quotes the combination, as `boost < speed`; it
// may be empty, and so may the names of the sides.
func (s *System) MismatchText(what string, left, right Measure, leftName, rightName string) (message, help string) {
	leftName, rightName = named(leftName, "the left side"), named(rightName, "the right side")
	message = opened(what, leftName+" is "+s.wording(left)+", "+rightName+" is "+s.wording(right))
	switch Meets(left, right) {
	case DimensionsDiffer:
		help = s.dimensionHelp(left, right, leftName, rightName)
	case CountsDiffer:
		help = "two different counts are incompatible; divide by one: " + leftName + " / (1 " + s.lone(left.Counts) + ")"
	case KindsDiffer:
		help = kindHelp(left, right, leftName, rightName)
	}
	return message, help
}

// LiteralText says that the literal text, of measure have, is not a value of
// name, which has the measure want and is written in symbol.
func (s *System) LiteralText(want, have Measure, name, text, symbol string) (message, help string) {
	message = name + " is " + s.wording(want) + ", " + text + " is " + s.wording(have)
	if Meets(want, have) == KindsDiffer {
		return message, literalKindHelp(want, have, text, symbol)
	}
	if slip, ok := slipIndex[[2]Dimension{want.Dim, have.Dim}]; ok {
		return message, slip
	}
	if symbol == "" {
		return message, "write the number alone"
	}
	return message, "write it in " + symbol
}

// named returns name, or other if name is empty.
func named(name, other string) string {
	if name == "" {
		return other
	}
	return name
}

// opened puts what before message.
func opened(what, message string) string {
	if what == "" {
		return message
	}
	return what + ": " + message
}

// wording writes m as a tuner reads it: "relative pressure (kPad)".
func (s *System) wording(m Measure) string {
	if m == (Measure{}) {
		return "a plain number"
	}
	symbol := s.preferredSymbol(m)
	noun := s.noun(m)
	if noun == "" || noun == symbol {
		return "in " + symbol
	}
	return noun + " (" + symbol + ")"
}

// lone returns the symbol of the first count in c.
func (s *System) lone(c Counts) string {
	for i, e := range c {
		if e.Num != 0 {
			return s.Compose(Measure{}.count(i))
		}
	}
	return "turn"
}

// slip is two measures that are often confused, and the remedy.
type slip struct{ a, b, help string }

// slipList is looked up in both orders.
var slipList = []slip{
	{"kg", "N", "lb and kg are masses, lbf and N are forces: a mass weighs mass * 1 gn"},
	{"kg", "m/s2", "g is the gram; standard gravity is gn"},
	{"kg", "L", "oz is a mass, floz a volume; mass = volume * density"},
	{"kg/s", "L/min", "mass flow = volume flow * density"},
	{"kg.m", "N.m", "lb is a mass: a torque is written lbf.ft"},
	{"kg/m", "N/m", "lb is a mass: a stiffness is written lbf/in"},
	{"kg/m2", "Pa", "lb is a mass: a pressure is written psig, psia or lbf/in2"},
	{"kW", "N.m", "shaft_power(torque, speed) and shaft_torque(power, speed) go from one to the other"},
	{"m/s", "rpm", "road_speed(engine_speed, overall_ratio, rollout) goes from one to the other"},
	{"Hz", "1", "a frequency is not a number: multiply by the time it lasts"},
	{"kg", "kg/mol", "multiply by the amount, as 1 mol"},
}

// slipIndex finds a slip by its two dimensions.
var slipIndex = indexSlips()

func indexSlips() map[[2]Dimension]string {
	index := map[[2]Dimension]string{}
	s := NewSystem()
	for _, line := range slipList {
		a, errA := s.Parse(line.a)
		b, errB := s.Parse(line.b)
		if errA != nil || errB != nil {
			panic("unit: slip " + line.a + " " + line.b)
		}
		index[[2]Dimension{a.Measure.Dim, b.Measure.Dim}] = line.help
		index[[2]Dimension{b.Measure.Dim, a.Measure.Dim}] = line.help
	}
	return index
}

// dimensionHelp explains how to combine two dimensions.
func (s *System) dimensionHelp(left, right Measure, leftName, rightName string) string {
	if help, ok := slipIndex[[2]Dimension{left.Dim, right.Dim}]; ok {
		return help
	}
	switch {
	case left == (Measure{}):
		return "give " + leftName + " a unit, such as " + s.unitBeside(leftName, right)
	case right == (Measure{}):
		return "give " + rightName + " a unit, such as " + s.unitBeside(rightName, left)
	}
	if s.noun(left) == "money" && s.noun(right) == "money" {
		return "money is never converted: multiply by a rate of your own, in " + s.preferredSymbol(left) + "/" + s.preferredSymbol(right)
	}
	if help := s.missing(left, right, leftName, rightName); help != "" {
		return help
	}
	return s.missing(right, left, rightName, leftName)
}

// unitBeside returns a unit for the value called name that is combined with
// other: boost with a barometer is relative.
func (s *System) unitBeside(name string, other Measure) string {
	if other.Dim == pressureDim && other.Kind == Absolute {
		for _, word := range [...]string{"boost", "gauge", "drop", "spring", "dome"} {
			if strings.Contains(name, word) {
				return "psig"
			}
		}
	}
	return s.preferredSymbol(other)
}

// missing says that b lacks a factor to become a, if the factor has a name.
func (s *System) missing(a, b Measure, aName, bName string) string {
	factor, ok := Measure{Dim: a.Dim}.Div(Measure{Dim: b.Dim})
	noun := s.noun(factor)
	if !ok || noun == "" {
		return ""
	}
	return aName + " is what " + bName + " times " + noun + " (" + s.preferredSymbol(factor) + ") would be: is a factor missing?"
}

// kindHelp explains how to combine a point and a difference.
func kindHelp(left, right Measure, leftName, rightName string) string {
	if left.Dimensionless() {
		return shareHelp(left, leftName)
	}
	difference, point := leftName, rightName
	if right.Kind == Relative {
		difference, point = rightName, leftName
	}
	if left.Dim == temperatureDim {
		switch {
		case !typed(difference):
			return "subtract the temperature that it counts from, or give " + point + " in deltaC or deltaF"
		case !typed(point):
			return "a difference is not a temperature: add it to one, 20 degC + " + difference
		}
		return "a difference is not a temperature: add it to one, " + point + " + " + difference +
			", or give " + point + " in deltaC or deltaF"
	}
	switch {
	case !typed(difference):
		return "subtract the ambient pressure: " + point + " - ambient, or give it a gauge unit, such as psig"
	case !typed(point):
		return "add the ambient pressure: " + difference + " + ambient"
	}
	return "add the ambient pressure: " + difference + " + ambient, or give " + point + " a gauge unit, such as psig"
}

// typed reports whether name is text of a formula, not a description of what a
// function or a table expects.
func typed(name string) bool {
	return !strings.HasPrefix(name, "its ") && !strings.HasPrefix(name, "the ")
}

// literalKindHelp says in which unit to write the literal text.
func literalKindHelp(want, have Measure, text, symbol string) string {
	switch {
	case want.Dimensionless():
		return shareHelp(have, text)
	case want.Dim == temperatureDim && want.Kind == Relative:
		return "write a difference, in " + symbol
	case want.Dim == temperatureDim:
		return "write a temperature, in " + symbol
	case want.Kind == Relative:
		return "write it in " + symbol + ", without the pressure that it counts from"
	}
	return "write it in " + symbol + ", with the pressure that it counts from"
}

// shareHelp explains how to combine a share by volume and one by mass.
func shareHelp(left Measure, leftName string) string {
	if left.Kind == ByMass {
		return "densities turn it into a share by volume: blend_volume_fraction(" + leftName + ", density_a, density_b)"
	}
	return "densities turn it into a share by mass: blend_mass_fraction(" + leftName + ", density_a, density_b)"
}
