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
`, `t0 = look a linear(t.x, t.y)
b = mul 3 t0
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
			if diff := cmp.Diff(c.want, stepListing(s, 0)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestPlainLowering lists one sheet as it is lowered, and as it is for
// comparisons: there nothing is folded, shared or fused, nothing of a column is
// computed before its rows, and no operation replaces the call of an intrinsic.
func TestPlainLowering(t *testing.T) {
	const text = `k : 2
table t
  x : 1, 2, 3
  y = x * k * (3 - 1) + k * (3 - 1)
b = sqrt(k)
`
	for _, c := range []struct {
		plain bool
		want  string
	}{{false, `given k
given t.x
column t.y
  once    t1 = mul k 2
  row     t2 = load t.x
          t2 = mul-mul t2 k 2
          t0 = add t2 t1
cell b
          b = sqrt k
`}, {true, `given k
given t.x
column t.y
  row     t1 = load t.x
          t1 = mul t1 k
          t2 = sub 3 1
          t2 = mul t1 t2
          t1 = sub 3 1
          t1 = mul k t1
          t0 = add t2 t1
cell b
          b = call sqrt k
`}} {
		if diff := cmp.Diff(c.want, listing(lowered(t, text, c.plain))); diff != "" {
			t.Errorf("plain %v: %s", c.plain, diff)
		}
	}
}

// TestWholeSheets lists sheets with many kinds of statements, task by task.
func TestWholeSheets(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{
			"gears", `shift_speed : 186
rollout : 2.085
primary : 1.55

function road_speed(speed: 1, overall: 1, rollout: 1) as 1
  way = speed * rollout
  valid way < 500 "the way is below 500"
  = way / overall

table gears
  ratio : 2.5, 1.9, 1.55, 1.3, 1.15, 1.05
  overall = primary * ratio * (41 / 17)
  speed = road_speed(shift_speed, overall, rollout)
  drop_to = shift_speed * next(ratio) / ratio
  share = speed / sum(speed)

table dome
  pressure : 1, 2, 3
  boost : 10, 25, 30

top_speed = last(gears.speed)
third = gears.speed[3]
at_two = lookup(2, dome.pressure, dome.boost)
limit top_speed <= 100 "Too fast"
limit gears.speed < 90 "Too fast in a gear"
`, `given shift_speed
given rollout
given primary
given gears.ratio
column gears.overall
  row     t1 = load gears.ratio
          t0 = mul-mul primary t1 2.411764705882353
column gears.speed
  once    t1 = mul shift_speed rollout
  row     t2 = load gears.overall
          t0 = div t1 t2
column gears.drop_to
  row     t1 = next gears.ratio
          t2 = load gears.ratio
          t0 = mul-div shift_speed t1 t2
column gears.share
  once    t1 = reduce gears.speed sum
  row     t2 = load gears.speed
          t0 = div t2 t1
given dome.pressure
given dome.boost
cell top_speed
          top_speed = reduce gears.speed last
cell third
          third = index 3 gears.speed
cell at_two
          at_two = look 2 linear(dome.pressure, dome.boost)
cell limit0
          limit0 = lesseq top_speed 100
limit1 over gears
  row     t1 = load gears.speed
          t0 = less t1 90
advice0 over gears
  once    t1 = mul shift_speed rollout
          t1 = less t1 500
  row     t0 = move t1
`,
		},
		{
			"run", `step : 0.25
goal : 30

table run rows 40 until distance >= goal
  time     = prev(time) + step                  start 0
  speed    = prev(speed) + prev(accel) * step   start 0
  accel    = 12 - 0.5 * speed
  distance = prev(distance) + prev(speed) * step start 0
  gain     = next(speed) - speed

elapsed = last(run.time)
best_gain = max(run.gain)
limit run.speed < 22 "Too fast"
`, `given step
given goal
loop run
  once    t9 = lesseq goal 0
  first   t0 = move 0
          t1 = move 0
          t2 = move 12
          t3 = move 0
          t8 = move t9
  row     t0 = add t4 step
          t1 = mul-add t6 step t5
          t2 = mul-from 0.5 t1 12
          t3 = mul-add t5 step t7
          t8 = moreeq t3 goal
          run.time = t0, before t4
          run.speed = t1, before t5
          run.accel = t2, before t6
          run.distance = t3, before t7
          until t8
column run.gain
  row     t1 = next run.speed
          t2 = load run.speed
          t0 = sub t1 t2
cell elapsed
          elapsed = reduce run.time last
cell best_gain
          best_gain = reduce run.gain max
limit0 over run
  row     t1 = load run.speed
          t0 = less t1 22
`,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, listing(lowered(t, c.text, false))); diff != "" {
				t.Error(diff)
			}
		})
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
		for line := range strings.Lines(stepListing(s, lower.ForMachine)) {
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
