package export

import (
	"math"
	"slices"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// A cell at fault shows a spreadsheet's code. While it is at fault, the
// possible causes are beside it in words: the computed values that it waits on,
// else the ways in which its own formula can fail.

// causes are the possible causes of a fault.
type causes struct {
	reads []*check.Cell // computed scalars
	ways  []string
	given []*check.Cell // scalars that are entered
	// columns are those read whose entries must be possible.
	columns []*check.Column
}

// causesOf finds the causes of faults in a formula, with the functions that it
// calls.
func (b *book) causesOf(id check.NodeID) causes {
	var c causes
	seen := map[*check.Instance]bool{}
	var look func(id check.NodeID)
	look = func(id check.NodeID) {
		b.walk(id, func(n *check.Node) {
			switch n.Op {
			case check.CellRef:
				cell := b.computing(b.m.Cells[n.Ref()])
				if b.cells[cell.Index].entered && !slices.Contains(c.given, cell) {
					c.given = append(c.given, cell)
				}
				if !cell.Given && !slices.Contains(c.reads, cell) {
					c.reads = append(c.reads, cell)
				}
			case check.Call:
				if inst := b.m.Instances[n.Ref()]; !seen[inst] {
					seen[inst] = true
					for _, step := range inst.Steps {
						look(step)
					}
					look(inst.Result)
				}
			case check.ColumnRef, check.PrevRef, check.NextRef:
				c.addColumn(b, b.m.Columns[n.Ref()])
			case check.Lookup:
				x, y, _ := b.m.LookupOf(n)
				c.addColumn(b, b.m.Columns[x])
				c.addColumn(b, b.m.Columns[y])
				c.addWay(b.wayToFail(n))
			case check.Aggregate:
				c.addColumn(b, b.m.Columns[n.Ref()])
				c.addWay(b.wayToFail(n))
			default:
				c.addWay(b.wayToFail(n))
			}
		})
	}
	look(id)
	return c
}

// addWay adds a way to fail, if it is one.
func (c *causes) addWay(way string) {
	if way != "" && !slices.Contains(c.ways, way) {
		c.ways = append(c.ways, way)
	}
}

// addColumn adds a column, if its entries must be possible.
func (c *causes) addColumn(b *book, column *check.Column) {
	if b.isEntered(column) && !slices.Contains(c.columns, column) {
		c.columns = append(c.columns, column)
	}
}

// wayToFail describes how an operation can fail, in a few words; empty if it
// cannot.
func (b *book) wayToFail(n *check.Node) string {
	constant := func(id check.NodeID) bool { return b.m.Node(id).Op == check.Const }
	switch n.Op {
	case check.Div:
		if !constant(n.B) {
			return "divides by zero"
		}
	case check.Pow:
		if x := b.m.Node(n.B); x.Op != check.Const || x.Num() < 0 || x.Num() != math.Trunc(x.Num()) {
			return "no such root"
		}
	case check.Lookup:
		x, _, form := b.m.LookupOf(n)
		if !form.Statistic() {
			return "outside " + b.m.Columns[x].Table.Name
		}
		return "too few in " + b.m.Columns[x].Table.Name
	case check.IndexAt:
		c := b.m.Columns[n.Ref()]
		if b.tables[c.Table.Index].entries[c] != "" {
			return "no such row of " + c.Table.Name + ", or " + c.Name + " is empty there"
		}
		return "no such row of " + c.Table.Name
	case check.Aggregate:
		return "a fault in " + b.m.Columns[n.Ref()].Table.Name
	case check.Intrinsic:
		switch name := b.m.Intrinsics[n.Ref()].Name; name {
		case "sqrt":
			return "no such root"
		case "ln", "log10":
			return "no such logarithm"
		case "asin", "acos":
			return "no such angle"
		case "mod", "gcd":
			return "no such " + name
		}
	}
	return ""
}

// any reports whether there is any.
func (c causes) any() bool { return len(c.reads)+len(c.ways)+len(c.columns)+len(c.given) > 0 }

// mostWaited is the largest number of values that a remark names.
const mostWaited = 3

// words describes the failure if no value that the formula reads is a fault.
func (c causes) words() string {
	switch len(c.ways) {
	case 0:
		return "too large, or no number"
	case 1:
		return c.ways[0]
	}
	return c.ways[0] + ", " + c.ways[1]
}

// causeText returns the formula of the cause of a fault in words.
func (b *book) causeText(c causes) string {
	text := quoteText(c.words())
	switch {
	case len(c.given) > mostWaited:
		text = "IF(" + b.missing + `="",` + text + "," + b.missing + ")"
	default:
		for _, given := range slices.Backward(c.given) {
			text = "IF(ISERROR(" + b.scalarRef(given) + ")," + quoteText(given.Name+impossibleWords) + "," + text + ")"
		}
	}
	for _, column := range slices.Backward(c.columns) {
		text = "IF(" + b.notPossible(column) + "," + quoteText(column.Table.Name+"."+column.Name+impossibleWords) + "," + text + ")"
	}
	for _, read := range slices.Backward(c.reads[:min(len(c.reads), mostWaited)]) {
		text = "IF(ISERROR(" + b.cells[read.Index].name + ")," + quoteText("waits on "+read.Name) + "," + text + ")"
	}
	return text
}

// causeNow returns the cause of the present fault in words.
func (b *book) causeNow(c causes) string {
	for _, read := range c.reads[:min(len(c.reads), mostWaited)] {
		if b.r.Cell(read).IsFault() {
			return "waits on " + read.Name
		}
	}
	return c.words()
}

// faultRemark returns the cell beside a computed scalar with the cause of its
// fault; written is the cause when the workbook is written. ok is false if the
// value cannot be at fault.
func (wb *workbook) faultRemark(c *check.Cell, row int, v sheet.Value, written string) (remark excelize.Cell, ok bool) {
	plan := &wb.cells[c.Index]
	if wb.direct || plan.formula == "" || plan.why != "" {
		return remark, false
	}
	found := wb.causesOf(c.Formula)
	if !found.any() {
		return remark, false
	}
	now := ""
	if v.IsFault() {
		now = wb.causeNow(found) + written
	}
	wb.report.Formulas++
	return excelize.Cell{
		Formula: "IF(ISERROR(" + at(valueColumn, row) + ")," + wb.causeText(found) + "&" + at(causeColumn, row) + `,"")`,
		Value:   cachedValue{kind: 's', text: now}, StyleID: wb.styles.of(lineLook, "", false),
	}, true
}

// causeColumn is a hidden column with the causes of the faults that a workbook
// was written with: the formulas that show them do not depend on values.
const causeColumn = lastFrontColumn + 1
