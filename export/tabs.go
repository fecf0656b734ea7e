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
}

// Drawn returns the charts of t.
func (t Tab) Drawn() []chart.Chart {
	var out []chart.Chart
	for _, c := range t.Charts {
		d := chart.Chart{Title: c.Title, X: c.XName, Y: c.YName}
		for _, y := range c.Y {
			s := chart.Series{Name: t.Fields[y].Name}
			for _, row := range t.Rows {
				a, okA := row[c.X].(float64)
				b, okB := row[y].(float64)
				if okA && okB {
					s.X, s.Y = append(s.X, a), append(s.Y, b)
				}
			}
			d.Series = append(d.Series, s)
		}
		grounded(d.Series)
		out = append(out, d)
	}
	return out
}

// grounded raises noise below zero of a channel that starts at zero: it would
// add an empty band to the chart.
func grounded(series []chart.Series) {
	lo, hi := 0.0, 0.0
	for _, s := range series {
		for _, y := range s.Y {
			lo, hi = min(lo, y), max(hi, y)
		}
	}
	if -lo > 0.02*hi {
		return
	}
	for _, s := range series {
		for i := range s.Y {
			s.Y[i] = max(0, s.Y[i])
		}
	}
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
	out := &recordTab{name: t.Name, title: t.Title, foot: foot, count: len(t.Rows), records: t.Rows}
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

// format returns the number format of a column: its precision, or so many digits
// of its largest value that the rest is noise.
func (t Tab) format(column int) string {
	if column < len(t.Steps) && t.Steps[column] > 0 {
		return decimals(unit.Decimals(t.Steps[column]))
	}
	largest, few := 0.0, true
	for _, row := range t.Rows {
		v, ok := row[column].(float64)
		if !ok || v != v {
			continue
		}
		largest = max(largest, math.Abs(v))
		few = few && len(strconv.FormatFloat(v, 'g', -1, 64)) <= shownDigits+2
	}
	if few || largest == 0 {
		return general
	}
	return decimals(max(0, shownDigits-1-int(math.Floor(math.Log10(largest)))))
}

// charted returns the charts of t, whose records are on a tab.
func (t Tab) charted(on *recordTab) []*excelize.Chart {
	var out []*excelize.Chart
	if len(t.Rows) < 2 {
		return nil
	}
	for _, c := range t.Charts {
		one := lineChart(c.Title, c.XName, c.YName, c.Title)
		last := len(t.Rows) - 1
		for k, y := range c.Y {
			addSeries(one, lineSeries(k, on.headOf(y), on.entries(c.X, 0, last), on.entries(y, 0, last)))
		}
		out = append(out, one)
	}
	return out
}
