package program

import "math"

// What quick and its cases are made of: each is small enough for the compiler to
// expand it in place.

// at is register i.
func at(r []float64, i int32) *float64 { return &r[uint32(i)] }

// finite reports whether v is a number.
func finite(v float64) bool { return math.Float64bits(v)&exponent != exponent }

const exponent = 0x7ff << 52

// sure returns t, not a number where it is none: after an overflow c / t would
// look like zero, and the smaller of t and c like c.
func sure(t float64) float64 {
	if t-t != 0 {
		return t - t
	}
	return t
}

// least is the smaller of two numbers, not a number where one is not.
func least(x, y float64) float64 {
	if y < x || y != y {
		return y
	}
	return x
}

// most is the larger of two numbers, not a number where one is not.
func most(x, y float64) float64 {
	if y > x || y != y {
		return y
	}
	return x
}
