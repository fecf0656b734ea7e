package export

import (
	"gearleaf/sheet/check"
)

// The words for the state of a condition; a limit's are those of the
// language.
const (
	kept    = "kept"
	broken  = "broken"
	advised = "advised"
	waiting = "waiting"
)

// printCheck makes the formula for the state of a condition as a word.
func (b *book) printCheck(c *checkPlan) {
	cond, table, word := c.condition()
	if table == nil {
		b.scalarCheck(c, cond, word)
		return
	}
	b.columnCheck(c, b.tables[table.Index], cond, word)
}

// condition returns the condition, the table in whose live rows it applies, and
// the word for a condition that is not kept.
func (c *checkPlan) condition() (check.NodeID, *check.Table, string) {
	switch {
	case c.limit != nil && c.limit.Advise:
		return c.limit.Cond, c.limit.Table, advised
	case c.limit != nil:
		return c.limit.Cond, c.limit.Table, broken
	case c.advice.Column != nil:
		return c.advice.Cond, c.advice.Column.Table, advised
	}
	return c.advice.Cond, nil, advised
}

func (b *book) scalarCheck(c *checkPlan, cond check.NodeID, word string) {
	p := b.printer(nil, false, c.subject(b.m))
	t := p.operation(cond)
	s := t
	if len(unmarked(t.text)) > longTerm || len(t.guards) > 0 {
		s = p.step(t, called(b.kept(c)))
	}
	c.state = stateText(s, quoteText(kept), word)
	c.why = p.failed
}

// stateText gives whole, or word, or waiting if the condition is a fault, which
// a text over any entry can make it, or a blank; whole is the formula for a condition that holds.
func stateText(s term, whole, word string) string {
	text := "IF(" + s.text + "," + whole + `,"` + word + `")`
	for _, g := range s.guards {
		text = "IF(" + blankTest(g) + `,"` + waiting + `",` + text + ")"
	}
	return "IFERROR(" + text + `,"` + waiting + `")`
}

// columnCheck tests a condition in every live row, in a column of steps; the
// first row that breaks it is named. A broken row takes precedence over one
// that waits, and no limit is kept if the table has not ended.
func (b *book) columnCheck(c *checkPlan, t *tablePlan, cond check.NodeID, word string) {
	p := b.printer(t, false, c.subject(b.m))
	s := p.operation(cond)
	if !s.perRow && t.t.Rows > 0 {
		b.sameInEveryRow(c, t, s, word)
		c.why = p.failed
		return
	}
	if len(unmarked(s.text)) > simpleTerm {
		s = p.step(s, called(b.kept(c))) // two short formulas are easier to read than a long one
	}
	text := `IF(` + s.text + `,"` + kept + `","` + word + `")`
	text = "IFERROR(" + guard(s.guards, text) + `,"` + waiting + `")`
	column := t.addStep(rowStep{what: b.kept(c) + ", state", text: text})
	list := t.stepRange(column)
	count := func(word string) string { return "COUNTIF(" + list + `,"` + word + `")>0` }
	otherwise := "IF(" + count(waiting) + `,"` + waiting + `","` + kept + `")`
	if t.rows != "" {
		otherwise = "IF(ISERROR(" + t.rows + `),"` + waiting + `",` + otherwise + ")"
	}
	c.state = "IF(" + count(word) + `,"` + word + `",` + otherwise + ")"
	c.place = ifState(word, `"row "&MATCH("`+word+`",`+list+",0)")
	c.why = p.failed
}

// sameInEveryRow tests a condition that is the same in every row once: it is
// broken in the first row or in none. Broken takes precedence over a table that
// does not end; without the scalars of its end no row has a value.
func (b *book) sameInEveryRow(c *checkPlan, t *tablePlan, s term, word string) {
	whole := quoteText(kept)
	if t.rows != "" {
		whole = "IF(ISERROR(" + t.rows + `),"` + waiting + `",` + whole + ")"
	}
	c.state = stateText(s, whole, word)
	if t.scalars != "" {
		c.state = "IF(ISERROR(" + t.scalars + `),"` + waiting + `",` + c.state + ")"
	}
	c.place = ifState(word, `"row 1"`)
}

// ifState is the formula for what is said beside a condition in a state.
func ifState(word, text string) string {
	return "IF($" + letters(valueColumn) + thisRow + `="` + word + `",` + text + `,"")`
}

// subject returns the name of the subject of a condition.
func (c *checkPlan) subject(m *check.Model) string {
	switch {
	case c.limit != nil:
		return stepTitle(c.limit.Text, longTitle/2)
	case c.advice.Column != nil:
		return c.advice.Column.Name
	}
	return c.advice.Cell.Name
}

// kept names the step with the verdict on a condition.
func (b *book) kept(c *checkPlan) string {
	about := ""
	switch {
	case c.limit != nil:
		about = c.limit.Text
	case c.advice.Column != nil:
		about = c.advice.Column.Name + ", " + c.advice.Text
	default:
		about = c.advice.Cell.Name + ", " + c.advice.Text
	}
	return "whether kept: " + cutRunes(about, 60)
}
