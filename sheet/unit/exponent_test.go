package unit

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// drawExponent draws an exponent within bounds.
func drawExponent(t *rapid.T, label string) Exponent {
	num := rapid.Int64Range(-24, 24).Draw(t, label+" num")
	den := rapid.SampledFrom([]int64{1, 1, 1, 2, 3, 4, 6, 12}).Draw(t, label+" den")
	e, ok := exponent(num, den)
	if !ok {
		t.Skip("out of bounds")
	}
	return e
}

func (e Exponent) rat() *big.Rat {
	num, den := e.ratio()
	return big.NewRat(num, den)
}

// inBounds says, independently, whether r can be kept.
func inBounds(r *big.Rat) bool {
	limit := big.NewRat(MaxExponent, 1)
	return r.Cmp(limit) <= 0 && r.Cmp(new(big.Rat).Neg(limit)) >= 0 &&
		r.Denom().Cmp(big.NewInt(maxDenominator)) <= 0 && new(big.Int).Abs(r.Num()).Cmp(big.NewInt(maxNumerator)) <= 0
}

func TestExponentArithmetic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawExponent(t, "a"), drawExponent(t, "b")
		num := rapid.Int64Range(-9, 9).Draw(t, "num")
		den := rapid.Int64Range(1, 9).Draw(t, "den")
		check := func(what string, got Exponent, ok bool, want *big.Rat) {
			if ok != inBounds(want) {
				t.Fatalf("%s: ok is %v for %s", what, ok, want)
			}
			if ok && got.rat().Cmp(want) != 0 {
				t.Fatalf("%s: %v, want %s", what, got, want)
			}
			if again, _ := exponent(got.ratio()); ok && again != got {
				t.Fatalf("%s: %v is not in lowest terms", what, got)
			}
		}
		sum, ok := a.plus(b, 1)
		check("sum", sum, ok, new(big.Rat).Add(a.rat(), b.rat()))
		difference, ok := a.plus(b, -1)
		check("difference", difference, ok, new(big.Rat).Sub(a.rat(), b.rat()))
		product, ok := a.times(num, den)
		check("product", product, ok, new(big.Rat).Mul(a.rat(), big.NewRat(num, den)))
	})
}

func TestPow(t *testing.T) {
	length, none := whole(1), Measure{}
	for _, c := range []struct {
		m        Measure
		num, den int
		want     string // "" where the power is refused
	}{
		{length, 2, 1, "m2"},
		{length, -1, 1, "1/m"},
		{length, 1, 2, "m(1/2)"},
		{length, 2, 4, "m(1/2)"},
		{length, 1, -2, "1/m(1/2)"},
		{length, -6, -3, "m2"},
		{length, 0, 5, "1"},
		{length, 20, 1, "m20"},
		{length, 21, 1, ""},
		{length, 1, 13, ""},
		{length, 1, 0, ""},
		{length, 1999999999, 1, ""},
		{length, math.MinInt, 1, ""},
		{length, 1, math.MinInt, ""},
		{length, math.MaxInt, math.MaxInt, "m"},
		{whole(2, 1, -2), 1, 2, "kg(1/2).m/s"},
		{none, math.MaxInt, 1, "1"},
		{none, 1, 7, "1"},
		{none, 1, 0, ""},
		{Measure{}.count(Turn), 3, 1, "turn3"},
		{Measure{Dim: pressureDim, Kind: Absolute}, 1, 1, "kg/(m.s2)"},
	} {
		got, ok := c.m.Pow(c.num, c.den)
		if ok != (c.want != "") {
			t.Errorf("%v^(%d/%d): ok is %v", c.m, c.num, c.den, ok)
			continue
		}
		if symbol := NewSystem().Compose(got); ok && symbol != c.want {
			t.Errorf("^(%d/%d) is %s, want %s", c.num, c.den, symbol, c.want)
		}
		if got.Kind != Plain {
			t.Errorf("a power is not plain")
		}
	}
}

func TestMulDiv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawMeasure(t, "a"), drawMeasure(t, "b")
		product, ok := a.Mul(b)
		if !ok {
			t.Skip("out of bounds")
		}
		if other, _ := b.Mul(a); other != product {
			t.Fatalf("a·b is %v, b·a is %v", product, other)
		}
		back, ok := product.Div(b)
		if !ok || back.Dim != a.Dim || back.Counts != a.Counts {
			t.Fatalf("a·b/b is %v, want %v", back, a)
		}
		if square, ok := a.Pow(2, 1); ok {
			if root, ok := square.Pow(1, 2); !ok || root.Dim != a.Dim || root.Counts != a.Counts {
				t.Fatalf("the root of the square of %v is %v", a, root)
			}
		}
	})
}

func TestMulOutOfBounds(t *testing.T) {
	far, _ := whole(1).Pow(MaxExponent, 1)
	if m, ok := far.Mul(whole(1)); ok {
		t.Errorf("m20·m is %v", m)
	}
	if m, ok := (Measure{}).Div(far); !ok || m.Dim[Length].Num != -MaxExponent {
		t.Errorf("1/m20 is %v, %v", m, ok)
	}
	near, _ := (Measure{}).Div(far)
	if m, ok := near.Div(whole(1)); ok {
		t.Errorf("1/m20/m is %v", m)
	}
	turn := Measure{}.count(Turn)
	many, _ := turn.Pow(MaxExponent, 1)
	if m, ok := many.Pow(2, 1); ok {
		t.Errorf("turn20^2 is %v", m)
	}
	if m, ok := many.Mul(turn); ok {
		t.Errorf("turn20·turn is %v", m)
	}
}

// drawMeasure draws a plain measure with a few small exponents, no more slots
// than the first two.
func drawMeasure(t *rapid.T, label string) Measure {
	var m Measure
	for i := range Slot0 + 2 {
		if rapid.IntRange(0, 2).Draw(t, label+" has") == 0 {
			m.Dim[i] = drawExponent(t, label)
		}
	}
	for i := range m.Counts {
		if rapid.IntRange(0, 4).Draw(t, label+" counts") == 0 {
			m.Counts[i] = drawExponent(t, label)
		}
	}
	return m
}
