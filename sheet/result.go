package sheet

import (
	"context"
	"fmt"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program"
	"gearleaf/sheet/referee"
	"gearleaf/sheet/whatif"
)

// Result is the values of a sheet for one set of givens. It is unconfirmed
// until Confirm has returned nil.
type Result struct {
	Sheet   *Sheet
	Checked Checked
	machine *program.Machine
	used    []whatif.Setting
	silent  bool // advices are not needed
	// withdrawn is set if the evaluators differ.
	withdrawn *Disagreement
}

// Checked counts the evaluations that the second evaluator has confirmed.
type Checked struct {
	Tasks int // evaluations confirmed
	Of    int // evaluations there are
}

// Whole reports whether every evaluation was confirmed.
func (c Checked) Whole() bool { return c.Tasks == c.Of }

// Compute evaluates the sheet with its settings on both evaluators. The error
// is a *Disagreement if they differ: then no number is valid.
func (s *Sheet) Compute() (*Result, error) { return s.Evaluate().confirmed() }

// Evaluate evaluates the sheet with its settings on the fast evaluator alone,
// for values that must be shown at once. They must be marked as unconfirmed
// until Confirm returns nil.
func (s *Sheet) Evaluate() *Result {
	mc := s.Program.NewMachine()
	whatif.Set(mc, s.Settings)
	mc.Run()
	return &Result{Sheet: s, machine: mc, used: s.Settings}
}

// confirmed returns r once it is confirmed.
func (r *Result) confirmed() (*Result, error) {
	if err := r.Confirm(context.Background()); err != nil {
		return nil, err
	}
	return r, nil
}

// Confirm compares the values with those of the second evaluator. If they
// differ, it turns every value into a fault and returns a *Disagreement. If the
// context ends, it stops with the context's error.
func (r *Result) Confirm(ctx context.Context) error {
	s := r.Sheet
	ref, err := r.referee()
	if err != nil {
		return err
	}
	if r.silent {
		ref.OmitAdvices()
	}
	sample := newSample(s.Graph, r.machine)
	var choose func(task, row int) bool
	if sample.of > CheckAll {
		choose = sample.choose
	}
	diffs, err := referee.Confirm(ctx, ref, whatif.Values{Machine: r.machine}, choose)
	if err != nil {
		return err
	}
	if len(diffs) > 0 {
		r.withdrawn = &Disagreement{Differences: diffs}
		return r.withdrawn
	}
	r.Checked = Checked{Tasks: sample.taken, Of: sample.of}
	if choose == nil {
		r.Checked.Tasks = sample.of
	}
	return nil
}

// referee returns the second evaluator, with the givens of r.
func (r *Result) referee() (*referee.Referee, error) {
	ref, err := referee.New(r.Sheet.Model, r.Sheet.Graph)
	if err != nil {
		return nil, err
	}
	for _, set := range r.used {
		if set.Cell != nil {
			ref.SetCell(int(set.Cell.Index), set.Value)
		} else {
			ref.SetEntry(int(set.Column.Index), set.Row, set.Value)
		}
	}
	return ref, nil
}

// Reader returns a function that computes, from the values of r, an expression
// of the checked tree, such as a side of a limit; row is that of its table, from
// 0, or -1 outside tables. What cannot be computed is a fault.
func (r *Result) Reader() func(node check.NodeID, row int) float64 {
	var audit *referee.Audit
	return func(node check.NodeID, row int) float64 {
		if audit == nil {
			ref, err := r.referee()
			if err != nil || r.withdrawn != nil {
				return kernel.Fault
			}
			audit = ref.Audit(whatif.Values{Machine: r.machine})
		}
		v, err := audit.Value(node, row)
		if err != nil {
			return kernel.Fault
		}
		return v
	}
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
	V    float64 // runtime value: SI, 1 or 0, text index, blank or fault
	r    *Result
	cell *check.Cell   // whose value it is: a cell's,
	col  *check.Column // or a column's
	row  int
}

// IsBlank reports whether there is nothing to show.
func (v Value) IsBlank() bool { return kernel.IsBlank(v.V) }

// IsFault reports whether the value could not be computed.
func (v Value) IsFault() bool { return kernel.IsFault(v.V) }

// Fault returns why the value could not be computed; nil if it could.
func (v Value) Fault() *program.Fault {
	if !v.IsFault() {
		return nil
	}
	if v.r.withdrawn != nil {
		return &program.Fault{Row: -1, Cause: v.r.withdrawn.Error()}
	}
	if d := v.unsound(); d != nil {
		return faultOf(d, v.name())
	}
	if v.cell != nil {
		return v.r.machine.ExplainCell(int(v.cell.Index))
	}
	return v.r.machine.ExplainEntry(int(v.col.Index), v.row)
}

// unsound returns the error that leaves the value undefined.
func (v Value) unsound() *diag.Diagnostic {
	if v.cell != nil {
		return v.r.Sheet.unsoundCell(v.cell)
	}
	return v.r.Sheet.unsoundColumn(v.col)
}

func (v Value) name() string {
	if v.cell != nil {
		return v.cell.Name
	}
	return v.col.Table.Name + "." + v.col.Name
}

// missing reports whether r has no value because of an error in the sheet.
func (r *Result) missing(d *diag.Diagnostic) bool { return d != nil || r.withdrawn != nil }

// Cell returns the value of c.
func (r *Result) Cell(c *check.Cell) Value {
	v := Value{V: kernel.Fault, r: r, cell: c}
	if !r.missing(r.Sheet.unsoundCell(c)) {
		v.V = r.machine.Cell(int(c.Index))
	}
	return v
}

// Entry returns the value of column c in row, counted from 0. Rows past the
// last live one are blank.
func (r *Result) Entry(c *check.Column, row int) Value {
	v := Value{V: kernel.Fault, r: r, col: c, row: row}
	if !r.missing(r.Sheet.unsoundColumn(c)) {
		v.V = r.machine.Entry(int(c.Index), row)
	}
	return v
}

// Live returns the number of live rows of t; ended is false if an until never
// held.
func (r *Result) Live(t *check.Table) (rows int, ended bool) {
	return r.machine.Live(t.Index)
}

// LimitState is the state of a limit or an advise line.
type LimitState uint8

// The states of a limit.
const (
	Kept    LimitState = iota
	Broken             // a limit that does not hold
	Advised            // an advise line that does not hold
	Waiting            // it depends on a value that is faulty or blank
)

// String returns the state as a word.
func (s LimitState) String() string { return [...]string{"kept", "broken", "advised", "waiting"}[s] }

// BrokenLimits returns the limits that r breaks, and those that wait on a fault
// or a blank; no advise line.
func (r *Result) BrokenLimits() []*check.Limit {
	var out []*check.Limit
	for _, l := range r.Sheet.Model.Limits {
		if state, _ := r.Limit(l); state == Broken || !l.Advise && state == Waiting {
			out = append(out, l)
		}
	}
	return out
}

// Limit returns the state of l and, for a limit on a column, the first row that
// breaks it, counted from 0.
func (r *Result) Limit(l *check.Limit) (LimitState, int) {
	if r.missing(r.Sheet.UnsoundLimit(l)) {
		return Waiting, 0
	}
	v := r.machine.Limit(l.Index)
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

// LimitFault returns the fault that a waiting limit waits on, nil if there is
// none.
func (r *Result) LimitFault(l *check.Limit) *program.Fault {
	if d := r.Sheet.UnsoundLimit(l); d != nil {
		return faultOf(d, l.Text)
	}
	v := r.machine.Limit(l.Index)
	if !kernel.IsFault(v.Value) {
		return nil
	}
	return r.machine.ExplainLimit(l.Index)
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
		v := r.machine.Advice(i)
		if v.Value != 0 {
			continue // kept, or waiting on a fault that is reported elsewhere
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

// Trouble reports whether a limit is broken, any value is at fault or a table's
// file could not be read.
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
		if t.Fault != "" {
			return true
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

// ComputeWith is Compute with settings on top of the sheet's own.
func (s *Sheet) ComputeWith(settings []whatif.Setting) (*Result, error) {
	return s.computeWith(settings, false)
}

// ComputeSample is ComputeWith for one of many scenarios: it does not confirm
// the advices, which are not shown.
func (s *Sheet) ComputeSample(settings []whatif.Setting) (*Result, error) {
	return s.computeWith(settings, true)
}

func (s *Sheet) computeWith(settings []whatif.Setting, silent bool) (*Result, error) {
	all := slices.Concat(s.Settings, settings)
	mc := s.Program.NewMachine()
	whatif.Set(mc, all)
	mc.Run()
	return (&Result{Sheet: s, machine: mc, used: all, silent: silent}).confirmed()
}

// Value returns v, a number, text or logical value of a question's result, as a
// Value.
func (s *Sheet) Value(v float64) Value { return Value{V: v, r: &Result{Sheet: s}} }

// IsBlank reports whether a value of a scenario is a blank.
func IsBlank(v float64) bool { return kernel.IsBlank(v) }
