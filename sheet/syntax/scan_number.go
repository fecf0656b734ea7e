package syntax

import (
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// numberEnd returns the end of the number without sign that begins at i, or
// i if none does: 1250, .5, 1e-3, 2.5e6. The dots of a range are not part of it.
func numberEnd(text string, i int) int {
	end := digitsEnd(text, i)
	if end < len(text) && text[end] == '.' && end+1 < len(text) && isDigit(text[end+1]) {
		end = digitsEnd(text, end+1)
	}
	if end == i || end >= len(text) || text[end]|0x20 != 'e' {
		return end
	}
	power := end + 1
	if power < len(text) && (text[power] == '+' || text[power] == '-') {
		power++
	}
	if e := digitsEnd(text, power); e > power {
		return e
	}
	return end
}

func digitsEnd(text string, i int) int {
	for i < len(text) && isDigit(text[i]) {
		i++
	}
	return i
}

// scanNumber reads a number and the unit directly after it.
func (p *parser) scanNumber(at int) {
	end := numberEnd(p.text, at)
	p.tok.kind = tokNumber
	p.tok.value = p.float(at, end)
	p.tok.unit, p.tok.unitSpan = "", source.Span{}
	if c := p.at(end); c == '\'' || c == '_' || c == '.' {
		end = p.oddNumber(at, end)
	}
	p.tok.digits, p.pos = int32(end), end
	p.scanUnitAfter(end)
}

// float returns the value of the number between at and end.
func (p *parser) float(at, end int) float64 {
	if v, ok := shortFloat(p.text[at:end]); ok {
		return v
	}
	v, err := strconv.ParseFloat(p.text[at:end], 64)
	if err != nil || math.IsInf(v, 0) {
		span := source.Span{Start: int32(at), End: int32(end)}
		p.report(diag.NumberRange, span, "this number is too large to compute with", "numbers go up to 1.79e308")
		return 0
	}
	return v
}

var powersOfTen = [...]float64{1, 10, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// shortFloat returns the value of a number of up to fifteen digits without an
// exponent. Both the digits and the power of ten are exact then, so the
// quotient is the nearest float64, as from strconv.ParseFloat.
func shortFloat(text string) (float64, bool) {
	if len(text) > 16 {
		return 0, false
	}
	digits, decimals, point := int64(0), 0, 0
	for i := range len(text) {
		switch c := text[i]; {
		case isDigit(c):
			digits = digits*10 + int64(c-'0')
			decimals += point
		case c == '.':
			point = 1
		default:
			return 0, false
		}
	}
	if decimals >= len(powersOfTen) || digits >= 1e15 {
		return 0, false
	}
	return float64(digits) / powersOfTen[decimals], true
}

// oddNumber reads common spellings of numbers that worksheets do not allow:
// 1'250, 1_250, 5., 1.5.2.
func (p *parser) oddNumber(at, end int) int {
	c := p.text[end]
	group := digitsEnd(p.text, end+1)
	if c == '.' {
		if p.at(end+1) == '.' {
			return end
		}
		span := source.Span{Start: int32(at), End: int32(group)}
		if group == end+1 {
			p.report(diag.NumberForm, span, "this number ends with a point", "", replace(span, p.text[at:end]))
		} else {
			p.report(diag.NumberForm, span, "this number has two points", "write the point before the decimals, once")
		}
		return group
	}
	if group != end+4 {
		return end
	}
	for p.at(group) == c && digitsEnd(p.text, group+1) == group+4 {
		group += 4
	}
	plain := strings.ReplaceAll(p.text[at:group], string(c), "")
	span := source.Span{Start: int32(at), End: int32(group)}
	p.report(diag.NumberThousands, span, "this number has a thousands separator", "write the digits together: "+plain, replace(span, plain))
	p.tok.value, _ = strconv.ParseFloat(plain, 64)
	return group
}
