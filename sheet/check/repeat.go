package check

import (
	"math"
	"slices"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Lines that are alike but for the names in them (syntax.Repeat) are checked
// once for each set of types of what they read: everything that is said about
// a formula follows from its line and from those. So a cell that repeats
// another takes over its nodes and its type, and has only its names resolved.
// Where the types are other ones, or something had to be said, the line is
// read and checked like any other.

// pattern is what is known of the cells of one syntax.Pattern.
type pattern struct{ variants []variant }

// mostVariants is how many sets of types a pattern remembers.
const mostVariants = 8

// variant is a pattern for cells of certain types.
type variant struct {
	reads []reading // of the cells that the formula reads, in order
	nodes []Node    // operands counted from the first node and the first argument
	moves []move    // of each node
	args  []NodeID
	moved []bool // of each argument: it is an operand
	root  NodeID

	typ   TypeID
	unit  unitID
	hasPi bool
	look  *Look
	to    float64
	form  uint16
}

// form is what formulas have in common that are the same but for the cells
// that they read.
type form struct {
	reads []NodeID // how far before the formula's own node those stand that read cells, in order
}

// FormOf returns the number of the form that the formula of c has, counted
// from 1; 0 stands for no form. Formulas of one form are the same but for the
// cells that they read.
func (m *Model) FormOf(c *Cell) int { return int(c.form) }

// FormReads appends to list the cells that the formula of c reads, which has
// a form, in order.
func (m *Model) FormReads(list []int32, c *Cell) []int32 {
	for _, back := range m.forms[c.form-1].reads {
		list = append(list, m.Nodes[c.Formula-back].Ref())
	}
	return list
}

// addForm adds the form of v, if it reads nothing but cells and there is room
// for one more.
func (m *Model) addForm(v *variant) {
	f := form{}
	for i := range v.nodes {
		switch v.nodes[i].Op {
		case Call:
			return
		case CellRef:
			f.reads = append(f.reads, v.root-NodeID(i))
		}
	}
	if len(m.forms) < math.MaxUint16 {
		m.forms = append(m.forms, f)
		v.form = uint16(len(m.forms))
	}
}

// reading is what a formula that reads a cell can know of it.
type reading struct {
	typ   TypeID
	unit  unitID
	hasPi bool
}

// move is what becomes of the operands of a node that is taken over.
type move uint8

const (
	noMove   move = iota
	moveA         // A is an operand
	moveBoth      // so is B
	moveIf        // A is one, B is a place in Args
	moveCall      // A is a place in Args
	moveRef       // B is a cell: the next name
)

// moveOf returns how to take over a node of the operation op; false for what
// is checked by itself each time.
func moveOf(op Op) (move, bool) {
	switch op {
	case Const:
		return noMove, true
	case CellRef:
		return moveRef, true
	case Neg, Not:
		return moveA, true
	case Add, Sub, Mul, Div, Pow, Less, LessEqual, Greater, GreaterEqual, Equal, NotEqual, SameText, NotSameText, And, Or:
		return moveBoth, true
	case If:
		return moveIf, true
	case Intrinsic, Call:
		return moveCall, true
	}
	return noMove, false
}

// declareRepeat takes in a cell that repeats another.
func (c *checker) declareRepeat(file int, r *syntax.Repeat) {
	tree := c.in.Files[file].Tree
	if _, known := c.merge.names.in(tree.File.Text, r.Names[0]); known {
		c.declareCell(file, tree.Expand(r))
		return
	}
	c.addNamed(file, r.Name(tree.File), &r.Lead, nil)
}

// repeatOf returns the line of q where it repeats another, else nil.
func (c *checker) repeatOf(q *Quantity) *syntax.Repeat {
	r, _ := q.Origin.from.tree.Stmts[q.place].(*syntax.Repeat)
	return r
}

// expanded is a repeat read as a cell.
type expanded struct {
	repeat *syntax.Repeat
	cell   *syntax.Cell
}

// expand returns the declaration of q, which is r.
func (c *checker) expand(q *Quantity, r *syntax.Repeat) *syntax.Cell {
	if c.expanded.repeat != r {
		c.expanded = expanded{r, q.Origin.from.tree.Expand(r)}
	}
	return c.expanded.cell
}

// patternOf returns what is known of the pattern of r, which stands where q
// does.
func (c *checker) patternOf(q *Quantity, r *syntax.Repeat) *pattern {
	if c.patterns == nil {
		c.patterns = make([][]pattern, len(c.in.Files))
	}
	list := c.patterns[q.Origin.File]
	if list == nil {
		list = make([]pattern, c.in.Files[q.Origin.File].Tree.Patterns())
		c.patterns[q.Origin.File] = list
	}
	return &list[r.Pattern.ID]
}

// read resolves the names that r reads into c.reads. It returns a subject that
// must be typed first, -1 for none; ok tells that all are settled cells.
func (c *checker) read(file *source.File, r *syntax.Repeat) (wait int32, ok bool) {
	c.reads, ok = c.reads[:0], true
	for _, span := range r.Names[1:] {
		id, known := c.merge.names.in(file.Text, span)
		switch {
		case !known || id < 0:
			ok = false
			continue
		case c.subjects[id].state == fresh:
			return id, false
		case c.subjects[id].state == busy:
			ok = false
		}
		c.reads = append(c.reads, id)
	}
	return -1, ok
}

// takeOver settles the cell s, which repeats another, if what it reads is
// settled and it is as a variant that is known.
func (c *checker) takeOver(s int32) bool {
	cell := c.m.Cells[s]
	r := c.repeatOf(&cell.Quantity)
	wait, ok := c.read(c.fileOf(&cell.Quantity), r)
	if wait >= 0 || !ok {
		return false
	}
	c.merge.names.meet(s)
	v := c.variantOf(c.patternOf(&cell.Quantity, r))
	if v == nil {
		return false
	}
	c.copyVariant(s, cell, v)
	return true
}

// variantOf returns the variant for cells that read c.reads, nil where there
// is none yet.
func (c *checker) variantOf(p *pattern) *variant {
next:
	for i := range p.variants {
		v := &p.variants[i]
		for k, want := range v.reads {
			if c.readingOf(c.reads[k]) != want {
				continue next
			}
		}
		return v
	}
	return nil
}

func (c *checker) readingOf(s int32) reading {
	sub := &c.subjects[s]
	return reading{sub.typ, sub.unit, sub.hasPi}
}

// copyVariant makes the cell s one of the variant v.
func (c *checker) copyVariant(s int32, cell *Cell, v *variant) {
	lo, args := NodeID(len(c.m.Nodes)), NodeID(len(c.m.Args))
	c.m.Nodes = append(c.m.Nodes, v.nodes...)
	name := 0
	for i, nodes := 0, c.m.Nodes[lo:]; i < len(nodes); i++ {
		n := &nodes[i]
		switch v.moves[i] {
		case moveA:
			n.A += lo
		case moveBoth:
			n.A, n.B = n.A+lo, n.B+lo
		case moveIf:
			n.A, n.B = n.A+lo, n.B+args
		case moveCall:
			n.A += args
		case moveRef:
			n.B = NodeID(c.reads[name])
			name++
		}
	}
	for i, a := range v.args {
		if v.moved[i] {
			a += lo
		}
		c.m.Args = append(c.m.Args, a)
	}
	c.unplaced(len(v.nodes))
	c.built += len(v.nodes)
	sub := &c.subjects[s]
	sub.nodes = nodes{lo, NodeID(len(c.m.Nodes)), v.root + lo}
	sub.typ, sub.unit, sub.hasPi, sub.state = v.typ, v.unit, v.hasPi, settled
	cell.Formula, cell.Look, cell.form = sub.root, v.look, v.form
	if v.to != 0 {
		cell.own().To = v.to
	}
}

// unplaced adds n nodes to the lists beside the arena: nothing is ever said
// about them.
func (c *checker) unplaced(n int) {
	c.spans = extended(c.spans, n)
	c.shown = extended(c.shown, n)
}

// extended returns s with n more values that nobody looks at.
func extended[T any](s []T, n int) []T { return slices.Grow(s, n)[:len(s)+n] }

// advanceRepeat types the cell of f, which repeats another, or returns a
// subject to type first.
func (c *checker) advanceRepeat(f *frame) int32 {
	cell := c.m.Cells[f.subject]
	r := c.repeatOf(&cell.Quantity)
	if wait, _ := c.read(c.file, r); wait >= 0 {
		return wait
	}
	if c.takeOver(f.subject) {
		return -1
	}
	f.repeat, f.reports, f.args[0] = r, c.reports, len(c.m.Args)
	decl := c.expand(&cell.Quantity, r)
	sub := &c.subjects[f.subject]
	sub.nodes = c.buildRange(&c.outside, decl.Formula)
	cell.Formula, f.args[1] = sub.root, len(c.m.Args)
	c.inferRange(sub.lo, sub.hi)
	return -1
}

// learn makes the cell of f, which has just been checked, a variant of its
// pattern, if others can be told from it.
func (c *checker) learn(f frame) {
	cell, sub := c.m.Cells[f.subject], &c.subjects[f.subject]
	p := c.patternOf(&cell.Quantity, f.repeat)
	_, ok := c.read(c.fileOf(&cell.Quantity), f.repeat)
	if !ok || c.reports != f.reports || sub.typ == unknownType || sub.valids || len(p.variants) >= mostVariants {
		return
	}
	v := variant{
		nodes: slices.Clone(c.m.Nodes[sub.lo:sub.hi]),
		args:  slices.Clone(c.m.Args[f.args[0]:f.args[1]]),
		root:  sub.root - sub.lo,
		typ:   sub.typ, unit: sub.unit, hasPi: sub.hasPi, look: cell.Look, to: cell.To,
	}
	v.moved = make([]bool, len(v.args))
	for _, s := range c.reads {
		v.reads = append(v.reads, c.readingOf(s))
	}
	if v.count(c.reads, sub.lo, NodeID(f.args[0])) {
		c.m.addForm(&v)
		cell.form = v.form
		p.variants = append(p.variants, v)
	}
}

// count lets the operands of v, whose nodes begin at lo and whose arguments
// begin at args, count from there. It reports false where v cannot be taken
// over.
func (v *variant) count(reads []int32, lo, args NodeID) bool {
	name := 0
	for i := range v.nodes {
		n := &v.nodes[i]
		m, ok := moveOf(n.Op)
		if !ok {
			return false
		}
		v.moves = append(v.moves, m)
		switch m {
		case moveA:
			n.A -= lo
		case moveBoth:
			n.A, n.B = n.A-lo, n.B-lo
		case moveIf:
			n.A, n.B = n.A-lo, n.B-args
			v.countArgs(n.B, 2, lo)
		case moveCall:
			n.A -= args
			v.countArgs(n.A+1, int(v.args[n.A]), lo)
		case moveRef:
			if name >= len(reads) || n.Ref() != reads[name] {
				return false
			}
			name++
		}
	}
	return name == len(reads)
}

func (v *variant) countArgs(from NodeID, n int, lo NodeID) {
	for i := from; i < from+NodeID(n); i++ {
		v.args[i] -= lo
		v.moved[i] = true
	}
}
