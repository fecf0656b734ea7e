package diag

import "sort"

// Row describes a code. A test runs Example through the engine: it
// yields this code and no other.
type Row struct {
	Code    Code
	Summary string // the error, in a few words
	Example string // a worksheet with the error, empty if it needs files
}

// stages holds the rows that the stages have registered.
var stages [][]Row

// register adds the rows of a stage; each stage has a file of its own, with
// one `var _ = register(…)`.
func register(rows ...Row) bool {
	stages = append(stages, rows)
	return true
}

// Codes returns the rows of all codes, sorted by code.
func Codes() []Row {
	var all []Row
	for _, rows := range stages {
		all = append(all, rows...)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Code < all[j].Code })
	return all
}
