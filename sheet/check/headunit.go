package check

import (
	"math"
	"slices"
	"strings"
	"unicode"

	"gearleaf/sheet/unit"
)

// HeadUnit compares the unit in the head of a file's column with the unit in
// which the sheet reads the column. Where they differ, it returns the units
// that agree with the head, as a worksheet writes them; nothing where they
// agree or the head names no unit that is known.
func (m *Model) HeadUnit(h Head, declared unit.Unit) []string {
	switch h.Spelled {
	case "":
		return nil
	case "1":
		if declared.Scale == 1 && declared.Measure.Dimensionless() {
			return nil
		}
		return []string{""}
	}
	have, err := m.Units.Parse(h.Spelled)
	if err != nil {
		return m.ambiguousHead(err, declared)
	}
	if sameReading(h, have, declared) {
		return nil
	}
	return []string{h.Spelled}
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
	if a == b || a == unit.Plain || b == unit.Plain {
		return have.Offset == declared.Offset
	}
	return a == unit.Absolute && b == unit.Relative && !saysAbsolute(h)
}

// saysAbsolute reports whether the head of a pressure marks it as absolute: by
// an a after its unit, or in words.
func saysAbsolute(h Head) bool {
	word := strings.ToLower(strings.Trim(h.Unit, "[](){} "))
	if strings.HasSuffix(word, "(a)") || strings.HasSuffix(word, "a") && !strings.HasSuffix(word, "pa") || strings.HasSuffix(word, "paa") {
		return true
	}
	words := strings.FieldsFunc(strings.ToLower(h.Text), func(r rune) bool { return !unicode.IsLetter(r) })
	return slices.Contains(words, "abs") || slices.Contains(words, "absolute")
}

func sameScale(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(a) }
