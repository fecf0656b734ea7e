package lower

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/program/code"
)

// Trace is a formula as a list of operations, without sharing or omissions, for
// the search for the origin of a fault. A Ref to a register names a cell by its
// index.
type Trace struct {
	Values []Value // operands before their readers
	Root   Ref
	f      *formula
}

// TraceOf returns the trace of a formula of m.
func TraceOf(m *check.Model, root check.NodeID) *Trace {
	f := newFormula(&code.Program{Model: m}, true)
	f.tracing = true
	f.begin(false)
	r := f.node(root)
	return &Trace{Values: f.values, Root: r, f: f}
}

// Constant returns the constant that r names.
func (t *Trace) Constant(r Ref) float64 { return t.f.pool[r.Index()] }

// Curve returns the curve with a number.
func (t *Trace) Curve(i int32) code.CurvePlan { return t.f.p.Curves[i] }
