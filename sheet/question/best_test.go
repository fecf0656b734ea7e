package question_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"gearleaf/sheet/question"
)

func best(t testing.TB, text, goal string, maximise bool, workers int, by ...string) *question.Best {
	t.Helper()
	s := loaded(t, text)
	p, d := question.ParseTarget(s, goal)
	if d != nil {
		t.Fatal(d.Message)
	}
	q := question.BestQuestion{Goal: p, Maximise: maximise, Seed: 1, Keep: 5, Workers: workers}
	for _, text := range by {
		q.By = append(q.By, axis(t, s, text, true))
	}
	out, err := question.BestOf(context.Background(), s, q)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func ranking(b *question.Best) string {
	var out strings.Builder
	for _, r := range b.Ranking {
		fmt.Fprintf(&out, "%v %v %d; ", r.Inputs, r.Value, len(r.Broken))
	}
	return out.String()
}

func TestBestOfAllCombinations(t *testing.T) {
	const text = "a : 2 teeth range 1..9\nb : 3 choice 3, 1, 2\nv = a * b\nlimit v <= 20 \"too much\"\n"
	b := best(t, text, "v", true, 0, "a", "b")
	if !b.Exhaustive || b.Combinations != 27 || b.Evaluations != 27 {
		t.Errorf("exhaustive %v, %d combinations, %d evaluations", b.Exhaustive, b.Combinations, b.Evaluations)
	}
	if got, want := ranking(b), "[6 3] 18 0; [9 2] 18 0; [8 2] 16 0; [5 3] 15 0; [7 2] 14 0; "; got != want {
		t.Errorf("ranking %s, want %s", got, want)
	}
	small := best(t, text, "v", false, 0, "a", "b")
	if got := small.Ranking[0]; got.Value != 1 || got.Inputs[0] != 1 || got.Inputs[1] != 1 {
		t.Errorf("smallest %v", got)
	}
}

// TestBestSaysWhatItBreaks has a limit that nothing keeps.
func TestBestSaysWhatItBreaks(t *testing.T) {
	b := best(t, "a : 2 choice 1, 2, 3\nv = a\nlimit a > 5\nlimit a < 3\nlimit sqrt(a - 2) >= 0\n", "v", true, 0, "a")
	if got, want := ranking(b), "[2] 2 1; [3] 3 2; [1] 1 2; "; got != want {
		t.Errorf("ranking %s, want %s", got, want)
	}
}

func TestBestCountsHoles(t *testing.T) {
	b := best(t, "a : 2 choice 0, 1, 2\nv = 1 / (a - 1)\n", "v", true, 0, "a")
	if len(b.Holes) != 1 || b.Ranking[0].Value != 1 || len(b.Ranking) != 2 {
		t.Errorf("holes %v, ranking %s", b.Holes, ranking(b))
	}
}

// TestBestSearch has optima that are known on paper.
func TestBestSearch(t *testing.T) {
	for _, c := range []struct {
		name, text string
		by         []string
		want       []float64
		within     float64
	}{
		{"inside the box", "x : 1 range 0..10\ny : 1 range 0..10\nv = 7 - (x - 3)^2 - (y - 4)^2\n", []string{"x", "y"}, []float64{3, 4}, 1e-6},
		{"in a corner", "x : 1 range 0..10\ny : 1 range 0..10\nv = x - y\n", []string{"x", "y"}, []float64{10, 0}, 1e-9},
		{"at a limit", "x : 1 range 0..10\nv = x\nlimit x <= 4.25\n", []string{"x"}, []float64{4.25}, 1e-9},
		{"along a limit", "x : 1 range 0..10\ny : 1 range 0..10\nv = x * y\nlimit 2 * x + y <= 12\n", []string{"x", "y"}, []float64{3, 6}, 0.05},
		{"beside a large number", "x : 1 range 0..10\nv = 1e9 - (x - 3)^2\n", []string{"x"}, []float64{3}, 1e-3},
		{"beside a large number, in Pa", "x : 1 range 0..10\nv = 2e8 kPa - ((x - 3) / 1000)^2 * 1 kPad\n", []string{"x"}, []float64{3}, 1},
		{"among many hills", "x : 0.1 range 0..1\nv = x + 2 * sin(40 * x * 1 rad)\n", []string{"x"}, []float64{0.98233}, 1e-3},
		{"whole and not", "n : 2 teeth range 1..9\nx : 1 range 0..10\nv = 0 - (n - 5.3)^2 - (x - n)^2\n", []string{"n", "x"}, []float64{5, 5}, 1e-4},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := best(t, c.text, "v", true, 0, c.by...)
			if b.Exhaustive {
				t.Error("it claims to have looked at everything")
			}
			for k, want := range c.want {
				if got := b.Ranking[0].Inputs[k]; math.Abs(got-want) > c.within {
					t.Errorf("found %v with %v, want %v", b.Ranking[0].Inputs, b.Ranking[0].Value, c.want)
				}
			}
			if len(b.Ranking[0].Broken) > 0 {
				t.Errorf("it breaks %v", b.Ranking[0].Broken)
			}
		})
	}
}

// TestBestNear comes nearest to a value: among combinations, by a search, and
// where a limit keeps it away.
func TestBestNear(t *testing.T) {
	for _, c := range []struct {
		name, text, near string
		by               []string
		want             string
		value            float64
	}{
		{"combinations, from above and below", "a : 1 choice 1, 2, 4, 7\nv = a\n", "v=5", []string{"a"}, "[4] [7] [2] [1]", 4},
		{"in another unit", "a : 1 m choice 1, 2, 4\nv = 2 * a\n", "v=3900 mm", []string{"a"}, "[2] [1] [4]", 4},
		{"a search", "x : 1 range 0..10\nv = x^2\n", "v=20", []string{"x"}, "", 20},
		{"two givens", "x : 1 range 0..10\ny : 2 range 0..10\nv = x * y\n", "v=50", []string{"x", "y"}, "", 50},
		{"out of reach", "x : 1 range 0..10\nv = x\n", "v=-3", []string{"x"}, "", 0},
		{"beyond a limit", "x : 1 range 0..10\nv = x\nlimit x <= 4.25\n", "v=6", []string{"x"}, "", 4.25},
		{"beside a large number", "x : 1 range 0..10\nv = 1e9 + x\n", "v=1000000007", []string{"x"}, "", 1e9 + 7},
	} {
		s := loaded(t, c.text)
		goal, d := question.ParseGoal(s, c.near)
		if d != nil {
			t.Fatal(d.Message)
		}
		q := question.BestQuestion{Goal: goal.Place, Near: &goal.Target, Seed: 1, Keep: 4}
		for _, text := range c.by {
			q.By = append(q.By, axis(t, s, text, true))
		}
		b, err := question.BestOf(context.Background(), s, q)
		if err != nil {
			t.Fatal(err)
		}
		var order []string
		for _, r := range b.Ranking {
			order = append(order, fmt.Sprint(r.Inputs))
		}
		if got := strings.Join(order, " "); c.want != "" && got != c.want {
			t.Errorf("%s: ranking %s, want %s", c.name, got, c.want)
		}
		if got := b.Ranking[0]; math.Abs(got.Value-c.value) > 1e-6 || len(got.Broken) > 0 {
			t.Errorf("%s: found %v at %v, want %v", c.name, got.Value, got.Inputs, c.value)
		}
	}
}

// TestBestOfTooMany evaluates a draw if the combinations are too many, and
// climbs from there.
func TestBestOfTooMany(t *testing.T) {
	text, names := "", []string{}
	for _, name := range []string{"a", "b", "c", "d"} {
		text += name + " : 2 teeth range 1..180\n"
		names = append(names, name)
	}
	text += "v = 0 - (a - 100)^2 - (b - 17)^2 - (c - 180)^2 - (d - 60)^2\n"
	b := best(t, text, "v", true, 0, names...)
	if b.Exhaustive || b.Combinations != 1_049_760_000 || b.Looked >= b.Combinations {
		t.Errorf("exhaustive %v, looked at %d of %d", b.Exhaustive, b.Looked, b.Combinations)
	}
	if b.Ranking[0].Value != 0 {
		t.Errorf("found %v with %v", b.Ranking[0].Inputs, b.Ranking[0].Value)
	}
}

// TestBestDependsOnNothingElse asks with other numbers of workers.
func TestBestDependsOnNothingElse(t *testing.T) {
	const text = "n : 2 choice 1, 2, 3, 4, 5\nx : 1 range 0..10\ny : 1 range 0..10\nv = x * y + n - (x - n)^2\nlimit x + y <= 11\n"
	want := ranking(best(t, text, "v", true, 1, "n", "x", "y"))
	for _, workers := range []int{2, 3, 7} {
		if got := ranking(best(t, text, "v", true, workers, "n", "x", "y")); got != want {
			t.Errorf("%d workers find %s, one %s", workers, got, want)
		}
	}
}
