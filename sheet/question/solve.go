package question

import (
	"slices"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/whatif"
)

// Goal is a cell and the value that it should have.
type Goal struct {
	Place  sheet.Place
	Target float64
}

// ParseGoal reads `cell=quantity`.
func ParseGoal(s *sheet.Sheet, text string) (Goal, *diag.Diagnostic) {
	name, value, ok := strings.Cut(text, "=")
	if !ok {
		return Goal{}, refuse("%q has no = in it: write cell=quantity", text)
	}
	p, d := ParseTarget(s, name)
	if d != nil {
		return Goal{}, d
	}
	expr, d := sheet.ReadQuantity(p.Name(), value)
	if d != nil {
		return Goal{}, d
	}
	v, d := s.Model.Admit(p.Quantity(), expr)
	switch {
	case d != nil:
		d.Message = p.Name() + ": " + d.Message
		return Goal{}, d
	case v != v:
		return Goal{}, refuse("%s needs a target value", p.Name())
	}
	return Goal{Place: p, Target: v}, nil
}

// ParseTarget reads the name of a computed number.
func ParseTarget(s *sheet.Sheet, name string) (sheet.Place, *diag.Diagnostic) {
	p, d := s.Place(strings.TrimSpace(name))
	if d != nil {
		return p, d
	}
	switch q := p.Quantity(); {
	case p.Row == sheet.Whole:
		return p, refuse("%s is a column: name the row, as in %s[1]", p.Name(), p.Name())
	case q.Given:
		return p, refuse("%s is given: its value is yours to choose", p.Name())
	case q.Type.Form != check.Number:
		return p, refuse("%s is not a number, so there is no more or less of it", p.Name())
	}
	return p, nil
}

// Point is a value of the given that is varied, and the result.
type Point = whatif.Point

// Solved is a value of the given at which the goal has its target.
type Solved struct {
	whatif.Root
	// Result is the whole sheet there, confirmed by the second evaluator.
	Result *sheet.Result
}

// Solution holds the values of a given at which a cell has a value.
type Solution struct {
	whatif.Answer
	Sheet *sheet.Sheet
	Goal  Goal
	By    Axis
	Found []Solved
	// Beside are the values to choose from if none is exact: neighbours between
	// which the goal passes its target, or the nearest.
	Beside []Solved
}

// Solve finds the values of by at which goal has its target.
func Solve(s *sheet.Sheet, goal Goal, by Axis) (*Solution, error) {
	if d := independent(s, goal.Place, by); d != nil {
		return nil, d
	}
	q := whatif.Question{
		Program: s.Program, Base: s.Settings, Goal: given(goal.Place), Target: goal.Target,
		By: by.Place, Lo: by.Lo, Hi: by.Hi, Ordered: true,
	}
	if by.Values != nil {
		q.Candidates, q.Ordered = slices.Clone(by.Values), by.Quantity().Type.Form == check.Number
		if q.Ordered {
			slices.Sort(q.Candidates)
		}
	}
	out := &Solution{Answer: whatif.Solve(q), Sheet: s, Goal: goal, By: by}
	return out, out.confirm()
}

// confirm computes the sheet at every point that is reported.
func (o *Solution) confirm() error {
	for _, root := range o.Roots {
		if err := o.add(&o.Found, root); err != nil {
			return err
		}
	}
	var beside []Point
	for _, pair := range o.Between {
		beside = append(beside, pair[0], pair[1])
	}
	if len(o.Roots) == 0 && len(beside) == 0 && o.Nearest.X == o.Nearest.X {
		beside = append(beside, o.Nearest)
	}
	for _, p := range beside {
		if err := o.add(&o.Beside, whatif.Root{Point: p, Until: p.X}); err != nil {
			return err
		}
	}
	return nil
}

// maxShownPoints bounds the points that are computed in full.
const maxShownPoints = 50

func (o *Solution) add(list *[]Solved, root whatif.Root) error {
	if len(*list) >= maxShownPoints {
		return nil
	}
	r, err := o.Sheet.ComputeWith([]whatif.Setting{{Place: o.By.Place, Value: root.X}})
	if err != nil {
		return err
	}
	*list = append(*list, Solved{Root: root, Result: r})
	return nil
}

// independent reports p if it does not depend on any of axes.
func independent(s *sheet.Sheet, p sheet.Place, axes ...Axis) error {
	givens := make([]int, len(axes))
	names := make([]string, len(axes))
	for i, a := range axes {
		givens[i], names[i] = a.Task(s.Graph), a.Name()
	}
	if slices.Contains(s.Graph.Reach(givens), given(p).Task(s.Graph)) {
		return nil
	}
	return sheet.Refuse("%s does not depend on %s", p.Name(), strings.Join(names, " or "))
}

// ParseWithin reads the given that solve varies and its values: `a..b` or a
// list; without either its range or choice, otherwise from half its value to
// twice.
func ParseWithin(s *sheet.Sheet, name, within string) (Axis, *diag.Diagnostic) {
	if within != "" {
		return ParseAxis(s, name+"="+within, true)
	}
	set, d := s.ParseGiven(strings.TrimSpace(name))
	if d != nil {
		return Axis{}, d
	}
	if d := s.Varies(set); d != nil {
		return Axis{}, d
	}
	q := set.Quantity()
	if len(q.Choice) > 0 || q.Range != nil || q.Type.Form != check.Number {
		return ParseAxis(s, name, true)
	}
	v := s.Current(set.Place)
	if !(v > 0) || q.Unit.Offset != 0 {
		return Axis{}, refuse("%s has neither a range nor a choice: say where to look, --within a..b", set.Name())
	}
	a := Axis{Axis: whatif.Axis{Place: set.Place, Lo: v / 2, Hi: 2 * v}, Rising: true}
	if q.Whole {
		a.Values = whatif.Candidates(q, v/2, 2*v, maxAxis)
	}
	return a, nil
}
