// Package unit has dimensions, the three kinds of pressure and temperature,
// counts, and units as data with published factors.
//
// A value is stored in coherent SI as a float64 (a turn counts as 1); a Unit is
// its notation, and a Measure its dimension, kind and counts.
package unit

import "math"

// Slots is the number of dimensions of its own that a sheet can have: passes,
// events, money, and those it declares.
const Slots = 8

// The base dimensions. The sheet's own dimensions begin at Slot0, in the order
// in which its System added them.
const (
	Length = iota
	Mass
	Time
	Temperature
	Current
	Amount
	Slot0
	dimensions = Slot0 + Slots
)

// Exponent is a rational exponent in lowest terms; Den 0 means 1, so the zero
// value is 0. Whole exponents always have Den 0, so equal exponents compare
// with ==.
type Exponent struct{ Num, Den int8 }

// Dimension is the exponents of the base dimensions; the zero value is
// dimensionless. Dimensions compare with ==.
type Dimension [dimensions]Exponent

// Counts is the exponents of turn, teeth and links, which formulas keep, and
// drop in combination with a number without counts.
type Counts [3]Exponent

// The places in Counts.
const (
	Turn = iota
	Teeth
	Links
)

// Kind distinguishes points on a scale from differences, for pressures and
// temperatures, and shares by volume from shares by mass, for numbers. Anything
// else is Plain.
type Kind uint8

// The kinds.
const (
	Plain    Kind = iota // K, products, powers, saturation and partial pressures
	Absolute             // psia, kPa, degC: a point on a scale
	Relative             // psig, kPad, deltaC: a difference
	ByVolume             // vol%: a share of the volume
	ByMass               // mass%: a share of the mass
)

// Measure is what a number measures. Measures compare with ==.
type Measure struct {
	Dim    Dimension
	Counts Counts
	Kind   Kind
}

// Unit is a way to write values of one Measure: SI = (shown + Offset)·Scale.
type Unit struct {
	Symbol  string
	Scale   float64
	Offset  float64
	Measure Measure
}

// SI returns v, a number in u, in coherent SI, without the noise of the
// conversion: 68 degF and 20 degC are the same number.
func (u Unit) SI(v float64) float64 {
	switch {
	case u.Offset != 0:
		return snap(float64((v + u.Offset) * u.Scale))
	case u.Scale == 1:
		return v
	}
	return snap(float64(v * u.Scale))
}

// snap returns the number of fifteen digits that equals v except for its last
// bits, if there is one.
func snap(v float64) float64 {
	const noise = 4e-16 // two units in the last place
	size := math.Abs(v)
	if !(size >= 1e-7 && size < 1e15) {
		return v
	}
	places := 0 // after the point, of fifteen digits
	for places < len(tens)-1 && size*tens[places] < 1e14 {
		places++
	}
	near := math.Round(v*tens[places]) / tens[places]
	if math.Abs(near-v) > float64(noise*size) {
		return v
	}
	return near
}

// tens are the powers of ten that a float64 holds exactly.
var tens = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// Shown returns the SI value si as a number in u.
func (u Unit) Shown(si float64) float64 {
	if u.Offset != 0 {
		return si/u.Scale - u.Offset
	}
	return si / u.Scale
}
