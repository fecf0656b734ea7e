package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Input is everything that Check reads. Files[0] is the sheet; the others are
// reached from it through Uses.
type Input struct {
	Files   []File
	Library Library
	// CSV reads the table file that the worksheet with index file names; nil if
	// no file can be read. heads are the headings of the columns that the table
	// uses.
	CSV func(file int, path string, heads []string) (*CSV, error)
}

// File is one worksheet with the files of its `use` lines.
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

// ReadLibrary parses the files of a library. It panics on an error in them:
// they are part of the program, and a test parses every file.
func ReadLibrary(files []*source.File, intrinsics []kernel.Intrinsic) Library {
	lib := Library{Intrinsics: intrinsics}
	for _, file := range files {
		tree, list := syntax.Parse(file)
		if list.Errors() {
			panic("check: " + file.Name + ": " + list[0].Message)
		}
		lib.Files = append(lib.Files, tree)
	}
	return lib
}

// LanguageVersion is the newest version of the language that is understood.
const LanguageVersion = 1

// checker is one run of Check. The model's arena is filled in two passes:
// building resolves names and makes nodes, inferring walks the nodes of each
// formula, children before parents, and gives them types.
type checker struct {
	in Input
	m  *Model

	list     diag.List
	reported map[*source.File]int
	spare    diag.Diagnostic // takes the reports beyond the bound
	work

	merge     merge
	functions []*function
	own       map[string]int32  // the sheet's functions by name
	called    map[string]callee // the callees of calls outside functions, by name
	lib       library
	calls     map[callKey]call
	failures  map[callKey]diag.Diagnostic // of bodies with parameters of any type

	columnDecls []*syntax.Cell // of the columns of the model
	subjects    []subject      // cells, then columns
	// The display unit of each node of the arena, and its place in the current
	// file.
	shown     []unitID
	read      map[NodeID]unitID // see bare.go
	spans     []source.Span
	binary    []binaryMemo
	arguments []NodeID         // a stack of argument lists being built
	spine     []*syntax.Binary // a stack of left sides being walked
	stack     []frame
	sizes     []NodeID // a stack for counting operations
	depth     int      // of functions whose bodies are being checked
	built     int      // nodes of the sheet's own formulas, once those are built
	reports   int      // the number of reports, listed or not

	columns map[columnKey]*Column
	loops   []*tableWork
	limits  []nodes // of the conditions of Model.Limits
	outside scope   // the scope of formulas outside tables
}

// Check resolves and checks the worksheets of in. The Model is never nil; it
// can be computed only if the list contains no error.
func Check(in Input) (*Model, diag.List) {
	return newChecker(in).run()
}

func (c *checker) run() (*Model, diag.List) {
	c.declareUnits()
	c.mergeFiles()
	c.readGivens()
	c.readTables()
	c.restateColumns()
	c.applyOverrides()
	c.settleJoined()
	c.readCorrelations()
	c.buildFormulas()
	c.inferFormulas()
	c.settlePlugged()
	c.resolveLogs()
	c.checkFunctions()
	c.finish()
	return c.m, c.list
}

func newChecker(in Input) *checker {
	c := &checker{
		in: in, m: newModel(),
		reported: map[*source.File]int{},
		own:      map[string]int32{},
		called:   map[string]callee{},
		calls:    map[callKey]call{},
		failures: map[callKey]diag.Diagnostic{},
		shown:    make([]unitID, 1, 64),
		spans:    make([]source.Span, 1, 64),
		binary:   make([]binaryMemo, memoSize),
	}
	c.m.Intrinsics = in.Library.Intrinsics
	for _, f := range in.Files {
		c.m.Files = append(c.m.Files, &Worksheet{File: f.Tree.File, tree: f.Tree})
	}
	c.lib.open(in.Library)
	return c
}
