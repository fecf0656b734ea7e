package check

import (
	"math"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// scope has the names that a formula sees.
type scope struct {
	table *Table // whose rows the formula is in, or nil
	body  *body  // the function whose body it is, or nil
	limit *limitScope
}

// limitScope is the condition of a limit, in which columns of one table may
// be alone.
type limitScope struct{ table *Table }

// node adds n, which is at span, to the arena.
func (c *checker) node(n Node, span source.Span) NodeID {
	c.m.Nodes = append(c.m.Nodes, n)
	c.spans = append(c.spans, span)
	c.shown = append(c.shown, 0)
	return NodeID(len(c.m.Nodes) - 1)
}

func (c *checker) bad(span source.Span) NodeID { return c.node(Node{Op: Bad}, span) }

func (c *checker) span(id NodeID) source.Span { return c.spans[id] }

// build makes the nodes of e. It resolves names; infer finds the types.
func (c *checker) build(s *scope, e syntax.Expr) NodeID {
	switch e := e.(type) {
	case *syntax.Number:
		return c.buildNumber(s, e)
	case *syntax.Text:
		return c.node(number(textType, c.m.text(e.Value)), e.Span)
	case *syntax.Truth:
		return c.node(number(truthType, kernel.Truth(e.Value)), e.Span)
	case *syntax.Ref:
		return c.buildRef(s, e.Name)
	case *syntax.Column:
		return c.buildColumn(s, e)
	case *syntax.Index:
		return c.buildIndex(s, e)
	case *syntax.Call:
		return c.buildCall(s, e)
	}
	return c.buildOperation(s, e)
}

func (c *checker) buildOperation(s *scope, e syntax.Expr) NodeID {
	switch e := e.(type) {
	case *syntax.Unary:
		return c.buildUnary(s, e)
	case *syntax.Binary:
		return c.buildBinary(s, e)
	case *syntax.Chain:
		return c.buildChain(s, e)
	case *syntax.If:
		cond := c.build(s, e.Cond)
		then := c.build(s, e.Then)
		other := c.build(s, e.Else)
		return c.node(c.m.pack(Draft{Op: If, A: cond, B: then, C: other}), e.Span)
	case *syntax.Paren:
		return c.buildParen(s, e)
	case nil:
		return c.bad(source.Span{})
	}
	return c.bad(e.Pos()) // the parser has reported it
}

// buildParen extends the span of the expression in brackets by the brackets, so
// that messages quote them.
func (c *checker) buildParen(s *scope, e *syntax.Paren) NodeID {
	id := c.build(s, e.X)
	c.spans[id] = e.Span
	return id
}

func (c *checker) buildNumber(s *scope, e *syntax.Number) NodeID {
	lit, d := c.m.readNumber(e, 0)
	if d != nil {
		if d.Code == diag.UnitUnknown && c.inSight(s, e.Unit.Text) {
			offerProduct(d, e)
		}
		c.place(d)
		return c.bad(e.Span)
	}
	id := c.node(number(lit.typ, lit.value), e.Span)
	c.shown[id] = lit.unit
	if e.Unit != nil && hasRadian(e.Unit.Text) {
		c.hasPi = true
	}
	return id
}

// inSight reports whether a formula may read name.
func (c *checker) inSight(s *scope, name string) bool {
	if s.body != nil {
		return false
	}
	id, ok := c.m.names.find(name)
	return s.table != nil && c.columnOf(s.table, name) != nil || ok && id >= 0
}

// offerProduct changes the report of an unknown unit that is a visible name: it
// offers a product.
func offerProduct(d *diag.Diagnostic, e *syntax.Number) {
	name := e.Unit.Text
	number := strings.TrimSpace(strings.TrimSuffix(syntax.String(e), name))
	d.Help = "to multiply by " + name + ", write " + number + " * " + name
	d.Repairs = []diag.Repair{{Title: "write a product", Edits: []diag.Edit{{Span: e.Span, New: number + " * " + name}}}}
}

// hasRadian reports whether rad is in a unit.
func hasRadian(text string) bool {
	for i := 0; i+3 <= len(text); i++ {
		if text[i:i+3] == "rad" {
			return true
		}
	}
	return false
}

func (c *checker) buildUnary(s *scope, e *syntax.Unary) NodeID {
	x := c.build(s, e.X)
	op := Neg
	if e.Op == syntax.Not {
		op = Not
	}
	return c.node(Node{Op: op, A: x}, e.Span)
}

var binaryOps = [...]Op{
	syntax.Add: Add, syntax.Sub: Sub, syntax.Mul: Mul, syntax.Div: Div, syntax.Pow: Pow,
	syntax.Less: Less, syntax.LessEqual: LessEqual, syntax.Greater: Greater, syntax.GreaterEqual: GreaterEqual,
	syntax.Equal: Equal, syntax.NotEqual: NotEqual,
	syntax.And: And, syntax.Or: Or,
}

// buildBinary walks the left side in a loop: the tree of a sum is as deep as
// the sum is long.
func (c *checker) buildBinary(s *scope, e *syntax.Binary) NodeID {
	base := len(c.spine)
	c.spine = append(c.spine, e)
	for {
		left, ok := c.spine[len(c.spine)-1].X.(*syntax.Binary)
		if !ok {
			break
		}
		c.spine = append(c.spine, left)
	}
	id := c.build(s, c.spine[len(c.spine)-1].X)
	for i := len(c.spine) - 1; i >= base; i-- {
		e := c.spine[i]
		right := c.build(s, e.Y)
		id = c.node(Node{Op: binaryOps[e.Op], A: id, B: right}, c.span(id).To(c.span(right)))
	}
	c.spine = c.spine[:base]
	return id
}

// buildChain builds `a < b < c` as `a < b and b < c` that evaluates b once.
func (c *checker) buildChain(s *scope, e *syntax.Chain) NodeID {
	left := c.build(c.comparing(s, e.Operands[0]), e.Operands[0])
	all := NodeID(0)
	for i, op := range e.Ops {
		right := c.build(c.comparing(s, e.Operands[i+1]), e.Operands[i+1])
		pair := c.node(Node{Op: binaryOps[op], A: left, B: right}, c.span(left).To(c.span(right)))
		if all != 0 {
			pair = c.node(Node{Op: And, A: all, B: pair}, c.span(all).To(c.span(right)))
		}
		all, left = pair, right
	}
	return all
}

// comparing returns the scope of an operand of a comparison: the one place
// where, in a limit, a column may be alone.
func (c *checker) comparing(s *scope, operand syntax.Expr) *scope {
	if s.limit == nil {
		return s
	}
	if _, alone := unwrap(operand).(*syntax.Column); alone {
		return s
	}
	return &scope{table: s.table, body: s.body}
}

// unwrap removes brackets.
func unwrap(e syntax.Expr) syntax.Expr {
	for {
		p, ok := e.(*syntax.Paren)
		if !ok {
			return e
		}
		e = p.X
	}
}

// buildRef resolves a bare name in the innermost scope that has it.
func (c *checker) buildRef(s *scope, name syntax.Name) NodeID {
	if s.body != nil {
		return c.bodyName(s.body, name)
	}
	if s.table != nil {
		if name.Text == "row" {
			return c.node(operation(RowRef, numberType, 0, 0), name.Span)
		}
		if col := c.columnOf(s.table, name.Text); col != nil {
			return c.columnRef(ColumnRef, col, name.Span)
		}
	}
	if id, ok := c.m.names.find(name.Text); ok && id >= 0 {
		return c.node(reference(CellRef, unknownType, id), name.Span)
	}
	if name.Text == "pi" {
		return c.pi(name.Span)
	}
	return c.unresolved(s, name)
}

// pi is a constant that every formula knows.
func (c *checker) pi(span source.Span) NodeID {
	c.hasPi = true
	return c.node(number(numberType, math.Pi), span)
}

func (c *checker) columnRef(op Op, col *Column, span source.Span) NodeID {
	return c.node(reference(op, unknownType, col.Index), span)
}

// unresolved reports a name that is not defined here.
func (c *checker) unresolved(s *scope, name syntax.Name) NodeID {
	r := c.fail(name.Span, diag.NameUnknown, "there is no %q in this worksheet", name.Text)
	if c.muted(r) {
		return c.bad(name.Span)
	}
	switch text := name.Text; {
	case text == "row":
		r.d.Message = "row counts the rows of a table and has no meaning outside one"
	case c.namesTable(text):
		r.d.Code = diag.TableAlone
		r.d.Message = text + " is a table, not a value"
		r.help("name one of its columns, as in last(%s)", text+"."+c.firstColumn(text))
	case c.isFunction(text):
		r.d.Message = text + " is a function: write its arguments in brackets after it"
		r.help("write %s(…)", text)
	default:
		c.suggestName(r, s, name)
	}
	return c.bad(name.Span)
}

// suggestName adds to r the name that was probably meant.
func (c *checker) suggestName(r report, s *scope, name syntax.Name) {
	for _, t := range c.m.Tables {
		if col := c.columnOf(t, name.Text); col != nil && t != s.table && !t.Library {
			r.help("%s is a column of the table %s: outside it, write an aggregate such as last(%s.%s)", name.Text, t.Name, t.Name, name.Text)
			return
		}
	}
	if word := map[string]string{"true": "yes", "false": "no"}[name.Text]; word != "" {
		r.help("write %s", word).repair(name.Span, word, "write %s", word)
		return
	}
	if near := c.nearest(s, name.Text); near != "" {
		r.help("did you mean %s?", near).repair(name.Span, near, "write %s", near)
		return
	}
	if _, err := c.m.findUnit(name.Text); err == nil {
		r.help("%s is a unit: write a unit directly after its number, without blanks inside, as in 5 m/s", name.Text)
	}
}

// nearest returns the visible name that is nearest to text.
func (c *checker) nearest(s *scope, text string) string {
	n := newSuggester(text)
	if s.table != nil {
		for _, col := range s.table.Columns {
			n.try(col.Name)
		}
	}
	for _, cell := range c.m.Cells {
		n.try(cell.Name)
	}
	return n.best
}

func (c *checker) namesTable(text string) bool {
	id, ok := c.m.names.find(text)
	return ok && id < 0 || !ok && c.lib.tables[text] != nil
}

func (c *checker) firstColumn(table string) string {
	if t := c.findTable(table); t != nil && len(t.Columns) > 0 {
		return t.Columns[0].Name
	}
	return "column"
}

func (c *checker) isFunction(text string) bool {
	if _, ok := c.own[text]; ok {
		return true
	}
	if _, ok := c.lib.functions[text]; ok {
		return true
	}
	return c.intrinsic(text) != nil
}
