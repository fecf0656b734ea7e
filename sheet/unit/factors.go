package unit

import (
	"math"
	"strings"
)

// Publications of factors.
const (
	siSource   = "exact, SI Brochure (9th ed., 2019)"
	sp811      = "exact, NIST SP 811 (2008) App. B.8"
	definition = "exact definition"
)

// factor is a row of data: a unit that is a multiple of the coherent SI unit.
type factor struct {
	symbol, aliases, meaning string
	scale                    float64
	source                   string
	// offset is set for temperatures, kind for these and for shares.
	offset float64
	kind   Kind
}

// subject is factors of one measure.
type subject struct {
	name    string
	measure Measure
	factors []factor
}

func (f factor) row(s subject) Row {
	m := s.measure
	m.Kind = f.kind
	return Row{
		Symbol: f.symbol, Aliases: strings.Fields(f.aliases),
		Subject: s.name, Meaning: f.meaning, Source: f.source,
		Unit: Unit{Symbol: f.symbol, Scale: f.scale, Offset: f.offset, Measure: m},
	}
}

// whole returns a measure with whole exponents of base dimensions, in the
// order length, mass, time, temperature, current, amount.
func whole(exponents ...int8) (m Measure) {
	for i, e := range exponents {
		m.Dim[i] = Exponent{Num: e}
	}
	return m
}

// count returns m with one more of the count at place.
func (m Measure) count(place int) Measure {
	m.Counts[place] = Exponent{Num: 1}
	return m
}

// Exact factors of which others are products; they are untyped constants, so
// every product below is rounded once.
const (
	inch    = 0.0254     // m
	foot    = 12 * inch  // m
	pound   = 0.45359237 // kg
	gravity = 9.80665    // m/s2, standard
	lbf     = pound * gravity
	galUS   = 231 * inch * inch * inch // m3
	galUK   = 4.54609e-3               // m3
	rankine = 1 / 1.8                  // K
	minute  = 60                       // s
	hour    = 3600                     // s
)

// subjects is the catalogue without pressures and a sheet's own dimensions.
var subjects = []subject{
	{"length", whole(1), []factor{
		{"m", "", "metre", 1, siSource, 0, 0},
		{"km", "", "kilometre", 1e3, siSource, 0, 0},
		{"cm", "", "centimetre", 1e-2, siSource, 0, 0},
		{"mm", "", "millimetre", 1e-3, siSource, 0, 0},
		{"um", "", "micrometre", 1e-6, siSource, 0, 0},
		{"in", "", "inch", inch, sp811, 0, 0},
		{"thou", "mil", "thousandth of an inch", inch / 1000, sp811, 0, 0},
		{"ft", "", "foot", foot, sp811, 0, 0},
		{"yd", "", "yard", 3 * foot, sp811, 0, 0},
		{"mi", "", "mile", 5280 * foot, sp811, 0, 0},
	}},
	{"mass", whole(0, 1), []factor{
		{"kg", "", "kilogram", 1, siSource, 0, 0},
		{"g", "", "gram (standard gravity is gn)", 1e-3, siSource, 0, 0},
		{"mg", "", "milligram", 1e-6, siSource, 0, 0},
		{"t", "", "tonne", 1e3, siSource, 0, 0},
		{"lb", "lbs", "pound (avoirdupois)", pound, sp811, 0, 0},
		{"oz", "", "ounce (avoirdupois; a fluid ounce is floz)", pound / 16, sp811, 0, 0},
		{"gr", "", "grain", pound / 7000, sp811, 0, 0},
		{"slug", "slugs", "slug, lbf.s2/ft", lbf / foot, "lbf.s2/ft with the exact factors of " + sp811, 0, 0},
	}},
	{"time", whole(0, 0, 1), []factor{
		{"s", "", "second", 1, siSource, 0, 0},
		{"ms", "", "millisecond", 1e-3, siSource, 0, 0},
		{"us", "", "microsecond", 1e-6, siSource, 0, 0},
		{"min", "", "minute", minute, siSource, 0, 0},
		{"h", "", "hour", hour, siSource, 0, 0},
		{"day", "days", "day", 24 * hour, siSource, 0, 0},
	}},
	{"speed", whole(1, 0, -1), []factor{
		{"mph", "", "mile an hour", 5280 * foot / hour, sp811, 0, 0},
		{"kn", "", "knot", 1852.0 / hour, sp811, 0, 0},
	}},
	{"acceleration", whole(1, 0, -2), []factor{
		{"gn", "", "standard gravity", gravity, sp811, 0, 0},
	}},
	{"area", whole(2), []factor{
		{"sqin", "", "square inch", inch * inch, "in2 with the exact factor of " + sp811, 0, 0},
		{"sqft", "", "square foot", foot * foot, "ft2 with the exact factor of " + sp811, 0, 0},
	}},
	{"volume", whole(3), []factor{
		{"L", "l", "litre", 1e-3, siSource, 0, 0},
		{"mL", "ml", "millilitre", 1e-6, siSource, 0, 0},
		{"cc", "", "cubic centimetre", 1e-6, siSource, 0, 0},
		{"galUS", "", "gallon (U.S.), 231 in3", galUS, sp811, 0, 0},
		{"qtUS", "", "quart (U.S. liquid)", galUS / 4, sp811, 0, 0},
		{"ptUS", "", "pint (U.S. liquid)", galUS / 8, sp811, 0, 0},
		{"floz", "", "fluid ounce (U.S.)", galUS / 128, sp811, 0, 0},
		{"galUK", "", "gallon (Imperial), 4.546 09 L", galUK, sp811, 0, 0},
		{"ptUK", "", "pint (Imperial)", galUK / 8, sp811, 0, 0},
	}},
	{"force", whole(1, 1, -2), []factor{
		{"N", "", "newton", 1, siSource, 0, 0},
		{"kN", "", "kilonewton", 1e3, siSource, 0, 0},
		{"lbf", "", "pound-force", lbf, sp811, 0, 0},
		{"kgf", "", "kilogram-force", gravity, sp811, 0, 0},
	}},
	{"energy", whole(2, 1, -2), []factor{
		{"J", "", "joule", 1, siSource, 0, 0},
		{"kJ", "", "kilojoule", 1e3, siSource, 0, 0},
		{"MJ", "", "megajoule", 1e6, siSource, 0, 0},
		{"mJ", "", "millijoule", 1e-3, siSource, 0, 0},
		{"Wh", "", "watt hour", hour, sp811, 0, 0},
		{"kWh", "", "kilowatt hour", 1e3 * hour, sp811, 0, 0},
		{"Btu", "", "British thermal unit (International Table)", 1055.05585262, sp811, 0, 0},
	}},
	{"power", whole(2, 1, -3), []factor{
		{"W", "", "watt", 1, siSource, 0, 0},
		{"kW", "", "kilowatt", 1e3, siSource, 0, 0},
		{"MW", "", "megawatt", 1e6, siSource, 0, 0},
		{"hp", "", "horsepower, 550 ft.lbf/s", 550 * foot * lbf, sp811, 0, 0},
		{"PS", "", "metric horsepower, 75 kgf.m/s", 75 * gravity, sp811, 0, 0},
	}},
	{"frequency", whole(0, 0, -1), []factor{
		{"Hz", "", "hertz, one a second", 1, siSource, 0, 0},
		{"kHz", "", "kilohertz", 1e3, siSource, 0, 0},
	}},
	{"angle", Measure{}.count(Turn), []factor{
		{"turn", "turns rev revs", "one turn", 1, definition, 0, 0},
		{"rad", "", "radian, 1/(2π) turn", 1 / (2 * math.Pi), siSource, 0, 0},
		{"deg", "", "degree of angle, 1/360 turn", 1.0 / 360, siSource, 0, 0},
	}},
	{"speed of turning", whole(0, 0, -1).count(Turn), []factor{
		{"rpm", "", "turn a minute", 1.0 / minute, definition, 0, 0},
	}},
	{"teeth", Measure{}.count(Teeth), []factor{
		{"teeth", "tooth", "teeth of a sprocket", 1, definition, 0, 0},
	}},
	{"links", Measure{}.count(Links), []factor{
		{"links", "link", "links of a chain", 1, definition, 0, 0},
	}},
	{"number", Measure{}, []factor{
		{"1", "", "a plain number", 1, definition, 0, 0},
		{"%", "", "percent", 1e-2, definition, 0, 0},
		{"ppm", "", "parts in a million", 1e-6, definition, 0, 0},
		{"vol%", "", "percent of the volume", 1e-2, definition, 0, ByVolume},
		{"mass%", "wt%", "percent of the mass", 1e-2, definition, 0, ByMass},
	}},
	{"temperature", whole(0, 0, 0, 1), []factor{
		{"K", "", "kelvin", 1, siSource, 0, Plain},
		{"degR", "", "degree Rankine", rankine, sp811, 0, Plain},
		{"degC", "", "degree Celsius", 1, siSource, 273.15, Absolute},
		{"degF", "", "degree Fahrenheit", rankine, sp811, 459.67, Absolute},
		{"deltaC", "", "difference of one degree Celsius", 1, siSource, 0, Relative},
		{"deltaF", "", "difference of one degree Fahrenheit", rankine, sp811, 0, Relative},
	}},
	{"amount of substance", whole(0, 0, 0, 0, 0, 1), []factor{
		{"mol", "", "mole", 1, siSource, 0, 0},
		{"kmol", "", "kilomole", 1e3, siSource, 0, 0},
	}},
	{"current", whole(0, 0, 0, 0, 1), []factor{
		{"A", "", "ampere", 1, siSource, 0, 0},
		{"mA", "", "milliampere", 1e-3, siSource, 0, 0},
	}},
	{"charge", whole(0, 0, 1, 0, 1), []factor{
		{"Ah", "", "ampere hour", hour, sp811, 0, 0},
		{"mAh", "", "milliampere hour", hour / 1e3, sp811, 0, 0},
	}},
	{"voltage", whole(2, 1, -3, 0, -1), []factor{
		{"V", "", "volt", 1, siSource, 0, 0},
		{"mV", "", "millivolt", 1e-3, siSource, 0, 0},
		{"kV", "", "kilovolt", 1e3, siSource, 0, 0},
	}},
	{"inductance", whole(2, 1, -2, 0, -2), []factor{
		{"H", "", "henry", 1, siSource, 0, 0},
		{"mH", "", "millihenry", 1e-3, siSource, 0, 0},
		{"uH", "", "microhenry", 1e-6, siSource, 0, 0},
	}},
	{"capacitance", whole(-2, -1, 4, 0, 2), []factor{
		{"uF", "", "microfarad", 1e-6, siSource, 0, 0},
		{"nF", "", "nanofarad", 1e-9, siSource, 0, 0},
	}},
	{"resistance", whole(2, 1, -3, 0, -2), []factor{
		{"ohm", "", "ohm", 1, siSource, 0, 0},
		{"kohm", "", "kilohm", 1e3, siSource, 0, 0},
	}},
}
