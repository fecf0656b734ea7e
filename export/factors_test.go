package export

import (
	"strconv"
	"strings"
	"testing"
)

// TestNoLongNumbersInFormulas: a formula on a tab that people read has no number of
// more than six digits that the worksheet does not have: such numbers have names,
// and the names' steps hold them.
func TestNoLongNumbersInFormulas(t *testing.T) {
	named := 0
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		g, b := readGrid(t, data), newBook(s.s, s.r)
		for _, l := range b.leaves {
			for _, ref := range g.places(l.name) {
				formula := g[l.name][ref].formula
				if g[l.name][ref].hidden {
					continue
				}
				for _, number := range numbersIn(formula) {
					if significantDigits(number) > shortNumber && number != formula && !strings.Contains(s.s.Model.Files[0].File.Text, number) && !b.typedInSheet(number) {
						t.Errorf("%s: %s!%s has %s: %s", s.name, l.name, ref, number, formula)
					}
				}
			}
		}
		for _, step := range b.steps {
			if v, err := strconv.ParseFloat(step.text, 64); err == nil && significantDigits(step.text) > shortNumber {
				named++
				if step.name == "" && !b.direct {
					t.Errorf("%s: the step of %v has no name", s.name, v)
				}
			}
		}
	}
	if named < 200 {
		t.Errorf("only %d numbers have names", named)
	}
}

// TestFactorsSayWhatTheyAre: a conversion is named after its units, another factor
// after its value.
func TestFactorsSayWhatTheyAre(t *testing.T) {
	s := load(t, "factors", "p : 20 psig\na : 29 inHg\nx = a + p\ny = a * 1.2345 as kPa\nsame = p * 1.23456789\n")
	b := newBook(s.s, s.r)
	names := map[string]string{}
	for _, step := range b.steps {
		names[step.name] = step.text
	}
	for i, want := range []string{"a_+p_*psig_in_inHg", "a_*constant_4_1805", "p_*1.23456789"} {
		if got := b.cells[2+i].formula; got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
	if names["psig_in_inHg"] != "2.0360206773177927" || !strings.HasPrefix(names["constant_4_1805"], "4.180496776") {
		t.Errorf("the steps are %v", names)
	}
}
