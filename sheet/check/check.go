package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
)

// Input is everything that Check looks at. Files[0] is the sheet; the others
// are reached from it through Uses.
type Input struct {
	Files   []File
	Library Library
	// CSV reads the table file that the worksheet with index file names;
	// nil where no file can be read.
	CSV func(file int, path string) (*CSV, error)
}

// File is one worksheet with what its `use` lines lead to.
type File struct {
	Tree *syntax.Worksheet
	// Uses holds the index in Input.Files of every use that could be
	// loaded; an absent one has been reported already.
	Uses map[*syntax.Use]int
}

// Library is the formulas that every sheet can call.
type Library struct {
	Files      []*syntax.Worksheet
	Intrinsics []kernel.Intrinsic
}

// CSV is a table read from a file.
type CSV struct {
	Head  []string
	Rows  [][]string
	Lines []int // the line number of each row
}

// Check gives meaning to the worksheets of in. The Model is never nil; it is
// fit for computing only when the list holds no error.
func Check(in Input) (*Model, diag.List) {
	return &Model{}, nil
}
