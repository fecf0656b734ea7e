package check

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// HeadUnit compares the unit in the head of a file's column with the unit in
// which the sheet reads the column. If they differ, it returns the units that
// agree with the head, in the spelling of worksheets; nothing if they agree or
// the head names no known unit.
func (m *Model) HeadUnit(h Head, declared unit.Unit) []string {
	switch h.Spelled {
	case "":
		return m.unlistedHead(h, declared)
	case "1":
		if declared.Scale == 1 && declared.Measure.Dimensionless() {
			return nil
		}
		return []string{""}
	}
	have, err := m.Units.Parse(h.Spelled)
	switch {
	case err != nil && err.Code == unit.CodeAmbiguous:
		return m.ambiguousHead(err, declared)
	case err == nil && sameReading(h, have, declared):
		return nil
	}
	return []string{h.Spelled}
}

// unlistedHead is HeadUnit for a word that is not in the list of loggers'
// spellings: it may be a unit in the spelling of worksheets, a multiple of one,
// or the last word of the name. Other words are not units.
func (m *Model) unlistedHead(h Head, declared unit.Unit) []string {
	word := strings.ReplaceAll(h.Unit, "°", "deg")
	have, err := m.Units.Parse(word)
	switch {
	case h.Unit == "":
		return m.suffixUnit(h, declared)
	case err == nil && len(word) > 2:
		// A temperature in "deg" is on the scale that the sheet names.
		if sameReading(h, have, declared) || word == "deg" && declared.Offset != 0 {
			return nil
		}
		return []string{word}
	case m.isMultiple(word, declared):
		return []string{h.Unit}
	}
	return nil
}

// suffixUnit is HeadUnit for a head such as time_ms: its last word is the unit
// if it has the measure of the sheet's column.
func (m *Model) suffixUnit(h Head, declared unit.Unit) []string {
	if h.Suffix == "" {
		return nil
	}
	have, err := m.Units.Parse(h.Suffix)
	switch {
	case err != nil && err.Code == unit.CodeAmbiguous:
		return nil // the sheet selects one of several
	case err == nil && (have.Measure.Dim != declared.Measure.Dim || sameReading(h, have, declared)):
		return nil
	}
	return []string{h.Suffix}
}

// multiple matches a unit with a factor, as in "1000 rpm" and "rpm x1000".
var multiple = regexp.MustCompile(`^(?:[x×*]? ?(?:10+|0\.0*1) ?[x×*]? ?([^ 0-9]+)|([^ 0-9]+) ?[x×*/]? ?(?:10+|0\.0*1))$`)

// isMultiple reports whether a text is the declared unit with a factor.
func (m *Model) isMultiple(text string, declared unit.Unit) bool {
	parts := multiple.FindStringSubmatch(text)
	if parts == nil {
		return false
	}
	u, err := m.Units.Parse(strings.TrimRight(parts[1]+parts[2], "x×*/"))
	return err == nil && u.Measure.Dim == declared.Measure.Dim && sameScale(u.Scale, declared.Scale)
}

// ToRead writes the line with which a sheet reads the column of a head, under
// the name of its cell, in one of the units that HeadUnit offers.
func (m *Model) ToRead(name, head, offer string) string {
	head = syntax.Quote(head)
	line := strings.TrimSpace(fmt.Sprintf("%s : from %s %s", name, head, offer))
	if _, err := m.Units.Parse(offer); offer == "" || err == nil {
		return "write " + line
	}
	return fmt.Sprintf("name the unit, as in  unit krpm = 1000 rpm  for thousands of revolutions a minute, and write it after %s : from %s", name, head)
}

// Says returns the unit that a head names, in the spelling of the file.
func (h Head) Says() string {
	if h.Unit == "" {
		return h.Suffix
	}
	return h.Unit
}

// ambiguousHead is HeadUnit for an ambiguous unit such as psi: any of its
// meanings agrees with the head.
func (m *Model) ambiguousHead(err *unit.ParseError, declared unit.Unit) []string {
	for _, text := range err.Repairs {
		if u, err := m.Units.Parse(text); err == nil && u.Measure.Dim == declared.Measure.Dim && sameScale(u.Scale, declared.Scale) {
			return nil
		}
	}
	return err.Repairs
}

// sameReading reports whether a number has the same value in the file's unit
// have and in the unit declared. A head that names a pressure or a temperature
// does not say whether it is a point or a difference, unless its unit does.
func sameReading(h Head, have, declared unit.Unit) bool {
	if have.Measure.Dim != declared.Measure.Dim || have.Measure.Counts != declared.Measure.Counts || !sameScale(have.Scale, declared.Scale) {
		return false
	}
	a, b := have.Measure.Kind, declared.Measure.Kind
	if a != b && (a == unit.ByVolume || a == unit.ByMass) {
		return false
	}
	if a == b || a == unit.Plain || b == unit.Plain {
		return have.Offset == declared.Offset
	}
	return a == unit.Absolute && b == unit.Relative && !saysAbsolute(h)
}

// saysAbsolute reports whether the head of a pressure marks it as absolute, by
// an a after its unit or in words.
func saysAbsolute(h Head) bool {
	word := strings.ToLower(strings.Trim(h.Unit, "[](){} "))
	if strings.HasSuffix(word, "(a)") || strings.HasSuffix(word, "a") && !strings.HasSuffix(word, "pa") || strings.HasSuffix(word, "paa") {
		return true
	}
	words := strings.FieldsFunc(strings.ToLower(h.Text), func(r rune) bool { return !unicode.IsLetter(r) })
	return slices.Contains(words, "abs") || slices.Contains(words, "absolute")
}

func sameScale(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(a) }
