package check

import (
	"fmt"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
)

// entryKey names one value of a column.
type entryKey struct{ column, row int }

// entryState is the state of the overrides of one value.
type entryState struct {
	last entryOverride
	// beside are overrides in sheets parallel to that of last, with their
	// values: they must agree or be restated above.
	beside []entryOverride
}

// applyOverrides applies `table.column[3] : value` to entries of tables that a
// use has included. They come in reading order, so a sheet's override follows
// those of the sheets that it uses.
func (c *checker) applyOverrides() {
	states := map[entryKey]*entryState{}
	var order []entryKey
	for _, o := range c.merge.entries {
		c.file = c.in.Files[o.file].Tree.File
		key, ok := c.entryOf(o)
		if !ok {
			continue
		}
		if states[key] == nil {
			states[key] = &entryState{last: entryOverride{file: -1}}
			order = append(order, key)
		}
		c.applyEntry(o, key, states[key])
	}
	for _, key := range order {
		for _, o := range states[key].beside {
			c.besideEntry(o, key, states[key].last)
		}
	}
}

// entryOf returns the value that an override names.
func (c *checker) entryOf(o entryOverride) (entryKey, bool) {
	decl := o.decl
	col := c.findColumn(&scope{}, &syntax.Column{Table: decl.Name, Name: decl.Column})
	if col == nil || !c.mayOverride(o, col, col.Table.Name+"."+col.Name) {
		return entryKey{}, false
	}
	row, ok := c.entryRow(col, decl.Entry)
	if ok && (!decl.Given || len(decl.Values) != 1) {
		c.fail(decl.Span, diag.GivenList, "%s.%s[%d] is a single value", col.Table.Name, col.Name, row+1)
		return entryKey{}, false
	}
	return entryKey{int(col.Index), row}, ok
}

func (c *checker) entryName(key entryKey) string {
	col := c.m.Columns[key.column]
	return fmt.Sprintf("%s.%s[%d]", col.Table.Name, col.Name, key.row+1)
}

func (c *checker) applyEntry(o entryOverride, key entryKey, state *entryState) {
	last := state.last
	if last.file == o.file {
		c.fail(o.decl.Name.Span, diag.NameDuplicate, "%s is overridden a second time", c.entryName(key)).
			related(c.file, last.decl.Span, "the first time")
		return
	}
	if last.file >= 0 && !c.merge.reach[o.file][last.file] {
		state.beside = append(state.beside, o)
		return
	}
	col := c.m.Columns[key.column]
	v, d := c.m.Admit(&col.Quantity, o.decl.Values[0])
	if d != nil {
		c.place(d)
		return
	}
	var kept []entryOverride
	for _, b := range state.beside {
		if !c.merge.reach[o.file][b.file] {
			kept = append(kept, b)
		}
	}
	state.last, state.beside = o, kept
	col.Values[key.row] = v
	c.keepTyped(&col.Quantity, o.decl.Values[0], v)
	col.Entries = append(col.Entries, Entry{Row: key.row})
}

// besideEntry reports an override that differs from one in a parallel sheet.
func (c *checker) besideEntry(o entryOverride, key entryKey, last entryOverride) {
	c.file = c.in.Files[o.file].Tree.File
	col := c.m.Columns[key.column]
	v, d := c.m.Admit(&col.Quantity, o.decl.Values[0])
	switch {
	case d != nil:
		c.place(d)
	case !sameValue(&col.Quantity, v, col.Values[key.row]):
		name := c.entryName(key)
		c.fail(o.decl.Span, diag.GivenConflict, "two worksheets override %s differently: %s here, %s there", name, c.m.show(&col.Quantity, v), c.m.show(&col.Quantity, col.Values[key.row])).
			related(c.in.Files[last.file].Tree.File, last.decl.Span, "the other override").
			help("resolve this in the sheet that uses both: below the uses, write %s : %s", name, c.m.show(&col.Quantity, v))
	}
}

// mayOverride reports whether an override may change col, with an error if not.
func (c *checker) mayOverride(o entryOverride, col *Column, name string) bool {
	decl := o.decl
	switch {
	case col.Table.Library:
		c.fail(decl.Name.Span, diag.OverrideComputed, "%s belongs to the library, which a sheet cannot change", name).
			help("write a table %s of your own", col.Table.Name)
		return false
	case col.Origin.File == o.file:
		c.fail(decl.Name.Span, diag.OverrideHere, "%s is in this file: change the value in the table", name).
			related(c.file, c.decl(&col.Quantity).Name.Span, "%s is here", name)
		return false
	case !c.merge.reach[o.file][col.Origin.File]:
		c.fail(decl.Name.Span, diag.OverrideHere, "only a sheet that uses the one with %s can override it, below the use", name)
		return false
	case !col.Given:
		c.fail(decl.Name.Span, diag.OverrideComputed, "%s is computed, so a value cannot replace it", name).
			related(c.fileOf(&col.Quantity), c.decl(&col.Quantity).Span, "%s is computed here", name)
		return false
	}
	return true
}

// entryRow returns the row in the brackets of an override, counted from 0.
func (c *checker) entryRow(col *Column, e syntax.Expr) (int, bool) {
	n, ok := unwrap(e).(*syntax.Number)
	if !ok || n.Unit != nil || n.Value != float64(int(n.Value)) {
		c.fail(e.Pos(), diag.EntryRow, "write the row in brackets as a whole number, counted from 1")
		return 0, false
	}
	if n.Value < 1 || int(n.Value) > len(col.Values) {
		c.fail(e.Pos(), diag.EntryRow, "%s.%s has rows 1 to %d", col.Table.Name, col.Name, len(col.Values))
		return 0, false
	}
	return int(n.Value) - 1, true
}
