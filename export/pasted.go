package export

import (
	"strconv"

	"gearleaf/sheet/check"
)

// A spreadsheet leaves texts and empty cells of a range out of a sum, a mean, an
// extreme and a regression, and a look-up reads an empty cell as 0. A text that a
// person pastes over a number of a given column, or a cell that is emptied, would so
// change a result in silence. A step for each such column holds nothing as long as
// its entries are possible, otherwise a fault; it is one more argument of these
// functions, which leave the nothing out and return the fault.

// pasted returns that step of a column, "" if nobody enters it, or if it may have
// blanks.
func (b *book) pasted(c *check.Column) string {
	t := b.tables[c.Table.Index]
	sound := b.allPossible(t, c)
	if sound == "" {
		return ""
	}
	kind := map[check.Form]string{check.Number: "numbers", check.Truth: "yes or no", check.Text: "texts"}[c.Type.Form]
	s := scalarStep{what: "nothing, if all of " + c.Table.Name + "." + c.Name + " are " + kind, text: "IF(" + sound + `,"",NA())`}
	if _, known := b.stepOf[s.text]; !known && !b.direct {
		s.name = b.names.defined(t.names[t.columnOf(c)] + "_" + legal(kind))
	}
	return b.scalarStep(s)
}

// allPossible returns the test that all entries of a column are possible. Of a table
// that ends those count which are in its live rows.
func (b *book) allPossible(t *tablePlan, c *check.Column) string {
	list := t.names[t.columnOf(c)]
	switch {
	case c.Given && !t.t.Library && c.Type.Form == check.Number && b.blank.columns[c.Index]:
		return "COUNTA(" + list + ")=COUNT(" + list + ")"
	case c.Given && !t.t.Library && c.Type.Form == check.Number:
		w := b.wholeColumn(c)
		return "COUNT(" + w.list + ")=" + w.n
	case !b.isEntered(c):
		return ""
	}
	return "NOT(" + b.notPossible(c) + ")"
}

// notPossible returns the test that an entry of a column that is entered is not
// possible.
func (b *book) notPossible(c *check.Column) string {
	t := b.tables[c.Table.Index]
	list, rows := t.names[t.columnOf(c)], strconv.Itoa(t.t.Rows)
	switch c.Type.Form {
	case check.Number:
		return "COUNT(" + list + ")<" + rows
	case check.Truth:
		return "COUNTIF(" + list + `,"yes")+COUNTIF(` + list + `,"no")<` + rows
	}
	return "COUNTBLANK(" + list + ")>0"
}

// entered returns the arguments of a function that reads all numbers of columns:
// the ranges, and the steps that find impossible entries in them.
func (b *book) entered(list string, columns ...*check.Column) string {
	for _, c := range columns {
		if step := b.pasted(c); step != "" {
			list += "," + step
		}
	}
	return list
}
