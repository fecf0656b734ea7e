package main

import (
	"fmt"
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"math"
	"strconv"
)

// expr leaves the value of e on the stack; for a slice, its address and length.
func (f *function) expr(e ast.Expr) {
	if v := f.info.Types[e]; v.Value != nil {
		f.constant(e, wasmType(v.Type), v.Value)
		return
	}
	switch e := e.(type) {
	case *ast.ParenExpr:
		f.expr(e.X)
	case *ast.Ident:
		f.variable(e)
	case *ast.UnaryExpr:
		f.unary(e)
	case *ast.BinaryExpr:
		f.binary(e)
	case *ast.CallExpr:
		f.call(e)
	case *ast.IndexExpr:
		f.index(e)
	case *ast.SelectorExpr:
		f.readField(e)
	case *ast.SliceExpr:
		f.slice(e)
	default:
		f.errorf(e, "an expression %T", e)
	}
}

func (f *function) constant(at ast.Expr, kind string, v constant.Value) {
	switch kind {
	case "f64":
		x, _ := constant.Float64Val(constant.ToFloat(v))
		f.op("f64.const %s", number(x))
	case "i32", "i64":
		if v.Kind() == constant.Bool {
			f.op("i32.const %d", map[bool]int{true: 1}[constant.BoolVal(v)])
			return
		}
		n, ok := constant.Int64Val(constant.ToInt(v))
		if u, unsigned := constant.Uint64Val(constant.ToInt(v)); !ok && unsigned {
			n = int64(u)
		}
		f.op("%s.const %d", kind, n)
	default:
		f.errorf(at, "a constant of type %v", f.info.TypeOf(at))
	}
}

// number writes x so that every bit of it is read back.
func number(x float64) string {
	switch {
	case x != x:
		return fmt.Sprintf("nan:%#x", math.Float64bits(x)&(1<<52-1))
	case math.IsInf(x, 0):
		return map[bool]string{true: "inf", false: "-inf"}[x > 0]
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

func (f *function) variable(id *ast.Ident) {
	v := f.info.Uses[id]
	if n, ok := f.locals[v]; ok {
		f.op("local.get %d", n)
		if isColumn(v.Type()) {
			f.op("local.get %d", n+1)
		}
		return
	}
	if start, ok := f.vars[v]; ok {
		f.expr(start)
		return
	}
	f.errorf(id, "%s is not known", id.Name)
}

func (f *function) unary(e *ast.UnaryExpr) {
	kind := wasmType(f.info.TypeOf(e.X))
	switch {
	case e.Op == token.NOT:
		f.expr(e.X)
		f.op("i32.eqz")
	case e.Op == token.SUB && kind == "f64":
		f.expr(e.X)
		f.op("f64.neg")
	case e.Op == token.SUB:
		f.op("%s.const 0", kind)
		f.expr(e.X)
		f.op("%s.sub", kind)
	default:
		f.errorf(e, "an operation %v", e.Op)
	}
}

func (f *function) binary(e *ast.BinaryExpr) {
	switch e.Op {
	case token.LAND:
		f.expr(e.X)
		f.op("if i32")
		f.expr(e.Y)
		f.op("else\ni32.const 0\nend")
	case token.LOR:
		f.expr(e.X)
		f.op("if i32\ni32.const 1\nelse")
		f.expr(e.Y)
		f.op("end")
	case token.EQL, token.NEQ, token.LSS, token.LEQ, token.GTR, token.GEQ:
		f.compare(e.Op, e.X, e.Y)
	default:
		f.arithmetic(e, e.Op, e.X, e.Y)
	}
}

// compare writes a comparison; whole numbers are compared according to their
// sign type.
func (f *function) compare(op token.Token, x, y ast.Expr) {
	t := f.info.TypeOf(x)
	if f.info.Types[x].Value != nil {
		t = f.info.TypeOf(y)
	}
	kind, sign := wasmType(t), ""
	if kind != "f64" && op != token.EQL && op != token.NEQ {
		sign = "_s"
		if t.Underlying().(*types.Basic).Info()&types.IsUnsigned != 0 {
			sign = "_u"
		}
	}
	f.as(kind, x)
	f.as(kind, y)
	name := map[token.Token]string{token.EQL: "eq", token.NEQ: "ne", token.LSS: "lt", token.LEQ: "le", token.GTR: "gt", token.GEQ: "ge"}[op]
	f.op("%s.%s%s", kind, name, sign)
}

// as is expr, with a constant as its other operand.
func (f *function) as(kind string, e ast.Expr) {
	if v := f.info.Types[e].Value; v != nil {
		f.constant(e, kind, v)
		return
	}
	f.expr(e)
}

func (f *function) arithmetic(at ast.Node, op token.Token, x, y ast.Expr) {
	kind := wasmType(f.info.TypeOf(x))
	f.as(kind, x)
	if f.wide && (op == token.SHL || op == token.SHR) { // both lanes by the same amount
		f.as("i32", y)
		f.op("i64x2.%s", map[token.Token]string{token.SHL: "shl", token.SHR: "shr_u"}[op])
		return
	}
	f.as(kind, y)
	unsigned := false
	if b, ok := f.info.TypeOf(x).Underlying().(*types.Basic); ok {
		unsigned = b.Info()&types.IsUnsigned != 0
	}
	name := map[token.Token]string{
		token.ADD: "add", token.SUB: "sub", token.MUL: "mul", token.AND: "and", token.OR: "or", token.XOR: "xor", token.SHL: "shl",
		token.QUO: "div", token.REM: "rem", token.SHR: "shr",
	}[op]
	if kind != "f64" && (op == token.QUO || op == token.REM || op == token.SHR) {
		name += map[bool]string{true: "_u", false: "_s"}[unsigned]
	}
	if name == "" || kind == "" {
		f.errorf(at, "an operation %v", op)
	}
	if kind == "f64" && (op == token.ADD || op == token.SUB) {
		f.rounded(x)
		f.rounded(y)
	}
	f.op("%s.%s", kind, name)
}

// rounded refuses an unrounded product in a sum, even through a variable.
func (f *function) rounded(e ast.Expr) {
	if p, ok := e.(*ast.ParenExpr); ok {
		f.rounded(p.X)
		return
	}
	if b, ok := e.(*ast.BinaryExpr); ok && b.Op == token.MUL && f.info.Types[e].Value == nil {
		f.errorf(e, "a product in a sum that is not rounded: write float64(…)")
	}
}

// index reads an entry of a slice, or of an array of constants.
func (f *function) index(e *ast.IndexExpr) {
	if id, ok := e.X.(*ast.Ident); ok {
		if list, ok := f.vars[f.info.Uses[id]].(*ast.CompositeLit); ok {
			n, exact := constant.Int64Val(f.info.Types[e.Index].Value)
			if !exact {
				f.errorf(e, "an index that is not a constant")
				return
			}
			f.expr(list.Elts[n])
			return
		}
	}
	f.address(e)
	f.op("f64.load 0")
}

// readField reads a field of a struct.
func (f *function) readField(e *ast.SelectorExpr) {
	at := f.field(e)
	if isColumn(f.info.TypeOf(e)) {
		f.op("i32.load %d", at)
		f.expr(e.X)
		f.op("i32.load %d", at+4)
		return
	}
	f.op("%s.load %d", wasmType(f.info.TypeOf(e)), at)
}

// slice leaves a part of a slice, from its start or to its end.
func (f *function) slice(e *ast.SliceExpr) {
	f.expr(e.X)
	if e.Low == nil {
		f.op("drop")
		f.as("i32", e.High)
		return
	}
	if e.High != nil {
		f.errorf(e, "a part of a slice with two ends")
	}
	n := len(f.types)
	f.types = append(f.types, "i32")
	f.op("local.set %d", n)
	f.as("i32", e.Low)
	f.op("i32.const 3\ni32.shl\ni32.add\nlocal.get %d", n)
	f.as("i32", e.Low)
	f.op("i32.sub")
}

// address leaves the address of an entry of a slice.
func (f *function) address(e *ast.IndexExpr) {
	if !isColumn(f.info.TypeOf(e.X)) {
		f.errorf(e, "an index of %T", e.X)
		return
	}
	switch x := e.X.(type) {
	case *ast.SelectorExpr:
		f.op("i32.load %d", f.field(x))
	case *ast.Ident:
		f.op("local.get %d", f.locals[f.info.Uses[x]])
	default:
		f.errorf(e, "an index of %T", e.X)
	}
	f.as("i32", e.Index)
	f.op("i32.const 3\ni32.shl\ni32.add")
}

func (f *function) call(e *ast.CallExpr) {
	if f.info.Types[e.Fun].IsType() {
		f.convert(e)
		return
	}
	switch fun := e.Fun.(type) {
	case *ast.Ident:
		f.callNamed(fun, e)
	case *ast.SelectorExpr:
		if f.info.Selections[fun] != nil {
			f.callMethod(fun, e)
			return
		}
		f.callMath(fun.Sel.Name, e)
	default:
		f.errorf(e, "a call of %T", e.Fun)
	}
}

func (f *function) callNamed(fun *ast.Ident, e *ast.CallExpr) {
	for _, a := range e.Args {
		f.expr(a)
	}
	switch {
	case fun.Name == "len":
		n := len(f.types)
		f.types = append(f.types, "i32")
		f.op("local.set %d\ndrop\nlocal.get %d", n, n)
	case fun.Name == "min" || fun.Name == "max":
		f.errorf(e, "%s", fun.Name)
	default:
		if f.ask(fun.Name); f.wide {
			f.ask(fun.Name + twoLanes)
		}
		f.op("call %s", fun.Name)
	}
}

func (f *function) callMethod(fun *ast.SelectorExpr, e *ast.CallExpr) {
	f.expr(fun.X)
	for _, a := range e.Args {
		f.expr(a)
	}
	owner := f.info.TypeOf(fun.X)
	if pointer, ok := owner.(*types.Pointer); ok {
		owner = pointer.Elem()
	}
	name := owner.(*types.Named).Obj().Name() + "." + fun.Sel.Name
	f.ask(name)
	f.op("call %s", name)
}

// callMath writes the functions of package math that are instructions.
func (f *function) callMath(name string, e *ast.CallExpr) {
	switch name {
	case "NaN":
		f.op("f64.const nan:0x8000000000000")
		return
	case "Inf":
		n, _ := constant.Int64Val(f.info.Types[e.Args[0]].Value)
		f.op("f64.const %s", number(math.Inf(int(n))))
		return
	}
	instruction, ok := map[string]string{
		"Abs": "f64.abs", "Sqrt": "f64.sqrt", "Floor": "f64.floor", "Ceil": "f64.ceil", "Trunc": "f64.trunc", "Copysign": "f64.copysign",
		"Float64bits": "i64.reinterpret_f64", "Float64frombits": "f64.reinterpret_i64",
	}[name]
	if !ok {
		f.errorf(e, "math.%s differs from processor to processor", name)
	}
	for i, a := range e.Args {
		f.as(map[bool]string{true: "i64", false: "f64"}[name == "Float64frombits" && i == 0], a)
	}
	f.op("%s", instruction)
}

func (f *function) convert(e *ast.CallExpr) {
	to, from := wasmType(f.info.TypeOf(e)), wasmType(f.info.TypeOf(e.Args[0]))
	f.expr(e.Args[0])
	if to == from {
		return
	}
	op, ok := map[string]string{
		"f64 i32": "f64.convert_i32_s", "i32 f64": "i32.trunc_sat_f64_s", "i64 f64": "i64.trunc_sat_f64_s",
		"i64 i32": "i64.extend_i32_s", "i32 i64": "i32.wrap_i64", "f64 i64": "f64.convert_i64_u",
	}[to+" "+from]
	if !ok {
		f.errorf(e, "a conversion of %s to %s", from, to)
	}
	f.op("%s", op)
}
