package lower

import (
	"cmp"
	"math"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program/code"
)

// If the operations are in no order, the processor mispredicts nearly every
// dispatch of the machine. Therefore equal operations are adjacent: in the
// values of a code block, and in the scalars of a sheet that is too large for
// one.

// arranged returns scalars, which are in evaluation order, sorted by depth and
// then by the form of their formulas, which is also an evaluation order.
func arranged(g *graph.Graph, m *check.Model, tasks []int32) []int32 {
	if len(tasks) <= blockTasks {
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
		ranks[i].form, stack = formOf(m, formulaOf(g.Task(int(t))), stack)
	}
	for part := range slices.Chunk(ranks, arrangedTogether) {
		slices.SortFunc(part, func(a, b rank) int {
			return cmp.Or(cmp.Compare(a.depth, b.depth), cmp.Compare(a.form, b.form), cmp.Compare(a.task, b.task))
		})
	}
	out := make([]int32, len(ranks))
	for i, r := range ranks {
		out[i] = r.task
	}
	return out
}

// arrangedTogether is the number of scalars that are arranged at a time.
// Arranging a million at once would scatter their nodes over the checked tree,
// with a cache miss for nearly every node.
const arrangedTogether = 16384

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

// The number of values of a code block that are sorted together, for the
// machine and for a module: the machine's frame may be large, but a module
// keeps values in registers of the processor.
const (
	ForMachine = math.MaxInt
	ForModule  = 128
)

// sort sorts the values of a code block by depth and then by operation. As a
// result few of them wait for the one before.
func (c *compiler) sort() {
	values := c.f.values
	depth, order := make([]int32, len(values)), make([]int32, len(values))
	for i := range values {
		order[i] = int32(i)
		v := &values[i]
		if v.within {
			continue // it is computed with its first reader
		}
		v.Registers(func(at *int32) {
			if r := Ref(*at); r.Kind() == InValues {
				depth[i] = max(depth[i], depth[r.Index()]+1)
			}
		})
		if code.Ops[v.Op].D == code.Between {
			depth[v.inner] = depth[i]
		}
	}
	for part := range slices.Chunk(order, c.together) {
		slices.SortStableFunc(part, func(a, b int32) int {
			return cmp.Or(cmp.Compare(depth[a], depth[b]), cmp.Compare(values[a].Op, values[b].Op))
		})
	}
	c.reorder(order)
}

// reorder puts values in an order and renumbers their reads.
func (c *compiler) reorder(order []int32) {
	values, place := make([]Value, len(order)), make([]int32, len(order))
	for i, old := range order {
		values[i], place[old] = c.f.values[old], int32(i)
	}
	move := func(at *int32) {
		if r := Ref(*at); r.Kind() == InValues {
			*at = int32(makeRef(InValues, place[r.Index()]))
		}
	}
	for i := range values {
		values[i].Registers(move)
		values[i].inner = place[values[i].inner]
	}
	for i := range c.results {
		move((*int32)(&c.results[i].from))
	}
	c.f.values = values
}
