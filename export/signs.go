package export

import "gearleaf/sheet/check"

// zero reports whether a node is the number 0.
func (b *book) zero(id check.NodeID) bool {
	n := b.m.Node(id)
	return n.Op == check.Const && b.m.Types[n.Type()].Form == check.Number && n.Num() == 0
}

// signsOf finds the quantities that a formula compares with 0: in it a
// difference keeps its sign, however small it is.
func signsOf(b *book) map[*check.Quantity]bool {
	found := map[*check.Quantity]bool{}
	mark := func(id, other check.NodeID) {
		if !b.zero(other) {
			return
		}
		switch n := b.m.Node(id); n.Op {
		case check.CellRef:
			found[&b.m.Cells[n.Ref()].Quantity] = true
		case check.ColumnRef, check.PrevRef, check.NextRef:
			found[&b.m.Columns[n.Ref()].Quantity] = true
		}
	}
	look := func(id check.NodeID) {
		b.walk(id, func(n *check.Node) {
			if _, compares := comparison[n.Op]; compares {
				mark(n.A, n.B)
				mark(n.B, n.A)
			}
		})
	}
	for _, c := range b.m.Cells {
		look(c.Formula)
	}
	for _, c := range b.m.Columns {
		look(c.Formula)
		look(c.Start)
	}
	for _, l := range b.m.Limits {
		look(l.Cond)
	}
	for _, t := range b.m.Tables {
		look(t.Until)
	}
	return found
}

// root returns the formula of a quantity's own cell.
func (p *printer) root(q *check.Quantity, id check.NodeID) term {
	if !p.b.signs[q] {
		return p.operation(id)
	}
	switch p.m.Node(id).Op {
	case check.Sub, check.Neg, check.Mul, check.Div, check.Intrinsic:
		return p.withSign(id)
	}
	return p.operation(id)
}
