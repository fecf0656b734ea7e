package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
)

// columnKey finds a column of a table by name.
type columnKey struct {
	table int32
	name  string
}

// columnOf returns the column of t that name names, or nil.
func (c *checker) columnOf(t *Table, name string) *Column {
	return c.columns[columnKey{int32(t.Index), name}]
}

// findTable returns the table that name names: the sheet's, otherwise the
// library's. It is nil if there is none.
func (c *checker) findTable(name string) *Table {
	if id, ok := c.m.names.find(name); ok {
		if id < 0 {
			return c.m.Tables[^id]
		}
		return nil
	}
	return c.libraryTable(name)
}

// tableOf resolves the table of `table.column` in the scope.
func (c *checker) tableOf(s *scope, name string) *Table {
	if s.body != nil && s.body.function.library {
		return c.libraryTable(name)
	}
	if s.body != nil {
		if t := c.libraryTable(name); t != nil {
			return t
		}
		return nil
	}
	return c.findTable(name)
}

// findColumn resolves `table.column`, or reports why it cannot.
func (c *checker) findColumn(s *scope, e *syntax.Column) *Column {
	t := c.tableOf(s, e.Table.Text)
	if t == nil {
		c.noTable(s, e)
		return nil
	}
	if col := c.columnOf(t, e.Name.Text); col != nil {
		return col
	}
	r := c.fail(e.Name.Span, diag.ColumnUnknown, "the table %s has no column %q", t.Name, e.Name.Text)
	if c.muted(r) {
		return nil
	}
	n := newSuggester(e.Name.Text)
	for _, col := range t.Columns {
		n.try(col.Name)
	}
	if n.best != "" {
		r.help("did you mean %s.%s?", t.Name, n.best).repair(e.Name.Span, n.best, "write %s", n.best)
	}
	return nil
}

func (c *checker) noTable(s *scope, e *syntax.Column) {
	name := e.Table
	if id, ok := c.m.names.find(name.Text); ok && s.body == nil && id >= 0 {
		c.fail(name.Span, diag.TableUnknown, "%s is a single value, not a table: it has no columns", name.Text)
		return
	}
	if s.body != nil && c.findTable(name.Text) != nil {
		c.fail(name.Span, diag.BodyName, "a function sees only its parameters and steps, not the sheet's table %s", name.Text).
			help("pass the value as a parameter")
		return
	}
	r := c.fail(name.Span, diag.TableUnknown, "there is no table %q in this worksheet", name.Text)
	if c.muted(r) {
		return
	}
	n := newSuggester(name.Text)
	for _, t := range c.m.Tables {
		n.try(t.Name)
	}
	for t := range c.lib.tables {
		n.try(t)
	}
	if n.best != "" {
		r.help("did you mean %s?", n.best).repair(name.Span, n.best, "write %s", n.best)
	}
}

// buildColumn processes `table.column` used as a value: this row's value inside
// the table, every row's in a limit, an error elsewhere.
func (c *checker) buildColumn(s *scope, e *syntax.Column) NodeID {
	span := e.Pos()
	col := c.findColumn(s, e)
	switch {
	case col == nil:
		return c.bad(span)
	case s.table == col.Table:
		return c.columnRef(ColumnRef, col, span)
	case s.limit != nil && (s.limit.table == nil || s.limit.table == col.Table):
		s.limit.table = col.Table
		return c.columnRef(ColumnRef, col, span)
	case s.limit != nil:
		c.fail(span, diag.LimitTables, "this line holds for every row of %s; it cannot refer to rows of %s as well", s.limit.table.Name, col.Table.Name).
			help("write a line for each table")
		return c.bad(span)
	}
	name := quoteText(c.file, span)
	c.fail(span, diag.ColumnWhole, "%s is a whole column, and outside its table a formula takes one value: a column is not spread over a formula row by row", name).
		help("write an aggregate such as max(%s), one row as %s[3], or a column of the table itself", name, name)
	return c.bad(span)
}

// buildIndex processes `table.column[row]`.
func (c *checker) buildIndex(s *scope, e *syntax.Index) NodeID {
	col := c.findColumn(s, e.Column)
	row := c.build(&scope{table: s.table, body: s.body}, e.Row)
	if col == nil {
		return c.bad(e.Span)
	}
	return c.node(operation(IndexAt, unknownType, row, NodeID(col.Index)), e.Span)
}

// wholeColumn returns the column that e names as a whole, or nil. An undefined
// name of that form has been reported.
func (c *checker) wholeColumn(s *scope, e syntax.Expr) (col *Column, named bool) {
	switch e := unwrap(e).(type) {
	case *syntax.Column:
		return c.findColumn(s, e), true
	case *syntax.Ref:
		if s.table != nil && s.body == nil {
			if col := c.columnOf(s.table, e.Name.Text); col != nil {
				return col, true
			}
		}
	}
	return nil, false
}

// neighbourName returns the name in prev(name) or next(name).
func neighbourName(e *syntax.Call) (*syntax.Ref, bool) {
	if len(e.Args) != 1 {
		return nil, false
	}
	ref, ok := unwrap(e.Args[0]).(*syntax.Ref)
	return ref, ok
}

// neighbour processes prev(name) and next(name).
func (c *checker) neighbour(s *scope, e *syntax.Call) NodeID {
	word := e.Name.Text
	ref, ok := neighbourName(e)
	if !ok {
		return c.bad(e.Span) // the parser has reported it
	}
	if s.table == nil || s.body != nil {
		c.fail(e.Span, diag.NeighbourOutside, "%s refers to a neighbouring row, and there are rows only in a table", word)
		return c.bad(e.Span)
	}
	col := c.columnOf(s.table, ref.Name.Text)
	if col == nil {
		r := c.fail(ref.Name.Span, diag.NeighbourName, "%s takes a column of this table, and %s has no column %q", word, s.table.Name, ref.Name.Text)
		n := newSuggester(ref.Name.Text)
		for _, col := range s.table.Columns {
			n.try(col.Name)
		}
		if n.best != "" {
			r.help("did you mean %s?", n.best).repair(ref.Name.Span, n.best, "write %s", n.best)
		}
		return c.bad(e.Span)
	}
	op := PrevRef
	if word == "next" {
		op = NextRef
	}
	return c.columnRef(op, col, e.Span)
}
