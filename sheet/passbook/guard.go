package passbook

import (
	"strconv"
	"strings"
)

// guarded puts a quote sign before a text that a spreadsheet would interpret
// as a formula (OWASP ASVS 5, 1.2.10); numbers stay unchanged. A text that
// looks guarded already gets one more, so that unguarded returns the original.
func guarded(text string) string {
	if startsFormula(strings.TrimLeft(text, "'")) && !isNumber(text) {
		return "'" + text
	}
	return text
}

// unguarded returns the original text of guarded.
func unguarded(field string) string {
	if text, ok := strings.CutPrefix(field, "'"); ok && startsFormula(strings.TrimLeft(text, "'")) {
		return text
	}
	return field
}

func startsFormula(text string) bool {
	return text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0]))
}

// isNumber accepts a decimal point or comma.
func isNumber(text string) bool {
	if strings.Trim(text, "+-.,0123456789eE") != "" {
		return false
	}
	_, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	return err == nil
}

func each(fields []string, change func(string) string) []string {
	out := make([]string, len(fields))
	for i, f := range fields {
		out[i] = change(f)
	}
	return out
}
