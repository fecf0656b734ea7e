package unit

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestPreferred(t *testing.T) {
	s := NewSystem()
	for text, want := range map[string][2]string{
		"thou":           {"m", "length, m"},
		"in2":            {"m2", "area, m2"},
		"floz":           {"L", "volume, m3"},
		"lb":             {"kg", "mass, kg"},
		"ms":             {"s", "time, s"},
		"mph":            {"m/s", "speed, m/s"},
		"gn":             {"m/s2", "acceleration, m/s2"},
		"lbf":            {"N", "force, kg.m/s2"},
		"lbf.ft":         {"N.m", "torque or energy, kg.m2/s2"},
		"kJ":             {"N.m", "torque or energy, kg.m2/s2"},
		"hp":             {"kW", "power, kg.m2/s3"},
		"psia":           {"kPa", "absolute pressure, kg/(m.s2)"},
		"psig":           {"kPad", "relative pressure, kg/(m.s2)"},
		"MPa":            {"Pa", "pressure, kg/(m.s2)"},
		"degF":           {"degC", "temperature on a scale, K"},
		"deltaF":         {"deltaC", "temperature difference, K"},
		"degR":           {"K", "temperature, K"},
		"turn/s":         {"rpm", "speed of turning, turn/s"},
		"1/min":          {"Hz", "frequency, 1/s"},
		"lb/min":         {"kg/s", "mass flow, kg/s"},
		"cc/min":         {"L/min", "volume flow, m3/s"},
		"lb/ft3":         {"kg/m3", "density, kg/m3"},
		"g/mol":          {"g/mol", "molar mass, kg/mol"},
		"deg":            {"turn", "angle, turn"},
		"tooth":          {"teeth", "teeth"},
		"link":           {"links", "links"},
		"1":              {"", "a plain number"},
		"%":              {"", "a plain number"},
		"hp.turn":        {"kW.turn", "kg.m2.turn/s3"},
		"J.turn":         {"J.turn", "kg.m2.turn/s2"},
		"pass":           {"pass", "pass"},
		"EUR":            {"EUR", "money, EUR"},
		"EUR/lb":         {"EUR/kg", "EUR/kg"},
		"EUR/h":          {"EUR/s", "EUR/s"},
		"teeth/min":      {"teeth/s", "teeth/s"},
		"EUR.h":          {"EUR.s", "EUR.s"},
		"EUR/kWh":        {"EUR/J", "EUR.s2/(kg.m2)"},
		"m4":             {"m4", "m4"},
		"Pa.s":           {"kg/(m.s)", "kg/(m.s)"},
		"kPa/s":          {"kg/(m.s3)", "kg/(m.s3)"},
		"m(1/2).s(3/2)":  {"m(1/2).s(3/2)", "m(1/2).s(3/2)"},
		"1/(m(1/2).kg2)": {"1/(kg2.m(1/2))", "1/(kg2.m(1/2))"},
	} {
		m := parse(t, s, text).Measure
		if got := s.Preferred(m).Symbol; got != want[0] {
			t.Errorf("%s is shown in %q, want %q", text, got, want[0])
		}
		if got := s.Describe(m); got != want[1] {
			t.Errorf("%s is described as %q, want %q", text, got, want[1])
		}
	}
}

// TestPreferredReadsBack checks for any measure that the unit it is shown in
// and its coherent symbol read as that measure.
func TestPreferredReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := NewSystem()
		for _, name := range []string{"pass", "EUR"} {
			if _, err := s.Parse(name); err != nil {
				t.Fatal(err.Message)
			}
		}
		m := drawMeasure(t, "m")
		if m.HasKinds() && m.Counts == (Counts{}) {
			kinds := []Kind{Plain, Absolute, Relative}
			if m.Dimensionless() {
				kinds = []Kind{Plain, ByVolume, ByMass}
			}
			m.Kind = rapid.SampledFrom(kinds).Draw(t, "kind")
		}
		readsBack(t, s, m)
	})
	s := NewSystem()
	for _, dim := range []Dimension{pressureDim, temperatureDim} {
		for kind := range Relative + 1 {
			readsBack(t, s, Measure{Dim: dim, Kind: kind})
		}
	}
	readsBack(t, s, Measure{Kind: ByVolume})
	readsBack(t, s, Measure{Kind: ByMass})
}

// fataler is what a test and a property check have in common.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// readsBack checks the preferred unit and the coherent symbol of m.
func readsBack(t fataler, s *System, m Measure) {
	t.Helper()
	plain := m
	plain.Kind = Plain
	symbol := s.Compose(m)
	u, err := s.Parse(symbol)
	if err != nil || u.Measure != plain || u.Scale != 1 {
		t.Fatalf("%s reads as %v, %v, want %v", symbol, u, err, plain)
	}
	shown := s.Preferred(m)
	if shown.Symbol == "" && m == (Measure{}) {
		return
	}
	if again, err := s.Parse(shown.Symbol); err != nil || again != shown || shown.Measure != m {
		t.Fatalf("%v is shown in %v, which reads as %v, %v", m, shown, again, err)
	}
}

// TestPreferredOfCountedKinds checks that a point or difference that carries
// a count is shown as one, without the count, which no symbol could say.
func TestPreferredOfCountedKinds(t *testing.T) {
	s := NewSystem()
	for unit, want := range map[string]string{"psig": "kPad", "inHg": "kPa", "degF": "degC", "deltaC": "deltaC"} {
		m, _ := parse(t, s, unit).Measure.Mul(parse(t, s, "teeth").Measure)
		shown := s.Preferred(m)
		if shown.Symbol != want || Meets(shown.Measure, m) != "" {
			t.Errorf("%s times teeth is shown in %v", unit, shown)
		}
	}
}

// TestLongNames checks that a sheet's own dimensions compose however long
// their names are.
func TestLongNames(t *testing.T) {
	s := NewSystem()
	m := Measure{}
	for i := range Slots {
		name := strings.Repeat("x", maxName-1) + string(rune('a'+i))
		if err := s.Declare(name, nil); err != nil {
			t.Fatal(err.Message)
		}
		m.Dim[Slot0+i] = Exponent{Num: 7, Den: 12}
	}
	readsBack(t, s, m)
}

// TestFormatReadsBack checks for every unit of the catalogue, and for
// compounds of them, that what is formatted reads as the same value.
func TestFormatReadsBack(t *testing.T) {
	for _, row := range Catalog() {
		if row.Asks != nil {
			continue
		}
		s := NewSystem()
		for _, symbol := range append([]string{row.Symbol}, row.Aliases...) {
			sameAgain(t, s, parse(t, s, symbol))
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := NewSystem()
		text := drawCompound(t)
		u, err := s.Parse(text)
		if err != nil {
			if err.Code != CodeExponent {
				t.Fatalf("%s: %s", text, err.Message)
			}
			t.Skip(err.Message)
		}
		sameAgain(t, s, u)
	})
}

// sameAgain checks that values shown in u read back, and that the text of a
// System that has met nothing yet means the same.
func sameAgain(t fataler, s *System, u Unit) {
	t.Helper()
	for _, v := range []float64{0, 1, 2.5, -40, 12345.6, 0.000125} {
		text := u.Format(u.SI(v), 0)
		number, symbol, _ := strings.Cut(text, " ")
		if symbol == "" {
			symbol = "1"
		}
		again, err := s.Parse(symbol)
		if err != nil || again != u && symbol != "1" {
			t.Fatalf("%s reads as %v, %v, want %v", text, again, err, u)
		}
		if want := FormatNumber(v, 0); number != want {
			t.Fatalf("%v %s is shown as %s", v, u.Symbol, text)
		}
	}
}

// drawCompound draws a text of two to four factors.
func drawCompound(t *rapid.T) string {
	factor := func() string {
		row := &catalogue[rapid.IntRange(0, len(catalogue)-1).Draw(t, "row")]
		if row.Unit.Offset != 0 || row.Subject == "money" || row.Symbol == "1" {
			row = known["m"]
		}
		return row.Symbol + rapid.SampledFrom([]string{"", "", "", "2", "3", "(1/2)", "(2/3)"}).Draw(t, "power")
	}
	text := factor()
	for range rapid.IntRange(0, 1).Draw(t, "more") {
		text += "." + factor()
	}
	switch rapid.IntRange(0, 2).Draw(t, "below") {
	case 0:
		text += "." + factor()
	case 1:
		text += "/" + factor()
	default:
		text += "/(" + factor() + "." + factor() + ")"
	}
	return text
}

// TestCompoundsMultiply checks a compound against the product of its factors,
// measured by Mul, Div and Pow.
func TestCompoundsMultiply(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := NewSystem()
		symbols := []string{"kg", "lb", "ft", "mm", "s", "h", "hp", "kPa", "deltaF", "rpm", "teeth", "EUR", "%", "A"}
		var over, under []string
		m, scale, within := Measure{}, 1.0, true
		for range rapid.IntRange(1, 5).Draw(t, "factors") {
			symbol := rapid.SampledFrom(symbols).Draw(t, "symbol")
			power := rapid.IntRange(-4, 4).Draw(t, "power")
			u, err := s.Parse(symbol)
			if err != nil {
				t.Fatal(err.Message)
			}
			raised, ok1 := u.Measure.Pow(power, 1)
			var ok2 bool
			m, ok2 = m.Mul(raised)
			within = within && ok1 && ok2
			scale *= math.Pow(u.Scale, float64(power))
			switch e, _ := exponent(int64(max(power, -power)), 1); {
			case power > 0:
				over = append(over, symbol+e.suffix())
			case power < 0:
				under = append(under, symbol+e.suffix())
			}
		}
		text := quotient(over, under)
		u, err := s.Parse(text)
		if !within || len(over)+len(under) < 2 {
			t.Skip("out of bounds, or no compound")
		}
		m.Kind = Plain
		if err != nil || u.Measure != m || math.Abs(u.Scale/scale-1) > 1e-12 {
			t.Fatalf("%s reads as %v, %v, want %v and scale %v", text, u, err, m, scale)
		}
	})
}
