package main

import (
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
	"strings"
)

// function translates one function.
type function struct {
	*translator
	decl   *ast.FuncDecl
	wide   bool // two lanes
	locals map[types.Object]int
	types  []string // of all locals, parameters first
	code   strings.Builder
	depth  int   // blocks that are open
	breaks []int // for each loop and switch: the depth that a break leaves
	again  []int // for each loop: the depth that a continue leaves
}

func (f *function) translate() {
	f.locals = map[types.Object]int{}
	sig := f.info.Defs[f.decl.Name].Type().(*types.Signature)
	if sig.Recv() != nil {
		f.local(sig.Recv())
	}
	for i := range sig.Params().Len() {
		f.local(sig.Params().At(i))
	}
	params := len(f.types)
	var results []string
	for i := range sig.Results().Len() {
		results = append(results, wasmType(sig.Results().At(i).Type()))
		if sig.Results().At(i).Name() != "" {
			f.local(sig.Results().At(i))
		}
	}
	if f.left() {
		for _, kind := range results {
			f.op("%s.const 0", kind)
		}
	} else if f.block(f.decl.Body.List); len(results) > 0 {
		f.op("unreachable")
	}
	name := declared(f.decl)
	if f.wide {
		name += twoLanes
		params = f.widen(params, results)
	}
	fmt.Fprintf(&f.out, "\nfunc %s\nparam %s\nresult %s\nlocal %s\n%s\nend\n", name,
		strings.Join(f.types[:params], " "), strings.Join(results, " "), strings.Join(f.types[params:], " "), wrapped(f.code.String()))
}

// wrapped fills lines with instructions.
func wrapped(code string) string {
	var out, line strings.Builder
	for _, op := range strings.Split(code, "\n") {
		if op = strings.TrimSpace(op); line.Len()+len(op) > 110 {
			out.WriteString(strings.TrimSpace(line.String()) + "\n")
			line.Reset()
		}
		if op != "" {
			line.WriteString(op + " ")
		}
	}
	return out.String() + strings.TrimSpace(line.String())
}

// left reports whether the function's comment leaves it out: it saves time in
// Go alone, and its results here are false and 0.
func (f *function) left() bool {
	if f.decl.Doc != nil {
		for _, c := range f.decl.Doc.List {
			if c.Text == "//translate:none" {
				return true
			}
		}
	}
	return false
}

// local gives a variable its local, two to a slice: address and length.
func (f *function) local(v types.Object) int {
	n := len(f.types)
	f.locals[v] = n
	switch t := wasmType(v.Type()); {
	case t != "":
		f.types = append(f.types, t)
	case isColumn(v.Type()):
		f.types = append(f.types, "i32", "i32")
	default:
		f.errorf(f.decl, "a variable %s of type %v", v.Name(), v.Type())
	}
	return n
}

// widen makes all types those of two lanes.
func (f *function) widen(params int, results []string) int {
	for _, list := range [][]string{f.types, results} {
		for i := range list {
			list[i] = "v128"
		}
	}
	return params
}

// op writes one instruction.
func (f *function) op(format string, args ...any) {
	line := fmt.Sprintf(format, args...)
	if f.wide {
		line = f.inTwoLanes(line)
	}
	f.code.WriteString(line + "\n")
}

// inTwoLanes is an instruction for two lanes.
func (f *function) inTwoLanes(line string) string {
	name, rest, _ := strings.Cut(line, " ")
	switch name {
	case "local.get", "local.set", "return", "unreachable", "i32.const", "i64x2.shl", "i64x2.shr_u":
		return line
	case "call":
		return line + twoLanes
	case "f64.reinterpret_i64", "i64.reinterpret_f64":
		return ""
	case "i64.and", "i64.or":
		return "v128" + name[len("i64"):]
	case "f64.const", "f64.add", "f64.sub", "f64.mul", "f64.div", "f64.abs", "i64.const", "i64.add", "i64.sub":
		return name[:3] + "x2" + name[3:] + " " + rest
	}
	f.errorf(f.decl, "%s has no form for two lanes", name)
	return line
}

func (f *function) open(kind string) int {
	f.op("%s", kind)
	f.depth++
	return f.depth
}

func (f *function) close() {
	f.op("end")
	f.depth--
}

func (f *function) block(list []ast.Stmt) {
	for _, s := range list {
		f.statement(s)
	}
}

func (f *function) statement(s ast.Stmt) {
	switch s := s.(type) {
	case *ast.AssignStmt:
		f.assign(s)
	case *ast.IncDecStmt:
		kind := wasmType(f.info.TypeOf(s.X))
		f.expr(s.X)
		f.op("%s.const 1", kind)
		f.op("%s.%s", kind, map[token.Token]string{token.INC: "add", token.DEC: "sub"}[s.Tok])
		f.set(s.X)
	case *ast.ExprStmt:
		f.expr(s.X)
	case *ast.ReturnStmt:
		if len(s.Results) == 0 && f.decl.Type.Results != nil {
			f.errorf(s, "a return without its results")
		}
		for _, r := range s.Results {
			f.expr(r)
		}
		f.op("return")
	case *ast.IfStmt:
		f.ifStatement(s)
	case *ast.ForStmt:
		f.forStatement(s)
	case *ast.RangeStmt:
		f.rangeStatement(s)
	case *ast.SwitchStmt:
		f.switchStatement(s)
	case *ast.BlockStmt:
		f.block(s.List)
	case *ast.DeclStmt:
		for _, spec := range s.Decl.(*ast.GenDecl).Specs {
			for _, n := range spec.(*ast.ValueSpec).Names {
				v := f.local(f.info.Defs[n]) // it may be one of a loop
				f.op("%s.const 0", f.types[v])
				f.op("local.set %d", v)
			}
		}
	case *ast.BranchStmt:
		f.branch(s)
	default:
		f.errorf(s, "a statement %T", s)
	}
}

func (f *function) branch(s *ast.BranchStmt) {
	to := f.breaks
	if s.Tok == token.CONTINUE {
		to = f.again
	}
	f.op("br %d", f.depth-to[len(to)-1])
}

// assign computes all right sides, then sets all left ones.
func (f *function) assign(s *ast.AssignStmt) {
	if s.Tok != token.ASSIGN && s.Tok != token.DEFINE {
		f.arithmetic(s, assignOps[s.Tok], s.Lhs[0], s.Rhs[0])
		f.set(s.Lhs[0])
		return
	}
	if f.store(s) {
		return
	}
	for _, r := range s.Rhs {
		f.expr(r)
	}
	for i := len(s.Lhs) - 1; i >= 0; i-- {
		f.set(s.Lhs[i])
	}
}

// store writes an assignment to memory: entries of slices, fields of structs.
// In a list of them no right side may read a variable that a left side sets.
func (f *function) store(s *ast.AssignStmt) bool {
	done := false
	for i, l := range s.Lhs {
		switch l := l.(type) {
		case *ast.IndexExpr:
			f.address(l)
			f.expr(s.Rhs[i])
			f.op("f64.store 0")
		case *ast.SelectorExpr:
			f.storeField(l, s.Rhs[i])
		default:
			return done
		}
		done = true
	}
	return done
}

// storeField sets a field, possibly to an append to itself.
func (f *function) storeField(l *ast.SelectorExpr, r ast.Expr) {
	at := f.field(l)
	if call, ok := r.(*ast.CallExpr); ok && fmt.Sprint(call.Fun) == "append" {
		f.op("i32.load %d", at) // after the last entry
		f.expr(l.X)
		f.op("i32.load %d\ni32.const 3\ni32.shl\ni32.add", at+4)
		f.expr(call.Args[1])
		f.op("f64.store 0")
		f.expr(l.X)
		f.expr(l.X)
		f.op("i32.load %d\ni32.const 1\ni32.add\ni32.store %d", at+4, at+4)
		return
	}
	if slice, ok := r.(*ast.SliceExpr); ok { // of itself
		f.as("i32", slice.High)
		f.op("i32.store %d", at+4)
		return
	}
	f.expr(r)
	f.op("%s.store %d", wasmType(f.info.TypeOf(l)), at)
}

// field leaves the address of the struct and returns the place of the field.
func (f *function) field(e *ast.SelectorExpr) int {
	f.expr(e.X)
	at := f.info.Selections[e]
	if at == nil {
		f.errorf(e, "%s is no field", e.Sel.Name)
		return 0
	}
	return 8 * at.Index()[0]
}

var assignOps = map[token.Token]token.Token{
	token.ADD_ASSIGN: token.ADD, token.SUB_ASSIGN: token.SUB, token.MUL_ASSIGN: token.MUL, token.QUO_ASSIGN: token.QUO,
	token.AND_ASSIGN: token.AND, token.OR_ASSIGN: token.OR, token.SHL_ASSIGN: token.SHL, token.SHR_ASSIGN: token.SHR,
}

// set pops the value on top of the stack into a variable.
func (f *function) set(to ast.Expr) {
	if at, ok := to.(*ast.SelectorExpr); ok && wasmType(f.info.TypeOf(to)) != "" {
		n := len(f.types)
		f.types = append(f.types, wasmType(f.info.TypeOf(to)))
		f.op("local.set %d", n)
		place := f.field(at)
		f.op("local.get %d\n%s.store %d", n, f.types[n], place)
		return
	}
	id, ok := to.(*ast.Ident)
	if !ok {
		f.errorf(to, "an assignment to %T among others", to)
		return
	}
	if id.Name == "_" {
		f.op("drop")
		return
	}
	v := f.info.Defs[id]
	if v != nil {
		f.local(v)
	} else {
		v = f.info.Uses[id]
	}
	if isColumn(v.Type()) {
		f.op("local.set %d", f.locals[v]+1)
	}
	f.op("local.set %d", f.locals[v])
}

func (f *function) ifStatement(s *ast.IfStmt) {
	if s.Init != nil {
		f.statement(s.Init)
	}
	f.expr(s.Cond)
	f.open("if")
	f.block(s.Body.List)
	if s.Else != nil {
		f.op("else")
		f.statement(s.Else)
	}
	f.close()
}

func (f *function) forStatement(s *ast.ForStmt) {
	if s.Init != nil {
		f.statement(s.Init)
	}
	f.loop(func() {
		if s.Cond != nil {
			f.expr(s.Cond)
			f.op("i32.eqz")
		}
	}, s.Cond != nil, s.Body.List, func() {
		if s.Post != nil {
			f.statement(s.Post)
		}
	})
}

// loop writes a loop that ends when the condition that leave writes, if any,
// is true.
func (f *function) loop(leave func(), asks bool, body []ast.Stmt, post func()) {
	f.breaks = append(f.breaks, f.open("block"))
	top := f.open("loop")
	leave()
	if asks {
		f.op("br_if %d", f.depth-f.breaks[len(f.breaks)-1])
	}
	f.again = append(f.again, f.open("block"))
	f.block(body)
	f.close()
	post()
	f.op("br %d", f.depth-top)
	f.close()
	f.close()
	f.breaks, f.again = f.breaks[:len(f.breaks)-1], f.again[:len(f.again)-1]
}

// rangeStatement counts over a number or a slice.
func (f *function) rangeStatement(s *ast.RangeStmt) {
	i, n := len(f.types), len(f.types)+1
	f.types = append(f.types, "i32", "i32")
	column := isColumn(f.info.TypeOf(s.X))
	f.expr(s.X)
	f.op("local.set %d", n)
	if column {
		f.op("drop") // the address
	}
	f.op("i32.const 0\nlocal.set %d", i)
	if id, ok := s.Key.(*ast.Ident); ok && id.Name != "_" {
		f.locals[f.info.Defs[id]] = i
	}
	f.loop(func() { f.op("local.get %d\nlocal.get %d\ni32.ge_s", i, n) }, true, f.withValue(s, i), func() {
		f.op("local.get %d\ni32.const 1\ni32.add\nlocal.set %d", i, i)
	})
}

// withValue returns the body of a range over a slice, its value first.
func (f *function) withValue(s *ast.RangeStmt, i int) []ast.Stmt {
	id, ok := s.Value.(*ast.Ident)
	if !ok {
		return s.Body.List
	}
	place := &ast.Ident{Name: "place", NamePos: s.Pos()}
	v := types.NewVar(s.Pos(), nil, "place", types.Typ[types.Int])
	f.info.Uses[place], f.locals[v] = v, i
	f.info.Types[place] = types.TypeAndValue{Type: types.Typ[types.Int]}
	entry := &ast.IndexExpr{X: s.X, Index: place}
	f.info.Types[entry] = types.TypeAndValue{Type: types.Typ[types.Float64]}
	take := &ast.AssignStmt{Lhs: []ast.Expr{id}, Tok: token.DEFINE, Rhs: []ast.Expr{entry}}
	return append([]ast.Stmt{take}, s.Body.List...)
}

// switchStatement is a chain of ifs. A case in it that breaks leaves it.
func (f *function) switchStatement(s *ast.SwitchStmt) {
	if s.Init != nil {
		f.statement(s.Init)
	}
	f.breaks = append(f.breaks, f.open("block"))
	var other *ast.CaseClause
	for _, c := range s.Body.List {
		c := c.(*ast.CaseClause)
		if c.List == nil {
			other = c
			continue
		}
		f.cases(s.Tag, c)
		f.open("if")
		f.block(c.Body)
		f.op("br %d", f.depth-f.breaks[len(f.breaks)-1])
		f.close()
	}
	if other != nil {
		f.block(other.Body)
	}
	f.close()
	f.breaks = f.breaks[:len(f.breaks)-1]
}

// cases leaves whether one of the expressions of a case matches.
func (f *function) cases(tag ast.Expr, c *ast.CaseClause) {
	for i, e := range c.List {
		if tag == nil {
			f.expr(e)
		} else {
			f.compare(token.EQL, tag, e)
		}
		if i > 0 {
			f.op("i32.or")
		}
	}
}
