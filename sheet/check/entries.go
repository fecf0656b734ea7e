package check

import (
	"fmt"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
)

// applyOverrides lets `table.column[3] : value` settle entries of tables that
// a use has brought in.
func (c *checker) applyOverrides() {
	seen := map[string]*syntax.Cell{}
	for _, o := range c.merge.entries {
		c.file = c.in.Files[o.file].Tree.File
		c.applyEntry(o, seen)
	}
}

func (c *checker) applyEntry(o entryOverride, seen map[string]*syntax.Cell) {
	decl := o.decl
	col := c.findColumn(&scope{}, &syntax.Column{Table: decl.Name, Name: decl.Column})
	if col == nil {
		return
	}
	name := col.Table.Name + "." + col.Name
	if !c.mayOverride(o, col, name) {
		return
	}
	row, ok := c.entryRow(col, decl.Entry)
	if !ok {
		return
	}
	key := fmt.Sprintf("%d %s[%d]", o.file, name, row)
	if first := seen[key]; first != nil {
		c.fail(decl.Name.Span, diag.NameDuplicate, "%s[%d] is overridden a second time", name, row+1).
			related(c.file, first.Span, "the first time")
		return
	}
	seen[key] = decl
	if !decl.Given || len(decl.Values) != 1 {
		c.fail(decl.Span, diag.GivenList, "%s[%d] is a single value", name, row+1)
		return
	}
	v, d := c.m.Admit(&col.Quantity, decl.Values[0])
	if d != nil {
		c.place(d)
		return
	}
	col.Values[row] = v
	col.Entries = append(col.Entries, Entry{Row: row, Decl: decl})
}

// mayOverride reports whether an override may touch col, and says why not.
func (c *checker) mayOverride(o entryOverride, col *Column, name string) bool {
	decl := o.decl
	switch {
	case col.Table.Library:
		c.fail(decl.Name.Span, diag.OverrideComputed, "%s belongs to the library, which a sheet cannot change", name).
			help("write a table %s of your own", col.Table.Name)
		return false
	case col.Origin.File == o.file:
		c.fail(decl.Name.Span, diag.OverrideHere, "%s stands in this very file: change the value in the table", name).
			related(c.file, col.Decl.Name.Span, "%s stands here", name)
		return false
	case !c.merge.reach[o.file][col.Origin.File]:
		c.fail(decl.Name.Span, diag.OverrideHere, "only a sheet that uses the one with %s can override it, below the use", name)
		return false
	case !col.Given:
		c.fail(decl.Name.Span, diag.OverrideComputed, "%s is computed, so a value cannot stand in for it", name).
			related(c.fileOf(&col.Quantity), col.Decl.Span, "%s is computed here", name)
		return false
	}
	return true
}

// entryRow returns the row, from 0, that stands in the brackets of an
// override.
func (c *checker) entryRow(col *Column, e syntax.Expr) (int, bool) {
	n, ok := unwrap(e).(*syntax.Number)
	if !ok || n.Unit != nil || n.Value != float64(int(n.Value)) {
		c.fail(e.Pos(), diag.EntryRow, "the row stands in brackets as a whole number, counted from 1")
		return 0, false
	}
	if n.Value < 1 || int(n.Value) > len(col.Values) {
		c.fail(e.Pos(), diag.EntryRow, "%s.%s has rows 1 to %d", col.Table.Name, col.Name, len(col.Values))
		return 0, false
	}
	return int(n.Value) - 1, true
}
