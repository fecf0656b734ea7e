package export

import (
	"math"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// mixable are units of one quantity that instruments and people use side by side;
// a number in one is mistaken for a number in another.
var mixable = [][]string{
	{"inHg", "hPa", "kPa", "mmHg", "psia", "bara"},
	{"psig", "kPag", "barg"},
	{"psid", "kPad", "bard"},
	{"degC", "degF"},
	{"mm", "in", "ft", "m"},
	{"kg", "lb"},
	{"L", "galUS"},
}

// otherUnit returns the symbol of a unit in which the number v is near the value
// that a given had, old in SI, while in its own unit it is not: 1013 after
// 29.92 inHg, a pressure of 1013 hPa. It is empty if there is none.
func otherUnit(system *unit.System, q *check.Quantity, v, old float64) string {
	if old == 0 || old != old || q.Type.Form != check.Number {
		return ""
	}
	near := 0.05 // of a temperature that is some 15 K
	if q.Type.Measure.Dim == pascal {
		near = 0.1
	}
	off := func(u unit.Unit) float64 { return math.Abs(u.SI(v)-old) / math.Abs(old) }
	own := off(q.Unit)
	if own <= near {
		return ""
	}
	drop := strings.HasSuffix(q.Unit.Symbol, "d")
	for _, group := range mixable {
		for _, symbol := range group {
			u, err := system.Parse(symbol)
			switch {
			case err != nil, symbol == q.Unit.Symbol, !sameMeasure(u.Measure, q.Type.Measure), u.Measure.Kind == unit.Relative && strings.HasSuffix(symbol, "d") != drop:
			case off(u) <= min(near, own/2):
				return symbol
			}
		}
	}
	return ""
}

// sameMeasure reports whether units of two measures can be mistaken for each other:
// K is a plain unit, degC is not.
func sameMeasure(a, b unit.Measure) bool {
	return a.Dim == b.Dim && a.Counts == b.Counts && (a.Kind == b.Kind || a.Kind == unit.Plain || b.Kind == unit.Plain)
}

// pascal is the dimension of a pressure.
var pascal = unit.Dimension{unit.Mass: {Num: 1}, unit.Length: {Num: -1}, unit.Time: {Num: -2}}
