package editor

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// Item is one completion.
type Item struct {
	Label, Detail, Text string // Text explains it, as Markdown
	Kind                ItemKind
	Insert              string // the inserted text; with Snippet, ${1:…} are placeholders
	Snippet             bool
	Rank                int // lower comes first
}

// ItemKind is the kind of an Item.
type ItemKind uint8

// The kinds of items.
const (
	CellItem ItemKind = iota
	ColumnItem
	TableItem
	FunctionItem
	UnitItem
	WordItem
	ValueItem
	FileItem
	TemplateItem
)

// Template is a ready worksheet for an empty document.
type Template struct{ Name, Title, Text string }

// Completion is the items for a place, and the text that they replace.
type Completion struct {
	Span  source.Span
	Items []Item
}

// Complete returns the completions at an offset.
func (d *Document) Complete(offset int32, templates []Template) Completion {
	c := newCompleter(d, offset)
	switch {
	case c.inComment:
	case c.inText:
		c.files()
	case c.path != "":
		c.columnsOf(c.path)
	case c.atStart && !c.indented:
		c.statements()
		c.templates(templates)
	case c.atStart:
		c.blockWords()
	case c.afterAs || c.afterNumber:
		c.units()
	case c.given && c.value == "":
		c.choices()
	case c.given:
		c.clauses()
	default:
		c.names()
	}
	slices.SortStableFunc(c.out.Items, func(a, b Item) int {
		if a.Rank != b.Rank {
			return a.Rank - b.Rank
		}
		return strings.Compare(a.Label, b.Label)
	})
	return c.out
}

// completer knows the text before the cursor.
type completer struct {
	d    *Document
	out  Completion
	stmt syntax.Stmt
	line string // up to the cursor

	inComment, inText bool
	atStart, indented bool
	afterAs           bool
	afterNumber       bool
	given             bool   // after `name :`
	value             string // after the colon, up to the word
	path              string // the table in front of a point
	name              string // of the cell of the line
}

func newCompleter(d *Document, offset int32) *completer {
	c := &completer{d: d}
	line := d.File.Line(d.File.LineOf(offset))
	c.line = d.File.Text[line.Start:max(line.Start, min(offset, line.End))]
	if i := stmtAt(d.Tree, offset); i >= 0 {
		c.stmt = d.Tree.Stmts[i]
	}
	c.inText, c.inComment = quoted(c.line)
	word := wordBefore(c.line)
	c.out.Span = source.Span{Start: offset - int32(len(word)), End: offset}
	before := strings.TrimSuffix(c.line, word)
	c.indented = before != "" && strings.TrimLeft(before, " \t") != before
	c.atStart = strings.TrimSpace(before) == ""
	if table, ok := strings.CutSuffix(before, "."); ok {
		c.path = nameBefore(table)
	}
	trimmed := strings.TrimRight(before, " \t")
	c.afterAs = strings.HasSuffix(trimmed, " as") && trimmed != before
	c.afterNumber = trimmed != before && endsInNumber(trimmed)
	head, value, sign := cutSign(before)
	c.name = strings.TrimSpace(head)
	c.given = sign == ':'
	c.value = strings.TrimSpace(value)
	if c.inText {
		c.out.Span.Start = offset - int32(len(c.line)-strings.LastIndexByte(c.line, '"')-1)
	}
	return c
}

// quoted reports whether a line ends inside a quoted text, or a comment.
func quoted(line string) (text, comment bool) {
	for _, r := range line {
		switch {
		case r == '"':
			text = !text
		case r == '#' && !text:
			return false, true
		}
	}
	return text, false
}

// isWord reports whether c can be in a name or a unit.
func isWord(c byte) bool {
	return c == '_' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
}

// wordBefore returns the name or unit that a line ends in.
func wordBefore(line string) string {
	i := len(line)
	for i > 0 && (isWord(line[i-1]) || line[i-1] == '%') {
		i--
	}
	word := line[i:]
	for word != "" && word[0] >= '0' && word[0] <= '9' {
		word = word[1:]
	}
	return word
}

func nameBefore(line string) string {
	i := len(line)
	for i > 0 && isWord(line[i-1]) {
		i--
	}
	return line[i:]
}

func endsInNumber(text string) bool {
	word := nameBefore(text)
	if word == "" || word[0] < '0' || word[0] > '9' {
		return false
	}
	return strings.TrimLeft(word, "0123456789eE") == ""
}

// cutSign splits a line at the sign of a cell.
func cutSign(line string) (head, value string, sign byte) {
	i := strings.IndexAny(line, ":=")
	if i < 0 || strings.ContainsAny(line[:i], "\"(<>") {
		return line, "", 0
	}
	return line[:i], line[i+1:], line[i]
}

func (c *completer) add(i Item) {
	if i.Insert == "" {
		i.Insert = i.Label
	}
	c.out.Items = append(c.out.Items, i)
}

// statementSnippets are the texts after the statement words.
var statementSnippets = map[string]string{
	"title": `title "${1:Title}"`, "caution": `caution "${1:What to look out for}"`, "note": `note "${1:Text}"`,
	"section": `section "${1:Name}"`, "table": "table ${1:name}\n  ${2:column} : ${3:1, 2, 3}", "limit": `limit ${1:value} <= ${2:bound} "${3:What it means}"`,
	"advise": `advise ${1:value} <= ${2:bound} "${3:What it means}"`, "chart": `chart "${1:Title}" x ${2:table.column} y ${3:table.column}`,
	"correlate": "correlate ${1:name}, ${2:name} ${3:0.5}", "log": "log ${1:run}\n  time : from \"${2:Time}\" s",
	"function": "function ${1:name}(${2:value}: ${3:mm}) as ${4:mm}\n  \"${5:What it computes}\"\n  = ${6:value}",
	"unit":     "unit ${1:name} = ${2:1 mm}", "use": `use "${1:other.leaf}"`, "gearleaf": "gearleaf 1",
}

// statements offers the beginnings of lines.
func (c *completer) statements() {
	for _, w := range syntax.AllWords().Statements {
		c.add(Item{Label: w, Kind: WordItem, Detail: "statement", Insert: statementSnippets[w], Snippet: statementSnippets[w] != "", Rank: 2})
	}
	if c.d.Sheet() == nil {
		return
	}
	for _, cell := range c.d.Sheet().Model.Cells {
		if cell.Origin.File != 0 && cell.Given {
			c.add(Item{Label: cell.Name, Kind: CellItem, Detail: "override " + c.shown(cell), Text: cell.Origin.Label, Insert: cell.Name + " : ", Rank: 1})
		}
	}
}

// templates offers whole worksheets in an empty document.
func (c *completer) templates(list []Template) {
	if len(strings.TrimSpace(c.d.File.Text)) > 40 {
		return
	}
	for _, t := range list {
		text := strings.NewReplacer(`\`, `\\`, "$", `\$`, "}", `\}`).Replace(t.Text)
		c.add(Item{Label: t.Name, Kind: TemplateItem, Detail: t.Title, Insert: text, Snippet: true, Rank: 3})
	}
}

// blockWords offers the beginnings of lines of a block.
func (c *completer) blockWords() {
	if _, body := c.stmt.(*syntax.Function); body {
		for _, w := range syntax.AllWords().Body {
			c.add(Item{Label: w, Kind: WordItem, Detail: "line of a function"})
		}
	}
	c.names()
}

func (c *completer) shown(cell *check.Cell) string {
	text := ""
	c.d.with(func() {
		if v := c.d.result.Cell(cell); !v.IsFault() && !v.IsBlank() {
			text = c.d.Sheet().Text(&cell.Quantity, v.V)
		}
	})
	return text
}

// names offers the names that a formula can read.
func (c *completer) names() {
	c.columns()
	x := c.d.index()
	cells := make([]string, 0, len(x.cells))
	for name := range x.cells {
		cells = append(cells, name)
	}
	slices.Sort(cells)
	for _, name := range cells {
		if name == c.name {
			continue
		}
		item := Item{Label: name, Kind: CellItem, Rank: 2}
		if c.d.Sheet() != nil {
			if cell, _ := c.d.Sheet().Model.Resolve(name); cell != nil {
				item.Detail, item.Text = c.shown(cell), cell.Origin.Label
			}
		}
		c.add(item)
	}
	c.tables()
	c.functions()
	for _, w := range []string{"if", "and", "or", "not", "yes", "no", "as", "to"} {
		c.add(Item{Label: w, Kind: WordItem, Rank: 5})
	}
}

// columns offers the columns of the table that the line is in.
func (c *completer) columns() {
	t, ok := c.stmt.(*syntax.Table)
	if !ok || !c.indented {
		return
	}
	for _, col := range tableColumns(t) {
		c.add(Item{Label: col.Name.Text, Kind: ColumnItem, Detail: "column of " + t.Name.Text, Rank: 1})
	}
	for _, w := range []string{"prev", "next"} {
		c.add(Item{Label: w, Kind: FunctionItem, Detail: "the row " + map[string]string{"prev": "before", "next": "after"}[w], Insert: w + "(${1:column})", Snippet: true, Rank: 3})
	}
	c.add(Item{Label: "row", Kind: WordItem, Detail: "number of the row", Rank: 3})
}

func (c *completer) tables() {
	for name := range c.d.index().tables {
		own := c.d.declares(Symbol{TableName, name, ""})
		if own {
			c.add(Item{Label: name, Kind: TableItem, Detail: "table", Insert: name + ".", Rank: 3})
		}
	}
}

func (c *completer) columnsOf(table string) {
	for name := range c.d.index().tables[table] {
		item := Item{Label: name, Kind: ColumnItem, Detail: "column of " + table}
		if c.d.Sheet() != nil {
			if _, col := c.d.Sheet().Model.Resolve(table + "." + name); col != nil {
				item.Text = col.Origin.Label
			}
		}
		c.add(item)
	}
}

func (c *completer) functions() {
	own := c.d.index().own
	for name := range own {
		if f := c.d.function(name); f != nil {
			c.function(f, 3)
		}
	}
	for _, f := range reference() {
		if !own[f.Name] {
			c.function(&f, 4)
		}
	}
}

func (c *completer) function(f *sheet.Function, rank int) {
	c.add(Item{
		Label: f.Name, Kind: FunctionItem, Detail: f.Usage, Text: f.Meaning, Rank: rank,
		Insert: f.Name + "(" + strings.Join(placeholders(f.Usage), ", ") + ")", Snippet: true,
	})
}

// placeholders makes placeholders of the parameters of a usage.
func placeholders(usage string) []string {
	var out []string
	for i, p := range parameters(usage) {
		name, _, _ := strings.Cut(p, ":")
		out = append(out, fmt.Sprintf("${%d:%s}", i+1, strings.NewReplacer("}", `\}`, "$", `\$`).Replace(strings.TrimSpace(name))))
	}
	return out
}

// parameters returns the parameters of a usage, as written.
func parameters(usage string) []string {
	_, rest, ok := strings.Cut(usage, "(")
	if !ok {
		return nil
	}
	depth, from := 0, 0
	var out []string
	for i, r := range rest {
		switch {
		case r == '(':
			depth++
		case r == ')' && depth > 0:
			depth--
		case r == ')' || r == ',' && depth == 0:
			if p := strings.TrimSpace(rest[from:i]); p != "" {
				out = append(out, p)
			}
			from = i + 1
			if r == ')' {
				return out
			}
		}
	}
	return out
}

// units offers units, those of the expected measure first.
func (c *completer) units() {
	want, known := c.expected()
	for _, row := range unit.Catalog() {
		if len(row.Asks) > 0 {
			continue
		}
		rank := 2
		if known && row.Unit.Measure.Dim == want.Dim && row.Unit.Measure.Counts == want.Counts {
			rank = 1
			if row.Unit.Measure.Kind == want.Kind {
				rank = 0
			}
		}
		c.add(Item{Label: row.Symbol, Kind: UnitItem, Detail: row.Meaning, Rank: rank})
	}
	if c.afterNumber {
		c.clauses()
	}
}

// expected returns the expected measure of the value at the cursor: that of the
// call's parameter, or else that of the cell.
func (c *completer) expected() (unit.Measure, bool) {
	if c.d.Sheet() == nil {
		return unit.Measure{}, false
	}
	if call, at := openCall(c.line); call != "" {
		if f := c.d.function(call); f != nil {
			if params := parameters(f.Usage); at < len(params) {
				if _, text, ok := strings.Cut(params[at], ":"); ok {
					if u, problem := c.d.Sheet().Model.Units.Parse(strings.TrimSpace(text)); problem == nil {
						return u.Measure, true
					}
				}
			}
		}
		return unit.Measure{}, false
	}
	if q := c.quantity(); q != nil && q.Type.Form == check.Number && (q.Unit.Symbol != "" || q.Given) {
		return q.Type.Measure, true
	}
	return unit.Measure{}, false
}

// quantity returns the quantity of the line.
func (c *completer) quantity() *check.Quantity {
	if c.d.Sheet() == nil {
		return nil
	}
	name := c.name
	if t, ok := c.stmt.(*syntax.Table); ok && c.indented {
		name = t.Name.Text + "." + name
	}
	cell, col := c.d.Sheet().Model.Resolve(name)
	switch {
	case cell != nil:
		return &cell.Quantity
	case col != nil:
		return &col.Quantity
	}
	return nil
}

// choices offers the values that a given can have.
func (c *completer) choices() {
	q := c.quantity()
	if q == nil {
		return
	}
	for i, v := range q.Choice {
		text := c.d.Sheet().Text(q, v)
		if q.Type.Form == check.Text {
			text = syntax.Quote(text)
		}
		c.add(Item{Label: text, Kind: ValueItem, Detail: "choice", Rank: i})
	}
	if q.Type.Form == check.Truth {
		c.add(Item{Label: "yes", Kind: ValueItem})
		c.add(Item{Label: "no", Kind: ValueItem})
	}
}

func (c *completer) clauses() {
	for _, w := range []string{"range", "choice", "as", "to", "sd"} {
		c.add(Item{Label: w, Kind: WordItem, Detail: "clause", Rank: 4})
	}
	c.add(Item{Label: "±", Kind: WordItem, Detail: "limits, either side", Rank: 4})
}

// files offers the files that a path can name.
func (c *completer) files() {
	head := strings.TrimSpace(c.line[:strings.LastIndexByte(c.line, '"')])
	ending := ".csv"
	switch {
	case head == "use":
		ending = ".leaf"
	case !strings.HasSuffix(head, "from"):
		return
	}
	folder := filepath.Dir(c.d.Path)
	entries, err := os.ReadDir(folder)
	if err != nil {
		return
	}
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), ending) && e.Name() != filepath.Base(c.d.Path) {
			c.add(Item{Label: e.Name(), Kind: FileItem})
		}
	}
}

// Signature is the function whose call is being written.
type Signature struct {
	Usage, Text string
	Parameters  []string // as in Usage
	Active      int
}

// Signature returns the function of the innermost call around an offset that is
// open there; nil for none.
func (d *Document) Signature(offset int32) *Signature {
	from := int32(0)
	if i := stmtAt(d.Tree, offset); i >= 0 {
		from = d.Tree.Stmts[i].Base().Span.Start
	}
	name, at := openCall(d.File.Text[from:offset])
	if name == "" {
		return nil
	}
	f := d.function(name)
	if f == nil {
		return nil
	}
	return &Signature{Usage: f.Usage, Text: f.Meaning, Parameters: parameters(f.Usage), Active: at}
}

// openCall returns the innermost call that a text leaves open, and the number
// of the argument that it ends in.
func openCall(text string) (name string, argument int) {
	type open struct {
		name string
		args int
	}
	var stack []open
	inText := false
	for i := range len(text) {
		switch c := text[i]; {
		case c == '"':
			inText = !inText
		case inText:
		case c == '(' || c == '[':
			call := ""
			if c == '(' {
				call = nameBefore(text[:i])
			}
			stack = append(stack, open{call, 0})
		case (c == ')' || c == ']') && len(stack) > 0:
			stack = stack[:len(stack)-1]
		case c == ',' && len(stack) > 0:
			stack[len(stack)-1].args++
		case c == '\n' && i+1 < len(text) && text[i+1] != ' ' && text[i+1] != '\t' && len(stack) == 0:
			stack = nil
		}
	}
	for i := len(stack) - 1; i >= 0; i-- {
		if stack[i].name != "" {
			return stack[i].name, stack[i].args
		}
	}
	return "", 0
}
