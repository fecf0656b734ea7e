package export

import (
	"fmt"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// Bounds of a sweep's charts.
const (
	mostCharted = 8    // charts
	mostLines   = 6    // lines of one
	mostDrawn   = 2000 // points of one, if the scenarios are drawn at random
)

// sweepView is what the charts of a sweep show. Combinations are drawn over the
// last input that moves, which moves fastest, with a line for each value of the
// one before; those before are at a value in the middle. Random scenarios are
// points over each input.
type sweepView struct {
	s             *sweepWriter
	count         int   // scenarios
	x             []int // the inputs over which is drawn
	by            int   // the input whose values make lines; -1 for a single line
	held          []int // the inputs at a value in the middle
	first, points int   // the first scenario, and the number of points of a line
	lines         []int // lines that are drawn, of those there are
	spans         [][]span
}

// view returns what the charts of the sweep show, nil if there is nothing to draw.
func (s *sweepWriter) view(count int) *sweepView {
	v := &sweepView{s: s, count: count, by: -1, points: min(count, mostDrawn), lines: []int{0}}
	if s.w.Random != nil {
		for i, q := range s.inputs {
			if q.Type.Form == check.Number {
				v.x = append(v.x, i)
			}
		}
	} else if !v.combinations() {
		return nil
	}
	if v.points < 2 {
		return nil
	}
	for range v.lines {
		v.spans = append(v.spans, make([]span, len(s.heads)))
	}
	return v
}

// combinations chooses the axis and the lines of combinations.
func (v *sweepView) combinations() bool {
	axes := v.s.w.Axes
	size := 1 // of the block of scenarios between two values of an input
	for i := len(axes) - 1; i >= 0; i-- {
		n := len(axes[i].Values)
		switch {
		case n < 2:
		case v.x == nil:
			v.x, v.points = []int{i}, n
		case v.by < 0:
			v.by = i
			v.lines = v.lines[:0]
			for k := range min(n, mostLines) {
				v.lines = append(v.lines, k*(n-1)/(min(n, mostLines)-1))
			}
		default:
			v.held = append([]int{i}, v.held...)
			v.first += n / 2 * size
		}
		size *= n
	}
	return v.x != nil
}

// see takes note of a scenario that is drawn.
func (v *sweepView) see(scenario int, values []any) {
	line := (scenario - v.first) / v.points
	for k, drawn := range v.lines {
		if scenario < v.first || line != drawn {
			continue
		}
		for i := range v.spans[k] {
			if number, ok := values[i].(float64); ok {
				v.spans[k][i].add(number)
			}
		}
	}
}

// value names an input with one of its values.
func (v *sweepView) value(input, k int) string {
	q := v.s.inputs[input]
	return label(q) + " " + v.s.sheet.Text(q, v.s.w.Axes[input].Values[k])
}

// legend returns the names of the lines, nil for a single one: values of the input
// that the title names, because long names leave no room for the lines.
func (v *sweepView) legend() []string {
	var names []string
	for _, line := range v.lines {
		if v.by >= 0 {
			names = append(names, v.s.sheet.Text(v.s.inputs[v.by], v.s.w.Axes[v.by].Values[line]))
		}
	}
	return names
}

// partText describes the part of the scenarios that is drawn, briefly for a title.
func (v *sweepView) partText(brief bool) string {
	text := ""
	if v.by >= 0 {
		text = ", by " + label(v.s.inputs[v.by])
		if all := len(v.s.w.Axes[v.by].Values); len(v.lines) < all {
			text = fmt.Sprintf(", %d of %d values of %s", len(v.lines), all, label(v.s.inputs[v.by]))
		}
	}
	if v.s.w.Random != nil && v.points < v.count {
		text = fmt.Sprintf(", the first %d of %d scenarios", v.points, v.count)
	}
	if brief && len(v.held) > 2 {
		return text + fmt.Sprintf(", %d inputs at a value in the middle", len(v.held))
	}
	for _, i := range v.held {
		text += ", " + v.value(i, len(v.s.w.Axes[i].Values)/2)
	}
	return text
}

// charts draws every number that is shown.
func (v *sweepView) charts(t *recordTab) []*excelize.Chart {
	var out []*excelize.Chart
	for k, q := range v.s.shown {
		for _, x := range v.x {
			if q.Type.Form == check.Number && len(out) < mostCharted {
				out = append(out, v.chart(t, x, len(v.s.inputs)+k))
			}
		}
	}
	return out
}

// chart draws column y of the records over column x.
func (v *sweepView) chart(t *recordTab, x, y int) *excelize.Chart {
	title := t.columns[y].caption() + " over " + t.columns[x].caption()
	c := lineChart(title+v.partText(true), t.columns[x].named(), t.columns[y].named(), v.seen(t, title, x, y))
	if v.named(x) {
		c.Type, c.XAxis.MajorGridLines = excelize.Col, false
	}
	for i, line := range v.lines {
		from := v.first + line*v.points
		name := t.headOf(y)
		if v.by >= 0 {
			name = quoteSheet(chartDataTab) + "!" + fixed(1+i, 1)
		}
		one := lineSeries(i, name, t.entries(x, from, from+v.points-1), t.entries(y, from, from+v.points-1))
		if v.s.w.Random != nil {
			scattered(&one)
		} else if v.points <= mostDotted && !v.named(x) {
			dotted(&one)
		}
		addSeries(c, one)
	}
	return c
}

// named reports whether the values of an input are names: they get bars.
func (v *sweepView) named(x int) bool { return v.s.inputs[x].Type.Form != check.Number }

// seen describes a chart.
func (v *sweepView) seen(t *recordTab, title string, x, y int) string {
	cx, cy := t.columns[x], t.columns[y]
	title += v.partText(false)
	if v.s.w.Random != nil {
		s := v.spans[0]
		return seenText(title, "Points", s[x].reach(cx.caption(), cx.written), []string{s[y].reach(cy.caption(), cy.written)})
	}
	kind, over := "Lines", v.spans[0][x].text(cx.caption(), cx.written)
	if v.named(x) {
		kind, over = "Bars", namesText(cx.caption(), v.texts(x))
	}
	names := v.legend()
	if names == nil {
		names = []string{cy.caption()}
	}
	var lines []string
	for i, name := range names {
		lines = append(lines, v.spans[i][y].text(name, cy.written))
	}
	return seenText(title, kind, over, lines)
}

// texts returns the values of an input of names.
func (v *sweepView) texts(x int) []string {
	var out []string
	for _, value := range v.s.w.Axes[x].Values {
		out = append(out, v.s.sheet.Text(v.s.inputs[x], value))
	}
	return out
}

// observed passes rows on and takes note of what is drawn of them.
func (v *sweepView) observed(row func([]any) error) func([]any) error {
	if v == nil {
		return row
	}
	n := 0
	return func(values []any) error {
		v.see(n, values)
		n++
		return row(values)
	}
}
