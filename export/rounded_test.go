package export

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
)

// TestRoundedBeyondNames: a sheet with more scalars than a spreadsheet takes names
// shows rounded values too, and computes with the exact ones.
func TestRoundedBeyondNames(t *testing.T) {
	var text strings.Builder
	text.WriteString("x : 11234.56 rpm\nrounded = x * 1 to 10\nexact = rounded * 1 to 0.01\n")
	for i := range maxNames {
		fmt.Fprintf(&text, "g%d : %d\n", i, i)
	}
	s := load(t, "beyond", text.String())
	b := newBook(s.s, s.r)
	if !b.direct {
		t.Fatal("the formulas refer to names")
	}
	data, _ := s.write(t)
	g := readGrid(t, data)
	cell := func(i int) field {
		p := &b.cells[i]
		return g[p.leaf.name][at(valueColumn, p.row)]
	}
	if got := cell(1); got.value != "11230" || !strings.HasPrefix(got.formula, "ROUND(") {
		t.Errorf("the rounded value is %+v", got)
	}
	if v, err := strconv.ParseFloat(cell(2).value, 64); err != nil || !agree(v, 11234.56, 1e-12) {
		t.Errorf("a value computed from it is %+v", cell(2))
	}
	if got := cell(2).formula; !strings.Contains(got, "Steps!") {
		t.Errorf("it does not read the exact value: %s", got)
	}
}

// TestStepsSayWhatTheyHold: the name of a step begins with the quantity or the
// function that it is part of, and its label names it in full.
func TestStepsSayWhatTheyHold(t *testing.T) {
	parts := 0
	for _, s := range samples(t) {
		for _, step := range newBook(s.s, s.r).steps {
			if step.of != nil && step.of.Given {
				continue // it has the given's own name
			}
			if first, _, _ := strings.Cut(step.name, "_"); strings.TrimRight(first, "0123456789") == "part" || step.what == "" {
				t.Errorf("%s: a step of %q is called %q", s.name, step.what, step.name)
			}
			of, found := strings.CutPrefix(step.what, "part of ")
			if !found {
				continue
			}
			parts++
			word, _, _ := strings.Cut(step.name, "_")
			if !strings.HasPrefix(legal(of), word) || !strings.Contains(step.name, "part") {
				t.Errorf("%s: the step %q is called %q", s.name, step.what, step.name)
			}
		}
	}
	if parts < 100 {
		t.Errorf("only %d parts of formulas are steps", parts)
	}
}
