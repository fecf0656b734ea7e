package formulas_test

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// term is one term of an equation of state in reduced Helmholtz energy: a
// power of density and temperature, damped by exp(-delta^c) or by a bell.
type term struct {
	bell                           bool
	n, d, t, c, alpha, beta, gamma float64
}

// equation is a published equation of state. The three terms of carbon
// dioxide's that matter within half a kelvin of its critical point are left
// out of the table.
type equation struct {
	temperature, density, constant float64 // reducing values, J/(kg.K)
	terms                          []term
}

// pressure returns the pressure at a density and a temperature.
func (e *equation) pressure(density, temperature float64) float64 {
	delta, tau := density/e.density, e.temperature/temperature
	sum := 1.0
	for _, x := range e.terms {
		v := x.n * math.Pow(delta, x.d) * math.Pow(tau, x.t)
		switch {
		case x.bell:
			sum += v * math.Exp(-x.alpha*(delta-1)*(delta-1)-x.beta*(tau-x.gamma)*(tau-x.gamma)) * (x.d - 2*x.alpha*delta*(delta-1))
		case x.c > 0:
			sum += v * math.Exp(-math.Pow(delta, x.c)) * (x.d - x.c*math.Pow(delta, x.c))
		default:
			sum += v * x.d
		}
	}
	return density * e.constant * temperature * sum
}

// residual returns the enthalpy at a density and a temperature less that of
// the ideal gas, in J/kg.
func (e *equation) residual(density, temperature float64) float64 {
	delta, tau := density/e.density, e.temperature/temperature
	sum := 0.0
	for _, x := range e.terms {
		v := x.n * math.Pow(delta, x.d) * math.Pow(tau, x.t)
		if x.c > 0 {
			sum += v * math.Exp(-math.Pow(delta, x.c)) * (x.t + x.d - x.c*math.Pow(delta, x.c))
		} else {
			sum += v * (x.t + x.d)
		}
	}
	return e.constant * temperature * sum
}

// equations reads the published equations of state.
func equations(t *testing.T) map[string]*equation {
	t.Helper()
	text, err := os.ReadFile("../testdata/published/equations.tsv")
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]*equation{
		"carbon_dioxide": {temperature: 304.1282, density: 467.6, constant: 8314.51 / 44.0098},
		"nitrogen":       {temperature: 126.192, density: 11.1839 * 28.01348, constant: 8314.51 / 28.01348},
		"nitrous_oxide":  {temperature: 309.52, density: 452.011456, constant: 8314.472 / 44.0128},
	}
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n")[1:] {
		fields := strings.Split(line, "\t")
		var v [7]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(fields[2+i], 64); err != nil {
				t.Fatal(line, err)
			}
		}
		e := all[fields[0]]
		e.terms = append(e.terms, term{fields[1] == "bell", v[0], v[1], v[2], v[3], v[4], v[5], v[6]})
	}
	return all
}

// states are temperatures and densities of one phase of carbon dioxide and of
// nitrogen, in K and kg/m3, with how far the library may be off.
func states() (all []struct {
	gas                          string
	temperature, density, within float64
},
) {
	add := func(gas string, temperature, within float64, densities ...float64) {
		for _, density := range densities {
			all = append(all, struct {
				gas                          string
				temperature, density, within float64
			}{gas, temperature, density, within})
		}
	}
	add("carbon_dioxide", 250, 0.003, 1, 10, 30, 44, 1050, 1080)
	add("carbon_dioxide", 273.15, 0.003, 1, 20, 60, 95, 932, 980)
	add("carbon_dioxide", 293.15, 0.005, 1, 50, 100, 150, 185, 780, 800, 850)
	add("carbon_dioxide", 300, 0.01, 100, 200, 250, 690, 750)
	add("carbon_dioxide", 306, 0.02, 100, 250, 600, 700, 800)
	add("carbon_dioxide", 313, 0.02, 100, 250, 400, 500, 600, 700)
	add("carbon_dioxide", 330, 0.01, 10, 100, 300, 500, 700)
	add("carbon_dioxide", 400, 0.005, 10, 100, 200, 300)
	for _, temperature := range []float64{230, 270, 300, 330, 360} {
		add("nitrogen", temperature, 0.003, 1, 20, 100, 200, 250)
	}
	return all
}

// TestRealGases computes densities from the pressures of the reference
// equations, and compares them with the densities that these began with.
func TestRealGases(t *testing.T) {
	all := equations(t)
	var text strings.Builder
	for i, s := range states() {
		fmt.Fprintf(&text, "density_%d = %s_density(%.12g Pa, %g K)\n", i, s.gas, all[s.gas].pressure(s.density, s.temperature), s.temperature)
	}
	r := computed(t, load(t, "real gases", text.String()))
	worst := map[string]float64{}
	for i, s := range states() {
		got, _ := cell(t, r, fmt.Sprintf("density_%d", i))
		off := math.Abs(got/s.density - 1)
		worst[s.gas] = max(worst[s.gas], off)
		if off > s.within {
			t.Errorf("%s at %g K: %.5g kg/m3, its reference equation %.5g: %.2f %% off", s.gas, s.temperature, got, s.density, 100*off)
		}
	}
	t.Logf("largest difference: %v", worst)
	for _, a := range r.Advices() {
		t.Errorf("%s: %s", a.Cell, a.Text)
	}
}

// TestNitrousOxideSaturation compares the saturation line with the equation of
// state: at both densities it gives the line's own pressure.
func TestNitrousOxideSaturation(t *testing.T) {
	e := equations(t)["nitrous_oxide"]
	if p := e.pressure(10000*0.0440128, 311); math.Abs(p/7474778-1) > 1e-6 {
		t.Errorf("Lemmon and Span print 7474.778 kPa at 311 K and 10 mol/L, this is %g kPa", p/1000)
	}
	var text strings.Builder
	temperatures := []float64{190, 230, 260, 273.15, 293.15, 300}
	for i, temperature := range temperatures {
		for _, what := range []string{"saturation_pressure", "liquid_density", "vapour_density"} {
			fmt.Fprintf(&text, "%s_%d = nitrous_oxide_%s(%g K)\n", what, i, what, temperature)
		}
	}
	r := computed(t, load(t, "nitrous oxide", text.String()))
	for i, temperature := range temperatures {
		line, _ := cell(t, r, fmt.Sprintf("saturation_pressure_%d", i))
		for _, phase := range []string{"liquid", "vapour"} {
			density, _ := cell(t, r, fmt.Sprintf("%s_density_%d", phase, i))
			// How far the density is off for the pressure to come out otherwise.
			slope := (e.pressure(density*1.0001, temperature) - e.pressure(density*0.9999, temperature)) / (density * 0.0002)
			if off := (line - e.pressure(density, temperature)) / slope / density; math.Abs(off) > 0.001 {
				t.Errorf("at %g K the %s's density is %.2f %% off", temperature, phase, 100*off)
			}
		}
	}
}

// TestNitrousOxideHeats compares the heats of boiling, in the bottle and into thin
// gas, with the enthalpies of the equation of state.
func TestNitrousOxideHeats(t *testing.T) {
	e := equations(t)["nitrous_oxide"]
	var text strings.Builder
	temperatures := []float64{255, 265, 273.15, 283, 293.15, 300, 305}
	for i, temperature := range temperatures {
		for _, what := range []string{"liquid_density", "vapour_density", "latent_heat", "heat_to_gas"} {
			fmt.Fprintf(&text, "%s_%d = nitrous_oxide_%s(%g K)\n", what, i, what, temperature)
		}
	}
	r := computed(t, load(t, "nitrous oxide", text.String()))
	for i, temperature := range temperatures {
		at := func(what string) float64 {
			v, _ := cell(t, r, fmt.Sprintf("%s_%d", what, i))
			return v
		}
		liquid := e.residual(at("liquid_density"), temperature)
		for what, want := range map[string]float64{"latent_heat": e.residual(at("vapour_density"), temperature) - liquid, "heat_to_gas": -liquid} {
			if off := at(what)/want - 1; math.Abs(off) > map[string]float64{"latent_heat": 0.004, "heat_to_gas": 0.001}[what] {
				t.Errorf("%s at %g K: %.5g J/kg, its reference equation %.5g: %.2f %% off", what, temperature, at(what), want, 100*off)
			}
		}
	}
}
