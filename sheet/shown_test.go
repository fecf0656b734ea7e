package sheet_test

import (
	"strings"
	"testing"

	"gearleaf/sheet"
)

// computeText computes a worksheet that has no error.
func computeText(t *testing.T, text string) *sheet.Result {
	t.Helper()
	s, list := sheet.FromText("shown.leaf", text)
	if s == nil {
		t.Fatalf("%s: %v", text, list)
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestLimitSidesApart shows both sides of a limit with enough digits to
// distinguish them.
func TestLimitSidesApart(t *testing.T) {
	for _, c := range []struct{ text, numbers string }{
		{"v : 235.04 mph to 1\nlimit v <= 235 mph", "235.04 mph <= 235 mph"},
		{"v : 235 mph to 0.1\nlimit v <= 235 mph", "235.0 mph <= 235 mph"},
		{"v = 235.0000004 mph * 1\nlimit v <= 235 mph", "235.0000004 mph <= 235 mph"},
		{"a = 1.23456789 * 1\nb = 1.23456788 * 1\nlimit a < b", "1.23456789 < 1.23456788"},
		{"d = 85.00004 % * 1 as % to 0.1\nlimit d <= 85 %", "85.00004 % <= 85 %"},
		{"n = 11187 rpm * 1 as rpm to 10\nm = 11188 rpm * 1 as rpm to 10\nlimit 0 rpm <= n < m", "0 rpm <= 11187 rpm < 11188 rpm"},
		{"v = 100.00001 mph * 1\nlimit v <= 160.9344 km/h", "100.00001 mph <= 160.9344 km/h"},
		{"v = -3.0000001 m * 1\nlimit v >= -3 m", "(-3.0000001 m) >= -3 m"},
		{"x = 37.5 mm * 1 as mm to 1\nlimit x <= 37.5 mm", "37.5 mm <= 37.5 mm"},
		{"x = 37.5 mm * 1 as mm to 5\nlimit x <= 37.5 mm", "37.5 mm <= 37.5 mm"},
		{"x = 37 mm * 1 as mm to 5\nlimit x <= 37.5 mm", "37 mm <= 37.5 mm"},
		{"x = 32 mm * 1 as mm to 5\nlimit x <= 38 mm", "30 mm <= 38 mm"},
		{"x = 37.6 mm * 1 as mm to 1\nlimit x <= 37.5 mm", "37.6 mm <= 37.5 mm"},
		{"x = 37.6 mm * 1 as mm to 1\ny = x * 1 as mm to 5\nlimit x <= y", "38 mm <= 38 mm"},
		{"x = 37.6 mm * 1 as mm to 5\nlimit x + 1 mm <= 39 mm", "37.6 mm + 1 mm <= 39 mm"},
		{"x = 36.4 mm * 1 as mm to 5\nlimit min(x, 40 mm) - 1 mm >= 36 mm - 1 mm", "min(36.4 mm, 40 mm) - 1 mm >= 36 mm - 1 mm"},
		{"a = 37.6200001 mm * 1 as mm to 1\nx = 37.6200002 mm * 1 as mm to 1\nb = 38.4 mm * 1 as mm to 1\nlimit a <= x <= b", "37.6200001 mm <= 37.6200002 mm <= 38.4 mm"},
		{"table t\n  | x mm |\n  | 1 |\n  |  |\n  | 0.9 |\nlimit max(t.x) <= 0.82 mm", "1 mm <= 0.82 mm"},
		{"table t\n  | x mm |\n  | 1 |\n  |  |\n  | 0.9 |\nlimit 1 mm <= min(t.x)", "1 mm <= 0.9 mm"},
		{"table t\n  | x m |\n  | -3.0000001 |\n  |  |\n  | 0.9 |\nm : -3 m\nlimit min(t.x) >= m", "(-3.0000001 m) >= (-3 m)"},
		{"table t\n  | x |\n  | 1 |\n  |  |\n  | 3 |\nlimit max(t.x) - min(t.x) <= 1", "3 - 1 <= 1"},
		{"table t\n  | x mph |\n  | 80 |\n  |  |\n  | 191.5 |\nlimit sum(t.x) <= 200 mph", "271.5 mph <= 200 mph"},
		{"table t\n  | x mph |\n  | 80 |\n  |  |\n  | 191 |\n  | 121 |\nlimit 100 mph >= mean(t.x)", "100 mph >= 130.667 mph"},
		{"table t\n  | x mph |\n  | 80 |\n  |  |\n  | 191 |\nlimit count(t.x) >= 3", "2 >= 3"},
		{"table t\n  | x |\n  | 1 |\n  | 2.0000001 |\nlimit sum(t.x) <= 3", "3.0000001 <= 3"},
		{"table t\n  | x |\n  | -1 |\n  | -2 |\nlimit sum(t.x) + 1 >= 0", "(-3) + 1 >= 0"},
		{"table t\n  x : 1, 2.0000001, 3\n  y = x * 1\nlimit t.y <= 2", "2.0000001 <= 2"},
		{"a : 42 teeth\nb : 104 links\nadvise gcd(a, b) = 1", "gcd(42 teeth, 104 links) is not 1"},
		{"a : 42 teeth\nb : 103 links\nadvise gcd(a, b) = 1", "gcd(42 teeth, 103 links) = 1"},
		{"a : 42\nlimit 1 = (a + 1) * 2", "1 is not (42 + 1) * 2"},
		{"a : 1\nlimit a = 2 and a = 3", "1 = 2 and 1 = 3"},
	} {
		r := computeText(t, c.text+"\n")
		l := r.Sheet.Model.Limits[0]
		_, row := r.Limit(l)
		if got := r.LimitNumbers(l, row); got != c.numbers {
			t.Errorf("%s\nshows %s, want %s", c.text, got, c.numbers)
		}
	}
}

// TestShownNumbers shows values as they were typed, without noise and with all
// digits before the point.
func TestShownNumbers(t *testing.T) {
	for text, want := range map[string]string{
		"t1 : 20 degC\nt2 : 68 degF\nx = t1 - t2": "0 deltaC",
		"a : 1 in\nb : 25.4 mm\nx = a - b":        "0 in",
		"x : 2.123456789 mm":                      "2.123456789 mm",
		"x : 29.92 inHg":                          "29.92 inHg",
		"x : 1234567.891 m":                       "1234567.891 m",
		"x = 1234567.891 m * 1":                   "1234568 m",
		"x : 20.1 degC as degF":                   "68.18 degF",
		"x : 2085.4 mm to 1":                      "2085.4 mm",
		"x : 2085 mm to 0.1":                      "2085.0 mm",
		"x = 85.3 degC":                           "85.3 degC",
		"x = 0.1 + 0.2":                           "0.3",
		"a : 29.92 inHg\nx = a * 1":               "29.92 inHg",
		"a : 98.6 degF\nb : 37 degC\nx = if a = b then 1 else 0":                                          "1",
		"table t\n  c : 20, 37, -40 degC\n  f : 68, 98.6, -40 degF\n  d = c - f\nx = max(t.d) - min(t.d)": "0 deltaC",
	} {
		r := computeText(t, text+"\n")
		c, _ := r.Sheet.Model.Resolve("x")
		if got := r.Sheet.Text(&c.Quantity, r.Cell(c).V); got != want {
			t.Errorf("%s\nshows %s, want %s", text, got, want)
		}
	}
}

// TestDustIsNoChange changes givens that only move the rounding of a sum.
func TestDustIsNoChange(t *testing.T) {
	r := computeText(t, "a : 0.1 m\nb : 0.2 m\nc : 0.3 m\nrest = a + b - c\nhalf = 2 * a + b\n")
	s := r.Sheet
	var settings []sheet.Setting
	for _, text := range []string{"a=0.2", "b=0.1"} {
		set, d := s.ParseSetting(text)
		if d != nil {
			t.Fatal(d.Message)
		}
		settings = append(settings, set)
	}
	c, err := s.Change(settings)
	if err != nil {
		t.Fatal(err)
	}
	moved := ""
	for _, name := range []string{"rest", "half"} {
		p, _ := s.Place(name)
		if c.Difference(p).Moved {
			moved += name + " "
		}
	}
	if strings.TrimSpace(moved) != "half" {
		t.Errorf("moved are %q, want half alone", moved)
	}
}

// TestRefusedArgument shows an argument that is slightly outside a function's
// domain.
func TestRefusedArgument(t *testing.T) {
	r := computeText(t, "x = asin(1.00000000001)\ny = ln(-0.5)\nz = asin(2)\n")
	for name, says := range map[string]string{"x": "not 1.00000000001", "y": "not -0.5", "z": "not 2"} {
		c, _ := r.Sheet.Model.Resolve(name)
		if f := r.Cell(c).Fault(); f == nil || !strings.HasSuffix(f.Cause, says) {
			t.Errorf("%s: %v, want %s", name, f, says)
		}
	}
}
