package editor

import (
	"slices"
	"sort"
	"sync"

	"gearleaf/sheet"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Kind is the kind of thing that a name denotes.
type Kind uint8

// The kinds of names.
const (
	NoKind Kind = iota
	CellName
	TableName
	ColumnName
	FunctionName
	ParameterName // of a function, or a step in its body
	UnitName
	TextName // a path after use or from
)

// Symbol is the thing that a name denotes. A column's Owner is its table, a
// parameter's its function.
type Symbol struct {
	Kind        Kind
	Name, Owner string
}

// Occurrence is a place of a symbol in a text.
type Occurrence struct {
	Span source.Span
	Symbol
	// Declares says that the symbol is declared here, or its value overridden.
	Declares bool
	Stmt     syntax.Stmt // the statement it is in
}

// fileIndex is the occurrences in one file, in order.
type fileIndex struct {
	path  string
	file  *source.File
	tree  *syntax.Worksheet
	found []Occurrence
}

// index is the occurrences in the files of a sheet.
type index struct {
	files   []*fileIndex
	tables  map[string]map[string]bool // columns of each table
	cells   map[string]bool
	library map[string]bool // functions of the library
	own     map[string]bool // functions of the sheet
}

// index returns the occurrences of the document's files, its own first.
func (d *Document) index() *index {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.found == nil {
		d.found = newIndex(d.trees())
	}
	return d.found
}

// trees returns the trees of the document's files, its own first.
func (d *Document) trees() []*syntax.Worksheet {
	if d.Sheet() == nil {
		return []*syntax.Worksheet{d.Tree}
	}
	var out []*syntax.Worksheet
	for _, f := range d.Sheet().Model.Files {
		out = append(out, f.Tree())
	}
	return out
}

func newIndex(trees []*syntax.Worksheet) *index {
	x := &index{
		tables: map[string]map[string]bool{}, cells: map[string]bool{},
		library: libraryFunctions(), own: map[string]bool{},
	}
	x.declareLibrary()
	for _, t := range trees {
		x.declare(t)
	}
	for _, t := range trees {
		f := &fileIndex{path: t.File.Name, file: t.File, tree: t}
		w := &indexer{x: x, f: f}
		for _, s := range t.Stmts {
			w.statement(s)
		}
		sort.SliceStable(f.found, func(i, j int) bool { return f.found[i].Span.Start < f.found[j].Span.Start })
		x.files = append(x.files, f)
	}
	return x
}

// reference holds the descriptions of the library's functions.
var reference = sync.OnceValue(sheet.Functions)

// libraryFunctions are their names.
var libraryFunctions = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for _, f := range reference() {
		out[f.Name] = true
	}
	return out
})

// declareLibrary adds the library's tables, which a sheet may read.
func (x *index) declareLibrary() {
	for _, t := range sheet.Library().Files {
		for _, s := range t.Stmts {
			if table, ok := s.(*syntax.Table); ok {
				x.declareTable(table)
			}
		}
	}
}

// declare adds the declarations of a file.
func (x *index) declare(t *syntax.Worksheet) {
	for _, s := range t.Stmts {
		switch s := s.(type) {
		case *syntax.Cell:
			if s.Column.Text == "" {
				x.cells[s.Name.Text] = true
			}
		case *syntax.Table:
			x.declareTable(s)
		case *syntax.Function:
			x.own[s.Name.Text] = true
		}
	}
}

func (x *index) declareTable(t *syntax.Table) {
	columns := x.tables[t.Name.Text]
	if columns == nil {
		columns = map[string]bool{}
		x.tables[t.Name.Text] = columns
	}
	for _, c := range tableColumns(t) {
		columns[c.Name.Text] = true
	}
}

// tableColumns returns the columns of a table, those between bars first.
func tableColumns(t *syntax.Table) []*syntax.Cell {
	if t.Grid == nil {
		return t.Columns
	}
	return slices.Concat(syntax.GridColumns(t), t.Columns)
}

// indexer walks the statements of one file.
type indexer struct {
	x     *index
	f     *fileIndex
	stmt  syntax.Stmt
	table string           // in whose rows the formula is
	body  *syntax.Function // whose body it is
}

func (w *indexer) put(span source.Span, kind Kind, name, owner string, declares bool) {
	if name != "" {
		w.f.found = append(w.f.found, Occurrence{Span: span, Symbol: Symbol{kind, name, owner}, Declares: declares, Stmt: w.stmt})
	}
}

func (w *indexer) statement(s syntax.Stmt) {
	w.stmt, w.table, w.body = s, "", nil
	switch s := s.(type) {
	case *syntax.Cell:
		w.topCell(s)
	case *syntax.Table:
		w.tableStatement(s)
	case *syntax.Limit:
		w.expr(s.Cond)
	case *syntax.Chart:
		w.expr(s.X)
		for _, y := range s.Y {
			w.expr(y)
		}
	case *syntax.Correlate:
		w.expr(s.A)
		w.expr(s.B)
	case *syntax.Log:
		w.put(s.Table.Span, TableName, s.Table.Text, "", false)
		w.table = s.Table.Text
		for _, c := range s.Columns {
			w.put(c.Name.Span, ColumnName, c.Name.Text, s.Table.Text, false)
			w.cell(c)
		}
	case *syntax.Function:
		w.function(s)
	case *syntax.UnitDecl:
		w.put(s.Name.Span, UnitName, s.Name.Text, "", true)
		if s.Value != nil {
			w.expr(s.Value)
		}
	case *syntax.Use:
		w.put(s.Path.Span, TextName, s.Path.Text, "use", false)
	}
}

func (w *indexer) topCell(c *syntax.Cell) {
	if c.Column.Text != "" {
		w.put(c.Name.Span, TableName, c.Name.Text, "", false)
		w.put(c.Column.Span, ColumnName, c.Column.Text, c.Name.Text, true)
		w.expr(c.Entry)
	} else {
		w.put(c.Name.Span, CellName, c.Name.Text, "", true)
	}
	w.cell(c)
}

func (w *indexer) tableStatement(t *syntax.Table) {
	w.put(t.Name.Span, TableName, t.Name.Text, "", true)
	w.table = t.Name.Text
	if t.From != nil {
		w.put(t.From.Span, TextName, t.From.Text, "from", false)
	}
	if t.Grid != nil {
		for _, h := range t.Grid.Head {
			w.put(h.Name.Span, ColumnName, h.Name.Text, t.Name.Text, true)
			w.unit(h.Unit)
		}
	}
	for _, c := range t.Columns {
		w.put(c.Name.Span, ColumnName, c.Name.Text, t.Name.Text, true)
		w.cell(c)
	}
	w.expr(t.Until)
}

// cell walks the value, formula and clauses of a cell or column.
func (w *indexer) cell(c *syntax.Cell) {
	w.expr(c.Formula)
	w.expr(c.Start)
	for _, v := range c.Values {
		w.expr(v)
	}
	w.unit(c.FromUnit)
	w.unit(c.As)
	for _, n := range []*syntax.Number{c.Tolerance, c.Deviation, c.To} {
		if n != nil {
			w.unit(n.Unit)
		}
	}
	if c.Range != nil {
		w.expr(c.Range.Lo)
		w.expr(c.Range.Hi)
	}
	for _, v := range c.Choice {
		w.expr(v)
	}
}

func (w *indexer) function(f *syntax.Function) {
	w.put(f.Name.Span, FunctionName, f.Name.Text, "", true)
	w.body = f
	for _, p := range f.Params {
		w.put(p.Name.Span, ParameterName, p.Name.Text, f.Name.Text, true)
		w.unit(p.Unit)
	}
	w.unit(f.Result)
	for _, s := range f.Steps {
		w.put(s.Name.Span, ParameterName, s.Name.Text, f.Name.Text, true)
		w.cell(s)
	}
	w.expr(f.Body)
	for _, v := range f.Valid {
		w.expr(v.Cond)
	}
	w.body = nil
	for _, e := range f.Example {
		w.expr(e)
	}
}

func (w *indexer) unit(u *syntax.UnitRef) {
	if u != nil && u.Text != "" {
		w.put(u.Span, UnitName, u.Text, "", false)
	}
}

// expr walks an expression.
func (w *indexer) expr(e syntax.Expr) {
	if e == nil {
		return
	}
	syntax.Walk(e, func(e syntax.Expr) bool {
		switch e := e.(type) {
		case *syntax.Number:
			w.unit(e.Unit)
		case *syntax.Ref:
			w.ref(e.Name)
		case *syntax.Column:
			w.put(e.Table.Span, TableName, e.Table.Text, "", false)
			w.put(e.Name.Span, ColumnName, e.Name.Text, e.Table.Text, false)
		case *syntax.Call:
			if e.Name.Text != "prev" && e.Name.Text != "next" {
				w.put(e.Name.Span, FunctionName, e.Name.Text, "", false)
			}
		}
		return true
	})
}

// ref resolves a bare name in the innermost scope that has it.
func (w *indexer) ref(n syntax.Name) {
	switch {
	case w.body != nil:
		w.put(n.Span, ParameterName, n.Text, w.body.Name.Text, false)
	case w.table != "" && n.Text == "row":
	case w.table != "" && w.x.tables[w.table][n.Text]:
		w.put(n.Span, ColumnName, n.Text, w.table, false)
	case w.x.cells[n.Text]:
		w.put(n.Span, CellName, n.Text, "", false)
	}
}

// at returns the occurrence at an offset of the document's own file, its ends
// included; nil if there is none.
func (d *Document) at(offset int32) *Occurrence {
	found := d.index().files[0].found
	for i := range found {
		if o := &found[i]; o.Span.Start <= offset && offset <= o.Span.End {
			if offset == o.Span.End && i+1 < len(found) && found[i+1].Span.Start == offset {
				continue
			}
			return o
		}
	}
	return nil
}

// stmtAt returns the index of the statement at an offset, -1 for none.
func stmtAt(t *syntax.Worksheet, offset int32) int {
	return sort.Search(len(t.Stmts), func(i int) bool { return t.Stmts[i].Base().Span.Start > offset }) - 1
}

// extent returns the span of statement i and its block.
func extent(t *syntax.Worksheet, i int) source.Span {
	span := t.Stmts[i].Base().Span
	grow := func(end int32) { span.End = max(span.End, end) }
	switch s := t.Stmts[i].(type) {
	case *syntax.Table:
		if s.Grid != nil {
			grow(s.Grid.Span.End)
		}
		for _, c := range s.Columns {
			grow(c.Span.End)
		}
	case *syntax.Log:
		for _, c := range s.Columns {
			grow(c.Span.End)
		}
	case *syntax.Function:
		for _, c := range s.Steps {
			grow(c.Span.End)
		}
		for _, v := range s.Valid {
			grow(v.Span.End)
		}
		if s.Body != nil {
			grow(s.Body.Pos().End)
		}
		for _, e := range s.Example {
			grow(e.Pos().End)
		}
	}
	return span
}
