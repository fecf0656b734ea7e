package export

import (
	"strings"
	"testing"
)

// shortCondition is the greatest length of a condition that a formula may repeat.
const shortCondition = 12

// conditionsOnce checks that no formula of a workbook tests a condition twice, and
// returns how many conditions were read; of a column that repeats a formula the
// first two rows are enough.
func conditionsOnce(t *testing.T, name string, g grid) (conditions int) {
	t.Helper()
	for _, tab := range g.tabs() {
		known := map[string]int{} // by column and form: how many were read
		for _, ref := range g.places(tab) {
			f := g[tab][ref].formula
			if f == "" {
				continue
			}
			key := strings.TrimRight(ref, "0123456789") + " " + conditionForm(f)
			if known[key]++; known[key] > 2 {
				continue
			}
			seen := map[string]bool{}
			for _, c := range conditionsOf(f) {
				if conditions++; seen[c] && len(c) > shortCondition {
					t.Errorf("%s: %s!%s tests %s twice: %s", name, tab, ref, c, f)
				}
				seen[c] = true
			}
		}
	}
	return conditions
}

// conditionForm returns a formula without its digits.
func conditionForm(formula string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return -1
		}
		return r
	}, formula)
}

// conditionsOf returns the first arguments of all IF of a formula.
func conditionsOf(formula string) []string {
	var all []string
	for i := 0; i < len(formula); i++ {
		switch c := formula[i]; {
		case c == '"' || c == '\'':
			i += quotedLength(formula[i:], c) - 1
		case strings.HasPrefix(formula[i:], "IF(") && (i == 0 || !isWord(rune(formula[i-1]))):
			all = append(all, argument(formula[i+len("IF("):]))
		}
	}
	return all
}
