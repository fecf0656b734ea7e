package check

import (
	"slices"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// library finds the library's declarations by name. Only those that a sheet
// uses are read.
type library struct {
	functions  map[string]*libraryEntry[*syntax.Function]
	tables     map[string]*libraryEntry[*syntax.Table]
	scalars    map[string]*libraryEntry[*syntax.Cell]
	intrinsics map[string][]int32
	made       map[string]*function
	laid       map[string]*Table
	read       map[string]literal
}

// libraryEntry is a statement of the library with its file.
type libraryEntry[S any] struct {
	decl S
	file *syntaxFile
}

// syntaxFile is a library file: its tree, and its place in Model.Files once a
// table of it is used.
type syntaxFile struct {
	*syntax.Worksheet
	index int
	kept  *Worksheet // the entry in Model.Files
}

func (l *library) open(lib Library) {
	l.functions = map[string]*libraryEntry[*syntax.Function]{}
	l.tables = map[string]*libraryEntry[*syntax.Table]{}
	l.scalars = map[string]*libraryEntry[*syntax.Cell]{}
	l.intrinsics = map[string][]int32{}
	l.made, l.laid, l.read = map[string]*function{}, map[string]*Table{}, map[string]literal{}
	for i := range lib.Intrinsics {
		name := lib.Intrinsics[i].Name
		l.intrinsics[name] = append(l.intrinsics[name], int32(i))
	}
	for _, w := range lib.Files {
		file := &syntaxFile{w, -1, &Worksheet{File: w.File, tree: w}}
		for _, s := range w.Stmts {
			switch s := s.(type) {
			case *syntax.Function:
				l.functions[s.Name.Text] = &libraryEntry[*syntax.Function]{s, file}
			case *syntax.Table:
				l.tables[s.Name.Text] = &libraryEntry[*syntax.Table]{s, file}
			case *syntax.Cell:
				l.scalars[s.Name.Text] = &libraryEntry[*syntax.Cell]{s, file}
			}
		}
	}
}

// libraryFunction returns the library's function of that name, or nil.
func (c *checker) libraryFunction(name string) *function {
	if f, ok := c.lib.made[name]; ok {
		return f
	}
	e, ok := c.lib.functions[name]
	if !ok {
		return nil
	}
	f := c.addFunction(e.decl, e.file.File)
	f.library = true
	c.lib.made[name] = f
	return f
}

// libraryScalar returns the value of a library's scalar given.
func (c *checker) libraryScalar(name string, span source.Span) NodeID {
	lit, ok := c.lib.read[name]
	if !ok {
		e, found := c.lib.scalars[name]
		if !found || !e.decl.Given || len(e.decl.Values) != 1 {
			return 0
		}
		var bad bool
		if lit, bad = c.readScalar(e); bad {
			return 0
		}
		c.lib.read[name] = lit
	}
	id := c.node(number(lit.typ, lit.value), span)
	c.shown[id] = lit.unit
	return id
}

func (c *checker) readScalar(e *libraryEntry[*syntax.Cell]) (literal, bool) {
	lit, d := c.m.readLiteral(e.decl.Values[0], 0)
	if d != nil {
		file := c.file
		c.file = e.file.File
		c.place(d)
		c.file = file
	}
	return lit, d != nil
}

// libraryTable returns the library's table of that name, added to the model;
// nil if there is none.
func (c *checker) libraryTable(name string) *Table {
	if t, ok := c.lib.laid[name]; ok {
		return t
	}
	e, ok := c.lib.tables[name]
	if !ok {
		return nil
	}
	if e.file.index < 0 {
		e.file.index = len(c.m.Files)
		c.m.Files = append(c.m.Files, e.file.kept)
	}
	t := &Table{Name: name, Library: true, decl: e.decl, Origin: Origin{File: e.file.index, Note: e.decl.Note(), from: e.file.kept}}
	t.place = place(slices.Index(e.file.Stmts, syntax.Stmt(e.decl)))
	c.addTable(t)
	c.lib.laid[name] = t
	saved := c.work
	c.work = work{file: e.file.File}
	c.readTable(t)
	c.work = saved
	return t
}

// CheckLibrary checks the library's functions by themselves, called or not, and
// their worked examples; for functions that take any value, only the examples.
// The Model holds an instance of each function that was checked.
func CheckLibrary(lib Library) (*Model, diag.List) {
	c := newChecker(Input{Library: lib})
	c.mergeFiles()
	c.buildFormulas()
	for _, w := range lib.Files {
		for _, s := range w.Stmts {
			if f, ok := s.(*syntax.Function); ok {
				c.checkFunction(c.libraryFunction(f.Name.Text))
			}
		}
	}
	c.finish()
	return c.m, c.list
}
