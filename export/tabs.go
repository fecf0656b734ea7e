package export

import (
	"fmt"
	"io"

	"github.com/xuri/excelize/v2"

	"gearleaf/export/chart"
)

// Tab is one table of an answer that has several, with charts of its columns.
type Tab struct {
	Name  string // of the tab in a workbook, and of the table in JSON
	Title string
	Records
	// Steps is the precision in which numbers of each column are shown; 0
	// for as many digits as they have.
	Steps  []float64
	Charts []TabChart
}

// TabChart is a chart of a tab's columns, by their index; what has no value
// in a row is a gap.
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

// WriteTabs writes a workbook with a tab a table, and one for its charts.
func WriteTabs(w io.Writer, tabs []Tab) error {
	f := excelize.NewFile()
	defer func() { _ = f.Close() }()
	st := styles{f: f, known: map[styleKey]int{}}
	for i, t := range tabs {
		if i == 0 {
			if err := f.SetSheetName("Sheet1", t.Name); err != nil {
				return err
			}
		} else if _, err := f.NewSheet(t.Name); err != nil {
			return err
		}
		if err := writeTab(f, &st, t); err != nil {
			return fmt.Errorf("the tab %s could not be made: %w", t.Name, err)
		}
	}
	if st.err != nil {
		return st.err
	}
	packWith(f, newTabRows())
	return f.Write(w)
}

// tabHead is the row of a tab's column heads.
const tabHead = 3

// writeTab writes one table and its charts.
func writeTab(f *excelize.File, st *styles, t Tab) error {
	title := head(st, t.Name, titleLook)
	title.Value = clean(t.Title)
	if err := f.SetCellStr(t.Name, "A1", clean(t.Title)); err != nil {
		return err
	}
	if err := f.SetCellStyle(t.Name, "A1", "A1", title.StyleID); err != nil {
		return err
	}
	if err := paper(f, t.Name, t.Title, len(t.Fields) > 7, "$3:$3"); err != nil {
		return err
	}
	panes := &excelize.Panes{Freeze: true, YSplit: tabHead, TopLeftCell: at(1, tabHead+1), ActivePane: "bottomLeft"}
	if err := f.SetPanes(t.Name, panes); err != nil {
		return err
	}
	bold := st.of(columnLook, "", false)
	for c, field := range t.Fields {
		at := at(c+1, tabHead)
		if err := f.SetCellStr(t.Name, at, clean(field.head())); err != nil {
			return err
		}
		if err := f.SetCellStyle(t.Name, at, at, bold); err != nil {
			return err
		}
		letter, err := excelize.ColumnNumberToName(c + 1)
		if err != nil {
			return err
		}
		if err := f.SetColWidth(t.Name, letter, letter, float64(min(max(len(field.head())+2, 9), 50))); err != nil {
			return err
		}
		if err := writeTabColumn(f, st, t, c); err != nil {
			return err
		}
	}
	return writeTabCharts(f, t)
}

// writeTabColumn writes the values of one column in its precision.
func writeTabColumn(f *excelize.File, st *styles, t Tab, c int) error {
	format := "General"
	if c < len(t.Steps) {
		format = stepFormat(t.Steps[c])
	}
	style := st.of(shutLook, format, false)
	for r, row := range t.Rows {
		v := row[c]
		if text, ok := v.(string); ok {
			v = clean(text)
		}
		if v == nil {
			continue
		}
		if err := f.SetCellValue(t.Name, at(c+1, tabHead+1+r), v); err != nil {
			return err
		}
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return f.SetCellStyle(t.Name, at(c+1, tabHead+1), at(c+1, tabHead+len(t.Rows)), style)
}

// stepFormat is the number format that shows a step's decimals.
func stepFormat(step float64) string {
	if step <= 0 {
		return "General"
	}
	format, zeros := "0", ""
	for ; step < 0.999; step *= 10 {
		zeros += "0"
	}
	if zeros != "" {
		format += "." + zeros
	}
	return format
}

// writeTabCharts puts the charts on a tab after the table's, which stays one page
// wide.
func writeTabCharts(f *excelize.File, t Tab) error {
	if len(t.Rows) == 0 || len(t.Charts) == 0 {
		return nil
	}
	tab := cutRunes(t.Name, 24) + " charts"
	if _, err := f.NewSheet(tab); err != nil {
		return err
	}
	if err := paper(f, tab, t.Title, false, ""); err != nil {
		return err
	}
	last := tabHead + len(t.Rows)
	for i, c := range t.Charts {
		out := &excelize.Chart{
			Type:         excelize.Scatter,
			Dimension:    excelize.ChartDimension{Width: chartWidth, Height: chartHeight},
			Title:        chartText(clean(c.Title), 13, true),
			Legend:       excelize.ChartLegend{Position: "bottom"},
			XAxis:        axis(clean(c.XName)),
			YAxis:        axis(clean(c.YName)),
			Format:       excelize.GraphicOptions{AltText: clean(c.Title)},
			Border:       excelize.LineOptions{Type: excelize.LineNone},
			ShowBlanksAs: "gap",
		}
		for k, y := range c.Y {
			colour := seriesColours[k%len(seriesColours)]
			column := func(i int) string {
				return "'" + t.Name + "'!" + fixed(i+1, tabHead+1) + ":" + fixed(i+1, last)
			}
			out.Series = append(out.Series, excelize.ChartSeries{
				Name: "'" + t.Name + "'!" + fixed(y+1, tabHead), Fill: tone(colour),
				Categories: column(c.X), Values: column(y),
				Line:   excelize.LineOptions{Type: excelize.LineSolid, Width: 1.75, Fill: tone(colour)},
				Marker: excelize.ChartMarker{Symbol: "none"},
			})
		}
		if err := f.AddChart(tab, at(1, 1+i*chartRows), out); err != nil {
			return err
		}
	}
	return nil
}
