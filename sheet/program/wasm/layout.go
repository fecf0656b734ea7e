package wasm

import "gearleaf/sheet/kernel"

// Layout says where a module keeps the values of a sheet in its memory, all
// addresses in bytes. Numbers are f64, little endian, a value a lane; a truth
// is 1 or 0, a text its index among the model's texts. A blank and a fault are
// the NaNs with the bits of kernel.Blank and kernel.Fault, always.
type Layout struct {
	// Lanes is how many scenarios a module computes side by side: 1 or 2. In
	// all that follows a value in lane k is 8 k bytes after the address.
	Lanes int `json:"lanes"`
	// Cells are the addresses of the model's cells. Those of givens may be
	// written.
	Cells []int `json:"cells"`
	// Columns are the model's columns: entry i (from 0) is at At + 8 i Lanes.
	// Entries of given columns may be written; then `given` is to be called.
	Columns []ColumnPlace `json:"columns"`
	// Tables say how many live rows the model's tables have.
	Tables []TablePlace `json:"tables"`
	// Verdicts are the outcomes of limits, then of advices.
	Verdicts []VerdictPlace `json:"verdicts"`
	// Curves are the pairs of columns that are looked up.
	Curves []CurvePlace `json:"curves"`
}

// CurvePlace is where the points of two columns are prepared for look-ups: a
// kernel.Curve, see CurveState.
type CurvePlace struct {
	At   int               `json:"at"`
	Xs   int32             `json:"xs"`
	Ys   int32             `json:"ys"`
	Form kernel.LookupForm `json:"form"`
}

// ColumnPlace is where a column's entries are, and for how many there is room.
type ColumnPlace struct {
	At    int `json:"at"`
	Rows  int `json:"rows"`
	Table int `json:"table"` // the table that it belongs to
}

// TablePlace is where a table's number of live rows is, an i32, and after it
// (4 Lanes bytes on) how the table ended, an i32: 0 if it has no `until`,
// or that held in the last live row; 1 where it never held, or the table's
// file could not be read: whole-column results are faults; 2 where it was a
// fault in the row after the live ones: that row and all after it are at fault
// in computed columns.
type TablePlace struct {
	Live int `json:"live"`
	End  int `json:"end"`
}

// VerdictPlace is where the truth of a limit or an advice is, and the row
// (from 0, a number, -1 for none) that decided it.
type VerdictPlace struct {
	Value int `json:"value"`
	Row   int `json:"row"`
}

// Module is a compiled sheet as a WebAssembly module without imports. It
// exports
//
//	memory         in the layout that Layout describes, with the sheet's givens
//	given()        to be called once, and after entries of given columns change
//	run() → i32    computes everything: each part in the fast form and, where that
//	               shows something that is not a number, with care; 0 where
//	               every part was all numbers
//	care()         computes everything with care
//
// Two lanes are computed by one run; the bits show which of them needed care.
type Module struct {
	Code []byte
	Layout
}
