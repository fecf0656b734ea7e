package referee

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
)

// Values are another evaluator's values of the sheet. Rows count from 0.
type Values interface {
	Cell(i int) float64
	Entry(column, row int) float64
	Live(table int) (rows int, ended bool)
	Limit(i int) (value float64, row int)
	Advice(i int) (value float64, row int)
}

// Difference is a value on which the evaluators differ.
type Difference struct {
	Name  string // "top_speed", "run.speed", "run" for its rows
	Row   int    // of a column, from 0; -1 for none
	Value float64
	// Referee is the referee's value.
	Referee float64
}

// String names the value and both readings.
func (d Difference) String() string {
	name := d.Name
	if d.Row >= 0 {
		name = fmt.Sprintf("%s[%d]", name, d.Row+1)
	}
	return fmt.Sprintf("%s (%s by one, %s by the other)", name, reading(d.Value), reading(d.Referee))
}

func reading(v float64) string {
	switch {
	case kernel.IsBlank(v):
		return "a blank"
	case v != v:
		return "a fault"
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// Same reports whether a and b are the same runtime value: the same bits, two
// blanks or two faults.
func Same(a, b float64) bool {
	if a != a && b != b {
		return kernel.IsBlank(a) == kernel.IsBlank(b)
	}
	return math.Float64bits(a) == math.Float64bits(b)
}

// MaxDifferences is the number of differences after which a comparison stops.
const MaxDifferences = 20

// Confirm compares v with the referee's values, bit for bit, and returns the
// first differences. If sample is nil, the referee evaluates the whole sheet by
// itself; otherwise it evaluates the tasks that sample chooses, each from v's
// values of its inputs, so the time depends on the sample, not on the size of
// the sheet. sample is called for every row of a column or a loop, and with row
// 0 for every other task. A context that ends stops it with the context's
// error.
func Confirm(ctx context.Context, r *Referee, v Values, sample func(task, row int) bool) ([]Difference, error) {
	r.ctx = ctx
	if sample == nil {
		if err := r.Run(); err != nil {
			return nil, err
		}
		return r.Compare(v), nil
	}
	a := r.Audit(v)
	var found []Difference
	for i := range r.g.Len() {
		for row := range rowsOf(r.g.Task(i)) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if r.silent && r.g.Task(i).Kind == graph.AdviceTask || !sample(i, row) {
				continue
			}
			d, err := a.Task(i, row)
			if err != nil {
				return nil, err
			}
			found = append(found, d...)
			if len(found) >= MaxDifferences {
				return found[:MaxDifferences], nil
			}
		}
	}
	return found, nil
}

// rowsOf returns the number of rows of a task that can be evaluated one by one.
func rowsOf(t graph.Task) int {
	switch t.Kind {
	case graph.ColumnTask:
		return t.Column.Table.Rows
	case graph.LoopTask:
		return t.Table.Rows
	}
	return 1
}

// differences collects differences.
type differences []Difference

func (d *differences) put(name string, row int, v, referee float64) {
	if !Same(v, referee) && len(*d) < MaxDifferences {
		*d = append(*d, Difference{Name: name, Row: row, Value: v, Referee: referee})
	}
}

// Compare returns the first differences between v and the values of Run.
func (r *Referee) Compare(v Values) []Difference {
	var d differences
	for _, c := range r.m.Cells {
		d.put(c.Name, -1, v.Cell(int(c.Index)), r.cells[c.Index])
	}
	for _, t := range r.m.Tables {
		rows, ended := v.Live(t.Index)
		own := r.spans[t.Index]
		d.put(t.Name, -1, end(rows, ended), end(own.live, own.ended))
		for _, c := range t.Columns {
			r.compareColumn(&d, v, c, min(rows, own.live))
		}
	}
	for i, l := range r.m.Limits {
		d.verdict(fmt.Sprintf("limit %q", l.Text), l.Table, v.Limit, i, r.limits[i])
	}
	if r.silent {
		return d
	}
	for i, a := range r.m.Advices {
		d.verdict(adviceName(a), tableOf(a), v.Advice, i, r.advices[i])
	}
	return d
}

// end is a table's number of rows as a value, negative if it has not ended.
func end(rows int, ended bool) float64 {
	if !ended {
		return -float64(rows) - 1
	}
	return float64(rows)
}

func columnName(c *check.Column) string { return c.Table.Name + "." + c.Name }

func adviceName(a *check.Advice) string {
	if a.Column != nil {
		return "an advice on " + columnName(a.Column)
	}
	return "an advice on " + a.Cell.Name
}

// compareColumn compares a column: the live rows of a given one, all rows of a
// computed one.
func (r *Referee) compareColumn(d *differences, v Values, c *check.Column, live int) {
	rows := c.Table.Rows
	if c.Given {
		rows = min(live, len(r.columns[c.Index]))
	}
	for row := range rows {
		d.put(columnName(c), row, v.Entry(int(c.Index), row), r.columns[c.Index][row])
	}
}

// verdict compares the outcome of a condition and, if a table does not keep it,
// the row.
func (d *differences) verdict(name string, t *check.Table, of func(int) (float64, int), i int, own Verdict) {
	value, row := of(i)
	d.put(name, -1, value, own.Value)
	if t != nil && own.Value != 1 && Same(value, own.Value) {
		d.put(name+", the row", -1, float64(row), float64(own.Row))
	}
}

// Audit evaluates single tasks from the values of another evaluator.
type Audit struct {
	r *Referee
	b *borrowed
}

// Audit returns an Audit of v. Nothing else may use the referee during the
// audit.
func (r *Referee) Audit(v Values) *Audit {
	b := &borrowed{r: r, v: v, columns: make([][]float64, len(r.m.Columns)), breaks: map[*check.Table]int{}}
	r.from = b
	r.wholes.clear()
	return &Audit{r: r, b: b}
}

// Task evaluates one task, or one row of a column or a loop, and returns the
// differences.
func (a *Audit) Task(task, row int) ([]Difference, error) {
	var d differences
	t := a.r.g.Task(task)
	v := a.b.v
	switch t.Kind {
	case graph.CellTask:
		own, err := a.r.cells[t.Cell.Index], error(nil)
		if !t.Cell.Given {
			own, err = a.r.scalar(t.Cell.Formula)
		}
		d.put(t.Cell.Name, -1, v.Cell(int(t.Cell.Index)), own)
		return d, named(err, t.Cell.Name)
	case graph.ColumnTask:
		err := a.column(&d, t.Column, row)
		return d, named(err, t.Column.Name)
	case graph.LoopTask:
		err := a.loop(&d, t.Table, row)
		return d, named(err, t.Table.Name)
	case graph.LimitTask:
		l := t.Limit
		own, err := a.r.verdict(l.Cond, l.Table)
		d.verdict(fmt.Sprintf("limit %q", l.Text), l.Table, v.Limit, l.Index, own)
		return d, named(err, "limit")
	}
	own, err := a.r.verdict(t.Advice.Cond, tableOf(t.Advice))
	d.verdict(adviceName(t.Advice), tableOf(t.Advice), v.Advice, a.r.places[t.Advice], own)
	return d, named(err, "advice")
}

// Value evaluates an expression of the checked tree that need not be a formula of
// the sheet; row is that of its table, from 0, or -1 outside tables.
func (a *Audit) Value(node check.NodeID, row int) (float64, error) {
	return a.r.tree(node).value(&scope{row: row})
}

// column compares one row of a column.
func (a *Audit) column(d *differences, c *check.Column, row int) error {
	value, own := a.b.v.Entry(int(c.Index), row), kernel.Blank
	live, _ := a.b.v.Live(c.Table.Index)
	switch {
	case c.Given && (row >= live || row >= len(a.r.columns[c.Index])):
		return nil
	case c.Given:
		own = a.r.columns[c.Index][row]
	case row < live:
		sound, err := a.r.sound(c.Table, live)
		if err != nil {
			return err
		}
		if own = kernel.Fault; row < sound {
			if own, err = a.r.rowOf(c, row); err != nil {
				return err
			}
		}
	}
	d.put(columnName(c), row, value, own)
	return nil
}

// loop compares one row of a loop: its columns are evaluated from the row
// before, its until from them.
func (a *Audit) loop(d *differences, t *check.Table, row int) error {
	live, ended := a.b.v.Live(t.Index)
	sound, err := a.r.sound(t, live)
	if err != nil {
		return err
	}
	if row >= live || row > sound {
		want := kernel.Blank
		if row < live {
			want = kernel.Fault
		}
		for _, c := range t.Loop {
			d.put(columnName(c), row, a.b.v.Entry(int(c.Index), row), want)
		}
		return nil
	}
	own, turn, err := a.step(t, row)
	if err != nil {
		return err
	}
	for i, c := range t.Loop {
		if turn == kernel.Breaks {
			own[i] = kernel.Fault
		}
		d.put(columnName(c), row, a.b.v.Entry(int(c.Index), row), own[i])
	}
	last := ended && t.Until != 0 && row == live-1
	d.put(t.Name+", its end", row, kernel.Truth(last), kernel.Truth(turn == kernel.Ends))
	return nil
}

// step evaluates one row of a loop from the other evaluator's values.
func (a *Audit) step(t *check.Table, row int) (own []float64, turn kernel.Turn, err error) {
	b := a.b
	b.table, b.row, b.laid = t, row, b.laid[:0]
	defer func() { b.table = nil }()
	for _, c := range t.Loop {
		v, err := a.r.rowOf(c, row)
		if err != nil {
			return nil, 0, named(err, c.Name)
		}
		b.laid = append(b.laid, v)
	}
	turn = kernel.GoesOn
	if t.Until != 0 {
		v, err := a.r.tree(t.Until).value(&scope{row: row})
		if err != nil {
			return nil, 0, err
		}
		turn = kernel.Until(v)
	}
	return slices.Clone(b.laid), turn, nil
}

// borrowed reads another evaluator's values.
type borrowed struct {
	r       *Referee
	v       Values
	columns [][]float64 // live entries, read when first needed
	breaks  map[*check.Table]int
	// table, row and laid are the current row of a loop: the entries of
	// its first columns have been evaluated.
	table *check.Table
	row   int
	laid  []float64
}

func (b *borrowed) cell(i int) float64         { return b.v.Cell(i) }
func (b *borrowed) span(table int) (int, bool) { return b.v.Live(table) }

// broken finds the first row whose until is faulty. In that row it reads
// faults, or values whose evaluation is one.
func (b *borrowed) broken(t *check.Table) (int, error) {
	live, ended := b.v.Live(t.Index)
	if t.Until == 0 || ended {
		return -1, nil
	}
	if row, ok := b.breaks[t]; ok {
		return row, nil
	}
	b.breaks[t] = -1
	for row := range live {
		v, err := b.r.tree(t.Until).value(&scope{row: row})
		if err != nil {
			return -1, err
		}
		if kernel.IsFault(v) {
			b.breaks[t] = row
			break
		}
	}
	return b.breaks[t], nil
}

func (b *borrowed) entry(column, row int) float64 {
	c := b.r.m.Columns[column]
	if c.Given {
		return b.r.columns[column][row]
	}
	if b.table == c.Table && b.row == row {
		if i := slices.Index(b.table.Loop, c); i >= 0 && i < len(b.laid) {
			return b.laid[i]
		}
	}
	return b.v.Entry(column, row)
}

func (b *borrowed) whole(column int) ([]float64, bool) {
	t := b.r.m.Columns[column].Table
	live, ended := b.v.Live(t.Index)
	if t.Fault != "" || !ended {
		return nil, false
	}
	if b.columns[column] == nil {
		b.columns[column] = make([]float64, live)
		for row := range live {
			b.columns[column][row] = b.entry(column, row)
		}
	}
	return b.columns[column], true
}
