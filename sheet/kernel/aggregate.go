package kernel

import (
	"fmt"
	"math"
)

// Reduce returns an aggregate of a column's live entries. Blanks are skipped
// and a fault among the entries is the result. Sums run from the first row to
// the last, with one rounding per row and no compensation, as in a spreadsheet
// or a pocket calculator. Without values a sum and a count are 0 and all other
// aggregates are faults.
func Reduce(how Aggregate, column []float64) float64 {
	if len(column) > 0 && numbers(column) {
		return reduceNumbers(how, column)
	}
	if how == First || how == Last {
		return end(how, column)
	}
	sum, low, high, n := 0.0, 0.0, 0.0, 0
	for _, v := range column {
		if v != v {
			if IsBlank(v) {
				continue
			}
			return Fault
		}
		if n == 0 {
			low, high = v, v
		} else {
			low, high = Lower(low, v), Higher(high, v)
		}
		sum += v
		n++
	}
	return choose(how, sum, low, high, n)
}

// numbers reports whether all entries are numbers: v - v of any other value is
// a NaN. There are four sums, because one would be a chain of dependent
// additions.
func numbers(column []float64) bool {
	var a, b, c, d float64
	for ; len(column) >= 4; column = column[4:] {
		a += column[0] - column[0]
		b += column[1] - column[1]
		c += column[2] - column[2]
		d += column[3] - column[3]
	}
	for _, v := range column {
		a += v - v
	}
	return a+b+c+d == 0
}

// reduceNumbers is Reduce for a column of at least one number.
func reduceNumbers(how Aggregate, column []float64) float64 {
	sum, low, high := 0.0, column[0], column[0]
	switch how {
	case First:
		return column[0]
	case Last:
		return column[len(column)-1]
	case Sum, Mean:
		for _, v := range column {
			sum += v
		}
	case Min:
		for _, v := range column {
			low = Lower(low, v)
		}
	case Max:
		for _, v := range column {
			high = Higher(high, v)
		}
	}
	return choose(how, sum, low, high, len(column))
}

// end returns the first or last value of a column, after looking for faults.
func end(how Aggregate, column []float64) float64 {
	found := Fault
	seen := false
	for _, v := range column {
		switch {
		case IsFault(v):
			return Fault
		case v == v && (!seen || how == Last):
			found, seen = v, true
		}
	}
	return found
}

// choose returns the requested aggregate of n values.
func choose(how Aggregate, sum, low, high float64, n int) float64 {
	switch {
	case how == Count:
		return float64(n)
	case how == Sum && finite(sum):
		return sum
	case n == 0:
		return Fault
	case how == Mean && finite(sum):
		return sum / float64(n)
	case how == Min:
		return low
	case how == Max:
		return high
	}
	return Fault
}

// aggregateNames are the aggregates' names in formulas.
var aggregateNames = [...]string{"no aggregate", "sum", "mean", "min", "max", "count", "first", "last"}

// String returns the name of a in formulas.
func (a Aggregate) String() string { return aggregateNames[a] }

// ReduceCause describes why Reduce is a fault although no entry is one; label
// names the column.
func ReduceCause(how Aggregate, column []float64, label string) string {
	for _, v := range column {
		if v == v {
			return fmt.Sprintf("%s of %s: %s", how, label, tooLarge)
		}
	}
	return fmt.Sprintf("%s of %s, which has no values", how, label)
}

// Holds evaluates a condition on every live row: it returns 0 and the place
// (from 0) of the first row that breaks it; else a fault and the place of the
// first faulty row; else 1 and -1. Blanks are skipped. If the table has not
// ended, its number of rows is not known: unless a row breaks the condition,
// the result is a fault with place -1.
func Holds(conditions []float64, ended bool) (value float64, row int) {
	if ended && allHold(conditions) {
		return 1, -1
	}
	faulty := -1
	for i, c := range conditions {
		switch {
		case c == 0:
			return 0, i
		case faulty < 0 && IsFault(c):
			faulty = i
		}
	}
	if faulty >= 0 || !ended {
		return Fault, faulty
	}
	return 1, -1
}

// allHold reports whether every condition is 1.
func allHold(conditions []float64) bool {
	one := math.Float64bits(1)
	other := uint64(0)
	for _, c := range conditions {
		other |= math.Float64bits(c) ^ one
	}
	return other == 0
}

// Turn is the outcome of the condition of `until` after a row.
type Turn uint8

// The turns.
const (
	GoesOn Turn = iota // no, or a blank: the next row follows
	Ends               // yes: this is the last live row
	Breaks             // a fault: this row and all later ones are faulty
)

// Until returns the outcome of the condition of `until` after a row.
func Until(condition float64) Turn {
	switch {
	case IsFault(condition):
		return Breaks
	case condition == 1:
		return Ends
	}
	return GoesOn
}
