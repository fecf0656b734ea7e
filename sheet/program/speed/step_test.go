package speed

import (
	"testing"

	"gearleaf/sheet/generate"
)

// stepRows is the number of rows of the step table; it ends in its last tenth.
const stepRows = 2000

// pass is the step table as a programmer would write it: a slice a column,
// and a loop over the rows.
type pass struct {
	StepTime, MassAll, DragArea, AirDensity, Rollout, ShiftSpeed, Grip float64

	dynoAt, dynoTorque, gear, ratio []float64

	stepCount, time, inGear, speed, distance, overall []float64
	engineSpeed, pull, drag, accel, power, energy     []float64
	rows                                              int
	TimeAll, WayAll, TopSpeed, Heat                   float64
	Inside                                            bool // the engine never leaves the dyno's table: the sheet's advice
}

func newPass() *pass {
	p := &pass{}
	for _, c := range p.columns() {
		*c = make([]float64, stepRows)
	}
	return p
}

// columns are those of the table, in its order.
func (p *pass) columns() []*[]float64 {
	return []*[]float64{
		&p.stepCount, &p.time, &p.inGear, &p.speed, &p.distance, &p.overall,
		&p.engineSpeed, &p.pull, &p.drag, &p.accel, &p.power, &p.energy,
	}
}

// between reads ys at x in rising xs, which it begins to search at from: a
// row of a run is near the one before. Off the ends it holds the end value.
func between(x float64, xs, ys []float64, from int) (float64, int) {
	i := from
	for i > 0 && x < xs[i] {
		i--
	}
	for i+1 < len(xs) && x >= xs[i+1] {
		i++
	}
	switch {
	case x <= xs[0]:
		return ys[0], i
	case i+1 == len(xs):
		return ys[i], i
	}
	return ys[i] + (ys[i+1]-ys[i])*((x-xs[i])/(xs[i+1]-xs[i])), i
}

// compute runs down the track until end steps have been counted.
func (p *pass) compute(end float64) {
	var count, time, gear, speed, distance, accel, engine, power, energy float64
	dyno, cog := 0, 0
	row := 0
	p.Inside = true
	slow, fast := p.dynoAt[0], p.dynoAt[len(p.dynoAt)-1]
	for ; row < stepRows; row++ {
		if row == 0 {
			count, time, gear, speed, distance, energy = 1, 0, 1, 1, 0, 0
		} else {
			count++
			time += p.StepTime
			if engine >= p.ShiftSpeed {
				gear = min(gear+1, 6)
			}
			distance += speed * p.StepTime
			speed += accel * p.StepTime
			energy += power * p.StepTime
		}
		var overall, torque float64
		overall, cog = between(gear, p.gear, p.ratio, cog)
		if row == 0 {
			engine = 5000.0 / 60
		} else {
			engine = max(speed*overall/p.Rollout, 5000.0/60)
		}
		p.Inside = p.Inside && slow <= engine && engine <= fast
		torque, dyno = between(engine, p.dynoAt, p.dynoTorque, dyno)
		pull := torque * overall * 6.2832 / p.Rollout
		drag := 0.5 * p.AirDensity * p.DragArea * speed * speed
		accel = 0
		if row > 0 {
			accel = min((pull*0.9-drag)/p.MassAll, p.Grip)
		}
		power = drag * speed
		p.stepCount[row], p.time[row], p.inGear[row], p.speed[row] = count, time, gear, speed
		p.distance[row], p.overall[row], p.engineSpeed[row], p.pull[row] = distance, overall, engine, pull
		p.drag[row], p.accel[row], p.power[row], p.energy[row] = drag, accel, power, energy
		if count >= end {
			row++
			break
		}
	}
	p.rows = row
	p.TimeAll, p.WayAll, p.Heat = p.time[row-1], p.distance[row-1], p.energy[row-1]
	p.TopSpeed = 0
	for _, v := range p.speed[:row] {
		p.TopSpeed = max(p.TopSpeed, v)
	}
}

// passByHand returns the hand-written pass with the givens of the sheet.
func passByHand(tb testing.TB, s *loaded) *pass {
	p := newPass()
	for name, at := range map[string]*float64{
		"step_time": &p.StepTime, "mass_all": &p.MassAll, "drag_area": &p.DragArea, "air_density": &p.AirDensity,
		"rollout": &p.Rollout, "shift_speed": &p.ShiftSpeed, "grip": &p.Grip,
	} {
		c, _ := s.model.Resolve(name)
		if c == nil {
			tb.Fatalf("the step table's sheet has no %s", name)
		}
		*at = c.Value
	}
	for name, at := range map[string]*[]float64{
		"dyno.at": &p.dynoAt, "dyno.torque": &p.dynoTorque, "gears.gear": &p.gear, "gears.ratio": &p.ratio,
	} {
		_, c := s.model.Resolve(name)
		*at = c.Values
	}
	return p
}

// stepEnd is the count at which the table ends.
const stepEnd = 0.95 * stepRows

func TestPassByHand(t *testing.T) {
	s := load(t, generate.StepTable(stepRows))
	p, mc := passByHand(t, s), s.program.NewMachine()
	for _, grip := range []float64{24, 12} {
		cell, _ := s.model.Resolve("grip")
		mc.SetCell(int(cell.Index), grip)
		mc.Run()
		p.Grip = grip
		p.compute(stepEnd)
		if got := mc.Advice(0).Value == 1; got != p.Inside {
			t.Errorf("inside the dyno's table: %v by the program, %v by hand", got, p.Inside)
		}
		for i, name := range []string{
			"step_count", "time", "gear", "speed", "distance", "overall",
			"engine_speed", "pull", "drag", "accel", "power", "energy",
		} {
			_, c := s.model.Resolve("run." + name)
			for row, want := range (*p.columns()[i])[:p.rows] {
				if got := mc.Entry(int(c.Index), row); !close(got, want) {
					t.Fatalf("%s[%d] = %v by the program, %v by hand", name, row, got, want)
				}
			}
		}
		for name, want := range map[string]float64{
			"time_all": p.TimeAll, "way_all": p.WayAll, "top_speed": p.TopSpeed, "heat": p.Heat,
		} {
			c, _ := s.model.Resolve(name)
			if got := mc.Cell(int(c.Index)); !close(got, want) {
				t.Errorf("%s = %v by the program, %v by hand", name, got, want)
			}
		}
	}
}
