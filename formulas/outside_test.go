package formulas_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"

	"gearleaf/sheet/outside"
)

// interpreter returns the first of programs that runs the code probe.
func interpreter(t *testing.T, what, flag, probe string, programs ...string) string {
	t.Helper()
	for _, name := range programs {
		if path, err := exec.LookPath(name); err == nil && exec.Command(path, flag, probe).Run() == nil {
			return path
		}
	}
	outside.Missing(t, what+" is not installed: the library was not compared with it")
	return ""
}

// ask has a script answer questions, each a name and its numbers.
func ask(t *testing.T, program, script string, questions [][]any) []float64 {
	t.Helper()
	text, err := json.Marshal(questions)
	if err != nil {
		t.Fatal(err)
	}
	command := exec.Command(program, script)
	command.Stdin = bytes.NewReader(text)
	var complaint bytes.Buffer
	command.Stderr = &complaint
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", script, err, complaint.String())
	}
	var answers []float64
	if err := json.Unmarshal(out, &answers); err != nil || len(answers) != len(questions) {
		t.Fatalf("%s: %d answers to %d questions, %v", script, len(answers), len(questions), err)
	}
	return answers
}

// answered is a formula of the library beside a question that an outside
// program answers. The numbers of the question are cells of the worksheet.
type answered struct {
	formula   string
	givens    []given
	steps     string // lines between the givens and the formula
	question  string
	numbers   []string
	tolerance float64 // relative
	points    int
	// why explains the tolerance.
	why string
}

// compare computes every formula over points drawn by chance, through the
// worksheet, and compares it with the outside answers.
func compare(t *testing.T, program, script string, rows []answered) {
	t.Helper()
	var questions [][]any
	sheets := make([]drawn, len(rows))
	for i, row := range rows {
		sheets[i] = draw(t, row.givens, row.steps+"computed = "+row.formula+"\n")
		for lane := range row.points {
			q := []any{row.question}
			for _, name := range row.numbers {
				q = append(q, sheets[i].at(t, name, lane))
			}
			questions = append(questions, q)
		}
	}
	answers := ask(t, program, script, questions)
	for i, row := range rows {
		worst, at := 0.0, 0
		for lane := range row.points {
			if off := math.Abs(sheets[i].at(t, "computed", lane)/answers[lane] - 1); !(off <= worst) {
				worst, at = off, lane
			}
		}
		if told := fmt.Sprintf("%s: %d points within %.1e, %.1e is allowed: %s", row.formula, row.points, worst, row.tolerance, row.why); worst <= row.tolerance {
			t.Log(told)
		} else {
			t.Errorf("%s\n%.10g, outside %.10g for %v", told, sheets[i].at(t, "computed", at), answers[at], questions[at])
		}
		questions, answers = questions[row.points:], answers[row.points:]
	}
}

// TestAgainstIAPWS compares with Debian's python3-iapws: the saturation line
// of water and the equation of state of humid air; and with scipy, which it
// brings along, for curves without overshoot and for the chain.
func TestAgainstIAPWS(t *testing.T) {
	python := interpreter(t, "python3-iapws", "-c", "import iapws.humidAir, scipy.optimize, scipy.interpolate", "/usr/bin/python3", "python3")
	air := []given{{"pressure", "kPa", 60, 110, false}, {"temperature", "degC", -10, 45, false}, {"humidity", "%", 0, 100, false}}
	moist := "density = air_density(pressure, temperature, humidity)\nvapour = vapour_fraction(pressure, temperature, humidity)\n"
	dry := strings.Replace(moist, "air_density", "dry_air_density", 1)
	state := []string{"density", "temperature", "vapour"}
	equationOfState := "CIPM-2007 against the equation of state of IAPWS G8-10, each good to 2e-5"
	chain := "links = chain_length(front, rear, apart, 15.875 mm)\n"
	curve, points := curveSteps()
	compare(t, python, "testdata/outside.py", []answered{
		{"saturation_pressure(temperature)", []given{{"temperature", "degC", 0.01, 370, false}}, "", "saturation_pressure", []string{"temperature"}, 1e-11, lanes, "the same equation, rounding"},
		{"saturation_temperature(vapour)", []given{{"vapour", "Pa", 612, 2e7, false}}, "", "saturation_temperature", []string{"vapour"}, 1e-11, lanes, "the same equation, rounding"},
		{"saturation_temperature(vapour)", []given{{"vapour", "Pa", 612, 2e4, false}}, "", "saturation_temperature", []string{"vapour"}, 1e-11, lanes, "the same equation, rounding"},
		{"pressure", air, moist, "air_pressure", state, 5e-5, 300, equationOfState},
		{"pressure", air, dry, "air_pressure_of_dry", state, 5e-5, 300, equationOfState},
		{
			"chain_centre_distance(front, rear, links, 15.875 mm) / 15.875 mm",
			[]given{{"front", "teeth", 9, 25, true}, {"rear", "teeth", 26, 80, true}, {"apart", "mm", 350, 900, false}},
			chain, "chain_centre",
			[]string{"front", "rear", "links"},
			1e-12, lanes, "bisection to the last digits",
		},
		{
			"lookup_monotone(at, curve.x, curve.y)",
			[]given{{"at", "1", 7.99, 20, false}},
			curve, "monotone", points, 1e-12, lanes, "the same curve, rounding",
		},
	})
}

// curveSteps returns a table of a curve in lines, and the names of the
// numbers of a question about it.
func curveSteps() (lines string, names []string) {
	x := []float64{7.99, 8.09, 8.19, 8.70, 9.20, 10, 12, 15, 20}
	y := []float64{0.5, 0.50002, 0.54375, 0.66918, 0.96943, 1.44374, 1.49864, 1.49992, 1.2}
	list := func(v []float64) string { return strings.Trim(strings.ReplaceAll(fmt.Sprint(v), " ", ", "), "[]") }
	var b strings.Builder
	fmt.Fprintf(&b, "table curve\n  x : %s\n  y : %s\nmany = count(curve.x)\n", list(x), list(y))
	names = []string{"at", "many"}
	for _, column := range []string{"x", "y"} {
		for i := range x {
			name := fmt.Sprintf("%s_%d", column, i+1)
			fmt.Fprintf(&b, "%s = curve.%s[%d]\n", name, column, i+1)
			names = append(names, name)
		}
	}
	return b.String(), names
}

// TestAgainstPsychrolib compares with the npm package psychrolib, the
// psychrometrics of the ASHRAE Handbook.
func TestAgainstPsychrolib(t *testing.T) {
	node := interpreter(t, "psychrolib (npm; NODE_PATH says where)", "-e", `require("psychrolib")`, "node", "nodejs")
	warm := given{"temperature", "degC", 0.1, 60, false}
	humidity := given{"humidity", "%", 1, 100, false}
	pressure := given{"pressure", "kPa", 70, 108, false}
	bulbs := []given{{"dry", "degC", 12, 45, false}, {"depression", "deltaC", 0, 6, false}, pressure}
	wet := "wet = dry - depression\n"
	const line = "Hyland and Wexler's saturation line of 1983 lies up to 1.8e-4 under IAPWS-IF97"
	compare(t, node, "testdata/outside.js", []answered{
		{"saturation_pressure(temperature)", []given{warm}, "", "saturation_pressure", []string{"temperature"}, 2e-4, lanes, line},
		{"vapour_pressure(temperature, humidity)", []given{warm, humidity}, "", "vapour_pressure", []string{"temperature", "humidity"}, 2e-4, lanes, line},
		{"humidity_ratio(pressure, temperature, humidity)", []given{pressure, warm, humidity}, "", "humidity_ratio", []string{"pressure", "temperature", "humidity"}, 3e-4, lanes, line},
		{"humidity_ratio_from_wet_bulb(dry, wet, pressure)", bulbs, wet, "humidity_ratio_from_wet_bulb", []string{"dry", "wet", "pressure"}, 3e-4, lanes, line + ", a difference of two terms"},
		{"humidity_from_wet_bulb(dry, wet, pressure)", bulbs, wet, "humidity_from_wet_bulb", []string{"dry", "wet", "pressure"}, 3e-4, lanes, line + ", a difference of two terms"},
		{"dew_point(temperature, humidity)", []given{{"temperature", "degC", 15, 60, false}, {"humidity", "%", 40, 100, false}}, "", "dew_point", []string{"temperature", "humidity"}, 1e-5, lanes, line + "; psychrolib stops searching at 0.001 K"},
		{"air_density_from_ratio(pressure, temperature, ratio)", []given{pressure, warm, {"ratio", "1", 0, 0.03, false}}, "", "air_density_from_ratio", []string{"pressure", "temperature", "ratio"}, 1e-12, lanes, "the same equation, rounding"},
		{"ideal_air_density(pressure, temperature, humidity)", []given{pressure, {"temperature", "degC", 0.1, 45, false}, humidity}, "", "air_density", []string{"pressure", "temperature", "humidity"}, 1e-4, lanes, line + " and gas constants of 287.042 and 287.053"},
		{"air_density(pressure, temperature, humidity)", []given{pressure, {"temperature", "degC", 0.1, 45, false}, humidity}, "", "air_density", []string{"pressure", "temperature", "humidity"}, 1e-3, lanes, "an ideal mixture against CIPM-2007"},
		{"standard_pressure(altitude)", []given{{"altitude", "m", -5000, 11000, false}}, "", "standard_pressure", []string{"altitude"}, 3e-5, lanes, "ASHRAE's rounded constants 2.25577e-5 and 5.2559"},
		{"standard_temperature(altitude)", []given{{"altitude", "m", -5000, 11000, false}}, "", "standard_temperature", []string{"altitude"}, 1e-12, lanes, "the same line"},
	})
}
