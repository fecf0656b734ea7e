package export

import (
	"os"
	"strings"
	"testing"
)

// TestSignsAreTheLanguages: a difference keeps its sign where a verdict or a
// branch depends on it, in a program, too, that takes small differences for 0.
func TestSignsAreTheLanguages(t *testing.T) {
	text, err := os.ReadFile("testdata/signs.leaf")
	if err != nil {
		t.Fatal(err)
	}
	s := load(t, "signs", string(text))
	data, _ := s.workbook(t)
	all := formulas(readGrid(t, data))
	for _, want := range []string{"=MEDIAN(a+b,-d)*2\n", `IF(MEDIAN(a+b,-d)=0,"yes","no")`, `IF(left>0,"yes","no")`} {
		if !strings.Contains(all, want) {
			t.Errorf("no formula is %q in\n%s", want, all)
		}
	}
	if v := s.r.Cell(s.s.Model.Cells[6]); v.V != 0.5 {
		t.Errorf("the angle is %v turns", v.V)
	}
}
