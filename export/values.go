package export

import (
	"strconv"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// A figure is one value as CSV, JSON and Markdown write it.
type figure struct {
	number  float64 // in the shown unit; counts when there is one
	numeric bool
	si      float64
	text    string // for people, without its unit
	fault   string // why there is none
	blank   bool
}

// figureOf returns the figure of a value of q.
func figureOf(s *sheet.Sheet, q *check.Quantity, v sheet.Value) figure {
	f := bareFigure(s, q, v)
	if f.numeric {
		f.text, _ = s.Shown(q, v.V)
	}
	return f
}

// bareFigure returns the figure of a value of q; a number has no text, which
// takes longer than the number.
func bareFigure(s *sheet.Sheet, q *check.Quantity, v sheet.Value) figure {
	switch {
	case v.IsFault():
		return figure{fault: causeOf(v)}
	case v.IsBlank():
		return figure{blank: true}
	}
	if q.Type.Form == check.Number {
		return figure{numeric: true, si: v.V, number: shownUnit(q.Unit).Number(v.V)}
	}
	text, _ := s.Shown(q, v.V)
	return figure{text: text}
}

// fullDigits are the significant digits that a float64 keeps of a decimal number:
// the next ones are the rounding error of a conversion.
const fullDigits = 15

// trimmed returns v with these digits.
func trimmed(v float64) float64 { return unit.Significant(v, fullDigits) }

// fifteen writes v with these digits.
func fifteen(v float64) string { return string(appendFifteen(nil, v)) }

func appendFifteen(line []byte, v float64) []byte {
	return strconv.AppendFloat(line, v, 'g', fullDigits, 64)
}

// causeOf describes the origin and the cause of a fault.
func causeOf(v sheet.Value) string {
	fault := v.Fault()
	if fault == nil {
		return "could not be computed"
	}
	if fault.WaitsOn != "" {
		return "waits on " + fault.Origin + ": " + fault.Cause
	}
	return fault.Cause
}

// ownTables returns the tables of the sheet itself.
func ownTables(m *check.Model) []*check.Table {
	var own []*check.Table
	for _, t := range m.Tables {
		if !t.Library {
			own = append(own, t)
		}
	}
	return own
}

// ownCells returns the scalars in reading order, without those that another
// sheet computes.
func ownCells(m *check.Model) []*check.Cell {
	var own []*check.Cell
	for _, c := range m.Cells {
		if !c.Plugged {
			own = append(own, c)
		}
	}
	return own
}
