package wasm

import "gearleaf/sheet/kernel"

// Layout gives the addresses, in bytes, of a sheet's values in a module's
// memory. Numbers are f64, little endian, one value per lane; a logical value
// is 1 or 0, a text its index among the model's texts. A blank and a fault are
// always the NaNs with the bits of kernel.Blank and kernel.Fault.
type Layout struct {
	// Lanes is the number of scenarios that a module computes in parallel: 1 or
	// 2. A value in lane k is 8 k bytes after each address below.
	Lanes int `json:"lanes"`
	// Cells are the addresses of the model's cells. Those of givens may be
	// written.
	Cells []int `json:"cells"`
	// Columns are the model's columns: entry i (from 0) is at At + 8 i Lanes.
	// Entries of given columns may be written; then call `given`.
	Columns []ColumnPlace `json:"columns"`
	// Tables have the numbers of live rows of the model's tables.
	Tables []TablePlace `json:"tables"`
	// Verdicts are the outcomes of limits, then of advices.
	Verdicts []VerdictPlace `json:"verdicts"`
	// Curves are the pairs of columns for look-ups.
	Curves []CurvePlace `json:"curves"`
}

// CurvePlace is the place of the points of two columns, prepared for look-ups:
// a kernel.Curve, see CurveState.
type CurvePlace struct {
	At   int               `json:"at"`
	Xs   int32             `json:"xs"`
	Ys   int32             `json:"ys"`
	Form kernel.LookupForm `json:"form"`
}

// ColumnPlace is the place of a column's entries, and its capacity.
type ColumnPlace struct {
	At    int `json:"at"`
	Rows  int `json:"rows"`
	Table int `json:"table"` // the table that it belongs to
}

// TablePlace is the place of a table's number of live rows, an i32, and after
// it (4 Lanes bytes on) of how the table ended, an i32: 0 if it has no `until`
// or that held in the last live row; 1 if it never held or the table's file
// could not be read, so whole-column results are faults; 2 if it was a fault in
// the row after the live ones, so that row and all later ones are faults in
// computed columns.
type TablePlace struct {
	Live int `json:"live"`
	End  int `json:"end"`
}

// VerdictPlace is the place of the result of a limit or an advice, and of the
// deciding row (from 0, a number, -1 for none).
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
