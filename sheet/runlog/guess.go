package runlog

import "strings"

// Guess is a line to offer for a column of a log.
type Guess struct {
	Name string // of the sheet
	Head Head
	Unit string // as worksheets write it; empty for a plain number
}

// spellings are ways in which loggers write units, in small letters without
// blanks, and how worksheets do. Whether a bare psi or bar is absolute is for
// the tuner to say, so it is kept and refused with the question.
var spellings = map[string]string{
	"s": "s", "sec": "s", "secs": "s", "seconds": "s", "second": "s", "ms": "ms", "msec": "ms", "us": "us", "min": "min", "hh:mm:ss": "s",
	"rpm": "rpm", "1/min": "rpm", "r/min": "rpm", "u/min": "rpm", "rev/min": "rpm", "min-1": "rpm", "krpm": "krpm",
	"km/h": "km/h", "kph": "km/h", "kmh": "km/h", "kmph": "km/h", "mph": "mph", "mi/h": "mph", "m/s": "m/s", "ft/s": "ft/s", "fps": "ft/s", "kn": "kn",
	"m": "m", "ft": "ft", "feet": "ft", "metres": "m", "meters": "m", "km": "km", "mi": "mi", "mm": "mm", "in": "in",
	"kpa": "kPa", "kpaa": "kPa", "kpag": "kPag", "mbar": "mbar", "hpa": "hPa", "psi": "psi", "psig": "psig", "psia": "psia", "bar": "bar", "barg": "barg", "bara": "bara", "inhg": "inHg",
	"°c": "degC", "degc": "degC", "c": "degC", "deg c": "degC", "celsius": "degC", "°f": "degF", "degf": "degF", "f": "degF", "deg f": "degF", "k": "K",
	"%": "%", "pct": "%", "percent": "%", "v": "V", "volt": "V", "volts": "V", "a": "A",
	"g": "gn", "gn": "gn", "m/s2": "m/s2", "m/s²": "m/s2", "m/s^2": "m/s2",
	"cc/min": "cc/min", "ccm": "cc/min", "ml/min": "mL/min", "l/h": "L/h", "lph": "L/h", "l/min": "L/min", "lb/h": "lb/h", "lb/hr": "lb/h", "pph": "lb/h", "lb/min": "lb/min", "kg/h": "kg/h", "g/s": "g/s", "galus/h": "galUS/h", "gph": "galUS/h",
	"lambda": "", "λ": "", "-": "", "1": "", "[-]": "", "none": "", "afr": "",
}

// unitless is what SpellUnit returns for a plain number.
const unitless = "1"

// SpellUnit returns how worksheets write a unit that a logger has written;
// empty if it is not known, "1" for a plain number.
func SpellUnit(text string) string {
	word := strings.ToLower(strings.Trim(text, "[](){} "))
	u, known := spellings[strings.ReplaceAll(word, " ", "")]
	switch {
	case !known:
		return ""
	case u == "":
		return unitless
	}
	return u
}

// meaning lists the words in its head by which a column is recognised.
type meaning struct {
	name string
	unit string   // where the file names none
	all  []string // all of these are in it, or
	any  []string // one of these is it
	not  []string // and none of these
}

// meanings are tried in order; the first column that fits gets the name.
var meanings = []meaning{
	{name: "time", unit: "s", any: []string{"time", "t", "zeit", "timestamp", "elapsed", "elapsed time", "log time", "session time"}},
	{name: "wheel_speed", unit: "mph", all: []string{"wheel", "speed"}, not: []string{"front"}},
	{name: "wheel_speed", unit: "mph", all: []string{"rear", "speed"}},
	{name: "engine_speed", unit: "rpm", any: []string{"rpm", "engine speed", "engine rpm", "engine", "drehzahl", "revs"}, not: []string{"wheel", "shaft", "turbo", "limit"}},
	{name: "speed", unit: "mph", any: []string{"gps speed", "speed", "ground speed", "vehicle speed", "velocity", "gps_speed"}, not: []string{"wheel", "turbo", "shaft", "engine", "accuracy"}},
	{name: "speed", unit: "mph", all: []string{"gps", "speed"}, not: []string{"accuracy"}},
	{name: "distance", unit: "m", any: []string{"distance", "dist", "gps distance", "trip"}},
	{name: "gear", any: []string{"gear", "gear position", "gang"}},
	{name: "boost", unit: "psig", any: []string{"boost", "map", "manifold pressure", "manifold", "boost pressure", "ladedruck"}},
	{name: "lambda", any: []string{"lambda", "λ", "lambda 1", "wideband"}},
	{name: "fuel_flow", unit: "cc/min", all: []string{"fuel", "flow"}},
	{name: "fuel_pressure", unit: "psig", all: []string{"fuel", "pressure"}},
	{name: "accel", unit: "gn", any: []string{"acceleration", "accel", "long g", "acc x", "longitudinal g", "g long"}},
}

// GuessColumns guesses what the heads of a log mean, in the order of the file.
func GuessColumns(heads []Head) []Guess {
	names := make([]string, len(heads))
	taken := map[string]bool{}
	for _, m := range meanings {
		if taken[m.name] {
			continue
		}
		for i, h := range heads {
			if names[i] == "" && m.fits(h.Name) {
				names[i], taken[m.name] = m.name, true
				break
			}
		}
	}
	var out []Guess
	for i, h := range heads {
		if names[i] != "" {
			out = append(out, Guess{Name: names[i], Head: h, Unit: guessUnit(names[i], h)})
		}
	}
	return out
}

func guessUnit(name string, h Head) string {
	switch u := SpellUnit(h.Unit); u {
	case "":
	case unitless:
		return ""
	default:
		return u
	}
	for _, m := range meanings {
		if m.name == name {
			return m.unit
		}
	}
	return ""
}

func (m meaning) fits(head string) bool {
	text := strings.ToLower(strings.NewReplacer("_", " ", ".", " ", "-", " ").Replace(head))
	text = strings.Join(strings.Fields(text), " ")
	for _, w := range m.not {
		if strings.Contains(text, w) {
			return false
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
