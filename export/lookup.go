package export

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// whole is a column for aggregates, look-ups and indices: the live entries, in
// the column's shown unit.
type whole struct {
	list string // the range
	n    string // their number, or a reference to it
	kept string // what must be above 0 for the table to have ended, "" where none
	t    *tablePlan
}

// wholeColumn returns a column's live entries. A given column of a table that
// ends early is on the tab to its last row; a column of steps shows its
// live part.
func (b *book) wholeColumn(c *check.Column) whole {
	t := b.tables[c.Table.Index]
	w := whole{list: t.names[t.columnOf(c)], n: strconv.Itoa(t.t.Rows), t: t}
	if t.t.Until == 0 {
		return w
	}
	w.n, w.kept = t.rows, t.rows+">0"
	if c.Given {
		w.list = b.namedSteps(t, b.liveStep(c), t.t.Name+"_"+c.Name+"_live")
	}
	return w
}

// ended wraps text in the condition that the table has ended.
func (w whole) ended(text string) string {
	if w.kept == "" {
		return text
	}
	return "IF(" + w.kept + "," + text + ",NA())"
}

// aggregate reduces a column. Spreadsheets skip blank texts, too; a fault
// anywhere must be passed on, for which first, last and count need an extra
// test.
func (p *printer) aggregate(n *check.Node) term {
	col := p.m.Columns[n.Ref()]
	how := kernel.Aggregate(n.A)
	w := p.b.wholeColumn(col)
	t := of(&col.Quantity, "")
	t.risky = p.b.risksColumn(col) || w.kept != ""
	if how == kernel.Count {
		t = quantity("", 1, 0)
		t.whole, t.risky = true, p.b.risksColumn(col) || w.kept != ""
	}
	t.risky = t.risky || p.b.pasted(col) != ""
	t.text, t.bind = p.reduced(how, col, w)
	if p.b.blank.columns[col.Index] && how != kernel.Count && how != kernel.Sum {
		t.risky = true
	}
	t.typed = t.typed && w.t.entries[col] == ""
	if w.kept != "" {
		t.text, t.bind = w.ended(t.text), atom
	}
	if how == kernel.Count {
		return t
	}
	return fromCell(&col.Quantity, t)
}

func (p *printer) reduced(how kernel.Aggregate, col *check.Column, w whole) (string, binding) {
	switch how {
	case kernel.Sum:
		return "SUM(" + p.b.entered(w.list, col) + ")", atom
	case kernel.Mean:
		return "AVERAGE(" + p.b.entered(w.list, col) + ")", atom
	case kernel.Min, kernel.Max:
		text := strings.ToUpper(how.String()) + "(" + p.b.entered(w.list, col) + ")"
		if p.b.blank.columns[col.Index] {
			text = "IF(COUNT(" + w.list + ")=0,NA()," + text + ")"
		}
		return text, atom
	case kernel.Count:
		return p.counted(col, w)
	}
	return p.endOf(how, col, w)
}

// counted returns the number of values of a column.
func (p *printer) counted(col *check.Column, w whole) (string, binding) {
	text, bind := w.n, atom
	switch {
	case !p.b.blank.columns[col.Index]:
	case col.Type.Form == check.Number:
		text = "COUNT(" + w.list + ")"
	case col.Type.Form == check.Text:
		text = "COUNTIF(" + w.list + `,"?*")`
	default:
		text, bind = "(COUNTIF("+w.list+`,"yes")+COUNTIF(`+w.list+`,"no"))`, atom
	}
	if step := p.b.pasted(col); step != "" {
		text, bind = text+"+SUM("+step+")", adds
	}
	if p.b.risksColumn(col) {
		text, bind = text+"+0*SUM("+w.list+")", adds
	}
	return text, bind
}

// endOf returns the first or last value of a column.
func (p *printer) endOf(how kernel.Aggregate, col *check.Column, w whole) (string, binding) {
	list, n := w.list, w.n
	if p.b.blank.columns[col.Index] {
		packed := p.b.pack(col, col)
		list, n = packed.xs, packed.n
	}
	if how == kernel.First {
		n = "1"
	}
	text, faults := p.b.tables[col.Table.Index].entry(list, n), w.list
	if !p.b.risksColumn(col) {
		if faults = p.b.pasted(col); faults == "" {
			return text, atom
		}
	}
	if col.Type.Form == check.Number {
		return text + "+0*SUM(" + faults + ")", adds
	}
	return "IF(SUM(" + faults + ")=0," + text + ",NA())", atom
}

// risksColumn reports whether an entry of a column can be a fault.
func (b *book) risksColumn(c *check.Column) bool {
	return !c.Given || c.Table.Fault != "" || c.Table.Until != 0
}

// packed is two columns of one table without the rows in which either is
// blank, in their shown units.
type packed struct {
	xs, ys string
	n      string // the number of remaining rows
	t      *tablePlan
	// refX and refY are references, without a row, to the columns.
	refX, refY string
}

// pack returns two columns without blanks. If there can be none the columns are
// used unchanged.
func (b *book) pack(x, y *check.Column) packed {
	t := b.tables[x.Table.Index]
	wx, wy := b.wholeColumn(x), b.wholeColumn(y)
	k := packed{xs: wx.list, ys: wy.list, n: wx.n, t: t, refX: b.liveRef(x), refY: b.liveRef(y)}
	if !b.blank.columns[x.Index] && !b.blank.columns[y.Index] {
		return k
	}
	about := x.Name + " and " + y.Name
	rx, ry := k.refX+thisRow, k.refY+thisRow
	// A column's own head, above the first row, is a text, which N reads
	// as 0.
	column := t.nextStep()
	key := "packed " + rx + ry
	if i, known := t.stepOf[key]; known {
		column = t.steps[i].column
	} else {
		t.stepOf[key] = len(t.steps)
		t.steps = append(t.steps, rowStep{
			what: "rows so far with both " + about, column: column, bare: true,
			text: "N(" + t.stepRef(column) + priorRow + ")+IF(OR(" + rx + `="",` + ry + `=""),0,1)`,
		})
	}
	rank := t.stepRange(column)
	k.n = b.scalar(wx.ended("MAX("+rank+")"), "rows with both "+about)
	row := t.numbers() + thisRow
	at := "MATCH(" + row + "," + rank + ",0)"
	pick := func(list, name string) int {
		return t.addStep(rowStep{
			what: name + " without blanks", bare: true,
			text: "IF(" + row + ">" + k.n + `,"",` + t.entry(list, at) + ")",
		})
	}
	cx, cy := pick(wx.list, x.Name), pick(wy.list, y.Name)
	k.xs, k.ys = b.namedSteps(t, cx, t.t.Name+"_"+x.Name+"_filled"), b.namedSteps(t, cy, t.t.Name+"_"+y.Name+"_filled")
	k.refX, k.refY = t.stepRef(cx), t.stepRef(cy)
	return k
}

// liveRef returns a reference, without its row, to the live part of a column. Of one
// that is entered the whole is tested.
func (b *book) liveRef(c *check.Column) string {
	t := b.tables[c.Table.Index]
	if t.t.Until != 0 && c.Given {
		return t.stepRef(b.liveStep(c))
	}
	return t.plainRef(c)
}

// liveStep returns the step with the live entries of a given column. A mere
// reference to an empty cell would be 0.
func (b *book) liveStep(c *check.Column) int {
	t := b.tables[c.Table.Index]
	text := t.columnRef(c) + thisRow
	if b.blank.columns[c.Index] {
		text = "IF(" + text + `="","",` + text + ")"
	}
	return t.addStep(rowStep{what: c.Name + ", live rows", text: text})
}

// curve is two columns prepared for a look-up: n is a step that is a fault if
// an entry is one, or if xs are not rising.
func (b *book) curve(x, y *check.Column, form kernel.LookupForm) packed {
	k := b.pack(x, y)
	about := y.Name + " over " + x.Name
	test := ""
	if form != kernel.FirstAt && form != kernel.Pick {
		sign := "<"
		if form == kernel.Monotone {
			sign = "<="
		}
		back := k.t.addStep(rowStep{
			what: "where " + x.Name + " turns back", bare: true,
			text: "IF(" + k.t.numbers() + thisRow + "=1,0,IF(" + k.refX + thisRow + `="",0,IF(` + k.refX + thisRow + sign + k.refX + priorRow + ",1,0)))",
		})
		test = "*IF(SUM(" + k.t.stepRange(back) + ")=0,1,NA())"
	}
	faults := ""
	for _, c := range []*check.Column{x, y} {
		if b.risksColumn(c) {
			faults += "+0*SUM(" + b.wholeColumn(c).list + ")"
		}
	}
	if list := strings.TrimPrefix(b.entered("", x, y), ","); list != "" {
		faults += "+SUM(" + list + ")" // a row with a text is met by no test, an empty one is 0
	}
	empty := ""
	if b.blank.columns[x.Index] || b.blank.columns[y.Index] {
		empty = "/IF(" + k.n + ">0,1,0)"
	}
	if test != "" || faults != "" || empty != "" {
		k.n = b.scalar(k.n+test+empty+faults, "rows of "+about)
	}
	return k
}

// lookup reads one column at a place in another.
func (p *printer) lookup(n *check.Node) term {
	xsColumn, ysColumn, form := p.m.LookupOf(n)
	xs, ys := p.m.Columns[xsColumn], p.m.Columns[ysColumn]
	if form.Statistic() {
		return p.statistic(n, xs, ys, form)
	}
	k := p.b.curve(xs, ys, form)
	x := p.term(n.A)
	if xs.Type.Form == check.Number {
		u := cellUnit(xs.Unit)
		x = x.in(u.Scale, u.Offset*u.Scale)
	}
	at := x
	if form != kernel.Pick || xs.Type.Form == check.Number {
		at = p.simpleIn(x, "where "+ys.Name+" is looked up")
	}
	t := of(&ys.Quantity, "").carry(at)
	t.typed = t.typed && p.b.pasted(ys) == ""
	t.guards = p.b.faultsFirst(t.guards, xs, ys)
	t.risky = true
	switch form {
	case kernel.Pick:
		t.text = k.t.entry(k.ys, p.keyRow(at, xs, k))
	case kernel.FirstAt:
		t.text = p.crossing(at, xs, k)
	case kernel.Monotone:
		t.text = p.cubic(at, xs, ys, k)
	default:
		t.text = p.straight(at, xs, ys, k, form)
	}
	t.bind = adds
	if form == kernel.Pick {
		t.bind = atom
	}
	return fromCell(&ys.Quantity, t)
}

// faultsFirst adds, to the guards of a look-up whose place may be blank, a step that
// is at fault where an entry of its columns is: a fault has precedence over a blank.
func (b *book) faultsFirst(guards []string, columns ...*check.Column) []string {
	if len(guards) == 0 {
		return guards
	}
	var lists []string
	for _, c := range columns {
		w := b.wholeColumn(c)
		if b.risksColumn(c) && !slices.Contains(lists, w.list) {
			lists = append(lists, w.list)
		}
		if w.kept != "" && !slices.Contains(lists, w.n) {
			lists = append(lists, w.n)
		}
	}
	if len(lists) == 0 {
		return guards
	}
	return append(guards, b.scalar("SUM("+strings.Join(lists, ",")+")", "faults in "+columns[0].Table.Name))
}

// simpleIn is simple for a term that is already in a column's unit.
func (p *printer) simpleIn(x term, what string) term {
	if x.constant() || len(unmarked(x.text)) <= simpleTerm {
		return x
	}
	s := p.step(x, called(what))
	s.k, s.c = 1, 0
	return s
}

// rowOf puts a formula that finds a row into a step.
func (p *printer) rowOf(text, what string, perRow, array bool) string {
	if perRow {
		return p.table.stepRef(p.table.addStep(rowStep{what: what, text: text, array: array, early: p.early})) + thisRow
	}
	return p.b.scalarStep(scalarStep{what: what, text: text, array: array})
}

// tolerance returns 1e-12·|x|, x being in the unit of a column.
func tolerance(x string, c *check.Column) string {
	off := cellUnit(c.Unit).Offset
	if v, err := strconv.ParseFloat(x, 64); err == nil {
		return literal(snap(math.Abs(v+off) / 1e12))
	}
	if off != 0 {
		x += signedLiteral(off)
	}
	return "ABS(" + x + ")*1E-12"
}

// straight returns the value by linear interpolation.
func (p *printer) straight(x term, xs, ys *check.Column, k packed, form kernel.LookupForm) string {
	if form == kernel.Clamped {
		inside := x
		inside.text = "MAX(" + k.t.entry(k.xs, "1") + ",MIN(" + k.t.entry(k.xs, k.n) + "," + x.entry().text + "))"
		inside.bind, inside.guards = atom, nil
		inside.k, inside.c, inside.signed = 1, 0, true
		x = p.step(inside, called(xs.Name+" within its ends"))
	}
	row := p.interval(x, xs, k)
	return k.t.entry(k.ys, row) + "+" + k.t.entry(p.b.rises(xs, ys, k), row) + "*(" + x.bracket(adds) + "-" + k.t.entry(k.xs, row) + ")"
}

// rises returns the range of steps with the slope from each row of a curve to the
// next. It is 0 in the last row, where a look-up ends.
func (b *book) rises(xs, ys *check.Column, k packed) string {
	row, text := k.t.numbers()+thisRow, "0"
	if k.t.t.Rows > 1 {
		text = "IF(" + row + "=" + k.n + ",0,(" + k.refY + laterRow + "-" + k.refY + thisRow + ")/(" + k.refX + laterRow + "-" + k.refX + thisRow + "))"
	}
	what := "rise of " + ys.Name + " over " + xs.Name
	text = "IF(" + row + ">" + k.n + `,"",` + text + ")"
	column := k.t.addStep(rowStep{what: what, text: text, bare: true})
	return b.namedSteps(k.t, column, k.t.t.Name+"_"+ys.Name+"_rise")
}

// interval returns a step with the last row whose x is not above x, within the
// tolerance: a fault outside the ends.
func (p *printer) interval(x term, xs *check.Column, k packed) string {
	last := k.t.entry(k.xs, k.n)
	slack := tolerance(x.bracket(adds), xs)
	find := "MATCH(" + x.bracket(adds) + "+" + slack + "," + k.xs + ",1)"
	return p.rowOf("IF("+x.bracket(adds)+"-"+slack+">"+last+",NA(),"+find+")", "row of "+xs.Name, x.perRow, false)
}

// single reports whether a table has one row, whatever its file holds: the places
// of cells must not depend on that.
func (t *tablePlan) single() bool { return t.t.Rows == 1 && t.t.From == "" }

// entry returns the entry of a list in a row of its table. gnumeric has no entry of
// a list of one cell, so that such a list is read as a cell.
func (t *tablePlan) entry(list, row string) string {
	switch {
	case !t.single():
		return "INDEX(" + list + "," + row + ")"
	case row == "1":
		return list
	}
	return "IF(" + row + "=1," + list + ",NA())"
}

// lineThrough returns the straight line through two rows at x.
func lineThrough(x term, k packed, from, to string) string {
	x0, x1 := k.t.entry(k.xs, from), k.t.entry(k.xs, to)
	y0, y1 := k.t.entry(k.ys, from), k.t.entry(k.ys, to)
	return y0 + "+(" + y1 + "-" + y0 + ")*(" + x.bracket(adds) + "-" + x0 + ")/(" + x1 + "-" + x0 + ")"
}

// index reads a column at a row; a blank there is a fault.
func (p *printer) index(n *check.Node) term {
	col := p.m.Columns[n.Ref()]
	w := p.b.wholeColumn(col)
	w.list = p.b.soundList(col, w)
	at := p.term(n.A).settled()
	t := of(&col.Quantity, "").carry(at)
	t.typed = t.typed && w.t.entries[col] == ""
	if w.kept != "" && len(t.guards) > 0 {
		t.guards = append(t.guards, w.n)
	}
	t.risky = true
	t.bind = atom
	if at.constant() {
		t.text = w.at(literal(at.c), kernel.Row(at.c, col.Table.Rows) >= 0)
	} else {
		at = p.simple(at.in(1, 0), called("row of "+col.Name))
		t.text = w.entry(at)
	}
	if p.b.blank.columns[col.Index] {
		value := p.rowOf(t.text, "an entry of "+col.Name, t.perRow, false)
		t.text = "IF(" + value + `="",NA(),` + value + ")"
	}
	return fromCell(&col.Quantity, t)
}

// at returns the entry in a constant row.
func (w whole) at(row string, inside bool) string {
	switch {
	case !inside:
		return "NA()"
	case w.kept == "":
		return w.t.entry(w.list, row)
	}
	return "IF(" + row + "<=" + w.n + "," + w.t.entry(w.list, row) + ",NA())"
}

// entry returns the entry in a row that is computed.
func (w whole) entry(at term) string {
	row := at.text
	if !at.whole {
		row = "ROUND(" + at.text + ",0)"
	}
	text := "IF(" + bracketed(row, at) + "<1,NA(),IF(" + bracketed(row, at) + ">" + w.n + ",NA()," + w.t.entry(w.list, row) + "))"
	if at.whole {
		return text
	}
	return "IF(ABS(" + at.bracket(adds) + "-" + row + ")<=ABS(" + at.text + ")*1E-12," + text + ",NA())"
}

func bracketed(row string, at term) string {
	if row == at.text {
		return at.bracket(adds)
	}
	return row
}
