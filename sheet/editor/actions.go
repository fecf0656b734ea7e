package editor

import (
	"fmt"
	"strconv"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Action is a change that is offered for a place.
type Action struct {
	Title string
	// Cures is the diagnostic that it removes; nil for a rewriting.
	Cures *diag.Diagnostic
	Files []FileEdits
	// Preferred says that it is the only repair and keeps the value.
	Preferred bool
}

// Actions returns the actions for a span of the document.
func (d *Document) Actions(at source.Span) []Action {
	var out []Action
	list := d.List()
	for i := range list {
		e := &list[i]
		if !d.own(e.File) || e.Span.End < at.Start || e.Span.Start > at.End {
			continue
		}
		for _, r := range e.Repairs {
			out = append(out, Action{
				Title: r.Title, Cures: e, Preferred: len(e.Repairs) == 1 && !r.Changes,
				Files: []FileEdits{{d.Path, d.File, r.Edits}},
			})
		}
		if e.Code == diag.UnitUnknown {
			out = append(out, d.declareUnit(e)...)
		}
	}
	if d.Sheet() != nil {
		d.with(func() { out = append(out, d.rewritings(at)...) })
	}
	return out
}

// own reports whether file is the document's own.
func (d *Document) own(file *source.File) bool {
	return file == d.File || file != nil && file.Name == d.File.Name
}

// declareUnit offers a line that makes an unknown unit one of the sheet's own.
func (d *Document) declareUnit(e *diag.Diagnostic) []Action {
	name := d.File.Slice(e.Span)
	if admitName(name) != nil {
		return nil
	}
	return []Action{{
		Title: "declare the unit: unit " + name, Cures: e,
		Files: []FileEdits{{d.Path, d.File, []diag.Edit{{Span: d.top(), New: "unit " + name + d.lineEnd()}}}},
	}}
}

// top is the place for a line for the whole sheet: after the version.
func (d *Document) top() source.Span {
	at := int32(0)
	if strings.HasPrefix(d.File.Text, "gearleaf ") && d.File.Lines() > 1 {
		if n := strings.IndexByte(d.File.Text, '\n'); n >= 0 {
			at = int32(n + 1)
		}
	}
	return source.Span{Start: at, End: at}
}

func (d *Document) lineEnd() string {
	if strings.Contains(d.File.Text, "\r\n") {
		return "\r\n"
	}
	return "\n"
}

// rewritings offers changes of a cell that keep its value.
func (d *Document) rewritings(at source.Span) []Action {
	i := stmtAt(d.Tree, at.Start)
	if i < 0 {
		return nil
	}
	decl, ok := d.Tree.Stmts[i].(*syntax.Cell)
	if !ok || decl.Given || decl.Formula == nil || at.Start > decl.Span.End {
		return nil
	}
	c, _ := d.Sheet().Model.Resolve(decl.Name.Text)
	if c == nil || c.Origin.File != 0 || d.Sheet().Unsound(sheet.Place{Cell: c}) != nil {
		return nil
	}
	var out []Action
	put := func(title string, edits ...diag.Edit) {
		out = append(out, Action{Title: title, Files: []FileEdits{{d.Path, d.File, edits}}})
	}
	if v := d.result.Cell(c); !v.IsFault() && !v.IsBlank() && d.State() != Withdrawn {
		value := d.given(c, v)
		put("turn "+c.Name+" into a given, "+value, diag.Edit{Span: d.valueSpan(decl), New: ": " + value})
	}
	if decl.As == nil && c.Type.Form == check.Number && c.Unit.Symbol != "" && c.Unit.Symbol != "1" {
		end := decl.Formula.Pos().End
		put("declare the unit: as "+c.Unit.Symbol, diag.Edit{Span: source.Span{Start: end, End: end}, New: " as " + c.Unit.Symbol})
	}
	if n := numberAt(decl.Formula, at.Start); n != nil {
		name, text := d.freeName(decl.Name.Text), d.File.Slice(n.Span)
		put("name this number: "+name+" : "+text,
			diag.Edit{Span: source.Span{Start: decl.Span.Start, End: decl.Span.Start}, New: name + " : " + text + d.lineEnd()},
			diag.Edit{Span: n.Span, New: name})
	}
	return out
}

// valueSpan is from the sign of a cell to the end of its formula, brackets and
// all.
func (d *Document) valueSpan(decl *syntax.Cell) source.Span {
	sign := strings.IndexByte(d.File.Text[decl.Name.Span.End:], '=')
	return source.Span{Start: decl.Name.Span.End + int32(sign), End: decl.Formula.Pos().End}
}

// given writes a value as that of a given, with all its digits and its unit.
func (d *Document) given(c *check.Cell, v sheet.Value) string {
	number, _ := d.Sheet().Shown(&c.Quantity, v.V)
	switch c.Type.Form {
	case check.Text:
		return syntax.Quote(number)
	case check.Truth:
		return number
	}
	text := strconv.FormatFloat(c.Unit.Clean(v.V), 'f', -1, 64)
	if c.Unit.Symbol != "" && c.Unit.Symbol != "1" {
		text += " " + c.Unit.Symbol
	}
	return text
}

// numberAt returns the literal at an offset of a formula.
func numberAt(e syntax.Expr, offset int32) *syntax.Number {
	var found *syntax.Number
	syntax.Walk(e, func(e syntax.Expr) bool {
		if n, ok := e.(*syntax.Number); ok && n.Span.Start <= offset && offset <= n.Span.End {
			found = n
		}
		return true
	})
	return found
}

// freeName returns a name that is not used yet.
func (d *Document) freeName(base string) string {
	x := d.index()
	for i := 1; ; i++ {
		name := base + "_part"
		if i > 1 {
			name = fmt.Sprintf("%s_part_%d", base, i)
		}
		if !x.cells[name] && x.tables[name] == nil {
			return name
		}
	}
}
