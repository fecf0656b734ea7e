package program

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/lower"
)

const randomSheets = 120

// picture is every value and state that a machine has.
func picture(mc *Machine) []string {
	m := mc.p.Model()
	var out []string
	show := func(name string, v float64) {
		out = append(out, fmt.Sprintf("%s = %v %x", name, v, bitsOf(v)))
	}
	for i, c := range m.Cells {
		show(c.Name, mc.Cell(i))
	}
	for i, t := range m.Tables {
		rows, done := mc.Live(i)
		out = append(out, fmt.Sprintf("%s has %d rows, %v", t.Name, rows, done))
		for _, c := range t.Columns {
			for row := range t.Rows {
				show(fmt.Sprintf("%s.%s[%d]", t.Name, c.Name, row), mc.Entry(int(c.Index), row))
			}
		}
	}
	for i := range m.Limits {
		l := mc.Limit(i)
		show(fmt.Sprintf("limit %d in row %d", i, l.Row), l.Value)
	}
	for i := range m.Advices {
		l := mc.Advice(i)
		show(fmt.Sprintf("advice %d in row %d", i, l.Row), l.Value)
	}
	return out
}

// painted is the picture of the oracle.
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
		rows, done := int(l.rows), l.end == Ended
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
		v := o.verdict(lower.AdviceTable(a), a.Cond)
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

func (c change) apply(mc *Machine) {
	if c.cell >= 0 {
		mc.SetCell(c.cell, c.v)
	} else {
		mc.SetEntry(c.column, c.row, c.v)
	}
}

// task is the task of the given.
func (c change) task(p *Program) int {
	if c.cell >= 0 {
		return p.Graph().TaskOf(p.Model().Cells[c.cell])
	}
	return p.Graph().TaskOf(p.Model().Columns[c.column])
}

// update computes what givens reach, as tasks.
func update(mc *Machine, givens ...int) { mc.RunPart(mc.p.Part(mc.p.Graph().Reach(givens))) }

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
			mc := s.compile(t, Options{Plain: plain}).NewMachine()
			mc.Run()
			compare(t, fmt.Sprintf("sheet %d, plain %v", seed, plain), picture(mc), want)
		}
		if t.Failed() {
			return
		}
	}
}

// TestPartsGiveWhatRunGives changes some givens and computes what they reach,
// and nothing else.
func TestPartsGiveWhatRunGives(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomSheet(seed)
		p := s.compile(t, Options{})
		some, all := p.NewMachine(), p.NewMachine()
		some.Run()
		r := rand.New(rand.NewPCG(seed, 8))
		for range 4 {
			var givens []int
			for _, c := range changes(s.Model, r) {
				c.apply(some)
				c.apply(all)
				givens = append(givens, c.task(p))
			}
			update(some, givens...)
			all.Run()
			compare(t, fmt.Sprintf("sheet %d", seed), picture(some), picture(all))
		}
		if t.Failed() {
			return
		}
	}
}

func TestChangedSheetsGiveWhatTheTreeSays(t *testing.T) {
	for seed := range uint64(randomSheets) {
		s := randomSheet(seed)
		mc := s.compile(t, Options{Plain: seed%3 == 0}).NewMachine()
		o := newOracle(s.Model)
		for _, c := range changes(s.Model, rand.New(rand.NewPCG(seed, 10))) {
			c.apply(mc)
			c.paint(o)
		}
		mc.Run()
		compare(t, fmt.Sprintf("sheet %d", seed), picture(mc), painted(o))
		if t.Failed() {
			return
		}
	}
}

func TestEveryFaultIsExplained(t *testing.T) {
	explained := 0
	for seed := range uint64(randomSheets) {
		s := randomSheet(seed)
		mc := s.compile(t, Options{}).NewMachine()
		mc.Run()
		explain := func(f *Fault) {
			if f == nil {
				return
			}
			explained++
			if f.Origin == "" || f.Cause == "" || f.Cause == "it cannot be computed" {
				t.Fatalf("sheet %d: %+v", seed, f)
			}
		}
		for i := range s.Cells {
			explain(mc.ExplainCell(i))
		}
		for i := range s.Limits {
			explain(mc.ExplainLimit(i))
		}
		for i, c := range s.Columns {
			for row := range min(3, c.Table.Rows) {
				explain(mc.ExplainEntry(i, row))
			}
		}
	}
	if explained < randomSheets {
		t.Errorf("only %d faults to explain", explained)
	}
}
