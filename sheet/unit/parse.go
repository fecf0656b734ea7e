package unit

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// Bounds of a unit's text.
const (
	maxText  = 1200 // bytes: a compound of eight long names fits
	maxName  = 100  // bytes of a declared name
	maxInner = 8    // brackets inside each other
)

// parser reads one unit by recursive descent: product, factor, exponent.
type parser struct {
	system *System
	names  func(string) (Unit, bool)
	// dry reads without adding dimensions of the sheet's own, to try a repair.
	dry     bool
	text    string
	at      int
	depth   int
	factors []power
}

// power is one factor of a compound: a unit to the exponent num/den.
type power struct {
	unit     Unit
	asks     []string
	named    bool // a value's name is used for the unit
	num, den int64
	at, len  int
}

func (s *System) parse(text string) (Unit, *ParseError) {
	return s.run(&parser{system: s, text: text})
}

// run reads p's text. A text that is not a unit adds no dimension.
func (s *System) run(p *parser) (Unit, *ParseError) {
	taken := len(s.slots)
	u, err := p.unit()
	if err != nil {
		for _, name := range s.slots[taken:] {
			delete(s.own, name)
		}
		s.slots = s.slots[:taken]
		s.suggest(err, p.text)
	}
	return u, err
}

// parseNamed is parse that tries names first. The symbol of the unit it returns
// contains no names.
func (s *System) parseNamed(text string, names func(string) (Unit, bool)) (Unit, *ParseError) {
	p := parser{system: s, names: names, text: text}
	u, err := s.run(&p)
	if err == nil && p.compound() && slices.ContainsFunc(p.factors, func(f power) bool { return f.named }) {
		u = s.renamed(u, p.factors)
	}
	return u, err
}

// reads reports whether text is a unit, without side effects.
func (s *System) reads(text string) bool {
	p := parser{system: s, text: text, dry: true}
	_, err := p.unit()
	return err == nil
}

func (p *parser) unit() (Unit, *ParseError) {
	if len(p.text) > maxText {
		return Unit{}, p.fail(CodeSyntax, 0, len(p.text), "this is too long for a unit", "")
	}
	if err := p.product(1); err != nil {
		return Unit{}, err
	}
	if p.at < len(p.text) {
		return Unit{}, p.stray()
	}
	if p.compound() {
		return p.fold()
	}
	return p.single(p.factors[0])
}

// compound reports whether what was read is more than one symbol.
func (p *parser) compound() bool {
	f := p.factors[0]
	return len(p.factors) > 1 || f.len < len(p.text) || f.num != 1 || f.den != 1
}

func (p *parser) fail(code string, at, length int, message, help string) *ParseError {
	return &ParseError{Code: code, Message: message, Help: help, At: at, Len: length}
}

// stray is the error at a byte that is not allowed at its place.
func (p *parser) stray() *ParseError {
	if p.at == len(p.text) {
		return p.fail(CodeSyntax, p.at, 0, "the unit "+strconv.Quote(p.text)+" breaks off",
			"a unit is written like kg/m3, lb/(hp.h), ft.lbf")
	}
	found := strconv.Quote(firstRune(p.text[p.at:]))
	return p.fail(CodeSyntax, p.at, len(firstRune(p.text[p.at:])), found+" does not belong in a unit",
		"a unit is written like kg/m3, lb/(hp.h), ft.lbf")
}

func firstRune(text string) string {
	for i := range text {
		if i > 0 {
			return text[:i]
		}
	}
	return text
}

// product reads factors joined by . and /; sign is 1 above the
// line and -1 below it.
func (p *parser) product(sign int64) *ParseError {
	if err := p.factor(sign); err != nil {
		return err
	}
	divided := false
	for p.at < len(p.text) {
		switch p.text[p.at] {
		case '.':
			if divided {
				return p.fail(CodeSyntax, p.at, 1, "a . after a / does not say what is divided", "put brackets: lb/(hp.h)")
			}
			p.at++
			if err := p.factor(sign); err != nil {
				return err
			}
		case '/':
			divided = true
			p.at++
			if err := p.factor(-sign); err != nil {
				return err
			}
		default:
			return nil
		}
	}
	return nil
}

// factor reads a bracket or a symbol with its exponent.
func (p *parser) factor(sign int64) *ParseError {
	if p.at < len(p.text) && p.text[p.at] == '(' {
		return p.bracket(sign)
	}
	start := p.at
	for p.at < len(p.text) && isWord(p.text[p.at]) {
		p.at++
	}
	if start == p.at {
		return p.stray()
	}
	f, err := p.word(start)
	if err != nil {
		return err
	}
	if f.den == 1 && f.num == 1 && p.at < len(p.text) && p.text[p.at] == '(' {
		if err := p.fraction(&f); err != nil {
			return err
		}
	}
	f.num *= sign
	f.at, f.len = start, p.at-start
	p.factors = append(p.factors, f)
	return nil
}

func (p *parser) bracket(sign int64) *ParseError {
	if p.depth++; p.depth > maxInner {
		return p.fail(CodeSyntax, p.at, 1, "too many brackets inside each other", "")
	}
	p.at++
	if err := p.product(sign); err != nil {
		return err
	}
	if p.at == len(p.text) || p.text[p.at] != ')' {
		return p.stray()
	}
	p.at++
	p.depth--
	return nil
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// isWord reports whether c can be in a symbol, its exponent included.
func isWord(c byte) bool {
	return isDigit(c) || 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c == '_' || c == '%' || c >= 0x80
}

// word reads the symbol and whole exponent in the text from start to here. A
// symbol that ends in digits itself is tried first.
func (p *parser) word(start int) (power, *ParseError) {
	word := p.text[start:p.at]
	f, ok, err := p.symbol(word)
	if ok || err != nil {
		return f, p.moved(err, start)
	}
	stem := strings.TrimRight(word, "0123456789")
	if isDigit(word[0]) {
		return f, p.fail(CodeSyntax, start, len(word), "a number does not belong in a unit", "1 is the only number in a unit: 1/s")
	}
	if stem != word {
		f, ok, err = p.symbol(stem)
	}
	if err != nil {
		return f, p.moved(err, start)
	}
	if !ok {
		return f, p.fail(CodeUnknown, start, len(stem), strconv.Quote(stem)+" is not a unit", "")
	}
	f.num, err = p.exponent(word[len(stem):], start+len(stem))
	return f, err
}

// moved converts the place of err from a symbol to the whole text.
func (p *parser) moved(err *ParseError, start int) *ParseError {
	if err != nil {
		err.At += start
	}
	return err
}

// exponent reads digits as a whole exponent.
func (p *parser) exponent(digits string, at int) (int64, *ParseError) {
	value, err := strconv.ParseInt(digits, 10, 32)
	if err != nil || value > MaxExponent {
		return 1, p.fail(CodeExponent, at, len(digits), "the power "+short(digits)+" is beyond what a unit can have",
			"powers go up to "+strconv.Itoa(MaxExponent))
	}
	if value < 2 || digits[0] == '0' {
		return 1, p.fail(CodeSyntax, at, len(digits), "the power "+short(digits)+" is not written", "powers are 2, 3, …, as in m2")
	}
	return value, nil
}

// short truncates a long run of digits.
func short(digits string) string {
	if len(digits) > 12 {
		return digits[:12] + "…"
	}
	return digits
}

// fraction reads an exponent such as (1/2) into f.
func (p *parser) fraction(f *power) *ParseError {
	start := p.at
	end := strings.IndexByte(p.text[start:], ')')
	if end < 0 {
		p.at = len(p.text)
		return p.stray()
	}
	p.at = start + end + 1
	over, under, _ := strings.Cut(p.text[start+1:start+end], "/")
	num, err1 := strconv.ParseUint(over, 10, 8)
	den, err2 := strconv.ParseUint(under, 10, 8)
	e, ok := exponent(int64(num), int64(den))
	if err1 != nil || err2 != nil || !ok || e.Num == 0 || e != (Exponent{int8(num), int8(den)}) {
		return p.fail(CodeExponent, start, p.at-start, p.text[start:p.at]+" is not a power that a unit can have",
			"a fraction in lowest terms, as m(1/2)")
	}
	f.num, f.den = int64(num), int64(den)
	return nil
}

// symbol looks word up: names first, then the sheet's declarations, then the
// catalogue.
func (p *parser) symbol(word string) (power, bool, *ParseError) {
	f := power{num: 1, den: 1}
	if p.names != nil {
		if u, ok := p.names(word); ok {
			f.unit, f.named = u, true
			return f, true, nil
		}
	}
	if u, ok := p.system.own[word]; ok {
		f.unit = u
		return f, true, nil
	}
	row, ok := known[word]
	if !ok {
		return f, false, nil
	}
	f.unit, f.asks = row.Unit, row.Asks
	if row.Own && !p.dry {
		u, err := p.system.slot(row.Symbol)
		if err != nil {
			return f, false, err
		}
		f.unit = u
	}
	return f, true, nil
}

// single returns a single unit, under its name in the text.
func (p *parser) single(f power) (Unit, *ParseError) {
	if f.asks != nil {
		return Unit{}, p.ambiguous(f)
	}
	if !f.named {
		f.unit.Symbol = p.text
	}
	return f.unit, nil
}

func (p *parser) ambiguous(f power) *ParseError {
	err := p.fail(CodeAmbiguous, f.at, f.len, "", "")
	err.Repairs = f.asks
	absolute := ""
	if len(f.asks) == 3 {
		absolute = ", absolute (" + f.asks[1] + ")"
	}
	err.Message = p.text + " does not say which pressure: gauge (" + f.asks[0] + ")" + absolute + " or a drop (" + f.asks[len(f.asks)-1] + ")"
	err.Help = "write " + orList(f.asks) + ", or once at the top of the sheet: unit " + p.text + " = 1 " + f.asks[0]
	return err
}

// fold multiplies the factors of a compound, which is plain.
func (p *parser) fold() (Unit, *ParseError) {
	above, below := 1.0, 1.0
	var m Measure
	for _, f := range p.factors {
		if f.unit.Offset != 0 {
			return Unit{}, p.fail(CodeKind, f.at, f.len, f.unit.Symbol+" is a point on a scale and cannot be part of a compound", "")
		}
		raised, ok := f.unit.Measure.power(f.num, f.den)
		if ok {
			m, ok = m.combine(raised, 1)
		}
		if !ok {
			return Unit{}, p.fail(CodeExponent, f.at, f.len, "a power in "+p.text+" is beyond what a unit can have",
				"powers go up to "+strconv.Itoa(MaxExponent))
		}
		if f.num < 0 {
			below *= raise(f.unit.Scale, -f.num, f.den)
		} else {
			above *= raise(f.unit.Scale, f.num, f.den)
		}
	}
	u := Unit{Symbol: p.text, Scale: above / below, Measure: m}
	if !u.sound() {
		return Unit{}, p.fail(CodeExponent, 0, len(p.text), p.text+" is too large or too small a unit", "")
	}
	return u, nil
}

// raise returns scale to the power num/den, num above zero.
func raise(scale float64, num, den int64) float64 {
	if den != 1 {
		return math.Pow(scale, float64(num)/float64(den))
	}
	product := scale
	for ; num > 1; num-- {
		product *= scale
	}
	return product
}
