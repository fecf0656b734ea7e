package export

import (
	"math"
	"testing"

	"gearleaf/sheet/check"
)

// ref returns a reference to a number in a unit of scale k.
func ref(name string, k float64) term { return quantity(name, k, 0) }

func risky(t term) term {
	t.risky = true
	return t
}

func blankable(t term) term {
	t.guards = []string{t.text}
	return t
}

func TestFold(t *testing.T) {
	const mm, rpm, mph = 1e-3, 1.0 / 60, 0.44704
	degC := func(name string) term { return quantity(name, 1, 273.15) }
	degF := func(name string) term { return quantity(name, 5.0/9, 459.67*5/9) }
	p := &printer{}
	for _, c := range []struct {
		name string
		got  term
		k, c float64
		want string
	}{
		{"units fold into one factor", over(times(ref("shift", rpm), ref("rollout", mm)), ref("ratio", 1)), mph, 0, "shift*rollout/ratio/26822.4"},
		{"17 digits where it takes them", times(ref("torque", 1), ref("speed", math.Pi/7)), 1, 0, "torque*speed*0.4487989505128276"},
		{"one unit, no factor", plus(ref("a", mm), ref("b", mm), 1), mm, 0, "a+b"},
		{"two units, the shorter ratio", plus(ref("a", mm), ref("b", 0.0254), 1), mm, 0, "a+b*25.4"},
		{"a difference keeps its brackets", plus(ref("a", 1), plus(ref("b", 1), ref("c", 1), -1), -1), 1, 0, "a-(b-c)"},
		{"no brackets without need", plus(plus(ref("a", 1), ref("b", 1), -1), ref("c", 1), -1), 1, 0, "a-b-c"},
		{"temperatures lose their zeros", plus(degC("hot"), degC("cold"), -1), 1, 0, "hot-cold"},
		{"a temperature and a difference", plus(degC("hot"), quantity("rise", 5.0/9, 0), 1), 1, 273.15, "hot+rise/1.8"},
		{"degF shown in degC", degF("t"), 1, 273.15, "t/1.8-17.77777777777778"},
		{"a product needs a true zero", times(degC("t"), ref("x", 1)), 1, 0, "(t+273.15)*x"},
		{"a constant over a cell", over(number(3), ref("x", mm)), 1, 0, "3000/x"},
		{"a cell over a quotient", over(ref("a", 1), over(ref("b", 1), ref("c", 1))), 1, 0, "a/(b/c)"},
		{"the inverse of an inverse", over(number(1), over(number(1), ref("x", 1))), 1, 0, "x"},
		{"a leading minus and a power", times(p.power(ref("b", 1), number(2)), number(-1)), 1, 0, "-(b^2)"},
		{"a negative base", p.power(plus(ref("b", 1), number(-3), 1), number(2)), 1, 0, "(b-3)^2"},
		{"a chain of powers", p.power(p.power(ref("b", 1), number(3)), number(2)), 1, 0, "(b^3)^2"},
		{"a power takes its unit along", p.power(ref("v", mph), number(2)), 1, 0, "v^2*0.1998447616"},
		{"a negative power", p.power(ref("v", 1), number(-0.19)), 1, 0, "v^(-0.19)"},
		{"a square root", p.power(ref("v", 1), number(0.5)), 1, 0, "SQRT(v)"},
		{"no odd root of a negative", p.power(ref("v", 1), number(1.0/3)), 1, 0, "IF(v<0,NA(),v^(1/3))"},
		{"nought keeps a fault", times(risky(ref("x", 1)), number(0)), 1, 0, "x*0"},
		{"a blank passes through", plus(blankable(ref("a", 1)), ref("b", 1), 1), 1, 0, `IF(a="","",a+b)`},
		{"a fault before a blank", plus(blankable(ref("a", 1)), risky(ref("b", 1)), 1), 1, 0, `IF(OR(a="",b=""),"",a+b)`},
		{"the cell of a blank asks for itself", plus(risky(blankable(ref("a", 1))), risky(blankable(ref("b", mm))), 1), 1, 0, `IF(OR(a="",b=""),"",a+b*0.001)`},
		{"what is made of several is asked whole", plus(risky(plus(ref("a", 1), ref("b", 1), 1)), blankable(ref("c", 1)), 1), 1, 0, `IF(OR((a+b)="",c=""),"",a+b+c)`},
		{"two blanks", times(blankable(ref("a", 1)), blankable(ref("b", mm))), 1, 0, `IF(OR(a="",b=""),"",a*b*0.001)`},
		{"branches share a unit", p.branch(plainTerm("c", atom), ref("a", mm), number(2)), mm, 0, "IF(c,a,2000)"},
		{"a branch does not ask again", p.branch(blankable(ref("a", 1)), blankable(ref("a", 1)), blankable(ref("b", 1))), 1, 0, `IF(a="","",IF(a,a,IF(b="","",b)))`},
		{"noise is snapped", number(0.1 + 0.2), 1, 0, "0.3"},
	} {
		if got := c.got.in(c.k, c.c).guarded(); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
}

func TestCompare(t *testing.T) {
	p := &printer{}
	whole := ref("n", 1)
	whole.whole = true
	for _, c := range []struct {
		op   check.Op
		x, y term
		want string
	}{
		{check.GreaterEqual, ref("a", 1), ref("b", 1), "a>=b-ABS(b)*1E-12"},
		{check.Less, ref("a", 1e-3), number(2), "a<2000*(1-1E-12)"},
		{check.Greater, ref("a", 1), number(-2), "a>-2*(1-1E-12)"},
		{check.LessEqual, quantity("t", 1, 273.15), number(300), "t<=26.85+300*1E-12"},
		{check.Equal, ref("a", 1), ref("b", 1), "ABS(a-b)<=ABS(b)*1E-12"},
		{check.NotEqual, whole, number(3), "n<>3"},
		{check.Greater, ref("a", 1e-3), number(0), "a>0"},
		{check.Less, number(1), number(2), "TRUE"},
	} {
		if got := p.compare(c.op, c.x, c.y).text; got != c.want {
			t.Errorf("got %s, want %s", got, c.want)
		}
	}
}

func TestSnapIsHarmless(t *testing.T) {
	for _, v := range []float64{1.0 / 3, math.Pi, 12.000000000000002, 0.1 + 0.2, 1e300, -5e-324, 459.67 * 5 / 9} {
		if s := snap(v); math.Abs(s-v) > 1e-15*math.Abs(v) {
			t.Errorf("snap(%v) = %v", v, s)
		}
	}
}
