package program

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

const randomSheets = 120

// picture is everything a lane of a machine shows.
func picture(mc *Machine, lane int) []string {
	m := mc.p.m
	var out []string
	show := func(name string, v float64) {
		out = append(out, fmt.Sprintf("%s = %v %x", name, v, bitsOf(v)))
	}
	for i, c := range m.Cells {
		show(c.Name, mc.Cell(i, lane))
	}
	for i, t := range m.Tables {
		rows, done := mc.Live(i, lane)
		out = append(out, fmt.Sprintf("%s has %d rows, %v", t.Name, rows, done))
		for _, c := range t.Columns {
			for row := range t.Rows {
				show(fmt.Sprintf("%s.%s[%d]", t.Name, c.Name, row), mc.Entry(int(c.Index), row, lane))
			}
		}
	}
	for i := range m.Limits {
		l := mc.Limit(i, lane)
		show(fmt.Sprintf("limit %d in row %d", i, l.Row), l.Value)
	}
	for i := range m.Advices {
		l := mc.Advice(i, lane)
		show(fmt.Sprintf("advice %d in row %d", i, l.Row), l.Value)
	}
	return out
}

// painted is picture by the oracle.
func painted(o *oracle) []string {
	var out []string
	show := func(name string, v float64) {
		out = append(out, fmt.Sprintf("%s = %v %x", name, v, bitsOf(v)))
	}
	for i, c := range o.m.Cells {
		show(c.Name, o.cell(i))
	}
	for _, t := range o.m.Tables {
		l := o.live(t)
		rows, done := int(l.rows), l.end == ended
		if !done {
			rows = t.Rows
		}
		out = append(out, fmt.Sprintf("%s has %d rows, %v", t.Name, rows, done))
		for _, c := range t.Columns {
			for row := range t.Rows {
				show(fmt.Sprintf("%s.%s[%d]", t.Name, c.Name, row), o.entry(int(c.Index), row))
			}
		}
	}
	for i, l := range o.m.Limits {
		v := o.verdict(l.Table, l.Cond)
		show(fmt.Sprintf("limit %d in row %d", i, v.Row), v.Value)
	}
	for i, a := range o.m.Advices {
		v := o.verdict(ownerTable(a), a.Cond)
		show(fmt.Sprintf("advice %d in row %d", i, v.Row), v.Value)
	}
	return out
}

// bitsOf is the bits of a number; all faults are alike, as are all blanks.
func bitsOf(v float64) string {
	switch {
	case kernel.IsBlank(v):
		return "blank"
	case v != v:
		return "fault"
	}
	return fmt.Sprintf("%x", v)
}

func compare(t *testing.T, what string, got, want []string) {
	t.Helper()
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%s: %s, want %s", what, got[i], want[i])
			return
		}
	}
}

// change is a given with a new value.
type change struct {
	cell, column, row int
	v                 float64
}

func (c change) apply(mc *Machine, lane int) {
	if c.cell >= 0 {
		mc.SetCell(c.cell, lane, c.v)
	} else {
		mc.SetEntry(c.column, c.row, lane, c.v)
	}
}

func (c change) paint(o *oracle) {
	if c.cell >= 0 {
		o.given[c.cell] = c.v
	} else {
		o.set[[2]int{c.column, c.row}] = c.v
	}
}

// changes returns new values for some givens of m.
func changes(m *check.Model, r *rand.Rand) []change {
	g := &guess{r: r}
	var out []change
	for i, c := range m.Cells {
		if c.Given && r.IntN(2) == 0 {
			out = append(out, change{cell: i, v: g.number()})
		}
	}
	for i, c := range m.Columns {
		if c.Given && r.IntN(4) == 0 {
			out = append(out, change{cell: -1, column: i, row: r.IntN(c.Table.Rows), v: g.number()})
		}
	}
	return out
}

func TestRandomSheetsGiveWhatTheTreeSays(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomSheet(seed)
		want := painted(newOracle(s.Model))
		for _, plain := range []bool{false, true} {
			mc := s.compile(t, Options{Plain: plain}).NewMachine(1)
			mc.Run()
			compare(t, fmt.Sprintf("sheet %d, plain %v", seed, plain), picture(mc, 0), want)
		}
		if t.Failed() {
			return
		}
	}
}

func TestUpdateGivesWhatRunGives(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomSheet(seed)
		p := s.compile(t, Options{})
		some, all := p.NewMachine(1), p.NewMachine(1)
		some.Run()
		r := rand.New(rand.NewPCG(seed, 8))
		for range 4 {
			before := picture(some, 0)
			for _, c := range changes(s.Model, r) {
				c.apply(some, 0)
				c.apply(all, 0)
			}
			moved := some.Update()
			all.Run()
			compare(t, fmt.Sprintf("sheet %d", seed), picture(some, 0), picture(all, 0))
			if len(moved) == 0 {
				compare(t, fmt.Sprintf("sheet %d, nothing moved", seed), picture(some, 0), before)
			}
		}
		if t.Failed() {
			return
		}
	}
}

func TestLanesGiveWhatSingleLanesGive(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomSheet(seed)
		p := s.compile(t, Options{Plain: seed%3 == 0})
		lanes := 2 + int(seed%5)
		if seed%16 == 0 {
			lanes = blockLanes + 3
		}
		many, once := p.NewMachine(lanes), p.NewMachine(lanes)
		many.Run()
		r := rand.New(rand.NewPCG(seed, 9))
		for range 3 {
			var sets [][]change
			for lane := range lanes {
				sets = append(sets, changes(s.Model, r))
				for _, c := range sets[lane] {
					c.apply(many, lane)
					c.apply(once, lane)
				}
			}
			many.Update()
			once.Run()
			for lane := lanes - 1; lane >= 0; lane -= 1 + lanes/7 { // the last block's too
				compare(t, fmt.Sprintf("sheet %d, lane %d", seed, lane), picture(many, lane), picture(once, lane))
			}
			if t.Failed() {
				return
			}
		}
		lanesAgainstOracle(t, s, p, seed)
		if t.Failed() {
			return
		}
	}
}

// lanesAgainstOracle holds each of a few lanes to the tree.
func lanesAgainstOracle(t *testing.T, s *sketch, p *Program, seed uint64) {
	t.Helper()
	mc := p.NewMachine(3)
	oracles := []*oracle{newOracle(s.Model), newOracle(s.Model), newOracle(s.Model)}
	r := rand.New(rand.NewPCG(seed, 10))
	for lane, o := range oracles {
		for _, c := range changes(s.Model, r) {
			c.apply(mc, lane)
			c.paint(o)
		}
	}
	mc.Run()
	for lane, o := range oracles {
		compare(t, fmt.Sprintf("sheet %d, lane %d against the tree", seed, lane), picture(mc, lane), painted(o))
	}
}

func TestEveryFaultIsExplained(t *testing.T) {
	explained := 0
	for seed := range uint64(randomSheets) {
		s := randomSheet(seed)
		mc := s.compile(t, Options{}).NewMachine(1)
		mc.Run()
		for task := range mc.p.tasks {
			for row := range 3 {
				f := mc.Explain(task, row, 0)
				if f == nil {
					continue
				}
				explained++
				if f.Origin == "" || f.Cause == "" || f.Cause == "it cannot be computed" {
					t.Fatalf("sheet %d: %+v", seed, f)
				}
			}
		}
	}
	if explained < randomSheets {
		t.Errorf("only %d faults to explain", explained)
	}
}

// TestBlocksHaveCurvesOfTheirOwn looks up in a given column that differs
// from lane to lane, in more lanes than a block has.
func TestBlocksHaveCurvesOfTheirOwn(t *testing.T) {
	s := newSketch()
	tb := s.table("dome", 2)
	x, y := s.givenColumn(tb, "pressure", 0, 10), s.givenColumn(tb, "boost", 0, 0)
	at := s.cell("at", s.look(kernel.Linear, s.num(5), x, y))
	const lanes = 2*blockLanes + 5
	mc := s.compile(t, Options{}).NewMachine(lanes)
	for lane := range lanes {
		mc.SetEntry(int(y.Index), 1, lane, float64(lane))
	}
	mc.Run()
	for lane := range lanes {
		if got := mc.Cell(int(at.Index), lane); got != float64(lane)/2 {
			t.Fatalf("lane %d has %v", lane, got)
		}
	}
}
