package export

import (
	"math"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// An empty cell counts as 0 in a spreadsheet, and a text that is none of a choice is
// compared as any other. Formulas therefore read a given from a step, which has the
// value of its cell as long as that is possible, and is a fault otherwise. These steps
// are the first ones, so that another can name the given that is at fault.

// planGivens adds the steps of all scalars that are entered.
func (b *book) planGivens() {
	var given []*check.Cell
	for _, c := range b.m.Cells {
		if b.cells[c.Index].row != 0 && b.needsValue(&c.Quantity, c.Value) && !c.Plugged {
			given = append(given, c)
			b.listLong(&c.Quantity)
		}
	}
	first := len(b.steps)
	for _, c := range given {
		p := &b.cells[c.Index]
		s := scalarStep{what: c.Name, text: b.possible(&c.Quantity, p.name), array: longChoice(&c.Quantity), of: c}
		if !b.direct || 2*len(given) <= maxNames { // beside the names of the cells
			s.name = b.names.defined(c.Name + "_")
		}
		p.entered, p.step = true, len(b.steps)
		b.steps = append(b.steps, s)
	}
	if len(given) > 0 {
		b.missing = b.addMissing(first, given)
	}
}

// impossibleWords are the cause of a fault, after the name of the given.
const impossibleWords = " is empty or not possible"

// addMissing adds the step that names the given at fault, "" if none is.
func (b *book) addMissing(first int, given []*check.Cell) string {
	list := func(column, n int) string {
		return tabMark + b.stepsTab + "!" + tabMark + fixed(column, stepsHead+first+1) + ":" + fixed(column, stepsHead+first+n)
	}
	values := list(stepsColumn, len(given))
	text := "IF(ISERROR(" + b.stepRef(first) + ")," + quoteText(given[0].Name+impossibleWords) + `,"")`
	if n := len(given); n > 1 {
		text = `IFERROR(INDEX(` + list(stepsColumn-1, n) + ",MATCH(1,IF(ISERROR(" + values + "),1,0),0))&" + quoteText(impossibleWords) + `,"")`
	}
	return b.scalarStep(scalarStep{what: "the first given that is at fault", title: "missing given", text: text, array: len(given) > 1})
}

// needsValue reports whether a given's cell must hold something: the worksheet has
// neither a blank nor an empty text there.
func (b *book) needsValue(q *check.Quantity, values ...float64) bool {
	if !q.Given {
		return false
	}
	for _, v := range values {
		if v != v || q.Type.Form == check.Text && b.m.Texts[int(v)] == "" {
			return false
		}
	}
	return true
}

// possible returns the formula of a given's value, ref being its cell: a fault if
// that holds nothing, or what a given of this kind cannot be.
func (b *book) possible(q *check.Quantity, ref string) string {
	var tests []string
	switch {
	case q.Type.Form == check.Truth:
		return truthOf(q, ref).text
	case q.Type.Form == check.Number:
		tests = append(tests, "ISNUMBER("+ref+")")
		if q.Whole && len(q.Choice) == 0 {
			tests = append(tests, "INT("+ref+")="+ref)
		}
	case len(q.Choice) == 0:
		return "IF(" + ref + `="",NA(),` + ref + ")"
	}
	if len(q.Choice) > 0 {
		tests = append(tests, b.isChoice(q, ref))
	}
	test := tests[0]
	if len(tests) > 1 {
		test = "AND(" + strings.Join(tests, ",") + ")"
	}
	return "IF(" + test + "," + ref + ",NA())"
}

// shortChoice is the largest number of choices that a formula names one by one.
const shortChoice = 5

// longChoice reports whether the items of a choice are in a list of steps.
func longChoice(q *check.Quantity) bool {
	return len(q.Choice) > shortChoice && q.Type.Form != check.Truth
}

// listLong adds that list.
func (b *book) listLong(q *check.Quantity) {
	if _, known := b.lists[q]; !known && longChoice(q) {
		b.lists[q] = b.listOf(q)
	}
}

// isChoice returns the test that a cell holds an item of a choice: a text with the
// same letters in upper and lower case, a number but for the rounding of its unit.
func (b *book) isChoice(q *check.Quantity, ref string) string {
	if longChoice(q) {
		return "OR(" + b.isItem(q, ref, b.lists[q]) + ")" // over the list, as its formula is
	}
	var items []string
	for _, v := range q.Choice {
		item := ""
		if q.Type.Form == check.Text {
			item = quoteText(b.m.Texts[int(v)])
		} else if item = literal(unit.Significant(cellUnit(q.Unit).Shown(v), 12)); item[0] == '-' {
			item = "(" + item + ")"
		}
		items = append(items, b.isItem(q, ref, item))
	}
	if len(items) == 1 {
		return items[0]
	}
	return "OR(" + strings.Join(items, ",") + ")"
}

// isItem returns the test that a cell holds one item of a choice.
func (b *book) isItem(q *check.Quantity, ref, item string) string {
	if q.Type.Form == check.Text {
		return "EXACT(" + ref + "," + item + ")"
	}
	largest := 0.0
	for _, v := range q.Choice {
		largest = max(largest, math.Abs(cellUnit(q.Unit).Shown(v)))
	}
	if q.Whole || largest == 0 {
		return "(" + ref + "=" + item + ")"
	}
	return "(ABS(" + ref + "-" + item + ")<" + literal(unit.Significant(largest*1e-9, 1)) + ")"
}

// planEntries finds the columns of a table whose entries must be possible values. A
// logical value is tested where it is read.
func (b *book) planEntries(t *tablePlan) {
	t.entries = map[*check.Column]string{}
	if t.t.Library {
		return // nobody enters them
	}
	for _, c := range t.t.Columns {
		if c.Type.Form != check.Truth && b.needsValue(&c.Quantity, c.Values...) {
			b.listLong(&c.Quantity)
			t.entries[c] = b.possible(&c.Quantity, t.ref("$"+letters(t.columnOf(c)))+thisRow)
		}
	}
}

// isEntered reports whether the entries of a column must be possible values.
func (b *book) isEntered(c *check.Column) bool {
	t := b.tables[c.Table.Index]
	truth := c.Given && c.Type.Form == check.Truth && !t.t.Library && !b.blank.columns[c.Index]
	return truth || t.entries[c] != ""
}

// entryStep returns the column of steps with the entries of a column that are
// possible; the others are faults there.
func (t *tablePlan) entryStep(c *check.Column) int {
	return t.addStep(rowStep{what: c.Name + ", as entered", text: t.entries[c], array: longChoice(&c.Quantity), bare: true})
}

// soundList returns the range of a column in which impossible entries are faults.
func (b *book) soundList(c *check.Column, w whole) string {
	if w.kept != "" || w.t.entries[c] == "" {
		return w.list
	}
	return b.namedSteps(w.t, w.t.entryStep(c), w.t.names[w.t.columnOf(c)]+"_")
}
