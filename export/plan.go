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
// is arranged first, printed second and written last, because a formula needs
// the places of its operands, and printing adds steps.
type book struct {
	s     *sheet.Sheet
	m     *check.Model
	r     *sheet.Result
	blank *blanks
	names *nameSet
	tabs  *nameSet

	front  *leaf   // the sheet itself, first of the leaves
	leaves []*leaf // tabs of lines: the sheet and those it uses
	// byFile are the leaves of files; the first has the current tab of the sheet's
	// own lines.
	byFile map[int]*leaf
	side   []line     // of the tab of ranges and validity
	cells  []cellPlan // by Cell.Index
	tables []*tablePlan
	checks []checkPlan // limits, then advices
	listed int         // limits on the front
	// limitNames are the defined names of columns of the tab of limits.
	limitNames map[int]string

	// direct says that formulas refer to scalars by their places: a spreadsheet
	// takes no more than maxNames names.
	direct bool

	stepsTab string
	steps    []scalarStep
	stepOf   map[string]int
	lists    map[*check.Quantity]string
	missing  string // a reference to the name of the given at fault; empty if there are no givens

	uses   map[*check.Instance]*uses
	signs  map[*check.Quantity]bool                 // compared with 0
	read   func(node check.NodeID, row int) float64 // computes any expression
	report Report
}

// cellPlan is the place of a scalar, and its formula.
type cellPlan struct {
	leaf    *leaf // the tab it is on
	row     int   // 0 for a scalar that has no place of its own
	name    string
	formula string
	rounded bool   // the formula shows a rounded value, and a step has the exact one
	exact   int    // that step
	entered bool   // a person enters it, and a step has the value if that is possible
	step    int    // that step
	why     string // why there is no formula
}

// tablePlan is a table's tab, with the steps of its rows.
type tablePlan struct {
	t       *check.Table
	tab     string
	quoted  string
	first   int        // the tab's row of the table's first row
	widths  []int      // of its columns, once they are written
	form    *paperForm // what is printed of it, beside it; nil if it is itself
	host    *leaf      // the tab in whose lines a short table is, otherwise nil
	names   []string   // defined names by column of the tab, counted from 0
	columns []columnPlan
	// stepsTab is the tab of the steps, quoted, on which they are in hidden columns
	// from stepsFirst on: the table's own, or that in whose lines a short table is.
	stepsTab   string
	stepsFirst int
	steps      []rowStep
	write      []cellSource // of the steps of a short table, once its tab is being written
	stepOf     map[string]int
	doneColumn int
	// afterColumn says whether a row is after the last live one.
	afterColumn int
	early       map[*check.Column]bool // on which the until of the same row depends
	raw         map[*check.Column]int  // those of them that have a step, which until reads
	scalars     string
	until       string
	rows        string // defined name of the number of live rows
	// exact are the columns of steps that hold the exact values of columns which
	// are shown rounded.
	exact map[*check.Column]int
	// entries are the values of the columns that are entered, if they are possible.
	entries map[*check.Column]string
	failed  string
	cause   string // a reference to where it is at fault, and why; empty if it cannot be
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
	bounds *boundsPlan // of a limit that holds a number between others
}

// tableTop is the row of a table's first row on its tab: title, remark,
// labels, names and units are above.
const tableTop = 6

func newBook(s *sheet.Sheet, r *sheet.Result) *book {
	b := &book{
		s: s, m: s.Model, r: r, blank: blanksOf(s.Model),
		names: newNameSet("print_area", "print_titles"), tabs: newNameSet("history", limitsTab, chartsTab, chartDataTab, validityTab, workedTab, sourceTab),
		stepOf: map[string]int{}, lists: map[*check.Quantity]string{}, uses: map[*check.Instance]*uses{},
		cells: make([]cellPlan, len(s.Model.Cells)),
	}
	for _, t := range b.m.Tables {
		b.tables = append(b.tables, &tablePlan{t: t, stepOf: map[string]int{}})
	}
	b.direct = len(b.m.Cells) > maxNames
	for _, c := range b.m.Cells {
		if !c.Plugged {
			b.cells[c.Index].name = b.names.defined(c.Name)
		}
	}
	b.layOut()
	b.nameLimits()
	for _, t := range b.tables {
		b.placeTable(t)
		b.nameColumns(t)
	}
	b.stepsTab = quoteSheet(b.tabs.sheet("Steps"))
	b.signs = signsOf(b)
	b.read = r.Reader()
	b.print()
	return b
}

// placeTable gives a table a tab of its own, unless it is in the lines of
// another.
func (b *book) placeTable(t *tablePlan) {
	if t.host != nil {
		t.tab, t.quoted = t.host.name, t.host.quoted
		t.stepsTab, t.stepsFirst = t.quoted, stepsBeside
		return
	}
	t.tab = b.tabs.sheet(t.t.Name)
	t.quoted, t.first = quoteSheet(t.tab), tableTop
	t.stepsTab, t.stepsFirst = t.quoted, len(t.t.Columns)+3 // a free column lies between
}

// column returns the place, on the tab, of the table's i-th column.
func (t *tablePlan) column(i int) int {
	if t.host != nil {
		return i + 1
	}
	return i + 2 // after the numbers of the rows
}

func (b *book) nameColumns(t *tablePlan) {
	t.names = make([]string, len(t.t.Columns)+3)
	for i, c := range t.t.Columns {
		t.names[t.column(i)] = b.names.from(t.t.Name+"_"+c.Name, b.sourceOf(t.t.Origin.File))
	}
}

// cell returns the term of a scalar. A plugged given has the place of the cell
// that computes it.
func (b *book) cell(c *check.Cell) term {
	c = b.computing(c)
	ref := b.scalarRef(c)
	t := of(&c.Quantity, ref)
	if b.cells[c.Index].entered {
		t.typed, t.text = false, ref
	} else if c.Given && c.Type.Form == check.Truth {
		t.text = b.scalar(t.text, c.Name+" is yes")
	}
	if b.blank.cells[c.Index] {
		t.guards = []string{ref}
	}
	return t
}

// computing returns the cell that holds the value of c: for a plugged given,
// the one that computes it.
func (b *book) computing(c *check.Cell) *check.Cell {
	for c.Plugged {
		c = b.m.Cells[b.m.Node(c.Formula).Ref()]
	}
	return c
}

// printer returns a printer for a formula; about names its steps.
func (b *book) printer(t *tablePlan, top bool, about string) *printer {
	return &printer{b: b, m: b.m, table: t, top: top, about: about}
}

// print makes every formula.
func (b *book) print() {
	b.planGivens()
	b.planExact()
	for _, t := range b.tables {
		b.planEntries(t)
		b.roundColumns(t)
		b.planUntil(t)
	}
	for _, c := range b.m.Cells {
		if len(c.Choice) > 0 {
			b.choices(&c.Quantity)
		}
		if !c.Given && !c.Plugged {
			p := &b.cells[c.Index]
			p.formula, p.why = b.printer(nil, false, c.Name).formula(&c.Quantity, c.Formula)
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
		if b.checks[i].limit != nil {
			b.planBounds(&b.checks[i])
		}
	}
	b.roundCells()
	b.nameFactors()
	for _, t := range b.tables {
		b.planCause(t)
		b.planForm(t)
	}
}

// formula prints one quantity in its shown unit.
func (p *printer) formula(q *check.Quantity, id check.NodeID) (text, why string) {
	p.want = cellUnit(q.Unit)
	f := p.root(q, id)
	switch q.Type.Form {
	case check.Number:
		shown := f.in(p.want.Scale, p.want.Offset*p.want.Scale)
		if f.guardsItself() && shown.text != f.text {
			shown = p.step(f, p.its("value")).in(p.want.Scale, p.want.Offset*p.want.Scale)
		}
		f = shown.entry()
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
	printed := func(top bool, id check.NodeID) (text, why string) {
		p := b.printer(t, top, c.Name)
		p.early = t.early[c]
		return p.formula(&c.Quantity, id)
	}
	f.rest, f.why = printed(false, c.Formula)
	f.top = f.rest
	if c.Start != 0 {
		var why string
		f.top, why = printed(true, c.Start)
		if f.why == "" {
			f.why = why
		}
	}
	if f.why == "" {
		f.why = t.failed
	}
	return f
}

// label returns the name of a quantity on the tabs: its label, else its name in
// plain letters.
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

// symbol returns the text of a unit beside a number.
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

// slice returns an expression as in the worksheet.
func (b *book) slice(q *check.Quantity, e syntax.Expr) string {
	return b.m.Files[q.Origin.File].File.Slice(e.Pos())
}

// givenEntry returns the value of a given column in a row, live or not.
func (b *book) givenEntry(c *check.Column, row int) float64 {
	for i := len(b.s.Settings) - 1; i >= 0; i-- {
		if s := b.s.Settings[i]; s.Column == c && s.Row == row {
			return s.Value
		}
	}
	return c.Values[row]
}
