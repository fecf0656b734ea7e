package referee

import (
	"fmt"

	"github.com/Knetic/govaluate"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// tree is one formula of the sheet, or of a function's step or result, split
// into parts.
type tree struct {
	r    *Referee
	root *formula
	// parts are those computed when they are first needed, because they are in
	// a branch, are shared, or are arguments of a call.
	parts map[check.NodeID]*part
	list  []*part
	// shared are the nodes with several parents, nil for none.
	shared map[check.NodeID]bool
}

// part is a piece of a tree that is computed once each time, or never.
type part struct {
	formula
	done  bool
	value float64
}

// formula is a node computed by itself. Its plans are made when needed.
type formula struct {
	t       *tree
	node    check.NodeID
	plain   *sheaf
	careful *sheaf
}

// sheaf is a formula for govaluate: expressions that are evaluated in order,
// each of which may read the results of earlier ones by slots. The last one is
// the formula itself.
type sheaf struct {
	expressions []*govaluate.EvaluableExpression
	slots       []float64
	truths      []bool    // of slots: whether they hold a logical value
	conditions  []float64 // careful: the condition of each branch
	sight       sight     // of the evaluation that is running: functions do not call themselves
}

func newTree(r *Referee, root check.NodeID) *tree {
	t := &tree{r: r}
	t.root = &formula{t: t, node: root}
	t.shared = r.shared.find(r.m, root)
	return t
}

// part returns the part of t that begins at node.
func (t *tree) part(node check.NodeID) *part {
	if p, ok := t.parts[node]; ok {
		return p
	}
	if t.parts == nil {
		t.parts = map[check.NodeID]*part{}
	}
	p := &part{formula: formula{t: t, node: node}}
	t.parts[node] = p
	t.list = append(t.list, p)
	return p
}

// value evaluates t in the scope s.
func (t *tree) value(s *scope) (float64, error) {
	for _, p := range t.list {
		p.done = false
	}
	before := t.r.now
	t.r.now = s
	v, err := t.root.run()
	t.r.now = before
	return v, err
}

// get returns the value of p, computing it the first time.
func (p *part) get() (float64, error) {
	if p.done {
		return p.value, nil
	}
	v, err := p.run()
	p.value, p.done = v, err == nil
	return v, err
}

// run evaluates f: plainly, and carefully if it reads a blank.
func (f *formula) run() (float64, error) {
	if n := f.t.r.m.Node(f.node); isLeaf(n) {
		return f.t.r.leaf(n, f.t.r.now)
	}
	v, err := f.evaluate(&f.plain, false)
	if err == errBlank {
		v, err = f.evaluate(&f.careful, true)
	}
	if err == errFault {
		return kernel.Fault, nil
	}
	return v, err
}

// evaluate evaluates the sheaf at place, which it makes if necessary.
func (f *formula) evaluate(place **sheaf, gently bool) (v float64, err error) {
	if *place == nil {
		if *place, err = f.plan(gently); err != nil {
			return 0, err
		}
	}
	sheaf := *place
	sheaf.sight = sight{r: f.t.r, sheaf: sheaf, scope: f.t.r.now, gently: gently}
	for i, e := range sheaf.expressions {
		if v, err = evaluate(e, &sheaf.sight); err != nil {
			return 0, err
		}
		if i < len(sheaf.slots) {
			sheaf.slots[i] = v
		}
	}
	return v, nil
}

// evaluate evaluates one expression. A panic of govaluate is a defect like its
// errors.
func evaluate(e *govaluate.EvaluableExpression, s *sight) (v float64, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("referee: govaluate: %v", p)
		}
	}()
	result, err := e.Eval(s)
	if err != nil {
		return 0, err
	}
	switch x := result.(type) {
	case float64:
		return x, nil
	case bool:
		return kernel.Truth(x), nil
	}
	return 0, fmt.Errorf("referee: govaluate gave %v", result)
}

// sharing finds the nodes of a tree with several parents.
type sharing struct {
	seen  []bool // by node; all false between finds
	stack []check.NodeID
	reset []check.NodeID
}

// find returns the shared nodes below root that are not leaves, nil for none.
func (s *sharing) find(m *check.Model, root check.NodeID) (shared map[check.NodeID]bool) {
	if s.seen == nil {
		s.seen = make([]bool, len(m.Nodes))
	}
	s.stack, s.reset = append(s.stack[:0], root), s.reset[:0]
	for len(s.stack) > 0 {
		id := s.stack[len(s.stack)-1]
		s.stack = s.stack[:len(s.stack)-1]
		if s.seen[id] {
			if shared == nil {
				shared = map[check.NodeID]bool{}
			}
			shared[id] = true
			continue
		}
		if n := m.Node(id); !isLeaf(n) {
			s.seen[id] = true
			s.reset = append(s.reset, id)
			s.stack = m.AppendOperands(s.stack, n)
		}
	}
	for _, id := range s.reset {
		s.seen[id] = false
	}
	return shared
}
