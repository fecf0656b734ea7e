package runlog

import (
	"math"
	"testing"
)

// rising is a pass of ten seconds, and hump an engine speed with shifts.
func rising() (speed, hump Series) {
	for i := range 1001 {
		t := float64(i) / 100
		speed.T, speed.V = append(speed.T, t), append(speed.V, 80*(1-math.Exp(-t/4)))
		hump.T, hump.V = append(hump.T, t), append(hump.V, 100+60*math.Mod(t/2+0.3*t, 1))
	}
	return speed, hump
}

// recorded is a log that holds a burnout, then the pass at every time of at,
// then idles.
func recorded(pass Series, at []float64, end, idle float64, burnout bool) Series {
	var out Series
	for i := range int(end * 100) {
		t := float64(i) / 100
		v := idle
		if burnout && t > 5 && t < 9 {
			v = 30
		}
		for _, zero := range at {
			if x := t - zero; x >= 0 && x <= 10 {
				v = pass.At(math.Round(x*100)/100, 1)
			}
		}
		v += 0.05 * math.Sin(float64(i)*2.3)
		out.T, out.V = append(out.T, t), append(out.V, v)
	}
	return out
}

func TestLaunches(t *testing.T) {
	pass, _ := rising()
	for name, c := range map[string]struct {
		at      []float64
		end     float64
		burnout bool
		want    []float64
		short   float64
	}{
		"one":           {[]float64{20}, 40, false, []float64{20}, 0},
		"after burnout": {[]float64{20}, 40, true, []float64{20}, 0},
		"two":           {[]float64{20, 60}, 80, true, []float64{20, 60}, 0},
		"short":         {[]float64{20}, 27, false, []float64{20}, 3},
		"none":          {nil, 40, true, nil, 0},
	} {
		found := Launches(pass, recorded(pass, c.at, c.end, 0, c.burnout), "speed")
		if len(found) != len(c.want) {
			t.Errorf("%s: %v", name, found)
			continue
		}
		for i, l := range found {
			if math.Abs(l.At-c.want[i]) > 0.01 || math.Abs(l.Short-c.short) > 0.05 {
				t.Errorf("%s: %+v, want %v and %v s short", name, l, c.want[i], c.short)
			}
		}
	}
}

// TestCorrelate: a course of any shape is found where it fits, spikes or not.
func TestCorrelate(t *testing.T) {
	_, hump := rising()
	log := recorded(hump, []float64{23.456}, 50, 50, false)
	for i := 100; i < log.Len(); i += 400 {
		log.V[i] *= 4
	}
	l, ok := Correlate(hump, log, "engine_speed")
	if !ok || math.Abs(l.At-23.456) > 0.02 {
		t.Errorf("%+v, %v", l, ok)
	}
	if _, ok := Correlate(hump, Series{}, "engine_speed"); ok {
		t.Error("an empty log fits")
	}
}
