package editor

import (
	"path/filepath"
	"strings"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Entry is one entry of a document's outline.
type Entry struct {
	Name, Detail string
	Kind         EntryKind
	Span         source.Span // of all of it
	Selection    source.Span // of its name
	Children     []Entry
}

// EntryKind is the kind of an Entry.
type EntryKind uint8

// The kinds of entries.
const (
	SectionEntry EntryKind = iota
	GivenEntry
	ComputedEntry
	TableEntry
	ColumnEntry
	LimitEntry
	FunctionEntry
	UnitEntry
	UseEntry
	ChartEntry
)

// Outline returns the document by sections.
func (d *Document) Outline() []Entry {
	var out []Entry
	list := &out
	for i, s := range d.Tree.Stmts {
		span := extent(d.Tree, i)
		if section, ok := s.(*syntax.Section); ok {
			out = append(out, Entry{Name: named(section.Text.Text, "section"), Kind: SectionEntry, Span: source.Span{Start: span.Start, End: d.sectionEnd(i)}, Selection: span})
			list = &out[len(out)-1].Children
			continue
		}
		if e, ok := d.entry(s, span); ok {
			*list = append(*list, e)
		}
	}
	return out
}

// named returns text, or a word if it is empty: an entry needs a name.
func named(text, word string) string {
	if text == "" {
		return word
	}
	return text
}

// sectionEnd returns the end of the section of statement i.
func (d *Document) sectionEnd(i int) int32 {
	for j := i + 1; j < len(d.Tree.Stmts); j++ {
		if _, next := d.Tree.Stmts[j].(*syntax.Section); next {
			return extent(d.Tree, j-1).End
		}
	}
	return extent(d.Tree, len(d.Tree.Stmts)-1).End
}

func (d *Document) entry(s syntax.Stmt, span source.Span) (Entry, bool) {
	e := Entry{Span: span}
	switch s := s.(type) {
	case *syntax.Cell:
		return d.cellEntry(s, ComputedEntry), true
	case *syntax.Table:
		e.Kind, e.Name, e.Selection = TableEntry, named(s.Name.Text, "table"), s.Name.Span
		for _, c := range tableColumns(s) {
			e.Children = append(e.Children, d.columnEntry(s, c))
		}
	case *syntax.Limit:
		e.Kind, e.Name, e.Selection = LimitEntry, oneLine(d.File.Slice(s.Span)), s.Span
	case *syntax.Function:
		e.Kind, e.Name, e.Selection = FunctionEntry, named(s.Name.Text, "function"), s.Name.Span
	case *syntax.UnitDecl:
		e.Kind, e.Name, e.Selection = UnitEntry, named(s.Name.Text, "unit"), s.Name.Span
	case *syntax.Use:
		e.Kind, e.Name, e.Selection = UseEntry, named(s.Path.Text, "use"), s.Path.Span
	case *syntax.Chart:
		e.Kind, e.Name, e.Selection = ChartEntry, named(s.Title.Text, "chart"), s.Title.Span
	default:
		return e, false
	}
	if e.Selection.Start < span.Start || e.Selection.End > span.End {
		e.Selection = span
	}
	return e, true
}

func (d *Document) cellEntry(c *syntax.Cell, computed EntryKind) Entry {
	e := Entry{Kind: computed, Name: named(c.Name.Text, "cell"), Span: c.Span, Selection: c.Name.Span}
	if c.Column.Text != "" {
		e.Name += "." + c.Column.Text
	}
	if c.Given && computed == ComputedEntry {
		e.Kind = GivenEntry
	}
	if c.Label != nil {
		e.Detail = c.Label.Text
	}
	return e
}

// columnEntry is the entry of a column; between bars it is the head.
func (d *Document) columnEntry(t *syntax.Table, c *syntax.Cell) Entry {
	e := d.cellEntry(c, ColumnEntry)
	if syntax.InGrid(c) {
		e.Span, e.Selection = c.Name.Span, c.Name.Span
	}
	return e
}

// oneLine returns text with its blanks and line ends as single blanks.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// Fold is a range of lines that can be folded.
type Fold struct{ Start, End int }

// Folds returns the foldable ranges: sections, and statements with a block.
func (d *Document) Folds() []Fold {
	var out []Fold
	put := func(span source.Span) {
		if from, to := d.File.LineOf(span.Start), d.File.LineOf(max(span.Start, span.End-1)); to > from {
			out = append(out, Fold{from, to})
		}
	}
	for i, s := range d.Tree.Stmts {
		span := extent(d.Tree, i)
		if _, section := s.(*syntax.Section); section {
			put(source.Span{Start: span.Start, End: d.sectionEnd(i)})
			continue
		}
		put(span)
	}
	return out
}

// Selection returns the spans around an offset, each within the next: the
// word, the expressions around it, the line, the block, the section, all.
func (d *Document) Selection(offset int32) []source.Span {
	var out []source.Span
	put := func(s source.Span) {
		holds := s.Start <= offset && offset <= s.End
		grows := len(out) == 0 || s.Len() > out[len(out)-1].Len()
		if holds && grows {
			out = append(out, s)
		}
	}
	if o := d.at(offset); o != nil {
		put(o.Span)
	}
	i := stmtAt(d.Tree, offset)
	if i >= 0 {
		for _, s := range around(d.Tree.Stmts[i], offset) {
			put(s)
		}
		put(d.File.Line(d.File.LineOf(offset)))
		put(extent(d.Tree, i))
		for ; i >= 0; i-- {
			if _, section := d.Tree.Stmts[i].(*syntax.Section); section {
				put(source.Span{Start: d.Tree.Stmts[i].Base().Span.Start, End: d.sectionEnd(i)})
				break
			}
		}
	}
	put(source.Span{End: int32(len(d.File.Text))})
	return out
}

// around returns the expressions of a statement around an offset, the smallest
// first.
func around(s syntax.Stmt, offset int32) []source.Span {
	var out []source.Span
	for _, e := range expressions(s) {
		syntax.Walk(e, func(e syntax.Expr) bool {
			span := e.Pos()
			if span.Start <= offset && offset <= span.End {
				out = append([]source.Span{span}, out...)
			}
			return true
		})
	}
	return out
}

// expressions returns the formulas of a statement.
func expressions(s syntax.Stmt) []syntax.Expr {
	var out []syntax.Expr
	cell := func(c *syntax.Cell) {
		for _, e := range append([]syntax.Expr{c.Formula, c.Start}, c.Values...) {
			if e != nil {
				out = append(out, e)
			}
		}
	}
	switch s := s.(type) {
	case *syntax.Cell:
		cell(s)
	case *syntax.Table:
		for _, c := range s.Columns {
			cell(c)
		}
		if s.Until != nil {
			out = append(out, s.Until)
		}
	case *syntax.Limit:
		if s.Cond != nil {
			out = append(out, s.Cond)
		}
	case *syntax.Function:
		for _, c := range s.Steps {
			cell(c)
		}
		if s.Body != nil {
			out = append(out, s.Body)
		}
	}
	return out
}

// Link is a path in the text that can be opened.
type Link struct {
	Span source.Span
	Path string
}

// Links returns the files that the document names.
func (d *Document) Links() []Link {
	var out []Link
	for _, o := range d.index().files[0].found {
		if o.Kind == TextName {
			out = append(out, Link{o.Span, filepath.Clean(d.beside(d.Path, o.Name))})
		}
	}
	return out
}
