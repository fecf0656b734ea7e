package question_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/question"
	"gearleaf/sheet/whatif"
)

func spreadOf(t testing.TB, text string, draws, workers int, names ...string) *question.Spread {
	t.Helper()
	s := loaded(t, text)
	out, err := question.SpreadOf(context.Background(), s, question.SpreadQuestion{Show: shown(t, s, names...), Draws: draws, Seed: 1, Coverage: 0.95, Workers: workers})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// million is how many draws the published checks ask for.
func million(t *testing.T) int {
	t.Helper()
	if testing.Short() {
		t.Skip("a million draws are for the long tests")
	}
	return 1_000_000
}

// TestSpreadEndGauge is JCGM 100:2008, H.1, in nanometres and kelvin: the
// calibration of an end gauge. θ combines 0.2 °C with a cyclic variation of
// ± 0.5 °C, whose arcsine distribution has 0.5/√2.
func TestSpreadEndGauge(t *testing.T) {
	a := spreadOf(t, fmt.Sprintf(`standard       : 50000623  sd 25      "Length of the standard"
repeats        : 215       sd 5.8     "Mean of five differences"
random_effects : 0         sd 3.9
systematic     : 0         sd 6.7
d              = repeats + random_effects + systematic
delta_alpha    : 0         ± 1e-6
delta_theta    : 0         ± 0.05
alpha          : 11.5e-6   ± 2e-6
theta          : -0.1      sd %.17g
length         = standard + d - standard * (delta_alpha * theta + alpha * delta_theta)
`, math.Hypot(0.2, 0.5/math.Sqrt2)), million(t), 0, "length", "d")
	h1, more := row(t, "uncertainty.tsv", "A-UNC-1"), row(t, "uncertainty.tsv", "A-UNC-2")
	length := a.Results[0]
	h1.check(t, 0, "length", length.Value)
	h1.check(t, 1, "its deviation", length.Deviation)
	more.check(t, 0, "deviation of d", a.Results[1].Deviation)
	var names []string
	for _, c := range length.Contributions {
		names = append(names, c.Given.Name())
		switch c.Given.Name() {
		case "delta_theta":
			more.check(t, 2, "component of delta_theta", math.Abs(c.Effect))
		case "delta_alpha":
			more.check(t, 3, "component of delta_alpha", math.Abs(c.Effect))
		}
	}
	if got := strings.Join(names, " "); got != "standard delta_theta systematic repeats random_effects delta_alpha" {
		t.Errorf("contributions in the order %s", got)
	}
	// Second-order terms, which JCGM 100 H.1.7 computes by hand, bring the
	// deviation to 34 nm; draws include them.
	if got := length.DrawnDeviation; math.Abs(got-34) > 0.5 {
		t.Errorf("drawn deviation %g, published 34", got)
	}
}

// TestSpreadTogether is JCGM 100:2008, H.2: three quantities measured at once,
// three results that are correlated. The published coefficients of the inputs
// are rounded to two places.
func TestSpreadTogether(t *testing.T) {
	a := spreadOf(t, `v   : 4.999      sd 3.2e-3
i   : 19.661e-3  sd 9.5e-6
phi : 1.04446    sd 7.5e-4
correlate v, i   -0.36
correlate v, phi  0.86
correlate i, phi -0.65
r = v / i * cos(phi * 1 rad)
x = v / i * sin(phi * 1 rad)
z = v / i
`, 200_000, 0, "r", "x", "z")
	values, deviations, together := row(t, "uncertainty.tsv", "A-UNC-3"), row(t, "uncertainty.tsv", "A-UNC-4"), row(t, "uncertainty.tsv", "A-UNC-5")
	for i, u := range a.Results {
		values.check(t, i, u.Place.Name(), u.Value)
		deviations.check(t, i, "deviation of "+u.Place.Name(), u.Deviation)
		if math.Abs(u.DrawnDeviation/u.Deviation-1) > 0.01 {
			t.Errorf("%s: drawn %g, first order %g", u.Place.Name(), u.DrawnDeviation, u.Deviation)
		}
		sum := 0.0
		for _, c := range u.Contributions {
			sum += c.Share
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("%s: the shares come to %g", u.Place.Name(), sum)
		}
	}
	together.check(t, 0, "r with x", a.Together(0, 1))
	together.check(t, 1, "r with z", a.Together(0, 2))
	together.check(t, 2, "x with z", a.Together(1, 2))
}

// TestSpreadSums is JCGM 101:2008, 9.2.2 and 9.2.3: sums of four normal, then
// of four rectangular quantities of deviation 1.
func TestSpreadSums(t *testing.T) {
	for id, tolerance := range map[string]string{"A-UNC-6": "sd 1", "A-UNC-7": "± 1.7320508075688772"} {
		text := ""
		for _, name := range []string{"a", "b", "c", "d"} {
			text += name + " : 0 " + tolerance + "\n"
		}
		u := spreadOf(t, text+"sum = a + b + c + d\n", million(t), 0, "sum").Results[0]
		p := row(t, "uncertainty.tsv", id)
		p.check(t, 0, "first-order deviation", u.Deviation)
		p.check(t, 0, "drawn deviation", u.DrawnDeviation)
		p.check(t, 1, "half the drawn interval", (u.High-u.Low)/2)
		if low, high := u.Interval(0.95); math.Abs((high-low)/2-3.92) > 0.01 {
			t.Errorf("%s: first-order interval %g to %g, published ± 3.92", id, low, high)
		}
	}
}

// TestSpreadExpansion is NIST TN 1900, E13: a coefficient of thermal
// expansion.
func TestSpreadExpansion(t *testing.T) {
	u := spreadOf(t, `l0 : 1.4999 m  sd 0.0001 m
l1 : 1.5021 m  sd 0.0002 m
t0 : 288.15 K  sd 0.02 K
t1 : 373.10 K  sd 0.05 K
alpha = (l1 - l0) / (l0 * (t1 - t0))
`, million(t), 0, "alpha").Results[0]
	p := row(t, "uncertainty.tsv", "A-UNC-9")
	p.check(t, 0, "alpha", u.Value)
	p.check(t, 1, "its deviation", u.Deviation)
	p.check(t, 1, "its drawn deviation", u.DrawnDeviation)
}

func TestSpreadDependsOnNothingElse(t *testing.T) {
	const text = "a : 3 sd 0.5\nb : 4 ± 2\ncorrelate a, b 0.3\ny = sqrt(a * b - 6)\n"
	want := fmt.Sprintf("%v", spreadOf(t, text, 10_000, 1, "y").Results[0].Uncertainty)
	for _, workers := range []int{2, 5} {
		if got := fmt.Sprintf("%v", spreadOf(t, text, 10_000, workers, "y").Results[0].Uncertainty); got != want {
			t.Errorf("%d workers give %s, one %s", workers, got, want)
		}
	}
	if !strings.Contains(want, "y: ") {
		t.Errorf("no hole in %s", want)
	}
}

// TestSpreadEach takes the draws as they are made: in order, with the cause of
// what is missing, those that the answer is made of.
func TestSpreadEach(t *testing.T) {
	s := loaded(t, "a : 4 sd 1\nb : 2 ± 1\nroot = sqrt(a - 2)\nsum = a + b\n")
	for _, workers := range []int{1, 3} {
		sum, next, missing := 0.0, 0, 0
		q := question.SpreadQuestion{Show: shown(t, s, "root", "sum"), Draws: 5000, Seed: 1, Coverage: 0.95, Workers: workers}
		q.Each = func(a *question.Spread, b *question.Block) error {
			if b.From != next || len(a.Sources) != 2 {
				t.Fatalf("draw %d after %d, of %d sources", b.From, next, len(a.Sources))
			}
			next += b.N
			for i := range b.N {
				if b.Inputs[0][i]+b.Inputs[1][i] != b.Shown[1][i] {
					t.Fatalf("draw %d: %v + %v is not %v", b.From+i, b.Inputs[0][i], b.Inputs[1][i], b.Shown[1][i])
				}
				if root := b.Shown[0][i]; (root != root) != (b.Hole[i] == "root: the square root of a negative number") {
					t.Fatalf("draw %d: %v, %q", b.From+i, root, b.Hole[i])
				}
				if b.Hole[i] != "" {
					missing++
				}
				sum += b.Shown[1][i]
			}
			return nil
		}
		a, err := question.SpreadOf(context.Background(), s, q)
		if err != nil || next != 5000 || missing == 0 || missing != a.Results[0].Holes["root: the square root of a negative number"] {
			t.Fatalf("%d draws, %d missing, %v", next, missing, err)
		}
		if mean := sum / 5000; math.Abs(mean-a.Results[1].Mean) > 1e-12*mean {
			t.Errorf("the draws have the mean %v, the answer says %v", mean, a.Results[1].Mean)
		}
		q.Each = func(*question.Spread, *question.Block) error { return context.DeadlineExceeded }
		if _, err := question.SpreadOf(context.Background(), s, q); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("an error of whoever takes the draws became %v", err)
		}
	}
}

// TestSpreadSources are the givens that count: those with a tolerance that
// reach what is shown, every row of a column by itself.
func TestSpreadSources(t *testing.T) {
	a := spreadOf(t, `a : 3 sd 0.5
exact : 2
aside : 1 sd 1
percent : 200 kg ± 1 %
table gears
  ratio : 2, 1 ± 0.01
  twice = 2 * ratio
y = a * exact + sum(gears.twice) + percent / (1 kg)
still = exact
`, 1000, 0, "y", "still")
	var names []string
	for _, src := range a.Sources {
		names = append(names, fmt.Sprintf("%s %g", src.Name(), src.Width))
	}
	if got := strings.Join(names, ", "); got != "a 0.5, percent 2, gears.ratio[1] 0.01, gears.ratio[2] 0.01" {
		t.Error(got)
	}
	if still := a.Results[1]; still.Deviation != 0 || len(still.Contributions) != 0 || still.Low != 2 || still.High != 2 {
		t.Errorf("what depends on nothing spreads: %+v", still.Uncertainty)
	}
}

// TestSpreadSet moves the middle of a given.
func TestSpreadSet(t *testing.T) {
	s := loaded(t, "a : 3 sd 0.5\ny = a^2\n")
	set, _ := s.ParseSetting("a=10")
	s.Set(set)
	out, err := question.SpreadOf(context.Background(), s, question.SpreadQuestion{Show: shown(t, s, "y"), Draws: 1000, Seed: 1, Coverage: 0.95})
	if err != nil || out.Results[0].Value != 100 || math.Abs(out.Results[0].Deviation-10) > 1e-9 {
		t.Errorf("%+v %v", out.Results[0].Uncertainty, err)
	}
}

func TestSpreadRefuses(t *testing.T) {
	s := loaded(t, "a : 3 sd 0.5\nb : 1\ny = b\nname = if a > 1 then \"x\" else \"y\"\n")
	for name, want := range map[string]string{"y": "depends on a given with a tolerance", "name": "name is not a number"} {
		_, err := question.SpreadOf(context.Background(), s, question.SpreadQuestion{Show: shown(t, s, name), Draws: 1000, Coverage: 0.95})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func BenchmarkSpreadTemplate(b *testing.B) {
	text := "a : 3 sd 0.5\nb : 4 ± 2\nc : 1 sd 0.1\ny = sqrt(a * b + 6) * exp(c)\n"
	for b.Loop() {
		spreadOf(b, text, 100_000, 1, "y")
	}
}

// TestSpreadFreedom is JCGM 100:2008, H.1 with its degrees of freedom: 16.7
// effective ones, and an interval of 99 % that is 93 nm wide either side.
func TestSpreadFreedom(t *testing.T) {
	s := loaded(t, fmt.Sprintf(`standard       : 50000623  sd 25
repeats        : 215       sd 5.8
random_effects : 0         sd 3.9
systematic     : 0         sd 6.7
delta_alpha    : 0         ± 1e-6
delta_theta    : 0         ± 0.05
theta          : -0.1      sd %.17g
d              = repeats + random_effects + systematic
length         = standard + d - standard * (delta_alpha * theta + 11.5e-6 * delta_theta)
`, math.Hypot(0.2, 0.5/math.Sqrt2)))
	freedom := map[sheet.Place]float64{}
	for name, n := range map[string]float64{"standard": 18, "repeats": 24, "random_effects": 5, "systematic": 8, "delta_alpha": 50, "delta_theta": 2} {
		freedom[shown(t, s, name)[0]] = n
	}
	a, err := question.SpreadOf(context.Background(), s, question.SpreadQuestion{Show: shown(t, s, "length", "d"), Draws: 1000, Freedom: freedom, Coverage: 0.99})
	if err != nil {
		t.Fatal(err)
	}
	p := row(t, "uncertainty.tsv", "A-UNC-2")
	p.check(t, 1, "degrees of freedom of d", a.Results[1].Freedom)
	p.check(t, 4, "effective degrees of freedom", a.Results[0].Freedom)
	low, high := a.Results[0].Interval(0.99)
	p.check(t, 5, "half the interval of 99 %", (high-low)/2)
	s = loaded(t, "a : 1 sd 1\nb : 1 sd 1\ncorrelate a, b 0.5\nc = a + b\n")
	q := question.SpreadQuestion{Show: shown(t, s, "c"), Draws: 100, Coverage: 0.95, Freedom: map[sheet.Place]float64{shown(t, s, "a")[0]: 4}}
	if _, err := question.SpreadOf(context.Background(), s, q); err == nil || !strings.Contains(err.Error(), "independent") {
		t.Errorf("degrees of freedom of correlated givens: %v", err)
	}
}

// TestSpreadStudent compares Student's factors with printed tables (JCGM 100:2008,
// table G.2).
func TestSpreadStudent(t *testing.T) {
	for _, c := range []struct{ freedom, part, factor float64 }{{1, 0.95, 12.71}, {3, 0.99, 5.84}, {4, 0.95, 2.78}, {16, 0.99, 2.92}, {50, 0.95, 2.01}, {1000, 0.9545, 2.00}} {
		u := whatif.Uncertainty{Deviation: 1, Freedom: c.freedom}
		if _, high := u.Interval(c.part); math.Abs(high-c.factor) > 0.006 {
			t.Errorf("%g %% with %g degrees of freedom: %g, printed %g", 100*c.part, c.freedom, high, c.factor)
		}
	}
}

// TestSpreadShortest: a skewed distribution has a shorter interval than that
// of equal tails. Of an exponential distribution of mean 50 the shortest of 95
// % is 0 to 149.8, that of equal tails 1.27 to 184.4.
func TestSpreadShortest(t *testing.T) {
	u := spreadOf(t, "p : 0.5 ± 0.5\nloss = -50 * ln(p)\n", 200_000, 0, "loss").Results[0]
	for _, c := range []struct{ got, want, within float64 }{{u.ShortLow, 0, 0.1}, {u.ShortHigh, 149.8, 2}, {u.Low, 1.27, 0.1}, {u.High, 184.4, 3}} {
		if math.Abs(c.got-c.want) > c.within {
			t.Errorf("an end of an interval is %g, want %g", c.got, c.want)
		}
	}
}

// TestSpreadCorrelatedLimits: limits keep both their shape and the coefficient
// that was requested, seen in the deviation of a sum.
func TestSpreadCorrelatedLimits(t *testing.T) {
	for _, c := range []struct {
		a, b string
		r    float64
	}{{"± 3", "± 3", 1}, {"± 3", "± 3", 0.8}, {"± 3", "± 3", -0.5}, {"± 3", "sd 1.7320508", 0.9}, {"sd 1.7320508", "sd 1.7320508", 0.9}} {
		u := spreadOf(t, fmt.Sprintf("a : 0 %s\nb : 0 %s\ncorrelate a, b %g\nc = a + b\n", c.a, c.b, c.r), 200_000, 0, "c").Results[0]
		want := math.Sqrt(6 * (1 + c.r))
		if math.Abs(u.DrawnDeviation/want-1) > 0.008 || math.Abs(u.Deviation/want-1) > 1e-6 {
			t.Errorf("%s and %s with %g: drawn %g, first order %g, want %g", c.a, c.b, c.r, u.DrawnDeviation, u.Deviation, want)
		}
	}
	if u := spreadOf(t, "a : 0 ± 3\nb : 0 ± 3\ncorrelate a, b 1\nc = a + b\n", 20_000, 0, "c").Results[0]; u.High > 6 || u.Low < -6 || u.High < 5.6 {
		t.Errorf("two limits that go together lie from %g to %g", u.Low, u.High)
	}
}
