package wasm

import (
	"reflect"
	"slices"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// Layout gives the addresses, in bytes, of a sheet's values in a module's
// memory. Numbers are f64, little endian, one value per lane; a logical value
// is 1 or 0, a text its index among the model's texts. A blank and a fault are
// always the NaNs with the bits of kernel.Blank and kernel.Fault.
type Layout struct {
	// Lanes is the number of scenarios that a module computes in parallel: 1 or
	// 2. A value in lane k is 8 k bytes after each address below.
	Lanes int
	// Cells are the addresses of the model's cells. Those of givens may be
	// written.
	Cells []int
	// Columns are the model's columns: entry i (from 0) is at At + 8 i Lanes.
	// Entries of given columns may be written; then call `given`.
	Columns []ColumnPlace
	// Tables have the numbers of live rows of the model's tables.
	Tables []TablePlace
	// Verdicts are the outcomes of limits, then of advices.
	Verdicts []VerdictPlace
	// Curves are the pairs of columns for look-ups.
	Curves []CurvePlace
}

// CurvePlace is the place of the points of two columns, prepared for look-ups: a
// kernel.Curve.
type CurvePlace struct {
	At   int
	Xs   int32
	Ys   int32
	Form kernel.LookupForm
}

// The places of fields of a curve; a test compares them with the type. CurveX is
// that of the first column: the address, and the number of points. CurveState has
// 0 if the points can be read, 2 if there are none, 3 if they turn back and 4 if
// two are equal, and CurveTurned the row of that, from 0. Both are i32.
const (
	curveForm   = 0
	CurveX      = 8
	curveY      = 16
	CurveState  = 32
	CurveTurned = 40
)

// ColumnPlace is the place of a column's entries, and its capacity.
type ColumnPlace struct {
	At    int
	Rows  int
	Table int // the table that it belongs to
}

// TablePlace is the place of a table's number of live rows, an i32, and after
// it (4 Lanes bytes on) of how the table ended, an i32: 0 if it has no `until`
// or that held in the last live row; 1 if it never held or the table's file
// could not be read, so whole-column results are faults; 2 if it was a fault in
// the row after the live ones, so that row and all later ones are faults in
// computed columns.
type TablePlace struct {
	Live int
	End  int
}

// VerdictPlace is the place of the result of a limit or an advice, and of the
// deciding row (from 0, a number, -1 for none).
type VerdictPlace struct {
	Value int
	Row   int
}

// Module is a compiled sheet as a WebAssembly module without imports. It
// exports
//
//	memory          in the layout that Layout describes, with the sheet's givens
//	given()         to be called once, and after entries of given columns change
//	run(i32) → i32  computes everything: each part by the fast form and, in the
//	                lanes in which a value is not a number, by the general one.
//	                The result has a bit for each lane in which a general form
//	                ran; the parameter has one for each lane in which all do
//	care()          computes everything by the general forms in all lanes
type Module struct {
	Code []byte
	Layout
}

// layOut assigns a place in memory and an initial value to everything.
func (e *emitter) layOut(steps []code.Step) {
	e.out.Lanes = e.lanes
	e.layRegisters()
	e.layTables()
	shared, rows := 0, 0
	for _, s := range steps {
		if len(s.Code) > mostInstrs {
			shared = max(shared, len(s.Code))
		}
	}
	e.frame = e.m.room(8 * e.lanes * shared)
	for _, c := range e.p.Columns {
		rows = max(rows, c.Rows)
	}
	e.layCurves()
	if e.lanes > 1 {
		e.scratch = [2]int{e.m.room(8 * rows), e.m.room(8 * rows)}
	}
}

// layRegisters lays out the registers. The code has the constants itself, and
// the page of a compact module has the givens.
func (e *emitter) layRegisters() {
	initial := slices.Clone(e.p.Initial)
	for i := range initial {
		if e.holds[i] {
			initial[i] = 0
		}
	}
	for i, c := range e.p.Model.Cells {
		if e.m.compact && c.Given && !c.Plugged {
			initial[e.p.Cells[i]] = 0
		}
	}
	e.regs = e.m.put(e.floats(initial))
	for _, r := range e.p.Cells {
		e.out.Cells = append(e.out.Cells, e.register(r))
	}
	for _, v := range e.p.Verdicts {
		e.out.Verdicts = append(e.out.Verdicts, VerdictPlace{Value: e.register(v.Value), Row: e.register(v.Row)})
	}
}

// layTables lays out the tables and their columns.
func (e *emitter) layTables() {
	for _, t := range e.p.Model.Tables {
		end := ended
		if t.Fault != "" {
			end = never
		}
		at := e.m.put(slices.Repeat(words(t.Rows, end), e.lanes))
		e.out.Tables = append(e.out.Tables, TablePlace{Live: at, End: at + 4})
	}
	for i, c := range e.p.Columns {
		at := e.m.room(8 * e.lanes * c.Rows)
		e.out.Columns = append(e.out.Columns, ColumnPlace{At: at, Rows: c.Rows, Table: int(c.Table)})
		if !c.Computed && (!e.m.compact || e.p.Model.Tables[c.Table].Fault != "") {
			missing := slices.Repeat([]float64{kernel.Fault}, c.Rows)
			e.m.set(at, e.floats(slices.Concat(e.p.Model.Columns[i].Values, missing)[:c.Rows]))
		}
	}
}

// layCurves lays out the curves, and their points.
func (e *emitter) layCurves() {
	for _, c := range e.p.Curves {
		at := e.m.room(e.lanes * curveSize)
		e.out.Curves = append(e.out.Curves, CurvePlace{At: at, Xs: c.Xs, Ys: c.Ys, Form: c.Form})
		points := 8 * e.p.Columns[c.Xs].Rows
		for range e.lanes {
			e.m.set(at+curveForm, words(int(c.Form)))
			e.m.set(at+CurveX, words(e.m.room(points)))
			e.m.set(at+curveY, words(e.m.room(points)))
			at += curveSize
		}
	}
}

// curveSize is the size of a kernel.Curve in the translator's layout: eight
// bytes per field.
var curveSize = 8 * reflect.TypeFor[kernel.Curve]().NumField()

// register is the address of a register that is not of the frame.
func (e *emitter) register(r int32) int { return e.regs + 8*e.lanes*int(r) }

// floats returns the bytes of numbers, each repeated for every lane.
func (e *emitter) floats(v []float64) []byte {
	var b []byte
	for _, x := range v {
		b = append(b, slices.Repeat(floats(x), e.lanes)...)
	}
	return b
}

// findConstants finds the registers that hold a constant.
func (e *emitter) findConstants() {
	e.holds = slices.Repeat([]bool{true}, len(e.p.Initial))
	for _, r := range e.p.Cells {
		e.holds[r] = false
	}
	for _, v := range e.p.Verdicts {
		e.holds[v.Value], e.holds[v.Row] = false, false
	}
}

func (e *emitter) isConstant(r int32) bool { return r >= 0 && int(r) < len(e.holds) && e.holds[r] }
