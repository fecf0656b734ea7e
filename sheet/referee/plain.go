package referee

import (
	"fmt"

	"github.com/Knetic/govaluate"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// plainly writes an operation with govaluate's own operator, if there is an
// equivalent one. No operand is a blank or a fault.
func (p *planner) plainly(n *check.Node) error {
	switch n.Op {
	case check.Add:
		return p.sealed("+", n)
	case check.Sub:
		return p.sealed("-", n)
	case check.Mul:
		return p.sealed("*", n)
	case check.Div:
		return p.sealed("/", n)
	case check.Neg:
		return p.prefixed("-", n.A)
	case check.Not:
		return p.prefixed("!", n.A)
	case check.And:
		return p.lazy(govaluate.LOGICALOP, "&&", n)
	case check.Or:
		return p.lazy(govaluate.LOGICALOP, "||", n)
	case check.If:
		return p.branch(n)
	case check.SameText:
		return p.between(govaluate.COMPARATOR, "==", n.A, n.B)
	case check.NotSameText:
		return p.between(govaluate.COMPARATOR, "!=", n.A, n.B)
	case check.Pow:
		return p.function(p.two(kernel.Pow), n.A, n.B)
	}
	if compare := comparison(n.Op); compare != nil {
		return p.function(truthOf(compare), n.A, n.B)
	}
	return unknown(n)
}

func unknown(n *check.Node) error {
	return fmt.Errorf("referee: no such operation: %d", n.Op)
}

// sealed writes a op b with a check of its result.
func (p *planner) sealed(op string, n *check.Node) error {
	p.add(govaluate.FUNCTION, govaluate.ExpressionFunction(seal))
	return p.between(govaluate.MODIFIER, op, n.A, n.B)
}

// seal returns a finite number unchanged; anything else is a fault of the
// operation.
func seal(args ...any) (any, error) {
	if v, ok := args[0].(float64); !ok || v-v != 0 {
		return nil, errFault
	}
	return args[0], nil
}

func (p *planner) prefixed(op string, a check.NodeID) error {
	p.open()
	p.add(govaluate.PREFIX, op)
	if err := p.node(a); err != nil {
		return err
	}
	p.close()
	return nil
}

// lazy writes (a op b), b being a branch.
func (p *planner) lazy(kind govaluate.TokenKind, op string, n *check.Node) error {
	p.open()
	if err := p.node(n.A); err != nil {
		return err
	}
	p.add(kind, op)
	if err := p.inBranch(n.B); err != nil {
		return err
	}
	p.close()
	return nil
}

func (p *planner) inBranch(id check.NodeID) error {
	p.branches++
	err := p.node(id)
	p.branches--
	return err
}

// branch writes (c ? a : b).
func (p *planner) branch(n *check.Node) error {
	then, other := p.t.r.m.BranchesOf(n)
	p.open()
	if err := p.node(n.A); err != nil {
		return err
	}
	p.add(govaluate.TERNARY, "?")
	if err := p.inBranch(then); err != nil {
		return err
	}
	p.add(govaluate.TERNARY, ":")
	if err := p.inBranch(other); err != nil {
		return err
	}
	p.close()
	return nil
}

// comparison returns the kernel of a comparison of numbers, nil for others.
func comparison(op check.Op) func(a, b float64) float64 {
	switch op {
	case check.Less:
		return kernel.Less
	case check.LessEqual:
		return kernel.LessEqual
	case check.Greater:
		return kernel.Greater
	case check.GreaterEqual:
		return kernel.GreaterEqual
	case check.Equal:
		return kernel.Equal
	case check.NotEqual:
		return kernel.NotEqual
	}
	return nil
}

// truthOf makes a comparison a function of govaluate that gives a bool.
func truthOf(compare func(a, b float64) float64) govaluate.ExpressionFunction {
	return func(args ...any) (any, error) {
		a, b, err := pair(args)
		if err != nil {
			return nil, err
		}
		return compare(a, b) == 1, nil
	}
}
