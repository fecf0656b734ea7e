package speed

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gearleaf/sheet/generate"
)

// shape is a sheet with the same written by hand in Go: givens and results by
// name, and the whole computed once. A figure that only one of the shapes
// reaches shows code that was tuned to it.
type shape struct {
	name    string
	text    string
	values  int // computed in one go
	cells   map[string]*float64
	compute func()
	swept   [2]string // two givens
	result  string
	steps   bool // most of it is a table computed row by row
}

// shapes are gears and air, fuel, a chain of stages with another structure, and
// three step tables with different rules.
func shapes(tb testing.TB) []shape {
	g := &gearing{}
	p := newPass()
	steps := shape{
		name: "pass", text: generate.StepTable(stepRows), values: 12 * stepRows * 95 / 100, steps: true,
		cells:   map[string]*float64{"grip": &p.Grip, "mass_all": &p.MassAll, "top_speed": &p.TopSpeed, "heat": &p.Heat, "time_all": &p.TimeAll},
		compute: func() { p.compute(stepEnd) }, swept: [2]string{"grip", "mass_all"}, result: "top_speed",
	}
	for name, at := range map[string]*float64{
		"step_time": &p.StepTime, "drag_area": &p.DragArea, "air_density": &p.AirDensity, "rollout": &p.Rollout, "shift_speed": &p.ShiftSpeed,
	} {
		steps.cells[name] = at
	}
	s := load(tb, steps.text)
	for name, at := range map[string]*[]float64{
		"dyno.at": &p.dynoAt, "dyno.torque": &p.dynoTorque, "gears.gear": &p.gear, "gears.ratio": &p.ratio,
	} {
		_, c := s.model.Resolve(name)
		*at = c.Values
	}
	return []shape{
		{name: "gears-and-air", text: generate.Gearing150(), values: 150, cells: g.cells(), compute: g.compute, swept: [2]string{"boost", "rear_sprocket"}, result: "duty_6"},
		fuelShape(), stagesShape(), steps, coolingShape(), clutchShape(),
	}
}

// ready gives the hand-written side the givens of the sheet.
func (s *shape) ready(tb testing.TB) *loaded {
	l := load(tb, s.text)
	for _, c := range l.model.Cells {
		if at := s.cells[c.Name]; c.Given && at != nil {
			*at = c.Value
		}
	}
	return l
}

// TestShapes compares every cell that the hand-written side has, with the givens
// of the sheet and with others.
func TestShapes(t *testing.T) {
	for _, s := range shapes(t) {
		l := s.ready(t)
		mc := l.program.NewMachine()
		for _, factor := range []float64{1, 1.03, 0.95} {
			for _, name := range s.swept {
				c, _ := l.model.Resolve(name)
				*s.cells[name] = c.Value * factor
				mc.SetCell(int(c.Index), c.Value*factor)
			}
			mc.Run()
			s.compute()
			compared := 0
			for i, c := range l.model.Cells {
				if at := s.cells[c.Name]; at != nil {
					compared++
					if !close(mc.Cell(i), *at) {
						t.Errorf("%s: %s = %v by the program, %v by hand", s.name, c.Name, mc.Cell(i), *at)
					}
				}
			}
			if compared < 3 || s.cells[s.result] == nil {
				t.Errorf("%s: %d cells compared", s.name, compared)
			}
		}
	}
}

// fuelShape is a fuel system: flows, pressures and powers of several nozzles,
// most of it roots, powers and limits.
func fuelShape() shape {
	const nozzles = 8
	var text strings.Builder
	text.WriteString("title \"Invented fuel system\"\npump : 5\npressure : 60\ntemper : 0.85\nblend : 0.4\n")
	var in struct{ pump, pressure, temper, blend, total, worst float64 }
	var area, flow, drop, share, heat, lean [nozzles]float64
	cells := map[string]*float64{"pump": &in.pump, "pressure": &in.pressure, "temper": &in.temper, "blend": &in.blend, "total": &in.total, "worst": &in.worst}
	var flows, leans []string
	for i := range nozzles {
		n := fmt.Sprint(i + 1)
		fmt.Fprintf(&text, "area_%s : %g\n", n, 0.5+0.1*float64(i))
		fmt.Fprintf(&text, "drop_%s = max(pressure - %g * pump^1.5, 1)\n", n, 0.3*float64(i))
		fmt.Fprintf(&text, "flow_%s = area_%s * sqrt(2 * drop_%s) * temper\n", n, n, n)
		fmt.Fprintf(&text, "share_%s = flow_%s / (flow_%s + blend * area_%s)\n", n, n, n, n)
		fmt.Fprintf(&text, "heat_%s = flow_%s * (19.9 * (1 - blend) + 26.8 * blend) * exp(-share_%s)\n", n, n, n)
		fmt.Fprintf(&text, "lean_%s = if share_%s > 0.95 then heat_%s / flow_%s else heat_%s * 0.5\n", n, n, n, n, n)
		for name, at := range map[string]*[nozzles]float64{"area": &area, "drop": &drop, "flow": &flow, "share": &share, "heat": &heat, "lean": &lean} {
			cells[name+"_"+n] = &at[i]
		}
		flows, leans = append(flows, "flow_"+n), append(leans, "lean_"+n)
	}
	fmt.Fprintf(&text, "total = %s\nworst = min(%s)\n", strings.Join(flows, " + "), strings.Join(leans, ", "))
	return shape{
		name: "fuel", text: text.String(), values: 5*nozzles + 2, cells: cells, swept: [2]string{"pressure", "blend"}, result: "worst",
		compute: func() {
			in.total, in.worst = 0, math.Inf(1)
			for i := range nozzles {
				drop[i] = max(in.pressure-0.3*float64(i)*math.Pow(in.pump, 1.5), 1)
				flow[i] = area[i] * math.Sqrt(2*drop[i]) * in.temper
				share[i] = flow[i] / (flow[i] + in.blend*area[i])
				heat[i] = flow[i] * (19.9*(1-in.blend) + 26.8*in.blend) * math.Exp(-share[i])
				if share[i] > 0.95 {
					lean[i] = heat[i] / flow[i]
				} else {
					lean[i] = heat[i] * 0.5
				}
				in.total += flow[i]
				in.worst = min(in.worst, lean[i])
			}
		},
	}
}

// stagesShape is 150 cells in a chain: each stage reads the one before, so that
// nothing can be computed at the same time.
func stagesShape() shape {
	const stages = 30
	var text strings.Builder
	text.WriteString("title \"Invented chain of stages\"\ninto : 3\nrate : 0.02\nloss_0 : 1\nspin_0 = into * 2\n")
	var into, rate float64
	var spin, loss, gain, rest, held [stages + 1]float64
	cells := map[string]*float64{"into": &into, "rate": &rate, "loss_0": &loss[0], "spin_0": &spin[0]}
	for i := 1; i <= stages; i++ {
		k := 0.1 + 0.05*float64(i)
		fmt.Fprintf(&text, "gain_%d = spin_%d * (1 + rate) - loss_%d * %g\n", i, i-1, i-1, k)
		fmt.Fprintf(&text, "loss_%d = abs(gain_%d) * rate + %g\n", i, i, k)
		fmt.Fprintf(&text, "held_%d = if gain_%d > %g then gain_%d - loss_%d else loss_%d\n", i, i, 2*k, i, i, i)
		fmt.Fprintf(&text, "rest_%d = held_%d / (1 + held_%d * rate)\n", i, i, i)
		fmt.Fprintf(&text, "spin_%d = max(rest_%d, 0.5) + %g\n", i, i, k)
		for name, at := range map[string]*[stages + 1]float64{"spin": &spin, "loss": &loss, "gain": &gain, "rest": &rest, "held": &held} {
			cells[fmt.Sprint(name, "_", i)] = &at[i]
		}
	}
	return shape{
		name: "stages", text: text.String(), values: 5*stages + 1, cells: cells, swept: [2]string{"into", "rate"}, result: fmt.Sprint("spin_", stages),
		compute: func() {
			spin[0] = into * 2
			for i := 1; i <= stages; i++ {
				k := 0.1 + 0.05*float64(i)
				gain[i] = spin[i-1]*(1+rate) - loss[i-1]*k
				loss[i] = math.Abs(gain[i])*rate + k
				if held[i] = loss[i]; gain[i] > 2*k {
					held[i] = gain[i] - loss[i]
				}
				rest[i] = held[i] / (1 + held[i]*rate)
				spin[i] = max(rest[i], 0.5) + k
			}
		},
	}
}

// coolingShape is a step table of exponentials and powers without look-ups.
func coolingShape() shape {
	const rows = 2000
	var in struct{ ambient, film, start, end, lost float64 }
	warm, flux, scale, lost := make([]float64, rows), make([]float64, rows), make([]float64, rows), make([]float64, rows)
	return shape{
		name: "cooling", steps: true, values: 4 * rows, result: "end", swept: [2]string{"ambient", "film"},
		text: fmt.Sprintf(`title "Invented cooling"
ambient : 300
film : 0.002
start_warm : 420
table run rows %d
  warm = prev(warm) - prev(flux) * 0.01 start start_warm
  scale = exp(-warm / 500)
  flux = film * (warm - ambient)^1.25 * scale start film * (start_warm - ambient)^1.25
  lost = prev(lost) + flux * 0.01 start 0
end = last(run.warm)
lost_all = last(run.lost)
`, rows),
		cells: map[string]*float64{"ambient": &in.ambient, "film": &in.film, "start_warm": &in.start, "end": &in.end, "lost_all": &in.lost},
		compute: func() {
			for i := range rows {
				if i == 0 {
					warm[i], lost[i] = in.start, 0
					scale[i] = math.Exp(-warm[i] / 500)
					flux[i] = in.film * math.Pow(in.start-in.ambient, 1.25)
					continue
				}
				warm[i] = warm[i-1] - flux[i-1]*0.01
				scale[i] = math.Exp(-warm[i] / 500)
				flux[i] = in.film * math.Pow(warm[i]-in.ambient, 1.25) * scale[i]
				lost[i] = lost[i-1] + flux[i]*0.01
			}
			in.end, in.lost = warm[rows-1], lost[rows-1]
		},
	}
}

// clutchShape is a step table of choices: two shafts slip, lock, and slip again.
func clutchShape() shape {
	const rows = 3000
	var in struct{ torque, clamp, load, final, heat, locked float64 }
	clock, drive, driven := make([]float64, rows), make([]float64, rows), make([]float64, rows)
	slip, carried, heat, held := make([]float64, rows), make([]float64, rows), make([]float64, rows), make([]float64, rows)
	return shape{
		name: "clutch", steps: true, values: 7 * rows, result: "final", swept: [2]string{"torque", "clamp"},
		text: fmt.Sprintf(`title "Invented clutch"
torque : 90
clamp : 110
load : 12
table run rows %d
  clock = prev(clock) + 0.001 start 0
  drive = prev(drive) + (torque - prev(carried)) * 0.01 start 500
  driven = prev(driven) + (prev(carried) - load) * 0.004 start 0
  slip = drive - driven
  carried = if slip > 5 then clamp * min(1, 0.2 + clock) else if slip < -5 then -clamp * 0.5 else torque * 0.8 + load * 0.2
  held = if abs(slip) <= 5 then 1 else 0
  heat = prev(heat) + abs(carried * slip) * 0.001 start 0
final = last(run.driven)
heat_all = last(run.heat)
locked = sum(run.held)
`, rows),
		cells: map[string]*float64{"torque": &in.torque, "clamp": &in.clamp, "load": &in.load, "final": &in.final, "heat_all": &in.heat, "locked": &in.locked},
		compute: func() {
			in.locked = 0
			for i := range rows {
				clock[i], drive[i], driven[i], heat[i] = 0, 500, 0, 0
				if i > 0 {
					clock[i] = clock[i-1] + 0.001
					drive[i] = drive[i-1] + (in.torque-carried[i-1])*0.01
					driven[i] = driven[i-1] + (carried[i-1]-in.load)*0.004
				}
				slip[i] = drive[i] - driven[i]
				switch {
				case slip[i] > 5:
					carried[i] = in.clamp * min(1, 0.2+clock[i])
				case slip[i] < -5:
					carried[i] = -in.clamp * 0.5
				default:
					carried[i] = in.torque*0.8 + in.load*0.2
				}
				if held[i] = 0; math.Abs(slip[i]) <= 5 {
					held[i] = 1
				}
				if i > 0 {
					heat[i] = heat[i-1] + math.Abs(carried[i]*slip[i])*0.001
				}
				in.locked += held[i]
			}
			in.final, in.heat = driven[rows-1], heat[rows-1]
		},
	}
}
