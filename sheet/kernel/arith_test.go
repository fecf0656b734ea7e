package kernel

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// alike reports equality to the bit; all faults are equal.
func alike(a, b float64) bool {
	if a != a || b != b {
		return IsFault(a) && IsFault(b) || IsBlank(a) && IsBlank(b)
	}
	return math.Float64bits(a) == math.Float64bits(b)
}

func TestArithmetic(t *testing.T) {
	huge := math.MaxFloat64
	for _, c := range []struct {
		name string
		got  float64
		want float64
	}{
		{"1+2", Add(1, 2), 3},
		{"overflow of a sum", Add(huge, huge), Fault},
		{"overflow of a difference", Sub(-huge, huge), Fault},
		{"overflow of a product", Mul(1e200, -1e200), Fault},
		{"overflow of a quotient", Div(1e300, 1e-300), Fault},
		{"1/0", Div(1, 0), Fault},
		{"0/0", Div(0, 0), Fault},
		{"-3", Neg(3), -3},
		{"2^10", Pow(2, 10), 1024},
		{"2^-2", Pow(2, -2), 0.25},
		{"0^0", Pow(0, 0), 1},
		{"0^-1", Pow(0, -1), Fault},
		{"(-8)^3", Pow(-8, 3), -512},
		{"(-8)^(1/3)", Pow(-8, 1./3), Fault},
		{"9^0.5", Pow(9, 0.5), 3},
		{"10^400", Pow(10, 400), Fault},
		{"10^64 by 10^64", Pow(1e10, 64), Fault},
		{"(0x1p-990)^-1", Pow(0x1p-990, -1), 0x1p990},
		{"(1e10)^-32, past where 1e320 is", Pow(1e10, -32), math.Pow(1e10, -32)},
		{"1 to a blank", Pow(1, Blank), Blank},
		{"a blank to 0", Pow(Blank, 0), Blank},
		{"a fault to 0", Pow(Fault, 0), Fault},
	} {
		if !alike(c.got, c.want) {
			t.Errorf("%s is %v, want %v", c.name, c.got, c.want)
		}
	}
}

// TestNothingLaunders feeds blanks and faults to every operation: a fault
// with anything is a fault, a blank with a number a blank.
func TestNothingLaunders(t *testing.T) {
	lower := &Intrinsic{F2: Lower}
	two := map[string]func(a, b float64) float64{
		"+": Add, "-": Sub, "*": Mul, "/": Div, "^": Pow, "<": Less, "<=": LessEqual, ">": Greater, ">=": GreaterEqual,
		"=": Equal, "<>": NotEqual, "same": SameText, "notsame": NotSameText, "min": lower.Apply2,
	}
	stranger := math.Float64frombits(0x7FF8_0000_0000_0001) // a NaN of any other origin is a fault
	for name, f := range two {
		for _, v := range []float64{0, 1, -2.5, 1e308} {
			for _, bad := range []float64{Fault, stranger, -stranger} {
				for i, got := range []float64{f(v, bad), f(bad, v), f(Blank, bad), f(bad, Blank), f(bad, bad)} {
					if math.Float64bits(got) != math.Float64bits(Fault) {
						t.Errorf("%s of a fault, case %d with %v: %v", name, i, v, got)
					}
				}
			}
			for _, got := range []float64{f(v, Blank), f(Blank, v), f(Blank, Blank)} {
				if !IsBlank(got) {
					t.Errorf("%s of a blank with %v: %v", name, v, got)
				}
			}
		}
	}
	for name, f := range map[string]func(float64) float64{"neg": Neg, "not": Not, "atan": (&Intrinsic{F1: Atan}).Apply1, "as it is": (&Intrinsic{}).Apply1} {
		if !alike(f(stranger), Fault) || !IsBlank(f(Blank)) {
			t.Errorf("%s: %v, %v", name, f(stranger), f(Blank))
		}
	}
}

func TestBranchesCountOnlyWhatIsTaken(t *testing.T) {
	for _, c := range []struct{ got, want float64 }{
		{If(1, 5, Fault), 5},
		{If(0, Fault, 6), 6},
		{If(0, 5, Fault), Fault},
		{If(Fault, 5, 6), Fault},
		{If(Blank, 5, Fault), Blank},
		{And(0, Fault), 0},
		{And(1, Blank), Blank},
		{And(Fault, 0), Fault},
		{Or(1, Fault), 1},
		{Or(0, 1), 1},
		{Or(Blank, Fault), Blank},
		{Not(1), 0},
		{Not(0), 1},
	} {
		if !alike(c.got, c.want) {
			t.Errorf("got %v, want %v", c.got, c.want)
		}
	}
}

// TestPowerAccuracy compares whole powers with exact arithmetic and the stated
// bound of 7.2e-15.
func TestPowerAccuracy(t *testing.T) {
	worst := 0.0
	for _, x := range []float64{1.1, 0.9, 3.7, 0.123456789, 1.0000001, 2085, 0.287} {
		for n := 1; n <= maxWhole; n++ {
			exact := big.NewFloat(1).SetPrec(400)
			for range n {
				exact.Mul(exact, big.NewFloat(x))
			}
			for _, e := range []int{n, -n} {
				want := new(big.Float).Copy(exact)
				if e < 0 {
					want.Quo(big.NewFloat(1).SetPrec(400), want)
				}
				off := new(big.Float).Sub(big.NewFloat(Pow(x, float64(e))).SetPrec(400), want)
				rel, _ := off.Quo(off, want).Float64()
				worst = math.Max(worst, math.Abs(rel))
			}
		}
	}
	if worst > 7.2e-15 || worst == 0 {
		t.Errorf("relative error up to %g", worst)
	}
}

// TestFractionAccuracy compares powers with a fraction with exact arithmetic: the
// exponents are whole numbers of 1/1024, so that the result's 1024th power
// is a whole power too, and its relative error 1024 times as large.
func TestFractionAccuracy(t *testing.T) {
	worst := 0.0
	for _, x := range []float64{1.1, 0.9, 3.7, 0.123456789, 2085, 0.287, 1e9, 1e-9} {
		for _, n := range []int{1, 293, 341, 683, 1463, -293, -1463, 5381, -5381} {
			power := func(b float64, n int) *big.Float {
				out, sq := big.NewFloat(1).SetPrec(2000), big.NewFloat(b).SetPrec(2000)
				for ; n > 0; n >>= 1 {
					if n&1 == 1 {
						out.Mul(out, sq)
					}
					sq.Mul(sq, sq)
				}
				return out
			}
			want := power(x, max(n, -n))
			if n < 0 {
				want.Quo(big.NewFloat(1).SetPrec(2000), want)
			}
			got := power(Pow(x, float64(n)/1024), 1024)
			off, _ := got.Quo(got, want).Sub(got, big.NewFloat(1)).Float64()
			worst = math.Max(worst, math.Abs(off)/1024)
		}
	}
	if worst > 7.2e-15 || worst == 0 {
		t.Errorf("relative error up to %g", worst)
	}
	t.Logf("worst relative error %.2g", worst)
}

func TestTolerance(t *testing.T) {
	near, far := 1+0.9e-12, 1+1.2e-12
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"1 >= near", GreaterEqual(1, near), 1},
		{"1 >= far", GreaterEqual(1, far), 0},
		{"near > 1", Greater(near, 1), 0},
		{"far > 1", Greater(far, 1), 1},
		{"1 < near", Less(1, near), 0},
		{"1 < far", Less(1, far), 1},
		{"near <= 1", LessEqual(near, 1), 1},
		{"near = 1", Equal(near, 1), 1},
		{"far = 1", Equal(far, 1), 0},
		{"far <> 1", NotEqual(far, 1), 1},
		{"0 = 1e-300", Equal(0, 1e-300), 0},
		{"-1 >= -near", GreaterEqual(-near, -1), 1},
		{"0.1+0.2 = 0.3", Equal(0.1+0.2, 0.3), 1},
		{"ends of the scale", Less(-math.MaxFloat64, math.MaxFloat64), 1},
		{"texts are exact", SameText(1, near), 0},
		{"texts", NotSameText(2, 3), 1},
	} {
		if c.got != c.want {
			t.Errorf("%s is %v, want %v", c.name, c.got, c.want)
		}
	}
}

// FuzzComparisonsAgree compares the six comparisons with each other, and
// Below with them.
func FuzzComparisonsAgree(f *testing.F) {
	f.Add(1.0, 1+1e-12)
	f.Add(0.0, math.Copysign(0, -1))
	f.Add(-math.MaxFloat64, math.MaxFloat64)
	f.Add(5e-324, 0.0)
	f.Fuzz(func(t *testing.T, a, b float64) {
		if a-a != 0 || b-b != 0 {
			t.Skip()
		}
		ge, le, eq := GreaterEqual(a, b), LessEqual(a, b), Equal(a, b)
		switch {
		case Less(a, b) != 1-ge, Greater(a, b) != 1-le, NotEqual(a, b) != 1-eq:
			t.Error("a comparison and its opposite agree")
		case eq != ge*le, ge+le == 0:
			t.Errorf("= is %v where >= is %v and <= is %v", eq, ge, le)
		case ge == 1 && Below(a, b), GreaterEqual(b, a) != le:
			t.Error("Below or the mirror disagrees")
		case a >= b && ge != 1, AtLeast(a, b) != (ge == 1):
			t.Error("tolerance takes away what holds exactly")
		}
	})
}

func TestWholeNumbers(t *testing.T) {
	above := Div(8.4, 1.4) // 6.000000000000001; a constant would be exact
	if above == 6 {
		t.Fatal("8.4/1.4 is exactly 6 here, and tests nothing")
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"ceil 8.4/1.4", Ceil(above), 6},
		{"floor of just below 6", Floor(6 - 1e-13), 6},
		{"floor 2.7", Floor(2.7), 2},
		{"floor -2.7", Floor(-2.7), -3},
		{"ceil 2.1", Ceil(2.1), 3},
		{"ceil -2.1", Ceil(-2.1), -2},
		{"round 2.5", Round(2.5), 3},
		{"round -2.5", Round(-2.5), -3},
		{"round of just below 2.5", Round(math.Nextafter(2.5, 0)), 3},
		{"round 2.4999", Round(2.4999), 2},
		{"round 1e13", Round(1e13), 1e13},
		{"round 1e15+0.25", Round(1e15 + 0.25), 1e15},
		{"mod 7 by 3", Mod(7, 3), 1},
		{"mod -7 by 3", Mod(-7, 3), 2},
		{"mod 7 by -3", Mod(7, -3), -2},
		{"mod 8.4 by 1.4", Mod(8.4, 1.4), 0},
		{"mod 6 by 3", Mod(6, 3), 0},
	} {
		if c.got != c.want {
			t.Errorf("%s is %v, want %v", c.name, c.got, c.want)
		}
	}
	if v := (&Intrinsic{F2: Mod}).Apply2(1, 0); !IsFault(v) {
		t.Errorf("mod by 0 is %v", v)
	}
}

func TestIndex(t *testing.T) {
	column := []float64{10, Blank, 30, Fault}
	for _, c := range []struct{ row, want float64 }{
		{1, 10}, {3 - 1e-13, 30}, {3.5, Fault}, {0, Fault}, {5, Fault}, {2, Fault}, {4, Fault}, {Blank, Blank}, {Fault, Fault},
	} {
		if got := Index(c.row, column); !alike(got, c.want) {
			t.Errorf("row %v is %v, want %v", c.row, got, c.want)
		}
	}
	for _, c := range []struct {
		row  float64
		want string
	}{
		{12, "off the end of gears.ratio: row 12 is beyond 1..4"},
		{2.5, "gears.ratio has no row 2.5: a row is a whole number"},
		{2, "row 2 of gears.ratio is blank"},
	} {
		if got := IndexCause(c.row, column, "gears.ratio"); got != c.want {
			t.Errorf("cause is %q, want %q", got, c.want)
		}
	}
	if got := IndexCause(1, nil, "gears.ratio"); got != "gears.ratio has no rows" {
		t.Errorf("cause is %q", got)
	}
}

func TestCauses(t *testing.T) {
	sqrt := &Intrinsic{Name: "sqrt", F1: Sqrt, Domain: "a number that is not below zero"}
	ln := &Intrinsic{Name: "ln", F1: Ln, Domain: "a number above zero"}
	mod := &Intrinsic{Name: "mod", F2: Mod, Domain: "a divisor that is not zero"}
	for _, c := range []struct{ got, want string }{
		{mod.Cause(5, 0), "mod takes a divisor that is not zero, and this is mod(5, 0)"},
		{DivCause(1, 0), "division by zero"},
		{DivCause(1e300, 1e-300), tooLarge},
		{PowCause(-4, 0.5), "the square root of a negative number"},
		{PowCause(-8, 1.5), "a negative number to the power 1.5, which is not whole"},
		{PowCause(0, -1), "zero to a negative power, which divides by zero"},
		{PowCause(10, 400), tooLarge},
		{sqrt.Cause(-4), "the square root of a negative number"},
		{(&Intrinsic{Name: "hypot", F2: Hypot}).Cause(1e308, 1e308), "hypot: " + tooLarge},
		{ln.Cause(0), "ln takes a number above zero, not 0"},
		{ReduceCause(Mean, []float64{Blank}, "log.lambda"), "mean of log.lambda, which has no values"},
		{ReduceCause(Sum, []float64{1e308, 1e308}, "a.b"), "sum of a.b: " + tooLarge},
	} {
		if c.got != c.want {
			t.Errorf("cause is %q, want %q", c.got, c.want)
		}
	}
}

func TestFunctions(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
		within    float64
	}{
		{"sin of half a turn", Sin(0.5), 0, 0},
		{"sin of a quarter", Sin(0.25), 1, 0},
		{"cos of a quarter", Cos(0.25), 0, 0},
		{"cos of half a turn", Cos(-0.5), -1, 0},
		{"sin of a million turns and an eighth", Sin(1e6 + 0.125), math.Sqrt2 / 2, 2e-16},
		{"sin of 30 degrees", Sin(30. / 360), 0.5, 1e-16},
		{"sin of 210 degrees", Sin(210. / 360), -0.5, 3e-16}, // 210/360 is itself rounded
		{"cos of 300 degrees", Cos(300. / 360), 0.5, 3e-16},
		{"tan of 45 degrees", Tan(0.125), 1, 2e-16},
		{"tan of 135 degrees", Tan(0.375), -1, 2e-16},
		{"asin of 1", Asin(1), 0.25, 1e-17},
		{"acos of -1", Acos(-1), 0.5, 1e-16},
		{"atan2 of 1 and -1", Atan2(1, -1), 0.375, 1e-16},
		{"log10 of 1000", Log10(1000), 3, 0},
		{"log10 of 2", Log10(2), 0.30102999566398119521, 1e-16}, // Abramowitz and Stegun, table 1.1
		{"gcd of 41 and 17", Gcd(41, 17), 1, 0},
		{"gcd of 48 and 18", Gcd(48, 18), 6, 0},
		{"sign", Sign(-3), -1, 0},
		{"least of three", (&Intrinsic{F2: Lower}).Apply(3, 1, 2), 1, 0},
		{"largest of three", (&Intrinsic{F2: Higher}).Apply(3, 1, 2), 3, 0},
		{"hypot", Hypot(3, 4), 5, 0},
		{"atan of the smallest number", Atan(5e-324), 0, 0}, // in turns it is 8e-325
		{"rest of a tiny division", Mod(7e-300, 2e-300), 1e-300, 1e-315},
		{"rest of the smallest numbers", Mod(5e-324*7, 5e-324*2), 5e-324, 0},
	} {
		if math.Abs(c.got-c.want) > c.within {
			t.Errorf("%s is %v, want %v", c.name, c.got, c.want)
		}
	}
	for name, v := range map[string]float64{
		"tan of a quarter turn": (&Intrinsic{F1: Tan}).Apply(0.25),
		"sqrt of -1":            (&Intrinsic{F1: Sqrt}).Apply(-1),
		"ln of 0":               (&Intrinsic{F1: Ln}).Apply(0),
		"exp of 1000":           (&Intrinsic{F1: Exp}).Apply(1000),
		"atan2 at the origin":   (&Intrinsic{F2: Direction}).Apply(0, 0),
		"gcd of half a tooth":   (&Intrinsic{F2: Gcd}).Apply(41.5, 17),
		"a blank folded away":   (&Intrinsic{F2: Lower}).Apply(Blank, 1, Fault),
	} {
		if !IsFault(v) {
			t.Errorf("%s is %v", name, v)
		}
	}
}

func TestReduce(t *testing.T) {
	column := []float64{Blank, 3, 1, Blank, 2}
	none := []float64{Blank}
	for _, c := range []struct {
		how        Aggregate
		want, void float64
	}{
		{Sum, 6, 0},
		{Count, 3, 0},
		{Mean, 2, Fault},
		{Min, 1, Fault},
		{Max, 3, Fault},
		{First, 3, Fault},
		{Last, 2, Fault},
	} {
		if got := Reduce(c.how, column); !alike(got, c.want) {
			t.Errorf("%v is %v, want %v", c.how, got, c.want)
		}
		if got := Reduce(c.how, none); !alike(got, c.void) {
			t.Errorf("%v of nothing is %v, want %v", c.how, got, c.void)
		}
		if got := Reduce(c.how, []float64{1, Fault, 2}); !IsFault(got) {
			t.Errorf("%v with a fault is %v", c.how, got)
		}
	}
	r := rand.New(rand.NewPCG(1, 7))
	for n := 1; n < 40; n++ { // numbers alone give what they give beside a blank
		column := make([]float64, n)
		for i := range column {
			column[i] = math.Ldexp(r.Float64()-0.5, r.IntN(60))
		}
		for how := Sum; how <= Last; how++ {
			if got, want := Reduce(how, column), Reduce(how, append(column, Blank)); !alike(got, want) {
				t.Errorf("%v of %v is %v, want %v", how, column, got, want)
			}
		}
	}
	if got := Reduce(Sum, []float64{1e308, 1e308}); !IsFault(got) {
		t.Errorf("a sum that overflows is %v", got)
	}
	// Left to right, one rounding a row: 1e16 swallows the ones one by one.
	if got := Reduce(Sum, []float64{1e16, 1, 1}); got != 1e16 {
		t.Errorf("sum is %v", got)
	}
}

func TestHolds(t *testing.T) {
	for _, c := range []struct {
		conditions []float64
		ended      bool
		value      float64
		row        int
	}{
		{[]float64{1, 1}, true, 1, -1},
		{[]float64{1, Blank}, true, 1, -1},
		{[]float64{1, 0, 0}, true, 0, 1},
		{[]float64{Fault, 0}, true, 0, 1},
		{[]float64{1, Fault}, true, Fault, 1},
		{[]float64{1}, false, Fault, -1},
		{[]float64{0}, false, 0, 0},
		{nil, true, 1, -1},
	} {
		v, row := Holds(c.conditions, c.ended)
		if !alike(v, c.value) || row != c.row {
			t.Errorf("%v: %v in row %d, want %v in row %d", c.conditions, v, row, c.value, c.row)
		}
	}
	if Until(1) != Ends || Until(0) != GoesOn || Until(Blank) != GoesOn || Until(Fault) != Breaks {
		t.Error("until reads its condition wrongly")
	}
}

func BenchmarkPow(b *testing.B) {
	for _, e := range []float64{2, 5, 0.286, 5.2559} {
		b.Run(fmt.Sprint(e), func(b *testing.B) {
			v := 0.0
			for b.Loop() {
				v += Pow(1.37, e)
			}
		})
	}
}

// TestLeast compares a comparison with tolerance with one by its least number,
// on both sides of where it turns.
func TestLeast(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	some := []float64{0, 5, -5, 1e-320, -1e-320, 0x1p-1022, 1e300, -1e300, math.Nextafter(math.MaxFloat64/2, 0), -math.Nextafter(math.MaxFloat64/2, 0)}
	for range 3000 {
		some = append(some, math.Ldexp(random.Float64()-0.5, random.IntN(1900)-950))
	}
	for _, b := range some {
		least := Least(b)
		for _, near := range []float64{least, b, -b, b + Tolerance*math.Abs(b), 0, math.MaxFloat64, -math.MaxFloat64, random.NormFloat64() * b} {
			a := near
			for range 4 {
				a = math.Nextafter(a, math.Inf(-1))
			}
			for range 9 {
				if got := AtLeast(a, b); !Bounded(b) || math.Abs(a) <= math.MaxFloat64 && got != (a >= least) {
					t.Fatalf("%v at least %v is %v, and the least number is %v", a, b, got, least)
				}
				a = math.Nextafter(a, math.Inf(1))
			}
		}
	}
}
