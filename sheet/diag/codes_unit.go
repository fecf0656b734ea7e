package diag

// The codes of units, dimensions and kinds. The first six are those of package
// unit for a unit's text.
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
	KindProduct       Code = "kind-product"
	KindNegated       Code = "kind-negated"
	KindColumnSum     Code = "kind-column-sum"
	ArgumentKind      Code = "argument-kind"
	PowerVaries       Code = "power-varies"
	PowerFraction     Code = "power-fraction"
	ExponentBound     Code = "exponent-bound"
	AngleNeeded       Code = "angle-needed"
	TurnsLeft         Code = "turns-left"
	BareNumber        Code = "bare-number"
	BareGiven         Code = "bare-given"
)

var _ = register(
	Row{UnitUnknown, "an unknown unit", "speed : 100 kmhh\n"},
	Row{UnitAmbiguous, "an ambiguous unit", "boost : 21 psi\n"},
	Row{UnitSyntax, "a unit that cannot be read", "unit furlong = 0 yd\n"},
	Row{UnitKind, "a point on a scale inside a compound unit", "slope : 3 degC/m\n"},
	Row{UnitExponent, "an invalid power of a unit", "volume : 3 m99\n"},
	Row{UnitSlots, "more dimensions of its own than a sheet can have", "unit plug\nunit belt\nunit valve\nunit spring\nunit gasket\nunit ring\nunit disc\nunit pad\nunit hose\n"},
	Row{DimensionMismatch, "two incompatible dimensions meet", "mass : 340 kg\nwrong = mass + 3 m\n"},
	Row{CountMismatch, "two different counts meet", "front : 17 teeth\nchain : 114 links\nwrong = front + chain\n"},
	Row{KindMismatch, "a point on a scale meets a difference", "boost : 21 psig\nambient : 100 kPa\nwrong = max(boost, ambient)\n"},
	Row{KindSum, "two points on a scale are added", "inside : 20 degC\noutside : 30 degC\nwrong = inside + outside\n"},
	Row{KindDifference, "a point is taken from a difference", "boost : 21 psig\nambient : 100 kPa\nwrong = boost - ambient\n"},
	Row{KindQuotient, "a gauge value is divided by an absolute one", "boost : 21 psig\nambient : 100 kPa\nwrong = boost / ambient\n"},
	Row{KindProduct, "a multiple of a point on a scale of temperature", "table t rows 3\n  air = row * 1 degC\n"},
	Row{KindNegated, "a minus before a point on a scale", "air : 20 degC\nwrong = -air\n"},
	Row{KindColumnSum, "the sum of a column of points on a scale", "table log\n  air : 20, 21 degC\nwrong = sum(log.air)\n"},
	Row{ArgumentKind, "an argument of the wrong kind", "boost : 21 psig\nambient : 100 kPa\nratio = pressure_ratio(boost, ambient)\n"},
	Row{PowerVaries, "the exponent of a value with a dimension changes", "length : 3 m\nhow : 2\nwrong = length ^ how\n"},
	Row{PowerFraction, "the exponent of a value with a dimension is not a fraction", "length : 3 m\nwrong = length ^ 0.3333\n"},
	Row{ExponentBound, "an exponent that is too large", "length : 3 m\nwrong = length ^ 15 * length ^ 15\n"},
	Row{AngleNeeded, "a plain number where an angle is expected", "wrong = sin(30)\n"},
	Row{BareNumber, "a number without a unit meets a value in percent or degrees", "duty : 95 %\nlimit duty <= 85\n"},
	Row{BareGiven, "a given without a unit meets a value in percent or degrees", "duty_limit : 90\nduty : 95 %\nlimit duty <= duty_limit\n"},
	Row{TurnsLeft, "a power, torque or acceleration that still counts turns", "torque : 100 N.m\nspeed : 9000 rpm\npower = torque * speed as kW\n"},
)
