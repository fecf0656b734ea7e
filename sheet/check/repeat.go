package check

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Lines that are alike but for the names in them (syntax.Repeat) are checked
// once for each set of types of what they read. What a formula is follows from
// its line and from those, so a cell that repeats another takes over its nodes
// and its type, and has only its names resolved. Where the types are other
// ones, the line is read and checked like any other; so it is where anything
// had to be said of the first.
//
// What is found wrong may follow from more: from what has been found before,
// where more is wrong than is listed, and from what was known by then. So
// where a sheet has an error, all its lines are read and checked in their
// order (see orderTells).

// repeat is a cell that repeats another.
type repeat struct {
	cell    int32
	pattern int32
	reads   int32 // where what it reads begins in checker.reads
	// Once it is taken over: where its nodes and arguments begin. They are
	// written, and the cell told, when all have their place.
	lo, args NodeID
	from     uint8 // one more than the variant's place in its pattern, 0 before
}

// pattern is what is known of the cells of one syntax.Pattern.
type pattern struct{ variants []*variant }

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

// addForm gives v a form, if it reads nothing but cells and there is room for
// one more.
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
		c.declareCell(file, c.expander(file).Cell(r))
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
		c.expanded = expanded{r, c.expander(q.Origin.File).Cell(r)}
	}
	return c.expanded.cell
}

// expander returns what reads the repeats of a file.
func (c *checker) expander(file int) *syntax.Expander {
	if c.expanders == nil {
		c.expanders = make([]*syntax.Expander, len(c.in.Files))
	}
	if c.expanders[file] == nil {
		c.expanders[file] = syntax.NewExpander(c.in.Files[file].Tree)
	}
	return c.expanders[file]
}

// addRepeat takes the cell in hand, which is r, for one whose names and type
// are still to come.
func (c *checker) addRepeat(cell *Cell, r *syntax.Repeat) {
	c.repeats = append(c.repeats, repeat{
		cell:    cell.Index,
		pattern: int32(c.patternAt(cell.Origin.File) + r.Pattern.ID),
		reads:   int32(c.readCells),
	})
	c.subjects[cell.Index].repeat = int32(len(c.repeats))
	c.readCells += len(r.Names) - 1
}

// patternAt returns where the patterns of a file begin among those of all.
func (c *checker) patternAt(file int) int {
	for i := len(c.patternsOf); i < len(c.in.Files); i++ {
		c.patternsOf = append(c.patternsOf, len(c.patterns))
		c.patterns = append(c.patterns, make([]pattern, c.in.Files[i].Tree.Patterns())...)
	}
	return c.patternsOf[file]
}

// resolveRepeats finds out which cells the repeats read, side by side.
func (c *checker) resolveRepeats() {
	c.reads = make([]int32, c.readCells)
	sideBySide(len(c.repeats), func(from, to int) {
		names := c.merge.names.reader()
		for i := from; i < to; i++ {
			r := &c.repeats[i]
			names.meet(r.cell) // what stands behind it is likely to read it
			c.readNames(names, r)
		}
	})
}

// readNames finds out which cells one repeat reads.
func (c *checker) readNames(names *nameTable, r *repeat) {
	q := &c.m.Cells[r.cell].Quantity
	text, spans := c.fileOf(q).Text, c.repeatOf(q).Names[1:]
	for i, out := 0, c.reads[r.reads:]; i < len(spans); i++ {
		id, known := names.in(text, spans[i])
		if !known || id < 0 {
			id = -1
		}
		out[i] = id
	}
}

// partLeast is how many cells are worth a part of their own.
const partLeast = 10_000

// sideBySide calls do for all of n cells, in parts.
func sideBySide(n int, do func(from, to int)) {
	parts := max(1, min(runtime.GOMAXPROCS(0), n/partLeast))
	if parts == 1 {
		do(0, n)
		return
	}
	var all sync.WaitGroup
	for i := range parts {
		all.Go(func() { do(n*i/parts, n*(i+1)/parts) })
	}
	all.Wait()
}

// waitsForOf returns a subject that must be typed before one that reads these
// cells can be, -1 for none; ok tells that all are settled cells.
func (c *checker) waitsForOf(reads []int32) (wait int32, ok bool) {
	ok = true
	for _, id := range reads {
		switch {
		case id < 0:
			ok = false
		case c.subjects[id].state == fresh:
			return id, false
		case c.subjects[id].state == busy:
			ok = false
		}
	}
	return -1, ok
}

// takeOver settles the cell s, which repeats another, if what it reads is
// settled and it is as a variant that is known.
func (c *checker) takeOver(s int32) bool {
	sub := &c.subjects[s]
	r := &c.repeats[sub.repeat-1]
	for i, v := range c.patterns[r.pattern].variants {
		if c.isLike(v, c.reads[r.reads:]) {
			r.from = uint8(i + 1)
			c.take(sub, r, v)
			return true
		}
	}
	return false
}

// isLike reports whether what reads these cells is of the variant v.
func (c *checker) isLike(v *variant, reads []int32) bool {
	for i, want := range v.reads {
		if reads[i] < 0 || c.subjects[reads[i]].state != settled || c.readingOf(reads[i]) != want {
			return false
		}
	}
	return true
}

func (c *checker) readingOf(s int32) reading {
	sub := &c.subjects[s]
	return reading{sub.typ, sub.unit, sub.hasPi}
}

// take makes the cell r one of the variant v. Its nodes get their place now.
func (c *checker) take(sub *subject, r *repeat, v *variant) {
	sub.typ, sub.unit, sub.hasPi, sub.state = v.typ, v.unit, v.hasPi, settled
	r.lo, r.args = NodeID(len(c.m.Nodes)), NodeID(len(c.m.Args))
	c.m.Nodes = extended(c.m.Nodes, len(v.nodes))
	c.m.Args = extended(c.m.Args, len(v.args))
	c.spans = extended(c.spans, len(v.nodes))
	c.shown = extended(c.shown, len(v.nodes))
	c.built += len(v.nodes)
}

// extended returns s with n more values, which are anything.
func extended[T any](s []T, n int) []T { return slices.Grow(s, n)[:len(s)+n] }

// writeTaken writes the nodes of all cells that have been taken over, side by
// side.
func (c *checker) writeTaken() {
	sideBySide(len(c.repeats), func(from, to int) {
		for i := from; i < to; i++ {
			if r := &c.repeats[i]; r.from > 0 {
				c.write(r, c.patterns[r.pattern].variants[r.from-1])
			}
		}
	})
}

// write writes the nodes of r, which is one of the variant v.
func (c *checker) write(r *repeat, v *variant) {
	reads, out := c.reads[r.reads:], c.m.Nodes[r.lo:][:len(v.nodes)]
	for i := range v.nodes {
		n := v.nodes[i]
		switch v.moves[i] {
		case moveA:
			n.A += r.lo
		case moveBoth:
			n.A, n.B = n.A+r.lo, n.B+r.lo
		case moveIf:
			n.A, n.B = n.A+r.lo, n.B+r.args
		case moveCall:
			n.A += r.args
		case moveRef:
			n.B, reads = NodeID(reads[0]), reads[1:]
		}
		out[i] = n
	}
	for i, list := 0, c.m.Args[r.args:]; i < len(v.args); i++ {
		if list[i] = v.args[i]; v.moved[i] {
			list[i] += r.lo
		}
	}
	cell := c.m.Cells[r.cell]
	cell.Formula, cell.Look, cell.form = v.root+r.lo, v.look, v.form
	if v.to != 0 {
		cell.own().To = v.to
	}
}

// unread is a repeat that has to be read like any other line.
type unread struct {
	pattern *pattern
	reads   []int32
	args    [2]int // where its arguments stand in Model.Args
	reports int    // checker.reports before it was read
}

// advanceRepeat takes the cell of f over, which repeats another, or reads it.
// Before that it returns the subjects that must be typed first, -1 for none.
func (c *checker) advanceRepeat(f *frame) (wait int32, taken bool) {
	cell, sub := c.m.Cells[f.subject], &c.subjects[f.subject]
	r, line := &c.repeats[sub.repeat-1], c.repeatOf(&cell.Quantity)
	reads := c.reads[r.reads:][:len(line.Names)-1]
	if wait, _ := c.waitsForOf(reads); wait >= 0 {
		return wait, false
	}
	if c.takeOver(f.subject) {
		return -1, true
	}
	f.unread = &unread{pattern: &c.patterns[r.pattern], reads: reads, reports: c.reports}
	f.unread.args[0] = len(c.m.Args)
	built := c.buildRange(&c.outside, c.expand(&cell.Quantity, line).Formula)
	f.unread.args[1] = len(c.m.Args)
	c.subjects[f.subject].nodes, cell.Formula, f.next = built, built.root, built.lo
	c.built += int(built.hi - built.lo)
	return -1, false
}

// learn makes the cell s, which has just been checked, a variant of its
// pattern, if others can be told from it.
func (c *checker) learn(s int32, u *unread) {
	cell, sub := c.m.Cells[s], &c.subjects[s]
	_, ok := c.waitsForOf(u.reads)
	if !ok || c.reports != u.reports || sub.typ == unknownType || sub.valids || len(u.pattern.variants) >= mostVariants {
		return
	}
	v := &variant{
		nodes: slices.Clone(c.m.Nodes[sub.lo:sub.hi]),
		args:  slices.Clone(c.m.Args[u.args[0]:u.args[1]]),
		root:  sub.root - sub.lo,
		typ:   sub.typ, unit: sub.unit, hasPi: sub.hasPi, look: cell.Look, to: cell.To,
	}
	v.moved = make([]bool, len(v.args))
	for _, s := range u.reads {
		v.reads = append(v.reads, c.readingOf(s))
	}
	if v.count(u.reads, sub.lo, NodeID(u.args[0])) {
		c.m.addForm(v)
		cell.form = v.form
		u.pattern.variants = append(u.pattern.variants, v)
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

// orderTells reports whether what has been found could be other things, or
// stand in another order, where no line is taken over: an error may have been
// found before or after another one, of which only so many are listed, and
// files stand in the order in which something was found in them.
func (c *checker) orderTells() bool {
	return len(c.repeats) > 0 && (c.list.Errors() || c.reports >= source.MaxErrors || c.reports > 0 && len(c.in.Files) > 1)
}

// readAll returns in with trees that have no repeats.
func readAll(in Input) Input {
	files := slices.Clone(in.Files)
	for i := range files {
		f := &files[i]
		if f.Tree.Patterns() == 0 {
			continue
		}
		tree, _ := syntax.Parse(f.Tree.File) // without an error, as before
		uses := map[*syntax.Use]int{}
		for at, s := range tree.Stmts {
			if u, ok := s.(*syntax.Use); ok {
				if used, loaded := f.Uses[f.Tree.Stmts[at].(*syntax.Use)]; loaded {
					uses[u] = used
				}
			}
		}
		*f = File{Tree: tree, Uses: uses}
	}
	in.Files = files
	return in
}
