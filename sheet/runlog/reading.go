package runlog

import (
	"math"
	"slices"
)

// Pass is a pass, logged or computed: channels over the time since its zero,
// in seconds and coherent SI (an engine speed in turns per second).
type Pass struct {
	Names    []string
	Channels []Cleaned // as Names
	End      float64   // seconds from the zero to the end
}

// Channel returns the channel of that name, nil if there is none.
func (p *Pass) Channel(name string) *Cleaned {
	if i := slices.Index(p.Names, name); i >= 0 {
		return &p.Channels[i]
	}
	return nil
}

// Track has the data for a reading besides the pass itself. Distances are in
// metres.
type Track struct {
	Start   float64   // distance before the clock starts
	Marks   []float64 // distances at which times are taken
	Overall []float64 // overall ratio of each gear; nil if not known
}

// Reading is the evaluation of a pass. Here and in its parts times are in
// seconds since the pass's zero unless stated otherwise, distances in metres,
// speeds in m/s, engine speeds in turns per second.
type Reading struct {
	Splits  []Split
	Shifts  []Shift
	LockUp  *Point // when the clutch stops slipping in the first gear; nil if it does not
	Rollout []Bin
	Fuel    float64 // integral of the flow from the launch to the last mark, in SI; NaN without a flow
	Clock   float64 // when the clock starts
}

// Split is time and speed at a mark.
type Split struct {
	Mark    float64
	Elapsed float64 // seconds from the start of the clock
	Speed   float64 // at the mark
	Mean    float64 // over the last 66 ft before it, as on a slip
}

// Shift is a change of gear upwards.
type Shift struct {
	From   int
	Time   float64
	Engine float64 // the highest engine speed before it
	After  float64 // the lowest after it
	Speed  float64
}

// Point is a place of a pass.
type Point struct{ Time, Speed float64 }

// Bin is the state of the driven wheel around a speed.
type Bin struct {
	Speed   float64
	Rollout float64 // effective: metres for one turn of the wheel, slip subtracted; NaN without gears
	Slip    float64 // of the wheel against the track, a share; NaN without a wheel speed
	N       int
}

// Read evaluates the pass.
func (p *Pass) Read(track Track) Reading {
	r := Reading{Fuel: math.NaN(), Clock: math.NaN()}
	speed := p.Channel("speed")
	distance, ok := p.way()
	if ok {
		r.Clock = distance.First(track.Start, 0)
		if track.Start <= 0 {
			r.Clock = 0
		}
		r.Splits = splits(distance, speed, track, r.Clock)
	}
	if engine := p.Channel("engine_speed"); engine != nil && speed != nil {
		r.Shifts = shifts(engine, speed, track)
		r.LockUp = lockUp(engine, speed, r.Shifts)
	}
	r.Rollout = bins(p, track, r)
	if flow := p.Channel("fuel_flow"); flow != nil && r.Clock == r.Clock {
		end := p.End
		if n := len(r.Splits); n > 0 && r.Splits[n-1].Elapsed == r.Splits[n-1].Elapsed {
			end = r.Clock + r.Splits[n-1].Elapsed
		}
		r.Fuel = burnt(flow.Series, r.Clock, end)
	}
	return r
}

// burnt adds up a flow from the launch to end. If the first sample is after
// the launch and before the clock starts, its value is used for the time
// before.
func burnt(flow Series, clock, end float64) float64 {
	if flow.Len() == 0 || flow.T[0] > clock {
		return math.NaN()
	}
	from := max(0, flow.T[0])
	return float64(from*flow.V[0]) + flow.Integral(from, end)
}

// way returns the distance since the zero: as logged, otherwise the integral of
// the speed. ok is false if there is neither.
func (p *Pass) way() (Series, bool) {
	if d := p.Channel("distance"); d != nil && d.Len() > 1 {
		zero := d.At(0, math.Inf(1))
		if zero != zero {
			zero = d.V[0]
		}
		out := Series{T: d.T, V: make([]float64, d.Len())}
		for i, v := range d.V {
			out.V[i] = v - zero
		}
		return out, true
	}
	s := p.Channel("speed")
	if s == nil || s.Len() < 2 {
		return Series{}, false
	}
	from := s.Between(0, math.Inf(1))
	if from.Len() < 2 {
		return Series{}, false
	}
	// The distance between the zero and the first sample after it.
	out := from.Travel()
	first := float64(from.T[0] * max(0, from.V[0]) / 2)
	for i := range out.V {
		out.V[i] += first
	}
	return out, true
}

// lastSegment is the distance over which a slip averages its speed.
const lastSegment = 66 * 0.3048

func splits(distance Series, speed *Cleaned, track Track, clock float64) []Split {
	var out []Split
	for _, mark := range track.Marks {
		s := Split{Mark: mark, Elapsed: math.NaN(), Speed: math.NaN(), Mean: math.NaN()}
		at := distance.First(track.Start+mark, 0)
		s.Elapsed = at - clock
		if speed != nil {
			s.Speed = smooth(speed.Series, at, 0.025)
		}
		way := min(lastSegment, mark)
		before := distance.First(track.Start+mark-way, 0)
		if track.Start+mark-way <= 0 {
			before = 0
		}
		s.Mean = way / (at - before)
		out = append(out, s)
	}
	return out
}

// smooth returns the value of s at t on the straight line through the samples
// within half a width of it: a noisy channel needs more than two.
func smooth(s Series, t, half float64) float64 {
	if t != t {
		return math.NaN()
	}
	in := s.Between(t-half, t+half)
	if in.Len() < 4 || in.T[0] > t-half/2 || in.T[in.Len()-1] < t+half/2 {
		return s.At(t, math.Inf(1))
	}
	var st, sv, stt, stv float64
	n := float64(in.Len())
	for i := range in.T {
		x := in.T[i] - t
		st, sv, stt, stv = st+x, sv+in.V[i], stt+float64(x*x), stv+float64(x*in.V[i])
	}
	d := float64(n*stt) - float64(st*st)
	if !(d > 0) {
		return s.At(t, math.Inf(1))
	}
	return (float64(sv*stt) - float64(st*stv)) / d
}

// A shift is a fall of engine speed by shiftFall within shiftTime, while the
// machine does not slow down.
const (
	shiftFall = 0.05
	shiftTime = 0.20
	shiftGap  = 0.15 // between two of them
)

// shifts finds changes of gear by the fall of engine speed.
func shifts(engine, speed *Cleaned, track Track) []Shift {
	var out []Shift
	e := middle(engine.Series)
	top, at := math.Inf(-1), 0.0
	for i := 0; i < e.Len(); i++ {
		t, v := e.T[i], e.V[i]
		if t < 0 {
			continue
		}
		if v >= top || t-at > shiftTime {
			top, at = highest(e, t-shiftTime, t)
		}
		if v >= top*(1-shiftFall) || t <= at {
			continue
		}
		low := v
		for i+1 < e.Len() && e.T[i+1]-at < shiftTime && e.V[i+1] < low {
			i++
			low = e.V[i]
		}
		s := Shift{From: len(out) + 1, Time: at, Engine: top, After: low, Speed: smooth(speed.Series, at, 0.025)}
		if s.real(speed, e.T[i], track) && (len(out) == 0 || at-out[len(out)-1].Time > shiftGap) {
			out = append(out, s)
		}
		top, at = e.V[i], e.T[i]
	}
	return out
}

// highest returns the highest value of s between two times, and when it is.
func highest(s Series, lo, hi float64) (top, at float64) {
	top = math.Inf(-1)
	in := s.Between(max(0, lo), hi)
	for i, v := range in.V {
		if v >= top {
			top, at = v, in.T[i]
		}
	}
	return top, at
}

// middle returns s with every sample replaced by the median of three.
func middle(s Series) Series {
	out := Series{T: s.T, V: slices.Clone(s.V)}
	for i := 1; i+1 < len(s.V); i++ {
		a, b, c := s.V[i-1], s.V[i], s.V[i+1]
		out.V[i] = max(min(a, b), min(max(a, b), c))
	}
	return out
}

// real reports whether a fall of engine speed is a shift: the machine does not
// slow down as much, and if the gears are known, the fall fits the step between
// two of them.
func (s Shift) real(speed *Cleaned, until float64, track Track) bool {
	after := smooth(speed.Series, until, 0.025)
	if s.Speed == s.Speed && after == after && after < s.Speed*(1-shiftFall/2) {
		return false
	}
	if s.From >= len(track.Overall) {
		return track.Overall == nil
	}
	step := track.Overall[s.From] / track.Overall[s.From-1]
	return math.Abs(s.After/s.Engine-step) < 0.6*(1-step)
}

// A clutch is assumed to hold while the quotient of engine speed and speed is
// within heldWithin of its value at the end of the first gear, for at least
// heldFor: a slipping clutch changes it faster.
const (
	heldWithin = 0.015
	heldFor    = 0.08
	heldEnd    = 0.05
)

// lockUp finds the time from which engine and wheel turn together up to the
// end of the first gear; nil if there is none.
func lockUp(engine, speed *Cleaned, shifts []Shift) *Point {
	end := math.Inf(1)
	if len(shifts) > 0 {
		end = shifts[0].Time - 0.02
	}
	in := middle(engine.Between(0, end))
	var t, q []float64
	for i := range in.T {
		v := smooth(speed.Series, in.T[i], 0.025)
		if v > 1 {
			t, q = append(t, in.T[i]), append(q, in.V[i]/v)
		}
	}
	if len(q) < 8 {
		return nil
	}
	last := len(q) - 1
	from := last
	for from > 0 && (t[from] > t[last]-heldEnd || from > last-4) {
		from--
	}
	locked := median(slices.Clone(q[from:]))
	at := last
	for at > 0 && (math.Abs(q[at-1]/locked-1) < heldWithin || at > 1 && math.Abs(q[at-2]/locked-1) < heldWithin) {
		at--
	}
	if t[last]-t[at] < heldFor {
		return nil
	}
	return &Point{Time: t[at], Speed: smooth(speed.Series, t[at], 0.025)}
}

// binWidth is the width of a bin of speed, 10 mph.
const binWidth = 10 * 0.44704

// bins computes effective rollout and slip by speed, while the clutch holds and
// away from shifts.
func bins(p *Pass, track Track, r Reading) []Bin {
	speed, engine, wheel := p.Channel("speed"), p.Channel("engine_speed"), p.Channel("wheel_speed")
	if speed == nil || (engine == nil || track.Overall == nil) && wheel == nil {
		return nil
	}
	var rollouts, slips [][]float64
	in := speed.Between(0, p.End)
	for i, t := range in.T {
		v := in.V[i]
		k := int(v / binWidth)
		if v < binWidth || k > 100 {
			continue
		}
		for len(rollouts) <= k {
			rollouts, slips = append(rollouts, nil), append(slips, nil)
		}
		if wheel != nil {
			if w := wheel.At(t, wheel.Reach); w > v/2 {
				slips[k] = append(slips[k], 1-v/w)
			}
		}
		gear, ok := r.gear(t)
		if !ok || engine == nil || gear > len(track.Overall) {
			continue
		}
		if n := engine.At(t, engine.Reach); n > 0 {
			rollouts[k] = append(rollouts[k], v*track.Overall[gear-1]/n)
		}
	}
	var out []Bin
	for k := range rollouts {
		b := Bin{Speed: (float64(k) + 0.5) * binWidth, Rollout: math.NaN(), Slip: math.NaN(), N: max(len(rollouts[k]), len(slips[k]))}
		if b.N < 3 {
			continue
		}
		if len(rollouts[k]) >= 3 {
			b.Rollout = median(rollouts[k])
		}
		if len(slips[k]) >= 3 {
			b.Slip = median(slips[k])
		}
		if b.Rollout == b.Rollout || b.Slip == b.Slip {
			out = append(out, b)
		}
	}
	return out
}

// gear returns the gear at a time; ok is false around shifts and while the
// clutch slips.
func (r *Reading) gear(t float64) (int, bool) {
	slips := r.LockUp == nil && (len(r.Shifts) == 0 || t <= r.Shifts[0].Time)
	if slips || r.LockUp != nil && t < r.LockUp.Time+0.03 {
		return 0, false
	}
	gear := 1
	for _, s := range r.Shifts {
		if math.Abs(t-s.Time-0.06) < 0.12 {
			return 0, false
		}
		if t > s.Time {
			gear++
		}
	}
	return gear, true
}
