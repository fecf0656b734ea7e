package program

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"gearleaf/sheet/check"
)

func TestListingOfGears(t *testing.T) {
	// The constant ratio of the sprockets is folded, the product of the
	// call's step and the sum of the column are made once, and both the
	// limit and the validity read registers in order.
	want := `given shift_speed
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
cell top_speed
          top_speed = reduce gears.speed last
cell third
          third = index 3 gears.speed
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
cell at_two
          at_two = look 2 linear(dome.pressure, dome.boost)
cell limit0
          limit0 = lesseq top_speed 100
limit1 over gears
  row     t1 = load gears.speed
          t0 = less t1 90
cell advice0
          t0 = mul shift_speed rollout
          advice0 = less t0 500
`
	if diff := cmp.Diff(want, gears().compile(t, Options{}).Listing()); diff != "" {
		t.Error(diff)
	}
}

func TestListingOfRun(t *testing.T) {
	want := `given step
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
cell elapsed
          elapsed = reduce run.time last
cell steps
          steps = reduce run.distance count
column run.gain
  row     t1 = next run.speed
          t2 = load run.speed
          t0 = sub t1 t2
cell best_gain
          best_gain = reduce run.gain max
limit0 over run
  row     t1 = load run.speed
          t0 = less t1 22
`
	if diff := cmp.Diff(want, run().compile(t, Options{}).Listing()); diff != "" {
		t.Error(diff)
	}
}

// TestListingShares shows what Plain turns off: folding, values used twice,
// what is the same in every row, opcodes for kernels and pairs.
func TestListingShares(t *testing.T) {
	s := newSketch()
	a := s.given("a", 2)
	tb := s.table("t", 3)
	x := s.givenColumn(tb, "x", 1, 2, 3)
	s.column(tb, "y", s.op(check.Add,
		s.op(check.Mul, s.op(check.Add, s.cellRef(a), s.num(1)), s.this(x)),
		s.op(check.Mul, s.op(check.Add, s.cellRef(a), s.num(1)), s.op(check.Sub, s.num(5), s.num(3)))))
	s.cell("b", s.op(check.If, s.op(check.SameText, s.cellRef(a), s.num(2)), s.intrinsic(0, s.cellRef(a)), s.op(check.Neg, s.cellRef(a))))
	for _, c := range []struct {
		plain bool
		want  string
	}{{false, `given a
cell b
          t0 = same a 2
          t1 = sqrt a
          t2 = neg a
          b = if t0 t1 t2
given t.x
column t.y
  once    t1 = add a 1
          t2 = mul t1 2
  row     t3 = load t.x
          t0 = mul-add t1 t3 t2
`}, {true, `given a
cell b
          t0 = same a 2
          t1 = call sqrt a
          t2 = neg a
          b = if t0 t1 t2
given t.x
column t.y
  row     t1 = add a 1
          t2 = load t.x
          t2 = mul t1 t2
          t1 = add a 1
          t3 = sub 5 3
          t3 = mul t1 t3
          t0 = add t2 t3
`}} {
		if diff := cmp.Diff(c.want, s.compile(t, Options{Plain: c.plain}).Listing()); diff != "" {
			t.Errorf("plain %v: %s", c.plain, diff)
		}
	}
}
