package export

import (
	"strconv"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// book is the plan of a workbook: the place of everything, and the formulas. It
// is laid out first, printed second and written last, because a formula needs
// the places of its operands, and printing adds steps.
type book struct {
	s     *sheet.Sheet
	m     *check.Model
	r     *sheet.Result
	blank *blanks
	names *nameSet
	tabs  *nameSet

	front    []line
	side     []line // of the tab of ranges and validity
	frontTab string
	cells    []cellPlan // by Cell.Index
	tables   []*tablePlan
	checks   []checkPlan // limits, then advices

	// direct says that formulas refer to scalars by their places: a spreadsheet
	// takes no more than maxNames names.
	direct bool

	stepsTab string
	steps    []scalarStep
	stepOf   map[string]int
	lists    map[*check.Quantity]string

	uses   map[*check.Instance]*uses
	report Report
}

// cellPlan is the place of a scalar, and its formula.
type cellPlan struct {
	row     int
	name    string
	formula string
	why     string // why there is no formula
}

// tablePlan is a table's tab, with the steps of its rows.
type tablePlan struct {
	t       *check.Table
	tab     string
	quoted  string
	first   int      // the tab's row of the table's first row
	names   []string // defined names by column of the tab, counted from 0
	columns []columnPlan
	// stepsTab is the tab of the steps, quoted: the table's own, on which they
	// are in hidden columns from stepsFirst on.
	stepsTab   string
	stepsFirst int
	steps      []rowStep
	stepOf     map[string]int
	doneColumn int
	// behindColumn says whether a row is after the last live one.
	behindColumn int
	early        map[*check.Column]bool
	scalars      string
	until        string
	rows         string // defined name of the number of live rows
	failed       string
}

// columnPlan is a column's formulas: the first row's, and the others'.
type columnPlan struct {
	top, rest string
	why       string
}

// checkPlan is a condition whose state the front tab shows in a word.
type checkPlan struct {
	row    int
	limit  *check.Limit
	advice *check.Advice
	index  int    // of the advice
	state  string // formula
	place  string // formula of the first row that breaks it, or empty
	why    string
}

// tableTop is the row of a table's first row on its tab: title, remark,
// labels, names and units are above.
const tableTop = 6

func newBook(s *sheet.Sheet, r *sheet.Result) *book {
	b := &book{
		s: s, m: s.Model, r: r, blank: blanksOf(s.Model),
		names: newNameSet("print_area", "print_titles"), tabs: newNameSet("history", chartsTab, validityTab, workedTab, sourceTab),
		stepOf: map[string]int{}, lists: map[*check.Quantity]string{}, uses: map[*check.Instance]*uses{},
		cells: make([]cellPlan, len(s.Model.Cells)),
	}
	b.frontTab = b.tabs.sheet("Sheet")
	for _, t := range b.m.Tables {
		b.tables = append(b.tables, b.planTable(t))
	}
	b.direct = len(b.m.Cells) > maxNames
	for _, c := range b.m.Cells {
		if !c.Plugged {
			b.cells[c.Index].name = b.names.defined(c.Name)
		}
	}
	for _, t := range b.tables {
		b.nameColumns(t)
	}
	b.stepsTab = quoteSheet(b.tabs.sheet("Steps"))
	b.layFront()
	b.print()
	return b
}

func (b *book) planTable(t *check.Table) *tablePlan {
	name := b.tabs.sheet(t.Name)
	quoted := quoteSheet(name)
	return &tablePlan{
		t: t, tab: name, quoted: quoted, first: tableTop, stepOf: map[string]int{},
		stepsTab: quoted, stepsFirst: len(t.Columns) + 3, // a free column lies between
	}
}

func (b *book) nameColumns(t *tablePlan) {
	t.names = make([]string, len(t.t.Columns)+3)
	for i, c := range t.t.Columns {
		t.names[i+2] = b.names.defined(t.t.Name + "_" + c.Name)
	}
}

// cell returns the term of a scalar. A plugged given has the place of the cell
// that computes it.
func (b *book) cell(c *check.Cell) term {
	c = b.computing(c)
	ref := b.cells[c.Index].name
	if b.direct {
		ref = tabMark + quoteSheet(b.frontTab) + "!" + tabMark + fixed(valueColumn, b.cells[c.Index].row)
	}
	t := of(&c.Quantity, ref)
	if b.blank.cells[c.Index] {
		t.guards = []string{ref}
	}
	return t
}

// computing returns the cell that holds the value of c: of a plugged given, the
// one that computes it.
func (b *book) computing(c *check.Cell) *check.Cell {
	for c.Plugged {
		c = b.m.Cells[b.m.Node(c.Formula).Ref()]
	}
	return c
}

func (b *book) printer(t *tablePlan, top bool) *printer {
	return &printer{b: b, m: b.m, table: t, top: top}
}

// print makes every formula.
func (b *book) print() {
	for _, t := range b.tables {
		b.planUntil(t)
	}
	for _, c := range b.m.Cells {
		if len(c.Choice) > 0 {
			b.choices(&c.Quantity)
		}
		if !c.Given && !c.Plugged {
			p := &b.cells[c.Index]
			p.formula, p.why = b.formula(nil, false, &c.Quantity, c.Formula)
		}
	}
	for _, t := range b.tables {
		t.columns = make([]columnPlan, len(t.t.Columns))
		for i, c := range t.t.Columns {
			if len(c.Choice) > 0 {
				b.choices(&c.Quantity)
			}
			t.columns[i] = b.column(t, c)
		}
	}
	for i := range b.checks {
		b.printCheck(&b.checks[i])
	}
}

// formula prints one quantity in its shown unit.
func (b *book) formula(t *tablePlan, top bool, q *check.Quantity, id check.NodeID) (text, why string) {
	p := b.printer(t, top)
	p.want = cellUnit(q.Unit)
	f := p.term(id)
	switch q.Type.Form {
	case check.Number:
		f = f.in(p.want.Scale, p.want.Offset*p.want.Scale)
	case check.Truth:
		f = p.inWords(f)
	}
	text = f.guarded()
	if len(text) > maxFormula-200 {
		p.fail("the formula is too long for a spreadsheet")
	}
	return text, p.failed
}

func (b *book) column(t *tablePlan, c *check.Column) columnPlan {
	var f columnPlan
	if c.Given {
		return f
	}
	f.rest, f.why = b.formula(t, false, &c.Quantity, c.Formula)
	f.top = f.rest
	if c.Start != 0 {
		var why string
		f.top, why = b.formula(t, true, &c.Quantity, c.Start)
		if f.why == "" {
			f.why = why
		}
	}
	if f.why == "" {
		f.why = t.failed
	}
	return f
}

// line is one row of the front tab.
type line struct {
	kind lineKind
	text string
	cell *check.Cell
	chk  int // index in checks
	tab  *tablePlan
}

type lineKind uint8

const (
	blankLine lineKind = iota
	titleLine
	cautionLine
	headLine // a block's head; text is its first column
	sectionLine
	givenLine
	resultLine
	limitLine
	adviceLine
	summaryLine
	tableLine
)

// layFront lays out the front tab: cautions and the state of the limits, which
// must not be missed below long lists, then inputs, results, tables, advices.
func (b *book) layFront() {
	title := b.m.Title
	if title == "" {
		title = "Worksheet"
	}
	b.add(line{kind: titleLine, text: title})
	for _, c := range b.m.Cautions {
		b.add(line{kind: cautionLine, text: c})
	}
	b.layLimits()
	b.layCells("Entered", givenLine, true)
	b.layCells("Worked out", resultLine, false)
	b.layTables()
	b.layAdvices()
}

func (b *book) add(l line) int {
	b.front = append(b.front, l)
	return len(b.front)
}

func (b *book) layCells(head string, kind lineKind, given bool) {
	section := ""
	started := false
	for item := range b.m.Outline() {
		c := item.Cell
		if c == nil || c.Plugged || c.Given != given || b.cells[c.Index].row != 0 {
			continue
		}
		if !started {
			b.add(line{})
			b.add(line{kind: headLine, text: head})
			started = true
		}
		if c.Origin.Section != section {
			section = c.Origin.Section
			if section != "" {
				b.add(line{kind: sectionLine, text: section})
			}
		}
		b.cells[c.Index].row = b.add(line{kind: kind, cell: c})
	}
}

func (b *book) layTables() {
	started := false
	for _, t := range b.tables {
		if t.t.Library {
			continue
		}
		if !started {
			b.add(line{})
			b.add(line{kind: headLine, text: "Tables"})
			started = true
		}
		b.add(line{kind: tableLine, tab: t})
	}
}

func (b *book) layLimits() {
	for i, l := range b.m.Limits {
		if i == 0 {
			b.add(line{})
			b.add(line{kind: headLine, text: "Limits"})
		}
		row := b.add(line{kind: limitLine, chk: len(b.checks)})
		b.checks = append(b.checks, checkPlan{row: row, limit: l})
	}
}

// layAdvices lays out the tab of ranges and validity, which the front tab sums
// up in one line: there can be many.
func (b *book) layAdvices() {
	for i, a := range b.m.Advices {
		if a.Column != nil && a.Column.Table.Library || a.Cell != nil && b.cells[a.Cell.Index].row == 0 {
			continue
		}
		if len(b.side) == 0 {
			b.side = []line{{kind: titleLine, text: validityTab}, {}, {kind: headLine, text: validityTab}}
			b.add(line{})
			b.add(line{kind: headLine, text: validityTab})
			b.add(line{kind: summaryLine})
		}
		b.side = append(b.side, line{kind: adviceLine, chk: len(b.checks)})
		b.checks = append(b.checks, checkPlan{row: len(b.side), advice: a, index: i})
	}
}

// sideHead is how many rows are above the first advice.
const sideHead = 3

// label returns what a quantity is called on the tabs: its label, else its
// name in plain letters.
func label(q *check.Quantity) string {
	if q.Origin.Label != "" {
		return clean(q.Origin.Label)
	}
	return plainName(q.Name)
}

func plainName(name string) string {
	s := strings.ReplaceAll(name, "_", " ")
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// symbol returns the unit as it is beside a number.
func symbol(u unit.Unit) string {
	if u.Symbol == "1" {
		return ""
	}
	return u.Symbol
}

// clean removes control characters and this package's own marks from a text
// that a user wrote.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return r
		case r < ' ' || r == 0x7f || r == arrayMark || r == 0xFFFE || r == 0xFFFF:
			return '\uFFFD'
		}
		return r
	}, s)
}

func rowsText(n int) string {
	if n == 1 {
		return "1 row"
	}
	return strconv.Itoa(n) + " rows"
}

// limitText returns the condition of a limit, as the worksheet has it.
func limitText(_ *check.Model, l *check.Limit) string { return l.Text }

// slice returns an expression as the worksheet says it.
func (b *book) slice(q *check.Quantity, e syntax.Expr) string {
	return b.m.Files[q.Origin.File].File.Slice(e.Pos())
}

// givenEntry returns what a given column holds in a row, live or not.
func (b *book) givenEntry(c *check.Column, row int) float64 {
	for i := len(b.s.Settings) - 1; i >= 0; i-- {
		if s := b.s.Settings[i]; s.Column == c && s.Row == row {
			return s.Value
		}
	}
	return c.Values[row]
}
