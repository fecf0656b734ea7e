package check

import (
	"slices"
	"sort"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Unsound is a cell, column, limit, advice, or a table's loop that an error
// leaves undefined. One of the pointers is set.
type Unsound struct {
	Cell   *Cell
	Column *Column
	Table  *Table
	Limit  *Limit
	Advice *Advice
	// Error is the index of the error in the list, -1 for an error that is not
	// listed.
	Error int
}

// Unsound returns the parts that the errors of list leave undefined, without
// their dependents, which package graph finds.
//
// An error makes everything unsound that its statement declares or overrides,
// so no number is ever computed from a formula with an error. If that cannot be
// determined, as for a `use` or a `unit` line, the whole sheet is unsound.
func (m *Model) Unsound(list diag.List) []Unsound {
	u := &unsounder{m: m, list: list}
	for i, d := range list {
		if d.Severity == diag.Error {
			u.place(d.File, d.Span.Start, i)
		}
	}
	for _, w := range m.wrong {
		u.place(w.file, w.at, -1)
	}
	for _, f := range m.Files {
		for _, span := range f.Tree().Broken() {
			u.place(f.File, span.Start, u.errorAt(f.File, span))
		}
	}
	for _, s := range m.untyped {
		u.subject(s)
	}
	u.conditions()
	u.callers()
	return u.found
}

// wrongPlace is the place of an error, listed or not.
type wrongPlace struct {
	file *source.File
	at   int32
}

// unsounder collects what errors make unsound.
type unsounder struct {
	m     *Model
	list  diag.List
	found []Unsound
	// functions holds the error of each function declaration that has one.
	functions map[*syntax.Function]int
}

// errorAt returns the index of the first error within span, -1 for none.
func (u *unsounder) errorAt(file *source.File, span source.Span) int {
	return slices.IndexFunc(u.list, func(d diag.Diagnostic) bool {
		return d.Severity == diag.Error && d.File == file && d.Span.Start >= span.Start && d.Span.Start <= span.End
	})
}

// place makes unsound what the statement at a place declares.
func (u *unsounder) place(file *source.File, at int32, why int) {
	for _, f := range u.m.Files {
		if f.File == file {
			stmts := f.Tree().Stmts
			i := sort.Search(len(stmts), func(i int) bool { return stmts[i].Base().Span.Start > at })
			if i > 0 {
				u.statement(file, stmts[i-1], at, why)
				return
			}
		}
	}
	u.everything(why)
}

func (u *unsounder) statement(file *source.File, s syntax.Stmt, at int32, why int) {
	switch s := s.(type) {
	case *syntax.Cell:
		u.cell(s, why)
	case *syntax.Table:
		u.table(s, at, why)
	case *syntax.Function:
		if u.functions == nil {
			u.functions = map[*syntax.Function]int{}
		}
		if _, known := u.functions[s]; !known {
			u.functions[s] = why
		}
	case *syntax.Limit:
		for _, l := range u.m.Limits {
			if l.Decl() == s {
				u.found = append(u.found, Unsound{Limit: l, Error: why})
			}
		}
	case *syntax.Bad:
		u.line(file.Line(file.LineOf(s.Span.Start)), file, why)
	case *syntax.Title, *syntax.Caution, *syntax.Note, *syntax.Section, *syntax.Chart, *syntax.Correlate, *syntax.Log:
		// no value depends on these
	default:
		u.everything(why)
	}
}

// cell makes unsound the cell or column that decl declares or overrides.
func (u *unsounder) cell(decl *syntax.Cell, why int) {
	name := decl.Name.Text
	if decl.Column.Text != "" {
		name += "." + decl.Column.Text
	}
	u.name(name, why)
}

// name makes unsound all that is called name; a table's name includes its
// columns.
func (u *unsounder) name(name string, why int) {
	for _, text := range []string{name, strings.ToLower(name)} {
		cell, col := u.m.Resolve(text)
		if cell != nil {
			u.found = append(u.found, Unsound{Cell: cell, Error: why})
		}
		if col != nil {
			u.found = append(u.found, Unsound{Column: col, Error: why})
		}
		for _, p := range u.m.Plugs {
			if p.Given.Name == text {
				u.found = append(u.found, Unsound{Cell: p.Given, Error: why})
			}
		}
		u.columns(text, why)
	}
}

// columns makes unsound every column of the table called name.
func (u *unsounder) columns(name string, why int) {
	for _, t := range u.m.Tables {
		if t.Name == name && !t.Library {
			u.found = append(u.found, Unsound{Table: t, Error: why})
			for _, c := range t.Columns {
				u.found = append(u.found, Unsound{Column: c, Error: why})
			}
		}
	}
}

// table makes unsound the column at a place in a table, or all columns if the
// place is in none: the head, the rows between bars, until.
func (u *unsounder) table(t *syntax.Table, at int32, why int) {
	for _, c := range t.Columns {
		if c.Span.Start <= at && at <= c.Span.End {
			u.name(t.Name.Text+"."+c.Name.Text, why)
			return
		}
	}
	u.columns(t.Name.Text, why)
}

// line makes unsound the probable declaration of a line that could not be read:
// its first word, or all words before its sign as one name.
func (u *unsounder) line(span source.Span, file *source.File, why int) {
	text := file.Slice(span)
	words := func(r rune) bool {
		return r != '_' && (r < '0' || r > '9') && (r < 'a' || r > 'z') && (r < 'A' || r > 'Z')
	}
	head, _, _ := strings.Cut(text, "=")
	head, _, _ = strings.Cut(head, ":")
	for _, w := range strings.FieldsFunc(head, words) {
		u.name(w, why)
	}
	u.name(strings.Join(strings.FieldsFunc(head, words), "_"), why)
	if table, column, dotted := strings.Cut(strings.TrimSpace(head), "."); dotted {
		column, _, _ = strings.Cut(column, "[")
		u.name(table+"."+column, why)
	}
}

func (u *unsounder) everything(why int) {
	for _, c := range u.m.Cells {
		u.found = append(u.found, Unsound{Cell: c, Error: why})
	}
	for _, c := range u.m.Columns {
		if !c.Table.Library {
			u.found = append(u.found, Unsound{Column: c, Error: why})
		}
	}
	for _, l := range u.m.Limits {
		u.found = append(u.found, Unsound{Limit: l, Error: why})
	}
}

// subject makes unsound a cell or column whose type is not known.
func (u *unsounder) subject(s int32) {
	if cells := int32(len(u.m.Cells)); s < cells {
		u.found = append(u.found, Unsound{Cell: u.m.Cells[s], Error: -1})
	} else {
		u.found = append(u.found, Unsound{Column: u.m.Columns[s-cells], Error: -1})
	}
}

// conditions makes unsound an until and a limit whose type is not known:
// something that they call or read has the error.
func (u *unsounder) conditions() {
	untyped := func(root NodeID) bool { return root != 0 && u.m.Node(root).Type() == unknownType }
	for _, t := range u.m.Tables {
		if untyped(t.Until) {
			u.found = append(u.found, Unsound{Table: t, Error: -1})
		}
	}
	for _, l := range u.m.Limits {
		if untyped(l.Cond) {
			u.found = append(u.found, Unsound{Limit: l, Error: -1})
		}
	}
}

// callers makes unsound what calls a function with an error in it.
func (u *unsounder) callers() {
	if len(u.functions) == 0 {
		return
	}
	wrong := make([]int, len(u.m.Instances))
	for i, in := range u.m.Instances {
		wrong[i] = none
		if decl := in.Decl(); decl != nil {
			if why, ok := u.functions[decl]; ok {
				wrong[i] = why
			}
		}
	}
	calls := func(roots ...NodeID) (int, bool) { return u.calls(wrong, roots) }
	for i, in := range u.m.Instances { // an instance calls earlier ones only
		if why, ok := calls(append(in.roots(), in.Steps...)...); ok && wrong[i] == none {
			wrong[i] = why
		}
	}
	for _, c := range u.m.Cells {
		if why, ok := calls(c.Formula); ok {
			u.found = append(u.found, Unsound{Cell: c, Error: why})
		}
	}
	for _, c := range u.m.Columns {
		if why, ok := calls(c.Formula, c.Start); ok {
			u.found = append(u.found, Unsound{Column: c, Error: why})
		}
	}
	for _, t := range u.m.Tables {
		if why, ok := calls(t.Until); ok {
			u.found = append(u.found, Unsound{Table: t, Error: why})
		}
	}
	for _, l := range u.m.Limits {
		if why, ok := calls(l.Cond); ok {
			u.found = append(u.found, Unsound{Limit: l, Error: why})
		}
	}
}

// none says that an instance has no error.
const none = -2

// roots returns the result and the conditions of an instance.
func (in *Instance) roots() []NodeID {
	out := []NodeID{in.Result}
	for _, v := range in.Valids {
		out = append(out, v.Cond)
	}
	return out
}

// calls reports whether a formula below roots calls an instance that is wrong,
// and the error of it.
func (u *unsounder) calls(wrong []int, roots []NodeID) (int, bool) {
	stack := slices.Clone(roots)
	seen := map[NodeID]bool{0: true}
	for len(stack) > 0 {
		id := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if seen[id] {
			continue
		}
		seen[id] = true
		n := u.m.Node(id)
		if n.Op == Call || n.Op == ValidCall {
			if why := wrong[u.m.InstanceOf(n)]; why != none {
				return why, true
			}
		}
		stack = u.m.AppendOperands(stack, n)
	}
	return 0, false
}

// TakeOut replaces the formulas of unsound parts with a blank, so the rest of
// the model can be computed. The list must contain their dependents as well; a
// table in it means the loop.
func (m *Model) TakeOut(list []Unsound) {
	blank := m.Add(Draft{Op: Const, Type: numberType, Num: kernel.Blank})
	out := map[any]bool{}
	for _, u := range list {
		switch {
		case u.Cell != nil:
			out[u.Cell] = true
			u.Cell.takeOut(blank)
		case u.Column != nil:
			out[u.Column] = true
			u.Column.takeOut(blank)
		case u.Table != nil:
			u.Table.Until, u.Table.Loop = 0, nil
		case u.Limit != nil:
			u.Limit.Cond, u.Limit.Table = blank, nil
		case u.Advice != nil:
			out[u.Advice] = true
		}
	}
	m.Advices = slices.DeleteFunc(m.Advices, func(a *Advice) bool {
		return out[a] || a.Cell != nil && out[a.Cell] || a.Column != nil && out[a.Column]
	})
}

func (c *Cell) takeOut(blank NodeID) {
	if c.Given {
		c.Value = kernel.Blank
	} else {
		c.Formula = blank
	}
}

func (c *Column) takeOut(blank NodeID) {
	if !c.Given {
		c.Formula, c.Start, c.Looped = blank, 0, false
		return
	}
	nothing := kernel.Blank
	if c.Table.Fault != "" {
		nothing = kernel.Fault // like all values of a file that cannot be read
	}
	c.Values = slices.Repeat([]float64{nothing}, c.Table.Rows)
}
