package question

import (
	"fmt"
	"math"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
	"gearleaf/sheet/whatif"
)

// Step is a given and the amount by which it is changed.
type Step struct {
	sheet.Setting
	By   float64 // in SI; it is added to the given's value
	Text string  // the amount as typed
}

// ParseStep reads `name=amount`: a number in the given's shown unit or in
// another one of its dimension, of which only the scale counts, or a percentage
// of the given's value. For a given that is shown in %, the amount is in points.
func ParseStep(s *sheet.Sheet, text string) (Step, *diag.Diagnostic) {
	name, amount, ok := strings.Cut(text, "=")
	if !ok {
		return Step{}, refuse("%q has no = in it: write name=amount", text)
	}
	set, d := s.ParseGiven(strings.TrimSpace(name))
	if d != nil {
		return Step{}, d
	}
	q := set.Quantity()
	if q.Type.Form != check.Number {
		return Step{}, refuse("%s is not a number, so it cannot be moved by an amount", set.Name())
	}
	amount = strings.TrimPrefix(strings.TrimSpace(amount), "+")
	by, ok := amountOf(s, set, amount)
	if !ok {
		return Step{}, refuse("%s: %q is neither an amount to add to %s nor a percentage", set.Name(), amount, s.Text(q, s.Current(set.Place)))
	}
	step := Step{Setting: set, By: by, Text: amount}
	if d := s.Admits(set.Place, s.Current(set.Place)+step.By); d != nil {
		return Step{}, refuse("%s: %s on top of %s: %s", set.Name(), amount, s.Text(q, s.Current(set.Place)), d.Message)
	}
	return step, nil
}

// amountOf reads an amount of a given; it is not 0.
func amountOf(s *sheet.Sheet, set sheet.Setting, text string) (by float64, ok bool) {
	expr, _ := sheet.ReadQuantity(set.Name(), text)
	n, ok := expr.(*syntax.Number)
	if !ok || n.Value == 0 || math.IsInf(n.Value, 0) {
		return 0, false
	}
	q := set.Quantity()
	switch {
	case n.Unit == nil:
		return float64(n.Value * q.Unit.Scale), true
	case n.Unit.Text == "%" && q.Unit.Symbol != "%":
		return float64(n.Value * (s.Current(set.Place) / 100)), true
	}
	u, err := s.Model.Units.Parse(n.Unit.Text)
	measure := u.Measure
	measure.Kind = q.Type.Measure.Kind
	return float64(n.Value * u.Scale), err == nil && unit.Meets(measure, q.Type.Measure) == ""
}

// Signed is the amount with its sign.
func (s *Step) Signed() string {
	if strings.HasPrefix(s.Text, "-") {
		return s.Text
	}
	return "+" + s.Text
}

// upOnly reports whether the given is only changed up: it has whole values, or
// a list of them.
func (s *Step) upOnly() bool { return s.Quantity().Whole || len(s.Quantity().Choice) > 0 }

// Worth is the effect of changing givens on one cell or column.
type Worth struct {
	Sheet *sheet.Sheet
	Show  sheet.Place
	Steps []Step
	Base  *sheet.Result
	// Moves holds, by step and row, the change of the value.
	Moves [][]float64
}

// WorthOf computes the effect of each single step on show: half of the
// difference between a step up and a step down, or only a step up for a given
// that must be whole or has a choice.
func WorthOf(s *sheet.Sheet, steps []Step, show sheet.Place) (*Worth, error) {
	base, err := s.ComputeWith(nil)
	if err != nil {
		return nil, err
	}
	w := &Worth{Sheet: s, Show: show, Steps: steps, Base: base}
	for _, step := range steps {
		at := s.Current(step.Place)
		up, err := s.ComputeWith([]whatif.Setting{{Place: step.Place, Value: at + step.By}})
		if err != nil {
			return nil, err
		}
		down, parts := base, 1.0
		if !step.upOnly() {
			if down, err = s.ComputeWith([]whatif.Setting{{Place: step.Place, Value: at - step.By}}); err != nil {
				return nil, err
			}
			parts = 2
		}
		moves := make([]float64, w.Rows())
		for row := range moves {
			higher, lower := w.value(up, row), w.value(down, row)
			if higher.IsFault() || lower.IsFault() {
				return nil, sheet.Refuse("%s=%s makes a fault of %s: a smaller amount says what it is worth", step.Name(), step.Text, show.Name())
			}
			moves[row] = (higher.V - lower.V) / parts
		}
		w.Moves = append(w.Moves, moves)
	}
	return w, nil
}

// Rows is the number of shown values.
func (w *Worth) Rows() int {
	if w.Show.Column == nil || w.Show.Row != sheet.Whole {
		return 1
	}
	rows, _ := w.Base.Live(w.Show.Column.Table)
	return rows
}

// Value is the shown value in row before any change.
func (w *Worth) Value(row int) sheet.Value { return w.value(w.Base, row) }

func (w *Worth) value(r *sheet.Result, row int) sheet.Value {
	switch {
	case w.Show.Column == nil:
		return r.Cell(w.Show.Cell)
	case w.Show.Row != sheet.Whole:
		row = w.Show.Row
	}
	return r.Entry(w.Show.Column, row)
}

// Into returns the settings that write the moves of step i into a given column
// of numbers, with two decimals of its unit. Tables of different lengths are
// matched by the first given column whose name both have.
func (w *Worth) Into(i int, into *check.Column) ([]sheet.Setting, *diag.Diagnostic) {
	name := into.Table.Name + "." + into.Name
	from := w.Show.Column
	switch {
	case from == nil || w.Show.Row != sheet.Whole:
		return nil, refuse("only a whole column can be written into one, and %s is none", w.Show.Quantity().Name)
	case !into.Given || into.Type.Form != check.Number:
		return nil, refuse("%s is not a column of given numbers", name)
	case into.Type.Measure.Dim != from.Type.Measure.Dim:
		return nil, refuse("%s does not measure what %s does", name, from.Name)
	}
	var out []sheet.Setting
	for row := range into.Table.Rows {
		at, ok := w.match(into.Table, row)
		if !ok {
			return nil, refuse("row %d of %s has no matching row in %s: give both a column of the same marks", row+1, into.Table.Name, from.Table.Name)
		}
		shown := math.Round(100*w.Moves[i][at]/into.Unit.Scale) / 100
		set, d := w.Sheet.ParseSetting(fmt.Sprintf("%s[%d]=%g", name, row+1, shown+0)) // no -0
		if d != nil {
			return nil, d
		}
		out = append(out, set)
	}
	return out, nil
}

// match finds the shown row that corresponds to a row of t.
func (w *Worth) match(t *check.Table, row int) (int, bool) {
	if t.Rows == w.Rows() {
		return row, true
	}
	for _, key := range t.Columns {
		for _, other := range w.Show.Column.Table.Columns {
			if !key.Given || !other.Given || key.Name != other.Name {
				continue
			}
			for at := range w.Rows() {
				if w.Base.Entry(other, at).V == w.Base.Entry(key, row).V {
					return at, true
				}
			}
			return 0, false
		}
	}
	return 0, false
}
