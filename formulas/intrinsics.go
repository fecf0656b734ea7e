package formulas

import (
	"math"
	"strings"

	"gearleaf/sheet/kernel"
)

// The spreadsheet formulas of the rows below.
//
// A runtime angle is in turns. A spreadsheet's angles are in radians, so the
// formula removes full turns and multiplies or divides by a whole circle. A
// whole-number function treats a number that is whole within 1e-12 of its size
// as that whole number, in the spreadsheet too: otherwise 8.4/1.4 could be
// rounded down here and up there. The formulas use functions that every
// spreadsheet program has had since 2007, and put their arguments in brackets.

// sheetWhole is true if $1 is whole within the tolerance; sheetNear is that
// whole number.
const (
	sheetNear  = "ROUND($1,0)"
	sheetWhole = "ABS(($1)-ROUND($1,0))<=1E-12*MAX(ABS($1),ABS(ROUND($1,0)))"
)

// Intrinsics returns the functions that no formula can express, one row each.
// min and max have two rows: for several values, and for a column.
func Intrinsics() []kernel.Intrinsic {
	var rows []kernel.Intrinsic
	for _, group := range [][]kernel.Intrinsic{plainRows(), rootRows(), angleRows(), wholeRows(), columnRows(), lookupRows()} {
		rows = append(rows, group...)
	}
	return rows
}

// pi ignores its argument: a constant has none.
func pi(float64) float64 { return math.Pi }

// plainRows are the functions of size and kind.
func plainRows() []kernel.Intrinsic {
	return []kernel.Intrinsic{
		{
			Name: "pi", Example: "2 * pi", Usage: "pi", Meaning: "The ratio of a circle's circumference to its diameter.",
			Why:  "It is a number that nobody should type.",
			Rule: kernel.Constant, F1: pi, Sheet: "PI()",
		},
		{
			Name: "abs", Example: "abs(-3.5 psid)", Usage: "abs(x)", Meaning: "The size of x without its sign; an absolute pressure or temperature stays one.",
			Why:  "A formula would name x three times.",
			Rule: kernel.KeepsMeasure, Min: 1, Max: 1, F1: kernel.Abs, Sheet: "ABS($1)",
		},
		{
			Name: "sign", Example: "sign(-3.5)", Usage: "sign(x)", Meaning: "-1, 0 or 1: which side of zero x lies on.",
			Why:  "Zero counts exactly, where a comparison has a tolerance.",
			Rule: kernel.SignOf, Min: 1, Max: 1, F1: kernel.Sign, Sheet: "SIGN($1)",
		},
		{
			Name: "min", Example: "min(3 m, 4 ft, 2 yd)", Usage: "min(a, b, ...)", Meaning: "The smallest of two or more values of one measure.",
			Why:  "It takes any number of arguments.",
			Rule: kernel.KeepsMeasure, Min: 2, Max: -1, F2: kernel.Lower,
			Sheet: "IF(($2)-($1)<0,$2,$1)",
		},
		{
			Name: "max", Example: "max(3 m, 4 ft, 2 yd)", Usage: "max(a, b, ...)", Meaning: "The largest of two or more values of one measure.",
			Why:  "It takes any number of arguments.",
			Rule: kernel.KeepsMeasure, Min: 2, Max: -1, F2: kernel.Higher,
			Sheet: "IF(($2)-($1)>0,$2,$1)",
		},
		{
			Name: "plain", Example: "plain(21 psig)", Usage: "plain(x)", Meaning: "The same quantity as neither absolute nor relative: drops the kind on purpose.",
			Why:  "No operation drops a kind and changes nothing else.",
			Rule: kernel.DropsKind, Min: 1, Max: 1, Sheet: "($1)",
		},
		{
			Name: "hypot", Example: "hypot(3 m, 4 m)", Usage: "hypot(a, b)", Meaning: "The long side of a right-angled triangle with the sides a and b.",
			Why:  "The squares of very large and very small sides do not fit a number.",
			Rule: kernel.KeepsMeasure, Min: 2, Max: 2, F2: kernel.Hypot,
			Sheet: "SQRT(($1)*($1)+($2)*($2))",
		},
	}
}

// rootRows are roots, exponentials and logarithms.
func rootRows() []kernel.Intrinsic {
	return []kernel.Intrinsic{
		{
			Name: "sqrt", Example: "sqrt(2 m2)", Usage: "sqrt(x)", Meaning: "The square root of x, whatever it measures.",
			Why:  "It is rounded correctly, which a power is not.",
			Rule: kernel.RootOf, Root: 2, Min: 1, Max: 1, F1: kernel.Sqrt,
			Domain: "a number that is not below zero", Sheet: "SQRT($1)",
		},
		{
			Name: "cbrt", Example: "cbrt(-27)", Usage: "cbrt(x)", Meaning: "The cube root of x, whatever it measures; x may be negative.",
			Why:  "A power of a negative number with the exponent one third is not defined.",
			Rule: kernel.RootOf, Root: 3, Min: 1, Max: 1, F1: kernel.Cbrt,
			Sheet: "SIGN($1)*ABS($1)^(1/3)",
		},
		{
			Name: "exp", Example: "exp(1)", Usage: "exp(x)", Meaning: "e to the power x.",
			Why:  "A power of a rounded e would lose digits.",
			Rule: kernel.Pure, Min: 1, Max: 1, F1: kernel.Exp,
			Domain: "a number below 709", Sheet: "EXP($1)",
		},
		{
			Name: "ln", Example: "ln(10)", Usage: "ln(x)", Meaning: "The natural logarithm of x.",
			Why:  "No arithmetic undoes a power.",
			Rule: kernel.Pure, Min: 1, Max: 1, F1: kernel.Ln,
			Domain: "a number above zero", Sheet: "LN($1)",
		},
		{
			Name: "log10", Example: "log10(1000)", Usage: "log10(x)", Meaning: "The decimal logarithm of x; exact for 1, 10, 100 and so on.",
			Why:  "ln(x) / ln(10) misses whole results by the last digit.",
			Rule: kernel.Pure, Min: 1, Max: 1, F1: kernel.Log10,
			Domain: "a number above zero", Sheet: "LOG10($1)",
		},
	}
}

// angleRows are the functions of angles.
func angleRows() []kernel.Intrinsic {
	const why = "No arithmetic gives an angle's sides."
	ofAngle := func(name, what, example string, f func(float64) float64, sheet string) kernel.Intrinsic {
		return kernel.Intrinsic{
			Name: name, Usage: name + "(angle)", Meaning: "The " + what + " of an angle.", Why: why, Example: example,
			Rule: kernel.OfAngle, Min: 1, Max: 1, F1: f,
			Sheet: sheet + "(2*PI()*(($1)-ROUND($1,0)))",
		}
	}
	toAngle := func(name, what, domain, example string, f func(float64) float64, sheet string) kernel.Intrinsic {
		return kernel.Intrinsic{
			Name: name, Usage: name + "(x)", Meaning: "The angle whose " + what + " is x.", Why: why, Example: example,
			Rule: kernel.ToAngle, Min: 1, Max: 1, F1: f, Domain: domain,
			Sheet: sheet + "($1)/(2*PI())",
		}
	}
	tan := ofAngle("tan", "tangent", "tan(45 deg)", kernel.Tan, "TAN")
	tan.Domain = "an angle that is not a quarter turn"
	const unit = "a number from -1 to 1"
	return []kernel.Intrinsic{
		ofAngle("sin", "sine", "sin(180 deg / 17)", kernel.Sin, "SIN"),
		ofAngle("cos", "cosine", "cos(60 deg)", kernel.Cos, "COS"),
		tan,
		toAngle("asin", "sine", unit, "asin(0.5)", kernel.Asin, "ASIN"),
		toAngle("acos", "cosine", unit, "acos(0)", kernel.Acos, "ACOS"),
		toAngle("atan", "tangent", "", "atan(1)", kernel.Atan, "ATAN"),
		{
			Name: "atan2", Example: "atan2(1, 1)", Usage: "atan2(y, x)", Meaning: "The angle of the point x across and y up; a zero has no sign.", Why: why,
			Rule: kernel.ToAngleOfTwo, Min: 2, Max: 2, F2: kernel.Direction, Domain: "a point that is not the origin",
			Sheet: "ATAN2($2,$1+0)/(2*PI())/IF(AND(($1)=0,($2)=0),0,1)",
		},
	}
}

// wholeRows are the functions of whole numbers.
func wholeRows() []kernel.Intrinsic {
	const why = "No arithmetic finds a whole number."
	return []kernel.Intrinsic{
		{
			Name: "floor", Example: "floor(8.4 / 1.4)", Usage: "floor(x)", Meaning: "The largest whole number not above x.", Why: why,
			Rule: kernel.PureCount, Min: 1, Max: 1, F1: kernel.Floor,
			Sheet: "IF(" + sheetWhole + "," + sheetNear + ",INT($1))",
		},
		{
			Name: "ceil", Example: "ceil(110.2)", Usage: "ceil(x)", Meaning: "The smallest whole number not below x.", Why: why,
			Rule: kernel.PureCount, Min: 1, Max: 1, F1: kernel.Ceil,
			Sheet: "IF(" + sheetWhole + "," + sheetNear + ",-INT(-($1)))",
		},
		{
			Name: "round", Example: "round(-2.5)", Usage: "round(x)", Meaning: "The nearest whole number; a half goes away from zero.", Why: why,
			Rule: kernel.PureCount, Min: 1, Max: 1, F1: kernel.Round,
			Sheet: "SIGN($1)*(INT(ABS($1))+IF(ABS($1)-INT(ABS($1))-0.5>=-1E-12*MAX(ABS($1),INT(ABS($1))+0.5),1,0))",
		},
		{
			Name: "mod", Example: "mod(-7, 3)", Usage: "mod(a, b)", Meaning: "What is left of a after whole multiples of b; it has the sign of b.", Why: why,
			Rule: kernel.PureCount, Min: 2, Max: 2, F2: kernel.Mod, Domain: "a divisor that is not zero",
			Sheet: "IF(ABS(($1)/($2)-ROUND(($1)/($2),0))<=1E-12*MAX(ABS(($1)/($2)),ABS(ROUND(($1)/($2),0))),0,($1)-($2)*INT(($1)/($2)))",
		},
		{
			Name: "gcd", Example: "gcd(17, 110)", Usage: "gcd(a, b)", Meaning: "The greatest whole number that divides both a and b; 1 for teeth and links that hunt.",
			Why:  "Its number of steps depends on its arguments.",
			Rule: kernel.Pure, Min: 2, Max: 2, F2: kernel.Gcd, Domain: "two whole numbers",
			Sheet: "GCD(ROUND(ABS($1),0),ROUND(ABS($2),0))/IF(AND(ABS(($1)-ROUND($1,0))<=1E-12*ABS($1),ABS(($2)-ROUND($2,0))<=1E-12*ABS($2)),1,0)",
		},
	}
}

// exampleCurve is a table for worked examples; its figures are invented.
const exampleCurve = `table curve
  time  : 0, 1, 2, 3 s
  speed : 0, 20, 32, 40 m/s
`

// columnRows are the aggregates. They skip blanks.
func columnRows() []kernel.Intrinsic {
	const why = "It reads a whole column."
	row := func(how kernel.Aggregate, meaning, sheet string) kernel.Intrinsic {
		name := how.String()
		return kernel.Intrinsic{
			Name: name, Usage: name + "(table.column)", Meaning: meaning, Why: why,
			Rule: kernel.Column, Min: 1, Max: 1, Aggregate: how, Sheet: sheet,
			Example: exampleCurve + name + "(curve.speed)",
		}
	}
	return []kernel.Intrinsic{
		row(kernel.Sum, "The sum of a column.", "SUM($1)"),
		row(kernel.Mean, "The mean of a column.", "AVERAGE($1)"),
		row(kernel.Min, "The smallest value of a column.", "MIN($1)/IF(COUNT($1)>0,1,0)"),
		row(kernel.Max, "The largest value of a column.", "MAX($1)/IF(COUNT($1)>0,1,0)"),
		row(kernel.Count, "How many values a column has.", "COUNT($1)"),
		row(kernel.First, "The first value of a column.", "INDEX($1,1)"),
		row(kernel.Last, "The last value of a column.", "LOOKUP(9.9E+307,$1)"),
	}
}

// lookupRows are the look-ups. The spreadsheet formula of one depends on the
// columns' places and the rows in use, so every writer makes it from the form.
func lookupRows() []kernel.Intrinsic {
	const why = "It reads two whole columns."
	row := func(form kernel.LookupForm, usage, meaning, domain, example string) kernel.Intrinsic {
		name := usage[:len(usage)-len("(x, xs, ys)")]
		return kernel.Intrinsic{
			Name: name, Usage: usage, Meaning: meaning, Why: why,
			Rule: kernel.LookupRule, Min: 3, Max: 3, Lookup: form, Domain: domain,
			Example: exampleCurve + example,
		}
	}
	fits := func(form kernel.LookupForm, usage, meaning, domain, example string, arguments int) kernel.Intrinsic {
		in := row(form, "lookup(x, xs, ys)", meaning, domain, example)
		in.Name, _, _ = strings.Cut(usage, "(")
		in.Usage, in.Min, in.Max = usage, arguments, arguments
		return in
	}
	const two = "two different values of xs"
	const three = "three rows, with two different values of xs"
	pick := row(kernel.Pick, "pick(x, xs, ys)", "The entry of a column in the row where another is exactly key; case counts.", "a key that is in the column", "pick(2 s, curve.time, curve.speed)")
	pick.Usage = "pick(key, keys, values)"
	return []kernel.Intrinsic{
		row(kernel.Linear, "lookup(x, xs, ys)", "A curve read at x by straight lines; xs must not turn back.", "a value between the ends of xs", "lookup(1.5 s, curve.time, curve.speed)"),
		row(kernel.Clamped, "lookup_clamped(x, xs, ys)", "A curve read at x by straight lines; outside, the end's value.", "", "lookup_clamped(3 s, curve.time, curve.speed)"),
		row(kernel.Monotone, "lookup_monotone(x, xs, ys)", "A curve read at x, smooth and without overshoot (Fritsch and Butland 1984).", "a value between the ends of xs", "lookup_monotone(1.5 s, curve.time, curve.speed)"),
		row(kernel.FirstAt, "first_at(x, xs, ys)", "Where a column first comes to x, the other one read by straight lines.", "a value that xs comes to", "first_at(30 m/s, curve.speed, curve.time)"),
		pick,
		fits(kernel.Slope, "regression_slope(xs, ys)", "The slope of the straight line through points, by least squares.", two, "regression_slope(curve.time, curve.speed)", 2),
		fits(kernel.LineAt, "regression_intercept(xs, ys)", "Where that line has x = 0; of temperatures that is 0 K.", two, "regression_intercept(curve.time, curve.speed)", 2),
		fits(kernel.LineAt, "regression_mean(xs, ys, x)", "The line's value at x.", two, "regression_mean(curve.time, curve.speed, 4 s)", 3),
		fits(kernel.ResidualSD, "regression_residual_sd(xs, ys)", "Standard deviation of the points about the line, with two degrees of freedom less than points.", three, "regression_residual_sd(curve.time, curve.speed)", 2),
		fits(kernel.SlopeSD, "regression_slope_sd(xs, ys)", "Standard deviation of the line's slope.", three, "regression_slope_sd(curve.time, curve.speed)", 2),
		fits(kernel.MeanSD, "regression_intercept_sd(xs, ys)", "Standard deviation of the line at x = 0.", three, "regression_intercept_sd(curve.time, curve.speed)", 2),
		fits(kernel.MeanSD, "regression_mean_sd(xs, ys, x)", "Standard deviation of the line at x.", three, "regression_mean_sd(curve.time, curve.speed, 4 s)", 3),
		fits(kernel.PredictionSD, "regression_prediction_sd(xs, ys, x)", "Standard deviation of one new point at x about the line.", three, "regression_prediction_sd(curve.time, curve.speed, 4 s)", 3),
		fits(kernel.EffectiveFreedom, "effective_freedom(us, freedoms)", "Degrees of freedom of a sum whose parts have these standard uncertainties and degrees of freedom (Welch and Satterthwaite); not truncated.", "freedoms above zero", "table parts\n  u       : 0.57, 0.25\n  freedom : 9, 1e9\neffective_freedom(parts.u, parts.freedom)", 2),
	}
}
