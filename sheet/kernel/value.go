// Package kernel holds the arithmetic that both evaluators share, so that
// they agree to the bit: runtime values, powers, comparison with
// tolerance, whole-number functions and look-ups.
//
// Every runtime value is a float64: a number in SI, a truth as 1 or 0, a text
// as its index in the sheet's table of texts. A blank and a fault are NaNs;
// Blank is one bit pattern, every other NaN is a fault.
package kernel

import "math"

const blankBits = 0x7FF8_0000_0000_B1A7

// Blank is the value of an empty field; Fault is a value that could not be
// computed. Neither ever shows as a number.
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

// Join returns what an operation on two operands gives when at least one of
// them is a NaN: a fault if either is a fault, else a blank.
func Join(a, b float64) float64 {
	if IsFault(a) || IsFault(b) {
		return Fault
	}
	return Blank
}
