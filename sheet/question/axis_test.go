package question_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/question"
)

const inputs = `whole   : 17 teeth range 15..19
shelf   : 41 teeth choice 38, 44, 41
speed   : 11200 rpm range 9000..12000
plain   : 1.55
air     : 20 degC range -10..40
boost   : 21 psig
wet     : no
fuel    : "methanol" choice "methanol", "gasoline, pump"
other   : "a"
table gears
  ratio : 2.5, 1.9 range 1..3
  twice = 2 * ratio
y = whole * shelf
`

// written are the values of an axis in the shown unit.
func written(s *sheet.Sheet, a question.Axis) string {
	if a.Values == nil {
		return "from " + s.Text(a.Quantity(), a.Lo) + " to " + s.Text(a.Quantity(), a.Hi)
	}
	var parts []string
	for _, v := range a.Values {
		number, _ := s.Shown(a.Quantity(), v)
		parts = append(parts, number)
	}
	return strings.Join(parts, " ")
}

func TestParseAxis(t *testing.T) {
	s := loaded(t, inputs)
	for _, c := range []struct {
		text string
		free bool
		want string
	}{
		{"whole", false, "15 16 17 18 19"},
		{"whole", true, "15 16 17 18 19"},
		{"shelf", false, "38 44 41"},
		{"speed", false, "9000 9300 9600 9900 10200 10500 10800 11100 11400 11700 12000"},
		{"speed", true, "from 9000 rpm to 12000 rpm"},
		{"wet", false, "no yes"},
		{"fuel", false, "methanol gasoline, pump"},
		{"speed=9000..10000 rpm by 250 rpm", true, "9000 9250 9500 9750 10000"},
		{"speed=9000..10000 by 300", false, "9000 9300 9600 9900"},
		{"speed = 150..200 turn/s by 25 turn/s", false, "9000 10500 12000"},
		{"speed=9000 rpm..200 turn/s by 1000 rpm", false, "9000 10000 11000 12000"},
		{"plain=1..2 by 0.1", false, "1 1.1 1.2 1.3 1.4 1.5 1.6 1.7 1.8 1.9 2"},
		{"plain=-0.3..0.3 by 0.1", false, "-0.3 -0.2 -0.1 0 0.1 0.2 0.3"},
		{"plain=2..2", false, "2"},
		{"air=-5..5 by 5", false, "-5 0 5"},
		{"air=-5..5 degC by 5 deltaC", false, "-5 0 5"},
		{"air=41..50 degF by 9 degF", false, "5 10"},
		{"boost=10..20 psig by 5 psig", false, "10 15 20"},
		{"boost=50..150 kPag by 50", false, "7.25189 14.5038 21.7557"},
		{"whole=15..21 by 3", false, "15 18 21"},
		{"shelf=38..44", false, "38 41 44"},
		{"shelf=44,38", false, "44 38"},
		{"plain=1, 2.5,3", false, "1 2.5 3"},
		{"speed=150, 200 turn/s", false, "9000 12000"},
		{`fuel="gasoline, pump",methanol`, false, "gasoline, pump methanol"},
		{"other=a,b", false, "a b"},
		{"wet=yes", false, "yes"},
		{"gears.ratio[2]=1.7, 1.8", false, "1.7 1.8"},
		{"gears.ratio[1]", true, "from 1 to 3"},
	} {
		if got := written(s, axis(t, s, c.text, c.free)); got != c.want {
			t.Errorf("%s (free %v): %s, want %s", c.text, c.free, got, c.want)
		}
	}
}

// TestAxisValuesAreThoseTyped compares the values of a stepped range with those
// that a setting would have, to the bit.
func TestAxisValuesAreThoseTyped(t *testing.T) {
	s := loaded(t, inputs)
	for i, v := range axis(t, s, "speed=9000..11000 rpm by 0.1 rpm", false).Values {
		set, d := s.ParseSetting(fmt.Sprintf("speed=%.1f rpm", 9000+float64(i)/10))
		if d != nil || set.Value != v {
			t.Fatalf("value %d is %v, typed it is %v (%v)", i, v, set.Value, d)
		}
	}
}

func TestParseAxisRefuses(t *testing.T) {
	s := loaded(t, inputs)
	for text, want := range map[string]string{
		"nothing":                      `no cell "nothing"`,
		"speeed":                       `did you mean "speed"?`,
		"y":                            "y is computed",
		"y=1..2":                       "y is computed",
		"gears.ratio":                  "name the row",
		"gears.ratio[3]=1":             "rows 1 to 2",
		"gears.twice[1]=1":             "is computed",
		"plain":                        "plain=a..b or plain=v1, v2",
		"other":                        "neither a range nor a choice",
		"plain=":                       "followed by values",
		"plain=2..1":                   "runs backwards",
		"plain=1..2 by 0":              "more than 0",
		"plain=1..2 by -1":             "more than 0",
		"plain=1..2 by 1 mm":           "the step is",
		"plain=1..2 by 1e-9":           "more than 10000000 values",
		"plain=1..x":                   "not a number",
		"plain=1 kg..2 kg":             "plain: ",
		"speed=9000..10000 rpm by 1 s": "the step is",
		"whole=15..19 by 0.5":          "whole teeth",
		"whole=15.5..19":               "whole teeth",
		"shelf=39..40":                 "no value of its choice",
		"shelf=39":                     "not among them",
		"fuel=diesel":                  "not among them",
		"fuel=1..2":                    "fuel is not a number",
		"boost=10..20 psia":            "boost: ",
		"plain=1,,2":                   "",
	} {
		if _, d := question.ParseAxis(s, text, false); d == nil || !strings.Contains(d.Message, want) {
			t.Errorf("%s: %v, want %q", text, d, want)
		}
	}
}

func TestParseShow(t *testing.T) {
	s := loaded(t, inputs)
	var names []string
	for _, p := range shown(t, s, "y", "gears.twice", "gears.ratio[2]") {
		names = append(names, p.Name())
	}
	if got := strings.Join(names, " "); got != "y gears.twice[1] gears.twice[2] gears.ratio[2]" {
		t.Error(got)
	}
	for _, list := range [][]string{{"y", "y"}, {"gears.twice", "gears.twice[1]"}, {"q"}} {
		if _, d := question.ParseShow(s, list); d == nil {
			t.Errorf("%v can be shown", list)
		}
	}
}
