package page

import (
	"gearleaf/sheet/check"
)

// opNames are the operations of the checked tree as the script knows them.
var opNames = map[check.Op]string{
	check.Const: "num", check.CellRef: "cell", check.ColumnRef: "here", check.PrevRef: "prev", check.NextRef: "next",
	check.RowRef: "row", check.ParamRef: "arg", check.StepRef: "step",
	check.Add: "+", check.Sub: "-", check.Mul: "*", check.Div: "/", check.Pow: "^", check.Neg: "neg",
	check.Less: "<", check.LessEqual: "<=", check.Greater: ">", check.GreaterEqual: ">=",
	check.Equal: "=", check.NotEqual: "<>", check.SameText: "same", check.NotSameText: "other",
	check.If: "if", check.And: "and", check.Or: "or", check.Not: "not",
	check.Call: "call", check.ValidCall: "call", check.Intrinsic: "fn",
	check.Aggregate: "all", check.Lookup: "look", check.IndexAt: "at",
}

// node adds the tree at id, children before parents, and returns its place; 0
// for none.
func (d *maker) node(id check.NodeID) int {
	if id == 0 {
		return 0
	}
	if at, known := d.nodes[id]; known {
		return at
	}
	row := d.operation(d.m.Node(id))
	d.out.Nodes = append(d.out.Nodes, row)
	at := len(d.out.Nodes) - 1
	d.nodes[id] = at
	return at
}

// operation returns one node: its operation's name and what it works on.
func (d *maker) operation(n *check.Node) []any {
	row := []any{opNames[n.Op]}
	switch n.Op {
	case check.Const:
		return append(row, n.Num())
	case check.CellRef, check.ColumnRef, check.PrevRef, check.NextRef, check.ParamRef, check.StepRef:
		return append(row, n.Ref())
	case check.RowRef:
		return row
	case check.Neg, check.Not:
		return append(row, d.node(n.A))
	case check.If:
		then, other := d.m.BranchesOf(n)
		return append(row, d.node(n.A), d.node(then), d.node(other))
	case check.Call, check.ValidCall:
		_, result := d.m.ResultOf(n)
		return d.args(append(row, d.m.InstanceOf(n), d.node(result)), n)
	case check.Intrinsic:
		return d.args(append(row, n.Ref()), n)
	case check.Aggregate:
		return append(row, n.Ref(), int(n.A))
	case check.Lookup:
		xs, ys, form := d.m.LookupOf(n)
		return append(row, d.node(n.A), xs, ys, int(form))
	case check.IndexAt:
		return append(row, d.node(n.A), n.Ref())
	}
	return append(row, d.node(n.A), d.node(n.B))
}

// args appends the arguments of a call to row.
func (d *maker) args(row []any, n *check.Node) []any {
	for _, a := range d.m.ArgsOf(n) {
		row = append(row, d.node(a))
	}
	return row
}

// functions adds the bodies of the functions that the sheet calls.
func (d *maker) functions() {
	for _, in := range d.m.Instances {
		row := functionData{Name: in.Name, Params: len(in.Params)}
		for _, s := range in.Steps {
			row.Steps = append(row.Steps, d.node(s))
		}
		d.out.Functions = append(d.out.Functions, row)
	}
}
