package diag

// The codes of units, dimensions and kinds. The first six are what package
// unit says of a unit's text.
const (
	UnitUnknown   Code = "unit-unknown"
	UnitAmbiguous Code = "unit-ambiguous"
	UnitSyntax    Code = "unit-syntax"
	UnitKind      Code = "unit-kind-in-compound"
	UnitExponent  Code = "unit-exponent"
	UnitSlots     Code = "unit-slots"

	DimensionMismatch Code = "dimension-mismatch"
	CountMismatch     Code = "count-mismatch"
	KindMismatch      Code = "kind-mismatch"
	KindSum           Code = "kind-sum"
	KindDifference    Code = "kind-difference"
	KindQuotient      Code = "kind-quotient"
	KindNegated       Code = "kind-negated"
	KindColumnSum     Code = "kind-column-sum"
	ArgumentKind      Code = "argument-kind"
	PowerVaries       Code = "power-varies"
	PowerFraction     Code = "power-fraction"
	ExponentBound     Code = "exponent-bound"
	AngleNeeded       Code = "angle-needed"
	TurnsLeft         Code = "turns-left"
)
