package question

import (
	"math"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
	"gearleaf/sheet/whatif"
)

// Axis is a given with the values that a question tries for it: those listed
// or, if Values is nil, all in Lo..Hi.
type Axis struct {
	whatif.Axis
	// Rising says that the values are numbers in rising order, so neighbours
	// are adjacent values.
	Rising bool
}

// RangeSteps is the number of equal steps in which a range without a step is
// swept.
const RangeSteps = 10

// maxAxis bounds the values of one axis.
const maxAxis = 10_000_000

// ParseAxis reads `name=a..b by step`, `name=v1, v2` or `name`, which means the
// given's range or choice. If any value is allowed (free), a range without a
// step of a given that need not be whole stays a range; otherwise it is cut
// into RangeSteps. A bare number takes the unit after the last one, otherwise
// the shown one.
func ParseAxis(s *sheet.Sheet, text string, free bool) (Axis, *diag.Diagnostic) {
	name, spec, given := strings.Cut(text, "=")
	set, d := s.ParseGiven(strings.TrimSpace(name))
	if d != nil {
		return Axis{}, d
	}
	if d := s.Varies(set); d != nil {
		return Axis{}, d
	}
	r := axisReader{s: s, q: set.Quantity(), name: set.Name(), free: free}
	r.axis.Place = set.Place
	switch spec = strings.TrimSpace(spec); {
	case !given:
		d = r.declared()
	case spec == "":
		d = refuse("%s= is followed by values: %s=a..b by step, or %s=v1, v2", name, name, name)
	case spanDots(spec) >= 0:
		d = r.span(spec)
	default:
		d = r.list(spec)
	}
	if d != nil {
		return Axis{}, d
	}
	return r.axis, nil
}

// axisReader reads the values of one axis.
type axisReader struct {
	s    *sheet.Sheet
	q    *check.Quantity
	name string
	free bool
	axis Axis
}

// spanDots returns the place of .. in spec outside quotes, or -1.
func spanDots(spec string) int {
	if strings.Contains(spec, `"`) {
		return -1
	}
	return strings.Index(spec, "..")
}

// declared takes the values from the given's clauses.
func (r *axisReader) declared() *diag.Diagnostic {
	switch {
	case len(r.q.Choice) > 0 || r.q.Type.Form == check.Truth:
		r.axis.Values = whatif.Candidates(r.q, math.Inf(-1), math.Inf(1), maxAxis)
		r.axis.Rising = rising(r.axis.Values) && r.q.Type.Form == check.Number
		return nil
	case r.q.Range != nil:
		return r.cut(r.q.Unit, r.q.Unit.Clean(r.q.Range[0]), r.q.Unit.Clean(r.q.Range[1]), 0)
	}
	return refuse("%s has neither a range nor a choice: say which values, %s=a..b or %s=v1, v2", r.name, r.name, r.name)
}

// number reads one number, which takes the unit bare if it has none, and
// reports whether the given can have it.
func (r *axisReader) number(text, bare string) (*syntax.Number, *diag.Diagnostic) {
	expr, d := sheet.ReadQuantity(r.name, text)
	if d != nil {
		return nil, d
	}
	n, ok := expr.(*syntax.Number)
	if !ok {
		return nil, refuse("%s: %q is not a number, as the ends and the step of a range are", r.name, strings.TrimSpace(text))
	}
	if n.Unit == nil && bare != "" {
		n.Unit = &syntax.UnitRef{Span: n.Span, Text: bare}
	}
	return n, nil
}

// admit returns the SI value of e for the given, ignoring its choice for the
// ends of a range.
func (r *axisReader) admit(e syntax.Expr, choice bool) (float64, *diag.Diagnostic) {
	q := *r.q
	if !choice {
		free := *q.Details
		free.Choice = nil
		q.Details = &free
	}
	v, d := r.s.Model.Admit(&q, e)
	if d != nil {
		d.Message = r.name + ": " + d.Message
	}
	return v, d
}

// span reads `a..b` and `a..b by step`.
func (r *axisReader) span(spec string) *diag.Diagnostic {
	if r.q.Type.Form != check.Number {
		return refuse("%s is not a number, so it has no range: write %s=v1, v2", r.name, r.name)
	}
	at := spanDots(spec)
	ends, step, stepped := strings.Cut(spec[at+2:], " by ")
	hi, d := r.number(ends, "")
	if d != nil {
		return d
	}
	bare := ""
	if hi.Unit != nil {
		bare = hi.Unit.Text
	}
	lo, d := r.number(spec[:at], bare)
	if d != nil {
		return d
	}
	u := r.q.Unit
	if bare != "" {
		if u, d = r.unit(bare); d != nil {
			return d
		}
	}
	from, d := r.admit(lo, false)
	if d != nil {
		return d
	}
	to, d := r.admit(hi, false)
	if d != nil {
		return d
	}
	if from > to {
		return refuse("%s: this range runs backwards: write the smaller end first", r.name)
	}
	size := 0.0
	if stepped {
		if size, d = r.step(step, u); d != nil {
			return d
		}
	}
	return r.cut(u, u.Clean(from), u.Clean(to), size)
}

// unit reads a unit that follows a number.
func (r *axisReader) unit(text string) (unit.Unit, *diag.Diagnostic) {
	u, err := r.s.Model.Units.Parse(text)
	if err != nil {
		return u, refuse("%s: %s", r.name, err.Message)
	}
	return u, nil
}

// step reads the step of a range as a number of u; it uses only the scale of
// its unit, so 2 degC is a step of two kelvin.
func (r *axisReader) step(text string, u unit.Unit) (float64, *diag.Diagnostic) {
	n, d := r.number(text, "")
	if d != nil {
		return 0, d
	}
	size := n.Value
	if n.Unit != nil {
		own, d := r.unit(n.Unit.Text)
		if d != nil {
			return 0, d
		}
		if own.Measure.Dim != u.Measure.Dim {
			return 0, refuse("%s: the step is %s, the range %s", r.name, r.s.Model.Units.Describe(own.Measure), r.s.Model.Units.Describe(u.Measure))
		}
		size = digits(size * own.Scale / u.Scale)
	}
	if !(size > 0) {
		return 0, refuse("%s: a step is more than 0", r.name)
	}
	return size, nil
}

// cut makes values from lo to hi, numbers of u, at a step; for step 0 the
// reader chooses one.
func (r *axisReader) cut(u unit.Unit, lo, hi, step float64) *diag.Diagnostic {
	r.axis.Rising = true
	if step == 0 && r.free && !r.q.Whole {
		r.axis.Lo, r.axis.Hi = u.SI(lo), u.SI(hi)
		return nil
	}
	n, part := RangeSteps, 0.0
	switch {
	case step == 0 && r.q.Whole:
		step = 1
		lo = math.Ceil(lo)
	case step == 0 && lo == hi:
		n = 0
	case step == 0:
		part = (hi - lo) / RangeSteps
	}
	if step > 0 {
		count := (hi - lo) / step * (1 + 1e-12)
		if count >= maxAxis {
			return refuse("%s: more than %d values", r.name, maxAxis)
		}
		n, part = int(math.Floor(count)), step
	}
	for i := range n + 1 {
		v := digits(lo + float64(float64(i)*part))
		if math.Abs(v) < 1e-14*max(math.Abs(lo), math.Abs(hi)) {
			v = 0 // between -0.3 and 0.3
		}
		if r.q.Whole && v != math.Round(v) {
			return refuse("%s comes in whole %s: the step is not a whole number", r.name, r.q.Unit.Symbol)
		}
		si := u.SI(v)
		if !r.allowed(si) {
			continue
		}
		r.axis.Values = append(r.axis.Values, si)
	}
	if len(r.axis.Values) == 0 {
		return refuse("%s has no value of its choice in this range", r.name)
	}
	return nil
}

// allowed reports whether the given's choice has v.
func (r *axisReader) allowed(v float64) bool {
	if len(r.q.Choice) == 0 {
		return true
	}
	for _, c := range r.q.Choice {
		if math.Abs(c-v) <= 1e-12*math.Max(math.Abs(c), math.Abs(v)) {
			return true
		}
	}
	return false
}

// digits removes rounding errors from a decimal number.
func digits(v float64) float64 { return unit.Significant(v, 14) }

// list reads `v1, v2`.
func (r *axisReader) list(spec string) *diag.Diagnostic {
	var exprs []syntax.Expr
	for _, part := range commas(spec) {
		expr, d := sheet.ReadQuantity(r.name, part)
		if d != nil {
			return d
		}
		exprs = append(exprs, expr)
	}
	if last, ok := exprs[len(exprs)-1].(*syntax.Number); ok && last.Unit != nil {
		for _, e := range exprs {
			if n, ok := e.(*syntax.Number); ok && n.Unit == nil {
				n.Unit = last.Unit
			}
		}
	}
	for _, e := range exprs {
		v, d := r.admit(e, true)
		if d != nil {
			return d
		}
		if v != v {
			return refuse("%s needs values", r.name)
		}
		r.axis.Values = append(r.axis.Values, v)
	}
	r.axis.Rising = rising(r.axis.Values) && r.q.Type.Form == check.Number
	return nil
}

// commas cuts text at the commas outside quotes.
func commas(text string) []string {
	var out []string
	quoted, from := false, 0
	for i, c := range text {
		switch {
		case c == '"':
			quoted = !quoted
		case c == ',' && !quoted:
			out = append(out, text[from:i])
			from = i + 1
		}
	}
	return append(out, text[from:])
}

func rising(values []float64) bool {
	for i := 1; i < len(values); i++ {
		if values[i] <= values[i-1] {
			return false
		}
	}
	return true
}
