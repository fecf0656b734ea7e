package kernel

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// exactPi is π to 60 digits, Abramowitz and Stegun, table 1.1, and OEIS
// A000796.
var exactPi, _ = new(big.Float).SetPrec(exactBits).SetString("3.14159265358979323846264338327950288419716939937510582097494459")

func exact() *big.Float                { return new(big.Float).SetPrec(exactBits) }
func times(a, b *big.Float) *big.Float { return exact().Mul(a, b) }
func over(a, b *big.Float) *big.Float  { return exact().Quo(a, b) }
func plus(a, b *big.Float) *big.Float  { return exact().Add(a, b) }
func minus(a, b *big.Float) *big.Float { return exact().Sub(a, b) }
func root(a *big.Float) *big.Float     { return exact().Sqrt(a) }

// radians is x turns, whole turns off.
func radians(x float64) *big.Float {
	rest := new(big.Float).SetPrec(exactBits).SetFloat64(x - math.Trunc(x))
	return times(times(rest, bigOf(2)), exactPi)
}

// exactSin and exactCos are the series' sums, for less than two turns.
func exactSin(x *big.Float) *big.Float { return seriesOf(x, x, 1) }
func exactCos(x *big.Float) *big.Float { return seriesOf(x, bigOf(1), 0) }

func seriesOf(x, term *big.Float, n int) *big.Float {
	sum, z := exact().Set(term), times(x, x)
	for range 60 {
		term = over(times(term, z), bigOf(-float64((n+1)*(n+2))))
		sum, n = plus(sum, term), n+2
	}
	return sum
}

// exactAtan is atan x in turns: half the angle is that of x / (1 + √(1+x²)),
// until the series is short.
func exactAtan(x *big.Float) *big.Float {
	const halvings = 12
	for range halvings {
		x = over(x, plus(bigOf(1), root(plus(bigOf(1), times(x, x)))))
	}
	sum, power, z := exact().Set(x), x, times(x, x)
	for n := 3; n < 50; n += 2 {
		power = times(power, exact().Neg(z))
		sum = plus(sum, over(power, bigOf(float64(n))))
	}
	return over(times(sum, bigOf(1<<halvings)), times(bigOf(2), exactPi))
}

func exactAsin(x float64) *big.Float {
	b := bigOf(x)
	return exactAtan(over(b, root(minus(bigOf(1), times(b, b)))))
}

// exactAcos is 2 atan √((1-x)/(1+x)).
func exactAcos(x float64) *big.Float {
	b := bigOf(x)
	return times(bigOf(2), exactAtan(root(over(minus(bigOf(1), b), plus(bigOf(1), b)))))
}

// TestAnglesAccuracy compares the functions of angles with sums of series, all over
// their domain, close to zero and close to where they turn.
func TestAnglesAccuracy(t *testing.T) {
	turn := func(r *rand.Rand, i int) float64 {
		return []float64{1, 0.125, 1e-3, 40, 1e-9}[i%5]*(2*r.Float64()-1) + []float64{0, 0.25, 0.5, 0.125}[i/5%4]
	}
	ratio := func(r *rand.Rand, i int) float64 {
		x := []float64{r.Float64(), 1 - math.Pow(10, -9*r.Float64()), math.Pow(10, -9*r.Float64()), 0.5 + 1e-3*r.Float64()}[i%4]
		return math.Copysign(x, r.Float64()-0.5)
	}
	any := func(r *rand.Rand, i int) float64 {
		return math.Copysign(math.Pow(10, 12*(r.Float64()-0.5)), r.Float64()-0.5)
	}
	for _, c := range []struct {
		name  string
		f     func(float64) float64
		exact func(float64) *big.Float
		value func(*rand.Rand, int) float64
		most  float64
	}{
		{"sin", Sin, func(x float64) *big.Float { return exactSin(radians(x)) }, turn, 1},
		{"cos", Cos, func(x float64) *big.Float { return exactCos(radians(x)) }, turn, 1},
		{"tan", Tan, func(x float64) *big.Float { return over(exactSin(radians(x)), exactCos(radians(x))) }, turn, 1},
		{"asin", Asin, exactAsin, ratio, 1.1},
		{"acos", Acos, exactAcos, ratio, 1.1},
		{"atan", Atan, func(x float64) *big.Float { return exactAtan(bigOf(x)) }, any, 1},
		{"log10", Log10, func(x float64) *big.Float { return over(exactLn(x), exactLn(10)) }, func(r *rand.Rand, i int) float64 { return math.Abs(any(r, i)) }, 1},
	} {
		random := rand.New(rand.NewPCG(21, 22))
		worst, at := 0.0, 0.0
		for i := range 1500 {
			x := c.value(random, i)
			if off := unitsOff(c.f(x), c.exact(x)); off > worst {
				worst, at = off, x
			}
		}
		t.Logf("%s: worst %.3f units, at %v", c.name, worst, at)
		if worst > c.most || worst < 0.4 {
			t.Errorf("%s: up to %.3f units in the last place off, at %v", c.name, worst, at)
		}
	}
}

// TestAnglesExactly: simple fractions of a turn are exact.
func TestAnglesExactly(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"sin 1/2", Sin(0.5), 0},
		{"sin 1/4", Sin(0.25), 1},
		{"sin -1/4", Sin(-0.25), -1},
		{"sin 3/4", Sin(0.75), -1},
		{"cos 1/4", Cos(0.25), 0},
		{"cos 1/2", Cos(0.5), -1},
		{"cos 1e6", Cos(1e6), 1},
		{"tan 1/8", Tan(0.125), 1},
		{"tan -1/8", Tan(-0.125), -1},
		{"tan 1/2", Tan(0.5), 0},
		{"asin 1", Asin(1), 0.25},
		{"asin -1", Asin(-1), -0.25},
		{"acos 1", Acos(1), 0},
		{"acos -1", Acos(-1), 0.5},
		{"acos 0", Acos(0), 0.25},
		{"atan 1", Atan(1), 0.125},
		{"atan -1", Atan(-1), -0.125},
		{"atan 1e300", Atan(1e300), 0.25},
		{"atan2 0 -1", Atan2(0, -1), 0.5},
		{"atan2 1 0", Atan2(1, 0), 0.25},
		{"atan2 -1 -1", Atan2(-1, -1), -0.375},
		{"atan2 0 0", Atan2(0, 0), 0},
		{"direction of -0 -1", Direction(math.Copysign(0, -1), -1), 0.5},
		{"cbrt 27", Cbrt(27), 3},
		{"cbrt -8", Cbrt(-8), -2},
		{"cbrt 1e-300", Cbrt(1e-300), 1e-100},
		{"hypot 3 4", Hypot(3, 4), 5},
		{"hypot 0 0", Hypot(0, 0), 0},
		{"hypot 3e300 4e300", Hypot(3e300, 4e300), 5e300},
	} {
		if c.got != c.want {
			t.Errorf("%s is %v, want %v", c.name, c.got, c.want)
		}
	}
	for n := range 23 {
		if got := Log10(math.Pow10(n)); got != float64(n) {
			t.Errorf("log10 of 1e%d is %v", n, got)
		}
	}
	for x, bad := range map[string]float64{"asin": Asin(1.0000001), "acos": Acos(-2), "log10": Log10(-1), "tan": 1 / Tan(0.25)} {
		if bad == bad && bad != 0 {
			t.Errorf("%s is %v out of its domain", x, bad)
		}
	}
}

// TestAcosNearOne: the angle whose cosine is 1 - d is √(2 d) (1 + d/12 + …).
func TestAcosNearOne(t *testing.T) {
	x := 1 - 1e-8
	d := 1 - x
	want := math.Sqrt(2*d) * (1 + d/12 + 3*d*d/160) / (2 * math.Pi)
	if got := Acos(x); math.Abs(got/want-1) > 4e-16 {
		t.Errorf("acos(%v) is %v, want %v", x, got, want)
	}
}

func TestCbrtAccuracy(t *testing.T) {
	random := rand.New(rand.NewPCG(23, 24))
	for range 3000 {
		x := math.Float64frombits(random.Uint64N(infinityBits))
		got := bigOf(Cbrt(x))
		if off := relativeOff(x, times(times(got, got), got)) / 3; off > 1.6e-16 {
			t.Fatalf("cbrt(%v) is %v, %g off", x, got, off)
		}
	}
}

// TestWholesAsGo compares what is written out here with Go's library: nearest whole
// numbers, and what is left of a division.
func TestWholesAsGo(t *testing.T) {
	random := rand.New(rand.NewPCG(25, 26))
	for i := range 200000 {
		x := math.Float64frombits(random.Uint64())
		if i%2 == 0 {
			x = math.Floor(1e6*random.Float64())/2 - 2e5
		}
		if got, want := nearest(x), math.Round(x); math.Float64bits(got) != math.Float64bits(want) && want == want {
			t.Fatalf("nearest(%v) is %v, want %v", x, got, want)
		}
		b := math.Exp(600 * (random.Float64() - 0.5))
		a := b * math.Exp(20*random.Float64())
		if got, want := rest(a, b), math.Mod(a, b); got != want {
			t.Fatalf("rest(%v, %v) is %v, want %v", a, b, got, want)
		}
	}
}

// TestAnglesAreTheSameOnEveryProcessor compares the bits of many results with a sum
// of them.
func TestAnglesAreTheSameOnEveryProcessor(t *testing.T) {
	random := rand.New(rand.NewPCG(27, 28))
	h := fnv.New64a()
	for range 5000 {
		x, y := 2*random.Float64()-1, 1e3*random.Float64()
		for _, v := range []float64{Sin(x), Cos(x), Tan(x), Asin(x), Acos(x), Atan(y), Atan2(x, y), Log10(y), Cbrt(y), Hypot(x, y), Mod(y, x)} {
			fmt.Fprintf(h, "%016x", math.Float64bits(v))
		}
	}
	if got := h.Sum64(); got != 0x325289ae14b622a {
		t.Errorf("the bits come to %#x", got)
	}
}
