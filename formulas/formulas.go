// Package formulas holds the library of the worksheet language: one .leaf
// file a subject, written in that language itself, and the few intrinsics
// that a formula cannot say.
//
// A file dropped into this folder joins the library; nothing here names one.
package formulas

import (
	"embed"
	"io/fs"

	"gearleaf/sheet/source"
)

// Version counts the library's changes of results: it is raised with every
// change after which a worksheet computes other numbers.
const Version = 1

//go:embed *.leaf
var library embed.FS

// Files returns the library's worksheets in the order of their names. The
// caller may keep the files; they never change.
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
