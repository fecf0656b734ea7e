package program

import (
	"encoding/binary"
	"math"

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
	from    []int32 // of each task: its cells in leaves begin here
	leaves  []int32 // what formulas read, by cell, each once
	batchOf []int32 // of each task, -1 for none
	batches []batch

	shapes map[string]int32 // by signature
}

// group looks for batches among the cells of m.
func group(m *check.Model, g *graph.Graph) *grouping {
	gr := &grouping{
		m: m, g: g, shapes: map[string]int32{},
		level: make([]int32, len(g.Tasks)), from: make([]int32, len(g.Tasks)+1), batchOf: make([]int32, len(g.Tasks)),
		leaves: make([]int32, 0, 2*len(g.Tasks)),
	}
	gr.gather()
	gr.dropSmall()
	return gr
}

// kin is what the cells of a batch have in common.
type kin struct{ level, shape int32 }

// gather puts every cell with a signature into the batch of its kin.
func (gr *grouping) gather() {
	of := map[kin]int32{}
	s := signer{m: gr.m}
	for i := range gr.g.Tasks {
		for _, need := range gr.g.NeedsOf(i) {
			gr.level[i] = max(gr.level[i], gr.level[need]+1)
		}
		gr.highest = max(gr.highest, gr.level[i])
		gr.from[i], gr.batchOf[i] = int32(len(gr.leaves)), -1
		c := gr.g.Tasks[i].Cell
		if c == nil || c.Given || !s.sign(c.Formula) {
			continue
		}
		shape, known := gr.shapes[string(s.text)]
		if !known {
			shape = int32(len(gr.shapes))
			gr.shapes[string(s.text)] = shape
		}
		k := kin{gr.level[i], shape}
		b, known := of[k]
		if !known {
			b = int32(len(gr.batches))
			of[k] = b
			gr.batches = append(gr.batches, batch{shape: shape})
		}
		gr.batches[b].tasks = append(gr.batches[b].tasks, int32(i))
		gr.batchOf[i] = b
		gr.leaves = append(gr.leaves, s.cells...)
	}
	gr.from[len(gr.g.Tasks)] = int32(len(gr.leaves))
}

// dropSmall lets batches go that are not worth it, and numbers the others
// anew.
func (gr *grouping) dropSmall() {
	kept := gr.batches[:0]
	renumber := make([]int32, len(gr.batches))
	for i, b := range gr.batches {
		renumber[i] = -1
		if len(b.tasks) >= batchLeast {
			renumber[i] = int32(len(kept))
			kept = append(kept, b)
		}
	}
	gr.batches = kept
	for i, b := range gr.batchOf {
		if b >= 0 {
			gr.batchOf[i] = renumber[b]
		}
	}
}

// leavesOf returns the cells that a task's formula reads, in the order of its
// signature.
func (gr *grouping) leavesOf(task int32) []int32 { return gr.leaves[gr.from[task]:gr.from[task+1]] }

// order is the order of computing: by level, a batch where its first cell
// stands. An entry is a task or, for batch i, ^i.
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
	for _, i := range byLevel {
		switch b := gr.batchOf[i]; {
		case b < 0:
			out = append(out, i)
		case gr.batches[b].tasks[0] == i:
			out = append(out, ^b)
		}
	}
	return out
}

// signer writes down a formula without the names of the cells that it reads.
// Two formulas with the same text do the same to the cells listed.
type signer struct {
	m     *check.Model
	text  []byte
	cells []int32
}

// sign reports whether a formula has a signature that a batch can have.
func (s *signer) sign(formula check.NodeID) bool {
	s.text, s.cells = s.text[:0], s.cells[:0]
	return s.node(formula)
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
	at := len(s.cells)
	for i, c := range s.cells {
		if c == cell {
			at = i
			break
		}
	}
	if at == len(s.cells) {
		s.cells = append(s.cells, cell)
	}
	s.text = append(s.text, byte(at))
	return at < shapeLeaves
}
