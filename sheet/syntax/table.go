package syntax

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// table reads a table line and the lines below it that begin with a blank.
func (p *parser) table(start int32) Stmt {
	t := &Table{}
	p.next()
	t.Name = p.wantName("table")
	for p.tok.kind != tokEnd && !p.failed {
		p.tableClause(t)
	}
	p.finish(&t.Lead, start)
	headFailed := p.failed
	p.inTable = true
	for {
		indented, ok := p.line()
		if !ok || !indented {
			break
		}
		p.tableLine(t)
	}
	p.inTable = false
	t.Tail = p.tail()
	if headFailed && t.Rows == nil {
		t.Rows = &Number{Span: t.Name.Span, Value: 1} // to prevent further errors
	}
	return t
}

// wantName reads the name that follows word.
func (p *parser) wantName(word string) Name {
	if p.failed {
		return Name{Span: p.tok.span}
	}
	if p.tok.kind != tokName {
		p.fail(diag.NameMissing, p.tok.span, "found "+p.found()+" where the name of the "+word+" is expected", "")
		return Name{Span: p.tok.span}
	}
	n := p.cellName()
	p.next()
	return n
}

// tableClause reads `rows N`, `from "file.csv"`, `until condition` or a label.
func (p *parser) tableClause(t *Table) {
	word := p.tok
	twice := false
	switch {
	case word.kind == tokText:
		twice = t.Label != nil
		t.Label = p.optionalText()
		word.text = "a label"
	case word.word == wordRows:
		twice = t.Rows != nil
		p.next()
		t.Rows = p.rowCount()
	case word.word == wordFrom:
		twice = t.From != nil
		p.next()
		from := p.wantText("from")
		t.From = &from
	case word.word == wordUntil:
		twice = t.Until != nil
		p.next()
		t.Until = p.formula()
	default:
		p.unknownTableClause()
	}
	if twice {
		p.report(diag.ClauseTwice, word.span, word.text+" is twice in this line", "remove one of the two")
	}
}

func (p *parser) rowCount() *Number {
	if p.tok.kind == tokNumber && p.tok.unit == "" && p.tok.value == float64(int64(p.tok.value)) {
		n := p.number()
		p.commaInNumber()
		return n
	}
	p.fail(diag.TableForm, p.tok.span, "found "+p.found()+" where a whole number of rows is expected", "write rows 200")
	return nil
}

const tableHelp = `a table is written: table name, then rows 200, from "file.csv" or until condition, and last a "label"`

func (p *parser) unknownTableClause() {
	if right := nearest(p.tok.text, []string{"rows", "from", "until"}); right != "" && p.tok.kind == tokName {
		p.fail(diag.TableForm, p.tok.span, "found "+p.found()+" in a table line; did you mean "+right+"?", tableHelp, replace(p.tok.span, right))
		return
	}
	p.fail(diag.TableForm, p.tok.span, "found "+p.found()+" in a table line", tableHelp)
}

// tableLine reads one line of a table: a column or a row of its grid.
func (p *parser) tableLine(t *Table) {
	if p.text[p.pos] == '|' {
		p.gridLine(t)
		return
	}
	start := p.begin()
	if p.tok.kind == tokName && p.signAfter() {
		p.unfinished = false
		t.Columns = append(t.Columns, p.cell(start, inTable))
		return
	}
	if p.unfinished {
		p.failed = true // the formula above continues here, which has been reported
	}
	bare := len(t.Columns) == 0 && t.Grid == nil && t.From == nil
	if !p.failed && (!bare || !p.tabbedRows(true)) {
		p.noColumn()
	}
	var lost Lead
	p.wrong = true
	p.finish(&lost, start)
}

// noColumn reports a line of a table that is not a column.
func (p *parser) noColumn() {
	start, word := int(p.tok.span.Start), p.tok.kind == tokName
	statement := word && p.statementWordAt(start, p.pos)
	if word && !statement && (p.wordsForName() || p.signMissing()) {
		return
	}
	var repairs []diag.Repair
	if statement {
		line := p.file.Line(p.file.LineOf(p.tok.span.Start))
		repairs = append(repairs, replace(source.Span{Start: line.Start, End: p.tok.span.Start}, ""))
	}
	p.fail(diag.TableLine, p.tok.span, "found "+p.found()+" where a column of the table should begin",
		"a column is written name : values or name = formula; what does not belong to the table begins at the margin", repairs...)
}

// gridLine reads one row between bars.
func (p *parser) gridLine(t *Table) {
	start := p.pos
	p.ahead, p.wrong, p.failed = false, false, false
	above := p.above
	fields := p.splitRow()
	switch {
	case len(t.Columns) > 0:
		p.gridPlace(start, "write the rows between bars above the table's other columns")
	case t.Grid == nil:
		t.Grid = &Grid{Span: source.Span{Start: int32(start)}, Head: p.gridHead(fields)}
		t.Grid.Above = p.comments.list(above)
	default:
		p.gridRow(t.Grid, fields)
	}
	end := p.rowEnd()
	if t.Grid != nil && len(t.Columns) == 0 {
		t.Grid.Span.End = end
	}
	if p.wrong {
		p.sheet.broken = append(p.sheet.broken, source.Span{Start: int32(start), End: int32(p.pos)})
	}
	p.endGridLine(t, source.Span{Start: int32(start), End: end})
}

// rowEnd returns the end of the row that splitRow has read.
func (p *parser) rowEnd() int32 {
	end := p.pos
	for end > 0 && class[p.text[end-1]] == classBlank {
		end--
	}
	return int32(end)
}

// endGridLine attaches the comments around a row to it.
func (p *parser) endGridLine(t *Table, span source.Span) {
	r := p.takeRemarks()
	switch {
	case len(t.Columns) > 0 || t.Grid == nil:
	case len(t.Grid.Rows) == 0:
		t.Grid.Trailing = r.Trailing
	default:
		row := &t.Grid.Rows[len(t.Grid.Rows)-1]
		if row.Span.Start == span.Start {
			row.Span, row.Above, row.Trailing = span, r.Above, r.Trailing
		}
	}
}

func (p *parser) gridPlace(start int, message string) {
	span := source.Span{Start: int32(start), End: int32(start + 1)}
	p.report(diag.GridPlace, span, message, "move them up, below the table line")
}
