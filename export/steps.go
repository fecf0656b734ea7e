package export

import (
	"cmp"
	"strconv"
	"strings"

	"gearleaf/sheet/check"
)

// Steps are cells with a part of a formula: one that is used twice, that would
// make a formula too long, or that a look-up needs. Steps of scalars are on one
// tab, those of a table's rows beside the rows, in hidden columns.

// scalarStep is one cell of the tab of steps.
type scalarStep struct {
	what, text string
	title      string // from which its name is made, if not from what
	name       string // by which formulas refer to it; empty if by its place
	array      bool
	format     string      // number format
	of         *check.Cell // whose exact value it holds, if any
}

// rowStep is one column of a table's steps.
type rowStep struct {
	what, text string
	array      bool
	column     int
	name       string        // of the whole column, where formulas read it
	bare       bool          // not blank after the last live row
	early      bool          // the condition of until depends on it in the same row
	of         *check.Column // whose exact values it holds, if any
}

const (
	stepsHead   = 4 // rows above the first step
	stepsColumn = 2 // the column of the steps' values
)

// step puts a term into a step and returns a reference to it. The step holds
// the text unchanged; the factor to SI stays with the reference.
func (p *printer) step(t term, s stepLabel) term {
	if t.constant() {
		return t
	}
	k, c := 1.0, 0.0
	if t.signed && !t.under {
		k, c = t.k, t.c
	}
	settled := t.in(k, c)
	var ref string
	if t.perRow {
		step := rowStep{what: s.text(), text: settled.guarded(), early: p.early}
		ref = p.table.stepRef(p.table.addStep(step)) + thisRow
	} else {
		ref = p.b.labelled(settled.guarded(), s)
	}
	r := term{text: ref, bind: atom, signed: t.signed, k: k, c: c, risky: t.risky, perRow: t.perRow}
	r.whole = settled.whole && k == 1 && c == 0
	if len(t.guards) > 0 {
		r.guards = []string{ref}
	}
	return r
}

// scalar returns a reference to the step that holds text.
func (b *book) scalar(text, what string) string {
	return b.scalarStep(scalarStep{what: what, text: text})
}

// labelled returns a reference to the step that holds text.
func (b *book) labelled(text string, s stepLabel) string {
	return b.scalarStep(scalarStep{what: s.text(), title: s.title(), text: text})
}

func (b *book) scalarStep(s scalarStep) string {
	n := b.addScalar(s)
	if name := b.steps[n].name; name != "" {
		return name
	}
	return b.stepRef(n)
}

// stepRef returns a reference to a scalar's step by its place.
func (b *book) stepRef(n int) string {
	return tabMark + b.stepsTab + "!" + tabMark + fixed(stepsColumn, stepsHead+n+1)
}

// addScalar returns the step that holds a text, and adds it if there is none.
func (b *book) addScalar(s scalarStep) int {
	n, known := b.stepOf[s.text]
	if known {
		return n
	}
	if s.name == "" && !b.direct {
		s.name = b.names.defined(stepTitle(cmp.Or(s.title, s.what), longTitle))
	}
	n = len(b.steps)
	b.steps = append(b.steps, s)
	b.stepOf[s.text] = n
	return n
}

// stepPlace returns the place of a scalar's step.
func (b *book) stepPlace(n int) string {
	return b.stepsTab + "!" + fixed(stepsColumn, stepsHead+n+1)
}

// longTitle is the largest part of a step's content in its name, in characters.
const longTitle = 24

// stepLabel names the content of a step, and its subject.
type stepLabel struct{ what, of string }

// called is the label of a step without a subject.
func called(what string) stepLabel { return stepLabel{what: what} }

// part is the label of a part of the formula being printed.
func (p *printer) part() stepLabel { return p.its("part") }

// its is the label of something within the formula being printed.
func (p *printer) its(what string) stepLabel {
	if p.env != nil {
		return stepLabel{what, p.env.inst.Name}
	}
	return stepLabel{what, p.about}
}

func (s stepLabel) text() string {
	if s.of == "" {
		return s.what
	}
	return s.what + " of " + s.of
}

// title returns the text of the step's name: the content in full, the subject
// perhaps shortened.
func (s stepLabel) title() string {
	if s.of == "" {
		return s.what
	}
	return stepTitle(s.of, longTitle-5-len(s.what)) + " " + s.what
}

// stepTitle returns a name of at most long characters from a step's content.
func stepTitle(what string, long int) string {
	words := strings.FieldsFunc(legal(what), func(r rune) bool { return r == '_' })
	if len(words) == 0 {
		return "step"
	}
	words[0] = cut(words[0], longTitle)
	title := ""
	for _, w := range words {
		if title != "" && len(title)+len(w) > long {
			break
		}
		title += "_" + w
	}
	return cut(strings.TrimPrefix(title, "_"), max(long, len(words[0])))
}

func (t *tablePlan) stepRef(column int) string {
	return tabMark + t.stepsTab + "!" + tabMark + "$" + letters(column)
}

// numbers returns a reference, without its row, to the numbers of the rows: the
// first column of the table's tab, or the one before the steps of a short table.
func (t *tablePlan) numbers() string {
	if t.host != nil {
		return t.stepRef(t.stepsFirst - 1)
	}
	return t.ref("$A")
}

// stepRange returns the whole of a column of steps.
func (t *tablePlan) stepRange(column int) string {
	l := "$" + letters(column) + "$"
	return tabMark + t.stepsTab + "!" + tabMark + l + t.rowText(0) + ":" + l + t.rowText(t.t.Rows-1)
}

// namedSteps returns a name for the whole of a column of steps.
func (b *book) namedSteps(t *tablePlan, column int, name string) string {
	if b.direct {
		return t.stepRange(column)
	}
	for i := range t.steps {
		if s := &t.steps[i]; s.column == column {
			if s.name == "" {
				s.name = b.names.defined(name)
			}
			return s.name
		}
	}
	return t.stepRange(column)
}

// nextStep returns the column of the next step.
func (t *tablePlan) nextStep() int { return t.stepsFirst + len(t.steps) }

func (t *tablePlan) addStep(s rowStep) int {
	if n, known := t.stepOf[s.text]; known {
		t.steps[n].early = t.steps[n].early || s.early
		return t.steps[n].column
	}
	s.column = t.nextStep()
	t.stepOf[s.text] = len(t.steps)
	t.steps = append(t.steps, s)
	return s.column
}

// rowText returns the number of a row on the tab, row counted from 0.
func (t *tablePlan) rowText(row int) string { return strconv.Itoa(t.first + row) }

// ref returns a reference, without its row, to a column of the table's tab.
func (t *tablePlan) ref(column string) string {
	return tabMark + t.quoted + "!" + tabMark + column
}

// columnRef returns a reference, without its row, to the values of a column.
func (t *tablePlan) columnRef(c *check.Column) string {
	if t.entries[c] != "" {
		return t.stepRef(t.entryStep(c))
	}
	return t.plainRef(c)
}

// plainRef is columnRef, but refers to the cells of entries themselves.
func (t *tablePlan) plainRef(c *check.Column) string {
	if column, rounded := t.exact[c]; rounded {
		return t.stepRef(column)
	}
	return t.ref("$" + letters(t.columnOf(c)))
}

// whole returns the range of a column's values.
func (t *tablePlan) whole(c *check.Column) string {
	if column, rounded := t.exact[c]; rounded {
		return t.stepRange(column)
	}
	l := letters(t.columnOf(c))
	return t.ref("$" + l + "$" + t.rowText(0) + ":$" + l + "$" + t.rowText(t.t.Rows-1))
}

// columnOf returns the place of a column on the table's tab; the first one
// holds the rows' numbers.
func (t *tablePlan) columnOf(c *check.Column) int {
	for i, own := range t.t.Columns {
		if own == c {
			return t.column(i)
		}
	}
	return 0
}

// done is the column of steps that shows, row by row, whether the table ended
// in that row or before.
func (t *tablePlan) done() string { return t.stepRef(t.doneColumn) }

// live wraps a row's formula to be blank after the last live row. early says
// that the condition depends on the cell itself, so the formula must not refer
// to the row's own verdict.
func (t *tablePlan) live(text string, row int, early bool) string {
	switch {
	case t.t.Until == 0:
		return text
	case !early:
		return "IF(" + t.stepRef(t.afterColumn) + thisRow + `,"",` + text + ")"
	case row > 0:
		return "IF(" + t.done() + priorRow + `,"",` + text + ")"
	case t.scalars != "":
		return "IF(" + t.scalars + "," + text + ",NA())"
	}
	return text
}

// findEarly marks the columns of a row on which the condition of its table's until
// depends in that same row.
func (b *book) findEarly(t *tablePlan) {
	t.early = map[*check.Column]bool{}
	var mark func(id check.NodeID)
	mark = func(id check.NodeID) {
		b.walk(id, func(n *check.Node) {
			if n.Op != check.ColumnRef {
				return
			}
			if c := b.m.Columns[n.Ref()]; !t.early[c] {
				t.early[c] = true
				mark(c.Formula)
				mark(c.Start)
			}
		})
	}
	mark(t.t.Until)
}

// planRaw gives each column on which the condition of until depends a step that
// the condition reads. The column itself is a fault where the condition is one: all
// columns are then. Of a single column that is compared with scalars, it is so
// without a step.
func (b *book) planRaw(t *tablePlan) {
	t.raw = map[*check.Column]int{}
	if len(t.early) == 0 || len(t.early) == 1 && b.failsWithColumn(t.t.Until) {
		return
	}
	for _, c := range t.t.Columns {
		if t.early[c] && !c.Given {
			t.raw[c] = t.addStep(rowStep{what: c.Name + ", as until reads it", text: "raw " + c.Name, of: c, early: true})
		}
	}
}

// failsWithColumn reports whether a condition compares a column with a sum of
// scalars: it is a fault where the column is one, or in all rows.
func (b *book) failsWithColumn(id check.NodeID) bool {
	n := b.m.Node(id)
	if _, compares := comparison[n.Op]; !compares {
		return false
	}
	plain, columns := true, 0
	b.walk(id, func(below *check.Node) {
		switch below.Op {
		case check.ColumnRef:
			columns++
		case check.CellRef, check.Const, check.Add:
		default:
			plain = plain && below == n
		}
	})
	return plain && columns == 1 && (b.m.Node(n.A).Op == check.ColumnRef || b.m.Node(n.B).Op == check.ColumnRef)
}

// ahead returns a reference, without its row, to a column as the condition of
// until reads it, and what that depends on.
func (t *tablePlan) ahead(c *check.Column) string {
	if column, ok := t.raw[c]; ok {
		return t.stepRef(column)
	}
	return t.columnRef(c)
}

// rowTexts returns the formulas of a column in the first row and in the others.
func (t *tablePlan) rowTexts(c *check.Column, plan *columnPlan) (top, rest string) {
	if column, ok := t.raw[c]; ok {
		own := t.stepRef(column) + thisRow
		return t.live(own, 0, false), t.live(own, 1, false)
	}
	return t.live(plan.top, 0, t.early[c]), t.live(plan.rest, 1, t.early[c])
}

// untilScalars returns a test that is a fault if a scalar is on which the
// condition depends in every row: then no row of the table has values.
func (b *book) untilScalars(t *tablePlan) string {
	branches := false
	var names []string
	b.walk(t.t.Until, func(n *check.Node) {
		switch n.Op {
		case check.If, check.And, check.Or:
			branches = true
		case check.CellRef:
			if c := b.computing(b.m.Cells[n.Ref()]); !c.Given || b.cells[c.Index].entered && c.Type.Form != check.Truth {
				names = append(names, b.scalarRef(c))
			}
		}
	})
	if branches || len(names) == 0 {
		return ""
	}
	return b.scalar("COUNT("+strings.Join(names, ",")+")+0*SUM("+strings.Join(names, ",")+")>=0", "what ends "+t.t.Name)
}

// planUntil adds the column that ends a table, and the number of its live rows,
// which is a fault if it never ends.
func (b *book) planUntil(t *tablePlan) {
	if t.t.Until == 0 {
		return
	}
	t.doneColumn = t.addStep(rowStep{what: "whether the table has ended", text: "until", bare: true})
	b.findEarly(t)
	b.planRaw(t)
	p := b.printer(t, false, t.t.Name+" ends")
	p.early = true
	c := p.term(t.t.Until)
	t.until = c.text
	if len(c.guards) > 0 {
		// A blank continues.
		s := p.step(c, p.its("condition"))
		t.until = "IF(" + s.text + `="",FALSE,` + s.text + ")"
	}
	t.failed = p.failed
	t.scalars = b.untilScalars(t)
	t.afterColumn = t.addStep(rowStep{
		what: "whether a row is after the last live one", bare: true, text: "after",
	})
	done := t.stepRange(t.doneColumn)
	last := t.done() + "$" + t.rowText(t.t.Rows-1)
	t.rows = b.names.defined(t.t.Name + "_rows")
	b.addScalar(scalarStep{what: "live rows of " + t.t.Name, name: t.rows, text: "IF(" + last + ",COUNTIF(" + done + ",FALSE)+1,NA())"})
}

// untilText returns the formula of the done column in a row.
func (t *tablePlan) untilText(row int) string {
	if row == 0 {
		return t.until
	}
	return "IF(" + t.done() + priorRow + ",TRUE," + t.until + ")"
}

// afterText returns the formula of the column that shows whether a row is after
// the last live one: a fault if the row's own condition is one, because such a
// row has no values either.
func (t *tablePlan) afterText(row int) string {
	own := "IF(" + t.done() + thisRow + ",FALSE,FALSE)"
	if row == 0 {
		return own
	}
	return "IF(" + t.done() + priorRow + ",TRUE," + own + ")"
}

// place replaces a formula's marks for one row of one tab.
func place(text, tab string, row int) string {
	if !strings.ContainsAny(text, tabMark+thisRow+priorRow+laterRow) {
		return text
	}
	var b strings.Builder
	b.Grow(len(text) + 16)
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case tabMark[0]:
			end := i + 1 + strings.IndexByte(text[i+1:], tabMark[0])
			if name := text[i+1 : end]; name != tab+"!" {
				b.WriteString(name)
			}
			i = end
		case thisRow[0]:
			b.WriteString(strconv.Itoa(row))
		case priorRow[0]:
			b.WriteString(strconv.Itoa(row - 1))
		case laterRow[0]:
			b.WriteString(strconv.Itoa(row + 1))
		default:
			b.WriteByte(text[i])
		}
	}
	return b.String()
}

// unmarked returns the approximate text of a cell.
func unmarked(text string) string { return marks.Replace(text) }

var marks = strings.NewReplacer(tabMark, "", thisRow, "9", priorRow, "9", laterRow, "9")
