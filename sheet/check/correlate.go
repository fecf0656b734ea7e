package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Correlation is the coefficient between the errors of two givens.
type Correlation struct {
	A, B        Uncertain
	Coefficient float64 // from -1 to 1
	File        int     // index in Model.Files

	decl *syntax.Correlate // while it is checked
}

// Uncertain is a given with a tolerance: a cell, or one row of a column.
type Uncertain struct {
	Cell   *Cell
	Column *Column
	Row    int // from 0
}

// Quantity returns the declaration of the given.
func (u Uncertain) Quantity() *Quantity {
	if u.Cell != nil {
		return &u.Cell.Quantity
	}
	return &u.Column.Quantity
}

// pair is two givens in a fixed order.
type pair struct{ a, b Uncertain }

// readCorrelations processes the correlate lines once the givens are known.
func (c *checker) readCorrelations() {
	index := map[pair]int{}
	var disputes []dispute
	for _, line := range c.merge.correlates {
		c.file = c.in.Files[line.file].Tree.File
		one, ok := c.correlation(line.decl)
		if !ok {
			continue
		}
		one.File = line.file
		at, twice := index[pair{one.A, one.B}]
		if !twice {
			at, twice = index[pair{one.B, one.A}]
		}
		if twice {
			if c.disputed(&c.m.Correlations[at], one) {
				disputes = append(disputes, dispute{at, one})
			}
			continue
		}
		index[pair{one.A, one.B}] = len(c.m.Correlations)
		c.m.Correlations = append(c.m.Correlations, one)
	}
	c.settleCorrelations(disputes)
	c.consistent()
}

// correlation reads one line.
func (c *checker) correlation(decl *syntax.Correlate) (one Correlation, ok bool) {
	if decl.B == nil || decl.Value == nil {
		return one, false // the parser has reported it
	}
	one.decl, one.Coefficient = decl, decl.Value.Value
	var okA, okB bool
	one.A, okA = c.uncertain(decl.A)
	one.B, okB = c.uncertain(decl.B)
	switch {
	case !okA || !okB:
		return one, false
	case one.A == one.B:
		c.fail(decl.B.Pos(), diag.CorrelateGiven, "a given is always correlated with itself")
		return one, false
	case decl.Value.Unit != nil || one.Coefficient < -1 || one.Coefficient > 1:
		c.fail(decl.Value.Span, diag.CorrelateValue, "a coefficient is a plain number from -1 to 1")
		return one, false
	}
	return one, true
}

// uncertain finds the given with a tolerance that e names.
func (c *checker) uncertain(e syntax.Expr) (u Uncertain, ok bool) {
	switch e := e.(type) {
	case *syntax.Ref:
		id, known := c.m.names.find(e.Name.Text)
		if !known || id < 0 {
			c.unresolved(&scope{}, e.Name)
			return u, false
		}
		u.Cell = c.m.Cells[id]
	case *syntax.Index:
		u.Column = c.findColumn(&scope{}, e.Column)
		if u.Column == nil {
			return u, false
		}
		if u.Column.Given {
			if u.Row, ok = c.entryRow(u.Column, e.Row); !ok {
				return u, false
			}
		}
	case *syntax.Column:
		c.fail(e.Pos(), diag.CorrelateGiven, "%s.%s is a whole column: name the row, as in %[1]s.%[2]s[1]", e.Table.Text, e.Name.Text)
		return u, false
	default:
		return u, false
	}
	return u, c.mayCorrelate(u, e)
}

// mayCorrelate reports why the errors of u cannot be correlated with others.
func (c *checker) mayCorrelate(u Uncertain, e syntax.Expr) bool {
	switch q := u.Quantity(); {
	case !q.Given:
		c.fail(e.Pos(), diag.CorrelateGiven, "%s is computed: its error follows from those of the givens", q.Name)
	case q.Tolerance == Exact:
		c.fail(e.Pos(), diag.CorrelateGiven, "%s is exact: give it ± or sd where it is declared", q.Name)
	default:
		return true
	}
	return false
}

// dispute is a second coefficient for two givens, beside that of a Correlation
// of the model.
type dispute struct {
	first int
	again Correlation
}

// disputed processes a second line on the same two givens, and reports whether
// it contradicts the first: a sheet's own line takes precedence over those of
// the sheets that it uses.
func (c *checker) disputed(first *Correlation, again Correlation) bool {
	switch {
	case again.File != first.File && again.Coefficient == first.Coefficient, c.above(first.File, again.File):
		return false
	case c.above(again.File, first.File):
		*first = again
		return false
	}
	return true
}

// settleCorrelations reports the disputes that no sheet above settles with a
// line of its own.
func (c *checker) settleCorrelations(disputes []dispute) {
	for _, d := range disputes {
		first, again := c.m.Correlations[d.first], d.again
		if c.above(first.File, again.File) {
			continue
		}
		c.failIn(c.in.Files[again.File].Tree.File, again.decl.Span, diag.CorrelateTwice, "these two givens have a coefficient already, %v", first.Coefficient).
			related(c.in.Files[first.File].Tree.File, first.decl.Span, "here")
	}
}

// above reports whether file a uses file b.
func (c *checker) above(a, b int) bool { return c.merge.reach[a] != nil && c.merge.reach[a][b] }

// consistent reports coefficients that contradict each other.
func (c *checker) consistent() {
	givens, matrix := c.m.CorrelationMatrix()
	if len(givens) > source.MaxCorrelated {
		last := c.m.Correlations[len(c.m.Correlations)-1]
		c.failIn(c.in.Files[last.File].Tree.File, last.decl.Span, diag.TooLarge, "more than %d givens are correlated", source.MaxCorrelated)
		return
	}
	if _, ok := kernel.Cholesky(matrix); !ok {
		last := c.m.Correlations[len(c.m.Correlations)-1]
		c.failIn(c.in.Files[last.File].Tree.File, last.decl.Value.Span, diag.CorrelateConflict,
			"the coefficients contradict each other: a combination of these givens has a negative variance").
			help("bring some of them nearer to 0")
	}
}

// CorrelationMatrix returns the correlated givens, in the order of their first
// mention, and their coefficients; both are empty if there are none.
func (m *Model) CorrelationMatrix() ([]Uncertain, [][]float64) {
	var givens []Uncertain
	index := map[Uncertain]int{}
	for _, one := range m.Correlations {
		for _, u := range [2]Uncertain{one.A, one.B} {
			if _, known := index[u]; !known {
				index[u] = len(givens)
				givens = append(givens, u)
			}
		}
	}
	if len(givens) > source.MaxCorrelated {
		return givens, nil
	}
	matrix := make([][]float64, len(givens))
	for i := range matrix {
		matrix[i] = make([]float64, len(givens))
		matrix[i][i] = 1
	}
	for _, one := range m.Correlations {
		i, j := index[one.A], index[one.B]
		matrix[i][j], matrix[j][i] = one.Coefficient, one.Coefficient
	}
	return givens, matrix
}
