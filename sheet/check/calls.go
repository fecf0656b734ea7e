package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
)

// plain returns s without the permission for whole columns that a limit's
// outermost operands have.
func (s *scope) plain() *scope {
	if s.limit == nil {
		return s
	}
	return &scope{table: s.table, body: s.body}
}

// buildCall resolves a function's name: the sheet's own, the library's, or
// one of the intrinsics.
func (c *checker) buildCall(s *scope, e *syntax.Call) NodeID {
	name := e.Name.Text
	if name == "prev" || name == "next" {
		return c.neighbour(s, e)
	}
	callee := c.calleeOf(s, name)
	switch {
	case callee.function != nil:
		return c.buildFunctionCall(s, e, callee.function)
	case len(callee.rows) == 0:
		return c.unknownFunction(s, e)
	}
	return c.buildIntrinsic(s, e, callee.rows)
}

// callee is what a call can call: a function or the rows of an intrinsic.
type callee struct {
	function *function
	rows     []int32
}

// calleeOf returns what name names in s. The result is cached for formulas
// outside functions.
func (c *checker) calleeOf(s *scope, name string) callee {
	if s.body != nil {
		return callee{c.findFunction(s, name), c.lib.intrinsics[name]}
	}
	found, known := c.called[name]
	if !known {
		found = callee{c.findFunction(s, name), c.lib.intrinsics[name]}
		c.called[name] = found
	}
	return found
}

// findFunction returns the function that name names in s, or nil.
func (c *checker) findFunction(s *scope, name string) *function {
	if s.body == nil || !s.body.function.library {
		if i, ok := c.own[name]; ok {
			return c.functions[i]
		}
	}
	return c.libraryFunction(name)
}

func (c *checker) unknownFunction(s *scope, e *syntax.Call) NodeID {
	r := c.fail(e.Name.Span, diag.FunctionUnknown, "there is no function %q", e.Name.Text)
	own := s.body == nil || !s.body.function.library
	if c.muted(r) {
		return c.bad(e.Span)
	}
	if near := c.nearestFunction(e.Name.Text, own); near != "" {
		r.help("did you mean %s?", near).repair(e.Name.Span, near, "write %s", near)
	} else if id, ok := c.m.names.find(e.Name.Text); ok && id >= 0 && s.body == nil {
		r.help("%s is a cell; to multiply by the value in brackets, write %s * (…)", e.Name.Text, e.Name.Text)
	}
	return c.bad(e.Span)
}

// buildArguments builds the arguments of a call and returns the place in
// Model.Args of their number, which precedes them.
func (c *checker) buildArguments(s *scope, args []syntax.Expr) NodeID {
	s = s.plain()
	base := len(c.arguments)
	for _, a := range args {
		id := c.build(s, a)
		c.arguments = append(c.arguments, id)
	}
	at := c.m.putList(c.arguments[base:])
	c.arguments = c.arguments[:base]
	return at
}

// buildFunctionCall leaves the index of the function in Ref; infer replaces it
// by the instance for the types of the arguments.
func (c *checker) buildFunctionCall(s *scope, e *syntax.Call, f *function) NodeID {
	if len(e.Args) != len(f.decl.Params) {
		c.fail(e.Span, diag.CallCount, "%s takes %s, and here it has %s", e.Name.Text, plural(len(f.decl.Params), "argument"), plural(len(e.Args), "argument")).
			related(f.file, f.decl.Name.Span, "%s", f.usage()).
			help("write %s", f.usage())
		return c.bad(e.Span)
	}
	at := c.buildArguments(s, e.Args)
	return c.node(operation(Call, unknownType, at, NodeID(f.index)), e.Span)
}

// plural writes a count of things in words.
func plural(n int, thing string) string {
	switch n {
	case 0:
		return "no " + thing
	case 1:
		return "one " + thing
	}
	return itoa(n) + " " + thing + "s"
}

// usage writes the head of a function for messages.
func (f *function) usage() string {
	text := f.decl.Name.Text + "("
	for i, p := range f.decl.Params {
		if i > 0 {
			text += ", "
		}
		text += p.Name.Text
	}
	return text + ")"
}

// intrinsic returns the first row of that name, or nil.
func (c *checker) intrinsic(name string) *kernel.Intrinsic {
	if rows := c.lib.intrinsics[name]; len(rows) > 0 {
		return &c.m.Intrinsics[rows[0]]
	}
	return nil
}

// buildIntrinsic processes a call of an intrinsic. One name can denote both an
// aggregate of a column and a function of values of a row (min, max).
func (c *checker) buildIntrinsic(s *scope, e *syntax.Call, rows []int32) NodeID {
	row := &c.m.Intrinsics[rows[0]]
	for _, i := range rows {
		in := &c.m.Intrinsics[i]
		if in.Aggregate != kernel.NoAggregate && (len(e.Args) == 1 || in.Rule == kernel.Column && len(rows) == 1) {
			return c.buildAggregate(s, e, in)
		}
		if in.Lookup != kernel.NoLookup {
			return c.buildLookup(s, e, in)
		}
	}
	if row.Rule == kernel.Constant {
		if len(e.Args) > 0 {
			return c.countError(e, row)
		}
		return c.pi(e.Span)
	}
	for _, i := range rows {
		if in := &c.m.Intrinsics[i]; in.F1 != nil || in.F2 != nil || in.Rule == kernel.DropsKind {
			if len(e.Args) < in.Min || in.Max >= 0 && len(e.Args) > in.Max {
				return c.countError(e, in)
			}
			at := c.buildArguments(s, e.Args)
			return c.node(operation(Intrinsic, unknownType, at, NodeID(i)), e.Span)
		}
	}
	return c.countError(e, row)
}

// countError reports a wrong number of arguments.
func (c *checker) countError(e *syntax.Call, in *kernel.Intrinsic) NodeID {
	c.fail(e.Span, diag.CallCount, "%s is written %s; here it has %s", in.Name, in.Usage, plural(len(e.Args), "argument"))
	return c.bad(e.Span)
}

// buildAggregate processes a reduction of a whole column.
func (c *checker) buildAggregate(s *scope, e *syntax.Call, in *kernel.Intrinsic) NodeID {
	if len(e.Args) != 1 {
		return c.countError(e, in)
	}
	col, named := c.wholeColumn(s, e.Args[0])
	if !named {
		r := c.fail(e.Args[0].Pos(), diag.AggregateColumn, "%s of one argument takes the name of a whole column, such as %s(gears.speed)", in.Name, in.Name)
		if _, call := unwrap(e.Args[0]).(*syntax.Ref); !call {
			r.help("give the formula a column of its own, and write %s of that", in.Name)
		}
		return c.bad(e.Span)
	}
	if col == nil {
		return c.bad(e.Span)
	}
	return c.node(operation(Aggregate, unknownType, NodeID(in.Aggregate), NodeID(col.Index)), e.Span)
}

// buildLookup processes a look-up of x in two columns of one table.
func (c *checker) buildLookup(s *scope, e *syntax.Call, in *kernel.Intrinsic) NodeID {
	if len(e.Args) != in.Max {
		return c.countError(e, in)
	}
	x, xs, ys := c.lookupArgs(s, e, in)
	if xs == nil || ys == nil {
		return c.bad(e.Span)
	}
	if xs.Table != ys.Table {
		c.fail(e.Span, diag.LookupTables, "%s reads two columns of one table; %s belongs to %s, %s to %s",
			in.Name, xs.Name, xs.Table.Name, ys.Name, ys.Table.Name)
		return c.bad(e.Span)
	}
	return c.node(c.m.pack(Draft{Op: Lookup, A: x, Ref: xs.Index, B: NodeID(ys.Index), C: NodeID(in.Lookup)}), e.Span)
}

// lookupArgs processes the arguments of a look-up: x before its columns, or
// after them if they are points of a statistic. A statistic may have no x: then
// x is the constant 0.
func (c *checker) lookupArgs(s *scope, e *syntax.Call, in *kernel.Intrinsic) (x NodeID, xs, ys *Column) {
	if !in.Lookup.Statistic() {
		x = c.build(s.plain(), e.Args[0])
		return x, c.lookupColumn(s, e.Args[1], in), c.lookupColumn(s, e.Args[2], in)
	}
	xs, ys = c.lookupColumn(s, e.Args[0], in), c.lookupColumn(s, e.Args[1], in)
	if in.Max == 3 {
		return c.build(s.plain(), e.Args[2]), xs, ys
	}
	return c.node(number(numberType, 0), e.Span), xs, ys
}

func (c *checker) lookupColumn(s *scope, e syntax.Expr, in *kernel.Intrinsic) *Column {
	col, named := c.wholeColumn(s, e)
	if !named {
		c.fail(e.Pos(), diag.AggregateColumn, "%s takes the name of a whole column here: %s", in.Name, in.Usage)
	}
	return col
}

// itoa writes small numbers.
func itoa(n int) string {
	if n < 10 {
		return string(rune('0' + n))
	}
	return itoa(n/10) + itoa(n%10)
}
