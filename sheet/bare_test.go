package sheet_test

import (
	"math"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// bareHead is what the formulas below read; the figures are invented.
const bareHead = `duty  : 95 %
mix   : 20 vol%
lead  : 30 deg
moist : 90 gr/lb
ratio : 0.5
front : 17 teeth
chain : 110 links
speed : 9000 rpm
unit pair = 2
plugs : 3 pair
function retard(spark: deg, by: deg) as deg
  = spark - by
function taken(whole: 1, share: %) as 1
  = whole * share
function likewise(a, b: a)
  = a + b
table t
  ang : 10, 20, 40 deg
  sh  : 10, 20, 40 %
  out : 1, 2, 3
`

// TestBareNumber gives a number without a unit to what is read in percent or
// degrees: each is one error with two repairs, the one that keeps the value
// first.
func TestBareNumber(t *testing.T) {
	for _, c := range []struct {
		formula, keeps, changes string
		kept, changed           float64 // the value of the cell then, in SI
	}{
		{"x = if duty <= 85 then 1 else 0", "plain(duty) <= 85", "duty <= 85 %", 1, 0},
		{"x = if 85 >= duty then 1 else 0", "85 >= plain(duty)", "85 % >= duty", 1, 0},
		{"x = if duty = 0.95 then 1 else 0", "duty = 95 %", "duty = 0.95 %", 1, 0},
		{"x = if 0 < duty < 85 then 1 else 0", "0 < plain(duty) < 85", "0 < duty < 85 %", 1, 0},
		{"x = if lead <= 30 then 1 else 0", "lead <= 30 turn", "lead <= 30 deg", 1, 1},
		{"x = lead + 5", "lead + 5 turn", "lead + 5 deg", 5 + 30./360, 35. / 360},
		{"x = lead - 0.5", "lead - 0.5 turn", "lead - 0.5 deg", 30./360 - 0.5, 29.5 / 360},
		{"x = 1 - lead", "1 turn - lead", "1 deg - lead", 1 - 30./360, -29. / 360},
		{"x = mix + 10", "mix + 1000 vol%", "mix + 10 vol%", 10.2, 0.3},
		{"x = duty + 1", "duty + 100 %", "duty + 1 %", 1.95, 0.96},
		{"x = moist + 0.01", "moist + 70 gr/lb", "moist + 0.01 gr/lb", 90./7000 + 0.01, 90.01 / 7000},
		{"x = plugs + 1", "plugs + 0.5 pair", "plugs + 1 pair", 7, 8},
		{"x = max(lead, 50)", "max(lead, 50 turn)", "max(lead, 50 deg)", 50, 50. / 360},
		{"x = min(duty, ratio, 0.4)", "min(duty, ratio, 40 %)", "min(duty, ratio, 0.4 %)", 0.4, 0.004},
		{"x = if ratio < 1 then 2 else duty", "then 2 else plain(duty)", "then 2 % else duty", 2, 0.02},
		{"x = retard(30 deg, 2)", "retard(30 deg, 2 turn)", "retard(30 deg, 2 deg)", 30./360 - 2, 28. / 360},
		{"x = taken(3, 0.7)", "taken(3, 70 %)", "taken(3, 0.7 %)", 2.1, 0.021},
		{"x = likewise(duty, 0.05)", "likewise(duty, 5 %)", "likewise(duty, 0.05 %)", 1, 0.9505},
		{"x = lookup_clamped(0.05, t.ang, t.out)", "lookup_clamped(0.05 turn, t.ang", "lookup_clamped(0.05 deg, t.ang", 1.8, 1},
		{"x = last(t.ang) + 1", "last(t.ang) + 1 turn", "last(t.ang) + 1 deg", 1 + 40./360, 41. / 360},
		{"x = t.sh[2] - 0.1", "t.sh[2] - 10 %", "t.sh[2] - 0.1 %", 0.1, 0.199},
		{"x = duty + 5 % - 0.5", "duty + 5 % - 50 %", "duty + 5 % - 0.5 %", 0.5, 0.995},
		{"x = -duty + 0.5", "-duty + 50 %", "-duty + 0.5 %", -0.45, -0.945},
		{"x = abs(duty) + 0.5", "abs(duty) + 50 %", "abs(duty) + 0.5 %", 1.45, 0.955},
		{"x = duty + 2 * 0.2", "duty + (2 * 0.2) * 100 %", "duty + (2 * 0.2) * 1 %", 1.35, 0.954},
		{"x = duty + (0.2 + 0.1)", "duty + (0.2 + 0.1) * 100 %", "duty + (0.2 + 0.1) * 1 %", 1.25, 0.953},
		{"x = 2 * lead + 1", "2 * lead + 1 turn", "2 * lead + 1 deg", 60./360 + 1, 61. / 360},
		{"x = mod(lead, 0.05)", "mod(lead, 0.05 turn)", "mod(lead, 0.05 deg)", 30./360 - 0.05, 0},
		{"x = round(duty)", "round(plain(duty))", "round(duty / 1 %)", 1, 95},
		{"x = slip(101 mph, 100 mph) + 0.01", "100 mph) + 1 %", "100 mph) + 0.01 %", 1./101 + 0.01, 1./101 + 0.0001},
	} {
		list := bareOf(t, c.formula)
		if len(list) != 1 {
			t.Errorf("%s: %d errors: %v", c.formula, len(list), list)
			continue
		}
		d := list[0]
		if len(d.Repairs) != 2 || d.Repairs[0].Changes || !d.Repairs[1].Changes {
			t.Errorf("%s: repairs %v", c.formula, d.Repairs)
			continue
		}
		for i, want := range []struct {
			text string
			v    float64
		}{{c.keeps, c.kept}, {c.changes, c.changed}} {
			text := diag.Apply(bareHead+c.formula+"\n", d.Repairs[i].Edits)
			if !strings.Contains(text, want.text) {
				t.Errorf("%s: repair %d gives %q, not %q", c.formula, i+1, text[len(bareHead):], want.text)
				continue
			}
			if v := valueOf(t, text, "x"); math.Abs(v-want.v) > 1e-12*math.Max(1, math.Abs(want.v)) {
				t.Errorf("%s: %s is %v, not %v", c.formula, strings.TrimSpace(text[len(bareHead):]), v, want.v)
			}
		}
	}
}

// TestBareNumberStays lists what a number without a unit may meet.
func TestBareNumberStays(t *testing.T) {
	for _, line := range []string{
		"x = 1 - duty", "x = 1 + duty", "x = duty - 1", "x = 1 - mix", "x = 1 - moist",
		"x = duty * 2", "x = 2 / duty", "x = lead * 3", "x = lead / 2", "x = duty ^ 2",
		"x = if duty > 0 then 1 else 0", "x = max(lead, 0)", "x = duty + 0", "x = retard(30 deg, 0)",
		"x = plain(duty) + 5", "x = if plain(lead) > 3 then 1 else 2", "x = ratio + 5", "x = taken(3, ratio)",
		"x = front + 2", "x = chain - 2", "limit front <= 19", "x = speed * 1 min + 3", "x = if speed * 2 s > 30 then 1 else 0",
		"x = 2 * duty + 0.4", "x = floor(front / 2)", "x = asin(0.5) + 0.1", "limit t.out <= 3", "x = taken(0.7, duty)",
	} {
		for _, d := range bareOf(t, line) {
			t.Errorf("%s: %s", line, d.Message)
		}
	}
}

// TestBareNumberElsewhere applies the rule to limits, tables and functions.
func TestBareNumberElsewhere(t *testing.T) {
	for _, c := range []struct{ text, first, second string }{
		{"limit duty <= 85\n", "limit plain(duty) <= 85", "limit duty <= 85 %"},
		{"advise 30 >= lead\n", "advise 30 turn >= lead", "advise 30 deg >= lead"},
		{"limit t.sh <= 85\n", "limit t.sh <= 8500 %", "limit t.sh <= 85 %"},
		{"limit t.ang <= 45\n", "limit t.ang <= 45 turn", "limit t.ang <= 45 deg"},
		{"table u rows 3\n  a = prev(a) + 1  start 3 deg\n", "prev(a) + 1 turn", "prev(a) + 1 deg"},
		{"table u rows 3\n  a = prev(a) + 1 deg  start 3\n", "start 3 turn", "start 3 deg"},
		{"table u rows 3\n  a = prev(a) + 2 %  start 0.5\n", "start 50 %", "start 0.5 %"},
		{"table u rows 3  until a > 0.8\n  a = prev(a) + duty  start 1 %\n", "until a > 80 %", "until a > 0.8 %"},
		{"function f(share: %) as %\n  valid share <= 1 \"no more\"\n  = share\n", "valid share <= 100 %", "valid share <= 1 %"},
		{"function f(spark: deg) as deg\n  = max(spark, 5)\n", "max(spark, 5 turn)", "max(spark, 5 deg)"},
		{"function f(spark: deg, by: spark) as deg\n  = spark + min(by, 5)\n", "min(by, 5 turn)", "min(by, 5 deg)"},
	} {
		list := bareOf(t, c.text)
		if len(list) != 1 || len(list[0].Repairs) != 2 {
			t.Errorf("%s: %v", c.text, list)
			continue
		}
		for i, want := range []string{c.first, c.second} {
			if text := diag.Apply(bareHead+c.text, list[0].Repairs[i].Edits); !strings.Contains(text, want) {
				t.Errorf("%s: repair %d gives %q, not %q", c.text, i+1, text[len(bareHead):], want)
			} else if _, left := sheet.FromText("bare.leaf", text); left.Errors() {
				t.Errorf("%s: %v", want, left)
			}
		}
	}
}

// bareOf returns the errors on bare numbers in line; another error fails the
// test.
func bareOf(t *testing.T, line string) (found diag.List) {
	t.Helper()
	_, list := sheet.FromText("bare.leaf", bareHead+line+"\n")
	for _, d := range list {
		if d.Severity != diag.Error {
			continue
		}
		if d.Code != diag.BareNumber {
			t.Errorf("%s: %s", line, d.Message)
		}
		found = append(found, d)
	}
	return found
}

// valueOf computes text and returns the cell called name.
func valueOf(t *testing.T, text, name string) float64 {
	t.Helper()
	s, list := sheet.FromText("bare.leaf", text)
	if s == nil {
		t.Errorf("%s: %v", text[len(bareHead):], list)
		return math.NaN()
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	c, _ := s.Model.Resolve(name)
	return r.Cell(c).V
}
