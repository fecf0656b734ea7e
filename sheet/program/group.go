package program

import (
	"encoding/binary"
	"math"
	"runtime"
	"slices"
	"sync"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
)

// grouping finds the cells of one shape that do not lean on one another:
// those of one level, which is one more than the highest that they read.
type grouping struct {
	m *check.Model
	g *graph.Graph

	level   []int32 // of each task
	highest int32
	signed  []signatures
	batchOf []int32 // of each task, -1 for none
	batches []batch
	ofLevel []int32 // batches of the level that is being ordered
	sizes   []int32 // of the batches before the small ones are dropped

	shapes map[string]int32 // by signature
}

// group looks for batches among the cells of m.
func group(m *check.Model, g *graph.Graph) *grouping {
	gr := &grouping{
		m: m, g: g, shapes: map[string]int32{},
		level: make([]int32, g.Len()), batchOf: make([]int32, g.Len()),
	}
	gr.sign(max(1, min(runtime.GOMAXPROCS(0), g.Len()/signLeast)))
	gr.gather()
	gr.dropSmall()
	return gr
}

// signatures are those of the formulas of a range of tasks.
type signatures struct {
	first int      // task
	texts []string // each once, in the order of meeting them
	shape []int32  // of each task: its place in texts, -1 for none
	// What formulas read stands in leaves, by cell, each once; those of a
	// task begin at from.
	from, leaves []int32
}

// signLeast is how many tasks are worth being signed by themselves.
const signLeast = 10_000

// sign writes down the formulas of all tasks, in parts side by side.
func (gr *grouping) sign(parts int) {
	n := gr.g.Len()
	gr.signed = make([]signatures, parts)
	var all sync.WaitGroup
	for i := range parts {
		all.Go(func() { gr.signed[i] = gr.signPart(n*i/parts, n*(i+1)/parts) })
	}
	all.Wait()
}

func (gr *grouping) signPart(from, to int) signatures {
	part := signatures{
		first: from, shape: make([]int32, 0, to-from),
		from: make([]int32, 0, to-from+1), leaves: make([]int32, 0, 2*(to-from)),
	}
	s := signer{m: gr.m, known: map[string]int32{}, formed: map[formed]int32{}}
	for i := from; i < to; i++ {
		shape := int32(-1)
		part.from = append(part.from, int32(len(part.leaves)))
		if c := gr.g.CellOf(i); c != nil && !c.Given && s.sign(c) {
			shape = s.shape(&part, c)
			part.leaves = append(part.leaves, s.cells...)
		}
		part.shape = append(part.shape, shape)
	}
	part.from = append(part.from, int32(len(part.leaves)))
	return part
}

// kin is what the cells of a batch have in common.
type kin struct{ level, shape int32 }

// kindred finds the batch of a kin. Cells come level by level, as a rule, so
// that the last batch of a shape is looked at first.
type kindred struct {
	of   map[kin]int32
	last []lastOfShape
}

type lastOfShape struct{ level, batch int32 }

// gather puts every cell with a signature into the batch of its kin.
func (gr *grouping) gather() {
	k := kindred{of: map[kin]int32{}}
	for p := range gr.signed {
		part := &gr.signed[p]
		numbers := gr.number(part.texts)
		for len(k.last) < len(gr.shapes) {
			k.last = append(k.last, lastOfShape{level: -1})
		}
		for at, shape := range part.shape {
			i := part.first + at
			level := int32(0)
			for _, need := range gr.g.NeedsOf(i) {
				level = max(level, gr.level[need]+1)
			}
			gr.level[i] = level
			gr.highest = max(gr.highest, level)
			if gr.batchOf[i] = -1; shape >= 0 {
				b := gr.batchAt(kin{level, numbers[shape]}, &k)
				gr.batchOf[i] = b
				gr.sizes[b]++
			}
		}
	}
}

// number returns the numbers of shapes among those of the whole sheet, in
// which they are counted in the order of meeting them.
func (gr *grouping) number(texts []string) []int32 {
	numbers := make([]int32, len(texts))
	for i, text := range texts {
		shape, known := gr.shapes[text]
		if !known {
			shape = int32(len(gr.shapes))
			gr.shapes[text] = shape
		}
		numbers[i] = shape
	}
	return numbers
}

// batchAt returns the batch of a kin.
func (gr *grouping) batchAt(of kin, k *kindred) int32 {
	last := &k.last[of.shape]
	if last.level == of.level {
		return last.batch
	}
	b, known := k.of[of]
	if !known {
		b = int32(len(gr.batches))
		k.of[of] = b
		gr.batches = append(gr.batches, batch{shape: of.shape})
		gr.sizes = append(gr.sizes, 0)
	}
	*last = lastOfShape{of.level, b}
	return b
}

// dropSmall lets batches go that are not worth it, numbers the others anew
// and lists their tasks.
func (gr *grouping) dropSmall() {
	kept, cells := gr.batches[:0], int32(0)
	renumber := make([]int32, len(gr.batches))
	for i, size := range gr.sizes {
		renumber[i] = -1
		if size >= batchLeast {
			renumber[i] = int32(len(kept))
			kept = append(kept, gr.batches[i])
			cells += size
		}
	}
	gr.batches = kept
	room := make([]int32, cells)
	for i, size := range gr.sizes {
		if b := renumber[i]; b >= 0 {
			gr.batches[b].tasks, room = room[:0:size], room[size:]
		}
	}
	for i, b := range gr.batchOf {
		if b >= 0 {
			b = renumber[b]
			gr.batchOf[i] = b
		}
		if b >= 0 {
			gr.batches[b].tasks = append(gr.batches[b].tasks, int32(i))
		}
	}
}

// leavesOf returns the cells that a task's formula reads, in the order of its
// signature.
func (gr *grouping) leavesOf(task int32) []int32 {
	p := len(gr.signed) - 1
	for int(task) < gr.signed[p].first {
		p--
	}
	part := &gr.signed[p]
	at := int(task) - part.first
	return part.leaves[part.from[at]:part.from[at+1]]
}

// order is the order of computing: by level, and there the batches behind the
// other tasks and in the order of their shapes, so that a processor that has seen
// one level can guess what comes in the next. An entry is a task or, for batch
// i, ^i.
func (gr *grouping) order() []int32 {
	start := make([]int32, gr.highest+2)
	for _, l := range gr.level {
		start[l+1]++
	}
	for l := range gr.highest + 1 {
		start[l+1] += start[l]
	}
	byLevel := make([]int32, len(gr.level))
	for i, l := range gr.level {
		byLevel[start[l]] = int32(i)
		start[l]++
	}
	out := byLevel[:0]
	from := int32(0)
	for _, end := range start[:gr.highest+1] {
		out = gr.orderLevel(out, byLevel[from:end])
		from = end
	}
	return slices.Clone(out)
}

// orderLevel appends the tasks of a level and, behind them, its batches.
func (gr *grouping) orderLevel(out, level []int32) []int32 {
	gr.ofLevel = gr.ofLevel[:0]
	for _, i := range level {
		switch b := gr.batchOf[i]; {
		case b < 0:
			out = append(out, i)
		case gr.batches[b].tasks[0] == i:
			gr.ofLevel = append(gr.ofLevel, ^b)
		}
	}
	slices.SortFunc(gr.ofLevel, func(a, b int32) int { return int(gr.batches[^a].shape - gr.batches[^b].shape) })
	return append(out, gr.ofLevel...)
}

// signer writes down a formula without the names of the cells that it reads.
// Two formulas with the same text do the same to the cells listed.
type signer struct {
	m     *check.Model
	text  []byte
	cells []int32
	known map[string]int32 // signatures, and their place among those of the part

	// A formula that has a form is written down once for each way in which
	// the cells that it reads can be the same one.
	formed map[formed]int32 // place among those of the part, -1 for none
	form   formed
	reads  []int32
}

// formed is the form of a formula and which of the cells that it reads are the
// same: the place of each among them, leafBits long.
type formed struct {
	form int
	same uint64
}

// leafBits is how long a number below shapeLeaves is, and the places beyond
// that are told apart from those.
const leafBits = 4

const _ = uint(1<<leafBits - 1 - shapeLeaves) // fails to compile where they do not fit

// sign reports whether the formula of c has a signature that a batch can have.
func (s *signer) sign(c *check.Cell) bool {
	s.text, s.cells, s.form = s.text[:0], s.cells[:0], formed{form: s.m.FormOf(c)}
	if s.form.form > 0 && s.fold(c) {
		if at, known := s.formed[s.form]; known {
			return at >= 0
		}
		s.formed[s.form] = -1
	}
	s.cells = s.cells[:0]
	return s.node(c.Formula)
}

// fold lists in s.cells the cells that the formula of c, which has a form,
// reads, and notes which are the same. It reports false where there are too many
// of them for a number; the formula then counts as one without a form.
func (s *signer) fold(c *check.Cell) bool {
	s.reads = s.m.FormReads(s.reads[:0], c)
	if len(s.reads) > 64/leafBits {
		s.form.form = 0
		return false
	}
	for _, cell := range s.reads {
		s.form.same = s.form.same<<leafBits | uint64(s.leaf(cell))
	}
	return true
}

// shape returns the place of the signature in hand, that of c, among those of
// the part.
func (s *signer) shape(part *signatures, c *check.Cell) int32 {
	if s.form.form > 0 {
		if at := s.formed[s.form]; at >= 0 {
			return at
		}
	}
	at, seen := s.known[string(s.text)]
	if !seen {
		at = int32(len(part.texts))
		part.texts = append(part.texts, string(s.text))
		s.known[part.texts[at]] = at
	}
	if s.form.form > 0 {
		s.formed[s.form] = at
	}
	return at
}

func (s *signer) number(v int32) { s.text = binary.AppendVarint(s.text, int64(v)) }

func (s *signer) node(id check.NodeID) bool {
	n := s.m.Node(id)
	s.text = append(s.text, byte(n.Op))
	if len(s.text) > shapeBytes {
		return false
	}
	switch n.Op {
	case check.Const:
		s.text = binary.LittleEndian.AppendUint64(s.text, math.Float64bits(n.Num()))
		return true
	case check.CellRef:
		return s.cell(n.Ref())
	case check.Neg, check.Not:
		return s.node(n.A)
	case check.If:
		then, other := s.m.BranchesOf(n)
		return s.node(n.A) && s.node(then) && s.node(other)
	case check.Call, check.ValidCall, check.Intrinsic:
		if n.Op == check.Intrinsic {
			s.number(n.Ref())
		} else {
			_, result := s.m.ResultOf(n)
			s.number(s.m.InstanceOf(n))
			s.number(int32(result))
		}
		args := s.m.ArgsOf(n)
		s.number(int32(len(args)))
		for _, a := range args {
			if !s.node(a) {
				return false
			}
		}
		return true
	}
	if n.Op >= check.Add && n.Op <= check.Or {
		return s.node(n.A) && s.node(n.B)
	}
	return false // it reads whole columns: few cells do
}

// cell writes the place of a cell among those that the formula reads.
func (s *signer) cell(cell int32) bool {
	at := s.leaf(cell)
	s.text = append(s.text, byte(at))
	return at < shapeLeaves
}

// leaf returns the place of a cell among those that the formula reads.
func (s *signer) leaf(cell int32) int {
	for i, c := range s.cells {
		if c == cell {
			return i
		}
	}
	s.cells = append(s.cells, cell)
	return len(s.cells) - 1
}
