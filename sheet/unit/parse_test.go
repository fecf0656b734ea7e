package unit

import (
	"math"
	"strings"
	"testing"
)

// readings is units that are read, with their scale and coherent symbol.
var readings = []struct {
	text  string
	scale float64
	base  string
}{
	{"kg/m3", 1, "kg/m3"},
	{"lb/(hp.h)", 0.45359237 / (745.69987158227022 * 3600), "s2/m2"},
	{"g/(kW.h)", 1e-3 / 3.6e6, "s2/m2"},
	{"ft.lbf", 1.3558179483314004, "kg.m2/s2"},
	{"lbf.ft", 1.3558179483314004, "kg.m2/s2"},
	{"mm/rev", 1e-3, "m/turn"},
	{"cc/min", 1e-6 / 60, "m3/s"},
	{"km/h", 1 / 3.6, "m/s"},
	{"m/s2", 1, "m/s2"},
	{"m/s/s", 1, "m/s2"},
	{"m/(s2)", 1, "m/s2"},
	{"1/s", 1, "1/s"},
	{"1", 1, "1"},
	{"%", 0.01, "1"},
	{"gr/lb", 1. / 7000, "1"},
	{"rad", 1 / (2 * math.Pi), "turn"},
	{"rad/s", 1 / (2 * math.Pi), "turn/s"},
	{"rpm", 1. / 60, "turn/s"},
	{"in3", 1.6387064e-5, "m3"},
	{"m(1/2)", 1, "m(1/2)"},
	{"cm(1/2)", 0.1, "m(1/2)"},
	{"kg.m/(s.(A.mol))", 1, "kg.m/(s.A.mol)"},
	{"J/(kg.K)", 1, "m2/(s2.K)"},
	{"W/(m2.deltaC)", 1, "kg/(s3.K)"},
	{"psi/s", 6894.757293168361, "kg/(m.s3)"},
	{"1/bar", 1e-5, "m.s2/kg"},
	{"kPa.m3", 1e3, "kg.m2/s2"},
	{"inH2O/s", 249.08891, "kg/(m.s3)"},
	{"ohm", 1, "kg.m2/(s3.A2)"},
	{"EUR/pass", 1, "EUR/pass"},
	{"passes/event", 1, "pass/event"},
	{"EUR/plug", 1, "EUR/plug"},
	{"furlong2", 220 * 0.9144 * 220 * 0.9144, "m2"},
}

// declaring returns a System in which plug and furlong are declared.
func declaring(t testing.TB) *System {
	t.Helper()
	s := NewSystem()
	furlong, _ := parse(t, s, "yd").Times(220)
	if err := s.Declare("plug", nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Declare("furlong", &furlong); err != nil {
		t.Fatal(err)
	}
	return s
}

func TestParse(t *testing.T) {
	for _, c := range readings {
		s := declaring(t)
		u := parse(t, s, c.text)
		if math.Abs(u.Scale/c.scale-1) > 1e-14 {
			t.Errorf("%s: scale %v, want %v", c.text, u.Scale, c.scale)
		}
		// EUR is met before plug in no sheet here, so its place comes later.
		if got := s.Compose(u.Measure); got != c.base && got != "EUR/plug" {
			t.Errorf("%s: %s, want %s", c.text, got, c.base)
		}
		if u.Symbol != c.text {
			t.Errorf("%s is called %s", c.text, u.Symbol)
		}
		if again := parse(t, s, c.text); again != u {
			t.Errorf("%s: read a second time %v, want %v", c.text, again, u)
		}
	}
}

func TestKindsOfUnits(t *testing.T) {
	s := NewSystem()
	for kind, texts := range map[Kind]string{
		Absolute: "psia bara inHg kPa hPa mbar mmHg torr atm degC degF",
		Relative: "psig psid barg bard kPag kPad Pag Pad MPad hPad mbarg inHgg inHgd mmHgd torrd atmg inH2Od inH2Og deltaC deltaF",
		ByVolume: "vol%",
		ByMass:   "mass% wt%",
		Plain:    "% ppm Pa MPa GPa N/m2 lbf/in2 K degR kPa.m/m 1/(1/kPa) m kg rpm",
	} {
		for _, text := range strings.Fields(texts) {
			if u := parse(t, s, text); u.Measure.Kind != kind {
				t.Errorf("%s has kind %d, want %d", text, u.Measure.Kind, kind)
			}
		}
	}
}

// refusals is texts that are not units: the code, the wrong bytes and the
// repairs.
var refusals = []struct{ text, code, blamed, repairs string }{
	{"psi", CodeAmbiguous, "psi", "psig psia psid"},
	{"bar", CodeAmbiguous, "bar", "barg bara bard"},
	{"inH2O", CodeAmbiguous, "inH2O", "inH2Og inH2Od"},
	{"PSI", CodeUnknown, "PSI", "psig psia psid"},
	{"Psi", CodeUnknown, "Psi", "psig psia psid"},
	{"BAR/s", CodeUnknown, "BAR", "bar/s"},
	{"HP", CodeUnknown, "HP", "hp"},
	{"RPM", CodeUnknown, "RPM", "rpm"},
	{"KPA", CodeUnknown, "KPA", "kPa"},
	{"Kg", CodeUnknown, "Kg", "kg"},
	{"G", CodeUnknown, "G", "gn g"},
	{"F", CodeUnknown, "F", "degF"},
	{"C", CodeUnknown, "C", "degC"},
	{"°C", CodeUnknown, "°C", "degC"},
	{"gal", CodeUnknown, "gal", "galUS galUK"},
	{"cfm", CodeUnknown, "cfm", "ft3/min"},
	{"kph", CodeUnknown, "kph", "km/h"},
	{"Nm", CodeUnknown, "Nm", "N.m"},
	{"lb-ft", CodeSyntax, "-", "lbf.ft"},
	{"ft-lb", CodeSyntax, "-", "lbf.ft"},
	{"N·m", CodeUnknown, "N·m", "N.m"},
	{"LB/HR", CodeUnknown, "LB", "lb/h"},
	{"lb/cfm", CodeUnknown, "cfm", "lb/(ft3/min)"},
	{"lb/hp.h", CodeSyntax, ".", "lb/(hp.h)"},
	{"lb/hp-h", CodeSyntax, "-", "lb/(hp.h)"},
	{"kg.m-3", CodeSyntax, "-", "kg/m3"},
	{"s-1", CodeSyntax, "-", "1/s"},
	{"m/s^2", CodeSyntax, "^", "m/s2"},
	{"m/s²", CodeUnknown, "s²", "m/s2"},
	{"in.Hg", CodeUnknown, "Hg", "inHg"},
	{"$", CodeSyntax, "$", "USD"},
	{"eur", CodeUnknown, "eur", "EUR"},
	{"rpn", CodeUnknown, "rpn", "rpm"},
	{"plgu", CodeUnknown, "plgu", "plug"},
	{"EUR/plgu", CodeUnknown, "plgu", "EUR/plug"},
	{"furlongs", CodeUnknown, "furlongs", "furlong"},
	{"foo", CodeUnknown, "foo", ""},
	{"J/(kg.degC)", CodeKind, "degC", "J/(kg.K)"},
	{"degF/min", CodeKind, "degF", "degR/min"},
	{"degC2", CodeKind, "degC2", "K2"},
	{"m99999999999", CodeExponent, "99999999999", ""},
	{"m21", CodeExponent, "21", ""},
	{"m20.m", CodeExponent, "m", ""},
	{"ppm20.ppm20.ppm20", CodeExponent, "ppm20.ppm20.ppm20", ""},
	{"m(2/4)", CodeExponent, "(2/4)", ""},
	{"m(1/13)", CodeExponent, "(1/13)", ""},
	{"m(1/0)", CodeExponent, "(1/0)", ""},
	{"m(-1/2)", CodeExponent, "(-1/2)", ""},
	{"m(1/2", CodeSyntax, "", ""},
	{"m1", CodeSyntax, "1", "m"},
	{"m0", CodeSyntax, "0", ""},
	{"m02", CodeSyntax, "02", ""},
	{"5m", CodeSyntax, "5m", "m"},
	{"2", CodeSyntax, "2", ""},
	{"", CodeSyntax, "", ""},
	{"/", CodeSyntax, "/", ""},
	{"m/", CodeSyntax, "", ""},
	{"m//s", CodeSyntax, "/", ""},
	{"m s", CodeSyntax, " ", ""},
	{"(m", CodeSyntax, "", ""},
	{"m)", CodeSyntax, ")", ""},
	{"()", CodeSyntax, ")", ""},
	{"(m)2", CodeSyntax, "2", ""},
	{strings.Repeat("(", 100) + "m", CodeSyntax, "(", ""},
	{strings.Repeat("m.", 1000) + "m", CodeSyntax, strings.Repeat("m.", 1000) + "m", ""},
}

func TestRefusals(t *testing.T) {
	for _, c := range refusals {
		s := declaring(t)
		u, err := s.Parse(c.text)
		if err == nil {
			t.Errorf("%.40q is read as %v", c.text, u)
			continue
		}
		if err.Code != c.code || c.text[err.At:err.At+err.Len] != c.blamed {
			t.Errorf("%.40q: %s at %q, want %s at %q", c.text, err.Code, c.text[err.At:err.At+err.Len], c.code, c.blamed)
		}
		if got := strings.Join(err.Repairs, " "); got != c.repairs {
			t.Errorf("%.40q: repairs %q, want %q", c.text, got, c.repairs)
		}
		if err.Message == "" || err.Error() != err.Message {
			t.Errorf("%.40q: message %q", c.text, err.Message)
		}
		for _, repair := range err.Repairs {
			parse(t, s, repair)
		}
		if _, again := s.Parse(c.text); again == nil || again.Message != err.Message {
			t.Errorf("%.40q: read a second time %v", c.text, again)
		}
	}
}

func TestRefusalWording(t *testing.T) {
	s := NewSystem()
	for text, want := range map[string][2]string{
		"psi": {
			"psi does not say which pressure: gauge (psig), absolute (psia) or a drop (psid)",
			"write psig, psia or psid, or once at the top of the sheet: unit psi = 1 psig",
		},
		"HP":             {`"HP" is not a unit`, "did you mean hp?"},
		"m1234567890123": {"the power 123456789012… is beyond what a unit can have", "powers go up to 20"},
		"shim":           {`"shim" is not a unit`, "a unit of your own is declared at the top of the sheet: unit shim"},
		"J/(kg.degC)":    {"degC is a point on a scale and cannot be part of a compound", "in a compound a degree is K: J/(kg.K)"},
	} {
		_, err := s.Parse(text)
		if err == nil || err.Message != want[0] || err.Help != want[1] {
			t.Errorf("%s: %+v, want %q", text, err, want)
		}
	}
}

func TestParseIn(t *testing.T) {
	s := declaring(t)
	names := func(name string) (Unit, bool) {
		text, ok := map[string]string{
			"price": "EUR", "life": "pass", "rate": "EUR/pass", "use": "km/plug",
			"boost": "psig", "air": "degC", "ratio": "1", "m": "s", "size": "mm", "size2": "kg",
		}[name]
		if name == "bare" {
			return Unit{Scale: 1}, true
		}
		if !ok {
			return Unit{}, false
		}
		return parse(t, s, text), true
	}
	for text, want := range map[string]string{
		"price":       "EUR",
		"price/life":  "EUR/pass",
		"rate/use":    "(EUR/pass)/(km/plug)",
		"price/h":     "EUR/h",
		"km/h":        "km/h",
		"m":           "s",
		"size":        "mm",
		"size2":       "kg",
		"size3":       "mm3",
		"boost":       "psig",
		"boost/ratio": "psig",
		"boost/bare":  "psig",
		"price.boost": "EUR.psig",
		"boost.m/m":   "psig.s/s",
		"rate2":       "EUR2/pass2",
		"passes":      "passes",
	} {
		u, err := s.ParseIn(text, names)
		if err != nil {
			t.Errorf("%s: %s", text, err.Message)
			continue
		}
		if u.Symbol != want {
			t.Errorf("%s is %s, want %s", text, u.Symbol, want)
		}
		if again := parse(t, s, u.Symbol); again != u {
			t.Errorf("%s: %s reads as %v, want %v", text, u.Symbol, again, u)
		}
	}
	for text, code := range map[string]string{"air/life": CodeKind, "cost/life": CodeUnknown, "price/": CodeSyntax} {
		if _, err := s.ParseIn(text, names); err == nil || err.Code != code {
			t.Errorf("%s: %v, want %s", text, err, code)
		}
	}
}

func TestDeclare(t *testing.T) {
	s := NewSystem()
	if _, err := s.Parse("psi"); err == nil {
		t.Fatal("psi is read before it is settled")
	}
	times := func(v float64, text string) func() *Unit {
		return func() *Unit {
			u, ok := parse(t, s, text).Times(v)
			if !ok {
				t.Errorf("%v %s means nothing", v, text)
			}
			return &u
		}
	}
	sized := func(scale float64) func() *Unit {
		return func() *Unit { return &Unit{Scale: scale} }
	}
	own := func() *Unit { return nil }
	for _, c := range []struct {
		name  string
		value func() *Unit
		code  string
	}{
		{"psi", times(1, "psig"), ""},
		{"psi", times(1, "psig"), ""},
		{"psi", times(1, "psia"), CodeTaken},
		{"furlong", times(220, "yd"), ""},
		{"furlong", times(220, "yd"), ""},
		{"furlong", times(221, "yd"), CodeTaken},
		{"furlong", own, CodeTaken},
		{"inch", times(1, "in"), ""},
		{"C", times(1, "degC"), ""},
		{"plug", own, ""},
		{"plug", own, ""},
		{"plugs", times(1, "plug"), ""},
		{"plugs", own, CodeTaken},
		{"plug", times(1, "m"), CodeTaken},
		{"pass", own, ""},
		{"pass", times(1, "m"), CodeTaken},
		{"kg", own, CodeTaken},
		{"passes", times(1, "m"), CodeTaken},
		{"EUR", times(1.1, "USD"), CodeTaken},
		{"m2", own, CodeSyntax},
		{"stage2", own, CodeSyntax},
		{"2stage", own, CodeSyntax},
		{"", own, CodeSyntax},
		{"a/b", own, CodeSyntax},
		{"µ", own, CodeSyntax},
		{strings.Repeat("x", 101), own, CodeSyntax},
		{"nil_unit", sized(0), CodeSyntax},
		{"back", sized(-1), CodeSyntax},
		{"far", sized(math.Inf(1)), CodeSyntax},
		{"nan", sized(math.NaN()), CodeSyntax},
	} {
		err := s.Declare(c.name, c.value())
		if (err == nil) != (c.code == "") || err != nil && err.Code != c.code {
			t.Errorf("unit %.20q: %+v, want %q", c.name, err, c.code)
		}
	}
	if u := parse(t, s, "psi"); u.Measure.Kind != Relative || u.Symbol != "psi" {
		t.Errorf("psi is %v", u)
	}
	if got := parse(t, s, "furlong").SI(1); math.Abs(got-201.168) > 1e-12 {
		t.Errorf("a furlong is %v m", got)
	}
	if got := parse(t, s, "C").SI(25); got != 298.15 {
		t.Errorf("25 C is %v K", got)
	}
	if a, b := parse(t, s, "plugs"), parse(t, s, "plug"); a.Measure != b.Measure {
		t.Errorf("plugs is %v, plug %v", a.Measure, b.Measure)
	}
}

func TestTimes(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct {
		v    float64
		text string
		ok   bool
	}{
		{1, "degC", true},
		{2, "degC", false},
		{2, "deltaC", true},
		{0, "m", false},
		{-1, "m", false},
		{math.Inf(1), "m", false},
		{math.NaN(), "m", false},
		{1e300, "m", false},
	} {
		if _, ok := parse(t, s, c.text).Times(c.v); ok != c.ok {
			t.Errorf("%v %s: %v, want %v", c.v, c.text, ok, c.ok)
		}
	}
}

func TestSlots(t *testing.T) {
	s := NewSystem()
	names := []string{"pass", "EUR", "event", "USD", "plug", "tyre", "chain", "CHF"}
	if len(names) != Slots {
		t.Fatal("the test names another number of dimensions")
	}
	for i, name := range names {
		if name[0] >= 'a' && name != "pass" && name != "event" {
			if err := s.Declare(name, nil); err != nil {
				t.Fatal(err)
			}
		}
		u := parse(t, s, name)
		if u.Measure.Dim[Slot0+i] != (Exponent{Num: 1}) {
			t.Errorf("%s has the dimension %v", name, u.Measure.Dim)
		}
	}
	_, err := s.Parse("GBP/pass")
	if err == nil || err.Code != CodeSlots || !strings.Contains(err.Message, strings.Join(names, ", ")) {
		t.Errorf("a ninth: %+v", err)
	}
	if err := s.Declare("shim", nil); err == nil || err.Code != CodeSlots {
		t.Errorf("a ninth declared: %+v", err)
	}
	parse(t, s, "EUR/pass")
}

// TestSlotsOfErrors checks that a text which is not a unit adds no dimension.
func TestSlotsOfErrors(t *testing.T) {
	s := NewSystem()
	for _, text := range []string{"EUR/foo", "eur", "USD/GBP/", "$"} {
		if _, err := s.Parse(text); err == nil {
			t.Errorf("%s is read", text)
		}
	}
	if len(s.slots) != 0 || len(s.own) != 0 {
		t.Errorf("taken up: %v", s.slots)
	}
	if u := parse(t, s, "pass"); u.Measure.Dim[Slot0].Num != 1 {
		t.Errorf("pass has the dimension %v", u.Measure.Dim)
	}
}

// TestCacheIsBounded checks that a System does not grow with the number of
// different texts it is asked.
func TestCacheIsBounded(t *testing.T) {
	s := NewSystem()
	for i := range maxCached + 10 {
		text := catalogue[i%10].Symbol + strings.Repeat(".1", i/10)
		parse(t, s, text)
		_, _ = s.Parse("!" + text)
	}
	if len(s.parsed) != maxCached || len(s.failed) != maxCached {
		t.Errorf("%d texts and %d errors are kept", len(s.parsed), len(s.failed))
	}
}
