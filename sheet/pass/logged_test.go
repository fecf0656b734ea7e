package pass_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/pass"
)

// passSheet is the pass worksheet among the templates.
const passSheet = "../../templates/quarter-mile.leaf"

func loadPass(t testing.TB, settings ...string) *sheet.Sheet {
	t.Helper()
	s, list := sheet.Load(passSheet)
	if s == nil {
		t.Fatal(list)
	}
	for _, text := range settings {
		set, d := s.ParseSetting(text)
		if d != nil {
			t.Fatal(d.Message)
		}
		s.Set(set)
	}
	return s
}

// invent writes a log of a pass to a file.
func invent(t testing.TB, s *sheet.Sheet, change func(q *pass.InventQuestion)) string {
	t.Helper()
	q := pass.InventQuestion{
		Mapping: pass.Mapping(s), Seed: 1, Rate: 200, Noise: 1, Delimiter: ',', Point: '.', Offset: 100, Before: 3, After: 2,
	}
	if change != nil {
		change(&q)
	}
	var b bytes.Buffer
	if err := pass.Invent(s, &b, q); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "run.csv")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func hold(t testing.TB, s *sheet.Sheet, path string, change func(q *pass.LogQuestion)) *pass.Logged {
	t.Helper()
	file, err := pass.ReadLog(s, path, pass.Mapping(s), nil)
	if err != nil {
		t.Fatal(err)
	}
	q := pass.LogQuestion{Mapping: pass.Mapping(s), File: file}
	if change != nil {
		change(&q)
	}
	h, err := pass.Hold(s, q)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestLogOfItself: a log made from the sheet's own pass shows what the sheet
// shows, with every fault of the logger.
func TestLogOfItself(t *testing.T) {
	for name, change := range map[string]func(q *pass.InventQuestion){
		"plain":                nil,
		"faults":               func(q *pass.InventQuestion) { q.Faults = true },
		"semicolons, commas":   func(q *pass.InventQuestion) { q.Delimiter, q.Point, q.UnitRow = ';', ',', true },
		"tabs, slow":           func(q *pass.InventQuestion) { q.Delimiter, q.Rate, q.Seed = '\t', 50, 7 },
		"a thousand a second":  func(q *pass.InventQuestion) { q.Rate, q.Seed = 1000, 3 },
		"no noise, no waiting": func(q *pass.InventQuestion) { q.Noise, q.Before, q.Offset = 0, 1, 0 },
	} {
		t.Run(name, func(t *testing.T) {
			s := loadPass(t)
			before, offset := 3.0, 100.0
			if name == "no noise, no waiting" {
				before, offset = 1, 0
			}
			h := hold(t, s, invent(t, s, change), nil)
			if d := h.Launch.At - before - offset; math.Abs(d) > 0.01 {
				t.Errorf("the launch is %.4f s off", d)
			}
			sameReading(t, h)
		})
	}
}

func sameReading(t *testing.T, h *pass.Logged) {
	t.Helper()
	ours, theirs := h.OursRead, h.LogRead
	if len(ours.Splits) != 5 || len(theirs.Splits) != 5 {
		t.Fatalf("%d and %d splits", len(ours.Splits), len(theirs.Splits))
	}
	for i, a := range ours.Splits {
		b := theirs.Splits[i]
		if !(math.Abs(a.Elapsed-b.Elapsed) < 0.012) || !(math.Abs(a.Speed-b.Speed) < 0.6) || !(math.Abs(a.Mean-b.Mean) < 0.5) {
			t.Errorf("at %.0f m the sheet has %+v, the log %+v", a.Mark, a, b)
		}
	}
	if len(ours.Shifts) != 5 || len(theirs.Shifts) != 5 {
		t.Fatalf("%d shifts in the sheet's pass, %d in the log", len(ours.Shifts), len(theirs.Shifts))
	}
	for i, a := range ours.Shifts {
		b := theirs.Shifts[i]
		if math.Abs(a.Time-b.Time) > 0.06 || math.Abs(a.Engine-b.Engine) > 2 {
			t.Errorf("shift %d: %+v, in the log %+v", i+1, a, b)
		}
	}
	if ours.LockUp == nil || theirs.LockUp == nil || math.Abs(ours.LockUp.Time-theirs.LockUp.Time) > 0.12 {
		t.Errorf("lock-up at %+v, in the log at %+v", ours.LockUp, theirs.LockUp)
	}
	if !(math.Abs(ours.Fuel/theirs.Fuel-1) < 0.03) {
		t.Errorf("fuel %g, in the log %g", ours.Fuel, theirs.Fuel)
	}
	for _, b := range theirs.Rollout {
		for _, a := range ours.Rollout {
			if a.Speed == b.Speed && (math.Abs(a.Rollout/b.Rollout-1) > 0.006 || math.Abs(a.Slip-b.Slip) > 0.006+0.8/a.Speed/math.Sqrt(float64(b.N))) {
				t.Errorf("at %.0f m/s: %+v, in the log %+v", a.Speed, a, b)
			}
		}
	}
	if len(theirs.Rollout) < 10 {
		t.Errorf("only %d speeds with a rollout", len(theirs.Rollout))
	}
}

// TestReadingAgreesWithTheSheet compares the reading of the computed pass with what
// the sheet itself works out of it.
func TestReadingAgreesWithTheSheet(t *testing.T) {
	s := loadPass(t)
	h := hold(t, s, invent(t, s, nil), nil)
	value := func(name string) float64 {
		p, d := s.Place(name)
		if d != nil {
			t.Fatal(d.Message)
		}
		return h.Result.At(p).V
	}
	last := h.OursRead.Splits[4]
	for what, pair := range map[string][2]float64{
		"elapsed": {last.Elapsed, value("elapsed_time")},
		"trap":    {last.Mean, value("trap_speed")},
		"finish":  {last.Speed, value("finish_speed")},
	} {
		if !(math.Abs(pair[0]/pair[1]-1) <= 1e-4) {
			t.Errorf("%s is read as %g, the sheet has %g", what, pair[0], pair[1])
		}
	}
	// A reading interpolates linearly from row to row, and the first rows
	// curve most.
	if at := value("clock_start"); !(math.Abs(h.OursRead.Clock-at) <= 0.2e-3) {
		t.Errorf("the clock is read to start at %g, the sheet has %g", h.OursRead.Clock, at)
	}
	if at := value("lock_up") + value("clock_start"); math.Abs(h.OursRead.LockUp.Time-at) > 0.1 {
		t.Errorf("lock-up is read at %g, the sheet has %g", h.OursRead.LockUp.Time, at)
	}
	if fuel := value("pass_fuel") / value("fuel_weighs"); !(math.Abs(h.OursRead.Fuel/fuel-1) <= 2e-3) {
		t.Errorf("fuel is read as %g, the sheet has %g", h.OursRead.Fuel, fuel)
	}
}

// TestFitRecovers: fitting a log gives back the givens that made it, as
// nearly as its own standard errors say.
func TestFitRecovers(t *testing.T) {
	truth := map[string]string{"drag_area": "0.43 m2", "drive_efficiency": "88.5 %", "tyre_rollout": "2052 mm", "tyre_growth": "3.1e-6 s2/m2"}
	for seed := range uint64(3) {
		other := loadPass(t, "drag_area=0.43 m2", "drive_efficiency=88.5 %", "tyre_rollout=2052 mm", "tyre_growth=3.1e-6 s2/m2")
		path := invent(t, other, func(q *pass.InventQuestion) { q.Seed, q.Faults, q.Offset = seed, seed == 1, 12.345 })
		s := loadPass(t)
		by, d := pass.ParseFree(s, []string{"drag_area", "drive_efficiency", "tyre_rollout", "tyre_growth"})
		if d != nil {
			t.Fatal(d.Message)
		}
		f, err := pass.Fit(context.Background(), s, pass.FitQuestion{Logged: hold(t, s, path, nil), By: by})
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range f.Givens {
			want := parsed(t, s, g.Name()+"="+truth[g.Name()])
			off := math.Abs(g.After-want) / g.Error
			t.Logf("seed %d: %s %g → %g, true %g, error %g", seed, g.Name(), g.Before, g.After, want, g.Error)
			if g.Unknown || g.AtBound || off > 4 {
				t.Errorf("seed %d: %s comes to %g, true is %g: %.1f standard errors (%g) off", seed, g.Name(), g.After, want, off, g.Error)
			}
			if g.Error > 0.25*math.Abs(want) {
				t.Errorf("seed %d: %s is known to %g only", seed, g.Name(), g.Error)
			}
		}
		for _, c := range f.Channels {
			t.Logf("  %s: %d values, %g → %g, %d doubted; lag %.2f", c.Channel.Name, c.N, c.Before, c.After, c.Doubted, f.Lag)
		}
		t.Logf("  pairs %v clock %g ± %g, rounds %d evaluations %d", f.Pairs, f.Clock, f.ClockError, f.Estimate.Rounds, f.Estimate.Evaluations)
	}
}

func parsed(t *testing.T, s *sheet.Sheet, text string) float64 {
	t.Helper()
	set, d := s.ParseSetting(text)
	if d != nil {
		t.Fatal(d.Message)
	}
	return set.Value
}

// TestFitCannotTell: the density of the air and the drag area occur only as
// one drag, whatever is measured; power and the efficiency of the drive occur
// as one thrust, and only the fuel flow distinguishes them.
func TestFitCannotTell(t *testing.T) {
	s := loadPass(t)
	h := hold(t, s, invent(t, s, nil), nil)
	for _, c := range []struct {
		by      []string
		against []string
		parted  bool
	}{
		{[]string{"air_density", "drag_area"}, nil, false},
		{[]string{"power_ratio", "drive_efficiency"}, []string{"speed", "engine_speed"}, false},
		{[]string{"power_ratio", "drive_efficiency"}, []string{"speed", "engine_speed", "fuel_flow"}, true},
	} {
		by, d := pass.ParseFree(s, c.by)
		if d != nil {
			t.Fatal(d.Message)
		}
		f, err := pass.Fit(context.Background(), s, pass.FitQuestion{Logged: h, By: by, Against: c.against})
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for _, p := range f.Pairs {
			if p.A == c.by[0] && p.B == c.by[1] {
				worst = math.Abs(p.Coefficient)
			}
		}
		reported := len(f.Estimate.Open) > 0 || worst > pass.Inseparable
		if reported == c.parted {
			t.Errorf("%v against %v: correlation %g, open %v, errors %v", c.by, c.against, worst, f.Estimate.Open, f.Estimate.Error)
		}
	}
}

// sensorSheet is the pass worksheet with one more channel of the log.
func sensorSheet(t *testing.T, line string) *sheet.Sheet {
	t.Helper()
	text, err := os.ReadFile(passSheet)
	if err != nil {
		t.Fatal(err)
	}
	whole := strings.Replace(string(text), "log run\n", "log run\n  "+line+"\n", 1)
	s, list := sheet.FromText("pass.leaf", whole)
	if s == nil {
		t.Fatal(list)
	}
	return s
}

// TestAbsoluteIsNoBoost: a column that shows the outside air's pressure while
// the machine is at rest is absolute; it is refused as boost, with a note where the
// log does not show it for certain.
func TestAbsoluteIsNoBoost(t *testing.T) {
	s := sensorSheet(t, `boost : from "MAP" kPag`)
	for _, c := range []struct {
		what  string
		value func(t, gauge float64) float64
		want  string // of the error; "note" for one in the notes
	}{
		{"gauge", func(t, gauge float64) float64 { return gauge }, ""},
		{"absolute", func(t, gauge float64) float64 { return gauge + 99 }, "absolute"},
		{"absolute, the speed late", func(t, gauge float64) float64 {
			if t > -0.2 {
				return 99 + 123
			}
			return 99
		}, "absolute"},
		{"gauge, on boost at the line", func(t, gauge float64) float64 { return gauge + 60 + 8*math.Sin(9*t) }, "note"},
	} {
		path := filepath.Join(t.TempDir(), "run.csv")
		text := "Time,GPS speed,Engine speed,Wheel speed,Fuel flow,MAP\n"
		for i := range 1200 {
			at := float64(i)*0.01 - 3
			speed, gauge := 0.0, 0.0
			if at > 0 {
				speed, gauge = 196*(1-math.Exp(-at/2.9)), 123+5*math.Min(at, 4)
			}
			text += fmt.Sprintf("%.2f,%.2f,%.0f,%.2f,%.0f,%.1f\n", at+3, speed, 9000.0, speed, 900.0, c.value(at, gauge))
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		file, err := pass.ReadLog(s, path, pass.Mapping(s), nil)
		if err != nil {
			t.Fatal(err)
		}
		h, err := pass.Hold(s, pass.LogQuestion{Mapping: pass.Mapping(s), File: file})
		switch {
		case c.want == "absolute":
			if err == nil || !strings.Contains(err.Error(), "absolute") || !strings.Contains(err.Error(), `manifold_pressure : from "MAP" kPaa`) {
				t.Errorf("%s: %v", c.what, err)
			}
		case err != nil:
			t.Errorf("%s: %v", c.what, err)
		case strings.Contains(strings.Join(h.Notes, "\n"), "absolute") != (c.want == "note"):
			t.Errorf("%s: notes %q", c.what, h.Notes)
		}
	}
}

// TestDelayOfAChannel: a speed that comes late is compared, lined up and fitted
// at the time at which it was measured.
func TestDelayOfAChannel(t *testing.T) {
	path := invent(t, loadPass(t, "speed_delay=140 ms"), nil)
	s := loadPass(t)
	plain := hold(t, s, path, nil)
	if d := plain.Launch.At - 103; !(d > 0.12) {
		t.Errorf("a late speed lines up %.3f s late; the test has no delay", d)
	}
	reported := hold(t, loadPass(t, "speed_delay=140 ms"), path, nil)
	if d := reported.Launch.At - 103; math.Abs(d) > 0.01 {
		t.Errorf("with its delay the launch is %.4f s off", d)
	}
	sameReading(t, reported)
	by, d := pass.ParseFree(s, []string{"speed_delay", "drag_area"})
	if d != nil {
		t.Fatal(d.Message)
	}
	f, err := pass.Fit(context.Background(), s, pass.FitQuestion{Logged: plain, By: by})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{0.140, 0.39} {
		g := f.Givens[i]
		if g.Unknown || math.Abs(g.After-want) > 4*g.Error || g.Error > 0.05*want {
			t.Errorf("%s: %g ± %g, true %g", g.Name(), g.After, g.Error, want)
		}
	}
	_, err = pass.Fit(context.Background(), s, pass.FitQuestion{Logged: plain, By: by[:1], Against: []string{"speed"}})
	if err == nil || !strings.Contains(err.Error(), "another channel") {
		t.Errorf("a delay against the speed alone: %v", err)
	}
}

// TestFitLeavesAFlatSpot: where nothing depends on a given at the sheet's own
// value, other starts are tried, and the value from which it has an effect is
// reported.
func TestFitLeavesAFlatSpot(t *testing.T) {
	s := loadPass(t)
	fit := func(path, name string) pass.FittedGiven {
		by, d := pass.ParseFree(s, []string{name})
		if d != nil {
			t.Fatal(d.Message)
		}
		f, err := pass.Fit(context.Background(), s, pass.FitQuestion{Logged: hold(t, s, path, nil), By: by})
		if err != nil {
			t.Fatal(err)
		}
		return f.Givens[0]
	}
	slippery := invent(t, loadPass(t, "friction=1.4"), nil)
	if g := fit(slippery, "friction"); g.Unknown || math.Abs(g.After-1.4) > 4*g.Error || g.Spot.Left != 2.5 || !(g.Spot.Below < 2.5) {
		t.Errorf("friction comes to %g ± %g, true is 1.4; %+v", g.After, g.Error, g.Spot)
	}
	g := fit(invent(t, s, nil), "friction")
	if !g.Unknown || !g.Spot.Flat || g.Spot.Everywhere() || g.Spot.Above == g.Spot.Above || !(g.Spot.Below > 1.4 && g.Spot.Below < 2.5) {
		t.Errorf("of itself: friction %g ± %g, %+v", g.After, g.Error, g.Spot)
	}
	time := func(friction float64) float64 {
		r, err := loadPass(t, fmt.Sprintf("friction=%g", friction)).Compute()
		if err != nil {
			t.Fatal(err)
		}
		p, _ := s.Place("elapsed_time")
		return r.At(p).V
	}
	if a, b, c := time(2.5), time(g.Spot.Below*1.001), time(g.Spot.Below*0.99); a != b || a == c {
		t.Errorf("the pass takes %g s, %g s above %g, %g s below", a, b, g.Spot.Below, c)
	}
	if g := fit(invent(t, s, nil), "bar_length"); !g.Spot.Everywhere() {
		t.Errorf("without a bar its length: %+v", g.Spot)
	}
}

// TestFitSaysWhatGotWorse: a channel that fits worse after the fit is
// reported. Here the engine makes more power of less fuel: with more power the
// speeds fit better, and the fuel worse.
func TestFitSaysWhatGotWorse(t *testing.T) {
	path := invent(t, loadPass(t, "consumption_today=0.86 lb/(hp.h)", "power_fit=104 %"), nil)
	s := loadPass(t)
	by, _ := pass.ParseFree(s, []string{"power_fit"})
	f, err := pass.Fit(context.Background(), s, pass.FitQuestion{Logged: hold(t, s, path, nil), By: by})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range f.Channels {
		if want := c.Channel.Name == "fuel_flow"; c.Worse() != want {
			t.Errorf("%s: %g before, %g after, worse %v", c.Channel.Name, c.Before, c.After, c.Worse())
		}
	}
}
