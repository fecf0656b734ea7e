package question_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/question"
	"gearleaf/templates"
)

func sweepOf(t testing.TB, s *sheet.Sheet, show []string, inputs ...string) *question.Sweep {
	t.Helper()
	var axes []question.Axis
	for _, text := range inputs {
		axes = append(axes, axis(t, s, text, false))
	}
	w, d := question.NewSweep(s, axes, shown(t, s, show...))
	if d != nil {
		t.Fatal(d.Message)
	}
	return w
}

// lines runs w and writes every scenario on a line.
func lines(t testing.TB, w *question.Sweep) ([]string, question.Tally) {
	t.Helper()
	var out []string
	tally, err := question.RunSweep(context.Background(), w, func(*question.Block, *int) {}, func(b *question.Block, _ *int) error {
		for i := range b.N {
			line := fmt.Sprint(b.From+i, ":")
			for k := range b.Inputs {
				line += fmt.Sprintf(" %x", math.Float64bits(b.Inputs[k][i]))
			}
			for k := range b.Shown {
				line += fmt.Sprintf(" %x", math.Float64bits(b.Shown[k][i]))
			}
			out = append(out, line+fmt.Sprint(b.Broken[i], b.Waiting[i], b.Hole[i]))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out, tally
}

const faulty = `x : 1
y : 2
z = sqrt(x) / y
w = z + 1
limit x + y <= 4
limit z >= 0
`

func TestSweepCounts(t *testing.T) {
	s := loaded(t, faulty)
	w := sweepOf(t, s, []string{"w", "z"}, "x=-1..2 by 1", "y=0, 1, 3")
	got, tally := lines(t, w)
	if len(got) != 12 || tally.Scenarios != 12 {
		t.Fatalf("%d scenarios of 12", len(got))
	}
	// x -1 has no root whatever y is; y 0 has no quotient for the other three.
	if tally.Faulty != 6 || len(tally.Holes) != 2 {
		t.Errorf("%d at fault: %v", tally.Faulty, tally.Holes)
	}
	for cause, n := range tally.Holes {
		if !strings.HasPrefix(cause, "z: ") || n != 3 {
			t.Errorf("%d × %s", n, cause)
		}
	}
	if tally.Breaking != 1 || !slices.Equal(tally.Broken, []int{1, 0}) || !slices.Equal(tally.Waiting, []int{0, 6}) {
		t.Errorf("breaking %d, broken %v, waiting %v", tally.Breaking, tally.Broken, tally.Waiting)
	}
}

// TestSweepDependsOnNothingElse runs one sweep on other numbers of workers, and
// in parts.
func TestSweepDependsOnNothingElse(t *testing.T) {
	s := loaded(t, faulty)
	make := func() *question.Sweep {
		return sweepOf(t, s, []string{"w"}, "x=-1..2 by 0.01", "y=0..3 by 0.5")
	}
	draw := func() *question.Sweep {
		w, d := question.NewSweep(s, []question.Axis{axis(t, s, "x=-1..2", true), axis(t, s, "y=1,2", true)}, shown(t, s, "w"))
		if d != nil {
			t.Fatal(d.Message)
		}
		w.Draw(1999, 7)
		return w
	}
	for name, one := range map[string]func() *question.Sweep{"combined": make, "drawn": draw} {
		w := one()
		w.Workers = 1
		want, tally := lines(t, w)
		for _, workers := range []int{2, 5} {
			w := one()
			w.Workers = workers
			if got, _ := lines(t, w); !slices.Equal(got, want) {
				t.Errorf("%s: %d workers give something else", name, workers)
			}
		}
		for _, shards := range []int{2, 3, 7, 40} {
			var all []string
			faults := 0
			for i := range shards {
				w := one()
				w.Shard, w.Shards = i, shards
				part, t := lines(t, w)
				all = append(all, part...)
				faults += t.Faulty
			}
			if !slices.Equal(all, want) || faults != tally.Faulty {
				t.Errorf("%s: %d parts are not the whole", name, shards)
			}
		}
	}
}

// TestSweepIsWhatCalcSays compares scenarios of the template with the sheet
// computed by itself.
func TestSweepIsWhatCalcSays(t *testing.T) {
	text, _ := templates.Find("sprocket-change")
	s := loaded(t, text.Text)
	show := []string{"finish_engine_speed", "chain_links", "gears.speed[3]", "ruling_limit"}
	w := sweepOf(t, s, show, "rear_sprocket", "tyre_rollout=1900..2000 mm by 50 mm")
	var inputs, values [][]float64
	_, err := question.RunSweep(context.Background(), w, func(*question.Block, *int) {}, func(b *question.Block, _ *int) error {
		for i := range b.N {
			inputs = append(inputs, []float64{b.Inputs[0][i], b.Inputs[1][i]})
			values = append(values, []float64{b.Shown[0][i], b.Shown[1][i], b.Shown[2][i], b.Shown[3][i]})
		}
		return nil
	})
	if err != nil || len(values) != 21 {
		t.Fatal(len(values), err)
	}
	for i, in := range inputs {
		one := loaded(t, text.Text)
		for k, a := range w.Axes {
			set, d := one.ParseSetting(a.Name() + "=" + one.Text(a.Quantity(), in[k]))
			if d != nil {
				t.Fatal(d.Message)
			}
			one.Set(set)
		}
		r, err := one.Compute()
		if err != nil {
			t.Fatal(err)
		}
		for k, name := range show {
			p, _ := one.Place(name)
			if r.At(p).V != values[i][k] {
				t.Errorf("scenario %d, %s: %v, by itself %v", i, name, values[i][k], r.At(p).V)
			}
		}
	}
}

func TestSweepRefusesTwice(t *testing.T) {
	s := loaded(t, faulty)
	if _, d := question.NewSweep(s, []question.Axis{axis(t, s, "x=1,2", false), axis(t, s, "x=3,4", false)}, shown(t, s, "w")); d == nil {
		t.Error("one given is swept twice")
	}
}

func TestSweepStops(t *testing.T) {
	s := loaded(t, faulty)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	blocks := 0
	_, err := question.RunSweep(ctx, sweepOf(t, s, []string{"w"}, "x=1..2 by 0.00001"), func(*question.Block, *int) {}, func(*question.Block, *int) error {
		if blocks++; blocks == 3 {
			cancel()
		}
		return nil
	})
	if !errors.Is(err, context.Canceled) || blocks != 3 {
		t.Errorf("%d blocks, %v", blocks, err)
	}
	full := errors.New("the disk is full")
	_, err = question.RunSweep(context.Background(), sweepOf(t, s, []string{"w"}, "x=1..2 by 0.00001"), func(*question.Block, *int) {}, func(*question.Block, *int) error { return full })
	if !errors.Is(err, full) {
		t.Errorf("%v", err)
	}
}

// BenchmarkSweepTemplate sweeps three givens of the sprocket template that
// together reach most of it.
func BenchmarkSweepTemplate(b *testing.B) {
	text, _ := templates.Find("sprocket-change")
	s := loaded(b, text.Text)
	for _, workers := range []int{1, 2} {
		b.Run(fmt.Sprint(workers, " workers"), func(b *testing.B) {
			w := sweepOf(b, s, []string{"finish_engine_speed", "slot_place", "start_thrust"},
				"tyre_rollout=1900..2000 mm by 0.1 mm", "rear_sprocket", "shift_speed=9000..13000 rpm by 100 rpm")
			w.Workers = workers
			n, _ := w.Size()
			for b.Loop() {
				if _, err := question.RunSweep(context.Background(), w, func(*question.Block, *int) {}, func(*question.Block, *int) error { return nil }); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "scenarios/s")
		})
	}
}
