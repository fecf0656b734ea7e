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
	f.block(f.decl.Body.List)
	if len(results) > 0 {
		f.op("unreachable")
	}
	fmt.Fprintf(&f.out, "\nfunc %s\nparam %s\nresult %s\nlocal %s\n%s\nend\n", f.decl.Name.Name,
		strings.Join(f.types[:params], " "), strings.Join(results, " "), strings.Join(f.types[params:], " "), strings.TrimSpace(f.code.String()))
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

// op writes one instruction.
func (f *function) op(format string, args ...any) {
	fmt.Fprintf(&f.code, format, args...)
	f.code.WriteByte('\n')
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
		one := &ast.BasicLit{Kind: token.INT, Value: "1"}
		f.info.Types[one] = f.info.Types[s.X]
		f.expr(s.X)
		f.op("i32.const 1")
		f.op("i32.%s", map[token.Token]string{token.INC: "add", token.DEC: "sub"}[s.Tok])
		f.set(s.X)
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
	if at, ok := s.Lhs[0].(*ast.IndexExpr); ok && len(s.Lhs) == 1 {
		f.address(at)
		f.expr(s.Rhs[0])
		f.op("f64.store")
		return
	}
	for _, r := range s.Rhs {
		f.expr(r)
	}
	for i := len(s.Lhs) - 1; i >= 0; i-- {
		f.set(s.Lhs[i])
	}
}

var assignOps = map[token.Token]token.Token{
	token.ADD_ASSIGN: token.ADD, token.SUB_ASSIGN: token.SUB, token.MUL_ASSIGN: token.MUL, token.QUO_ASSIGN: token.QUO,
	token.AND_ASSIGN: token.AND, token.OR_ASSIGN: token.OR, token.SHL_ASSIGN: token.SHL, token.SHR_ASSIGN: token.SHR,
}

// set takes the value on top of the stack into a variable.
func (f *function) set(to ast.Expr) {
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

// loop writes a loop that ends when leave, if it asks, leaves a truth.
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

// cases leaves whether one of the expressions of a case is met.
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
