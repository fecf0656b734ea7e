package syntax

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// unitStarts reports whether a unit can begin at i: a letter, % or °.
func (p *parser) unitStarts(i int) bool {
	switch c := p.at(i); class[c] {
	case classLower:
		return c != '_'
	case classUpper:
		return true
	case classForeign:
		r, _ := utf8.DecodeRuneInString(p.text[i:])
		return unicode.IsLetter(r) || r == '°'
	default:
		return c == '%'
	}
}

// scanUnitAfter reads the unit of the current number, which ends at end.
func (p *parser) scanUnitAfter(end int) {
	at := p.skip(end)
	if p.at(at) == 0xc2 && p.at(at+1) == 0xa0 { // a no-break space
		span := source.Span{Start: int32(at), End: int32(at + 2)}
		if !p.unitStarts(at+2) || p.stopWord(at+2) {
			return
		}
		p.report(diag.CharacterBlank, span, "this blank is the character U+00A0", "write an ordinary blank", replace(span, " "))
		at += 2
	} else if (!p.unitStarts(at) || p.stopWord(at)) && !p.perUnit(at) {
		return
	} else if at > end+1 {
		span := source.Span{Start: int32(end), End: int32(at)}
		p.report(diag.UnitApart, span, "there are several blanks between the number and its unit", "write a unit directly after its number, with one blank or none", replace(span, " "))
	}
	p.tok.unitSpan, p.tok.unit = p.scanUnit(at)
	p.pos = int(p.tok.unitSpan.End)
	p.twoWords()
	if !p.hyphenAfter() {
		p.slashAfter(p.pos)
	}
}

// apart are units that people write in two words, by the first and the second.
var apart = map[string]map[string]string{
	"fl":  {"oz": "floz"},
	"fl.": {"oz": "floz"},
	"ft":  {"lb": "lbf.ft", "lbs": "lbf.ft", "lbf": "lbf.ft"},
	"in":  {"lb": "lbf.in", "lbs": "lbf.in", "lbf": "lbf.in", "Hg": "inHg"},
	"mm":  {"Hg": "mmHg"},
	"psi": {"gauge": "psig", "absolute": "psia", "abs": "psia"},
	"sq":  {"in": "in2", "ft": "ft2"},
	"cu":  {"in": "in3", "ft": "ft3"},
}

// twoWords reports a unit in two words.
func (p *parser) twoWords() {
	seconds, ok := apart[p.tok.unit]
	if !ok || p.at(p.pos) != ' ' {
		return
	}
	end := p.pos + 1
	for unitLetter(p.at(end)) {
		end++
	}
	unit, ok := seconds[p.text[p.pos+1:end]]
	if !ok {
		return
	}
	p.tok.unitSpan.End, p.tok.unit, p.pos = int32(end), unit, end
	p.report(diag.UnitApart, p.tok.unitSpan, "a unit is one word", "write "+unit, replace(p.tok.unitSpan, unit))
}

// hyphenAfter reports a denominator in brackets with a hyphen in it, as in
// lb/(hp-hr).
func (p *parser) hyphenAfter() bool {
	if p.at(p.pos) != '/' || p.at(p.pos+1) != '(' {
		return false // called after every number: nothing is searched before this test
	}
	rest := p.text[p.pos+len("/("):]
	inner, _, closed := strings.Cut(rest[:min(len(rest), source.MaxNameBytes)], ")")
	words := strings.Split(inner, "-")
	if !closed || len(words) < 2 {
		return false
	}
	for i, w := range words {
		if w == "" || strings.ContainsFunc(w, func(r rune) bool { return r >= 0x80 || !unitLetter(byte(r)) }) {
			return false
		}
		if w == "hr" || w == "hrs" {
			words[i] = "h"
		}
	}
	unit := p.tok.unit + "/(" + strings.Join(words, ".") + ")"
	p.pos += len("/()") + len(inner)
	p.tok.unitSpan.End, p.tok.unit = int32(p.pos), unit
	p.report(diag.UnitSign, p.tok.unitSpan, "a product of units is written with a point", "write "+unit, replace(p.tok.unitSpan, unit))
	return true
}

func unitLetter(c byte) bool {
	return class[c] == classLower || class[c] == classUpper || class[c] == classDigit
}

// perUnit reports whether 1/unit is at i, as in 5 1/m: directly after a
// number nothing else begins with a digit.
func (p *parser) perUnit(i int) bool {
	return p.at(i) == '1' && p.at(i+1) == '/' && p.unitStarts(i+2) && !p.stopWord(i+2)
}

// stopWord reports whether the word at i may follow a number and so is not a
// unit.
func (p *parser) stopWord(i int) bool {
	if c := class[p.at(i)]; c != classLower {
		return false
	}
	return wordOf(p.text[i:p.wordEnd(i)]) != noWord
}

// scanUnit reads the unit at at and returns its place and its text. Refused
// spellings are reported and repaired in the text.
func (p *parser) scanUnit(at int) (source.Span, string) {
	u := unitScan{p: p, start: at, end: at}
	if c := p.at(at); c == '1' {
		u.end++
	} else {
		u.word()
	}
	for u.more() {
	}
	span := source.Span{Start: int32(at), End: int32(u.end)}
	text := p.text[at:u.end]
	if u.odd {
		text = u.repairSigns(span, text)
	}
	if u.dotted {
		text = u.repairDot(span, text)
	}
	p.caretAfter(u.end)
	return span, text
}

// unitScan is the state of scanUnit.
type unitScan struct {
	p          *parser
	start, end int
	slash      int  // the place of the first /, 0 for none
	odd        bool // it contains a sign that units do not have: ° ² ³ · ^
	dotted     bool // a . follows a / outside brackets
}

// word reads letters and digits, a % after them (vol%), or % alone.
func (u *unitScan) word() {
	if u.p.at(u.end) == '%' {
		u.end++
		return
	}
	u.letters()
	if c := u.p.at(u.end + 1); u.p.at(u.end) == '%' && class[c] != classDigit && class[c] != classLower && class[c] != classUpper {
		u.end++
	}
}

func (u *unitScan) letters() {
	for u.end < len(u.p.text) {
		switch class[u.p.text[u.end]] {
		case classLower, classUpper, classDigit:
			u.end++
			continue
		case classForeign:
			if u.foreign() {
				continue
			}
		}
		return
	}
}

// foreign reads a letter, a power or a degree sign beyond ASCII.
func (u *unitScan) foreign() bool {
	r, n := utf8.DecodeRuneInString(u.p.text[u.end:])
	switch {
	case r == '°' || r == '²' || r == '³':
		u.odd = true
	case !unicode.IsLetter(r):
		return false
	}
	u.end += n
	return true
}

// more reads one more part of a compound unit, if one is there.
func (u *unitScan) more() bool {
	p, c := u.p, u.p.at(u.end)
	switch {
	case c == '.' && p.unitStarts(u.end+1):
		u.dotted = u.dotted || u.slash > 0
		u.end++
		u.word()
	case c == '/' && p.unitStarts(u.end+1):
		u.markSlash()
		u.end++
		u.word()
	case c == '/' && p.at(u.end+1) == '(':
		end := p.unitGroup(u.end + 2)
		if end < 0 {
			return false
		}
		u.markSlash()
		u.end = end
	case c == '^' && isDigit(p.at(u.end+1)):
		u.odd = true
		u.end = digitsEnd(p.text, u.end+1)
	case strings.HasPrefix(p.text[u.end:], "·") && p.unitStarts(u.end+len("·")):
		u.odd, u.dotted = true, u.dotted || u.slash > 0
		u.end += len("·")
		u.word()
	default:
		return false
	}
	return true
}

func (u *unitScan) markSlash() {
	if u.slash == 0 {
		u.slash = u.end
	}
}

// unitGroup returns the end of `hp.h)`, whose first word begins at i, or -1.
func (p *parser) unitGroup(i int) int {
	for p.unitStarts(i) {
		u := unitScan{p: p, start: i, end: i}
		u.word()
		switch p.at(u.end) {
		case ')':
			return u.end + 1
		case '.':
			i = u.end + 1
		default:
			return -1
		}
	}
	return -1
}

var unitSigns = strings.NewReplacer("°C", "degC", "°F", "degF", "°", "deg", "²", "2", "³", "3", "·", ".", "^", "")

func (u *unitScan) repairSigns(span source.Span, text string) string {
	right := unitSigns.Replace(text)
	if strings.Contains(text, "^") {
		u.p.report(diag.UnitCaret, span, "found ^ directly after a unit", "write "+right, replace(span, right))
	} else {
		u.p.report(diag.UnitSign, span, "the unit "+text+" has a sign that units are written without", "write "+right, replace(span, right))
	}
	return right
}

// repairDot puts the text after the first / into brackets.
func (u *unitScan) repairDot(span source.Span, text string) string {
	top, below, _ := strings.Cut(text, "/")
	below = strings.NewReplacer("/", ".", "(", "", ")", "").Replace(below)
	right := top + "/(" + below + ")"
	u.p.report(diag.UnitDot, span, "a . after a / does not say what is divided by", "write "+right, replace(span, right))
	return right
}

// caretAfter reports a ^ directly after a unit without a whole power after it.
func (p *parser) caretAfter(end int) {
	if p.at(end) == '^' {
		span := source.Span{Start: int32(end), End: int32(end + 1)}
		p.report(diag.UnitCaret, span, "found ^ directly after a unit", "a power of a unit is written m2, a power of a quantity with blanks: 5 m ^ 2", replace(span, " ^ "))
	}
}

// slashAfter checks the blanks around a / after a unit that ends at end: with
// blanks on both sides it divides, without blanks it is part of the unit.
func (p *parser) slashAfter(end int) {
	at := p.skip(end)
	if p.at(at) != '/' || p.at(at+1) == '/' {
		return
	}
	after := p.skip(at + 1)
	left, right := at > end, after > at+1 || p.lineEnds(after)
	if left && right {
		return
	}
	span := source.Span{Start: int32(end), End: int32(after)}
	repairs := []diag.Repair{replace(span, " / ")}
	if p.unitStarts(after) {
		repairs = append(repairs, replace(span, "/"))
	}
	message := "there is a blank on one side only of the / after a unit"
	if !left && !right {
		message = "what follows the / directly after a unit is not a unit"
	}
	p.report(diag.UnitSlash, span, message, "with blanks on both sides the / divides, without it belongs to the unit", repairs...)
}
