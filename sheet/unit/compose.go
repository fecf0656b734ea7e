package unit

import (
	"slices"
	"strconv"
	"strings"
)

// quantity is a measure with a name and a unit that people use for it.
type quantity struct{ symbol, noun string }

// quantities lists the names of measures, each with its preferred unit:
// coherent SI, except where another is in general use (rpm, kW, L, kPa, degC).
var quantities = []quantity{
	{"m", "length"},
	{"m2", "area"},
	{"L", "volume"},
	{"kg", "mass"},
	{"s", "time"},
	{"m/s", "speed"},
	{"m/s2", "acceleration"},
	{"N", "force"},
	{"N/m", "stiffness"},
	{"N.m", "torque or energy"},
	{"kW", "power"},
	{"Pa", "pressure"},
	{"kPa", "absolute pressure"},
	{"kPad", "relative pressure"},
	{"K", "temperature"},
	{"degC", "temperature on a scale"},
	{"deltaC", "temperature difference"},
	{"A", "current"},
	{"Ah", "charge"},
	{"V", "voltage"},
	{"ohm", "resistance"},
	{"mH", "inductance"},
	{"uF", "capacitance"},
	{"mol", "amount"},
	{"vol%", "share by volume"},
	{"mass%", "share by mass"},
	{"turn", "angle"},
	{"rpm", "speed of turning"},
	{"teeth", "teeth"},
	{"links", "links"},
	{"Hz", "frequency"},
	{"kg/m3", "density"},
	{"m3/kg", "specific volume"},
	{"kg/s", "mass flow"},
	{"L/min", "volume flow"},
	{"kg/m", "mass per length"},
	{"kg.m2", "moment of inertia"},
	{"m2/s2", "specific energy or speed squared"},
	{"J/(kg.K)", "specific heat"},
	{"J/(mol.K)", "molar heat"},
	{"J/mol", "molar energy"},
	{"J/K", "heat capacity"},
	{"g/mol", "molar mass"},
	{"s2/m2", "specific consumption or growth"},
	{"kW/kg", "power per mass"},
	{"m/turn", "length per turn"},
}

// preferred finds a quantity by its measure.
var preferred = indexQuantities()

func indexQuantities() map[Measure]quantity {
	index := map[Measure]quantity{}
	s := NewSystem()
	for _, q := range quantities {
		u, err := s.Parse(q.symbol)
		if err != nil {
			panic("unit: preferred " + q.symbol + ": " + err.Message)
		}
		index[u.Measure] = q
	}
	return index
}

// Preferred returns the default display unit of a value of m. A plain number
// has none. If there is no usual unit for m, its counts and the sheet's own
// dimensions multiply the usual unit for the rest (W.turn, EUR/kg); otherwise
// the unit is the coherent one.
func (s *System) Preferred(m Measure) Unit {
	if m == (Measure{}) {
		return Unit{Scale: 1}
	}
	symbol := s.preferredSymbol(m)
	u, err := s.Parse(symbol)
	if err != nil {
		// Compose can exceed only the bound on the length of a text; a unit
		// with the right scale and no symbol is still correct.
		return Unit{Scale: 1, Measure: m}
	}
	return u
}

func (s *System) preferredSymbol(m Measure) string {
	if q, ok := preferred[m]; ok {
		return q.symbol
	}
	if m.Kind != Plain {
		// A kind with counts: no symbol has both, so the counts are dropped.
		return preferred[Measure{Dim: m.Dim, Kind: m.Kind}].symbol
	}
	rest, extra := m.split()
	if extra == (Measure{}) {
		return s.Compose(m)
	}
	if symbol := preferred[rest].within(); symbol != "" {
		return s.compose(extra, symbol, "")
	}
	inverse, _ := rest.Pow(-1, 1)
	return s.composeOver(m, extra, preferred[inverse].within())
}

// composeOver composes extra over the symbol below; without one it composes
// all of m.
func (s *System) composeOver(m, extra Measure, below string) string {
	if below == "" {
		return s.Compose(m)
	}
	return s.compose(extra, "", below)
}

// within returns the symbol as a factor of a compound; "" if it is one itself.
func (q quantity) within() string {
	switch {
	case q.symbol == "N.m":
		return "J"
	case q.symbol == "Hz" || q.symbol == "s":
		return "" // EUR/s and EUR.s are composed from base units
	case strings.ContainsAny(q.symbol, "/."):
		return ""
	}
	return q.symbol
}

// split separates m into physical dimensions, and counts and dimensions of the
// sheet's own.
func (m Measure) split() (rest, extra Measure) {
	rest.Kind = m.Kind
	copy(rest.Dim[:Slot0], m.Dim[:Slot0])
	copy(extra.Dim[Slot0:], m.Dim[Slot0:])
	extra.Counts = m.Counts
	return rest, extra
}

// Compose returns the coherent symbol of m, such as kg/(m.s2), and 1 for a
// plain number. It does not show the kind.
func (s *System) Compose(m Measure) string { return s.compose(m, "", "") }

// composeOrder is the order of base symbols.
var composeOrder = []struct {
	base   int
	symbol string
}{{Mass, "kg"}, {Length, "m"}, {Time, "s"}, {Temperature, "K"}, {Current, "A"}, {Amount, "mol"}}

// compose is Compose with one more symbol above and below the line.
func (s *System) compose(m Measure, above, below string) string {
	var over, under []string
	add := func(e Exponent, symbol string) {
		switch {
		case e.Num > 0:
			over = append(over, symbol+e.suffix())
		case e.Num < 0:
			e.Num = -e.Num
			under = append(under, symbol+e.suffix())
		}
	}
	if above != "" {
		over = append(over, above)
	}
	if below != "" {
		under = append(under, below)
	}
	for i, name := range s.slots {
		add(m.Dim[Slot0+i], name)
	}
	for _, b := range composeOrder {
		add(m.Dim[b.base], b.symbol)
	}
	for i, name := range []string{Turn: "turn", Teeth: "teeth", Links: "links"} {
		add(m.Counts[i], name)
	}
	return quotient(over, under)
}

// quotient joins symbols above and below the line.
func quotient(over, under []string) string {
	text := strings.Join(over, ".")
	if text == "" {
		text = "1"
	}
	switch len(under) {
	case 0:
		return text
	case 1:
		return text + "/" + under[0]
	}
	return text + "/(" + strings.Join(under, ".") + ")"
}

// suffix writes e, which is positive, after a symbol.
func (e Exponent) suffix() string {
	num, den := e.ratio()
	switch {
	case den != 1:
		return "(" + strconv.FormatInt(num, 10) + "/" + strconv.FormatInt(den, 10) + ")"
	case num == 1:
		return ""
	}
	return strconv.FormatInt(num, 10)
}

// renamed gives u, whose factors were named by values, a symbol that parses as
// the same unit.
func (s *System) renamed(u Unit, factors []power) Unit {
	var over, under []string
	factors = slices.DeleteFunc(slices.Clone(factors), func(f power) bool { return f.unit.like(Unit{Scale: 1}) })
	if len(factors) == 1 && factors[0].num == 1 && factors[0].den == 1 {
		return factors[0].unit
	}
	for _, f := range factors {
		e, _ := exponent(max(f.num, -f.num), f.den)
		symbol := f.unit.Symbol + e.suffix()
		if strings.ContainsAny(f.unit.Symbol, "/.(") {
			symbol = "(" + f.unit.Symbol + ")"
		}
		if f.num < 0 {
			under = append(under, symbol)
		} else {
			over = append(over, symbol)
		}
	}
	u.Symbol = quotient(over, under)
	if again, err := s.parse(u.Symbol); err == nil && again.Measure == u.Measure && again.Scale == u.Scale {
		return again
	}
	return s.Preferred(u.Measure)
}

// Describe describes m in a message: "absolute pressure, kg/(m.s2)", "a plain
// number", "length, m"; a measure without a name by its symbol alone.
func (s *System) Describe(m Measure) string {
	return s.describe(m, s.Compose(m))
}

func (s *System) describe(m Measure, symbol string) string {
	if m == (Measure{}) {
		return "a plain number"
	}
	if noun := s.noun(m); noun != "" && noun != symbol {
		return noun + ", " + symbol
	}
	return symbol
}

// noun returns the name of m, or "".
func (s *System) noun(m Measure) string {
	if q, ok := preferred[m]; ok {
		return q.noun
	}
	for i, name := range s.slots {
		alone := Measure{}
		alone.Dim[Slot0+i] = Exponent{Num: 1}
		if row, ok := known[name]; m == alone && ok && row.Subject == "money" {
			return "money"
		}
	}
	return ""
}
