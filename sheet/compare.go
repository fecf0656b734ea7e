package sheet

import (
	"fmt"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/source"
)

// Comparison compares two computed sheets.
type Comparison struct {
	A, B    *Result
	Givens  []ValuePair // that differ, or are given in one of them alone
	Results []ValuePair // computed values that differ
	Limits  []LimitPair
	// OnlyA and OnlyB are the values that the other sheet does not have, in
	// reading order; a column once, without its rows.
	OnlyA, OnlyB []Place
	// Same counts the values that are equal in both.
	Same int
}

// ValuePair is one value in both sheets. Its Place is that in A.
type ValuePair struct {
	Difference
	InB Place
	// Why says that the two measure different things, "relative pressure in A,
	// absolute pressure in B"; empty if they do not. Of such a column only the
	// first row is reported.
	Why string
}

// ShownInB is how B's value is shown: in A's unit if both measure the same.
func (p ValuePair) ShownInB() *check.Quantity {
	if p.Why != "" || p.Quantity().Type.Form != check.Number {
		return p.InB.Quantity()
	}
	return p.Quantity()
}

// LimitPair is a limit whose state differs between two sheets, or that only one
// of them has: the other is nil.
type LimitPair struct{ A, B *check.Limit }

// Limit returns the limit itself, from the sheet that has it.
func (p LimitPair) Limit() *check.Limit {
	if p.A != nil {
		return p.A
	}
	return p.B
}

// Compare computes a and b and returns their differences, in the reading order
// of a. Values are matched by name.
func Compare(a, b *Sheet) (*Comparison, error) {
	ra, err := a.Compute()
	if err != nil {
		return nil, err
	}
	rb, err := b.Compute()
	if err != nil {
		return nil, err
	}
	c := &Comparison{A: ra, B: rb}
	for _, p := range a.Names() {
		other, found := b.like(p)
		if !found {
			c.OnlyA = append(c.OnlyA, p)
			continue
		}
		if err := c.compare(p, other); err != nil {
			return nil, err
		}
	}
	for _, p := range b.Names() {
		if _, found := a.like(p); !found {
			c.OnlyB = append(c.OnlyB, p)
		}
	}
	c.limits()
	return c, nil
}

// like returns the scalar or column of s with the name of p, which is of
// another sheet.
func (s *Sheet) like(p Place) (Place, bool) {
	cell, column := s.Model.Resolve(p.Name())
	switch {
	case p.Cell != nil && cell != nil:
		return Place{Cell: cell}, true
	case p.Cell == nil && column != nil:
		return Place{Column: column, Row: Whole}, true
	}
	return Place{}, false
}

// compare adds a cell or a column that both sheets have. More differences than
// source.MaxMoved are an error.
func (c *Comparison) compare(a, b Place) error {
	if a.Row != Whole {
		c.value(a, b)
		return nil
	}
	rowsA, _ := c.A.Live(a.Column.Table)
	rowsB, _ := c.B.Live(b.Column.Table)
	rows := max(rowsA, rowsB)
	if c.why(a, b) != "" {
		rows = min(rows, 1)
	}
	for row := range rows {
		a.Row, b.Row = row, row
		c.value(a, b)
		if len(c.Givens)+len(c.Results) > source.MaxMoved {
			return fmt.Errorf("up to %s more than %d values differ: write both sheets as CSV (gearleaf export), and compare the files", a.Name(), source.MaxMoved)
		}
	}
	return nil
}

func (c *Comparison) value(a, b Place) {
	before, after := c.A.At(a), c.B.At(b)
	d := ValuePair{Difference: Difference{Place: a, Before: before, After: after, Moved: true}, InB: b, Why: c.why(a, b)}
	if d.Why == "" {
		d.Difference = differ(a, before, after)
	}
	qa, qb := a.Quantity(), b.Quantity()
	switch {
	case !d.Moved:
		c.Same++
	case qa.Given || qb.Given:
		c.Givens = append(c.Givens, d)
	default:
		c.Results = append(c.Results, d)
	}
}

// why describes what a and b measure if they differ in form, dimension, counts
// or kind.
func (c *Comparison) why(a, b Place) string {
	qa, qb := a.Quantity(), b.Quantity()
	if qa.Type.Form == qb.Type.Form && (qa.Type.Form != check.Number || qa.Type.Measure == qb.Type.Measure) {
		return ""
	}
	return c.A.Sheet.measureWords(qa) + " in A, " + c.B.Sheet.measureWords(qb) + " in B"
}

// measureWords describes what q measures.
func (s *Sheet) measureWords(q *check.Quantity) string {
	switch q.Type.Form {
	case check.Text:
		return "a text"
	case check.Truth:
		return "yes or no"
	}
	noun, _, _ := strings.Cut(s.Model.Units.Describe(q.Type.Measure), ", ")
	return noun
}

// limits pairs limits by their conditions.
func (c *Comparison) limits() {
	used := map[*check.Limit]bool{}
	for _, a := range c.A.Sheet.Model.Limits {
		pair := LimitPair{A: a}
		for _, b := range c.B.Sheet.Model.Limits {
			if b.Text == a.Text && b.Advise == a.Advise && !used[b] {
				pair.B = b
				used[b] = true
				break
			}
		}
		c.limit(pair)
	}
	for _, b := range c.B.Sheet.Model.Limits {
		if !used[b] {
			c.limit(LimitPair{B: b})
		}
	}
}

func (c *Comparison) limit(p LimitPair) {
	if p.A != nil && p.B != nil {
		a, _ := c.A.Limit(p.A)
		b, _ := c.B.Limit(p.B)
		if a == b {
			return
		}
	}
	c.Limits = append(c.Limits, p)
}
