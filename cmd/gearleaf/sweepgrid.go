package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/question"
)

// sweepTable holds the scenarios of a sweep that is shown on a page.
type sweepTable struct {
	w               *question.Sweep
	inputs, shown   [][]float64 // of each scenario
	broken, waiting [][]int
}

func newSweepTable(w *question.Sweep) *sweepTable { return &sweepTable{w: w} }

// run computes the sweep and keeps it.
func (t *sweepTable) run(ctx context.Context, p *progress) (question.Tally, error) {
	return question.RunSweep(ctx, t.w, func(*question.Block, *struct{}) {}, func(b *question.Block, _ *struct{}) error {
		for i := range b.N {
			t.inputs = append(t.inputs, rowOf(b.Inputs, i))
			t.shown = append(t.shown, rowOf(b.Shown, i))
			t.broken = append(t.broken, slices.Clone(b.Broken[i]))
			t.waiting = append(t.waiting, slices.Clone(b.Waiting[i]))
		}
		p.at(len(t.inputs))
		return nil
	})
}

func rowOf(columns [][]float64, i int) []float64 {
	out := make([]float64, len(columns))
	for k := range columns {
		out[k] = columns[k][i]
	}
	return out
}

// sweepReport writes a sweep over one or two inputs on a page.
type sweepReport struct {
	page
	table   *sweepTable
	tally   question.Tally
	full    bool
	letters limitLetters
}

func (r *sweepReport) write() {
	w := r.table.w
	r.letters = newLetters(w.Watched, func(l *check.Limit) bool {
		k := slices.Index(w.Watched, l)
		return r.tally.Broken[k]+r.tally.Waiting[k] > 0
	})
	r.heading(w.Sheet)
	fmt.Fprintln(r.w)
	if len(w.Axes) == 1 {
		r.rows()
	} else {
		for k := range w.Show {
			if k > 0 {
				fmt.Fprintln(r.w)
			}
			r.grids(k)
		}
	}
	r.legend(r.letters, func(l *check.Limit) string {
		k := slices.Index(w.Watched, l)
		text := fmt.Sprintf(" (%d of %d", r.tally.Broken[k], r.tally.Scenarios)
		if r.tally.Waiting[k] > 0 {
			text += fmt.Sprintf("; %d? wait on a fault", r.tally.Waiting[k])
		}
		return text + ")"
	})
	fmt.Fprintln(r.w)
	r.holes(r.tally.Holes, counted(r.tally.Scenarios, "scenario", "scenarios"))
	fmt.Fprintln(r.w, tallyText(w, r.tally))
	fmt.Fprintln(r.w, r.quiet(sampledText))
}

const sampledText = "a sample of them confirmed by the second evaluator"

// longSweep is the largest number of rows of a sweep that are all shown.
const longSweep = 60

func (r *sweepReport) chosen(n int) []int { return tableRows(n, r.full || n <= longSweep) }

// rows writes a sweep over one input.
func (r *sweepReport) rows() {
	t := r.table
	rows := r.chosen(len(t.inputs))
	s := t.w.Sheet
	columns := []*gridColumn{quantityColumn(t.w.Axes[0].Name(), t.w.Axes[0].Quantity())}
	columns[0].fields = r.fields(rows, func(i int) string { return valueText(s, t.w.Axes[0].Quantity(), t.inputs[i][0]) })
	for k, p := range t.w.Show {
		g := quantityColumn(p.Name(), p.Quantity())
		g.fields = r.fields(rows, func(i int) string { return valueText(s, p.Quantity(), t.shown[i][k]) })
		columns = append(columns, g)
	}
	if len(t.w.Watched) > 0 {
		g := &gridColumn{head: "limits", left: true}
		g.fields = r.fields(rows, func(i int) string {
			switch marks := r.letters.marks(t.broken[i], t.waiting[i]); {
			case len(t.broken[i]) > 0:
				return "breaks " + marks
			case marks != "":
				return "waits " + marks
			}
			return "kept"
		})
		columns = append(columns, g)
	}
	r.grid(columns, indent)
	r.cutShort(len(t.inputs), rows)
}

func (r *sweepReport) cutShort(n int, rows []int) {
	if len(rows) < n {
		fmt.Fprintln(r.w, blanks(indent)+r.quiet(fmt.Sprintf("%d of %d rows; --full shows all", len(rows)-1, n)))
	}
}

// fields makes the fields of the chosen rows.
func (r *sweepReport) fields(rows []int, field func(i int) string) []string {
	out := make([]string, len(rows))
	for at, i := range rows {
		if out[at] = "⋮"; i >= 0 {
			out[at] = field(i)
		}
	}
	return out
}

// quantityColumn is an empty column for values of q.
func quantityColumn(name string, q *check.Quantity) *gridColumn {
	g := &gridColumn{head: name, left: q.Type.Form == check.Text}
	if q.Type.Form == check.Number && q.Unit.Symbol != "1" {
		g.unit = q.Unit.Symbol
	}
	return g
}

// valueText writes the value v of q, or the word for a missing value.
func valueText(s *sheet.Sheet, q *check.Quantity, v float64) string {
	if v != v {
		return hole(v)
	}
	number, _ := s.Shown(q, v)
	return number
}

// hole is the word for a missing value.
func hole(v float64) string {
	if sheet.IsBlank(v) {
		return "blank"
	}
	return "fault"
}

// grids writes one shown value over two inputs: the first down, the second
// across.
func (r *sweepReport) grids(k int) {
	t := r.table
	down, across := t.w.Axes[0], t.w.Axes[1]
	p := t.w.Show[k]
	r.hang(blanks(indent), r.bold(p.Name())+inUnit(p.Quantity())+r.gridLabel(p.Quantity()))
	r.hang(blanks(indent), r.quiet(fmt.Sprintf("down %s%s, across %s%s", down.Name(), inUnit(down.Quantity()), across.Name(), inUnit(across.Quantity()))))
	rows := r.chosen(len(down.Values))
	s := t.w.Sheet
	first := &gridColumn{left: down.Quantity().Type.Form == check.Text}
	first.fields = r.fields(rows, func(i int) string { return valueText(s, down.Quantity(), down.Values[i]) })
	columns := []*gridColumn{first}
	for j, v := range across.Values {
		columns = append(columns, r.gridColumn(k, j, valueText(s, across.Quantity(), v), rows))
	}
	r.grid(columns, indent)
	r.cutShort(len(down.Values), rows)
}

func (r *sweepReport) gridLabel(q *check.Quantity) string {
	if q.Origin.Label == "" {
		return ""
	}
	return "  " + q.Origin.Label
}

// inUnit is the unit of q after its name.
func inUnit(q *check.Quantity) string {
	if q.Type.Form != check.Number || q.Unit.Symbol == "" || q.Unit.Symbol == "1" {
		return ""
	}
	return ", " + q.Unit.Symbol
}

// gridColumn is column j of the grid of shown value k: numbers in line, then
// the letters of broken limits.
func (r *sweepReport) gridColumn(k, j int, head string, rows []int) *gridColumn {
	t := r.table
	q := t.w.Show[k].Quantity()
	wide := len(t.w.Axes[1].Values)
	numbers := gridColumn{left: q.Type.Form == check.Text}
	numbers.fields = r.fields(rows, func(i int) string { return valueText(t.w.Sheet, q, t.shown[i*wide+j][k]) })
	marks := r.fields(rows, func(i int) string { return r.letters.marks(t.broken[i*wide+j], t.waiting[i*wide+j]) })
	numbers.fit()
	g := &gridColumn{left: true}
	for at := range rows {
		text := numbers.pad(numbers.fields[at])
		if rows[at] >= 0 && marks[at] != "" {
			text += " " + marks[at]
		}
		g.fields = append(g.fields, text)
	}
	g.head = padLeft(head, numbers.width)
	if numbers.left {
		g.head = head
	}
	g.head = strings.TrimRight(g.head, " ")
	return g
}
