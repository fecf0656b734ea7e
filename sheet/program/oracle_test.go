package program

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// oracle computes a sheet straight from its tree, one value at a time and each
// when it is needed: slow, and without anything of the compiler.
type oracle struct {
	m       *check.Model
	cells   map[int]float64
	given   map[int]float64
	entries map[[2]int]float64
	set     map[[2]int]float64
	ends    map[int]liveRows
}

func newOracle(m *check.Model) *oracle {
	return &oracle{
		m: m, cells: map[int]float64{}, given: map[int]float64{}, entries: map[[2]int]float64{},
		set: map[[2]int]float64{}, ends: map[int]liveRows{},
	}
}

func (o *oracle) cell(i int) float64 {
	if v, ok := o.cells[i]; ok {
		return v
	}
	c := o.m.Cells[i]
	v, ok := o.given[i]
	switch {
	case ok:
	case c.Given:
		v = c.Value
	default:
		v = (&scope{o: o}).eval(c.Formula)
	}
	o.cells[i] = v
	return v
}

// raw is what a column has in a row, live or not.
func (o *oracle) raw(i, row int) float64 {
	at := [2]int{i, row}
	if v, ok := o.entries[at]; ok {
		return v
	}
	c := o.m.Columns[i]
	v, ok := o.set[at]
	switch {
	case ok:
	case c.Given:
		v = c.Values[row]
	case row == 0 && c.Start != 0:
		v = (&scope{o: o, row: row}).eval(c.Start)
	default:
		v = (&scope{o: o, row: row}).eval(c.Formula)
	}
	o.entries[at] = v
	return v
}

func (o *oracle) live(t *check.Table) liveRows {
	if l, ok := o.ends[t.Index]; ok {
		return l
	}
	l := liveRows{rows: int32(t.Rows)}
	if t.Until != 0 {
		l.end = Never
		for row := range t.Rows {
			if turn := kernel.Until((&scope{o: o, row: row}).eval(t.Until)); turn == kernel.Ends {
				l = liveRows{rows: int32(row + 1)}
				break
			} else if turn == kernel.Breaks {
				l = liveRows{rows: int32(row), end: Broken}
				break
			}
		}
	}
	o.ends[t.Index] = l
	return l
}

func (o *oracle) entry(i, row int) float64 {
	c := o.m.Columns[i]
	l := o.live(c.Table)
	switch {
	case row >= c.Table.Rows, l.end == Ended && row >= int(l.rows):
		return kernel.Blank
	case l.end == Broken && row >= int(l.rows) && !c.Given:
		return kernel.Fault
	}
	return o.raw(i, row)
}

// whole is a column's live entries, nil and false if it has no end.
func (o *oracle) whole(i int) ([]float64, bool) {
	l := o.live(o.m.Columns[i].Table)
	if l.end != Ended {
		return nil, false
	}
	var out []float64
	for row := range int(l.rows) {
		out = append(out, o.raw(i, row))
	}
	return out, true
}

func (o *oracle) verdict(over *check.Table, cond check.NodeID) LimitValue {
	if over == nil {
		return LimitValue{Value: (&scope{o: o}).eval(cond), Row: -1}
	}
	l := o.live(over)
	var conditions []float64
	for row := range over.Rows {
		switch {
		case row < int(l.rows):
			conditions = append(conditions, (&scope{o: o, row: row}).eval(cond))
		case l.end == Broken:
			conditions = append(conditions, kernel.Fault)
		}
	}
	v, row := kernel.Holds(conditions, l.end == Ended)
	return LimitValue{Value: v, Row: row}
}

// scope is a row, and the arguments of a function.
type scope struct {
	o    *oracle
	row  int
	inst *check.Instance
	args []float64
}

func (s *scope) eval(id check.NodeID) float64 {
	o := s.o
	n := o.m.Node(id)
	switch n.Op {
	case check.Const:
		return n.Num()
	case check.CellRef:
		return o.cell(int(n.Ref()))
	case check.ColumnRef:
		return o.raw(int(n.Ref()), s.row)
	case check.PrevRef:
		if s.row == 0 {
			return kernel.Blank
		}
		return o.raw(int(n.Ref()), s.row-1)
	case check.NextRef:
		return o.entry(int(n.Ref()), s.row+1)
	case check.RowRef:
		return float64(s.row + 1)
	case check.ParamRef:
		return s.args[n.Ref()]
	case check.StepRef:
		return s.eval(s.inst.Steps[n.Ref()])
	case check.Call, check.ValidCall, check.Intrinsic:
		return s.called(n)
	case check.Aggregate, check.IndexAt, check.Lookup:
		return s.whole(n)
	case check.If:
		then, other := s.o.m.BranchesOf(n)
		return kernel.If(s.eval(n.A), s.eval(then), s.eval(other))
	case check.Neg:
		return kernel.Neg(s.eval(n.A))
	case check.Not:
		return kernel.Not(s.eval(n.A))
	}
	return twoOperands[n.Op](s.eval(n.A), s.eval(n.B))
}

var twoOperands = map[check.Op]func(a, b float64) float64{
	check.Add: kernel.Add, check.Sub: kernel.Sub, check.Mul: kernel.Mul, check.Div: kernel.Div, check.Pow: kernel.Pow,
	check.Less: kernel.Less, check.LessEqual: kernel.LessEqual, check.Greater: kernel.Greater,
	check.GreaterEqual: kernel.GreaterEqual, check.Equal: kernel.Equal, check.NotEqual: kernel.NotEqual,
	check.SameText: kernel.SameText, check.NotSameText: kernel.NotSameText, check.And: kernel.And, check.Or: kernel.Or,
}

func (s *scope) called(n *check.Node) float64 {
	var args []float64
	for _, a := range s.o.m.ArgsOf(n) {
		args = append(args, s.eval(a))
	}
	if n.Op == check.Intrinsic {
		return s.o.m.IntrinsicOf(n).Apply(args...)
	}
	inst, result := s.o.m.ResultOf(n)
	inner := &scope{o: s.o, row: s.row, inst: inst, args: args}
	return inner.eval(result)
}

func (s *scope) whole(n *check.Node) float64 {
	if n.Op == check.Lookup {
		from, to, form := s.o.m.LookupOf(n)
		xs, ok := s.o.whole(int(from))
		if !ok {
			return kernel.Fault
		}
		ys, _ := s.o.whole(int(to))
		return kernel.Look(form, s.eval(n.A), xs, ys)
	}
	entries, ok := s.o.whole(int(n.Ref()))
	switch {
	case !ok:
		return kernel.Fault
	case n.Op == check.Aggregate:
		return kernel.Reduce(kernel.Aggregate(n.A), entries)
	}
	return kernel.Index(s.eval(n.A), entries)
}
