package runlog

import "strings"

// Guess is what a column of a log may be.
type Guess struct {
	Name string // of the sheet
	Head Head
	// Unit is the unit that the file names, in the spelling of worksheets;
	// empty for a plain number, or if the file names no known unit.
	Unit string
	// Usual are the usual units of the trade; none for a plain number.
	Usual []string
}

// Named reports whether the file names a unit that is known, a plain number
// included.
func (g Guess) Named() bool { return SpellUnit(g.Head.Unit) != "" }

// spellings maps loggers' spellings of units, in small letters without blanks,
// to those of worksheets. A bare psi or bar is kept: the unit does not say
// whether it is absolute.
var spellings = map[string]string{
	"s": "s", "sec": "s", "secs": "s", "seconds": "s", "second": "s", "ms": "ms", "msec": "ms", "us": "us", "min": "min", "hh:mm:ss": "s",
	"rpm": "rpm", "1/min": "rpm", "r/min": "rpm", "u/min": "rpm", "rev/min": "rpm", "min-1": "rpm", "krpm": "krpm",
	"km/h": "km/h", "kph": "km/h", "kmh": "km/h", "kmph": "km/h", "mph": "mph", "mi/h": "mph", "m/s": "m/s", "ft/s": "ft/s", "fps": "ft/s", "kn": "kn",
	"m": "m", "ft": "ft", "feet": "ft", "metres": "m", "meters": "m", "km": "km", "mi": "mi", "mm": "mm", "in": "in",
	"kpa": "kPa", "kpaa": "kPa", "kpa(a)": "kPa", "kpaabs": "kPa", "kpa(abs)": "kPa", "kpag": "kPag", "kpa(g)": "kPag", "mbar": "mbar", "mbarg": "mbarg", "mbarabs": "mbar", "hpa": "hPa", "inhg": "inHg",
	"psi": "psi", "psig": "psig", "psi(g)": "psig", "psia": "psia", "psi(a)": "psia", "psiabs": "psia", "psi(abs)": "psia",
	"bar": "bar", "barg": "barg", "bar(g)": "barg", "bara": "bara", "bar(a)": "bara", "barabs": "bara", "bar(abs)": "bara",
	"°c": "degC", "degc": "degC", "c": "degC", "deg c": "degC", "celsius": "degC", "°f": "degF", "degf": "degF", "f": "degF", "deg f": "degF", "k": "K",
	"%": "%", "pct": "%", "percent": "%", "v": "V", "volt": "V", "volts": "V", "a": "A",
	"g": "gn", "gn": "gn", "m/s2": "m/s2", "m/s²": "m/s2", "m/s^2": "m/s2",
	"cc/min": "cc/min", "ccm": "cc/min", "ml/min": "mL/min", "l/h": "L/h", "lph": "L/h", "l/min": "L/min", "lb/h": "lb/h", "lb/hr": "lb/h", "pph": "lb/h", "lb/min": "lb/min", "kg/h": "kg/h", "g/s": "g/s", "galus/h": "galUS/h", "gph": "galUS/h",
	"lambda": "", "λ": "", "-": "", "1": "", "[-]": "", "none": "", "afr": "",
}

// unitless is what SpellUnit returns for a plain number.
const unitless = "1"

// SpellUnit returns the spelling of a logger's unit in worksheets; empty if it
// is not known, "1" for a plain number.
func SpellUnit(text string) string {
	word := strings.ToLower(unbracketed(text))
	u, known := spellings[strings.ReplaceAll(word, " ", "")]
	switch {
	case !known:
		return ""
	case u == "":
		return unitless
	}
	return u
}

// unbracketed returns a unit without the brackets around it; those within, as in
// "kPa (a)", belong to it.
func unbracketed(text string) string {
	text = strings.TrimSpace(text)
	for _, pair := range []string{"[]", "()", "{}"} {
		if n := len(text); n > 1 && text[0] == pair[0] && text[n-1] == pair[1] {
			return strings.TrimSpace(text[1 : n-1])
		}
	}
	return text
}

// meaning lists the words in its head by which a column is recognised.
type meaning struct {
	name  string
	usual []string // units of the trade; none for a plain number
	all   []string // all of these are in it, or
	any   []string // one of these is it
	not   []string // and none of these
}

// notMeasured are words of heads whose columns hold no measured value: a
// controller's target, correction or valve opening.
var notMeasured = []string{"target", "aim", "desired", "demand", "error", "correction", "corr", "trim", "duty", "solenoid", "limit", "accuracy", "warning"}

// The units that the trade uses for speeds, lengths and pressures.
var (
	speeds     = []string{"mph", "km/h"}
	boostUnits = []string{"psig", "kPag", "barg"}
)

// meanings are tried in order; the first column that fits gets the name.
var meanings = []meaning{
	{name: "time", usual: []string{"s"}, any: []string{"time", "t", "zeit", "timestamp", "elapsed", "elapsed time", "log time", "session time"}},
	{name: "wheel_speed", usual: speeds, all: []string{"wheel", "speed"}, not: []string{"front"}},
	{name: "wheel_speed", usual: speeds, all: []string{"rear", "speed"}},
	{name: "engine_speed", usual: []string{"rpm"}, any: []string{"rpm", "engine speed", "engine rpm", "engine", "drehzahl", "revs"}, not: []string{"wheel", "shaft", "turbo"}},
	{name: "speed", usual: speeds, any: []string{"gps speed", "speed", "ground speed", "vehicle speed", "velocity", "gps_speed"}, not: []string{"wheel", "turbo", "shaft", "engine"}},
	{name: "speed", usual: speeds, all: []string{"gps", "speed"}},
	{name: "distance", usual: []string{"ft", "m"}, any: []string{"distance", "dist", "gps distance", "trip"}},
	{name: "gear", any: []string{"gear", "gear position", "gang"}},
	{name: Boost, usual: boostUnits, any: []string{"boost", "map", "manifold pressure", "manifold", "manifold absolute pressure", "boost pressure", "ladedruck"}, not: []string{"temp"}},
	{name: "lambda", any: []string{"lambda", "λ", "lambda 1", "wideband"}, not: []string{"afr", "a/f"}},
	{name: "afr", any: []string{"afr", "air fuel", "a/f", "wideband"}},
	{name: "fuel_flow", usual: []string{"cc/min", "lb/h"}, all: []string{"fuel", "flow"}},
	{name: "fuel_pressure", usual: boostUnits, all: []string{"fuel", "pressure"}},
	{name: "accel", usual: []string{"gn", "m/s2"}, any: []string{"acceleration", "accel", "long g", "acc x", "longitudinal g", "g long"}},
}

// Names of the pressure in the manifold: above the outside air's, and absolute.
const (
	Boost            = "boost"
	ManifoldPressure = "manifold_pressure"
)

// GuessColumns guesses the meaning of a log's heads, in the order of the file.
// Columns with the same head are not guessed, because a worksheet names a
// column by its head.
func GuessColumns(heads []Head) []Guess {
	found := make([]*meaning, len(heads))
	taken := map[string]bool{}
	count := map[string]int{}
	for _, h := range heads {
		count[h.Text]++
	}
	for k := range meanings {
		m := &meanings[k]
		if taken[m.name] {
			continue
		}
		for i, h := range heads {
			if found[i] == nil && count[h.Text] == 1 && m.fits(h) {
				found[i], taken[m.name] = m, true
				break
			}
		}
	}
	var out []Guess
	for i, h := range heads {
		if m := found[i]; m != nil {
			g := Guess{Name: m.name, Head: h, Usual: m.usual}
			if u := SpellUnit(h.Unit); u != unitless {
				g.Unit = u
			}
			out = append(out, g)
		}
	}
	return out
}

// fits reports whether a column has the meaning m. The air-fuel ratio of a
// meter is not lambda, whatever the words of the head.
func (m *meaning) fits(h Head) bool {
	ratio := isRatio(h.Unit)
	if ratio != (m.name == "afr") && (ratio || h.Unit != "") {
		return false
	}
	text := strings.ToLower(strings.NewReplacer("_", " ", ".", " ", "-", " ").Replace(h.Name))
	text = strings.Join(strings.Fields(text), " ")
	for _, list := range [][]string{notMeasured, m.not} {
		for _, w := range list {
			if strings.Contains(text, w) {
				return false
			}
		}
	}
	for _, w := range m.any {
		if text == w || len(w) > 2 && strings.Contains(text, w) {
			return true
		}
	}
	for _, w := range m.all {
		if !strings.Contains(text, w) {
			return false
		}
	}
	return len(m.all) > 0
}

// isRatio reports whether a unit is that of a meter's air-fuel ratio.
func isRatio(unit string) bool {
	word := strings.ToLower(strings.Trim(unit, "[](){} "))
	return strings.HasPrefix(word, "afr") || word == "a/f"
}

// SaysAbsolute reports whether the words of a head say that a pressure is
// absolute; MAP alone does not, because many loggers use it for boost.
func (h Head) SaysAbsolute() bool {
	text := " " + strings.ToLower(strings.NewReplacer("_", " ", "(", " ", ")", " ", "[", " ", "]", " ").Replace(h.Text)) + " "
	for _, w := range []string{" abs ", "absolute", "kpaa ", "psia ", "bara ", "kpa a ", "psi a ", "bar a "} {
		if strings.Contains(text, w) {
			return true
		}
	}
	return false
}
