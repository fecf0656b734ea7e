package kernel

// Rule defines the arguments of an intrinsic and the measure of its result.
type Rule uint8

// The rules. "Number" means dimensionless, without counts.
const (
	KeepsMeasure Rule = iota // arguments of one measure; the result has it too
	RootOf                   // one argument of any measure to the power 1/Root
	Pure                     // numbers in, number out
	PureCount                // numbers in (counts kept), number out with the counts
	OfAngle                  // an angle in, a number out
	ToAngle                  // numbers in, an angle out
	ToAngleOfTwo             // two of one measure in, an angle out
	SignOf                   // any measure in, a number out
	DropsKind                // any measure in, the same without its kind out
	Column                   // aggregates of a whole column, by form
	LookupRule               // look-ups in two columns, by form
	Constant                 // no argument: pi
)

// Intrinsic is one function that no formula can express. Everything about it,
// for every back end, is in one row.
type Intrinsic struct {
	Name    string
	Meaning string // one line, for the reference
	Usage   string // "atan2(y, x)"
	Why     string // why no formula can express it
	// Example is a worked example, a formula; lines of a worksheet may precede
	// it.
	Example string
	Rule    Rule
	Root    int // RootOf: 2 for sqrt, 3 for cbrt
	Min     int // fewest arguments
	Max     int // most arguments; -1 for any number
	// F1 and F2 are the kernels for one and two arguments; more than two
	// fold from the left through F2. Neither sees a NaN; a NaN or infinite
	// result becomes a fault, with Domain as its cause.
	F1 func(x float64) float64
	F2 func(x, y float64) float64
	// Domain describes valid arguments, "a number that is not below zero", in
	// the cause of a fault of this function.
	Domain string
	// Sheet is the spreadsheet spelling, with $1 $2 for the arguments.
	Sheet string
	// Aggregate and Lookup are the forms of the rules Column and LookupRule.
	Aggregate Aggregate
	Lookup    LookupForm
}

// Aggregate is a reduction of a whole column.
type Aggregate uint8

// The aggregates.
const (
	NoAggregate Aggregate = iota
	Sum
	Mean
	Min
	Max
	Count
	First
	Last
)

// LookupForm is a way to read one column at a place in another.
type LookupForm uint8

// The look-ups.
const (
	NoLookup LookupForm = iota
	Linear              // lookup: straight lines; outside, a fault
	Clamped             // lookup_clamped: straight lines; outside, the end value
	Monotone            // lookup_monotone: Fritsch-Butland cubic; outside, a fault
	FirstAt             // first_at: the first crossing, straight lines
	Pick                // pick: the row whose key is exactly this

	// Statistics of two whole columns, where xs and ys are the points of a
	// straight line by least squares.
	Slope            // its slope
	LineAt           // its value at x
	SlopeSD          // standard deviation of the slope
	ResidualSD       // of the points about the line
	MeanSD           // of the line at x
	PredictionSD     // of one new point at x
	EffectiveFreedom // Welch and Satterthwaite, of uncertainties and their freedoms
)
