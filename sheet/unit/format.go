package unit

import (
	"math"
	"strconv"
	"strings"
)

// maxDecimals bounds the decimals of a step.
const maxDecimals = 15

// Decimals returns the number of decimals of a number rounded to step: 2 for
// 0.01 and for 0.25, 0 for 10. Without a step it returns 0.
func Decimals(step float64) int {
	if !isStep(step) {
		return 0
	}
	text := strconv.FormatFloat(step, 'f', -1, 64)
	dot := strings.IndexByte(text, '.')
	if dot < 0 {
		return 0
	}
	return min(len(text)-dot-1, maxDecimals)
}

// isStep reports whether step is one that a number can be rounded to.
func isStep(step float64) bool { return step > 0 && !math.IsInf(step, 1) }

// FormatNumber writes v for people. Without a step (0) it shows up to six
// significant digits, and the digits before the point in full; with one, v is
// rounded to it, halves away from zero, and shows its decimals. From 1e15 on
// and below 1e-6 it uses exponents. A value that is not a number is written —:
// faults are described in words elsewhere.
func FormatNumber(v, step float64) string { return formatDigits(v, step, 6) }

// FormatTyped writes a typed number with all its digits. A number with more
// than twelve was not typed and is written as by FormatNumber.
func FormatTyped(v float64) string {
	if !isTyped(v) {
		return FormatNumber(v, 0)
	}
	return formatDigits(v, 0, typedDigits)
}

// FormatGiven writes a given number as FormatNumber with its step, unless that
// hides a typed digit.
func FormatGiven(v, step float64) string {
	if step == 0 {
		return FormatTyped(v)
	}
	text := FormatNumber(v, step)
	if shown, err := strconv.ParseFloat(text, 64); isTyped(v) && (err != nil || shown != v) {
		return FormatTyped(v)
	}
	return text
}

const (
	typedDigits = 12 // of what people type
	mostDigits  = 15 // that a float64 keeps of a decimal number
	mostPlaces  = 300
)

// DecimalsBeside returns with how many decimals v, which is shown to step, is
// written beside other, with which it is compared; -1 if it is written as
// elsewhere. other is shown as it was typed, or to otherStep. v has the decimals
// of a typed number; numbers nearer than a step are written with two digits of
// their difference, equal ones with the same decimals. So the texts compare as the
// numbers do.
func DecimalsBeside(v, step, other, otherStep float64, typed bool) int {
	own, places, d := OwnDecimals(v, step), OwnDecimals(other, otherStep), math.Abs(v-other)
	typed = typed && isTyped(other)
	if typed {
		places = Decimals(math.Abs(other))
	}
	near := step
	if !isStep(step) {
		near = math.Pow10(1 - own) // two digits of it are shown
	}
	switch {
	case d >= near && !(typed && places > own):
		return -1
	case d < near && d > 1e-12*math.Max(math.Abs(v), math.Abs(other)):
		places = max(places, 1-magnitude(d))
	}
	return max(0, min(max(own, places), mostDigits-1-magnitude(v), mostPlaces))
}

// OwnDecimals returns the decimals of v, which is shown to step; without a step
// those of six significant digits, which are below 0 for a large number.
func OwnDecimals(v, step float64) int {
	if isStep(step) {
		return Decimals(step)
	}
	return 5 - magnitude(v)
}

// FormatDecimals writes v with so many decimals; zeros at the end only as far as
// step has decimals. Beyond twelve decimals it writes fifteen digits.
func FormatDecimals(v float64, places int, step float64) string {
	if places > typedDigits || math.Abs(v) >= 1e15 {
		return formatDigits(v, 0, mostDigits)
	}
	text := rounded(v, math.Pow10(-places))
	for extra := places - Decimals(step); extra > 0 && strings.HasSuffix(text, "0"); extra-- {
		text = text[:len(text)-1]
	}
	return strings.TrimSuffix(text, ".")
}

// magnitude returns the power of ten of the first digit of v, 0 of 0.
func magnitude(v float64) int {
	if v == 0 {
		return 0
	}
	return int(math.Floor(float64(math.Log10(math.Abs(v)))))
}

// formatDigits is FormatNumber with a number of significant digits.
func formatDigits(v, step float64, digits int) string {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return "—"
	case v == 0:
		v = 0 // not -0
	case math.Abs(v) >= 1e15:
		return exponential(v, digits)
	}
	if isStep(step) && math.Abs(v/step) < 1e15 {
		return rounded(v, step)
	}
	if v != 0 && math.Abs(v) < 1e-6 {
		return exponential(v, digits)
	}
	return significant(v, digits)
}

// exponential writes v as 1.5e+16, with so many significant digits at most.
func exponential(v float64, digits int) string {
	text := strconv.FormatFloat(v, 'e', digits-1, 64)
	mantissa, power, _ := strings.Cut(text, "e")
	return trimZeros(mantissa) + "e" + power
}

// significant writes v in full, with so many significant digits at most;
// digits before the point are never dropped.
func significant(v float64, digits int) string {
	if v == math.Trunc(v) {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	if math.Abs(v) >= math.Pow10(digits) {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	short := Significant(v, digits)
	if math.Abs(short) >= 1e15 {
		return exponential(short, digits)
	}
	return strconv.FormatFloat(short, 'f', -1, 64)
}

// rounded writes v as a multiple of step.
func rounded(v, step float64) string {
	steps := math.Round(trim(v/step, 0))
	text := strconv.FormatFloat(steps*step, 'f', Decimals(step), 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// trimZeros drops zeros at the end of decimals.
func trimZeros(text string) string {
	if !strings.Contains(text, ".") {
		return text
	}
	return strings.TrimRight(strings.TrimRight(text, "0"), ".")
}

// Significant returns v rounded to n significant digits.
func Significant(v float64, n int) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', n, 64), 64)
	if err != nil {
		return v
	}
	return out
}

// trim removes the rounding error of a conversion from v, that is, everything
// beyond fifteen digits of the larger of v and reach, the largest intermediate
// number.
func trim(v, reach float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) || v == 0 {
		return v
	}
	size := math.Max(math.Abs(v), math.Abs(reach))
	decimals := 14 - int(math.Floor(math.Log10(size)))
	if decimals < 0 || decimals > 300 {
		return Significant(v, 15)
	}
	clean, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64)
	if err != nil {
		return v
	}
	return clean
}

// Clean returns the SI value si as a number in u, without the conversion's
// noise in the last digit.
func (u Unit) Clean(si float64) float64 {
	return trim(u.Shown(si), u.Offset)
}

// Difference returns a − b, SI values, in u: what is beyond fifteen digits of the
// larger of them is noise.
func (u Unit) Difference(a, b float64) float64 {
	return trim((a-b)/u.Scale, math.Max(math.Abs(a), math.Abs(b))/u.Scale)
}

// Number returns the SI value si as a number in u with all its digits, or as
// typed if the two differ only by rounding.
func (u Unit) Number(si float64) float64 { return asTyped(u.Shown(si), u.Offset) }

// Typed returns v, or the number that people would have typed if the two differ
// only by rounding. Every output for programs has this number, in the fewest
// digits that are read as it.
func Typed(v float64) float64 { return asTyped(v, 0) }

// asTyped is Typed of the result of a conversion; reach is its largest
// intermediate number.
func asTyped(v, reach float64) float64 {
	if mayBeTyped(v, reach) {
		if clean := trim(v, reach); isTyped(clean) {
			v = clean
		}
	}
	return v + 0 // there is no -0
}

// mayBeTyped reports whether v may be a typed number with a rounding error. It
// saves writing and reading the decimal digits of most numbers.
func mayBeTyped(v, reach float64) bool {
	size := math.Abs(v)
	if !(size > 1e-290 && size < 1e290) {
		return true
	}
	// The decimal exponent from the binary one, or one less: x has a digit more
	// than people type, or two.
	binary := int(math.Float64bits(size)>>52) - 1023
	scale := math.Pow10(typedDigits - 1 - (binary*1233)>>12)
	x := float64(size * scale)
	whole := float64(int64(x + 0.5))
	if reach == 0 && 1 <= scale && scale <= 1e22 && whole/scale == size {
		return false // a decimal number without an error
	}
	return math.Abs(x-whole) <= 1e-14*max(size, math.Abs(reach))*scale
}

// isTyped reports whether v has as few digits as people type.
func isTyped(v float64) bool {
	return Significant(v, typedDigits) == v
}

// Format writes the SI value si in u, rounded to step, a number of u's own;
// step 0 shows up to six significant digits. A unit without symbol, or "1",
// shows the number alone.
func (u Unit) Format(si, step float64) string { return u.With(FormatNumber(u.Clean(si), step)) }

// With writes a number in u with the unit's symbol.
func (u Unit) With(number string) string {
	if u.Symbol == "" || u.Symbol == "1" {
		return number
	}
	return number + " " + u.Symbol
}

// Times returns a unit v times as large, without a symbol, for a declared unit
// (220 yd); false if that has no meaning: a multiple of a point on a scale
// other than 1, or a v that is not positive and finite.
func (u Unit) Times(v float64) (Unit, bool) {
	u.Symbol = ""
	if v == 1 {
		return u, true
	}
	u.Scale *= v
	return u, u.Offset == 0 && v > 0 && u.sound()
}

// sound reports whether the scale of u converts values both ways.
func (u Unit) sound() bool {
	return u.Scale >= 1e-290 && u.Scale <= 1e290
}
