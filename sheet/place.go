package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/unit"
)

// Whole is the Row of a Place that denotes a whole column.
const Whole = -1

// Place is what a name in a command denotes: a scalar, a column, or one row of
// a column.
type Place struct {
	Cell   *check.Cell
	Column *check.Column
	Row    int // counted from 0, or Whole; 0 for a scalar
}

// Place finds what text names: "top_speed", "gears.speed" or
// "gears.speed[3]", rows counted from 1.
func (s *Sheet) Place(text string) (Place, *diag.Diagnostic) {
	name, index, indexed := strings.Cut(strings.TrimSpace(text), "[")
	cell, column := s.Model.Resolve(name)
	switch {
	case cell == nil && column == nil:
		return Place{}, settingError("there is no cell %q in this sheet%s", name, s.suggestion(name))
	case cell != nil && indexed:
		return Place{}, settingError("%s is a single value, without rows", name)
	case cell != nil:
		return Place{Cell: cell}, nil
	case !indexed:
		return Place{Column: column, Row: Whole}, nil
	}
	row, d := rowOf(column, name, index, text)
	return Place{Column: column, Row: row}, d
}

// rowOf reads the row of a column from text, name[index: a whole number and the
// closing bracket.
func rowOf(column *check.Column, name, index, text string) (int, *diag.Diagnostic) {
	number, closed := strings.CutSuffix(index, "]")
	row, err := strconv.Atoi(strings.TrimSpace(number))
	if err != nil || !closed || row < 1 || row > column.Table.Rows {
		return 0, settingError("%s has rows 1 to %d: %q names none of them", name, column.Table.Rows, text)
	}
	return row - 1, nil
}

// Quantity returns what is at p.
func (p Place) Quantity() *check.Quantity {
	if p.Cell != nil {
		return &p.Cell.Quantity
	}
	return &p.Column.Quantity
}

// Name returns the name of p in commands.
func (p Place) Name() string {
	switch {
	case p.Cell != nil:
		return p.Cell.Name
	case p.Row == Whole:
		return p.Column.Table.Name + "." + p.Column.Name
	}
	return fmt.Sprintf("%s.%s[%d]", p.Column.Table.Name, p.Column.Name, p.Row+1)
}

// At returns the value at p, which is not a whole column.
func (r *Result) At(p Place) Value {
	if p.Cell != nil {
		return r.Cell(p.Cell)
	}
	return r.Entry(p.Column, p.Row)
}

// Names returns every name that Place accepts, in reading order: scalars, and
// the columns of the sheet's own tables. A given that another worksheet
// computes is listed once, under that worksheet's name.
func (s *Sheet) Names() []Place {
	var out []Place
	for item := range s.Model.Outline() {
		if item.Cell != nil && !item.Cell.Plugged {
			out = append(out, Place{Cell: item.Cell})
		}
		if item.Table != nil {
			for _, c := range item.Table.Columns {
				out = append(out, Place{Column: c, Row: Whole})
			}
		}
	}
	return out
}

// SpreadText returns the tolerance of a given in its shown unit, "6 mm"; empty
// if it has none.
func (s *Sheet) SpreadText(q *check.Quantity) string {
	if q.Tolerance == check.Exact {
		return ""
	}
	number := unit.FormatNumber(q.Spread/q.Unit.Scale, 0)
	if q.Unit.Symbol == "" || q.Unit.Symbol == "1" {
		return number
	}
	return number + " " + q.Unit.Symbol
}

// Plain returns v for other programs: a float64 in q's shown unit, a
// string, a bool, or nil for a blank. v must not be a fault.
func (v Value) Plain(q *check.Quantity) any {
	switch {
	case v.V != v.V:
		return nil
	case q.Type.Form == check.Text:
		return v.r.Sheet.Model.Texts[int(v.V)]
	case q.Type.Form == check.Truth:
		return v.V != 0
	}
	return q.Unit.Number(v.V)
}
