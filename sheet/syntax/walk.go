package syntax

// Walk calls visit for e and, if visit returns true, for the expressions within
// it, in the order of the text. A nil e is skipped.
func Walk(e Expr, visit func(Expr) bool) {
	if e == nil || !visit(e) {
		return
	}
	switch e := e.(type) {
	case *Index:
		Walk(e.Column, visit)
		Walk(e.Row, visit)
	case *Call:
		walkAll(e.Args, visit)
	case *Unary:
		Walk(e.X, visit)
	case *Binary:
		Walk(e.X, visit)
		Walk(e.Y, visit)
	case *Chain:
		walkAll(e.Operands, visit)
	case *If:
		Walk(e.Cond, visit)
		Walk(e.Then, visit)
		Walk(e.Else, visit)
	case *Paren:
		Walk(e.X, visit)
	}
}

func walkAll(list []Expr, visit func(Expr) bool) {
	for _, e := range list {
		Walk(e, visit)
	}
}
