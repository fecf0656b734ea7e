package sheet

import (
	"sync"

	"gearleaf/formulas"
	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
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

	unsound *unsound // what has no value because of an error; nil if there is none
}

// library parses the formula library once per process.
var library = sync.OnceValue(func() check.Library { return check.ReadLibrary(formulas.Files(), formulas.Intrinsics()) })

// Library returns the formula library, parsed.
func Library() check.Library { return library() }
