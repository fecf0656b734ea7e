package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// Log maps the columns of a logger's file, and names the table with which a
// logged pass is compared.
type Log struct {
	Origin   Origin
	Table    *Table
	Channels []Channel

	decl *syntax.Log // while it is checked
}

// Channel is one column of a logger's file.
type Channel struct {
	Name string
	Head string // of the column in the file
	Unit unit.Unit
	Type Type
	// Column is the column of the table that has the name, Cell the cell; both
	// are nil if the sheet has neither.
	Column *Column
	Cell   *Cell

	decl *syntax.Cell // while it is checked
}

// Channel returns the channel of that name, nil if there is none.
func (l *Log) Channel(name string) *Channel {
	for i := range l.Channels {
		if l.Channels[i].Name == name {
			return &l.Channels[i]
		}
	}
	return nil
}

func (c *checker) declareLog(file int, decl *syntax.Log) {
	c.m.Logs = append(c.m.Logs, &Log{Origin: *c.origin(file, &decl.Lead, nil), decl: decl})
}

// resolveLogs resolves the lines of logs, once every column has its type.
func (c *checker) resolveLogs() {
	for _, l := range c.m.Logs {
		c.work = work{file: c.m.Files[l.Origin.File].File}
		name := l.decl.Table
		if name.Text == "" {
			continue // the parser has reported it
		}
		if l.Table = c.findTable(name.Text); l.Table == nil || l.Table.Library {
			l.Table = nil
			c.noLogTable(name)
		}
		for _, decl := range l.decl.Columns {
			c.channel(l, decl)
		}
		if l.Table != nil && (l.Channel("time") == nil || c.columnOf(l.Table, "time") == nil) {
			c.fail(l.decl.Span, diag.LogForm, "a log and its table both need a column time, by which they are aligned").
				help(`write time : from "Time" s below log %s`, name.Text)
		}
	}
}

// noLogTable reports a table that does not exist.
func (c *checker) noLogTable(name syntax.Name) {
	r := c.fail(name.Span, diag.TableUnknown, "there is no table %q in this worksheet", name.Text)
	near := newSuggester(name.Text)
	for _, t := range c.m.Tables {
		if !t.Library {
			near.try(t.Name)
		}
	}
	if near.best != "" {
		r.help("did you mean %s?", near.best).repair(name.Span, near.best, "write %s", near.best)
	}
}

// channel reads one line of a log.
func (c *checker) channel(l *Log, decl *syntax.Cell) {
	ch := Channel{Name: decl.Name.Text, decl: decl, Unit: unit.Unit{Scale: 1}}
	switch first := l.Channel(ch.Name); {
	case first != nil:
		c.fail(decl.Name.Span, diag.NameDuplicate, "this log has a column %q already", ch.Name).
			related(c.file, first.decl.Name.Span, "the first %q", ch.Name)
		return
	case !decl.Given || decl.From == nil:
		c.fail(decl.Name.Span, diag.LogForm, "a line below log says which column of the file %s is", ch.Name).
			help(`write %s : from "head in the file" unit`, ch.Name)
		return
	}
	ch.Head = decl.From.Text
	if decl.FromUnit != nil {
		u, err := c.m.findUnit(decl.FromUnit.Text)
		if err != nil {
			c.place(badUnit(err, decl.FromUnit.Span))
			return
		}
		ch.Unit, ch.Type = c.m.units[u].Unit, c.m.Types[c.m.units[u].Type]
	}
	c.match(l, &ch)
	l.Channels = append(l.Channels, ch)
}

// match finds the cell or column with the name of ch, which must have the same
// measure.
func (c *checker) match(l *Log, ch *Channel) {
	var have Type
	if l.Table != nil {
		ch.Column = c.columnOf(l.Table, ch.Name)
	}
	id, known := c.m.names.find(ch.Name)
	switch {
	case ch.Column != nil:
		have = c.m.Types[c.subjects[c.columnSubject(ch.Column.Index)].typ]
	case known && id >= 0:
		ch.Cell = c.m.Cells[id]
		have = c.m.Types[c.subjects[id].typ]
	default:
		return
	}
	if have.Form != Number {
		ch.Column, ch.Cell = nil, nil
		return
	}
	if p := unit.Meets(have.Measure, ch.Type.Measure); p != "" {
		c.fail(ch.decl.From.Span, diag.LogColumn, "the sheet's %s is %s, the log's %s", ch.Name, c.m.Units.Describe(have.Measure), c.m.Units.Describe(ch.Type.Measure)).
			help("correct the unit after the head, or give the log's column another name")
	}
}
