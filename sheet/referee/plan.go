package referee

import (
	"fmt"
	"strconv"

	"github.com/Knetic/govaluate"

	"gearleaf/sheet/check"
)

// The bounds of one govaluate expression. It plans and evaluates recursively,
// with a dozen calls per bracket, and a formula that is too deep overflows the
// stack. Therefore deeper and longer ones are split.
const (
	maxDepth  = 40
	maxTokens = 1500
)

// planner writes one expression for govaluate.
type planner struct {
	t        *tree
	root     check.NodeID
	gently   bool
	sheaf    *sheaf
	tokens   []govaluate.ExpressionToken
	depth    int
	branches int // the number of branches around the current node
}

// plan makes the sheaf of f.
func (f *formula) plan(gently bool) (*sheaf, error) {
	s := &sheaf{}
	return s, f.t.express(s, f.node, gently)
}

// express adds the expression of node to s, after those that it reads.
func (t *tree) express(s *sheaf, node check.NodeID, gently bool) error {
	p := &planner{t: t, root: node, gently: gently, sheaf: s}
	if err := p.node(node); err != nil {
		return err
	}
	e, err := govaluate.NewEvaluableExpressionFromTokens(p.tokens)
	if err != nil {
		return fmt.Errorf("referee: govaluate: %w", err)
	}
	s.expressions = append(s.expressions, e)
	return nil
}

// node writes the node id, or a reference to it if it is split off.
func (p *planner) node(id check.NodeID) error {
	n := p.t.r.m.Node(id)
	if isLeaf(n) {
		p.leaf(id, n)
		return nil
	}
	if id != p.root {
		switch {
		case p.t.shared[id]:
			p.function(p.ask(id))
			return nil
		case p.depth < maxDepth && len(p.tokens) < maxTokens:
		case p.branches > 0:
			p.function(p.ask(id))
			return nil
		default:
			return p.before(id)
		}
	}
	p.depth++
	err := p.operation(id, n)
	p.depth--
	return err
}

// before computes the node id in an expression of its own before this one, and
// reads its slot.
func (p *planner) before(id check.NodeID) error {
	s := p.sheaf
	if err := p.t.express(s, id, p.gently); err != nil {
		return err
	}
	slot := len(s.expressions) - 1
	for len(s.slots) <= slot {
		s.slots, s.truths = append(s.slots, 0), append(s.truths, false)
	}
	s.truths[slot] = p.t.r.isTruth(id)
	p.add(govaluate.VARIABLE, string(rune(slotName))+strconv.Itoa(slot))
	return nil
}

// ask returns the function that computes the node id when it is called.
func (p *planner) ask(id check.NodeID) govaluate.ExpressionFunction {
	part, truth, gently := p.t.part(id), p.t.r.isTruth(id), p.gently
	return func(...any) (any, error) {
		v, err := part.get()
		if err != nil {
			return nil, err
		}
		return let(v, truth, gently)
	}
}

func (p *planner) add(kind govaluate.TokenKind, value any) {
	p.tokens = append(p.tokens, govaluate.ExpressionToken{Kind: kind, Value: value})
}

func (p *planner) open()  { p.add(govaluate.CLAUSE, '(') }
func (p *planner) close() { p.add(govaluate.CLAUSE_CLOSE, ')') }

// leaf writes a constant or a name.
func (p *planner) leaf(id check.NodeID, n *check.Node) {
	switch {
	case n.Op != check.Const || n.Num() != n.Num():
		p.add(govaluate.VARIABLE, string(rune(nodeName))+strconv.Itoa(int(id)))
	case p.t.r.isTruth(id) && !p.gently:
		p.add(govaluate.BOOLEAN, n.Num() == 1)
	default:
		p.add(govaluate.NUMERIC, n.Num())
	}
}

// function writes a call of f with nodes for arguments, two at most.
func (p *planner) function(f govaluate.ExpressionFunction, args ...check.NodeID) error {
	p.add(govaluate.FUNCTION, f)
	p.open()
	for i, a := range args {
		if i > 0 {
			p.add(govaluate.SEPARATOR, ",")
		}
		if err := p.node(a); err != nil {
			return err
		}
	}
	p.close()
	return nil
}

// between writes (a op b) in brackets; before the bracket there may be a
// function.
func (p *planner) between(kind govaluate.TokenKind, op string, a, b check.NodeID) error {
	p.open()
	if err := p.node(a); err != nil {
		return err
	}
	p.add(kind, op)
	if err := p.node(b); err != nil {
		return err
	}
	p.close()
	return nil
}

// operation writes a node that is not a leaf.
func (p *planner) operation(id check.NodeID, n *check.Node) error {
	switch n.Op {
	case check.Call, check.ValidCall:
		return p.function(p.call(n))
	case check.Intrinsic:
		return p.intrinsic(n)
	case check.Aggregate:
		return p.function(p.aggregate(id, n))
	case check.Lookup:
		return p.function(p.lookup(id, n), n.A)
	case check.IndexAt:
		return p.function(p.index(id, n), n.A)
	}
	if p.gently {
		return p.carefully(n)
	}
	return p.plainly(n)
}

// intrinsic writes a call of an intrinsic. More than two arguments are
// computed separately and folded.
func (p *planner) intrinsic(n *check.Node) error {
	in, args := p.t.r.m.IntrinsicOf(n), p.t.r.m.ArgsOf(n)
	switch len(args) {
	case 0:
		return p.function(p.none(false, func() float64 { return in.Apply() }))
	case 1:
		return p.function(p.one(false, in.Apply1), args[0])
	case 2:
		return p.function(p.two(in.Apply2), args[0], args[1])
	}
	return p.function(p.many(in, args))
}
