package export

import (
	"math"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// mixable are units that instruments and people use side by side; a number in one is
// mistaken for a number in another of the same quantity.
var mixable = strings.Fields("inHg hPa kPa mmHg psia bara psig kPag barg psid kPad bard degC degF K deltaC deltaF " +
	"mm in ft m kg lb L galUS m/s mph km/h N.m lbf.ft kW hp")

const (
	standardAir             = 101325 // Pa, ISO 2533
	thinnestAir, densestAir = 70e3, 108e3
	airDiffers              = 1700 // Pa; between two readings
	temperatureDiffers      = 8    // K; between two readings
)

// otherUnit returns the symbol of a unit in which the number v is near the value
// that a given had, old in SI, while in its own unit it is not: 1013 after 29.92
// inHg was read in hPa; 28.7 after 14 psig, in psia; 0 after 29.92 inHg, on a gauge.
// It is empty if there is none.
func otherUnit(m *check.Model, q *check.Quantity, v, old float64) string {
	if old != old || q.Type.Form != check.Number {
		return ""
	}
	best, nearest := "", math.Inf(1)
	own := math.Abs(q.Unit.SI(v) - old)
	for _, symbol := range mixable {
		u, err := m.Units.Parse(symbol)
		if err != nil || u.Scale == q.Unit.Scale && u.Measure == q.Unit.Measure || isDrop(u) != isDrop(q.Unit) {
			continue
		}
		off, near := math.Inf(1), 0.0
		switch was := q.Type.Measure; {
		case sameMeasure(u.Measure, was):
			off, near = math.Abs(u.SI(v)-old), nearness(q, own, old)
		case was.Dim == pascal && u.Measure.Dim == pascal && !isDrop(u):
			off = offByAir(m, q, u.SI(v)-old)
			if own > 0.4*min(math.Abs(old), math.Abs(q.Unit.SI(v))) { // not a rail from 4 to 5 bar
				near = min(airDiffers, own/10)
			}
		}
		if share := off / near; share <= 1 && (share < nearest || share == nearest && u.Scale == q.Unit.Scale) {
			best, nearest = symbol, share
		}
	}
	return best
}

// nearness returns the distance, in SI, at which a value in another unit is near the
// old one; own is the distance of the value in the given's own unit.
func nearness(q *check.Quantity, own, old float64) float64 {
	switch m := q.Type.Measure; {
	case m.Dim == pascal:
		return min(math.Abs(old)/10, own/2)
	case m.Dim == kelvin && m.Kind != unit.Relative:
		return min(temperatureDiffers, own/2)
	}
	return min(math.Abs(old)/20, own/20)
}

// offByAir returns how far a pressure is from the old one if one of them was read on
// a gauge: their difference is the pressure of the air, which is a standard one or
// that of the worksheet's barometer.
func offByAir(m *check.Model, q *check.Quantity, difference float64) float64 {
	if q.Type.Measure.Kind == unit.Absolute {
		difference = -difference
	}
	off := math.Abs(difference - standardAir)
	for _, c := range m.Cells {
		if v := c.Value; c.Given && c.Type.Measure.Dim == pascal && c.Type.Measure.Kind == unit.Absolute && v >= thinnestAir && v <= densestAir {
			off = min(off, math.Abs(difference-v))
		}
	}
	return off
}

// isDrop reports whether a unit is one of a difference of pressures, kPad; gauges
// show boost.
func isDrop(u unit.Unit) bool {
	return u.Measure.Dim == pascal && u.Measure.Kind == unit.Relative && strings.HasSuffix(u.Symbol, "d")
}

// sameMeasure reports whether units of two measures can be mistaken for each other:
// K is a plain unit, degC is not.
func sameMeasure(a, b unit.Measure) bool {
	return a.Dim == b.Dim && a.Counts == b.Counts && (a.Kind == b.Kind || a.Kind == unit.Plain || b.Kind == unit.Plain)
}

// The dimensions of a pressure and of a temperature.
var (
	pascal = unit.Dimension{unit.Mass: {Num: 1}, unit.Length: {Num: -1}, unit.Time: {Num: -2}}
	kelvin = unit.Dimension{unit.Temperature: {Num: 1}}
)
