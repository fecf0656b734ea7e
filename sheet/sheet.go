package sheet

import (
	"sync"

	"gearleaf/formulas"
	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/whatif"
)

// Sheet is a worksheet that has been read, checked and compiled. It is not
// safe for concurrent use.
type Sheet struct {
	Path    string // as it was given; empty for a text
	Model   *check.Model
	Graph   *graph.Graph
	Program *program.Program
	// Settings replace givens of the text, in the order of Set.
	Settings []whatif.Setting

	unsound *unsound // what has no value because of an error; nil for nothing
}

// library parses the formula library once per process.
var library = sync.OnceValue(func() check.Library {
	lib := check.Library{Intrinsics: formulas.Intrinsics()}
	for _, file := range formulas.Files() {
		tree, list := syntax.Parse(file)
		if list.Errors() {
			panic("formulas: " + file.Name + ": " + list[0].Message) // a test parses every file
		}
		lib.Files = append(lib.Files, tree)
	}
	return lib
})

// Library returns the formula library, parsed.
func Library() check.Library { return library() }
