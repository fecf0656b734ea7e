package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
)

// findRecursion reports functions that call each other in a cycle, with the
// path, and marks them so that none is ever expanded.
func (c *checker) findRecursion(f *function) {
	if f.walked != fresh {
		return
	}
	type visit struct {
		f     *function
		calls []*function
	}
	stack := []visit{{f, c.callees(f)}}
	f.walked = busy
	for len(stack) > 0 {
		top := &stack[len(stack)-1]
		if len(top.calls) == 0 {
			top.f.walked = settled
			stack = stack[:len(stack)-1]
			continue
		}
		next := top.calls[0]
		top.calls = top.calls[1:]
		switch next.walked {
		case fresh:
			next.walked = busy
			stack = append(stack, visit{next, c.callees(next)})
		case busy:
			names := next.decl.Name.Text
			for i := range stack {
				if stack[i].f == next {
					for _, v := range stack[i+1:] {
						names += " → " + v.f.decl.Name.Text
					}
				}
			}
			for i := len(stack) - 1; i >= 0 && stack[i].f != next; i-- {
				stack[i].f.broken = true
			}
			next.broken = true
			c.failIn(next.file, next.decl.Name.Span, diag.Recursion, "a function cannot call itself: %s → %s", names, next.decl.Name.Text).
				help("a table computes step by step: prev(…) is the row before")
		}
	}
}

// callees lists the functions that the body of f calls.
func (c *checker) callees(f *function) []*function {
	var found []*function
	s := &scope{body: &body{function: f}}
	look := func(e syntax.Expr) bool {
		if call, ok := e.(*syntax.Call); ok {
			if g := c.findFunction(s, call.Name.Text); g != nil {
				found = append(found, g)
			}
		}
		return true
	}
	for _, st := range f.decl.Steps {
		walk(st.Formula, look)
	}
	for _, v := range f.decl.Valid {
		walk(v.Cond, look)
	}
	walk(f.decl.Body, look)
	return found
}

func walk(e syntax.Expr, look func(syntax.Expr) bool) {
	if e != nil {
		syntax.Walk(e, look)
	}
}

// checkFunctions checks the sheet's own functions, called or not, if their
// parameters declare what they take.
func (c *checker) checkFunctions() {
	for i := 0; i < len(c.functions); i++ {
		if f := c.functions[i]; !f.library {
			c.checkFunction(f)
		}
	}
}

func (c *checker) checkFunction(f *function) {
	c.resolve(f)
	if f.broken {
		return
	}
	if !f.generic {
		c.checkBody(f)
	}
	c.checkExamples(f)
}

// checkBody checks a body for the types that its parameters declare.
func (c *checker) checkBody(f *function) {
	b := &body{function: f}
	for _, p := range f.params {
		if p.form == likeAnother {
			p = f.params[p.like]
		}
		b.types = append(b.types, p.typ)
	}
	k := f.key(b.types)
	if _, ok := c.calls[k]; !ok {
		c.calls[k] = c.makeInstance(b)
	}
}

// checkExamples checks the worked examples of a function.
func (c *checker) checkExamples(f *function) {
	saved := c.work
	c.work = work{file: f.file}
	outside := &function{decl: &syntax.Function{Name: f.decl.Name}, file: f.file, library: f.library}
	for _, e := range f.decl.Example {
		lo := NodeID(len(c.m.Nodes))
		c.build(&scope{body: &body{function: outside}}, e)
		c.inferRange(lo, NodeID(len(c.m.Nodes)))
	}
	c.work = saved
}
