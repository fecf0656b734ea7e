package sheet

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// Shown returns the value v of q as shown, number and unit separately so
// that columns can be aligned. A blank is two empty texts; v must not be a
// fault.
func (s *Sheet) Shown(q *check.Quantity, v float64) (number, symbol string) {
	switch {
	case v != v:
		return "", ""
	case q.Type.Form == check.Text:
		return s.Model.Texts[int(v)], ""
	case q.Type.Form == check.Truth:
		if v != 0 {
			return "yes", ""
		}
		return "no", ""
	}
	clean := q.Unit.Clean(v)
	switch typed, ok := q.Typed[clean]; {
	case q.Given && ok:
		return typed, q.Unit.Symbol
	case q.Given:
		return unit.FormatGiven(clean, q.To), q.Unit.Symbol
	}
	return unit.FormatNumber(clean, q.To), q.Unit.Symbol
}

// Text returns the value v of q with its unit, as in "11200 rpm".
func (s *Sheet) Text(q *check.Quantity, v float64) string {
	number, symbol := s.Shown(q, v)
	if symbol == "" || symbol == "1" {
		return number
	}
	return number + " " + symbol
}
