package referee

import (
	"github.com/Knetic/govaluate"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// carefully writes an operation on operands that may be blank: all operations
// are functions of the kernel, and logical values are 1 and 0.
func (p *planner) carefully(n *check.Node) error {
	if f := careful2(n.Op); f != nil {
		return p.function(p.two(f), n.A, n.B)
	}
	switch n.Op {
	case check.Neg:
		return p.function(p.one(false, kernel.Neg), n.A)
	case check.Not:
		return p.function(p.one(false, kernel.Not), n.A)
	case check.If:
		then, other := p.t.r.m.BranchesOf(n)
		return p.choice(n.A,
			func() error { return p.inBranch(then) },
			func() error { return p.inBranch(other) })
	case check.And:
		return p.choice(n.A, func() error { return p.inBranch(n.B) }, p.number(0))
	case check.Or:
		return p.choice(n.A, p.number(1), func() error { return p.inBranch(n.B) })
	}
	return unknown(n)
}

// careful2 returns the kernel of an operation on two operands, nil for
// others.
func careful2(op check.Op) func(a, b float64) float64 {
	switch op {
	case check.Add:
		return kernel.Add
	case check.Sub:
		return kernel.Sub
	case check.Mul:
		return kernel.Mul
	case check.Div:
		return kernel.Div
	case check.Pow:
		return kernel.Pow
	case check.SameText:
		return kernel.SameText
	case check.NotSameText:
		return kernel.NotSameText
	}
	return comparison(op)
}

func (p *planner) number(v float64) func() error {
	return func() error {
		p.add(govaluate.NUMERIC, v)
		return nil
	}
}

// choice writes (yes(c) ? a : (blank() ? a blank : b)): a blank condition is
// the result, and neither branch is evaluated. yes keeps the condition for
// blank.
func (p *planner) choice(c check.NodeID, then, otherwise func() error) error {
	s, place := p.sheaf, len(p.sheaf.conditions)
	s.conditions = append(s.conditions, 0)
	yes := func(args ...any) (any, error) {
		v, err := single(args)
		if err != nil {
			return nil, err
		}
		s.conditions[place] = v
		return v == 1, nil
	}
	blank := func(...any) (any, error) { return kernel.IsBlank(s.conditions[place]), nil }

	p.open()
	if err := p.function(yes, c); err != nil {
		return err
	}
	p.add(govaluate.TERNARY, "?")
	if err := then(); err != nil {
		return err
	}
	p.add(govaluate.TERNARY, ":")
	p.open()
	if err := p.function(blank); err != nil {
		return err
	}
	p.add(govaluate.TERNARY, "?")
	p.add(govaluate.NUMERIC, kernel.Blank)
	p.add(govaluate.TERNARY, ":")
	if err := otherwise(); err != nil {
		return err
	}
	p.close()
	p.close()
	return nil
}
