package runlog

import (
	"bytes"
	"math"
	"strconv"
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// parseNumber reads a decimal number whose decimal sign is point. Up to fifteen
// digits have a fast path that is exact: the digits and the power of ten are
// exact, and only the division rounds.
func parseNumber(b []byte, point byte) (float64, bool) {
	i, negative := 0, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		negative, i = b[0] == '-', 1
	}
	digits, decimals, seen := 0, 0, false
	var whole uint64
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case c >= '0' && c <= '9':
			whole = whole*10 + uint64(c-'0')
			if digits++; seen {
				decimals++
			}
			if digits > 15 {
				return longNumber(b, point)
			}
		case c == point && !seen:
			seen = true
		default:
			return longNumber(b, point)
		}
	}
	if digits == 0 {
		return 0, false
	}
	v := float64(whole) / tens[decimals]
	if negative {
		v = -v
	}
	return v, true
}

// longNumber reads a number with an exponent or many digits. Words such as Inf
// and signs of other notations are not numbers.
func longNumber(b []byte, point byte) (float64, bool) {
	for _, c := range b {
		if (c < '0' || c > '9') && c != point && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	if point != '.' {
		b = bytes.Replace(b, []byte{point}, []byte{'.'}, 1)
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// thousands reports whether the comma of a number may be a thousands separator,
// as in 11,200.
func thousands(b []byte) bool {
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		b = b[1:]
	}
	head, tail, _ := bytes.Cut(b, []byte{','})
	if len(head) == 0 || len(head) > 3 || head[0] == '0' || len(tail) != 3 {
		return false
	}
	for _, c := range append(bytes.Clone(head), tail...) {
		if c < '0' || c > '9' {
			return false
		}
	}
	return true
}

// isBlank reports whether a field says that there is no value.
func isBlank(b []byte) bool {
	switch len(b) {
	case 0:
		return true
	case 1, 2:
		return b[0] == '-' && b[len(b)-1] == '-'
	case 3, 4:
		switch string(bytes.ToLower(b)) {
		case "nan", "n/a", "#n/a", "null", "none", "---":
			return true
		}
	}
	return false
}

// parseClock reads a time of day, 14:03:27.125, in seconds.
func parseClock(b []byte, point byte) (float64, bool) {
	parts := bytes.Split(b, []byte{':'})
	if len(parts) < 2 || len(parts) > 3 {
		return 0, false
	}
	total := 0.0
	for i, part := range parts {
		v, ok := parseNumber(part, point)
		if !ok || v < 0 || i > 0 && v >= 60 || i < len(parts)-1 && v != math.Trunc(v) {
			return 0, false
		}
		total = float64(total*60) + v
	}
	return total, true
}
