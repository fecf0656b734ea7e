package kernel

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// The exact values below are sums of series in big.Float, 200 bits of them:
// farther from the truth than 2^-150 only where the test's own arithmetic is
// wrong, and TestExactFunctions compares it with published digits.
const exactBits = 200

func bigOf(x float64) *big.Float { return new(big.Float).SetPrec(exactBits).SetFloat64(x) }

// exactExp is e^x: the series for x/2^k, squared k times.
func exactExp(x *big.Float) *big.Float {
	const halvings = 20
	r := new(big.Float).SetPrec(exactBits).SetMantExp(x, -halvings)
	sum, term := bigOf(1), bigOf(1)
	for n := 1; n < 40; n++ {
		term.Mul(term, r)
		term.Quo(term, bigOf(float64(n)))
		sum.Add(sum, term)
	}
	for range halvings {
		sum.Mul(sum, sum)
	}
	return sum
}

// exactLn is ln x by Newton's steps on exactExp, from a guess by x's exponent.
func exactLn(x float64) *big.Float {
	m, k := math.Frexp(x)
	y := bigOf(m - 1 + float64(k)*math.Ln2)
	for range 9 {
		e := exactExp(new(big.Float).Neg(y))
		e.Mul(e, bigOf(x))
		y.Add(y, e.Sub(e, bigOf(1)))
	}
	return y
}

// unitsOff is how many units in the last place of want got is off it.
func unitsOff(got float64, want *big.Float) float64 {
	w, _ := want.Float64()
	ulp := math.Nextafter(math.Abs(w), math.Inf(1)) - math.Abs(w)
	off, _ := new(big.Float).Sub(bigOf(got), want).Float64()
	return math.Abs(off) / ulp
}

// relativeOff is the relative error of got.
func relativeOff(got float64, want *big.Float) float64 {
	off := new(big.Float).Sub(bigOf(got), want)
	rel, _ := off.Quo(off, want).Float64()
	return math.Abs(rel)
}

// TestExactFunctions: e and ln 2 to 40 digits, Abramowitz and Stegun, tables
// 1.1 and 4.2 (and, for the last digits, their series by hand).
func TestExactFunctions(t *testing.T) {
	if got := exactExp(bigOf(1)).Text('f', 24); got != "2.718281828459045235360287" {
		t.Errorf("e is %s", got)
	}
	if got := exactLn(2).Text('f', 24); got != "0.693147180559945309417232" {
		t.Errorf("ln 2 is %s", got)
	}
}

func TestExpAccuracy(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	worst, at := 0.0, 0.0
	for i := range 6000 {
		x := (2*random.Float64() - 1) * []float64{1e-3, 0.4, 3, 40, 707}[i%5]
		if off := unitsOff(Exp(x), exactExp(bigOf(x))); off > worst {
			worst, at = off, x
		}
	}
	t.Logf("worst %.3f units, at %v", worst, at)
	if worst > 1 || worst < 0.4 {
		t.Errorf("up to %.3f units in the last place off, at %v", worst, at)
	}
	for _, c := range []struct{ x, want float64 }{
		{0, 1},
		{math.Copysign(0, -1), 1},
		{5e-324, 1},
		{710, math.Inf(1)},
		{1e300, math.Inf(1)},
		{math.Inf(1), math.Inf(1)},
		{math.Inf(-1), 0},
		{-746, 0},
		{-1e300, 0},
		{math.NaN(), math.NaN()},
	} {
		if got := Exp(c.x); got != c.want && (got == got || c.want == c.want) {
			t.Errorf("e^%v is %v, want %v", c.x, got, c.want)
		}
	}
	for _, x := range []float64{709, 709.5, 709.7827128933840, -708, -708.3, -708.5, -720.25, -740, -745.1} {
		if got, want := Exp(x), exactExp(bigOf(x)); unitsOff(got, want) > 1 {
			t.Errorf("e^%v is %v, want %v", x, got, want)
		}
	}
}

func TestLnAccuracy(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	worst, at := 0.0, 0.0
	for i := range 3000 {
		var x float64
		switch i % 4 {
		case 0:
			x = math.Float64frombits(random.Uint64N(infinityBits)) // any number above zero
		case 1:
			x = 1 + (random.Float64()-0.5)*0.01
		case 2:
			x = 0.3 + 3*random.Float64()
		default:
			x = random.Float64() * 1e6
		}
		if off := unitsOff(Ln(x), exactLn(x)); off > worst {
			worst, at = off, x
		}
	}
	t.Logf("worst %.3f units, at %v", worst, at)
	if worst > 1 || worst < 0.4 {
		t.Errorf("up to %.3f units in the last place off, at %v", worst, at)
	}
	for _, c := range []struct{ x, want float64 }{
		{1, 0},
		{0, math.Inf(-1)},
		{math.Copysign(0, -1), math.Inf(-1)},
		{-1, math.NaN()},
		{math.Inf(1), math.Inf(1)},
		{math.Inf(-1), math.NaN()},
		{math.NaN(), math.NaN()},
	} {
		if got := Ln(c.x); got != c.want && (got == got || c.want == c.want) {
			t.Errorf("ln %v is %v, want %v", c.x, got, c.want)
		}
	}
	for _, x := range []float64{5e-324, 1e-310, 0x1p-1022, math.MaxFloat64} {
		if got, want := Ln(x), exactLn(x); unitsOff(got, want) > 1 {
			t.Errorf("ln %v is %v, want %v", x, got, want)
		}
	}
}

// exactPower is a^b.
func exactPower(a, b float64) *big.Float {
	e := exactLn(a)
	return exactExp(e.Mul(e, bigOf(b)))
}

// TestPowersEverywhere compares a^b with its bound all over the scale, near 1 and
// far from it.
func TestPowersEverywhere(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	near, far := 0.0, 0.0
	for i := range 4000 {
		a, b := math.Exp((2*random.Float64()-1)*3), (2*random.Float64()-1)*8
		if i%2 == 1 { // so that b · ln a is anything up to the ends
			a = math.Exp((2*random.Float64() - 1) * []float64{0.01, 1, 30, 700}[i/2%4])
			b = (2*random.Float64() - 1) * 707 / math.Abs(math.Log(a))
		}
		off := relativeOff(Pow(a, b), exactPower(a, b))
		if math.Abs(b*math.Log(a)) < nearOne {
			near = max(near, off)
		} else {
			far = max(far, off)
		}
	}
	t.Logf("worst relative error %.3g near 1, %.3g far from it", near, far)
	if near > 7.2e-15 || far > 7.2e-15 || near == 0 || far == 0 {
		t.Errorf("relative error up to %.3g near 1, %.3g far from it", near, far)
	}
}

func TestPowersAtTheEnds(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct{ a, b, want float64 }{
		{0, 2.5, 0},
		{0, -2.5, inf},
		{math.Copysign(0, -1), 0.3, 0},
		{-2, 0.3, nan},
		{-2, 65, -0x1p65},
		{-2, 66, 0x1p66},
		{-2, -65, -0x1p-65},
		{2, 1023.5, math.Sqrt2 * 0x1p1023},
		{2, 1024.5, inf},
		{2, -1074, 5e-324},
		{2, -1073.75, 5e-324},
		{2, -1080.5, 0},
		{10, 400.5, inf},
		{10, -400.5, 0},
		{1e-310, 0.1, 1e-31},
		{5e-324, -0.75, math.Sqrt2 * 0x1p805},
		{1, 1e300, 1},
		{1, -1e300, 1},
		{math.Nextafter(1, 2), 1e300, inf},
		{math.Nextafter(1, 2), -1e300, 0},
		{nan, 0.3, nan},
		{2, nan, nan},
	} {
		got := fraction(c.a, c.b)
		if !(got == c.want || got != got && c.want != c.want || math.Abs(got/c.want-1) < 7.2e-15) {
			t.Errorf("%v^%v is %v, want %v", c.a, c.b, got, c.want)
		}
	}
}

// TestPowersAreTheSameOnEveryProcessor compares the bits of many results with a
// sum of them.
func TestPowersAreTheSameOnEveryProcessor(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	h := fnv.New64a()
	put := func(v float64) { fmt.Fprintf(h, "%016x", math.Float64bits(v)) }
	for range 20000 {
		a, b := math.Float64frombits(random.Uint64N(infinityBits)), (2*random.Float64()-1)*9
		put(Exp(80 * b))
		put(Ln(a))
		put(Pow(a, b))
		put(Pow(1+float64(100*random.Float64()), b)) // rounded twice, on every processor
	}
	if got := h.Sum64(); got != 0xd32b51187cf3c335 {
		t.Errorf("the bits come to %#x", got)
	}
}

func BenchmarkPowers(b *testing.B) {
	a, d := make([]float64, 256), make([]float64, 256)
	for i := range a {
		a[i] = 1 + float64(i)/100
	}
	for name, f := range map[string]func(x float64) float64{
		"exp": Exp, "ln": Ln, "pow": func(x float64) float64 { return Pow(x, 0.2857) }, "math.Exp": math.Exp,
		"math.Log": math.Log, "math.Pow": func(x float64) float64 { return math.Pow(x, 0.2857) },
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				for i, x := range a {
					d[i] = f(x)
				}
			}
		})
	}
}
