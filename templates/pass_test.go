package templates_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/sheet"
)

// TestExactSolutions runs the pass with its limits taken away by givens, where
// the answer is known: each worksheet of testdata/pass states it as limits.
func TestExactSolutions(t *testing.T) {
	paths, err := filepath.Glob("../testdata/pass/*.leaf")
	if err != nil || len(paths) < 5 {
		t.Fatalf("%d worksheets, %v", len(paths), err)
	}
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".leaf"), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			here := filepath.Join(folder(t), filepath.Base(path))
			if err := os.WriteFile(here, text, 0o644); err != nil {
				t.Fatal(err)
			}
			r := with(t, here)
			own := 0
			for _, l := range r.Sheet.Model.Limits {
				if l.Advise {
					continue
				}
				if l.Origin.File == 0 {
					own++
				}
				if state, _ := r.Limit(l); state != sheet.Kept {
					t.Errorf("%s: %s is %s", l.Message, l.Text, state)
				}
			}
			if own < 2 {
				t.Errorf("it states %d limits of its own", own)
			}
		})
	}
}

// TestHalfTheStep takes steps of 33, 20 and 10 ms: a time on the slip may move
// by no more than the last digit shown when the usual step is halved, and by
// less than from the coarse step to the usual one. Second order makes that
// 0.44 of it; a fiftieth of the digit is as good as nothing.
func TestHalfTheStep(t *testing.T) {
	coarse := template(t, "quarter-mile", "step=33ms")
	usual := template(t, "quarter-mile")
	half := template(t, "quarter-mile", "step=10ms")
	for _, c := range []struct {
		column string
		most   float64
	}{{"slip.elapsed", 1.5e-3}, {"slip.at_mark", 0.05 * 0.44704}, {"slip.on_slip", 0.05 * 0.44704}} {
		for _, row := range []string{"[1]", "[2]", "[3]", "[4]", "[5]"} {
			a, b, d := value(t, coarse, c.column+row), value(t, usual, c.column+row), value(t, half, c.column+row)
			if !(math.Abs(b-d) <= c.most) {
				t.Errorf("%s%s moves by %g with half the step", c.column, row, b-d)
			}
			if !(math.Abs(b-d) <= max(0.6*math.Abs(a-b), c.most/50)) {
				t.Errorf("%s%s moves by %g with half the step, by %g before", c.column, row, b-d, a-b)
			}
			if !(math.Abs(a-d) <= 4*c.most) {
				t.Errorf("%s%s moves by %g with a quarter of the step", c.column, row, a-d)
			}
		}
	}
}

// TestRulingLimit drives the pass under each limit: the sheet names the one
// that rules.
func TestRulingLimit(t *testing.T) {
	for _, c := range []struct {
		rules    string
		settings []string
	}{
		{"front wheel", nil},
		{"grip", []string{"friction=1.2"}},
		{"grip", []string{"wheelie_bar=yes", "friction=1.2"}},
		{"clutch", []string{"clutch_spring=300lbf"}},
		{"power", []string{"power_ratio=50%"}},
	} {
		r := template(t, "quarter-mile", c.settings...)
		if got := word(t, r, "run.ruling[10]"); got != c.rules {
			t.Errorf("%v: %s rules at the start, want %s", c.settings, got, c.rules)
		}
		_, ruling := r.Sheet.Model.Resolve("run.ruling")
		rows, _ := r.Live(ruling.Table)
		shifts := 0
		for row := range rows {
			if r.Sheet.Model.Texts[int(r.Entry(ruling, row).V)] == "shift" {
				shifts++
			}
		}
		if shifts == 0 {
			t.Errorf("%v: no row says shift", c.settings)
		}
	}
	// On and off for much of the track: the front wheel rules after first gear, too.
	r := template(t, "quarter-mile")
	if got := shown(t, r, "front_rules"); !(got > 1.7 && got < 4) {
		t.Errorf("the front wheel rules for %g s", got)
	}
}

// TestEighth runs half the track: the first half of the slip is the same, and
// marks that were not reached are marked so.
func TestEighth(t *testing.T) {
	full, half := template(t, "quarter-mile"), template(t, "quarter-mile", "track=660ft")
	for _, name := range []string{"slip.elapsed[1]", "slip.elapsed[2]", "slip.elapsed[3]", "slip.on_slip[3]"} {
		if a, b := value(t, full, name), value(t, half, name); math.Abs(a-b) > 1e-5 {
			t.Errorf("%s: %g on the quarter, %g on the eighth", name, a, b)
		}
	}
	within(t, "the finish", value(t, half, "elapsed_time"), value(t, full, "slip.elapsed[3]"), 1e-5)
	if value(t, half, "slip.reached[4]") != 0 {
		t.Error("1000 ft is reached on an eighth")
	}
}

// TestSlowPassEnds drives a weak, heavy machine with half the usual step: the
// table has rows for 12 s.
func TestSlowPassEnds(t *testing.T) {
	r := template(t, "quarter-mile", "step=10ms", "power_fit=80%", "power_ratio=50%", "mass_with_rider=1000lb", "drag_area=0.65m2")
	if time := value(t, r, "elapsed_time"); !(time > 11.5 && time < 12) {
		t.Errorf("it takes %g s", time)
	}
}
