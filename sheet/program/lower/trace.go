package lower

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/program/code"
)

// Trace is a formula as a list of operations, without sharing or omissions, for
// the search for the origin of a fault. A Ref to a register names a cell by its
// index; a curve is one of the sheet's.
type Trace struct {
	Values []Value // operands before their readers
	Root   Ref
	pool   []float64
}

// Trace returns the trace of a formula of the sheet.
func (s *Sheet) Trace(root check.NodeID) *Trace {
	// The sheet's code has every look-up, so that no curve is added.
	k := &constants{poolAt: map[uint64]int32{}, curveAt: s.constants.curveAt}
	f := newFormula(&code.Program{Model: s.Code.Model}, k, true)
	f.tracing = true
	f.begin(false)
	r := f.node(root)
	return &Trace{Values: f.values, Root: r, pool: f.pool}
}

// Constant returns the constant that r names.
func (t *Trace) Constant(r Ref) float64 { return t.pool[r.Index()] }
