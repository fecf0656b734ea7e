package check

import (
	"gearleaf/sheet/source"
)

// subject is the checker's state of a cell or column: the nodes that decide
// its type, and the type once it is known.
type subject struct {
	nodes  // of the formula; for a column with a start, of the start
	typ    TypeID
	unit   unitID
	state  subjectState
	hasPi  bool
	valids bool
}

type subjectState uint8

const (
	fresh subjectState = iota
	busy
	settled
)

// frame is a subject whose nodes are being typed, and the next node.
type frame struct {
	subject int32
	next    NodeID
	work    work
}

// work is the checker's state for the current formula.
type work struct {
	file   *source.File // the file it is in
	owner  *Column      // the column whose formula it is, or nil
	body   *body        // the function whose body it is, or nil
	hasPi  bool         // it has pi or rad in it
	valids bool         // it has conditions to keep: functions with a valid range, clamped look-ups
	loop   bool         // it is computed for live rows only, without an owner
}

// columnSubject returns the subject of the column with index i.
func (c *checker) columnSubject(i int32) int32 { return int32(len(c.m.Cells)) + i }

// inferFormulas types every formula after those that it reads. It has its own
// stack, because chains can have a million cells.
func (c *checker) inferFormulas() {
	for i := range c.subjects {
		if sub := &c.subjects[i]; sub.state == fresh {
			c.settle(int32(i))
		}
	}
	for _, w := range c.loops {
		c.inferTable(w)
	}
	c.inferLimits()
}

// settle types the subject s and those on which its type depends.
func (c *checker) settle(s int32) {
	outer := c.work
	stack := append(c.stack[:0], c.begin(s))
	for len(stack) > 0 {
		top := len(stack) - 1
		f := &stack[top]
		wait := c.advance(f)
		if wait >= 0 {
			f.work = c.work
			stack = append(stack, c.begin(wait))
			continue
		}
		if c.subjects[f.subject].state != settled {
			c.finishSubject(f.subject)
		}
		stack = stack[:top]
		if top > 0 {
			c.work = stack[top-1].work
		}
	}
	c.stack = stack
	c.work = outer
}

// begin makes s the current subject.
func (c *checker) begin(s int32) frame {
	sub := &c.subjects[s]
	sub.state = busy
	c.work = work{}
	if cells := int32(len(c.m.Cells)); s < cells {
		c.file = c.fileOf(&c.m.Cells[s].Quantity)
	} else {
		col := c.m.Columns[s-cells]
		c.file = c.fileOf(&col.Quantity)
		c.owner = col
	}
	c.hasPi = sub.hasPi
	return frame{subject: s, next: sub.lo}
}

// advance types the nodes of f until one waits for another subject, which it
// returns; -1 when all are typed.
func (c *checker) advance(f *frame) int32 {
	hi := c.subjects[f.subject].hi
	for ; f.next < hi; f.next++ {
		if wait := c.waitsFor(f.next); wait >= 0 {
			return wait
		}
		c.infer(f.next)
	}
	return -1
}

// waitsFor returns a subject that must be typed before the node id can be.
func (c *checker) waitsFor(id NodeID) int32 {
	n := &c.m.Nodes[id]
	switch n.Op {
	case CellRef:
		if c.subjects[n.Ref()].state == fresh {
			return n.Ref()
		}
	case ColumnRef, PrevRef, NextRef, Aggregate, IndexAt:
		return c.freshColumn(n.Ref())
	case Lookup:
		xs, ys, _ := c.m.LookupOf(n)
		if wait := c.freshColumn(xs); wait >= 0 {
			return wait
		}
		return c.freshColumn(ys)
	}
	return -1
}

func (c *checker) freshColumn(i int32) int32 {
	if s := c.columnSubject(i); c.subjects[s].state == fresh {
		return s
	}
	return -1
}

// inferRange types the nodes lo..hi, which depend on no untyped subject.
func (c *checker) inferRange(lo, hi NodeID) {
	for id := lo; id < hi; id++ {
		c.infer(id)
	}
}

// infer types one node; its operands are typed.
func (c *checker) infer(id NodeID) {
	n := &c.m.Nodes[id]
	switch n.Op {
	case Add, Sub, Mul, Div:
		c.inferArithmetic(id)
	case CellRef:
		c.setFrom(id, n.Ref())
	case ColumnRef, PrevRef, NextRef:
		c.inferColumnRef(id)
	case Pow:
		c.inferPower(id)
	case Neg:
		c.inferNeg(id)
	case Less, LessEqual, Greater, GreaterEqual, Equal, NotEqual:
		c.inferComparison(id)
	case If:
		c.inferIf(id)
	case And, Or, Not:
		c.inferLogic(id)
	case Call:
		c.inferCall(id)
	case Intrinsic:
		c.inferIntrinsic(id)
	case Aggregate:
		c.inferAggregate(id)
	case Lookup:
		c.inferLookup(id)
	case IndexAt:
		c.inferIndex(id)
	}
}

// set gives node id its type and suggested unit.
func (c *checker) set(id NodeID, t TypeID, u unitID) {
	c.m.Nodes[id].setType(t)
	c.shown[id] = u
}

// setFrom gives node id the type and unit of a subject. A subject that is being
// typed is part of a cycle, which package graph reports.
func (c *checker) setFrom(id NodeID, s int32) {
	sub := &c.subjects[s]
	if sub.state != settled {
		return
	}
	c.set(id, sub.typ, sub.unit)
	c.hasPi = c.hasPi || sub.hasPi
}

// inferColumnRef types the value of a column in a row. It may be blank if an
// entry is empty, if there is no next row, and after the row at which until
// ended the table; inside the loop there is no such row.
func (c *checker) inferColumnRef(id NodeID) {
	n := c.m.Nodes[id]
	c.setFrom(id, c.columnSubject(n.Ref()))
	col := c.m.Columns[n.Ref()]
	past := col.Table.decl.Until != nil && !c.loop && !(c.owner != nil && c.owner.Looped)
	if past || n.Op == NextRef {
		c.m.Nodes[id].setType(c.m.mayBlank(c.m.Nodes[id].Type(), true))
	}
}
