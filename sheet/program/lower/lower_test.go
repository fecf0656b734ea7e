package lower_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gearleaf/formulas"
	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program/lower"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// lowerings are worksheets, one for each kind of statement or of sharing, and the
// code of a run of each.
var lowerings = []struct{ name, text, want string }{
	{
		"cell", `a : 2 m
b = a + 3 m
`, `b = add a 3
`,
	},
	{
		"conversion of a given costs nothing", `a : 2 ft
b = a as m
`, `b = move a
`,
	},
	{
		"choice", `a : 2
b = if a < 3 then a * 2 else 7
`, `t0 = mul a 2
b = if-less a 3 t0 7
`,
	},
	{
		"choice of 1 and 0 is its condition, and a constant is the right operand", `a : 2
b = if 3 < a then 1 else 0
`, `b = more a 3
`,
	},
	{
		"choice between conditions", `a : 2
b = if a > 1 and not (a > 5) or a = 0 then 1 else 2
`, `t0 = more a 1
t1 = more a 5
t1 = not t1
t1 = and t0 t1
t0 = equal a 0
t0 = or t1 t0
b = if t0 1 2
`,
	},
	{
		"text", `gas : "methanol"
k = if gas = "methanol" then 2 else 1
`, `t0 = same gas 0
k = if t0 2 1
`,
	},
	{
		"function, expanded where it is called", `function area(d: m) as m2
  r = d / 2
  = pi * r * r
bore : 80 mm
a = area(bore)
`, `t1 = mul-mul bore 0.5 3.141592653589793 keep t0
a = mul t1 t0
`,
	},
	{
		"validity of a function", `function root(x: 1) as 1
  valid x > 0 "x is above zero"
  = sqrt(x)
a : 2
b = root(a)
`, `b = sqrt a
advice0 = more a 0
`,
	},
	{
		"limit", `a : 2
limit a * 3 < 9 "too much"
`, `t0 = mul a 3
limit0 = less t0 9
`,
	},
	{
		"advice", `a : 5 range 1 .. 4
`, `t0 = moreeq a 1
t1 = lesseq a 4
advice0 = and t0 t1
`,
	},
	{
		"column", `k : 2
table t
  x : 1, 2, 3
  y = x * k + k * k
`, `column t.y
  once    t1 = mul k k
  row     t2 = load t.x
          t0 = mul-add t2 k t1
`,
	},
	{
		"next and previous", `table t
  x : 1, 2, 3
  y = next(x) - prev(x) start 0
`, `column t.y
  first   t0 = move 0
  row     t1 = next t.x
          t2 = prev t.x
          t0 = sub t1 t2
`,
	},
	{
		"steps", `k : 2
table t rows 5
  n = row
  x = prev(x) * k start 1
`, `column t.n
  row     t0 = row
loop t
  first   t0 = move 1
  row     t0 = mul t1 k
          t.x = t0, before t1
`,
	},
	{
		"steps with an end", `table t rows 9 until x > 20
  x = prev(x) + 4 start 0
`, `loop t
  first   t0 = move 0
          t2 = move 0
  row     t0 = add t1 4
          t2 = more t0 20
          t.x = t0, before t1
          until t2
`,
	},
	{
		"limit over rows", `table t
  x : 1, 2, 3
limit t.x < 3 "too much"
`, `limit0 over t
  row     t1 = load t.x
          t0 = less t1 3
`,
	},
	{
		"aggregates", `table t
  x : 1, 2, 3
a = sum(t.x) / count(t.x)
b = t.x[2]
`, `t0 = reduce t.x sum
t1 = reduce t.x count
a = div t0 t1
b = index 2 t.x
`,
	},
	{
		"look-ups", `table t
  x : 1, 2, 3
  y : 5, 7, 8
a : 1.5
b = 3 * lookup(a, t.x, t.y)
c = pick(2, t.x, t.y)
d = regression_slope(t.x, t.y)
`, `b = look-mul a linear(t.x, t.y) 3
c = look 2 pick(t.x, t.y)
d = look 0 slope(t.x, t.y)
`,
	},
	{
		"constants fold", `a = 2 * 3 + sqrt(16)
`, `a = move 10
`,
	},
	{
		"what is computed already is used again", `a : 2
b = exp(a) + 1
c = exp(a) * 2
`, `t0 = call exp a
b = add t0 1
c = mul t0 2
`,
	},
	{
		"powers", `a : 2
b = a ^ 2 + a ^ 0.5 + a ^ 1 + a ^ 1.4
`, `t0 = sqrt a
t0 = mul-add a a t0
t1 = pow a 1.4
b = add-add t0 a t1
`,
	},
	{
		"quotients by powers of two", `a : 2
b = a / 4
c = a / 3
`, `b = mul a 0.25
c = div a 3
`,
	},
	{
		"intrinsics", `a : 2
b = min(a, 3, 4) + abs(a) + atan2(a, 3) / 1 turn
`, `t0 = min a 3
t0 = min t0 4
t1 = abs a
t2 = call atan2 a 3
b = add-add t0 t1 t2
`,
	},
	{
		"an error of a given has no code", `a : 2 sd 0.1
`, ``,
	},
}

func TestLowering(t *testing.T) {
	for _, c := range lowerings {
		t.Run(c.name, func(t *testing.T) {
			s := lowered(t, c.text, false)
			if diff := cmp.Diff(c.want, s.Code.StepListing(s.Steps(func(int32) bool { return true }, 0))); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestPlainLowering lists one formula as it is lowered for comparisons: nothing
// is folded, shared or fused, and nothing of a column is computed before its rows.
func TestPlainLowering(t *testing.T) {
	s := lowered(t, "k : 2\ntable t\n  x : 1, 2, 3\n  y = x * k * (3 - 1) + k * (3 - 1)\n", true)
	want := `given k
given t.x
column t.y
  row     t1 = load t.x
          t1 = mul t1 k
          t2 = sub 3 1
          t2 = mul t1 t2
          t1 = sub 3 1
          t1 = mul k t1
          t0 = add t2 t1
`
	if diff := cmp.Diff(want, s.Code.Listing()); diff != "" {
		t.Error(diff)
	}
}

// TestLikeFollowsLike: values of one operation that wait for as much follow each
// other; of so many scalars that they have no code block, those of one form do.
func TestLikeFollowsLike(t *testing.T) {
	for _, pairs := range []int{100, 1000, 3000} {
		var text strings.Builder
		text.WriteString("a : 2\n")
		for i := range pairs {
			fmt.Fprintf(&text, "x%d = a + %d\ny%d = a * %d\n", i, i+5, i, i+5)
		}
		s := lowered(t, text.String(), false)
		turns, last := 0, ""
		for line := range strings.Lines(s.Code.StepListing(s.Steps(func(int32) bool { return true }, lower.ForMachine))) {
			op := strings.Fields(line)[2]
			if last != "" && op != last {
				turns++
			}
			last = op
		}
		if turns != 1 {
			t.Errorf("%d pairs: the operation changes %d times, want 1", pairs, turns)
		}
	}
}

// lowered lowers a worksheet without errors.
func lowered(t *testing.T, text string, plain bool) *lower.Sheet {
	t.Helper()
	tree, list := syntax.Parse(source.New("test.leaf", text))
	if list.Errors() {
		t.Fatal(list)
	}
	m, list := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: check.Library{Intrinsics: formulas.Intrinsics()}})
	if list.Errors() {
		t.Fatal(list)
	}
	g, cycles := graph.Build(m)
	if len(cycles) > 0 {
		t.Fatal(cycles)
	}
	return lower.Lower(m, g, plain)
}
