package sheet

import (
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// scope replaces the names in one formula with values.
type scope struct {
	r      *Result
	table  *check.Table // the formula's own table, or nil
	row    int
	limit  bool                    // it is the condition of a limit
	within bool                    // part of a compared number: its sum must not seem to be on the other side
	rows   *check.Table            // the table whose columns denote their value in row
	places []Place                 // the values that the formula reads, in order of mention
	calls  []string                // the functions that it calls, in order of mention
	mark   func(Place) syntax.Expr // if not nil, what replaces a value
	words  map[syntax.Expr]shown   // the values that were inserted

	rowOf    func(c *check.Column, row *check.Cell) syntax.Expr // with mark: what replaces an entry whose row a cell gives
	compared [][]syntax.Expr                                    // with mark: the operands of every comparison
}

// shown is an inserted value and the quantity as which it is shown.
type shown struct {
	q *check.Quantity
	v float64
}

// put returns e with its names replaced with values.
func (s *scope) put(e syntax.Expr) syntax.Expr {
	switch e := e.(type) {
	case *syntax.Ref:
		return s.ref(e)
	case *syntax.Column:
		return s.whole(e.Table.Text+"."+e.Name.Text, e)
	case *syntax.Index:
		return s.index(e)
	case *syntax.Call:
		return s.call(e)
	case *syntax.Unary:
		return &syntax.Unary{Op: e.Op, X: s.put(e.X)}
	case *syntax.Binary:
		return &syntax.Binary{Op: e.Op, X: s.put(e.X), Y: s.put(e.Y)}
	case *syntax.Chain:
		return &syntax.Chain{Ops: e.Ops, Operands: s.apart(s.compare(e.Operands))}
	case *syntax.If:
		return &syntax.If{Cond: s.put(e.Cond), Then: s.put(e.Then), Else: s.put(e.Else)}
	case *syntax.Paren:
		return &syntax.Paren{X: s.put(e.X)}
	}
	return e
}

func (s *scope) puts(list []syntax.Expr) []syntax.Expr {
	out := make([]syntax.Expr, len(list))
	for i, e := range list {
		out[i] = s.put(e)
	}
	return out
}

// compare inserts the values of the numbers that a condition compares. Those in a
// sum or a call have all their digits.
func (s *scope) compare(list []syntax.Expr) []syntax.Expr {
	out := s.puts(list)
	for i, e := range out {
		if _, single := e.(*syntax.Ref); s.limit && !single {
			outer := s.within
			s.within = true
			out[i] = s.put(list[i])
			s.within = outer
		}
	}
	return out
}

// ref inserts the value of a bare name: this row's number, a column of the same
// table, or a scalar.
func (s *scope) ref(e *syntax.Ref) syntax.Expr {
	name := e.Name.Text
	if name == "row" && s.table != nil {
		return word(strconv.Itoa(s.row + 1))
	}
	if c := s.column(name); c != nil {
		return s.value(Place{Column: c, Row: s.row})
	}
	if cell, _ := s.r.Sheet.Model.Resolve(name); cell != nil {
		return s.value(Place{Cell: cell})
	}
	return e
}

// column returns the column of the formula's own table that is called name.
func (s *scope) column(name string) *check.Column {
	if s.table == nil {
		return nil
	}
	for _, c := range s.table.Columns {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// whole records a whole column and keeps its name; in a limit on every row of a
// table it inserts the value of the row.
func (s *scope) whole(name string, e syntax.Expr) syntax.Expr {
	_, c := s.r.Sheet.Model.Resolve(name)
	switch {
	case c == nil || c.Table.Library:
		return e
	case c.Table == s.rows:
		return s.value(Place{Column: c, Row: s.row})
	}
	s.depend(Place{Column: c, Row: Whole})
	return e
}

func (s *scope) index(e *syntax.Index) syntax.Expr {
	_, c := s.r.Sheet.Model.Resolve(e.Column.Table.Text + "." + e.Column.Name.Text)
	if row := s.rowCell(e.Row); c != nil && row != nil {
		return s.rowOf(c, row)
	}
	row, known := s.rowNumber(e.Row)
	if c == nil || !known || row < 1 || row > c.Table.Rows {
		return &syntax.Index{Column: e.Column, Row: s.put(e.Row)}
	}
	s.put(e.Row) // the row number's dependencies
	return s.value(Place{Column: c, Row: row - 1})
}

// rowCell returns the cell that gives the row of an index whose value is
// inserted later; nil otherwise.
func (s *scope) rowCell(e syntax.Expr) *check.Cell {
	name, ok := e.(*syntax.Ref)
	if s.rowOf == nil || !ok {
		return nil
	}
	cell, _ := s.r.Sheet.Model.Resolve(name.Name.Text)
	return cell
}

// rowNumber reads the row of an index that is a literal or a name, which needs no
// evaluation.
func (s *scope) rowNumber(e syntax.Expr) (int, bool) {
	if _, literal := e.(*syntax.Number); s.mark != nil && !literal {
		return 0, false // it may change
	}
	switch e := e.(type) {
	case *syntax.Number:
		return int(e.Value), true
	case *syntax.Ref:
		if e.Name.Text == "row" {
			return s.row + 1, s.table != nil
		}
		v := math.NaN()
		if c := s.column(e.Name.Text); c != nil {
			v = s.r.Entry(c, s.row).V
		} else if cell, _ := s.r.Sheet.Model.Resolve(e.Name.Text); cell != nil {
			v = s.r.Cell(cell).V
		}
		return int(math.Round(v)), v == v && math.Abs(v) < math.MaxInt32
	}
	return 0, false
}

// call inserts values into the arguments; the arguments of an aggregate and the
// lists of a look-up remain names, prev and next become their values.
func (s *scope) call(e *syntax.Call) syntax.Expr {
	if step, ok := map[string]int{"prev": -1, "next": 1}[e.Name.Text]; ok && len(e.Args) == 1 {
		return s.neighbour(e, step)
	}
	if end, ok := s.end(e); ok {
		return end
	}
	s.calls = append(s.calls, e.Name.Text)
	out := &syntax.Call{Name: e.Name}
	for i, arg := range e.Args {
		ref, bare := arg.(*syntax.Ref)
		if bare && s.table != nil && s.column(ref.Name.Text) != nil && s.listArgument(e, i) {
			out.Args = append(out.Args, s.whole(s.table.Name+"."+ref.Name.Text, arg))
			continue
		}
		out.Args = append(out.Args, s.put(arg))
	}
	return out
}

// taken are the functions of a column whose value is inserted.
var taken = map[string]int{
	"first": FirstRow, "last": LastRow, "max": MaxRow, "min": MinRow,
	"sum": SumRows, "mean": MeanRows, "count": CountRows,
}

// end inserts the value that first or last takes from a column; in a limit also
// the results of the other functions of a column.
func (s *scope) end(e *syntax.Call) (syntax.Expr, bool) {
	which, ok := taken[e.Name.Text]
	if !ok || len(e.Args) != 1 || !s.limit && which < LastRow {
		return nil, false
	}
	c := s.named(e.Args[0])
	if c == nil || c.Table.Library {
		return nil, false
	}
	if s.mark != nil {
		return s.mark(Place{Column: c, Row: which}), true
	}
	if how, ok := reduced[which]; ok {
		return s.reduce(c, how)
	}
	row := s.take(c, which)
	if row < 0 {
		return nil, false
	}
	return s.value(Place{Column: c, Row: row}), true
}

// reduced are the functions whose value is not that of a row.
var reduced = map[int]kernel.Aggregate{SumRows: kernel.Sum, MeanRows: kernel.Mean, CountRows: kernel.Count}

// reduce inserts the sum, mean or count of c. A sum is shown like the values of
// the column, a mean like a computed value.
func (s *scope) reduce(c *check.Column, how kernel.Aggregate) (syntax.Expr, bool) {
	live, _ := s.r.Live(c.Table)
	entries := make([]float64, live)
	for i := range entries {
		entries[i] = s.r.Entry(c, i).V
	}
	v := kernel.Reduce(how, entries)
	if v != v {
		return nil, false
	}
	s.depend(Place{Column: c, Row: Whole})
	if how == kernel.Count {
		return word(unit.FormatTyped(v)), true
	}
	q := c.Quantity
	q.Given = q.Given && how == kernel.Sum
	return s.shown(&q, v), true
}

// take returns the row of c that which selects; -1 if all of c is blank.
func (s *scope) take(c *check.Column, which int) int {
	row := -1
	live, _ := s.r.Live(c.Table)
	for i := range live {
		v := s.r.Entry(c, i)
		if v.IsBlank() {
			continue
		}
		if row < 0 || which == LastRow || which == MaxRow && v.V > s.r.Entry(c, row).V || which == MinRow && v.V < s.r.Entry(c, row).V {
			row = i
		}
	}
	return row
}

// named returns the column that e names, in the formula's own table or with its
// table.
func (s *scope) named(e syntax.Expr) *check.Column {
	switch e := e.(type) {
	case *syntax.Ref:
		return s.column(e.Name.Text)
	case *syntax.Column:
		_, c := s.r.Sheet.Model.Resolve(e.Table.Text + "." + e.Name.Text)
		return c
	}
	return nil
}

// listArgument reports whether argument i of e is a whole column.
func (s *scope) listArgument(e *syntax.Call, i int) bool {
	switch e.Name.Text {
	case "sum", "mean", "count", "first", "last":
		return true
	case "min", "max":
		return len(e.Args) == 1
	case "lookup", "lookup_clamped", "lookup_monotone", "first_at", "pick":
		return i > 0
	}
	return false
}

func (s *scope) neighbour(e *syntax.Call, step int) syntax.Expr {
	ref, ok := e.Args[0].(*syntax.Ref)
	if !ok || s.table == nil {
		return e
	}
	c := s.column(ref.Name.Text)
	if c == nil {
		return e
	}
	row := s.row + step
	if live, _ := s.r.Live(s.table); row < 0 || row >= live {
		return word("blank")
	}
	return s.value(Place{Column: c, Row: row})
}

// value records that the formula depends on p and returns p's value as a word.
func (s *scope) value(p Place) syntax.Expr {
	s.depend(p)
	if s.mark != nil {
		return s.mark(p)
	}
	v := s.r.At(p)
	switch {
	case v.IsBlank():
		return word("blank")
	case v.IsFault():
		return word("fault")
	}
	return s.shown(p.Quantity(), v.V)
}

// shown returns the value v of q as a word.
func (s *scope) shown(q *check.Quantity, v float64) syntax.Expr {
	text := s.r.Sheet.Text(q, v)
	if s.within && q.Type.Form == check.Number && !q.Given {
		text = q.Unit.Format(v, 0)
	}
	if q.Type.Form == check.Text {
		text = syntax.Quote(text)
	}
	out := word(signed(text))
	if s.words == nil {
		s.words = map[syntax.Expr]shown{}
	}
	s.words[out] = shown{q, v}
	return out
}

// signed puts brackets around a negative number.
func signed(text string) string {
	if strings.HasPrefix(text, "-") {
		return "(" + text + ")"
	}
	return text
}

// side is a compared number: its value in its unit, the step to which it is
// shown, and whether it is shown as it was typed.
type side struct {
	v, si float64
	unit  unit.Unit
	step  float64
	typed bool
	ok    bool
}

// side returns the number of e, an operand with inserted values; it is not ok
// if e is not a single number.
func (s *scope) side(e syntax.Expr) side {
	if n, ok := e.(*syntax.Number); ok {
		u, ok := s.unitOf(n)
		return side{v: n.Value, si: u.SI(n.Value), unit: u, typed: true, ok: ok}
	}
	w, ok := s.words[e]
	if !ok || w.q.Type.Form != check.Number || w.v != w.v {
		return side{}
	}
	v := w.q.Unit.Clean(w.v)
	return side{v: v, si: w.v, unit: w.q.Unit, step: w.q.To, typed: w.q.Given && unit.FormatGiven(v, w.q.To) == unit.FormatTyped(v), ok: true}
}

// unitOf returns the unit of a literal, the plain one if it has none.
func (s *scope) unitOf(n *syntax.Number) (unit.Unit, bool) {
	if n.Unit == nil {
		return unit.Unit{Scale: 1}, true
	}
	u, err := s.r.Sheet.Model.Units.Parse(n.Unit.Text)
	return u, err == nil
}

// apart writes the operands of a comparison so that their texts compare as the
// numbers do.
func (s *scope) apart(operands []syntax.Expr) []syntax.Expr {
	if s.mark != nil {
		s.compared = append(s.compared, operands)
		return operands
	}
	sides := make([]side, len(operands))
	for i, e := range operands {
		sides[i] = s.side(e)
	}
	for i, a := range sides {
		places := -1
		for _, j := range []int{i - 1, i + 1} {
			if j >= 0 && j < len(sides) {
				places = max(places, a.beside(sides[j]))
			}
		}
		if places >= 0 {
			operands[i] = word(signed(a.unit.With(unit.FormatDecimals(a.v, places, a.step))))
		}
	}
	return operands
}

// beside returns with how many decimals a is written beside b; -1 if as
// elsewhere.
func (a side) beside(b side) int {
	if !a.ok || !b.ok || a.typed {
		return -1
	}
	step := b.step
	if a.unit.Symbol != b.unit.Symbol {
		step = 0
	}
	return unit.DecimalsBeside(a.v, a.step, a.unit.Clean(b.si), step, b.typed)
}

func (s *scope) depend(p Place) {
	for _, have := range s.places {
		if have == p {
			return
		}
	}
	s.places = append(s.places, p)
}

// word is a text in place of an expression; it is printed unchanged.
func word(text string) syntax.Expr { return &syntax.Ref{Name: syntax.Name{Text: text}} }
