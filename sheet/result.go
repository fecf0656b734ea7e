package sheet

import (
	"fmt"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
	"gearleaf/sheet/referee"
	"gearleaf/sheet/whatif"
)

// Result is the values of a sheet for one set of givens.
type Result struct {
	Sheet   *Sheet
	Checked Checked
	machine *program.Machine
}

// Checked says how much of a result the second evaluator has confirmed.
type Checked struct {
	Tasks int // evaluations confirmed
	Of    int // evaluations there are
}

// Whole reports whether every evaluation was confirmed.
func (c Checked) Whole() bool { return c.Tasks == c.Of }

// Compute evaluates the sheet with its settings on both evaluators. The error
// is a *Disagreement where they differ: then no number is to be trusted.
func (s *Sheet) Compute() (*Result, error) {
	mc := s.Program.NewMachine(1)
	whatif.Set(mc, s.Settings)
	mc.Run()
	return s.confirm(mc, s.Settings)
}

// confirm checks the values of mc, which were computed with settings, against
// the referee's.
func (s *Sheet) confirm(mc *program.Machine, settings []whatif.Setting) (*Result, error) {
	r := &Result{Sheet: s, machine: mc}
	ref, err := referee.New(s.Model, s.Graph)
	if err != nil {
		return nil, err
	}
	for _, set := range settings {
		if set.Cell != nil {
			ref.SetCell(int(set.Cell.Index), set.Value)
		} else {
			ref.SetEntry(int(set.Column.Index), set.Row, set.Value)
		}
	}
	sample := newSample(s.Graph, mc)
	r.Checked.Of = sample.of
	var choose func(task, row int) bool
	if sample.of > CheckAll {
		choose = sample.choose
	}
	diffs, err := referee.Confirm(ref, whatif.Values{Machine: mc}, choose)
	if err != nil {
		return nil, err
	}
	if len(diffs) > 0 {
		return nil, &Disagreement{Differences: diffs}
	}
	if r.Checked.Tasks = sample.taken; choose == nil {
		r.Checked.Tasks = sample.of
	}
	return r, nil
}

// Disagreement says that the two evaluators differ: a defect of the engine.
type Disagreement struct {
	Differences []referee.Difference
}

// Error names the first difference.
func (d *Disagreement) Error() string {
	return fmt.Sprintf("the two evaluators differ on %s: no number of this sheet can be trusted; please report the worksheet", d.Differences[0])
}

// Value is one value of a result.
type Value struct {
	V    float64 // in flight: SI, 1 or 0, text index, blank or fault
	r    *Result
	cell *check.Cell   // whose value it is: a cell's,
	col  *check.Column // or a column's
	row  int
}

// IsBlank reports whether there is nothing to show.
func (v Value) IsBlank() bool { return kernel.IsBlank(v.V) }

// IsFault reports whether the value could not be computed.
func (v Value) IsFault() bool { return kernel.IsFault(v.V) }

// Fault says why the value could not be computed; nil when it could.
func (v Value) Fault() *program.Fault {
	if !v.IsFault() {
		return nil
	}
	if v.cell != nil {
		return v.r.machine.ExplainCell(int(v.cell.Index), 0)
	}
	return v.r.machine.ExplainEntry(int(v.col.Index), v.row, 0)
}

// Cell returns the value of c.
func (r *Result) Cell(c *check.Cell) Value {
	return Value{V: r.machine.Cell(int(c.Index), 0), r: r, cell: c}
}

// Entry returns the value of column c in row, counted from 0. Rows past the
// last live one are blank.
func (r *Result) Entry(c *check.Column, row int) Value {
	return Value{V: r.machine.Entry(int(c.Index), row, 0), r: r, col: c, row: row}
}

// Live returns the number of live rows of t; ended is false where an until
// never held.
func (r *Result) Live(t *check.Table) (rows int, ended bool) {
	return r.machine.Live(t.Index, 0)
}

// LimitState is how a limit or an advise line stands.
type LimitState uint8

// The states of a limit.
const (
	Kept    LimitState = iota
	Broken             // a limit that does not hold
	Advised            // an advise line that does not hold
	Waiting            // it waits on a value that is faulty or blank
)

// String returns the state in a word.
func (s LimitState) String() string { return [...]string{"kept", "broken", "advised", "waiting"}[s] }

// Limit returns how l stands, and for a limit on a column the first row that
// breaks it, counted from 0.
func (r *Result) Limit(l *check.Limit) (LimitState, int) {
	v := r.machine.Limit(l.Index, 0)
	switch {
	case v.Value != v.Value:
		return Waiting, v.Row
	case v.Value != 0:
		return Kept, 0
	case l.Advise:
		return Advised, v.Row
	}
	return Broken, v.Row
}

// LimitFault says what a waiting limit waits on, nil if it does not wait on a
// fault.
func (r *Result) LimitFault(l *check.Limit) *program.Fault {
	v := r.machine.Limit(l.Index, 0)
	if !kernel.IsFault(v.Value) {
		return nil
	}
	return r.machine.Explain(r.Sheet.Graph.TaskOf(l), v.Row, 0)
}

// AdviceText is an advice that a cell gives now.
type AdviceText struct {
	Cell string // "boost", "gears.speed"; with a row: "gears.speed[3]"
	Text string
}

// Advices returns the advices that do not hold now, in reading order: values
// outside their range, functions outside their validity.
func (r *Result) Advices() []AdviceText {
	var out []AdviceText
	for i, a := range r.Sheet.Model.Advices {
		v := r.machine.Advice(i, 0)
		if v.Value != 0 {
			continue // kept, or waiting on a fault that is told elsewhere
		}
		out = append(out, AdviceText{Cell: adviceOwner(a, v.Row), Text: a.Text})
	}
	return out
}

func adviceOwner(a *check.Advice, row int) string {
	if a.Cell != nil {
		return a.Cell.Name
	}
	return fmt.Sprintf("%s.%s[%d]", a.Column.Table.Name, a.Column.Name, row+1)
}

// Trouble reports whether a limit is broken or any value is at fault.
func (r *Result) Trouble() bool {
	for _, l := range r.Sheet.Model.Limits {
		if state, _ := r.Limit(l); state == Broken || state == Waiting {
			return true
		}
	}
	for _, c := range r.Sheet.Model.Cells {
		if r.Cell(c).IsFault() {
			return true
		}
	}
	for _, t := range r.Sheet.Model.Tables {
		if t.Library {
			continue
		}
		rows, _ := r.Live(t)
		for _, c := range t.Columns {
			for i := range rows {
				if r.Entry(c, i).IsFault() {
					return true
				}
			}
		}
	}
	return false
}
