// Package formulas is the library of the worksheet language: one .leaf file per
// subject, written in that language, and the few intrinsics that a formula
// cannot express.
//
// A file added to this folder is part of the library; nothing here names files.
package formulas

import (
	"embed"
	"io/fs"

	"gearleaf/sheet/source"
)

// Version is increased with every change of the library that changes the
// numbers of a worksheet.
const Version = 1

//go:embed *.leaf
var library embed.FS

// Files returns the library's worksheets in the order of their names. The
// caller may keep the files, which are immutable.
func Files() []*source.File {
	names, err := fs.Glob(library, "*.leaf")
	if err != nil {
		panic(err) // the pattern is a constant
	}
	files := make([]*source.File, 0, len(names))
	for _, name := range names {
		text, err := library.ReadFile(name)
		if err != nil {
			panic(err) // the file is part of the program
		}
		files = append(files, source.New("formulas/"+name, string(text)))
	}
	return files
}
