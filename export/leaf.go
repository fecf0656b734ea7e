package export

import (
	"path"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/syntax"
)

// leaf is a tab of lines: the sheet itself, or one that it uses.
type leaf struct {
	name, quoted string
	title        string
	lines        []line
	headed       bool // its columns have been named
	onePage      bool // its lines belong on one page of paper
}

// line is one row of a tab.
type line struct {
	kind lineKind
	text string
	cell *check.Cell
	chk  int // index in checks, or the place in the order of limits
	tab  *tablePlan
	row  int // of the table
}

type lineKind uint8

const (
	blankLine lineKind = iota
	titleLine
	verdictLine
	cautionLine
	noteLine
	headLine // a block's head; text is its first column
	sectionLine
	givenLine
	resultLine
	mirrorLine // a value whose own place is the front
	limitLine
	whyLine  // the reason of the limit above
	moreLine // how many limits are not listed
	adviceLine
	summaryLine
	tableLine // a table that has a tab of its own
	tableHeadLine
	columnHeadLine
	unitHeadLine
	tableRowLine
)

// Bounds of a table that is in the lines of a tab. They do not depend on values,
// because the places of cells must not.
const (
	shortRows  = 12
	shortCols  = lastFrontColumn
	narrowRows = 25 // of a table of up to narrowCols columns
	narrowCols = 3
)

func (b *book) newLeaf(name string) *leaf {
	name = b.tabs.sheet(name)
	l := &leaf{name: name, quoted: quoteSheet(name)}
	b.leaves = append(b.leaves, l)
	return l
}

func (l *leaf) add(n line) int {
	l.lines = append(l.lines, n)
	return len(l.lines)
}

// layouter lays out the tabs in lines.
type layouter struct {
	*book
	// set are the givens of other sheets that the sheet itself sets, by the
	// head under which they are on the front.
	set     map[string][]*check.Cell
	moved   map[*check.Cell]bool
	section string
	file    int
	open    bool // the section's head has been written
}

// sheetBlock is the block of a tab that has the sheet's own lines.
const sheetBlock = "Sheet"

// setHere is the head over givens of other sheets that this one sets outside a
// section.
const setHere = "Set here for the other sheets"

// layOut lays out the sheet and those it uses, each in its own order. The front
// begins with the verdict, then the limits, broken ones first.
func (b *book) layOut() {
	b.byFile = map[int]*leaf{}
	y := &layouter{book: b, moved: map[*check.Cell]bool{}}
	b.front = b.newLeaf("Sheet")
	y.byFile[0] = b.front
	several := false
	for item := range b.m.Outline() {
		several = several || item.File > 0
	}
	cautions := b.m.Cautions
	if several {
		cautions = b.cautions(0)
		y.findSet()
	}
	y.top(b.front, b.m.Title, cautions)
	y.limits()
	for item := range b.m.Outline() {
		y.item(item)
	}
	y.endSection(0)
	if several {
		y.rest()
	}
	y.advices()
}

// top writes a tab's title and its cautions.
func (y *layouter) top(l *leaf, title string, cautions []string) {
	if title == "" {
		title = "Worksheet"
	}
	l.title = title
	l.add(line{kind: titleLine, text: title})
	if l == y.front && len(y.m.Limits) > 0 {
		l.add(line{kind: verdictLine})
	}
	for _, c := range cautions {
		l.add(line{kind: cautionLine, text: c})
	}
}

// cautions returns the cautions of one file.
func (b *book) cautions(file int) []string {
	var out []string
	for _, stmt := range b.m.Files[file].Tree().Stmts {
		if text, ok := stmt.(*syntax.Caution); ok {
			out = append(out, text.Text.Text)
		}
	}
	return out
}

// findSet finds the givens of other sheets that the sheet itself sets.
func (y *layouter) findSet() {
	y.set = map[string][]*check.Cell{}
	section := ""
	for _, stmt := range y.m.Files[0].Tree().Stmts {
		switch stmt := stmt.(type) {
		case *syntax.Section:
			section = stmt.Text.Text
		case *syntax.Use:
			section = ""
		case *syntax.Cell:
			c, _ := y.m.Resolve(stmt.Name.Text)
			if c != nil && c.Given && !c.Plugged && c.Origin.File != 0 && !y.moved[c] {
				y.moved[c] = true
				y.set[section] = append(y.set[section], c)
			}
		}
	}
}

// leafOf returns the tab of a file's lines, with its title and cautions.
func (y *layouter) leafOf(file int) *leaf {
	l := y.byFile[file]
	if l == nil {
		title := y.titleIn(file)
		l = y.newLeaf(cutRunes(title, maxSheetRunes))
		y.byFile[file] = l
		y.top(l, title, y.cautions(file))
	}
	return l
}

// entriesTab has the lines of a sheet below those that it uses.
const entriesTab = "To enter"

// secondPage begins another tab for the sheet's own lines: lines below the used
// sheets are for entries, lines above them are the page to read.
func (y *layouter) secondPage() {
	y.front.onePage = true
	l := y.newLeaf(entriesTab)
	y.byFile[0] = l
	y.top(l, entriesTab, nil)
	copy(y.leaves[2:], y.leaves[1:])
	y.leaves[1] = l
}

// titleIn returns the title that a worksheet has in its text, or its name.
func (b *book) titleIn(file int) string {
	for _, stmt := range b.m.Files[file].Tree().Stmts {
		if t, ok := stmt.(*syntax.Title); ok {
			return t.Text.Text
		}
	}
	return b.sourceOf(file)
}

// sourceOf returns the name of a worksheet, without its folder and ending.
func (b *book) sourceOf(file int) string {
	return strings.TrimSuffix(path.Base(b.m.Files[file].File.Name), ".leaf")
}

// titleOf returns the title of a worksheet's tab.
func (b *book) titleOf(file int) string {
	switch l := b.byFile[file]; {
	case file == 0:
		return clean(b.front.title)
	case l == nil:
		return clean(b.titleIn(file))
	default:
		return clean(l.title)
	}
}

// item writes one item of the outline.
func (y *layouter) item(i check.Item) {
	if i.File != 0 && y.front.headed && y.byFile[0] == y.front {
		y.secondPage()
	}
	if i.Section != "" {
		y.endSection(i.File)
		if y.byFile[i.File] == nil {
			y.leafOf(i.File)
			y.section = ""
		}
		return
	}
	if i.File != y.file {
		y.endSection(i.File)
	}
	l := y.leafOf(i.File)
	switch {
	case i.Note != "":
		l.add(line{kind: noteLine, text: i.Note})
	case i.Cell != nil && !i.Cell.Plugged:
		y.cell(l, i.Cell)
	case i.Table != nil && !i.Table.Library:
		y.head(l, i.Table.Origin.Section)
		y.table(l, y.tables[i.Table.Index])
	}
}

// head writes the head of a section before the first thing in it.
func (y *layouter) head(l *leaf, section string) {
	if !l.headed {
		l.headed = true
		l.add(line{})
		l.add(line{kind: headLine, text: sheetBlock})
	}
	if section == y.section && y.open {
		return
	}
	y.section, y.open = section, true
	if section != "" && section != l.title {
		l.add(line{kind: sectionLine, text: section})
	}
}

// endSection writes, below a section, the givens of other sheets that are set
// in it; file is where the next one is.
func (y *layouter) endSection(file int) {
	if y.file == 0 && len(y.set[y.section]) > 0 && y.section != "" {
		y.setCells(y.section)
	}
	y.file, y.open, y.section = file, false, ""
}

func (y *layouter) setCells(section string) {
	for _, c := range y.set[section] {
		y.place(y.byFile[0], givenLine, c)
	}
	delete(y.set, section)
}

// rest writes the givens of other sheets that are set outside a section, or in
// one that has nothing else.
func (y *layouter) rest() {
	for _, stmt := range y.m.Files[0].Tree().Stmts {
		if s, ok := stmt.(*syntax.Section); ok && len(y.set[s.Text.Text]) > 0 {
			y.open = false
			y.head(y.byFile[0], s.Text.Text)
			y.setCells(s.Text.Text)
		}
	}
	if len(y.set[""]) > 0 {
		y.open = false
		y.head(y.byFile[0], setHere)
		y.setCells("")
	}
}

func (y *layouter) place(l *leaf, kind lineKind, c *check.Cell) {
	y.cells[c.Index].leaf, y.cells[c.Index].row = l, l.add(line{kind: kind, cell: c})
}

// cell writes a scalar where the sheet has it.
func (y *layouter) cell(l *leaf, c *check.Cell) {
	y.head(l, c.Origin.Section)
	switch {
	case y.moved[c]:
		l.add(line{kind: mirrorLine, cell: c})
	case y.cells[c.Index].row != 0:
	case c.Given:
		y.place(l, givenLine, c)
	default:
		y.place(l, resultLine, c)
	}
}

// table writes a short table in its place, of another one where its tab is.
func (y *layouter) table(l *leaf, t *tablePlan) {
	if !short(t.t) {
		l.add(line{kind: tableLine, tab: t})
		return
	}
	t.host = l
	l.add(line{kind: tableHeadLine, tab: t})
	l.add(line{kind: columnHeadLine, tab: t})
	l.add(line{kind: unitHeadLine, tab: t})
	for row := range t.t.Rows {
		at := l.add(line{kind: tableRowLine, tab: t, row: row})
		if row == 0 {
			t.first = at
		}
	}
	l.add(line{}) // the next row of the last one is empty
}

// short reports whether a table is in the lines of the sheet.
func short(t *check.Table) bool {
	if t.Until != 0 || t.From != "" || t.Rows == 0 {
		return false
	}
	n := len(t.Columns)
	return t.Rows <= shortRows && n <= shortCols || t.Rows <= narrowRows && n <= narrowCols
}

// tickMark is the mark in a ticked box; any other mark is equivalent.
const tickMark = "x"

// ticked reports whether a column consists of tick boxes: empty in the
// worksheet, without a unit, and not read by any formula. A mark there is for
// people.
func ticked(m *check.Model, c *check.Column) bool {
	if !c.Given || c.Type.Form != check.Number || symbol(c.Unit) != "" || len(c.Values) == 0 {
		return false
	}
	for _, v := range c.Values {
		if !kernel.IsBlank(v) {
			return false
		}
	}
	for i := range m.Nodes {
		switch n := &m.Nodes[i]; n.Op {
		case check.ColumnRef, check.PrevRef, check.NextRef, check.Aggregate, check.IndexAt:
			if int32(n.Ref()) == c.Index {
				return false
			}
		case check.Lookup:
			if xs, ys, _ := m.LookupOf(n); xs == c.Index || ys == c.Index {
				return false
			}
		}
	}
	return true
}

// advices lays out the tab of ranges and validity, which can be long; the front
// summarises it in one line.
func (y *layouter) advices() {
	b := y.book
	for i, a := range b.m.Advices {
		if a.Column != nil && a.Column.Table.Library || a.Cell != nil && b.cells[a.Cell.Index].row == 0 {
			continue
		}
		if len(b.side) == 0 {
			b.side = []line{{kind: titleLine, text: validityTab}, {}, {kind: headLine, text: validityTab}}
			b.front.add(line{})
			b.front.add(line{kind: headLine, text: validityTab})
			b.front.add(line{kind: summaryLine})
		}
		b.side = append(b.side, line{kind: adviceLine, chk: len(b.checks)})
		b.checks = append(b.checks, checkPlan{row: len(b.side), advice: a, index: i})
	}
}

// sideHead is the number of rows above the first advice.
const sideHead = 3
