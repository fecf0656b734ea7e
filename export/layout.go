package export

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// The places of written cells in a returned workbook: people can insert, delete
// and move rows, columns and tabs. The workbook is written again from the text
// in it, and each of its tabs is matched with the returned one by content.

// spot is a cell of a tab.
type spot struct{ column, row int }

// grid is a tab as cells by place.
type tabGrid struct {
	name          string
	cells         map[spot]content
	columns, rows int
}

func gridOf(t tabContent) *tabGrid {
	g := &tabGrid{name: t.name, cells: make(map[spot]content, len(t.fields))}
	for ref, c := range t.fields {
		column, row, err := excelize.CellNameToCoordinates(ref)
		if err != nil {
			continue
		}
		g.cells[spot{column, row}] = c
		g.columns, g.rows = max(g.columns, column), max(g.rows, row)
	}
	return g
}

// holds reports whether one of the cells in a part holds something.
func (g *tabGrid) holds(in func(spot) bool) bool {
	for s := range g.cells {
		if in(s) {
			return true
		}
	}
	return false
}

// token is a cell's content for comparison: for a formula, which moves with its
// cell, only the functions.
func token(c content) string {
	switch {
	case c.formula != "":
		return "=" + functionsOf(c.formula)
	case c.isText():
		return "'" + c.value
	}
	if v, err := strconv.ParseFloat(c.value, 64); err == nil {
		return "#" + fifteen(v)
	}
	return "#" + c.value
}

// functionsOf lists the functions that a formula calls.
func functionsOf(formula string) string {
	var b strings.Builder
	for i, r := range formula {
		if r != '(' {
			continue
		}
		start := strings.LastIndexFunc(formula[:i], func(r rune) bool { return !isWord(r) && r != '.' })
		word := formula[start+1 : i]
		b.WriteString(strings.TrimPrefix(strings.ToUpper(word), "_XLFN."))
	}
	return b.String()
}

// anchor reports whether a cell identifies its place: a text that people do not
// change, or the number of a row.
func (m *tabMap) anchor(s spot) bool {
	c, ok := m.from.cells[s]
	_, moved := m.moved[s]
	return ok && !moved && !m.entries[s] && c.formula == "" && (c.isText() || s.column == 1)
}

// tabMap is a tab of a workbook as written, with the places of its rows and
// columns in the returned one; 0 if they are gone.
type tabMap struct {
	from, to      *tabGrid
	entries       map[spot]bool // of from
	columns, rows []int
	moved         map[spot]spot // cells of tables that were moved away from their lines
	inRow         [][]spot      // cells of from that were not
}

// at returns the present place of a cell.
func (m *tabMap) at(s spot) (spot, bool) {
	if there, is := m.moved[s]; is {
		return there, true
	}
	return m.along(s)
}

// along returns the present place of a cell in its row and column.
func (m *tabMap) along(s spot) (spot, bool) {
	if m.to == nil {
		return spot{}, false
	}
	out := spot{placeAt(m.columns, s.column), placeAt(m.rows, s.row)}
	return out, out.column > 0 && out.row > 0
}

// placeAt returns the i-th place, counting on after the last one.
func placeAt(places []int, i int) int {
	last := len(places) - 1
	if i <= last {
		return places[i]
	}
	return places[last] + i - last
}

// match maps the rows and columns of one tab.
func (m *tabMap) match() {
	m.columns, m.rows = counted(m.from.columns), counted(m.from.rows)
	m.inRow = make([][]spot, m.from.rows+1)
	for s := range m.from.cells {
		if _, moved := m.moved[s]; !moved {
			m.inRow[s.row] = append(m.inRow[s.row], s)
		}
	}
	if !m.unmoved() {
		m.matchColumns()
		m.matchRows()
	}
}

// counted returns 0, 1, 2 … n.
func counted(n int) []int {
	out := make([]int, n+1)
	for i := range out {
		out[i] = i
	}
	return out
}

// unmoved reports whether every anchor is where it was written, and no row that held
// something is empty.
func (m *tabMap) unmoved() bool {
	for s, c := range m.from.cells {
		if m.anchor(s) && token(m.to.cells[s]) != token(c) {
			return false
		}
	}
	return m.sameShape(1, m.from.rows+1, 1)
}

// columnRows bounds the rows that identify a column.
const columnRows = 400

// columnTokens counts the contents of each column.
func columnTokens(g *tabGrid) []map[string]int {
	out := make([]map[string]int, g.columns+1)
	for i := range out {
		out[i] = map[string]int{}
	}
	for s, c := range g.cells {
		if s.row <= columnRows {
			out[s.column][token(c)]++
		}
	}
	return out
}

// matchColumns pairs the columns in their order so that most contents agree.
func (m *tabMap) matchColumns() {
	a, b := columnTokens(m.from), columnTokens(m.to)
	for s, there := range m.moved {
		if s.row <= columnRows {
			a[s.column][token(m.from.cells[s])]--
		}
		if c, is := m.to.cells[there]; is && there.row <= columnRows {
			b[there.column][token(c)]--
		}
	}
	best := make([][]int, len(a))
	for i := range best {
		best[i] = make([]int, len(b))
	}
	score := func(i, j int) int {
		n := 0
		for t, count := range a[i] {
			n += max(0, min(count, b[j][t]))
		}
		return 2 * n
	}
	scores := make([][]int, len(a))
	for i := 1; i < len(a); i++ {
		scores[i] = make([]int, len(b))
		for j := 1; j < len(b); j++ {
			scores[i][j] = score(i, j)
			best[i][j] = max(best[i-1][j], best[i][j-1])
			if scores[i][j] > 0 {
				best[i][j] = max(best[i][j], best[i-1][j-1]+scores[i][j])
			}
		}
	}
	out := make([]int, len(a))
	for i, j := len(a)-1, len(b)-1; i > 0 && j > 0; {
		switch {
		case scores[i][j] > 0 && best[i][j] == best[i-1][j-1]+scores[i][j]:
			out[i] = j
			i, j = i-1, j-1
		case best[i][j] == best[i-1][j]:
			i--
		default:
			j--
		}
	}
	fillGaps(out)
	m.columns = out
}

// fillGaps assigns places to unmatched entries between two neighbours, before
// the first and after the last: in their order, unless there are fewer places.
func fillGaps(places []int) {
	for i := 1; i < len(places); i++ {
		if places[i] != 0 {
			continue
		}
		next := i
		for next < len(places) && places[next] == 0 {
			next++
		}
		before := places[i-1]
		if next == len(places) || places[next]-before >= next-i+1 {
			for k := i; k < next; k++ {
				places[k] = before + 1 + k - i
			}
		}
		i = next
	}
}

// rowReach is the largest distance at which a row is searched.
const rowReach = 200

// matchRows pairs rows by their anchors.
func (m *tabMap) matchRows() {
	anchors := make([][]spot, m.from.rows+1)
	for s := range m.from.cells {
		if m.anchor(s) && m.columns[s.column] > 0 {
			anchors[s.row] = append(anchors[s.row], s)
		}
	}
	m.rows = make([]int, m.from.rows+1)
	offset, last := 0, 0
	for row := 1; row <= m.from.rows; row++ {
		if len(anchors[row]) == 0 {
			continue
		}
		at := m.nearest(anchors[row], row+offset, last+1)
		if at == 0 && len(m.entries) > 0 {
			at = m.nearest(anchors[row], row+offset, 1) // put into another order
		}
		if at != 0 {
			m.rows[row], offset, last = at, at-row, at
		}
	}
	m.alignGaps()
	fillGaps(m.rows)
}

// alignGaps pairs rows without anchors, those of limits and of short tables on the
// front, by what they hold, where rows of them were inserted, deleted or emptied.
// Otherwise they are in their order, also where their values were sorted.
func (m *tabMap) alignGaps() {
	for i := 1; i < len(m.rows); i++ {
		next := i
		for next < len(m.rows) && m.rows[next] == 0 {
			next++
		}
		first, n := m.rows[i-1]+1, next-i
		places := min(m.to.rows+1-first, n+rowReach)
		if next < len(m.rows) {
			places = m.rows[next] - first
		}
		same := (places == n || places > n && next == len(m.rows)) && m.sameShape(i, next, first)
		if n > 0 && n < rowReach && places > 0 && places < 2*rowReach && !same {
			copy(m.rows[i:next], m.aligned(i, next, first, places))
		}
		i = next
	}
}

// sameShape reports whether each row from i to before next that holds something does
// so among the rows from first on.
func (m *tabMap) sameShape(i, next, first int) bool {
	for row := i; row < next; row++ {
		holds := len(m.inRow[row]) == 0
		for _, s := range m.inRow[row] {
			holds = holds || m.to.cells[spot{placeAt(m.columns, s.column), row - i + first}] != (content{})
		}
		if !holds {
			return false
		}
	}
	return true
}

// aligned pairs the rows from i to before next with so many places from first on,
// in their order, so that most of their cells agree.
func (m *tabMap) aligned(i, next, first, places int) []int {
	was, now := rowForms(m.from, i, next), rowForms(m.to, first, first+places)
	best := make([][]int, len(was)+1)
	for a := range best {
		best[a] = make([]int, len(now)+1)
	}
	score := func(a, b int) int {
		n := 0
		for column, form := range was[a] {
			switch is := now[b][placeAt(m.columns, column)]; {
			case is == form:
				n += 3
			case is != "" && (is[0] == '=') == (form[0] == '='):
				n++
			}
		}
		if len(was[a])+len(now[b]) == 0 {
			return 1
		}
		return n
	}
	for a := range was {
		for b := range now {
			best[a+1][b+1] = max(best[a][b+1], best[a+1][b], best[a][b]+score(a, b))
		}
	}
	out := make([]int, len(was))
	for a, b := len(was), len(now); a > 0 && b > 0; {
		switch n := score(a-1, b-1); {
		case best[a][b] == best[a][b-1]: // of two equal rows the second is new
			b--
		case n > 0 && best[a][b] == best[a-1][b-1]+n:
			out[a-1] = first + b - 1
			a, b = a-1, b-1
		default:
			a--
		}
	}
	return out
}

// rowForms returns what the rows from first to before last hold, by column; of a
// formula its form, which does not change where it is moved.
func rowForms(g *tabGrid, first, last int) []map[int]string {
	rows := make([]map[int]string, last-first)
	for i := range rows {
		rows[i] = map[int]string{}
	}
	for s, c := range g.cells {
		if s.row < first || s.row >= last {
			continue
		}
		form := token(c)
		if c.formula != "" {
			form = "=" + string(spelling{columns: -s.column, rows: -s.row, relative: true}.spell(nil, c.formula))
		}
		rows[s.row-first][s.column] = form
	}
	return rows
}

// nearest returns the row with these anchors that is nearest to a place, not
// before first; 0 if there is none.
func (m *tabMap) nearest(anchors []spot, place, first int) int {
	for step := range 2*rowReach + 1 {
		// 0, 1, −1, 2, −2 … rows away
		shift := (step + 1) / 2
		if step%2 == 0 {
			shift = -shift
		}
		if at := place + shift; at >= first && m.sameRow(anchors, at) {
			return at
		}
	}
	return 0
}

// sameRow reports whether at least half of a row's anchors are in another.
func (m *tabMap) sameRow(anchors []spot, row int) bool {
	equal := 0
	for _, s := range anchors {
		if token(m.to.cells[spot{m.columns[s.column], row}]) == token(m.from.cells[s]) {
			equal++
		}
	}
	return equal > 0 && 2*equal >= len(anchors)
}

// likeness returns the share of the texts of a tab that another one also has.
func likeness(from, to *tabGrid) float64 {
	has := map[string]bool{}
	for _, c := range to.cells {
		has[token(c)] = true
	}
	found, all := 0, 0
	for _, c := range from.cells {
		if c.isText() && c.formula == "" {
			all++
			if has[token(c)] {
				found++
			}
		}
	}
	if all == 0 {
		return 0
	}
	return float64(found) / float64(all)
}

// moveFormula converts a formula of a tab to the returned workbook; false if it
// refers to something that is gone.
func moveFormula(formula string, own *tabMap, tabs map[string]*tabMap) (string, bool) {
	var b strings.Builder
	on := own
	sound := true
	for s := formula; s != ""; {
		r, size := utf8.DecodeRuneInString(s)
		n := size
		switch {
		case r == '"':
			n = quotedLength(s, '"')
			b.WriteString(s[:n])
		case r == '\'':
			n = quotedLength(s, '\'')
			on = tabs[unquoted(s[:n])]
			sound = writeTabName(&b, on) && sound
		case r >= '0' && r <= '9' || r == '.':
			n = numberLength(s)
			b.WriteString(s[:n])
		case isWord(r):
			n = wordLength(s)
			switch c, isCell := parseCell(s[:n]); {
			case strings.HasPrefix(s[n:], "!"):
				on = tabs[s[:n]]
				sound = writeTabName(&b, on) && sound
			case isCell && !strings.HasPrefix(s[n:], "("):
				sound = writeMoved(&b, c, on) && sound
				if !strings.HasPrefix(s[n:], ":") {
					on = own
				}
			default:
				b.WriteString(s[:n])
			}
		default:
			b.WriteString(s[:n])
		}
		s = s[n:]
	}
	return b.String(), sound
}

func writeTabName(b *strings.Builder, on *tabMap) bool {
	if on == nil || on.to == nil {
		return false
	}
	b.WriteString("'" + strings.ReplaceAll(on.to.name, "'", "''") + "'")
	return true
}

// writeMoved writes a reference to the present place of a cell.
func writeMoved(b *strings.Builder, c cellRef, on *tabMap) bool {
	if on == nil {
		return false
	}
	to, ok := on.at(spot{c.column, c.row})
	if !ok {
		return false
	}
	c.column, c.row = to.column, to.row
	b.Write(c.append(nil))
	return true
}
