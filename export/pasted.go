package export

import "gearleaf/sheet/check"

// A spreadsheet leaves texts and empty cells of a range out of a sum, a mean, an
// extreme and a regression. A text that a person pastes over a number of a given
// column would so change a result in silence. A step for each such column holds
// nothing as long as its entries are numbers, otherwise a fault; it is one more
// argument of these functions, which leave the nothing out and return the fault.

// pasted returns that step of a column, "" if nobody enters its numbers.
func (b *book) pasted(c *check.Column) string {
	if !c.Given || c.Type.Form != check.Number || c.Table.Library {
		return ""
	}
	w, t := b.wholeColumn(c), b.tables[c.Table.Index]
	sound := "COUNT(" + w.list + ")=" + w.n
	if b.blank.columns[c.Index] {
		list := t.names[t.columnOf(c)]
		sound = "COUNTA(" + list + ")=COUNT(" + list + ")"
	}
	s := scalarStep{what: "nothing, if all of " + c.Table.Name + "." + c.Name + " are numbers", text: "IF(" + sound + `,"",NA())`}
	if _, known := b.stepOf[s.text]; !known && !b.direct {
		s.name = b.names.defined(t.names[t.columnOf(c)] + "_numbers")
	}
	return b.scalarStep(s)
}

// entered returns the arguments of a function that reads all numbers of columns:
// the ranges, and the steps that find texts in them.
func (b *book) entered(list string, columns ...*check.Column) string {
	for _, c := range columns {
		if step := b.pasted(c); step != "" {
			list += "," + step
		}
	}
	return list
}
