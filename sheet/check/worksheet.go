package check

import (
	"slices"
	"sync"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Worksheet is a source file of a model. After the check its tree is released,
// because it takes as much memory as the rest of a large sheet; code that needs
// the source form parses the text again.
type Worksheet struct {
	File *source.File

	tree  *syntax.Worksheet // while it is checked, of the library always
	again sync.Once
}

// Tree returns the tree of the file.
func (w *Worksheet) Tree() *syntax.Worksheet {
	w.again.Do(func() {
		if w.tree == nil {
			w.tree, _ = syntax.Parse(w.File)
		}
	})
	return w.tree
}

// place is where something is declared: the number of the statement in its
// file.
type place int32

// statement returns the statement of the file of o at place; nil in a model
// made by hand.
func (o *Origin) statement(at place) syntax.Stmt {
	if o.from == nil {
		return nil
	}
	return o.from.Tree().Stmts[at]
}

// Decl returns the declaration of q, the first one if the cell or column is
// overridden; nil in a model made by hand.
func (q *Quantity) Decl() *syntax.Cell {
	switch s := q.Origin.statement(q.place).(type) {
	case *syntax.Cell:
		return s
	case *syntax.Table:
		return columnDecl(s, q.Name)
	}
	return nil
}

// columnDecl returns the declaration of a column. Those between bars are
// created on each call, so they come last.
func columnDecl(t *syntax.Table, name string) *syntax.Cell {
	named := func(decl *syntax.Cell) bool { return decl.Name.Text == name }
	list := t.Columns
	i := slices.IndexFunc(list, named)
	if i < 0 && t.Grid != nil {
		list = columnDecls(t)
		i = slices.IndexFunc(list, named)
	}
	if i < 0 {
		return nil
	}
	return list[i]
}

// Decl returns the declaration of t; nil in a model made by hand.
func (t *Table) Decl() *syntax.Table {
	decl, _ := t.Origin.statement(t.place).(*syntax.Table)
	return decl
}

// Decl returns the declaration of l; nil in a model made by hand.
func (l *Limit) Decl() *syntax.Limit {
	decl, _ := l.Origin.statement(l.place).(*syntax.Limit)
	return decl
}

// Decl returns the declaration of the function; nil in a model made by hand.
func (in *Instance) Decl() *syntax.Function {
	if in.library != nil || in.from == nil {
		return in.library
	}
	decl, _ := in.from.Tree().Stmts[in.place].(*syntax.Function)
	return decl
}

// decl returns the declaration of q. It can be called while the trees are kept.
func (c *checker) decl(q *Quantity) *syntax.Cell {
	switch s := q.Origin.from.tree.Stmts[q.place].(type) {
	case *syntax.Cell:
		return s
	}
	return c.columnDecls[q.Index]
}

// letGo releases the parts that a checked model does not need: the trees of the
// sheet, the references to them, and unused memory of the arena.
func (c *checker) letGo() {
	m := c.m
	m.clip()
	for _, t := range m.Tables {
		t.decl = nil
	}
	for _, l := range m.Limits {
		l.decl = nil
	}
	for _, ch := range m.Charts {
		ch.decl = nil
	}
	for _, l := range m.Logs {
		l.decl = nil
		for i := range l.Channels {
			l.Channels[i].decl = nil
		}
	}
	for i := range m.Correlations {
		m.Correlations[i].decl = nil
	}
	for i := range c.in.Files {
		m.Files[i].tree = nil
	}
}

// Cautions returns the cautions that the file itself states.
func (w *Worksheet) Cautions() []string {
	var out []string
	for _, s := range w.Tree().Stmts {
		if c, ok := s.(*syntax.Caution); ok {
			out = append(out, c.Text.Text)
		}
	}
	return out
}
