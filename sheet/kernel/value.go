// Package kernel is the arithmetic that both evaluators share, so they agree bit for
// bit: runtime values, powers, comparison with tolerance, whole-number functions and
// look-ups.
//
// Every runtime value is a float64: a number in SI, a logical value as 1 or 0, a text
// as its index in the sheet's table of texts. A blank and a fault are NaNs;
// Blank is one bit pattern, every other NaN is a fault.
package kernel

import "math"

const blankBits = 0x7FF8_0000_0000_B1A7

// Blank is the value of an empty field; Fault is a value that could not be
// computed. Neither is ever shown as a number.
var (
	Blank = math.Float64frombits(blankBits)
	Fault = math.Float64frombits(0x7FF8_0000_0000_FA17)
)

// IsBlank reports whether v is a blank.
func IsBlank(v float64) bool { return math.Float64bits(v) == blankBits }

// IsFault reports whether v is a fault.
func IsFault(v float64) bool { return v != v && math.Float64bits(v) != blankBits }

// Truth returns 1 for true and 0 for false.
func Truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// Join returns the result of an operation on two operands of which at least one
// is a NaN: a fault if either is a fault, else a blank.
func Join(a, b float64) float64 {
	if IsFault(a) || IsFault(b) {
		return Fault
	}
	return Blank
}
