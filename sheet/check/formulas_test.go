package check_test

import (
	"fmt"
	"runtime/debug"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/source"
	"gearleaf/sheet/unit"
)

// prelude gives the formulas below something to work with.
const prelude = `unit plug
point      : 100 kPa
gauge      : 21 psig
vapour     : 2 MPa
inside     : 20 degC
outside    : 50 degF
warmer     : 5 deltaC
kelvin     : 293 K
mass       : 340 kg
length     : 2 m
inches     : 17 in
time       : 3 s
torque     : 100 N.m
speed      : 9000 rpm
front      : 17 teeth
rear       : 41 teeth
chain      : 114 links
share      : 45 %
number     : 3
life       : 12 pass
price      : 100 USD
plugs      : 4 plug
fuel       : "methanol" choice "methanol", "gasoline"
wet        : yes
table log
  t        : 0, 1, 2 s
  air      : 20, 21, 22 degC
  boost    : 10, 11, 12 psig
  name     : "a", "b", "c"
  ok       : yes, no, yes
  slip     : 1, 2, 3 %
`

var kindNames = map[unit.Kind]string{unit.Plain: "", unit.Absolute: " absolute", unit.Relative: " relative"}

// typeText writes the type and the shown unit of a cell.
func typeText(m *check.Model, c *check.Cell) string {
	switch c.Type.Form {
	case check.Truth:
		return "truth"
	case check.Text:
		return "text"
	}
	text := m.Units.Compose(c.Type.Measure) + kindNames[c.Type.Measure.Kind]
	if c.Unit.Symbol != "" {
		text += " in " + c.Unit.Symbol
	}
	return strings.TrimSpace(text)
}

// TestFormulas checks the type and shown unit of each formula, or the code of
// its error.
func TestFormulas(t *testing.T) {
	for _, c := range []struct{ formula, want string }{
		// Points and differences, every pair.
		{"point + point", "kind-sum"},
		{"point + gauge", "kg/(m.s2) absolute in kPa"},
		{"gauge + point", "kg/(m.s2) absolute in kPa"},
		{"gauge + gauge", "kg/(m.s2) relative in psig"},
		{"point + vapour", "kg/(m.s2) absolute in kPa"},
		{"gauge + vapour", "kg/(m.s2) in MPa"},
		{"point - point", "kg/(m.s2) relative in kPad"},
		{"gauge - point", "kind-difference"},
		{"point - gauge", "kg/(m.s2) absolute in kPa"},
		{"gauge - gauge", "kg/(m.s2) relative in psig"},
		{"vapour - vapour", "kg/(m.s2) in MPa"},
		{"point / point", "1"},
		{"gauge / gauge", "1"},
		{"gauge / point", "kind-quotient"},
		{"point / gauge", "kind-quotient"},
		{"vapour / point", "1"},
		{"point * 2", "kg/(m.s2) absolute in kPa"},
		{"2 * gauge", "kg/(m.s2) relative in psig"},
		{"gauge / 2", "kg/(m.s2) relative in psig"},
		{"point * point", "kg2/(m2.s4) in kg2/(m2.s4)"},
		{"-point", "kind-negated"},
		{"-gauge", "kg/(m.s2) relative in psig"},
		{"max(point, gauge)", "kind-mismatch"},
		{"max(point, vapour)", "kg/(m.s2) absolute in kPa"},
		{"min(vapour, gauge)", "kg/(m.s2) relative in psig"},
		{"point < gauge", "kind-mismatch"},
		{"vapour < gauge", "truth"},
		{"if wet then point else gauge", "kind-mismatch"},
		{"if wet then vapour else point", "kg/(m.s2) absolute in kPa"},
		{"plain(point) + plain(gauge)", "kg/(m.s2) in Pa"},
		{"abs(gauge)", "kg/(m.s2) relative in psig"},
		{"inside - outside", "K relative in deltaC"},
		{"inside + warmer", "K absolute in degC"},
		{"inside + outside", "kind-sum"},
		{"kelvin + warmer", "K in K"},
		{"kelvin / inside", "1"},
		{"warmer / inside", "kind-quotient"},
		{"outside + warmer", "K absolute in degF"},
		{"sum(log.air)", "kind-column-sum"},
		{"mean(log.air)", "K absolute in degC"},
		{"sum(log.boost)", "kg/(m.s2) relative in psig"},
		{"lookup(gauge, log.boost, log.air)", "K absolute in degC"},
		{"lookup(point, log.boost, log.air)", "kind-mismatch"},
		{"lookup(vapour, log.boost, log.t)", "s in s"},
		{"point as psig", "kind-mismatch"},
		{"gauge as kPa", "kind-mismatch"},
		{"vapour as kPa", "kg/(m.s2) absolute in kPa"},
		{"point as MPa", "kg/(m.s2) absolute in MPa"},
		{"length as kg", "dimension-mismatch"},
		{"wet as kg", "clause-form"},

		// Dimensions, counts, powers.
		{"mass + length", "dimension-mismatch"},
		{"mass < 3", "dimension-mismatch"},
		{"length + inches", "m in m"},
		{"inches + length", "m in in"},
		{"number + share", "bare-given"},
		{"share <= number", "bare-given"},
		{"share + plain(number)", "1"},
		{"plain(share) + number", "1"},
		{"number * share", "1"},
		{"share", "1 in %"},
		{"share * 2", "1"},
		{"last(log.slip)", "1 in %"},
		{"log.slip[2]", "1 in %"},
		{"lookup(1 s, log.t, log.slip)", "1 in %"},
		{"length / time", "m/s in m/s"},
		{"length / number", "m in m"},
		{"number * inches", "m in in"},
		{"length * length", "m2 in m2"},
		{"rear / front", "1"},
		{"rear + chain", "count-mismatch"},
		{"rear + number", "teeth in teeth"},
		{"rear < chain", "count-mismatch"},
		{"speed * rear / front", "turn/s in rpm"},
		{"speed / 1 rpm", "1"},
		{"price / life", "USD/pass in USD/pass"},
		{"price + life", "dimension-mismatch"},
		{"plugs * 1.5", "plug in plug"},
		{"length ^ 2", "m2 in m2"},
		{"length ^ 0.5", "m(1/2) in m(1/2)"},
		{"mass ^ (1/3)", "kg(1/3) in kg(1/3)"},
		{"length ^ -1", "1/m in 1/m"},
		{"length ^ 1.5", "m(3/2) in m(3/2)"},
		{"length ^ number", "power-varies"},
		{"length ^ 0.3333", "power-fraction"},
		{"number ^ number", "1"},
		{"number ^ length", "dimension-mismatch"},
		{"rear ^ number", "1"},
		{"(length ^ 15) ^ 15", "exponent-bound"},
		{"sqrt(length * length)", "m in m"},
		{"cbrt(mass)", "kg(1/3) in kg(1/3)"},
		{"exp(length)", "dimension-mismatch"},
		{"exp(share)", "1"},
		{"floor(rear / 2)", "teeth in teeth"},
		{"gcd(rear, chain)", "1"},
		{"floor(length)", "dimension-mismatch"},
		{"sin(30 deg)", "1"},
		{"sin(180 deg / rear)", "1"},
		{"sin(30)", "angle-needed"},
		{"sin(mass)", "angle-needed"},
		{"atan2(length, inches)", "turn in turn"},
		{"atan2(length, mass)", "dimension-mismatch"},
		{"asin(0.5) as deg", "turn in deg"},
		{"sign(gauge)", "1"},
		{"hypot(length, inches)", "m in m"},
		{"pi * length", "m in m"},
		{"pi", "1"},

		// Forms.
		{"wet + 1", "form-mismatch"},
		{"if number then 1 else 2", "form-mismatch"},
		{"if wet then 1 else \"x\"", "form-mismatch"},
		{"if wet then fuel else \"none\"", "text"},
		{"wet and number > 2", "truth"},
		{"wet and number", "form-mismatch"},
		{"not wet or 1 < 2 < 3", "truth"},
		{"fuel = \"methanol\"", "truth"},
		{"fuel < \"methanol\"", "form-mismatch"},
		{"wet <> yes", "truth"},
		{"fuel = wet", "form-mismatch"},
		{"sqrt(fuel)", "form-mismatch"},

		// Columns from outside.
		{"last(log.name)", "text"},
		{"first(log.ok)", "truth"},
		{"mean(log.name)", "form-mismatch"},
		{"count(log.name)", "1"},
		{"log.t[2]", "s in s"},
		{"log.t[length]", "entry-row"},
		{"log.t + 1 s", "column-whole"},
		{"max(log.t, 3 s)", "column-whole"},
		{"pick(\"b\", log.name, log.t)", "s in s"},
		{"pick(3 s, log.t, log.name)", "text"},
		{"lookup(1 s, log.t, log.name)", "form-mismatch"},
		{"lookup(\"b\", log.name, log.t)", "form-mismatch"},
		{"mean(length)", "aggregate-column"},
		{"lookup(3, 4, 5)", "aggregate-column aggregate-column"},

		// Functions of the library and their arguments.
		{"road_speed(speed, 6, length)", "m/s in mph"},
		{"road_speed(speed, 6)", "call-count"},
		{"road_speed(length, 6, length)", "dimension-mismatch"},
		{"pressure_ratio(point, gauge)", "argument-kind"},
		{"pressure_ratio(point + gauge, point)", "1"},
		{"pressure_ratio(vapour, point)", "1"},
		{"fuel_afr(fuel)", "1"},
		{"fuel_afr(3)", "form-mismatch"},
		{"cost_per_pass(price, life)", "USD/pass in USD/pass"},
		{"remaining_passes(3 mm, 2 mm, 1 mm, life)", "pass in pass"},
		{"remaining_passes(3 mm, 2 kg, 1 mm, life)", "dimension-mismatch"},

		// One root error does not cascade.
		{"(mass + length) * 2 + time", "dimension-mismatch"},
		{"road_speed(mass + length, 6, nothing) + 1 kg", "dimension-mismatch name-unknown"},
		{"torque * speed", "turns-left"},
		{"torque * speed * 2 * pi", "kg.m2.turn/s3 in kW.turn"},
		{"shaft_power(torque, speed)", "kg.m2/s3 in hp"},
	} {
		m, list := sheet(t, prelude+"x = "+c.formula+"\n")
		var found []string
		for _, d := range list {
			found = append(found, string(d.Code))
		}
		got := strings.Join(found, " ")
		if got == "" {
			x, _ := m.Resolve("x")
			got = typeText(m, x)
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.formula, got, c.want)
		}
	}
}

// TestChain checks that a long chain is walked without recursion, in the worst
// order: with so little stack, a call a cell would end the test.
func TestChain(t *testing.T) {
	defer debug.SetMaxStack(debug.SetMaxStack(8 << 20))
	n := 200_000
	var b strings.Builder
	for i := n; i > 0; i-- {
		fmt.Fprintf(&b, "c%d = c%d + 1 mm\n", i, i-1)
	}
	b.WriteString("c0 : 1 in\n")
	m, list := sheet(t, b.String())
	if list.Errors() {
		t.Fatal(list[0].Message)
	}
	if c, _ := m.Resolve(fmt.Sprint("c", n)); typeText(m, c) != "m in in" {
		t.Errorf("the end of the chain is %s", typeText(m, c))
	}
}

// TestCycle checks that a cycle is left to package graph, without errors that
// follow from it.
func TestCycle(t *testing.T) {
	m, list := sheet(t, "a = b + 1 kg\nb = shaft_power(a, 3 rpm)\nc = b + 1 s\n")
	if len(list) > 0 {
		t.Error(codes(list))
	}
	for _, c := range m.Cells {
		if c.Formula == 0 || c.Type != (check.Type{}) {
			t.Errorf("%s: formula %d, type %v", c.Name, c.Formula, c.Type)
		}
	}
}

// TestCycleThroughCall checks that a cycle through a call's arguments is
// found.
func TestCycleThroughCall(t *testing.T) {
	m, list := sheet(t, "a = road_speed(9000 rpm, b, 2 m)\nb = a / 1 m/s\n")
	if len(list) > 0 {
		t.Fatal(codes(list))
	}
	if _, cycles := graph.Build(m); len(cycles) != 1 {
		t.Errorf("%d cycles", len(cycles))
	}
}

// TestManyErrors checks that a large sheet full of mistakes gets reports of
// some of them, soon: searching for near names among all others, for each,
// would take too long.
func TestManyErrors(t *testing.T) {
	var b strings.Builder
	for i := range 20_000 {
		fmt.Fprintf(&b, "cell_%d = sell_%d + 1\n", i, i)
	}
	_, list := sheet(t, b.String())
	if len(list) != source.MaxErrors {
		t.Errorf("%d errors", len(list))
	}
	if !strings.Contains(list[0].Help, "cell_0") {
		t.Errorf("help %q", list[0].Help)
	}
}
