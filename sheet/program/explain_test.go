package program

import (
	"fmt"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/unit"
)

func TestExplain(t *testing.T) {
	type ask func(mc *Machine) *Fault
	cell := func(c *check.Cell) ask { return func(mc *Machine) *Fault { return mc.ExplainCell(int(c.Index)) } }
	entry := func(c *check.Column, row int) ask {
		return func(mc *Machine) *Fault { return mc.ExplainEntry(int(c.Index), row) }
	}
	for _, c := range []struct {
		name string
		make func(s *sketch) ask
		want string
	}{
		{"at once", func(s *sketch) ask {
			return cell(s.cell("a", s.op(check.Div, s.num(1), s.num(0))))
		}, "a[-1]: division by zero"},
		{"down a chain, not by the branch left alone", func(s *sketch) ask {
			zero := s.given("zero", 0)
			a := s.cell("a", s.op(check.Div, s.num(1), s.cellRef(zero)))
			r := s.cell("root", s.intrinsic(0, s.num(-1)))
			b := s.cell("b", s.op(check.If, s.op(check.Less, s.cellRef(zero), s.num(1)), s.cellRef(a), s.cellRef(r)))
			return cell(s.cell("c", s.op(check.Add, s.num(1), s.cellRef(b))))
		}, "a[-1]: division by zero, through b"},
		{"inside a function", func(s *sketch) ask {
			s.Instances = append(s.Instances, &check.Instance{Name: "slip", Result: s.op(check.Div, s.num(1), s.refer(check.ParamRef, 0))})
			return cell(s.cell("a", s.call(0, s.num(0))))
		}, "a[-1]: division by zero (in slip)"},
		{"a look-up off the end", func(s *sketch) ask {
			tb := s.table("gears", 2)
			x, y := s.givenColumn(tb, "ratio", 1, 6), s.givenColumn(tb, "speed", 10, 60)
			x.Look = &check.Look{Unit: unit.Unit{Symbol: "rpm", Scale: 1. / 60}}
			return cell(s.cell("a", s.look(kernel.Linear, s.num(12), x, y)))
		}, "a[-1]: off the end of gears.ratio: 720 rpm is beyond 60 rpm..360 rpm"},
		{"an index to a blank", func(s *sketch) ask {
			x := s.givenColumn(s.table("gears", 2), "ratio", 1, kernel.Blank)
			return cell(s.cell("a", s.index(x, s.num(2))))
		}, "a[-1]: row 2 of gears.ratio is blank"},
		{"an index to a fault", func(s *sketch) ask {
			tb := s.table("gears", 2)
			x := s.givenColumn(tb, "ratio", 1, 0)
			y := s.column(tb, "inverse", s.op(check.Div, s.num(1), s.this(x)))
			return cell(s.cell("a", s.index(y, s.num(2))))
		}, "gears.inverse[1]: division by zero, through gears.inverse"},
		{"a mean of nothing", func(s *sketch) ask {
			x := s.givenColumn(s.table("log", 1), "lambda", kernel.Blank)
			return cell(s.cell("a", s.reduce(kernel.Mean, x)))
		}, "a[-1]: mean of log.lambda, which has no values"},
		{"a pick of no text", func(s *sketch) ask {
			s.Texts = []string{"methanol", "ethanol"}
			tb := s.table("fuels", 1)
			x, y := s.givenColumn(tb, "name", 0), s.givenColumn(tb, "afr", 6.4)
			x.Type.Form = check.Text
			return cell(s.cell("a", s.look(kernel.Pick, s.num(1), x, y)))
		}, `a[-1]: fuels.name has no row "ethanol"`},
		{"a fault that came down a loop", func(s *sketch) ask {
			tb := s.table("run", 5)
			v := s.column(tb, "v", 0)
			v.Looped, v.Start = true, s.num(2)
			v.Formula = s.op(check.Sub, s.prev(v), s.op(check.Div, s.prev(v), s.prev(v)))
			return entry(v, 4)
		}, "run.v[3]: division by zero, through run.v"},
		{"a loop that never ends", func(s *sketch) ask {
			tb := s.table("run", 5)
			v := s.column(tb, "v", 0)
			v.Looped, v.Start, v.Formula = true, s.num(0), s.op(check.Add, s.prev(v), s.num(1))
			tb.Until = s.op(check.Greater, s.this(v), s.num(9))
			return cell(s.cell("a", s.reduce(kernel.Max, v)))
		}, "until of run[-1]: run never ends: its until does not hold in any of its 5 rows, through until of run"},
		{"an until at fault", func(s *sketch) ask {
			tb := s.table("run", 5)
			v := s.column(tb, "v", 0)
			v.Looped, v.Start, v.Formula = true, s.num(2), s.op(check.Sub, s.prev(v), s.num(1))
			tb.Until = s.op(check.Greater, s.op(check.Div, s.num(1), s.this(v)), s.num(9))
			w := s.column(tb, "w", s.this(v))
			return entry(w, 3)
		}, "until of run[2]: division by zero, through until of run"},
		{"an until at fault, asked for the whole column", func(s *sketch) ask {
			tb := s.table("run", 5)
			v := s.column(tb, "v", 0)
			v.Looped, v.Start, v.Formula = true, s.num(2), s.op(check.Sub, s.prev(v), s.num(1))
			tb.Until = s.op(check.Greater, s.op(check.Div, s.num(1), s.this(v)), s.num(9))
			return cell(s.cell("a", s.reduce(kernel.Sum, v)))
		}, "until of run[2]: division by zero, through until of run"},
		{"an until at fault by its column", func(s *sketch) ask {
			tb := s.table("run", 5)
			v := s.column(tb, "v", 0)
			v.Looped, v.Start = true, s.num(1)
			v.Formula = s.op(check.Div, s.num(1), s.op(check.Sub, s.prev(v), s.num(1)))
			tb.Until = s.op(check.Greater, s.this(v), s.num(9))
			return cell(s.cell("a", s.reduce(kernel.Last, v)))
		}, "run.v[1]: division by zero, through until of run"},
		{"a function of two values, too large", func(s *sketch) ask {
			return cell(s.cell("a", s.intrinsic(7, s.num(1.7e308), s.num(1.7e308))))
		}, "a[-1]: hypot: the result is too large for a number"},
		{"a pick of no truth", func(s *sketch) ask {
			tb := s.table("fuels", 1)
			x, y := s.givenColumn(tb, "wet", 0), s.givenColumn(tb, "afr", 6.4)
			x.Type.Form = check.Truth
			return cell(s.cell("a", s.look(kernel.Pick, s.num(1), x, y)))
		}, "a[-1]: fuels.wet has no row yes"},
		{"an entry of a table that was not read", func(s *sketch) ask {
			tb := s.table("pass", 2)
			tb.Fault = "pass-03.csv cannot be read"
			return entry(s.givenColumn(tb, "speed", kernel.Fault, kernel.Fault), 1)
		}, "pass.speed[1]: pass-03.csv cannot be read"},
		{"a limit that cannot be computed", func(s *sketch) ask {
			l := s.limit(s.op(check.Less, s.op(check.Div, s.num(1), s.cellRef(s.given("zero", 0))), s.num(3)), nil)
			l.Text = "The tyre is not rated for this speed"
			return func(mc *Machine) *Fault { return mc.ExplainLimit(0) }
		}, "The tyre is not rated for this speed[-1]: division by zero"},
		{"a table that was not read", func(s *sketch) ask {
			tb := s.table("pass", 0)
			tb.Fault = "pass-03.csv cannot be read"
			return cell(s.cell("a", s.reduce(kernel.Sum, s.givenColumn(tb, "speed"))))
		}, "pass[-1]: pass-03.csv cannot be read, through pass"},
	} {
		s := newSketch()
		how := c.make(s)
		mc := s.compile(t, Options{}).NewMachine()
		mc.Run()
		f := how(mc)
		if f == nil {
			t.Errorf("%s: no fault", c.name)
			continue
		}
		got := fmt.Sprintf("%s[%d]: %s", f.Origin, f.Row, f.Cause)
		if f.WaitsOn != "" {
			got += ", through " + f.WaitsOn
		}
		if got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
		if again := how(mc); *again != *f {
			t.Errorf("%s: asked again, %+v", c.name, again)
		}
	}
}

func TestNothingToExplain(t *testing.T) {
	mc := gears().compile(t, Options{}).NewMachine()
	mc.Run()
	for i := range mc.p.Cells {
		if f := mc.ExplainCell(i); f != nil {
			t.Errorf("cell %d: %+v", i, f)
		}
	}
	for i := range mc.p.Model().Limits {
		if f := mc.ExplainLimit(i); f != nil {
			t.Errorf("limit %d: %+v", i, f)
		}
	}
}

// TestExplainingALongChain explains every cell of a long chain: walks that
// started again for each would take too long.
func TestExplainingALongChain(t *testing.T) {
	s := newSketch()
	last := s.cell("first", s.op(check.Div, s.num(1), s.num(0)))
	for i := range 50_000 {
		last = s.cell(fmt.Sprint("c", i), s.op(check.Add, s.cellRef(last), s.num(1)))
	}
	mc := s.compile(t, Options{}).NewMachine()
	mc.Run()
	for i := len(s.Cells) - 1; i >= 0; i-- {
		f := mc.ExplainCell(i)
		want := ""
		if i > 0 {
			want = s.Cells[i-1].Name
		}
		if f.Origin != "first" || f.Cause != "division by zero" || f.WaitsOn != want {
			t.Fatalf("%s: %+v", s.Cells[i].Name, f)
		}
	}
}
