package check

import (
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// keepTyped keeps the digits with which the value v of a given was typed.
func (c *checker) keepTyped(q *Quantity, e syntax.Expr, v float64) {
	if n, ok := e.(*syntax.Number); ok {
		q.KeepTyped(n, c.file.Text[n.Span.Start:n.Span.End], v)
	}
}

// KeepTyped keeps the digits with which the value v of a given was typed, if it
// would be shown with others: zeros at the end, or more than twelve digits. A value
// that is shown in another unit than it was typed in has digits of its own.
func (q *Quantity) KeepTyped(n *syntax.Number, literal string, v float64) {
	digits := typedDigits(literal)
	if digits == "" || q.Type.Form != Number {
		return
	}
	clean := q.Unit.Clean(v)
	if math.Abs(clean-n.Value) > 1e-13*math.Max(math.Abs(n.Value), math.Abs(q.Unit.Offset)) {
		return
	}
	shown := unit.FormatGiven(clean, q.To)
	if number, err := strconv.ParseFloat(shown, 64); q.To != 0 && err == nil && number == n.Value {
		return // the zeros are those of the step
	}
	if shown == digits {
		return
	}
	d := q.own()
	if d.Typed == nil {
		d.Typed = map[float64]string{}
	}
	d.Typed[clean] = digits
}

// typedDigits returns the number at the start of a literal, as 0.50 for .50,
// if it has zeros at the end of its decimals or more digits than unit.FormatGiven
// writes; otherwise, and with an exponent, it is empty.
func typedDigits(literal string) string {
	digits, negative := strings.CutPrefix(literal, "-")
	digits = strings.TrimLeft(digits, " \t")
	end := strings.IndexFunc(digits, func(r rune) bool { return r != '.' && (r < '0' || r > '9') })
	if end >= 0 {
		if power := digits[end:]; len(power) > 1 && power[0]|0x20 == 'e' && (power[1] >= '0' && power[1] <= '9' || power[1] == '-' || power[1] == '+') {
			return ""
		}
		digits = digits[:end]
	}
	whole, fraction, decimals := strings.Cut(digits, ".")
	if !decimals || !strings.HasSuffix(fraction, "0") && len(digits) <= 12 {
		return ""
	}
	digits = strings.TrimLeft(whole, "0") + "." + fraction
	if digits[0] == '.' {
		digits = "0" + digits
	}
	if negative && strings.Trim(digits, "0.") != "" {
		digits = "-" + digits
	}
	return digits
}
