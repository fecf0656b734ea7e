package export

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/export/chart"
	"gearleaf/sheet/unit"
)

// Tab is one table of an answer that has several, with charts of its columns.
type Tab struct {
	Name  string // of the tab in a workbook, and of the table in JSON
	Title string
	Records
	// Groups are what neighbouring columns share, by column: the beginning of
	// their names, which a workbook shows above them. Empty for none.
	Groups []string
	// Steps is the precision to which numbers of each column are shown; 0 for
	// all digits.
	Steps  []float64
	Charts []TabChart
}

// TabChart is a chart of a tab's columns, by their index; a missing value is a
// gap.
type TabChart struct {
	Title, XName, YName string
	X                   int
	Y                   []int
	// Channel is the log's channel that it draws; empty for another chart.
	Channel string
	// from and to are the rows that a workbook draws as bars over names, those
	// before to; both are 0 for lines over all rows.
	from, to int
}

// Drawn returns the charts of t.
func (t Tab) Drawn() []chart.Chart {
	var out []chart.Chart
	on := t.recordTab("")
	for _, c := range t.Charts {
		d := chart.Chart{Title: c.Title, X: c.XName, Y: c.YName, Seen: t.seen(on, c)}
		for _, y := range c.Y {
			s := chart.Series{Name: on.columns[y].Name}
			for _, row := range t.Rows {
				a, okA := row[c.X].(float64)
				b, okB := row[y].(float64)
				if okA && okB {
					s.X, s.Y = append(s.X, a), append(s.Y, b)
				}
			}
			d.Series = append(d.Series, s)
		}
		if t.grounded(c) {
			for _, s := range d.Series {
				for i := range s.Y {
					s.Y[i] = max(0, s.Y[i])
				}
			}
		}
		out = append(out, d)
	}
	return out
}

// seen describes what a chart shows.
func (t Tab) seen(on *recordTab, c TabChart) string {
	var lines []string
	for _, row := range t.Rows[c.from:c.to] {
		lines = append(lines, fmt.Sprintf("%v %.3g", row[c.X], row[c.Y[0]]))
	}
	if len(lines) > 0 {
		return seenText(c.Title, "Bars", c.XName, lines)
	}
	for _, y := range c.Y {
		s := t.span(y)
		lines = append(lines, s.text(on.columns[y].Name, on.columns[y].written))
	}
	x := t.span(c.X)
	name, _, _ := strings.Cut(c.XName, ",")
	return seenText(c.Title, "Lines", x.text(name, on.columns[c.X].written), lines)
}

// span returns what is seen of a column.
func (t Tab) span(column int) span {
	var s span
	for _, row := range t.Rows {
		if v, ok := row[column].(float64); ok && v == v {
			s.add(v)
		}
	}
	return s
}

// grounded reports whether a chart has noise below zero of a channel that starts
// at zero: it would add an empty band to the chart.
func (t Tab) grounded(c TabChart) bool {
	lo, hi := 0.0, 0.0
	for _, y := range c.Y {
		s := t.span(y)
		lo, hi = min(lo, s.low), max(hi, s.high)
	}
	return lo < 0 && -lo <= 0.02*hi
}

// points returns the number of points of a chart: of its line that has most.
func (t Tab) points(c TabChart) int {
	most := 0
	for _, y := range c.Y {
		n := 0
		for _, row := range t.Rows {
			if row[c.X] != nil && row[y] != nil {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// WriteTabs writes a workbook with one tab per table, and one of all charts;
// title is at the foot of each page.
func WriteTabs(w io.Writer, title string, tabs []Tab) error {
	return writeRecordTabs(w, title, func(f *excelize.File, st *styles, text *tabRows) ([]*excelize.Chart, error) {
		for i, t := range tabs {
			if i == 0 {
				if err := f.SetSheetName("Sheet1", t.Name); err != nil {
					return nil, err
				}
			} else if _, err := f.NewSheet(t.Name); err != nil {
				return nil, err
			}
		}
		var charts []*excelize.Chart
		for _, t := range tabs {
			one := t.recordTab(title)
			if err := one.write(f, st, text, each(t.Rows)); err != nil {
				return nil, fmt.Errorf("the tab %s could not be created: %w", t.Name, err)
			}
			charts = append(charts, t.charted(one)...)
		}
		return charts, nil
	})
}

// recordTab returns the tab of t's records.
func (t Tab) recordTab(foot string) *recordTab {
	out := &recordTab{name: t.Name, title: t.Title, foot: foot, count: len(t.Rows), records: t.Rows, remark: setRemark(t.set), mixed: t.mixed}
	for i, field := range t.Fields {
		c := recordColumn{Field: field}
		if i < len(t.Groups) && t.Groups[i] != "" {
			c.label = t.Groups[i]
			c.Name = strings.TrimPrefix(field.Name, c.label+" ")
		}
		c.format = t.format(i)
		out.columns = append(out.columns, c)
	}
	return out
}

// shownDigits is the number of digits of the largest value in a measured column
// without a precision.
const shownDigits = 5

// mostDecimals is the largest number of decimals that such a column shows.
const mostDecimals = 9

// format returns the number format of a column: its precision, or so many digits
// of its largest value that the rest is noise.
func (t Tab) format(column int) string {
	step := t.Fields[column].step
	if column < len(t.Steps) && t.Steps[column] > 0 {
		step = t.Steps[column]
	}
	switch {
	case step > 0:
		return decimals(unit.Decimals(step))
	case t.mixed:
		return general
	}
	largest, few := 0.0, true
	for _, row := range t.Rows {
		v, ok := row[column].(float64)
		if !ok || v != v {
			continue
		}
		largest = max(largest, math.Abs(v))
		few = few && fewDigits(v)
	}
	if few {
		return general
	}
	return digitsOf(largest)
}

// fewDigits reports whether a number is short enough to be shown whole.
func fewDigits(v float64) bool {
	return len(strconv.FormatFloat(v, 'g', -1, 64)) <= shownDigits+2
}

// digitsOf returns the format that shows so many digits of a number that the
// rest is noise.
func digitsOf(v float64) string {
	if v == 0 {
		return general
	}
	n := max(0, shownDigits-1-int(math.Floor(math.Log10(math.Abs(v)))))
	if n > mostDecimals {
		return general
	}
	return decimals(n)
}

// charted returns the charts of t, whose records are on a tab; one of a single
// point would say nothing.
func (t Tab) charted(on *recordTab) []*excelize.Chart {
	var out []*excelize.Chart
	for _, c := range t.Charts {
		points := t.points(c)
		if points < 2 {
			continue
		}
		one, first, last := lineChart(c.Title, c.XName, c.YName, t.seen(on, c)), 0, len(t.Rows)-1
		if c.to > 0 {
			one.Type, one.XAxis.MajorGridLines, first, last = excelize.Col, false, c.from, c.to-1
		}
		if t.grounded(c) {
			zero := 0.0
			one.YAxis.Minimum = &zero
		}
		for k, y := range c.Y {
			line := lineSeries(k, on.headOf(y), on.entries(c.X, first, last), on.entries(y, first, last))
			if points <= mostDotted && c.to == 0 {
				dotted(&line)
			}
			addSeries(one, line)
		}
		out = append(out, one)
	}
	return out
}
