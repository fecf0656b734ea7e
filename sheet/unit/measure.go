// Package unit knows dimensions, the three kinds of pressure and temperature,
// counts, and units as data with published factors.
//
// A value is held in coherent SI as a float64 (a turn counts as 1); a Unit
// says how people write it, and a Measure what it measures.
package unit

// Slots is how many dimensions of its own a sheet can have: passes, events,
// money, and what it declares.
const Slots = 8

// The base dimensions. From Slot0 on follow the dimensions of the sheet's
// own, in the order in which its System met them.
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

// Exponent is a rational exponent in lowest terms; Den 0 stands for 1, so
// that the zero value is 0. Whole exponents always have Den 0, so that equal
// exponents compare with ==.
type Exponent struct{ Num, Den int8 }

// Dimension is the exponents of the base dimensions; the zero value is
// dimensionless. Dimensions compare with ==.
type Dimension [dimensions]Exponent

// Counts is the exponents of turn, teeth and links, which are carried along
// and let go against nothing.
type Counts [3]Exponent

// The places in Counts.
const (
	Turn = iota
	Teeth
	Links
)

// Kind tells points on a scale from differences, which pressures and
// temperatures are, and shares by volume from shares by mass, which numbers
// are. What is neither is Plain.
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

// SI returns the value in coherent SI of v, written in u.
func (u Unit) SI(v float64) float64 {
	if u.Offset != 0 {
		return (v + u.Offset) * u.Scale
	}
	return v * u.Scale
}

// Shown returns the number that stands before u for the SI value si.
func (u Unit) Shown(si float64) float64 {
	if u.Offset != 0 {
		return si/u.Scale - u.Offset
	}
	return si / u.Scale
}
