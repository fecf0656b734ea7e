package unit

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestFormatNumber(t *testing.T) {
	negativeZero := math.Copysign(0, -1)
	for _, c := range []struct {
		v, step float64
		want    string
	}{
		{0, 0, "0"},
		{negativeZero, 0, "0"},
		{11200, 0, "11200"},
		{2.5, 0, "2.5"},
		{1.0 / 3, 0, "0.333333"},
		{2.0 / 3, 0, "0.666667"},
		{1234567, 0, "1234567"},
		{1234567.5, 0, "1234568"},
		{1234567.891, 0, "1234568"},
		{-123456789.12, 0, "-123456789"},
		{123456.7, 0, "123457"},
		{-1999998, 0, "-1999998"},
		{-0.5, 0, "-0.5"},
		{999999.5, 0, "1000000"},
		{1e14, 0, "100000000000000"},
		{999999999999999, 0, "999999999999999"},
		{1e15, 0, "1e+15"},
		{1.5e16, 0, "1.5e+16"},
		{-1.2345678e20, 0, "-1.23457e+20"},
		{1e-6, 0, "0.000001"},
		{9.9e-7, 0, "9.9e-07"},
		{2.5e-6, 0, "0.0000025"},
		{0.1 + 0.2, 0, "0.3"},
		{161.26, 0.1, "161.3"},
		{161, 0.1, "161.0"},
		{11187, 10, "11190"},
		{11185, 10, "11190"},
		{-11185, 10, "-11190"},
		{2.675, 0.01, "2.68"},
		{0.45, 0.1, "0.5"},
		{1.1, 0.25, "1.00"},
		{1.13, 0.25, "1.25"},
		{7, 2.5, "7.5"},
		{7.1999, 0.001, "7.200"},
		{-0.04, 0.1, "0.0"},
		{-0.4, 1, "0"},
		{negativeZero, 0.1, "0.0"},
		{1e-9, 0.1, "0.0"},
		{1e300, 0.1, "1e+300"},
		{5, 1e-300, "5"},
		{5, math.NaN(), "5"},
		{5, math.Inf(1), "5"},
		{5, -1, "5"},
		{1.5, 1e20, "0"},
		{math.MaxFloat64, 0, "1.79769e+308"},
		{5e-324, 0, "4.94066e-324"},
		{math.NaN(), 0, "—"},
		{math.Inf(1), 0.1, "—"},
		{math.Inf(-1), 0, "—"},
	} {
		if got := FormatNumber(c.v, c.step); got != c.want {
			t.Errorf("%v to %v is %s, want %s", c.v, c.step, got, c.want)
		}
	}
}

func TestDecimals(t *testing.T) {
	for step, want := range map[float64]int{
		0: 0, 1: 0, 10: 0, 0.1: 1, 0.01: 2, 0.25: 2, 2.5: 1, 1e-15: 15, 1e-20: 15, 1e20: 0, -0.1: 0, math.Inf(1): 0,
	} {
		if got := Decimals(step); got != want {
			t.Errorf("%v has %d decimals, want %d", step, got, want)
		}
	}
	if got := Decimals(math.NaN()); got != 0 {
		t.Errorf("NaN has %d decimals", got)
	}
}

func TestFormatNumberIsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		step := rapid.SampledFrom([]float64{0, 0.001, 0.1, 0.25, 1, 10}).Draw(t, "step")
		text := FormatNumber(v, step)
		if strings.HasPrefix(text, "-0") && strings.Trim(text, "-0.") == "" {
			t.Fatalf("%v shows %s", v, text)
		}
		got, err := strconv.ParseFloat(text, 64)
		if err != nil && !math.IsInf(got, 0) {
			t.Fatal(err)
		}
		if math.Abs(got-v) > max(step/2*(1+1e-9), math.Abs(v)*5.1e-6) {
			t.Fatalf("%v to %v shows %s", v, step, text)
		}
	})
}

func TestFormat(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct {
		v    float64
		from string
		as   string
		step float64
		want string
	}{
		{11200, "rpm", "rpm", 0, "11200 rpm"},
		{11200, "rpm", "rpm", 10, "11200 rpm"},
		{0.85, "1", "%", 0, "85 %"},
		{2.5, "1", "1", 0, "2.5"},
		{77, "degF", "degC", 0.1, "25.0 degC"},
		{77, "degF", "degC", 0, "25 degC"},
		{25, "degC", "degF", 0, "77 degF"},
		{0, "degC", "degF", 1, "32 degF"},
		{32, "degF", "degC", 0.001, "0.000 degC"},
		{-40, "degF", "degC", 0, "-40 degC"},
		{18, "deltaF", "deltaC", 0, "10 deltaC"},
		{21, "psig", "kPad", 1, "145 kPad"},
		{180, "deg", "turn", 0, "0.5 turn"},
		{1, "mi", "ft", 0, "5280 ft"},
		{1320, "ft", "mi", 0, "0.25 mi"},
		{12.5, "EUR/pass", "EUR/pass", 0.01, "12.50 EUR/pass"},
	} {
		if got := parse(t, s, c.as).Format(parse(t, s, c.from).SI(c.v), c.step); got != c.want {
			t.Errorf("%v %s is %s, want %s", c.v, c.from, got, c.want)
		}
	}
	if got := (Unit{Scale: 1}).Format(2.5, 0); got != "2.5" {
		t.Errorf("without a unit: %s", got)
	}
}

// TestNumber gives the number before a unit: as it was typed, or with every
// digit where the noise of the conversion cannot be distinguished from digits.
func TestNumber(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct {
		unit     string
		si, want float64
	}{
		{"%", 0.85, 85},
		{"psig", parse(t, s, "psig").SI(21.3), 21.3},
		{"1", 1.0 / 3, 1.0 / 3},
		{"1", 1e-305, 1e-305},
		{"1", 123456789012345678, 123456789012345678},
	} {
		if got := parse(t, s, c.unit).Number(c.si); got != c.want {
			t.Errorf("%v is %v %s, want %v", c.si, got, c.unit, c.want)
		}
	}
}

// TestNumberWithoutShortcut compares Number with the result of writing and
// reading the decimal digits of every number, typed in a unit or not.
func TestNumberWithoutShortcut(t *testing.T) {
	s := NewSystem()
	random := rand.New(rand.NewPCG(3, 8))
	for i := range 40_000 {
		u := parse(t, s, []string{"1", "mm", "psig", "degF", "inHg", "mph", "%", "lbf.ft"}[i%8])
		v := (random.Float64() - 0.5) * math.Pow(10, float64(random.IntN(40)-20))
		if i%3 > 0 {
			v = Significant(v, 1+random.IntN(15))
		}
		si := u.SI(v)
		want := u.Shown(si)
		if clean := trim(want, u.Offset); isTyped(clean) {
			want = clean
		}
		if got := u.Number(si); got != want {
			t.Fatalf("%v %s is %v, want %v", v, u.Symbol, got, want)
		}
	}
}

// TestCleanHalves checks that the noise of a conversion does not tip a half
// the wrong way.
func TestCleanHalves(t *testing.T) {
	s := NewSystem()
	for i := range catalogue {
		u := catalogue[i].Unit
		for _, v := range []float64{0.5, 1.5, 2.5, 0.05, 12.35, 1234.5} {
			if got := u.Clean(u.SI(v)); got != v {
				t.Errorf("%v %s comes back as %v", v, u.Symbol, got)
			}
		}
	}
	if got := parse(t, s, "degC").Clean(298.15); got != 25 {
		t.Errorf("298.15 K is %v degC", got)
	}
}

// TestTemperaturesMeet reads the same temperatures in Celsius and Fahrenheit:
// they are the same numbers, to the bit.
func TestTemperaturesMeet(t *testing.T) {
	s := NewSystem()
	c, f := parse(t, s, "degC"), parse(t, s, "degF")
	for n := -9000; n <= 90000; n++ {
		inC, _ := strconv.ParseFloat(strconv.FormatFloat(float64(n)/100, 'f', 2, 64), 64)
		inF, _ := strconv.ParseFloat(strconv.FormatFloat(float64(n*18+32000)/1000, 'f', 3, 64), 64)
		if a, b := c.SI(inC), f.SI(inF); a != b {
			t.Fatalf("%v degC is %v, %v degF is %v", inC, a, inF, b)
		}
	}
	in, mm := parse(t, s, "in"), parse(t, s, "mm")
	for n := 1; n <= 10000; n++ {
		inMM, _ := strconv.ParseFloat(strconv.FormatFloat(float64(n)*25.4/10, 'f', 2, 64), 64)
		if a, b := in.SI(float64(n)/10), mm.SI(inMM); a != b {
			t.Fatalf("%v in is %v, %v mm is %v", float64(n)/10, a, inMM, b)
		}
	}
}

func TestFormatTyped(t *testing.T) {
	for text, v := range map[string]float64{
		"29.92": 29.92, "2.123456789": 2.123456789, "1234567.891": 1234567.891, "0.1": 0.1, "2.5e-07": 2.5e-7,
		"1.23456789e-07": 1.23456789e-7, "123456789012": 123456789012.345, "0.333333": 1.0 / 3, "10000": 10000.0000000002, "123456789.25": 123456789.25, "11200": 11200,
	} {
		if got := FormatTyped(v); got != text {
			t.Errorf("%v is %s, want %s", v, got, text)
		}
	}
}

// TestBesideAnother: a compared number has the digits that its comparison needs.
func TestBesideAnother(t *testing.T) {
	for _, c := range []struct {
		v, step, other, otherStep float64
		typed                     bool
		want                      string
	}{
		{235.04, 0, 235, 0, true, "235.04"},
		{235.0000004, 0, 235, 0, true, "235.0000004"},
		{0.85, 0, 0.8500001, 0, false, "0.85"},
		{0.8500001, 0, 0.85, 0, false, "0.8500001"},
		{3, 0, 3, 0, false, "3"},
		{1234567.4, 0, 1234567, 0, true, "1234567.4"},
		{1e300, 0, 1.00000001e300, 0, false, "1e+300"},
		{36.6, 1, 37.5, 0, true, "36.6"},
		{37.5, 1, 37.5, 0, true, "37.5"},
		{37.5, 5, 37.5, 0, true, "37.5"},
		{37.6, 5, 37, 0, true, "37.6"},
		{32, 5, 37, 0, true, "30"},
		{32, 5, 37.5, 0, true, "32"},
		{35.9, 1, 37, 0, true, "36"},
		{37.6, 5, 37.6, 1, false, "38"},
		{37.6, 1, 37.6, 5, false, "38"},
		{37.06, 0.1, 37.5, 0, true, "37.1"},
		{0.9, 0.01, 0.905, 0, true, "0.90"},
		{11247, 10, 12000, 0, true, "11250"},
		{11247, 10, 11249, 0, true, "11247"},
		{2.5e-8, 0, 2.6e-8, 0, false, "2.5e-08"},
		{0, 0.1, 0, 0, true, "0.0"},
	} {
		got := FormatNumber(c.v, c.step)
		if places := DecimalsBeside(c.v, c.step, c.other, c.otherStep, c.typed); places >= 0 {
			got = FormatDecimals(c.v, places, c.step)
		}
		if got != c.want {
			t.Errorf("%v to %v beside %v to %v is %s, want %s", c.v, c.step, c.other, c.otherStep, got, c.want)
		}
	}
}

// TestBesideKeepsTheOrder: what is shown of two numbers compares as they do.
func TestBesideKeepsTheOrder(t *testing.T) {
	steps := []float64{0, 0.001, 0.01, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 25, 100}
	rapid.Check(t, func(t *rapid.T) {
		step := func(name string) float64 { return rapid.SampledFrom(steps).Draw(t, name) }
		a := rapid.SampledFrom([]float64{0, 0.5, 2.5, 37.5, 99.95, 1234.5, -37.5, -0.05, 82.125}).Draw(t, "near") + rapid.Float64Range(-3, 3).Draw(t, "a")
		b := a + rapid.SampledFrom([]float64{0, 0, 1e-9, 1e-6, 0.001, 0.04, 0.3, 1, 2.5, 7, 60}).Draw(t, "d")*rapid.Float64Range(-1, 1).Draw(t, "part")
		sa, sb, typed := step("sa"), step("sb"), rapid.Bool().Draw(t, "typed")
		if typed {
			b = Significant(b, rapid.IntRange(1, 12).Draw(t, "digits"))
		}
		if rapid.Bool().Draw(t, "equal") {
			a = b
		}
		show := func(v, step, other, otherStep float64, typed bool) float64 {
			text := FormatNumber(v, step)
			if places := DecimalsBeside(v, step, other, otherStep, typed); places >= 0 {
				text = FormatDecimals(v, places, step)
			}
			shown, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			return shown
		}
		x, y := show(a, sa, b, sb, typed), b
		if !typed {
			y = show(b, sb, a, sa, false)
		}
		same := func(v, w float64) bool { return math.Abs(v-w) <= 1e-12*math.Max(math.Abs(v), math.Abs(w)) }
		if a != b && same(a, b) {
			return // may be on two sides of a half
		}
		if same(a, b) != same(x, y) || !same(a, b) && (a < b) != (x < y) {
			t.Errorf("%v to %v and %v to %v (typed %v) are shown as %v and %v", a, sa, b, sb, typed, x, y)
		}
	})
}

// TestFormatGiven keeps every digit that was typed, and the zeros of a step.
func TestFormatGiven(t *testing.T) {
	for _, c := range []struct {
		v, step float64
		want    string
	}{
		{2.5, 0.01, "2.50"},
		{2.505, 0.01, "2.505"},
		{2085.4, 1, "2085.4"},
		{2085, 10, "2085"},
		{2090, 10, "2090"},
		{0.1, 0, "0.1"},
		{1.0 / 3, 0.01, "0.33"},
		{1e15, 1, "1e+15"},
	} {
		if got := FormatGiven(c.v, c.step); got != c.want {
			t.Errorf("%v to %v is written %s, want %s", c.v, c.step, got, c.want)
		}
	}
}
