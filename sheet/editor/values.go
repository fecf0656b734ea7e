package editor

import (
	"fmt"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/syntax"
)

// Note is a value that is shown at the end of a line.
type Note struct {
	Offset  int32 // the end of the line
	Text    string
	Tooltip string
}

// The signs before a value: confirmed by both evaluators, computed by one so
// far, or the last value before an error.
const (
	signConfirmed   = "= "
	signUnconfirmed = "=? "
	signOld         = "was "
)

// Notes returns the values of the document's own lines.
func (d *Document) Notes() []Note {
	if d.Sheet() == nil {
		return nil
	}
	var out []Note
	d.with(func() { out = d.notes() })
	return out
}

func (d *Document) notes() []Note {
	var out []Note
	put := func(s syntax.Stmt, text, tip string) {
		if text != "" {
			line := d.File.Line(d.File.LineOf(s.Base().Span.End))
			out = append(out, Note{Offset: line.End, Text: text, Tooltip: tip})
		}
	}
	for item := range d.Sheet().Model.Outline() {
		if item.File != 0 {
			continue
		}
		switch {
		case item.Cell != nil:
			if decl := item.Cell.Decl(); decl != nil {
				text, tip := d.cellNote(item.Cell)
				put(decl, text, tip)
			}
		case item.Table != nil && !item.Table.Library:
			for _, c := range item.Table.Columns {
				if decl := c.Decl(); decl != nil && !syntax.InGrid(decl) && c.Origin.File == 0 {
					text, tip := d.columnNote(c)
					put(decl, text, tip)
				}
			}
		case item.Limit != nil:
			if decl := item.Limit.Decl(); decl != nil {
				text, tip := d.limitNote(item.Limit)
				put(decl, text, tip)
			}
		}
	}
	return out
}

// mark writes the sign of its state before a value.
func (d *Document) mark(text string) (string, string) {
	switch d.State() {
	case Withdrawn:
		return "withdrawn", d.Disagreement().Error()
	case Confirmed:
		return signConfirmed + text, "computed by both evaluators, which agree"
	}
	return signUnconfirmed + text, "computed by one evaluator; the second has not confirmed it yet"
}

// waits is shown in place of a value that is missing because of an error. The
// line of the error itself shows only the old value, because the error is shown
// there.
func (d *Document) waits(name string, p sheet.Place) (string, string, bool) {
	e := d.Sheet().Unsound(p)
	if e == nil {
		return "", "", false
	}
	old, known := d.old[name]
	if decl := p.Quantity().Decl(); decl != nil && e.File == d.File && d.File.LineOf(e.Span.Start) == d.File.LineOf(decl.Span.Start) {
		if known {
			return signOld + old, e.Message, true
		}
		return "", "", true
	}
	where := "an error"
	if e.File != nil {
		where = fmt.Sprintf("the error in line %d", e.File.Position(e.Span.Start).Line)
		if e.File != d.File {
			where += " of " + e.File.Name
		}
	}
	tip := "waits for " + where + ": " + e.Message
	if known {
		return signOld + old + ", waits for " + where, tip, true
	}
	return "waits for " + where, tip, true
}

func (d *Document) cellNote(c *check.Cell) (string, string) {
	if text, tip, waits := d.waits(c.Name, sheet.Place{Cell: c}); waits {
		return text, tip
	}
	if c.Given {
		return "", ""
	}
	v := d.result.Cell(c)
	switch {
	case v.IsFault():
		return d.faultNote(v.Fault())
	case v.IsBlank():
		return d.mark(blankText)
	}
	text, tip := d.mark(d.Sheet().Text(&c.Quantity, v.V))
	if c.Plugged {
		if from, _ := d.Sheet().Model.Resolve(c.Name); from != nil {
			text += " from " + d.Sheet().Model.Files[from.Origin.File].File.Name
		}
	}
	return text, tip
}

func (d *Document) faultNote(f *sheet.Fault) (string, string) {
	if d.State() == Withdrawn {
		return d.mark("")
	}
	text := "fault: " + f.Cause
	if f.WaitsOn != "" {
		text = "fault: waits for " + sheet.OriginOf(f) + ", " + f.Cause
	}
	return text, text
}

func (d *Document) columnNote(c *check.Column) (string, string) {
	name := c.Table.Name + "." + c.Name
	if text, tip, waits := d.waits(name, sheet.Place{Column: c, Row: sheet.Whole}); waits {
		return text, tip
	}
	if c.Given && c.Table.From == "" {
		return "", ""
	}
	if c.Table.Fault != "" {
		return "fault: " + c.Table.Fault, c.Table.Fault
	}
	live, _ := d.result.Live(c.Table)
	for row := range live {
		if v := d.result.Entry(c, row); v.IsFault() {
			text, tip := d.faultNote(v.Fault())
			return fmt.Sprintf("row %d: %s", row+1, text), tip
		}
	}
	text, ok := d.ends(c)
	if !ok {
		return d.mark("no rows")
	}
	text, tip := d.mark(text)
	return text, fmt.Sprintf("%d rows; %s", live, tip)
}

func (d *Document) limitNote(l *check.Limit) (string, string) {
	if e := d.Sheet().UnsoundLimit(l); e != nil && e.File != nil {
		text := fmt.Sprintf("waits for the error in line %d", e.File.Position(e.Span.Start).Line)
		return text, text + ": " + e.Message
	}
	state, row := d.result.Limit(l)
	word := state.String()
	if state == sheet.Broken {
		word = "BROKEN"
	}
	if d.State() == Withdrawn {
		return d.mark("")
	}
	if d.State() == Unconfirmed {
		word += "?"
	}
	if state == sheet.Waiting {
		if f := d.result.LimitFault(l); f != nil {
			return word + ": " + f.Cause, f.Cause
		}
		return word, "a value in it is blank"
	}
	if l.Table != nil && state == sheet.Kept {
		return word + " in every row", l.Message
	}
	if l.Table != nil {
		word += fmt.Sprintf(" in row %d", row+1)
	}
	return word + ": " + d.result.LimitNumbers(l, row), l.Message
}

// Lens is the text above a given about its dependents.
type Lens struct {
	Offset int32
	Name   string
}

// Lenses returns the givens of the document's own lines.
func (d *Document) Lenses() []Lens {
	if d.Sheet() == nil {
		return nil
	}
	var out []Lens
	for _, c := range d.Sheet().Model.Cells {
		if c.Origin.File != 0 || !c.Given || c.Plugged || d.Sheet().Unsound(sheet.Place{Cell: c}) != nil {
			continue
		}
		if decl := c.Decl(); decl != nil {
			out = append(out, Lens{Offset: decl.Name.Span.Start, Name: c.Name})
		}
	}
	return out
}

// Reaches describes the dependents of the given called name.
func (d *Document) Reaches(name string) string {
	if d.Sheet() == nil {
		return ""
	}
	c, _ := d.Sheet().Model.Resolve(name)
	if c == nil {
		return ""
	}
	return reaches(d.Sheet().Graph, d.Sheet().Graph.TaskOf(c))
}

// reaches describes the dependents of a task.
func reaches(g *graph.Graph, task int) string {
	cells, limits := 0, 0
	for _, t := range g.Reach([]int{task}) {
		if t == task {
			continue
		}
		switch one := g.Task(t); one.Kind {
		case graph.CellTask, graph.ColumnTask:
			cells++
		case graph.LoopTask:
			cells += len(one.Table.Loop)
		case graph.LimitTask:
			limits++
		}
	}
	if cells+limits == 0 {
		return "nothing depends on it"
	}
	parts := []string{}
	if cells > 0 {
		parts = append(parts, counted(cells, "cell"))
	}
	if limits > 0 {
		parts = append(parts, counted(limits, "limit"))
	}
	return "reaches " + strings.Join(parts, ", ")
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
