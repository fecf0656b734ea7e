package export

import (
	"strconv"
	"strings"

	"gearleaf/sheet/unit"
)

// A formula on a tab that people read has no long number: the product of
// published constants and of conversions between units is a step with a name, such
// as lbf_in_N, unless the worksheet itself has the number.

// shortNumber is the largest number of significant digits that stay in a formula.
const shortNumber = 6

// nameFactors moves the long numbers of the formulas on the tabs of lines to steps.
func (b *book) nameFactors() {
	if b.direct {
		return // a reference to another tab is longer than a number
	}
	conversions := b.conversions()
	for _, c := range b.m.Cells {
		p := &b.cells[c.Index]
		p.formula = b.namedFactors(p.formula, c.Name, conversions)
	}
	for _, t := range b.tables {
		if t.host == nil {
			continue
		}
		for i, c := range t.t.Columns {
			_, exact := t.exact[c]
			if _, raw := t.raw[c]; exact || raw {
				continue // its formula is a step
			}
			p, about := &t.columns[i], t.t.Name+"."+c.Name
			p.top, p.rest = b.namedFactors(p.top, about, conversions), b.namedFactors(p.rest, about, conversions)
		}
	}
}

// namedFactors returns a formula with names in place of its long numbers.
func (b *book) namedFactors(formula, about string, conversions map[string]string) string {
	if !strings.ContainsAny(formula, "0123456789") || startsNumber(formula) && numberLength(formula) == len(formula) {
		return formula
	}
	var out strings.Builder
	for s := formula; s != ""; {
		n := tokenLength(s)
		if text := s[:n]; startsNumber(text) && significantDigits(text) > shortNumber && !b.typedInSheet(text) {
			out.WriteString(b.factor(text, about, conversions))
		} else {
			out.WriteString(text)
		}
		s = s[n:]
	}
	return out.String()
}

// factor returns a reference to the step that holds a number.
func (b *book) factor(text, about string, conversions map[string]string) string {
	v, _ := strconv.ParseFloat(text, 64)
	if title := conversions[conversionKey(v)]; title != "" {
		return b.scalarStep(scalarStep{what: strings.ReplaceAll(title, "_", " "), title: title, text: text})
	}
	return b.scalarStep(scalarStep{what: "constants and units in " + about, title: "constant_" + literal(unit.Significant(v, 5)), text: text})
}

func startsNumber(s string) bool { return s[0] >= '0' && s[0] <= '9' || s[0] == '.' }

// tokenLength returns the length of the number, the word, the quoted text or the
// sign with which a formula begins.
func tokenLength(s string) int {
	switch c := s[0]; {
	case c == '"' || c == '\'':
		return quotedLength(s, c)
	case startsNumber(s):
		return numberLength(s)
	case isWord(rune(c)):
		return wordLength(s)
	}
	return 1
}

func significantDigits(number string) int {
	mantissa, _, _ := strings.Cut(number, "E")
	whole, fraction, _ := strings.Cut(mantissa, ".")
	if fraction == "" {
		whole = strings.TrimRight(whole, "0")
	}
	return len(strings.TrimLeft(whole+fraction, "0"))
}

// typedInSheet reports whether the worksheet itself has a number.
func (b *book) typedInSheet(number string) bool {
	for _, f := range b.m.Files {
		if strings.Contains(f.File.Text, number) {
			return true
		}
	}
	return false
}

// conversions returns the names of the conversions between the units of the
// worksheet, by their factors: of two the shorter name, or the first.
func (b *book) conversions() map[string]string {
	units := map[string]*unit.Unit{}
	for _, c := range b.m.Cells {
		units[c.Unit.Symbol] = &c.Unit
	}
	for _, c := range b.m.Columns {
		units[c.Unit.Symbol] = &c.Unit
	}
	names := map[string]string{}
	for from, u := range units {
		for to, v := range units {
			if from == "" || to == "" || u.Measure.Dim != v.Measure.Dim || strings.ContainsAny(from+to, "%1") {
				continue
			}
			key, name := conversionKey(u.Scale/v.Scale), from+"_in_"+to
			if old := names[key]; old == "" || len(name) < len(old) || len(name) == len(old) && name < old {
				names[key] = name
			}
		}
	}
	return names
}

// conversionKey is the same for two factors that differ by rounding.
func conversionKey(v float64) string { return strconv.FormatFloat(v, 'g', 13, 64) }
