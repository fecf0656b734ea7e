package check

import (
	"path"
	"slices"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// slabCells is the largest number of cells allocated at once.
const slabCells = 1024

// merge is the state of merging several worksheets.
type merge struct {
	// last is the file of the latest declaration or override of each cell.
	last []int32
	// reach is, for each file so far, the set of files above it by use.
	reach     [][]bool
	visited   []bool
	open      []bool // files on the path from the sheet to the current one
	cautions  map[string]bool
	conflicts map[int32][]conflict // by cell
	beside    map[int32][]conflict // every further given, whether its value has been settled or not
	lines     map[int32][]conflict // every override of a cell, the effective one last
	entries   []entryOverride
	joined    map[*Table]*joinedTable
	// correlates are the correlate lines, in reading order.
	correlates []correlateLine
	section    []string // the section that each file is in
	shown      shownSection
	origin     *Origin                // the last one
	place      place                  // of the current statement
	overrides  map[int32]*syntax.Cell // the declaration that replaced the value of a cell
	slab       []Cell
}

// shownSection is the last section that the outline announced.
type shownSection struct {
	file int
	text string
}

// conflict is a second given of one name, in a sheet parallel to that of the
// first: it must agree, or a sheet that uses both must restate it.
type conflict struct {
	file int
	decl *syntax.Cell
	// override says that decl is an override, and an earlier one is in a
	// parallel sheet.
	override bool
}

// correlateLine is `correlate a, b 0.4`.
type correlateLine struct {
	file int
	decl *syntax.Correlate
}

// entryOverride is `gears.ratio[3] : 1.52`.
type entryOverride struct {
	file int
	decl *syntax.Cell
}

// mergeFiles merges the files, in reading order.
func (c *checker) mergeFiles() {
	n := len(c.in.Files)
	c.makeRoom()
	c.merge.cautions = map[string]bool{}
	c.merge.conflicts = map[int32][]conflict{}
	c.merge.beside = map[int32][]conflict{}
	c.merge.lines = map[int32][]conflict{}
	c.merge.overrides = map[int32]*syntax.Cell{}
	c.merge.reach = make([][]bool, n)
	c.merge.visited = make([]bool, n)
	c.merge.open = make([]bool, n)
	c.merge.section = make([]string, n)
	if n > 0 {
		c.visit(0)
	}
	c.subjects = make([]subject, len(c.m.Cells)+len(c.m.Columns))
}

// argsLeast is the smallest number of nodes per entry of Model.Args in usual
// sheets; the list grows if there are more entries.
const argsLeast = 3

// makeRoom allocates about the memory that the sheet needs.
func (c *checker) makeRoom() {
	n, nodes := 0, 64
	for _, f := range c.in.Files {
		n += len(f.Tree.Stmts)
		nodes += f.Tree.Exprs()
	}
	c.m.names = cellNames(c.m, n)
	c.merge.last = make([]int32, 0, n)
	c.m.Nodes = append(make([]Node, 0, nodes), c.m.Nodes...)
	c.m.Cells = make([]*Cell, 0, n)
	c.m.Args = make([]NodeID, 0, nodes/argsLeast)
	c.shown = append(make([]unitID, 0, nodes), c.shown...)
	c.spans = append(make([]source.Span, 0, nodes), c.spans...)
}

// visit processes the statements of one file. The loader bounds the depth of
// uses.
func (c *checker) visit(file int) {
	c.merge.visited[file], c.merge.open[file] = true, true
	c.merge.reach[file] = make([]bool, len(c.in.Files))
	for i, s := range c.in.Files[file].Tree.Stmts {
		c.file, c.merge.place = c.in.Files[file].Tree.File, place(i)
		c.statement(file, s)
	}
	c.merge.open[file] = false
}

func (c *checker) statement(file int, s syntax.Stmt) {
	switch s := s.(type) {
	case *syntax.Cell:
		c.declareCell(file, s)
	case *syntax.Table:
		c.declareTable(file, s)
	case *syntax.Function:
		c.declareFunction(file, s)
	case *syntax.Limit:
		c.declareLimit(file, s)
	case *syntax.Chart:
		c.declareChart(file, s)
	case *syntax.Correlate:
		c.merge.correlates = append(c.merge.correlates, correlateLine{file, s})
	case *syntax.Log:
		c.declareLog(file, s)
	case *syntax.Use:
		c.use(file, s)
	default:
		c.textLine(file, s)
	}
}

// textLine processes the statements that have one text.
func (c *checker) textLine(file int, s syntax.Stmt) {
	switch s := s.(type) {
	case *syntax.Section:
		c.merge.section[file] = s.Text.Text
		c.announce(file)
	case *syntax.Title:
		if file == 0 {
			c.m.Title = s.Text.Text
		}
	case *syntax.Caution:
		c.caution(s.Text.Text)
	case *syntax.Note:
		c.item(file, Item{Note: s.Text.Text})
	}
}

func (c *checker) caution(text string) {
	if c.merge.cautions[text] {
		return
	}
	c.merge.cautions[text] = true
	c.m.Cautions = append(c.m.Cautions, text)
}

// item adds i to the outline, after its section.
func (c *checker) item(file int, i Item) {
	c.beginItem(file)
	i.File = file
	c.m.Append(i)
}

// beginItem announces the section that file is in, if it is new.
func (c *checker) beginItem(file int) {
	if c.merge.shown.file != file || c.merge.shown.text != c.merge.section[file] {
		c.announce(file)
	}
}

// announce adds the section that file is in to the outline. Statements without
// a section after a used sheet are listed under the sheet's title.
func (c *checker) announce(file int) {
	text := c.merge.section[file]
	if text == "" && len(c.m.outline) > 0 {
		text = c.sheetName(file)
	}
	c.merge.shown = shownSection{file, c.merge.section[file]}
	if text != "" {
		c.m.Append(Item{File: file, Section: text})
	}
}

// sheetName returns the title of a file, or its name.
func (c *checker) sheetName(file int) string {
	tree := c.in.Files[file].Tree
	for _, s := range tree.Stmts {
		if t, ok := s.(*syntax.Title); ok {
			return t.Text.Text
		}
	}
	return strings.TrimSuffix(path.Base(tree.File.Name), ".leaf")
}

// origin returns the origin of decl. Declarations without label and note share
// it with their neighbours.
func (c *checker) origin(file int, lead *syntax.Lead, label *syntax.Str) *Origin {
	if o := c.merge.origin; label == nil && (lead.Remarks == nil || len(lead.Above) == 0) && o != nil && o.File == file && o.Section == c.merge.section[file] && o.Label+o.Note == "" {
		return o
	}
	o := Origin{File: file, Section: c.merge.section[file], Note: lead.Note(), from: c.m.Files[file]}
	if label != nil {
		o.Label = label.Text
	}
	if c.merge.origin == nil || *c.merge.origin != o {
		c.merge.origin = new(Origin)
		*c.merge.origin = o
	}
	return c.merge.origin
}

// use processes a used file, once, at its use line.
func (c *checker) use(file int, s *syntax.Use) {
	used, ok := c.in.Files[file].Uses[s]
	if !ok {
		return // reported by whoever could not load it
	}
	if c.merge.open[used] {
		c.fail(s.Path.Span, diag.UseCycle, "%q is the worksheet that leads here: worksheets cannot use each other in a cycle", s.Path.Text).
			help("remove one of the uses")
		return
	}
	if !c.merge.visited[used] {
		c.visit(used)
	}
	reach := c.merge.reach[file]
	reach[used] = true
	for i, r := range c.merge.reach[used] {
		reach[i] = reach[i] || r
	}
}

// declareCell processes a top-level cell: a new name, or one that another file
// also has.
func (c *checker) declareCell(file int, decl *syntax.Cell) {
	if decl.Column.Text != "" {
		c.merge.entries = append(c.merge.entries, entryOverride{file, decl})
		return
	}
	id, known := c.m.names.find(decl.Name.Text)
	switch {
	case !known:
		c.addCell(file, decl)
	case id < 0:
		c.duplicate(decl.Name, c.m.Tables[^id].Origin.File, c.m.Tables[^id].decl.Name)
	default:
		c.redeclare(file, decl, id)
	}
}

// addCell makes a cell and defines its name.
func (c *checker) addCell(file int, decl *syntax.Cell) *Cell {
	cell := c.addNamed(file, decl.Name.Text, &decl.Lead, decl.Label)
	cell.Given = decl.Given
	return cell
}

func (c *checker) addNamed(file int, name string, lead *syntax.Lead, label *syntax.Str) *Cell {
	if len(c.merge.slab) == 0 {
		c.merge.slab = make([]Cell, min(max(16, len(c.m.Cells)), slabCells))
	}
	cell := &c.merge.slab[0]
	c.merge.slab = c.merge.slab[1:]
	cell.Quantity = Quantity{
		Name:    name,
		Look:    c.m.look(unknownType, 0),
		Origin:  c.origin(file, lead, label),
		Details: NoDetails,
		place:   c.merge.place,
		Index:   int32(len(c.m.Cells)),
	}
	c.m.Cells = append(c.m.Cells, cell)
	c.m.names.set(cell.Name, cell.Index)
	c.merge.last = append(c.merge.last, int32(file))
	c.beginItem(file)
	c.m.appendCell(entry{kind: cellItem, file: uint16(file), index: cell.Index})
	return cell
}

// duplicate reports a name that is already defined.
func (c *checker) duplicate(name syntax.Name, file int, first syntax.Name) {
	c.fail(name.Span, diag.NameDuplicate, "%q is defined a second time: a name has one meaning", name.Text).
		related(c.in.Files[file].Tree.File, first.Span, "the first %q", name.Text).
		help("give one of them another name")
}

// redeclare processes a mention of the cell id in another file.
func (c *checker) redeclare(file int, decl *syntax.Cell, id int32) {
	cell := c.m.Cells[id]
	if int(c.merge.last[id]) == file {
		first := c.decl(&cell.Quantity)
		if over := c.merge.overrides[id]; over != nil {
			first = over
		}
		c.duplicate(decl.Name, file, first.Name)
		return
	}
	for _, k := range c.merge.conflicts[id] {
		if k.file == file {
			c.duplicate(decl.Name, file, k.decl.Name)
			return
		}
	}
	above := c.merge.reach[file][cell.Origin.File]
	switch {
	case decl.Given && cell.Given && above:
		if c.merge.overrides[id] != nil && !c.merge.reach[file][c.merge.last[id]] {
			c.merge.conflicts[id] = append(c.merge.conflicts[id], conflict{file, decl, true})
			return
		}
		c.override(file, decl, cell)
	case decl.Given && cell.Given:
		c.merge.conflicts[id] = append(c.merge.conflicts[id], conflict{file, decl, false})
		c.merge.beside[id] = append(c.merge.beside[id], conflict{file, decl, false})
	case decl.Given && above:
		c.overridesComputed(decl, cell)
	case decl.Given:
		given := c.addCell(file, decl)
		c.plug(given, cell)
	case cell.Given:
		c.plugInto(file, decl, cell)
	default:
		c.secondFormula(file, decl, cell)
	}
}

// override replaces the value of cell by that of decl, which resolves conflicts
// between sheets below it.
func (c *checker) override(file int, decl *syntax.Cell, cell *Cell) {
	c.merge.overrides[cell.Index] = decl
	c.merge.lines[cell.Index] = append(c.merge.lines[cell.Index], conflict{file: file, decl: decl})
	c.merge.last[cell.Index] = int32(file)
	var kept []conflict
	for _, k := range c.merge.conflicts[cell.Index] {
		if !c.merge.reach[file][k.file] {
			kept = append(kept, k)
		}
	}
	c.merge.conflicts[cell.Index] = kept
}

func (c *checker) overridesComputed(decl *syntax.Cell, cell *Cell) {
	c.fail(decl.Name.Span, diag.OverrideComputed, "%s is computed there, so a value cannot replace it here", cell.Name).
		related(c.fileOf(&cell.Quantity), c.decl(&cell.Quantity).Span, "%s is computed here", cell.Name).
		help("override one of the givens that it is computed from, or give this cell another name")
}

// plug takes a given from the cell that computes it; the name then denotes that
// cell.
func (c *checker) plug(given, from *Cell) {
	given.Given, given.Plugged = false, true
	c.m.names.set(given.Name, from.Index)
	c.m.Plugs = append(c.m.Plugs, Plug{Given: given, Source: from})
}

// plugInto adds a computed cell and plugs the given that has its name.
func (c *checker) plugInto(file int, decl *syntax.Cell, given *Cell) {
	if over := c.merge.overrides[given.Index]; over != nil {
		c.fail(decl.Name.Span, diag.OverrideComputed, "%s is computed here, but another sheet has set it by hand", decl.Name.Text).
			related(c.in.Files[c.merge.last[given.Index]].Tree.File, over.Span, "%s is set here", decl.Name.Text).
			help("remove the line that sets it")
		return
	}
	from := c.addCell(file, decl)
	c.plug(given, from)
	delete(c.merge.conflicts, given.Index)
	delete(c.merge.beside, given.Index)
}

// secondFormula refuses a second computed cell of one name, unless its formula
// is the same.
func (c *checker) secondFormula(file int, decl *syntax.Cell, cell *Cell) {
	if syntax.String(decl.Formula) == syntax.String(c.decl(&cell.Quantity).Formula) {
		c.merge.last[cell.Index] = int32(file)
		return
	}
	c.fail(decl.Span, diag.ComputedTwice, "two worksheets compute %s differently: here %s = %s, there %s = %s",
		cell.Name, cell.Name, shorten(syntax.String(decl.Formula)), cell.Name, shorten(syntax.String(c.decl(&cell.Quantity).Formula))).
		related(c.fileOf(&cell.Quantity), c.decl(&cell.Quantity).Span, "the other %s", cell.Name).
		help("give one of them another name")
}

// shorten truncates a text for a message.
func shorten(s string) string {
	if runes := []rune(s); len(runes) > longestQuote {
		return string(runes[:longestQuote-1]) + "…"
	}
	return s
}

// declareTable processes a table. Tables of one name are one table.
func (c *checker) declareTable(file int, decl *syntax.Table) {
	if id, known := c.m.names.find(decl.Name.Text); known {
		if id < 0 {
			c.joinTable(file, decl, c.m.Tables[^id])
		} else {
			c.duplicate(decl.Name, c.m.Cells[id].Origin.File, c.decl(&c.m.Cells[id].Quantity).Name)
		}
		return
	}
	if first, ok := c.lib.tables[decl.Name.Text]; ok {
		c.advise(decl.Name.Span, diag.LibraryShadowed, "the table %s hides the library's table of that name in this sheet", decl.Name.Text).
			related(first.file.File, first.decl.Name.Span, "the library's %s", decl.Name.Text)
	}
	t := &Table{Name: decl.Name.Text, Origin: *c.origin(file, &decl.Lead, decl.Label), decl: decl, place: c.merge.place}
	if decl.From != nil {
		t.From = decl.From.Text
	}
	c.addTable(t)
	c.m.names.set(t.Name, ^int32(t.Index))
	c.item(file, Item{Table: t})
}

func (c *checker) declareLimit(file int, decl *syntax.Limit) {
	l := &Limit{Origin: *c.origin(file, &decl.Lead, nil), Index: len(c.m.Limits), Advise: decl.Advise, decl: decl, place: c.merge.place}
	if decl.Message != nil {
		l.Message = decl.Message.Text
	}
	l.Text = syntax.String(decl.Cond)
	c.m.Limits = append(c.m.Limits, l)
	c.item(file, Item{Limit: l})
}

func (c *checker) declareChart(file int, decl *syntax.Chart) {
	ch := &Chart{Origin: *c.origin(file, &decl.Lead, nil), Title: decl.Title.Text, decl: decl}
	c.m.Charts = append(c.m.Charts, ch)
	c.item(file, Item{Chart: ch})
}

// settleConflicts compares givens of one name in several worksheets that no
// sheet above has restated.
func (c *checker) settleConflicts() {
	cells := make([]int32, 0, len(c.merge.conflicts))
	for id := range c.merge.conflicts {
		cells = append(cells, id)
	}
	slices.Sort(cells)
	for _, id := range cells {
		for _, k := range c.merge.conflicts[id] {
			c.file = c.in.Files[k.file].Tree.File
			if len(k.decl.Values) == 1 && c.subjects[id].typ != unknownType {
				c.settleConflict(c.m.Cells[id], k)
			}
		}
	}
}

// settleConflict reports a second given that differs from the first.
func (c *checker) settleConflict(cell *Cell, k conflict) {
	decl, first := k.decl, c.decl(&cell.Quantity)
	bare := unitID(0)
	if k.override {
		bare = c.m.unitOf(cell.Unit)
	}
	file := c.fileOf(&cell.Quantity)
	if over := c.merge.overrides[cell.Index]; over != nil {
		first, file = over, c.in.Files[c.merge.last[cell.Index]].Tree.File
	}
	lit, d := c.m.readFor(&cell.Quantity, decl.Values[0], bare)
	if d != nil {
		c.place(d)
		return
	}
	if sameValue(&cell.Quantity, lit.value, cell.Value) {
		return
	}
	c.fail(decl.Span, diag.GivenConflict, "two worksheets give %s differently: %s here, %s there", cell.Name, c.m.show(&cell.Quantity, lit.value), c.m.show(&cell.Quantity, cell.Value)).
		related(file, first.Span, "the other %s", cell.Name).
		help("resolve this in the sheet that uses both: below the uses, write %s : %s", cell.Name, c.m.show(&cell.Quantity, lit.value))
}
