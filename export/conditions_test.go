package export

import (
	"strings"
	"testing"
)

// shortCondition is how many characters a condition may have that a formula has
// twice.
const shortCondition = 12

// TestNoConditionTwice: no formula of a template's workbook tests a condition twice;
// of a column that repeats a formula the first two rows say everything.
func TestNoConditionTwice(t *testing.T) {
	conditions := 0
	for _, s := range samples(t) {
		if !strings.HasPrefix(s.name, "template-") {
			continue
		}
		data, _ := s.workbook(t)
		g := readGrid(t, data)
		for _, tab := range g.tabs() {
			known := map[string]int{} // by column and length: how many were read
			for _, ref := range g.places(tab) {
				f := g[tab][ref].formula
				key := strings.TrimRight(ref, "0123456789") + " " + conditionForm(f)
				if known[key]++; f == "" || known[key] > 2 {
					continue
				}
				seen := map[string]bool{}
				for _, c := range conditionsOf(f) {
					if conditions++; seen[c] && len(c) > shortCondition {
						t.Errorf("%s: %s!%s tests %s twice: %s", s.name, tab, ref, c, f)
					}
					seen[c] = true
				}
			}
		}
	}
	if conditions < 500 {
		t.Errorf("%d conditions", conditions)
	}
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
