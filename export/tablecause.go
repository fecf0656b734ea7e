package export

import (
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// A table with a fault says so where the sheet lists it and above its rows: the
// first row at fault, the column there that is the first at fault, and what may be
// wrong, in the words that a scalar has beside it. Steps find them: one of the
// whole table has the place as a number, row and column; each column has one with
// its words, as they are while the table is at fault.

const (
	faultPlaces = 1000 // more than the columns of any table and those before them
	noFault     = "1E9"
)

// planCause adds these steps, if an entry of the table can be a fault.
func (b *book) planCause(t *tablePlan) {
	if b.direct || t.t.Library || len(t.t.Columns) >= faultPlaces/2 || !b.canFail(t) {
		return
	}
	first, last := t.column(0), t.column(len(t.t.Columns)-1)
	block := t.ref("$" + letters(first) + "$" + t.rowText(0) + ":$" + letters(last) + "$" + t.rowText(t.t.Rows-1))
	places := strconv.Itoa(faultPlaces)
	key := b.scalarStep(scalarStep{
		what: "first fault of " + t.t.Name, title: t.t.Name + " first fault", array: true,
		text: "MIN(IF(ISERROR(" + block + "),(ROW(" + block + ")-" + t.rowText(-1) + ")*" + places + "+COLUMN(" + block + ")," + noFault + "))",
	})
	words := len(b.steps)
	for _, c := range t.t.Columns {
		// One below the other, whatever other steps hold.
		b.steps = append(b.steps, scalarStep{what: "cause of a fault in " + t.t.Name + "." + c.Name, text: b.columnCause(c)})
	}
	list := tabMark + b.stepsTab + "!" + tabMark + fixed(stepsColumn, stepsHead+words+1) + ":" + fixed(stepsColumn, stepsHead+len(b.steps)+1)
	text := `"row "&INT(` + key + "/" + places + `)&", "&INDEX(` + list + ",MOD(" + key + "," + places + ")-" + strconv.Itoa(first-1) + ")"
	none := `""`
	if t.rows != "" {
		none = "IF(ISERROR(" + t.rows + ")," + quoteText(neverEnds) + `,"")`
	}
	t.cause = b.scalarStep(scalarStep{
		what: "where " + t.t.Name + " is at fault", title: t.t.Name + " fault",
		text: "IF(" + key + "=" + noFault + "," + none + "," + text + ")",
	})
}

// neverEnds is the cause of the fault of a table whose until does not hold in any row.
const neverEnds = "no row ends it"

// canFail reports whether an entry of a table can be a fault.
func (b *book) canFail(t *tablePlan) bool {
	return t.t.Rows > 0 && (t.t.Until != 0 || slices.ContainsFunc(t.t.Columns, func(c *check.Column) bool {
		found := b.causesOfColumn(c)
		return found.any()
	}))
}

// causesOfColumn finds the causes of faults in a column, which can also be those of
// the condition that ends its table.
func (b *book) causesOfColumn(c *check.Column) causes {
	found := b.causesOf(c.Formula)
	found.add(b.causesOf(c.Start))
	if len(b.tables[c.Table.Index].raw) > 0 {
		found.add(b.causesOf(c.Table.Until))
	}
	return found
}

// add adds other causes.
func (c *causes) add(others causes) {
	for _, read := range others.reads {
		if !slices.Contains(c.reads, read) {
			c.reads = append(c.reads, read)
		}
	}
	for _, given := range others.given {
		if !slices.Contains(c.given, given) {
			c.given = append(c.given, given)
		}
	}
	for _, column := range others.columns {
		if !slices.Contains(c.columns, column) {
			c.columns = append(c.columns, column)
		}
	}
	for _, way := range others.ways {
		c.addWay(way)
	}
}

// columnCause returns the formula of the cause of a fault in a column.
func (b *book) columnCause(c *check.Column) string {
	if c.Given {
		return quoteText(c.Name + ": " + givenFault(c))
	}
	return quoteText(c.Name+": ") + "&" + b.causeText(b.causesOfColumn(c))
}

// givenFault returns the cause of a fault in a given column.
func givenFault(c *check.Column) string {
	if c.Table.From != "" {
		return "its file was not read"
	}
	return "an error was entered"
}

// tableCause returns where a table is at fault, and what may be wrong there.
func (wb *workbook) tableCause(t *tablePlan) string {
	live, ended := wb.r.Live(t.t)
	for row := range live {
		for _, c := range t.t.Columns {
			switch {
			case !wb.r.Entry(c, row).IsFault():
			case c.Given:
				return "row " + strconv.Itoa(row+1) + ", " + c.Name + ": " + givenFault(c)
			default:
				return "row " + strconv.Itoa(row+1) + ", " + c.Name + ": " + wb.causeNow(wb.causesOfColumn(c))
			}
		}
	}
	if t.t.Until != 0 && !ended {
		return neverEnds
	}
	return ""
}

// withCause returns a cell with a text and, as long as the table is at fault,
// where and why.
func (wb *workbook) withCause(t *tablePlan, cell excelize.Cell) excelize.Cell {
	text, _ := cell.Value.(string)
	if t.cause == "" {
		return cell
	}
	says := strings.TrimPrefix(joined(text, "At fault: "), text)
	wb.report.Formulas++
	cell.Formula = place(quoteText(text)+"&IF("+t.cause+`="","",`+quoteText(says)+"&"+t.cause+")", "", 0)
	if now := wb.tableCause(t); now != "" {
		text += says + now
	}
	cell.Value = cachedValue{kind: 's', text: text}
	return cell
}
