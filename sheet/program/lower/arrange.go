package lower

import (
	"cmp"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
)

// predicted is up to how many scalars the processor remembers which instruction
// follows which. More of them are arranged so that like follows like: otherwise
// the machine's dispatch waits for a wrong guess at nearly every instruction.
const predicted = 1000

// arranged returns scalars, which are in an order of computing, in another one:
// by how far they are from what they are computed from, and then by the form of
// their formulas.
func arranged(g *graph.Graph, m *check.Model, tasks []int32) []int32 {
	if len(tasks) <= predicted {
		return tasks
	}
	depth := make([]int32, g.Len())
	type rank struct {
		depth, task int32
		form        uint32
	}
	ranks := make([]rank, len(tasks))
	var stack []check.NodeID
	for i, t := range tasks {
		depth[t] = 1
		for _, n := range g.NeedsOf(int(t)) {
			depth[t] = max(depth[t], depth[n]+1)
		}
		ranks[i] = rank{depth: depth[t], task: t}
		ranks[i].form, stack = formOf(m, scalarFormula(g.Task(int(t))), stack)
	}
	slices.SortFunc(ranks, func(a, b rank) int {
		return cmp.Or(cmp.Compare(a.depth, b.depth), cmp.Compare(a.form, b.form), cmp.Compare(a.task, b.task))
	})
	out := make([]int32, len(ranks))
	for i, r := range ranks {
		out[i] = r.task
	}
	return out
}

// scalarFormula is what a scalar task computes, 0 for a given.
func scalarFormula(t graph.Task) check.NodeID {
	switch t.Kind {
	case graph.CellTask:
		return t.Cell.Formula
	case graph.LimitTask:
		return t.Limit.Cond
	}
	return t.Advice.Cond
}

// formOf hashes the operations of a formula; stack is room for it.
func formOf(m *check.Model, root check.NodeID, stack []check.NodeID) (form uint32, room []check.NodeID) {
	if root == 0 {
		return 0, stack
	}
	stack = append(stack[:0], root)
	for len(stack) > 0 {
		n := m.Node(stack[len(stack)-1])
		stack = stack[:len(stack)-1]
		what := uint32(n.Op)
		if n.Op == check.Intrinsic {
			what += uint32(n.Ref()) << 8
		}
		form = (form ^ what) * 16777619 // as FNV-1a does
		stack = m.AppendOperands(stack, n)
	}
	return form, stack
}
