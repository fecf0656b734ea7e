package unit

import (
	"strings"
	"unicode/utf8"
)

// maxRepairs bounds the repairs of one error, maxMended the bytes of a text for
// which repairs are searched.
const (
	maxRepairs = 4
	maxMended  = 100
)

// suggest adds to err the probable meanings of text.
func (s *System) suggest(err *ParseError, text string) {
	if len(text) > maxMended || !utf8.ValidString(text) {
		return
	}
	switch err.Code {
	case CodeKind:
		s.offer(err, s.mend(text, kindless))
		err.Help = "in a compound a degree is " + kindless[text[err.At:err.At+err.Len]] + asText(err.Repairs)
	case CodeUnknown, CodeSyntax:
		s.guess(err, text)
		if len(err.Repairs) > 0 {
			err.Help = "did you mean " + orList(err.Repairs) + "?"
		} else if word := text[err.At : err.At+err.Len]; err.Code == CodeUnknown && isName(word) {
			err.Help = "a unit of your own is declared at the top of the sheet: unit " + word
		}
	}
}

// guess offers, in this order, the meaning of the whole text as a foreign
// spelling, the candidates for its wrong word, and the text with valid signs.
func (s *System) guess(err *ParseError, text string) {
	if text == "T" {
		s.offer(err, "teeth") // as in the sizes of sprockets; a tonne is t
	}
	for _, meant := range spellings[strings.ToLower(text)] {
		s.offer(err, meant)
	}
	if len(err.Repairs) > 0 && text != "T" {
		return
	}
	word := text[err.At : err.At+err.Len]
	if err.Code == CodeUnknown {
		for _, meant := range s.candidates(word) {
			if len(word) < len(text) {
				meant = bracketed(meant)
			}
			s.offer(err, s.mend(text[:err.At]+meant+text[err.At+err.Len:], nil))
		}
	} else if symbol := strings.TrimLeft(word, "0123456789"); symbol != word && (symbol != "" || word == "1") {
		// A number that can be left out: 5m, m1.
		s.offer(err, text[:err.At]+symbol+text[err.At+err.Len:])
	}
	if len(err.Repairs) == 0 {
		s.offer(err, s.mend(respell(text), nil))
	}
}

// kindless maps a unit of a point on a scale to the unit used in compounds.
var kindless = map[string]string{"degC": "K", "degF": "degR"}

// asText returns ": J/(kg.K)" for the first of repairs.
func asText(repairs []string) string {
	if len(repairs) == 0 {
		return ""
	}
	return ": " + repairs[0]
}

// orList joins words as in "a, b or c".
func orList(words []string) string {
	last := len(words) - 1
	if last == 0 {
		return words[0]
	}
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// offer adds text to the repairs of err if it is a unit; for an ambiguous
// symbol it adds the meanings.
func (s *System) offer(err *ParseError, text string) {
	if row, ok := known[text]; ok && row.Asks != nil && !s.reads(text) {
		for _, answer := range row.Asks {
			s.offer(err, answer)
		}
		return
	}
	if len(err.Repairs) == maxRepairs || !s.reads(text) {
		return
	}
	for _, repair := range err.Repairs {
		if repair == text {
			return
		}
	}
	err.Repairs = append(err.Repairs, text)
}

// mend replaces each word of text that is not a unit by its entry in replace or
// its first candidate.
func (s *System) mend(text string, replace map[string]string) string {
	var b strings.Builder
	for i := 0; i < len(text); {
		start := i
		for i < len(text) && isWord(text[i]) {
			i++
		}
		if start == i {
			b.WriteByte(text[i])
			i++
			continue
		}
		word, digits := text[start:i], ""
		if _, ok := replace[word]; !ok && s.knows(word) {
			b.WriteString(word)
			continue
		}
		if stem := strings.TrimRight(word, "0123456789"); stem != "" {
			word, digits = stem, word[len(stem):]
		}
		b.WriteString(s.mended(word, replace) + digits)
	}
	return b.String()
}

// mended returns the replacement that mend uses for word.
func (s *System) mended(word string, replace map[string]string) string {
	if meant, ok := replace[word]; ok {
		return meant
	}
	if s.knows(word) {
		return word
	}
	if meant := s.candidates(word); len(meant) > 0 {
		return bracketed(meant[0])
	}
	return word
}

// bracketed puts brackets around a compound.
func bracketed(text string) string {
	if strings.ContainsAny(text, "/.") {
		return "(" + text + ")"
	}
	return text
}

// knows reports whether word is a symbol.
func (s *System) knows(word string) bool {
	_, declared := s.own[word]
	_, listed := known[word]
	return declared || listed
}

// respell writes text, which is not a unit, with valid signs: lb/hp-h becomes
// lb/(hp.h), kg.m-3 becomes kg/m3.
func respell(text string) string {
	text = signs.Replace(text)
	if over, under, ok := negativePowers(text); ok {
		return quotient(over, under)
	}
	text = strings.ReplaceAll(text, "-", ".")
	before, after, _ := strings.Cut(text, "/")
	if strings.Contains(after, ".") && !strings.ContainsAny(after, "/()") {
		return before + "/(" + after + ")"
	}
	return text
}

// negativePowers splits a product such as kg.m-3 into the factors above and
// below the line; it returns false when text is not such a product.
func negativePowers(text string) (over, under []string, ok bool) {
	if strings.ContainsAny(text, "/()") {
		return nil, nil, false
	}
	for _, word := range strings.Split(text, ".") {
		symbol, power, negative := strings.Cut(word, "-")
		switch {
		case !negative:
			over = append(over, word)
		case power == "" || strings.Trim(power, "0123456789") != "":
			return nil, nil, false
		case power == "1":
			under = append(under, symbol)
		default:
			under = append(under, symbol+power)
		}
	}
	return over, under, len(under) > 0
}

// candidates returns the likely meanings of word, which is not a symbol, the
// best first: a known spelling, the same letters in other case, a symbol with
// one letter different.
func (s *System) candidates(word string) []string {
	lower := strings.ToLower(word)
	if meant, ok := spellings[lower]; ok {
		return meant
	}
	var same, near []string
	limit := slips(word)
	consider := func(symbol string, money bool) {
		switch {
		case strings.EqualFold(symbol, word):
			same = append(same, symbol)
		case limit > 0 && (!money || word != lower) && distance(word, symbol, limit) <= limit:
			near = append(near, symbol)
		}
	}
	for i := range catalogue {
		row := &catalogue[i]
		consider(row.Symbol, row.Subject == "money")
		for _, alias := range row.Aliases {
			consider(alias, false)
		}
	}
	for _, name := range s.declared() {
		consider(name, false)
	}
	if len(same) > 0 {
		return same
	}
	return near
}

// slips returns the number of letters of word that may be wrong.
func slips(word string) int {
	switch n := len(word); {
	case n < 3:
		return 0
	case n < 6:
		return 1
	}
	return 2
}

// distance counts the letters to change, drop, add or swap between a and b;
// beyond limit it returns a number above limit.
func distance(a, b string, limit int) int {
	if len(a)-len(b) > limit || len(b)-len(a) > limit || len(a) > 32 {
		return limit + 1
	}
	var rows [3][36]int
	before, last, row := &rows[0], &rows[1], &rows[2]
	for j := 0; j <= len(b); j++ {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j-1]+cost, last[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
