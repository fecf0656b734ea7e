package syntax

import "gearleaf/sheet/diag"

// log reads `log table` and the lines below it, each of which names a column of
// a logger's file.
func (p *parser) log(start int32) Stmt {
	l := &Log{}
	p.next()
	l.Table = p.wantName("log")
	p.finish(&l.Lead, start)
	lines := &Table{}
	p.inTable = true
	for {
		indented, ok := p.line()
		if !ok || !indented {
			break
		}
		p.tableLine(lines)
	}
	p.inTable = false
	if lines.Grid != nil {
		p.report(diag.GridPlace, lines.Grid.Span, "write rows between bars below a table line", `below log, a line is written name : from "head in the file" unit`)
	}
	l.Columns, l.Tail = lines.Columns, p.tail()
	return l
}

// log makes the rows of a log.
func (p *printer) log(l *Log) {
	if !p.isBroken(l.Span.Start) {
		p.line(&l.Lead, 0, p.words(l.Span))
	}
	for _, c := range l.Columns {
		p.cell(c, blockIndent)
	}
}
