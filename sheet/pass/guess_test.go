package pass_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/pass"
	"gearleaf/sheet/runlog"
)

// passTable has the columns that a log is usually compared with; boost is gauge.
const passTable = `table run rows 20
  time         = 0.5 s * (row - 1)
  speed        = 5 m/s2 * time            as mph
  distance     = 2.5 m/s2 * time^2        as ft
  engine_speed = 4000 rpm + 300 rpm/s * time
  boost        = 10 psig + 1 psid/s * time
  lambda       = 0.8 + 0 * row
  fuel_flow    = 900 cc/min + 0 cc/min * row
  gear         = 1 + 0 * row
`

// guessed writes a log of two columns and returns the lines offered for it.
func guessed(t *testing.T, base string, head string, rows ...string) ([]string, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "run.csv")
	text := "Time [s];" + head + "\n"
	for i, v := range rows {
		text += fmt.Sprintf("%.2f;%s\n", float64(i)*0.01, v)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s, list := sheet.FromText("plain.leaf", base)
	if s == nil {
		t.Fatal(list)
	}
	lines, _, err := pass.Guess(s, path)
	if err != nil {
		t.Fatal(err)
	}
	return lines, path
}

// loads adds lines to a sheet and reads the log with them.
func loads(t *testing.T, base string, lines []string, path string) {
	t.Helper()
	text := base + strings.Join(lines, "\n") + "\n"
	s, list := sheet.FromText("with.leaf", text)
	if s == nil {
		t.Errorf("the lines do not load: %v\n%s", list, strings.Join(lines, "\n"))
		return
	}
	m := pass.Mapping(s)
	if m == nil {
		return // all of it is a question
	}
	if _, err := pass.ReadLog(s, path, m, nil); err != nil {
		t.Errorf("%v\n%s", err, strings.Join(lines, "\n"))
	}
}

// heads are those of logs, of different meanings in each.
var heads = [][]string{
	{"Engine RPM", "GPS Speed", "Distance", "Boost", "Lambda 1", "Fuel flow", "Fuel Pressure", "Long G", "Gear", "Rear wheel speed"},
	{"Engine Speed", "Vehicle speed", "MAP", "Wideband", "Accel", "He said \"\"quote\"\"", "Boost target"},
	{"Manifold Pressure", "Lambda target", "A", "Speed accuracy", "MAP", "Engine temperature"},
}

var units = []string{
	"", "s", "ms", "rpm", "krpm", "1/min", "km/h", "mph", "m/s", "ft/s", "kn", "m", "ft", "km", "mi", "mm", "kPa", "kPaa", "kPa abs", "kPag", "mbar", "hPa",
	"psi", "psig", "psia", "psi (a)", "bar", "barg", "bara", "bar abs", "inHg", "°C", "degF", "K", "%", "V", "A", "g", "m/s²", "cc/min", "l/h", "l/min", "lb/h",
	"kg/h", "g/s", "gph", "lambda", "AFR", "-", "fathom",
}

// pressure matches the units of pressures, and no unit.
var pressure = regexp.MustCompile(`^$|Pa|psi|bar|inHg`)

// choice is a line that is offered as a comment, to be chosen.
var choice = regexp.MustCompile(`^  #   (\w+ *: from ("[^"]*").*)$`)

// TestGuessedLinesLoad: whatever the heads are, the lines offered load as
// written, and so does each that is offered as a choice.
func TestGuessedLinesLoad(t *testing.T) {
	bases := []string{passTable, "table run rows 20\n  time = 0.5 s * (row - 1)\n", passTable + "accel : \"quick\"\n", "speed : 3 mph\n", ""}
	for b, base := range bases {
		for k, unit := range units {
			for _, at := range []string{"0", "14.6", "101.2", "1.01", "40"} {
				for _, list := range heads {
					if b > 0 && (k%8 != b%8 || at == "1.01") || at != "0" && (k+b)%3 > 0 && !pressure.MatchString(unit) {
						continue
					}
					one(t, base, list, unit, at)
				}
			}
		}
	}
}

// one loads the lines that are offered for one log, and each that is offered as
// a choice.
func one(t *testing.T, base string, list []string, unit, at string) {
	t.Helper()
	text, row := strings.Join(list, ";"), strings.Repeat(at+";", len(list)-1)+at
	if unit != "" {
		text = strings.Join(list, " ["+unit+"];") + " [" + unit + "]"
	}
	lines, path := guessed(t, base, text, row, row, row)
	loads(t, base, lines, path)
	chosen, last := append([]string{}, lines...), ""
	for i, line := range lines {
		if m := choice.FindStringSubmatch(line); m != nil && m[2] != last {
			chosen[i], last = "  "+m[1], m[2] // the first of each choice
		}
	}
	if last != "" {
		loads(t, base, chosen, path)
	}
}

// TestGuessedPressures: the value at rest shows whether a sensor is absolute;
// an absolute pressure is never offered as boost, and an ambiguous one is a
// comment to choose from.
func TestGuessedPressures(t *testing.T) {
	for _, c := range []struct {
		head string
		rows []string
		want string
	}{
		{"MAP [kPa]", []string{"101", "101.2", "100.9"}, "manifold_pressure : from \"MAP [kPa]\" kPaa"},
		{"Boost [kPa]", []string{"98", "98", "98"}, "manifold_pressure : from \"Boost [kPa]\" kPaa"},
		{"Boost [kPa]", []string{"0.5", "0", "-0.4"}, "boost : from \"Boost [kPa]\" kPag"},
		{"MAP [psi]", []string{"14.6", "14.7", "14.7"}, "manifold_pressure : from \"MAP [psi]\" psia"},
		{"MAP [psi]", []string{"0", "0.1", "0"}, "boost : from \"MAP [psi]\" psig"},
		{"Boost [bar]", []string{"-0.4", "-0.5", "-0.4"}, "boost : from \"Boost [bar]\" barg"},
		{"MAP [bar]", []string{"0.95", "0.95", "0.95"}, "manifold_pressure : from \"MAP [bar]\" bara"},
		{"MAP [kPa abs]", []string{"40", "40", "40"}, "manifold_pressure : from \"MAP [kPa abs]\" kPaa"},
		{"Manifold absolute pressure [kPa]", []string{"40", "40", "40"}, "manifold_pressure : from \"Manifold absolute pressure [kPa]\" kPaa"},
		{"Boost [psig]", []string{"14", "14", "14"}, "boost : from \"Boost [psig]\" psig"},
		{"MAP [kPa]", []string{"40", "40", "40"}, ""},
		{"MAP", []string{"101", "101", "101"}, "manifold_pressure : from \"MAP\" kPaa"},
		{"Boost", []string{"0", "0", "0"}, ""},
		{"Boost target [psi]", []string{"0", "0", "0"}, ""},
		{"Wideband [AFR]", []string{"14", "14", "14"}, "afr : from \"Wideband [AFR]\""},
		{"Lambda target", []string{"1", "1", "1"}, ""},
	} {
		lines, _ := guessed(t, passTable, c.head, c.rows...)
		var got []string
		for _, line := range lines[1:] {
			line = strings.Join(strings.Fields(line), " ")
			if !strings.HasPrefix(line, "#") && !strings.HasPrefix(line, "time ") {
				got = append(got, line)
			}
		}
		if strings.Join(got, "\n") != c.want {
			t.Errorf("%s at %v: offered %q, want %q", c.head, c.rows, got, c.want)
		}
		if strings.Contains(c.head, "MAP") && c.want == "" && !strings.Contains(strings.Join(lines, "\n"), "Take one of") {
			t.Errorf("%s: nothing is asked:\n%s", c.head, strings.Join(lines, "\n"))
		}
	}
}

// TestUnitsOfLogsExist: every spelling of a unit leads to one that worksheets
// have, or to an ambiguous one.
func TestUnitsOfLogsExist(t *testing.T) {
	s := loadPass(t)
	for _, text := range units {
		if spelled := runlog.SpellUnit(text); spelled != "" && spelled != "1" {
			if _, err := s.Model.Units.Parse(spelled); err != nil && err.Repairs == nil {
				t.Errorf("%s is spelled %s: %v", text, spelled, err)
			}
		}
	}
}
