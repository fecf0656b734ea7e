package templates_test

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"gearleaf/sheet"
)

// rider is the machine of the quarter-mile sheet written a second time, for
// an integrator of another kind: Runge and Kutta's of the fourth order in steps of 0.2
// ms, where the sheet takes rows of 20 ms by Adams and Bashforth. All is
// in SI, speeds of shafts in radians a second.
type rider struct {
	g                                         func(name string) float64
	curve, plan, charge                       [2][]float64 // x and y
	ratios                                    []float64
	oxygenScale, mass, pushed, spin, launchAt float64
}

const (
	gravity   = 9.80665
	smallStep = 0.0002
)

// newRider reads the givens of a computed sheet. Of the computed values it reads
// only those that replace the boost sheet.
func newRider(t *testing.T, r *sheet.Result) *rider {
	known := map[string]float64{}
	m := &rider{g: func(name string) float64 {
		v, ok := known[name]
		if !ok {
			v = value(t, r, name)
			known[name] = v
		}
		return v
	}}
	m.curve = [2][]float64{columnOf(t, r, "curve.engine_speed"), columnOf(t, r, "curve.power")}
	for i := range m.curve[0] {
		m.curve[0][i] *= 2 * math.Pi
	}
	m.charge = [2][]float64{columnOf(t, r, "charge.boost"), columnOf(t, r, "charge.oxygen")}
	from := map[string]string{"time": "plan.from_time", "gear": "plan.from_gear", "speed": "plan.from_speed"}[word(t, r, "plan_by")]
	m.plan = [2][]float64{columnOf(t, r, from), columnOf(t, r, "plan.boost")}
	m.ratios = columnOf(t, r, "gears.ratio")
	for i := range m.ratios {
		m.ratios[i] *= m.g("primary_ratio") * m.g("rear_sprocket") / m.g("front_sprocket")
	}
	top := slices.Max(m.curve[1])
	peak := m.curve[0][slices.Index(m.curve[1], top)]
	taken := m.g("friction_pressure") * m.g("swept") * peak / (4 * math.Pi)
	m.oxygenScale = (m.g("power_ratio")*top + taken) / (top + taken) / along(m.g("boost_today"), m.charge)
	front := m.g("front_rollout") / (2 * math.Pi)
	m.mass = m.g("mass_with_rider")
	m.pushed = m.mass + m.g("front_inertia")/(front*front)
	m.spin = m.g("front_inertia")/front + m.g("rear_inertia")/(m.g("tyre_rollout")/(2*math.Pi))
	m.launchAt = 2 * math.Pi * m.g("launch_speed")
	return m
}

// along is a straight line between points, the ends held.
func along(x float64, xy [2][]float64) float64 {
	xs, ys := xy[0], xy[1]
	if x <= xs[0] {
		return ys[0]
	}
	for i := 1; i < len(xs); i++ {
		if x <= xs[i] {
			return ys[i-1] + (ys[i]-ys[i-1])*(x-xs[i-1])/(xs[i]-xs[i-1])
		}
	}
	return ys[len(ys)-1]
}

// state is the machine at an instant; mode is what only changes between steps.
type state struct{ x, v, engine float64 }

type mode struct {
	gear                   int
	cut, locked, launching bool
	boost                  float64
}

// instant is what acts in a state.
type instant struct{ accel, rate, carried, capacity float64 }

// gearing is the tyre's radius, the engine's turning for a metre of the
// machine, and how that grows with speed.
func (m *rider) gearing(v float64, gear int) (radius, turning, growing float64) {
	growth := m.g("tyre_growth") * v * v
	radius = m.g("tyre_rollout") * (1 + growth) / (2 * math.Pi)
	turning = m.ratios[gear-1] / (radius * (1 - m.g("tyre_slip")))
	return radius, turning, (1 - growth) / (1 + growth)
}

// torques are the engine's and what the clutch can pass.
func (m *rider) torques(s state, d mode, slip float64) (engine, capacity float64) {
	friction := m.g("friction_pressure") * m.g("swept") * s.engine / (4 * math.Pi)
	oxygen := m.oxygenScale * along(d.boost, m.charge)
	power := m.g("power_fit") * m.g("spark") * ((along(s.engine, m.curve)+friction)*oxygen - friction)
	if engine = power / math.Max(s.engine, m.curve[0][0]); d.cut {
		engine = 0
	}
	slipping, held := m.g("clutch_friction"), m.g("friction_held")
	mu := slipping + (held-slipping)*math.Exp(-math.Abs(slip)/(2*math.Pi*m.g("friction_fade")))
	turning := s.engine / m.g("primary_ratio")
	clamp := m.g("clutch_spring") + m.g("arm_lever")*m.g("arm_mass")*m.g("arm_radius")*turning*turning
	return engine, 2 * mu * m.g("clutch_plates") * clamp * m.g("clutch_radius") / m.g("primary_ratio")
}

// limits are the accelerations that grip and the front wheel allow, and what
// resists.
func (m *rider) limits(v float64) (grip, front, resists float64) {
	air := m.g("air_density") * math.Pow(v+m.g("head_wind"), 2) / 2
	drag, lift, slope := air*m.g("drag_area"), air*m.g("lift_area"), m.mass*gravity*m.g("grade")
	bar := m.g("rolling_at") / 1e5
	rolling := 0.005 + (0.01+0.0095*math.Pow(v*3.6/100, 2))/bar
	resists = drag + m.g("rolling_force") + m.g("rolling_share")*rolling*m.mass*gravity + slope
	b, h, p, mu := m.g("centre_ahead")-m.g("rider_back"), m.g("centre_height"), m.g("wheelbase"), m.g("friction")
	about := drag*m.g("drag_height") + slope*h
	front = (m.mass*gravity*b - about - lift*p) / (m.mass*h + m.spin)
	both := math.Inf(1)
	if left := m.pushed*p - mu*(m.mass*h+m.spin); left > 0 {
		both = (mu*(m.mass*gravity*(p-b)+about) - resists*p) / left
	}
	if both < front {
		grip = both
	} else if m.g("wheelie_bar") == 1 {
		l := m.g("bar_length")
		grip = (mu*((m.mass*gravity-lift)*l+m.mass*gravity*b-about-lift*p) - resists*l) / (m.pushed*l + mu*(m.mass*h+m.spin))
	} else {
		grip = (mu*(m.mass*gravity-lift) - resists) / m.pushed
	}
	if m.g("wheelie_bar") == 1 {
		front = grip
	}
	return grip, front, resists
}

// at computes the accelerations of both sides of the clutch.
func (m *rider) at(s state, d mode) instant {
	radius, turning, growing := m.gearing(s.v, d.gear)
	efficiency, inertia, overall := m.g("drive_efficiency"), m.g("engine_inertia"), m.ratios[d.gear-1]
	if d.locked {
		s.engine = turning * s.v
	}
	engine, capacity := m.torques(s, d, s.engine-turning*s.v)
	grip, front, resists := m.limits(s.v)
	up := growing / (1 - m.g("tyre_slip")) / (radius * radius)
	shaft := m.g("shaft_inertia") * math.Pow(overall/m.g("primary_ratio"), 2)
	driven := m.pushed + up*(m.g("rear_inertia")+efficiency*shaft)
	with := driven + up*efficiency*inertia*overall*overall
	pull := overall * efficiency / radius
	most := math.Min(grip, front)
	if d.locked {
		drive := (engine*pull - resists) / with
		accel := math.Min(drive, most)
		return instant{accel, accel * turning * growing, (driven*accel + resists) / pull, capacity}
	}
	passes := capacity
	if d.launching && m.g("rider_slips") == 1 && s.engine <= m.launchAt*(1+1e-6) {
		passes = math.Min(capacity, engine)
	}
	drive := (passes*pull - resists) / driven
	accel := math.Min(drive, most)
	carried := (driven*accel + resists) / pull
	rate := (engine - carried) / inertia
	if drive > most || s.engine >= 2*math.Pi*m.g("rev_limit") {
		rate = math.Min(0, rate)
	}
	return instant{accel, rate, carried, capacity}
}

// small makes one step of the fourth order.
func (m *rider) small(s state, d mode, h float64) state {
	move := func(i instant, v, part float64) state {
		return state{s.x + part*v, math.Max(0, s.v+part*i.accel), s.engine + part*i.rate}
	}
	a := m.at(s, d)
	s2 := move(a, s.v, h/2)
	b := m.at(s2, d)
	s3 := move(b, s2.v, h/2)
	c := m.at(s3, d)
	s4 := move(c, s3.v, h)
	e := m.at(s4, d)
	mean := func(p, q, r, t float64) float64 { return h / 6 * (p + 2*q + 2*r + t) }
	return state{
		s.x + mean(s.v, s2.v, s3.v, s4.v), s.v + mean(a.accel, b.accel, c.accel, e.accel),
		s.engine + mean(a.rate, b.rate, c.rate, e.rate),
	}
}

// run drives the pass and returns the times at the marks, counted from where
// the clock starts.
func (m *rider) run(by string, start float64, marks []float64) []float64 {
	s := state{engine: m.launchAt}
	d := mode{gear: 1, launching: true, boost: m.plan[1][0]}
	shifted, t, i := math.Inf(-1), 0.0, 0
	times := make([]float64, 0, len(marks)+1)
	wanted := append([]float64{start}, marks...)
	for len(times) < len(wanted) && t < 20 {
		m.settle(&s, &d, t, shifted)
		before := s
		s = m.small(s, d, smallStep)
		if d.locked {
			_, turning, _ := m.gearing(s.v, d.gear)
			s.engine = turning * s.v
		}
		i++
		t = float64(i) * smallStep
		for len(times) < len(wanted) && s.x >= wanted[len(times)] {
			times = append(times, t-smallStep*(s.x-wanted[len(times)])/(s.x-before.x))
		}
		if _, turning, _ := m.gearing(s.v, d.gear); turning*s.v >= 2*math.Pi*m.g("shift_speed") && d.gear < len(m.ratios) {
			d.gear, shifted, d.locked = d.gear+1, t, false
		}
		asked := along(map[string]float64{"time": t, "gear": float64(d.gear), "speed": s.v}[by], m.plan)
		d.boost = math.Min(asked, d.boost+m.g("rise_limit")*smallStep)
	}
	for k := 1; k < len(times); k++ {
		times[k] -= times[0]
	}
	return times[1:]
}

// settle asks whether the cut is over and whether the clutch holds.
func (m *rider) settle(s *state, d *mode, t, shifted float64) {
	d.cut = t-shifted < m.g("shift_cut")-1e-9
	_, turning, _ := m.gearing(s.v, d.gear)
	if meets := s.engine <= turning*s.v+1e-9; meets || d.locked {
		try := *d
		try.locked = true
		held := m.at(*s, try)
		d.locked = held.carried <= held.capacity
	}
	if d.locked {
		d.launching, s.engine = false, turning*s.v
	}
}

// columnOf returns the live values of `table.column`, or all of a table
// without until.
func columnOf(t *testing.T, r *sheet.Result, name string) []float64 {
	t.Helper()
	_, c := r.Sheet.Model.Resolve(name)
	if c == nil {
		t.Fatalf("there is no column %s", name)
	}
	rows, _ := r.Live(c.Table)
	out := make([]float64, rows)
	for i := range out {
		out[i] = r.Entry(c, i).V
	}
	return out
}

// twelve machines, from 60 to 150 % of the power, each with something else.
var twelve = [][]string{
	{"power_ratio=60%"},
	{"power_ratio=75%", "head_wind=12mph", "grade=0.4%"},
	{"power_ratio=85%", "friction=1.4"},
	{"power_ratio=90%", "wheelie_bar=yes"},
	{"power_ratio=100%"},
	{"power_ratio=100%", "clutch_spring=560lbf", "friction_pressure=0.2MPa"},
	{"power_ratio=105%", "plan_by=\"gear\"", "head_wind=-8mph"},
	{"power_ratio=110%", "plan_by=\"speed\"", "rise_limit=3psid/s", "spark=98%"},
	{"power_ratio=115%", "wheelie_bar=yes", "friction=1.9", "clutch_spring=900lbf"},
	{"power_ratio=125%"},
	{"power_ratio=125%", "rider_slips=no", "launch_speed=7000rpm", "clutch_spring=1150lbf", "grade=-0.5%"},
	{"power_ratio=150%", "clutch_spring=1250lbf", "engine_inertia=0.02kg.m2", "lift_area=0.08m2"},
}

// TestAnotherIntegrator compares the pass with an integrator of another kind:
// a millisecond at every mark, and as little with half the row.
func TestAnotherIntegrator(t *testing.T) {
	path := filepath.Join(folder(t), "quarter-mile.leaf")
	for _, settings := range twelve {
		t.Run(fmt.Sprint(settings), func(t *testing.T) {
			r := with(t, path, settings...)
			marks := columnOf(t, r, "slip.mark")
			start := value(t, r, "start_run")
			for i := range marks {
				marks[i] += start
			}
			m := newRider(t, r)
			times := m.run(word(t, r, "plan_by"), start, marks)
			half := columnOf(t, with(t, path, append(settings, "step=10ms")...), "slip.elapsed")
			for i, got := range columnOf(t, r, "slip.elapsed") {
				if i >= len(times) {
					t.Fatalf("the integrator reached %d marks", len(times))
				}
				if !(math.Abs(got-times[i]) <= 1e-3) {
					t.Errorf("at %.0f ft the sheet says %.4f s, the integrator %.4f", marks[i]/0.3048, got, times[i])
				}
				if !(math.Abs(got-half[i]) <= 1e-3) {
					t.Errorf("at %.0f ft half the step moves %.4f s to %.4f", marks[i]/0.3048, got, half[i])
				}
			}
		})
	}
}
