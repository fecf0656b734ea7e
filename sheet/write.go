package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"gearleaf/sheet/disk"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// Rewritten returns the text of the sheet's own file with settings written into
// it: the literal of each given is replaced, every other byte is kept. A given
// of a used file is overridden by a line below the use, never written into that
// file.
func (s *Sheet) Rewritten(settings []Setting) (string, error) {
	text := s.Model.Files[0].File.Text
	for _, set := range settings {
		next, err := s.rewrite(text, set)
		if err != nil {
			return "", err
		}
		text = next
	}
	return text, nil
}

// rewrite writes one setting into text, which it parses again: an earlier
// setting has moved the offsets.
func (s *Sheet) rewrite(text string, set Setting) (string, error) {
	file, d := admitText(s.Model.Files[0].File.Name, text)
	if d != nil {
		return "", fmt.Errorf("%s", d.Message)
	}
	tree, list := syntax.Parse(file)
	if list.Errors() {
		return "", fmt.Errorf("%s", list[0].Message)
	}
	if decl, entry := find(tree, set); decl != nil {
		return syntax.ReplaceValue(tree, decl, entry, s.literal(set, decl, entry)), nil
	}
	return s.override(tree, text, set)
}

// find returns the statement of tree that gives set its value, and the index
// of the value in it. The last override of a name wins.
func find(tree *syntax.Worksheet, set Setting) (found *syntax.Cell, entry int) {
	q := set.Quantity()
	for _, st := range tree.Stmts {
		switch st := st.(type) {
		case *syntax.Cell:
			if set.Cell != nil && st.Given && st.Entry == nil && st.Name.Text == q.Name {
				found, entry = st, 0
			}
			if set.Column != nil && st.Given && overrides(st, set) {
				found, entry = st, 0
			}
		case *syntax.Table:
			if set.Column != nil && st.Name.Text == set.Column.Table.Name {
				for _, c := range gridColumns(st) {
					if c.Name.Text == q.Name && c.Given && c.From == nil {
						found, entry = c, set.Row
					}
				}
			}
		}
	}
	return found, entry
}

// overrides reports whether st is `table.column[row] : …` for set's entry.
func overrides(st *syntax.Cell, set Setting) bool {
	n, ok := st.Entry.(*syntax.Number)
	return ok && st.Name.Text == set.Column.Table.Name && st.Column.Text == set.Column.Name && int(n.Value) == set.Row+1
}

func gridColumns(t *syntax.Table) []*syntax.Cell {
	if t.Grid == nil {
		return t.Columns
	}
	return append(syntax.GridColumns(t), t.Columns...)
}

// literal is the text to write for set. A bare number has the unit in which the
// given is shown; if the old value has another unit, the shown one is written.
// A grid has its unit in the head, so there the number is converted.
func (s *Sheet) literal(set Setting, decl *syntax.Cell, entry int) string {
	typed := syntax.String(set.Expr)
	n, isNumber := set.Expr.(*syntax.Number)
	shown := set.Quantity().Unit
	switch {
	case !isNumber:
		return typed
	case syntax.InGrid(decl):
		if n.Unit == nil {
			return typed
		}
		return shortest(shown.Shown(set.Value))
	case n.Unit != nil:
		return typed
	}
	symbol := syntax.UnitOf(decl, entry)
	if symbol == "" && (decl.Entry != nil || set.Quantity().Origin.File != 0) {
		return typed // an override without a unit has the shown one
	}
	if old, err := s.Model.Units.Parse(symbol); err == nil && old.Scale == shown.Scale && old.Offset == shown.Offset {
		if own, ok := decl.Values[entry].(*syntax.Number); !ok || own.Unit == nil {
			return typed
		}
		return typed + " " + symbol
	}
	if shown.Symbol == "" {
		return typed
	}
	return typed + " " + shown.Symbol
}

func shortest(v float64) string {
	return strconv.FormatFloat(unit.Significant(v, 15), 'f', -1, 64)
}

// override adds a line for set below the last use of the sheet, or below its
// existing overrides.
func (s *Sheet) override(tree *syntax.Worksheet, text string, set Setting) (string, error) {
	after := -1
	for i, st := range tree.Stmts {
		switch st := st.(type) {
		case *syntax.Use:
			after = i
		case *syntax.Cell:
			if after == i-1 && after >= 0 && st.Given {
				after = i
			}
		}
	}
	if after < 0 {
		return "", fmt.Errorf("%s is neither in %s nor in a worksheet that it uses: nothing was written", set.Name(), tree.File.Name)
	}
	end := tree.File.Line(tree.File.LineOf(tree.Stmts[after].Base().Span.End)).End
	lineEnd := "\n"
	if strings.Contains(text, "\r\n") {
		lineEnd = "\r\n"
	}
	value := syntax.String(set.Expr)
	if n, ok := set.Expr.(*syntax.Number); ok && n.Unit == nil && set.Quantity().Unit.Symbol != "" {
		value += " " + set.Quantity().Unit.Symbol
	}
	return text[:end] + lineEnd + set.Name() + " : " + value + text[end:], nil
}

// Write writes settings into the sheet's file, whole or not at all. It refuses
// if the file is write-protected or has changed since it was read.
func (s *Sheet) Write(settings []Setting) error {
	text, err := s.Rewritten(settings)
	if err != nil {
		return err
	}
	return disk.Replace(s.Path, s.Model.Files[0].File.Text, text)
}
