package unit

import "testing"

// TestKindsTable is the whole table of kinds that are added, subtracted and
// meet: for each pair the kind, or the rule that is broken.
func TestKindsTable(t *testing.T) {
	const p, a, r, v, m = Plain, Absolute, Relative, ByVolume, ByMass
	for _, c := range []struct {
		left, right Kind
		add         Kind
		addProblem  KindProblem
		sub         Kind
		subProblem  KindProblem
		meet        Kind
		meetProblem KindProblem
	}{
		{a, a, a, AbsolutePlusAbsolute, r, "", a, ""},
		{a, r, a, "", a, "", a, AbsoluteMeetsRelative},
		{a, p, a, "", a, "", a, ""},
		{r, a, a, "", r, RelativeMinusAbsolute, r, AbsoluteMeetsRelative},
		{r, r, r, "", r, "", r, ""},
		{r, p, p, "", r, "", r, ""},
		{p, a, a, "", r, "", a, ""},
		{p, r, p, "", p, "", r, ""},
		{p, p, p, "", p, "", p, ""},
		{v, v, v, "", v, "", v, ""},
		{v, p, v, "", v, "", v, ""},
		{p, v, v, "", v, "", v, ""},
		{m, m, m, "", m, "", m, ""},
		{p, m, m, "", m, "", m, ""},
		{v, m, v, SharesMeet, v, SharesMeet, v, SharesMeet},
		{m, v, m, SharesMeet, m, SharesMeet, m, SharesMeet},
	} {
		if k, problem := AddKind(c.left, c.right); k != c.add || problem != c.addProblem {
			t.Errorf("%d + %d is %d, %q", c.left, c.right, k, problem)
		}
		if k, problem := SubKind(c.left, c.right); k != c.sub || problem != c.subProblem {
			t.Errorf("%d - %d is %d, %q", c.left, c.right, k, problem)
		}
		if k, problem := MeetKind(c.left, c.right); k != c.meet || problem != c.meetProblem {
			t.Errorf("%d meets %d: %d, %q", c.left, c.right, k, problem)
		}
	}
}

func TestKindOfOne(t *testing.T) {
	const p, a, r, v = Plain, Absolute, Relative, ByVolume
	for _, c := range []struct {
		kind     Kind
		neg, sum KindProblem
	}{{p, "", ""}, {a, NegatedAbsolute, SumOfAbsolute}, {r, "", ""}, {v, "", ""}} {
		if k, problem := NegKind(c.kind); k != c.kind || problem != c.neg {
			t.Errorf("-%d is %d, %q", c.kind, k, problem)
		}
		if k, problem := SumKind(c.kind); k != c.kind || problem != c.sum {
			t.Errorf("sum of %d is %d, %q", c.kind, k, problem)
		}
	}
}

// TestKindsOfProducts is the table of × and ÷, by units.
func TestKindsOfProducts(t *testing.T) {
	const p, a, r = Plain, Absolute, Relative
	s := NewSystem()
	for _, c := range []struct {
		left, right string
		mul, div    Kind
		problem     KindProblem
	}{
		{"1", "kPa", a, p, ""},
		{"1", "kPad", r, p, ""},
		{"%", "degC", a, p, ""},
		{"teeth", "kPad", r, p, ""},
		{"kPa", "1", a, a, ""},
		{"kPad", "%", r, r, ""},
		{"degC", "1", a, a, ""},
		{"deltaC", "1", r, r, ""},
		{"Pa", "1", p, p, ""},
		{"kPad", "links", r, r, ""},
		{"kPa", "kPa", p, p, ""},
		{"kPad", "kPad", p, p, ""},
		{"kPa", "kPad", p, p, AbsoluteOverRelative},
		{"kPad", "kPa", p, p, RelativeOverAbsolute},
		{"deltaC", "degC", p, p, RelativeOverAbsolute},
		{"degC", "degF", p, p, ""},
		{"kPad", "Pa", p, p, ""},
		{"Pa", "kPa", p, p, ""},
		{"kPa", "Pa", p, p, ""},
		{"deltaC", "kPa", p, p, ""},
		{"kPa", "m3", p, p, ""},
		{"m3", "kPad", p, p, ""},
		{"K", "1", p, p, ""},
		{"N", "m2", p, p, ""},
		{"1", "1", p, p, ""},
		{"vol%", "1", p, p, ""},
		{"1", "mass%", p, p, ""},
		{"vol%", "vol%", p, p, ""},
		{"vol%", "mass%", p, p, ""},
		{"vol%", "kPa", a, p, ""},
		{"degC", "mass%", a, a, ""},
		{"vol%", "kg/m3", p, p, ""},
		{"L", "vol%", p, p, ""},
	} {
		left, right := parse(t, s, c.left).Measure, parse(t, s, c.right).Measure
		product, _ := left.Mul(right)
		if k, problem := MulKind(left, right); k != c.mul || problem != "" || product.Kind != c.mul {
			t.Errorf("%s × %s is %d, %q", c.left, c.right, k, problem)
		}
		quotient, _ := left.Div(right)
		if k, problem := DivKind(left, right); k != c.div || problem != c.problem || quotient.Kind != c.div {
			t.Errorf("%s ÷ %s is %d, %q", c.left, c.right, k, problem)
		}
	}
}

// TestKindsOnlyWhereTheyMean checks that no product leaves a kind on another
// dimension than pressure or temperature.
func TestKindsOnlyWhereTheyMean(t *testing.T) {
	s := NewSystem()
	units := []string{"1", "vol%", "mass%", "teeth", "m", "kPa", "kPad", "Pa", "degC", "deltaC", "K"}
	for _, x := range units {
		for _, y := range units {
			a, b := parse(t, s, x).Measure, parse(t, s, y).Measure
			product, _ := a.Mul(b)
			quotient, _ := a.Div(b)
			for _, m := range []Measure{product, quotient} {
				if m.Kind != Plain && !m.HasKinds() {
					t.Errorf("%s and %s give kind %d of %s", x, y, m.Kind, s.Compose(m))
				}
			}
		}
	}
}

func TestMeets(t *testing.T) {
	s := NewSystem()
	for _, c := range []struct {
		left, right string
		want        Problem
		join        string // the unit preferred for what comes of both
	}{
		{"mm", "in", "", "m"},
		{"m", "s", DimensionsDiffer, ""},
		{"m", "1", DimensionsDiffer, ""},
		{"EUR", "USD", DimensionsDiffer, ""},
		{"pass", "event", DimensionsDiffer, ""},
		{"%", "1", "", ""},
		{"teeth", "1", "", "teeth"},
		{"1", "teeth", "", "teeth"},
		{"teeth", "links", CountsDiffer, ""},
		{"rpm", "Hz", "", "rpm"},
		{"rpm", "teeth/s", CountsDiffer, ""},
		{"turn", "turn2", CountsDiffer, ""},
		{"turn.teeth", "turn", "", "turn.teeth"},
		{"turn.teeth", "turn.links", CountsDiffer, ""},
		{"turn.m/s", "km/h", "", "m.turn/s"},
		{"kPa", "psig", KindsDiffer, ""},
		{"kPa", "Pa", "", "kPa"},
		{"Pa", "psig", "", "kPad"},
		{"psia", "inHg", "", "kPa"},
		{"degC", "deltaF", KindsDiffer, ""},
		{"degC", "K", "", "degC"},
		{"degR", "deltaC", "", "deltaC"},
		{"vol%", "%", "", "vol%"},
		{"ppm", "mass%", "", "mass%"},
		{"vol%", "mass%", KindsDiffer, ""},
		{"vol%", "m", DimensionsDiffer, ""},
	} {
		left, right := parse(t, s, c.left).Measure, parse(t, s, c.right).Measure
		if got := Meets(left, right); got != c.want {
			t.Errorf("%s meets %s: %q, want %q", c.left, c.right, got, c.want)
		}
		if back := Meets(right, left); back != c.want {
			t.Errorf("%s meets %s: %q, want %q", c.right, c.left, back, c.want)
		}
		if c.want != "" {
			continue
		}
		if Join(left, right) != Join(right, left) {
			t.Errorf("%s with %s depends on their order", c.left, c.right)
		}
		if symbol := s.Preferred(Join(left, right)).Symbol; symbol != c.join {
			t.Errorf("%s with %s is in %q, want %q", c.left, c.right, symbol, c.join)
		}
	}
}
