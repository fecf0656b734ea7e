package editor

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// Hover is the description of a name, as Markdown.
type Hover struct {
	Span source.Span
	Text string
}

// Hover explains the name at an offset of the document; nil for none.
func (d *Document) Hover(offset int32) *Hover {
	o := d.at(offset)
	if o == nil {
		return nil
	}
	var text string
	d.with(func() { text = d.explain(o) })
	if text == "" {
		return nil
	}
	return &Hover{Span: o.Span, Text: text}
}

func (d *Document) explain(o *Occurrence) string {
	switch o.Kind {
	case CellName:
		if d.Sheet() != nil {
			if c, _ := d.Sheet().Model.Resolve(o.Name); c != nil {
				return d.explainPlace(sheet.Place{Cell: c})
			}
		}
	case ColumnName:
		if d.Sheet() != nil {
			if _, c := d.Sheet().Model.Resolve(o.Owner + "." + o.Name); c != nil {
				return d.explainColumn(c)
			}
		}
	case TableName:
		return d.explainTable(o.Name)
	case FunctionName:
		if f := d.function(o.Name); f != nil {
			return FunctionText(f)
		}
	case ParameterName:
		return d.explainParameter(o)
	case UnitName:
		return d.explainUnit(o.Name)
	}
	return ""
}

// markdown builds a text of parts, without empty ones.
type markdown []string

func (m *markdown) add(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); text != "" {
		*m = append(*m, text)
	}
}

// code adds lines of a worksheet.
func (m *markdown) code(text string) {
	if text != "" {
		m.add("```gearleaf\n%s\n```", text)
	}
}

func (m markdown) String() string { return strings.Join(m, "\n\n") }

// explainPlace explains a cell: value, formula, the same with numbers, its
// label and unit.
func (d *Document) explainPlace(p sheet.Place) string {
	var m markdown
	q := p.Quantity()
	text, tip := d.cellNote(p.Cell)
	if q.Given && text == "" {
		text = d.Sheet().Text(q, d.result.Cell(p.Cell).V)
	}
	m.add("**%s** %s", p.Name(), text)
	m.add("%s", q.Origin.Label)
	d.formula(&m, p)
	m.add("%s", strings.ReplaceAll(q.Origin.Note, "\n", "  \n"))
	d.details(&m, q)
	if tip != "" && !q.Given {
		m.add("*%s*", tip)
	}
	return m.String()
}

// formula adds the formula of a value, and the same with numbers for its
// names.
func (d *Document) formula(m *markdown, p sheet.Place) {
	q := p.Quantity()
	if q.Given {
		if decl := q.Decl(); decl != nil {
			m.code(d.Sheet().Model.Files[q.Origin.File].File.Slice(decl.Span))
		}
		return
	}
	if d.Sheet().Unsound(p) != nil {
		return
	}
	w := d.result.Work(p, 0)
	lines := p.Name() + " = " + w.Formula
	if w.Numbers != w.Formula && p.Row != sheet.Whole {
		lines += "\n" + strings.Repeat(" ", len(p.Name())) + " = " + w.Numbers
	}
	m.code(lines)
	for _, f := range w.Calls {
		m.add("`%s`: %s", f.Name, f.Meaning)
	}
}

// details adds unit, spread, range, choice and the file of the declaration.
func (d *Document) details(m *markdown, q *check.Quantity) {
	var parts []string
	if q.Type.Form == check.Number {
		parts = append(parts, d.Sheet().Model.Units.Describe(q.Type.Measure))
	}
	if text := d.Sheet().SpreadText(q); text != "" {
		parts = append(parts, text)
	}
	if q.Range != nil {
		parts = append(parts, fmt.Sprintf("range %s..%s", d.Sheet().Text(q, q.Range[0]), d.Sheet().Text(q, q.Range[1])))
	}
	if len(q.Choice) > 0 {
		words := make([]string, len(q.Choice))
		for i, v := range q.Choice {
			words[i], _ = d.Sheet().Shown(q, v)
		}
		parts = append(parts, "choice "+strings.Join(words, ", "))
	}
	if q.Origin.File > 0 {
		parts = append(parts, "from "+d.Sheet().Model.Files[q.Origin.File].File.Name)
	}
	m.add("%s", strings.Join(parts, "; "))
}

func (d *Document) explainColumn(c *check.Column) string {
	var m markdown
	text, tip := d.columnNote(c)
	m.add("**%s.%s** %s", c.Table.Name, c.Name, text)
	m.add("%s", c.Origin.Label)
	d.formula(&m, sheet.Place{Column: c, Row: sheet.Whole})
	if live, _ := d.result.Live(c.Table); live > 0 && d.Sheet().Unsound(sheet.Place{Column: c, Row: sheet.Whole}) == nil {
		if !c.Given {
			w := d.result.Work(sheet.Place{Column: c, Row: live - 1}, 0)
			m.code(fmt.Sprintf("row %d = %s", live, w.Numbers))
		}
		m.add("%s", d.someRows(c, live))
	}
	m.add("%s", c.Origin.Note)
	d.details(&m, &c.Quantity)
	if tip != "" && !c.Given {
		m.add("*%s*", tip)
	}
	return m.String()
}

// shownRows is the number of values of a column that a hover lists.
const shownRows = 12

func (d *Document) someRows(c *check.Column, live int) string {
	var words []string
	for row := range min(live, shownRows) {
		word, _ := d.Sheet().Shown(&c.Quantity, d.result.Entry(c, row).V)
		words = append(words, word)
	}
	text := strings.Join(words, ", ")
	if live > shownRows {
		text += fmt.Sprintf(", … (%d rows)", live)
	}
	return text
}

func (d *Document) explainTable(name string) string {
	if d.Sheet() == nil {
		return ""
	}
	for _, t := range d.Sheet().Model.Tables {
		if t.Name != name {
			continue
		}
		var m markdown
		live, ended := d.result.Live(t)
		rows := counted(live, "row")
		if t.Until != 0 && !ended {
			rows += "; its until did not end it"
		}
		m.add("**table %s** %s", name, rows)
		m.add("%s", t.Origin.Label)
		var columns []string
		for _, c := range t.Columns {
			columns = append(columns, c.Name)
		}
		m.add("%s", strings.Join(columns, ", "))
		m.add("%s", t.Fault)
		return m.String()
	}
	return ""
}

func (d *Document) explainParameter(o *Occurrence) string {
	f := declaredFunction(d.trees(), o.Owner)
	if f == nil {
		return ""
	}
	for _, p := range f.Params {
		if p.Name.Text == o.Name {
			text := "**" + o.Name + "**, a parameter of " + o.Owner
			if p.Unit != nil {
				text += ", in " + p.Unit.Text
			}
			return text
		}
	}
	return "**" + o.Name + "**, a step of " + o.Owner
}

func (d *Document) explainUnit(text string) string {
	system := unit.NewSystem()
	if d.Sheet() != nil {
		system = d.Sheet().Model.Units
	}
	u, problem := system.Parse(text)
	if problem != nil {
		return ""
	}
	var m markdown
	m.add("**%s** %s", text, system.Describe(u.Measure))
	for _, row := range unit.Catalog() {
		if row.Symbol == text || slices.Contains(row.Aliases, text) {
			m.add("%s", row.Meaning)
			m.add("Source: %s", row.Source)
		}
	}
	return m.String()
}

// function returns the description of a function: the sheet's own, or the
// library's.
func (d *Document) function(name string) *sheet.Function {
	if d.Sheet() != nil {
		if f, ok := d.Sheet().Function(name); ok {
			return &f
		}
	}
	for _, f := range reference() {
		if f.Name == name {
			return &f
		}
	}
	return nil
}

// FunctionText is the description of a function, as Markdown.
func FunctionText(f *sheet.Function) string {
	var m markdown
	m.code(f.Usage)
	m.add("%s", f.Meaning)
	if len(f.Steps) > 0 {
		m.code(strings.Join(f.Steps, "\n"))
	}
	m.add("%s", f.Why)
	for _, v := range f.Valid {
		m.add("Valid: %s", v)
	}
	for _, s := range f.Sources {
		m.add("Source: %s", s)
	}
	m.add("%s", f.Note)
	return m.String()
}

// declaredFunction returns the function called name in trees.
func declaredFunction(trees []*syntax.Worksheet, name string) *syntax.Function {
	for _, t := range trees {
		for _, s := range t.Stmts {
			if f, ok := s.(*syntax.Function); ok && f.Name.Text == name {
				return f
			}
		}
	}
	return nil
}

// libraryFile returns the path of a copy of a file of the library that an
// editor can open; it is rewritten if it differs.
func libraryFile(tree *syntax.Worksheet) (string, error) {
	folder, err := os.UserCacheDir()
	if err != nil {
		return "", err
	}
	folder = filepath.Join(folder, "gearleaf", "library")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return "", err
	}
	path := filepath.Join(folder, filepath.Base(tree.File.Name))
	if have, err := os.ReadFile(path); err == nil && string(have) == tree.File.Text {
		return path, nil
	}
	return path, disk.Write(path, func(w io.Writer) error {
		_, err := io.WriteString(w, tree.File.Text)
		return err
	})
}
