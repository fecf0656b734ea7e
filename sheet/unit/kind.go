package unit

// KindProblem names the rule on kinds that an operation breaks; "" is none.
type KindProblem string

// The rules on kinds that an operation can break.
const (
	AbsolutePlusAbsolute  KindProblem = "absolute + absolute"
	RelativeMinusAbsolute KindProblem = "relative - absolute"
	RelativeOverAbsolute  KindProblem = "relative / absolute"
	AbsoluteOverRelative  KindProblem = "absolute / relative"
	AbsoluteMeetsRelative KindProblem = "absolute meets relative"
	NegatedAbsolute       KindProblem = "- absolute"
	SumOfAbsolute         KindProblem = "sum of absolute"
	SharesMeet            KindProblem = "share by volume meets share by mass"
)

// The dimensions that have kinds.
var (
	pressureDim    = Dimension{Mass: {Num: 1}, Length: {Num: -1}, Time: {Num: -2}}
	temperatureDim = Dimension{Temperature: {Num: 1}}
)

// HasKinds reports whether values of m have kinds: pressures, temperatures and
// shares do.
func (m Measure) HasKinds() bool {
	return m.Dim == pressureDim || m.Dim == temperatureDim || m == Measure{Kind: m.Kind}
}

// share reports whether k is a kind of share.
func (k Kind) share() bool { return k >= ByVolume }

// AddKind returns the kind of a sum. A plain operand is read as a point or a
// difference to fit the other; if both fit (plain + relative), the sum is
// plain.
//
// Shares keep their kind, 1 less a share included; two kinds of them are
// incompatible.
func AddKind(a, b Kind) (Kind, KindProblem) {
	switch {
	case a.share() || b.share():
		return MeetKind(a, b)
	case a == Absolute && b == Absolute:
		return Absolute, AbsolutePlusAbsolute
	case a == Absolute || b == Absolute:
		return Absolute, ""
	case a == Relative && b == Relative:
		return Relative, ""
	}
	return Plain, ""
}

// SubKind returns the kind of a difference: a point minus a point is relative,
// a point minus a difference or a plain value is a point, and a plain value
// minus a point must have been a point itself. Shares are as in AddKind.
func SubKind(a, b Kind) (Kind, KindProblem) {
	switch {
	case a.share() || b.share():
		return MeetKind(a, b)
	case a == Relative && b == Absolute:
		return Relative, RelativeMinusAbsolute
	case b == Absolute:
		return Relative, ""
	case a == Absolute:
		return Absolute, ""
	case a == Relative:
		return Relative, ""
	}
	return Plain, ""
}

// NegKind returns the kind of a negated value; a negated point has no meaning.
func NegKind(a Kind) (Kind, KindProblem) {
	if a == Absolute {
		return Absolute, NegatedAbsolute
	}
	return a, ""
}

// SumKind returns the kind of the sum over a column; points have a mean, not
// a sum.
func SumKind(a Kind) (Kind, KindProblem) {
	if a == Absolute {
		return Absolute, SumOfAbsolute
	}
	return a, ""
}

// MulKind returns the kind of a product: a number times a pressure or a
// temperature keeps its kind. Other products are plain, because a share of
// something is not a share any more. No product breaks a rule.
func MulKind(a, b Measure) (Kind, KindProblem) {
	switch {
	case a.Dimensionless() && b.Dimensionless():
		return Plain, ""
	case a.Dimensionless():
		return b.Kind, ""
	case b.Dimensionless():
		return a.Kind, ""
	}
	return Plain, ""
}

// DivKind returns the kind of a quotient: division by a number keeps the kind,
// other quotients are plain. A gauge value by an absolute one of the same
// dimension, or the reverse, is a common mistake and breaks a rule.
func DivKind(a, b Measure) (Kind, KindProblem) {
	switch {
	case a.Dimensionless():
		return Plain, ""
	case b.Dimensionless():
		return a.Kind, ""
	case a.Dim == b.Dim && a.Kind == Relative && b.Kind == Absolute:
		return Plain, RelativeOverAbsolute
	case a.Dim == b.Dim && a.Kind == Absolute && b.Kind == Relative:
		return Plain, AbsoluteOverRelative
	}
	return Plain, ""
}

// MeetKind returns the kind of two values that are combined (comparison, min,
// max, branches, look-ups, arguments): plain is compatible with either.
func MeetKind(a, b Kind) (Kind, KindProblem) {
	switch {
	case a == b || b == Plain:
		return a, ""
	case a == Plain:
		return b, ""
	case a.share() || b.share():
		return a, SharesMeet
	}
	return a, AbsoluteMeetsRelative
}
