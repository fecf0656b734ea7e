package export

import (
	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

const (
	chartWidth  = 760 // pixels
	chartHeight = 400
	chartRows   = 22 // rows of the tab that a chart covers, with a gap
)

// seriesColours differ in darkness, so that lines differ in black and white,
// too.
var seriesColours = []string{"1F4E79", "C0504D", "5B8C5A", "8064A2", "B8860B", "4B6B75"}

// writeCharts draws every chart of the worksheet, one below the other.
func (wb *workbook) writeCharts() error {
	if len(wb.m.Charts) == 0 {
		return nil
	}
	if err := wb.page(chartsTab, false, ""); err != nil {
		return err
	}
	hidden := false
	if err := wb.f.SetSheetView(chartsTab, -1, &excelize.ViewOptions{ShowGridLines: &hidden}); err != nil {
		return err
	}
	title := head(&wb.styles, chartsTab, titleLook)
	if err := wb.f.SetCellStr(chartsTab, "A1", chartsTab); err != nil {
		return err
	}
	if err := wb.f.SetCellStyle(chartsTab, "A1", "A1", title.StyleID); err != nil {
		return err
	}
	row := 3
	for _, c := range wb.m.Charts {
		if wb.livePoints(c) == 0 {
			continue
		}
		if err := wb.f.AddChart(chartsTab, at(1, row), wb.chart(c)); err != nil {
			return err
		}
		row += chartRows
	}
	return nil
}

// livePoints returns the rows that a chart draws: those live when the workbook
// is written, because a blank text on the x axis would make a spreadsheet count
// rows instead.
func (wb *workbook) livePoints(c *check.Chart) int {
	rows, _ := wb.r.Live(c.X.Table)
	return min(rows, c.X.Table.Rows)
}

func (wb *workbook) chart(c *check.Chart) *excelize.Chart {
	n := wb.livePoints(c)
	out := &excelize.Chart{
		Type:      excelize.Scatter,
		Dimension: excelize.ChartDimension{Width: chartWidth, Height: chartHeight},
		Title:     chartText(clean(c.Title), 13, true),
		Legend:    excelize.ChartLegend{Position: "bottom"},
		XAxis:     numbered(axis(axisTitle([]*check.Column{c.X})), c.X),
		YAxis:     numbered(axis(axisTitle(c.Y)), c.Y...),
		Format:    excelize.GraphicOptions{AltText: clean(c.Title)},
		Border:    excelize.LineOptions{Type: excelize.LineNone},
	}
	if len(c.Y) == 1 {
		out.Legend.Position = "none"
	}
	for i, y := range c.Y {
		colour := seriesColours[i%len(seriesColours)]
		s := excelize.ChartSeries{
			Name:       wb.headOf(y),
			Fill:       tone(colour),
			Categories: wb.points(c.X, n), Values: wb.points(y, n),
			Line:   excelize.LineOptions{Type: excelize.LineSolid, Width: 1.75, Fill: tone(colour)},
			Marker: excelize.ChartMarker{Symbol: "none"},
		}
		if n <= 30 {
			s.Marker = excelize.ChartMarker{Symbol: "circle", Size: 5, Fill: tone(colour), Border: excelize.LineOptions{Type: excelize.LineSolid, Fill: tone(colour)}}
		}
		out.Series = append(out.Series, s)
	}
	return out
}

// headOf returns the place of a column's name.
func (wb *workbook) headOf(c *check.Column) string {
	t := wb.tables[c.Table.Index]
	return t.quoted + "!" + fixed(t.columnOf(c), columnNameRow)
}

// points returns the range of a column's first n rows.
func (wb *workbook) points(c *check.Column, n int) string {
	t := wb.tables[c.Table.Index]
	i := t.columnOf(c)
	return t.quoted + "!" + fixed(i, t.first) + ":" + fixed(i, t.first+n-1)
}

func axis(title string) excelize.ChartAxis {
	return excelize.ChartAxis{
		MajorGridLines: true, Title: chartText(title, 10, false),
		Font: excelize.Font{Family: fontName, Size: 9, Color: muted},
	}
}

// numbered gives an axis of percentages, which are fractions in their cells,
// their number format.
func numbered(a excelize.ChartAxis, columns ...*check.Column) excelize.ChartAxis {
	for _, c := range columns {
		if !isPercent(c.Unit) {
			return a
		}
	}
	a.NumFmt = excelize.ChartNumFmt{CustomNumFmt: "0%"}
	return a
}

func chartText(text string, size float64, bold bool) excelize.ChartTitle {
	return excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{
		Text: text, Font: &excelize.Font{Family: fontName, Size: size, Bold: bold, Color: ink},
	}}}
}

// axisTitle names what an axis shows, with its unit: the name of a single
// column, otherwise what the columns have in common.
func axisTitle(columns []*check.Column) string {
	unit := symbol(columns[0].Unit)
	for _, c := range columns {
		if symbol(c.Unit) != unit {
			return ""
		}
	}
	name := ""
	if len(columns) == 1 {
		name = seriesName(columns[0])
	}
	switch {
	case unit == "":
		return name
	case name == "":
		return unit
	}
	return name + ", " + unit
}

func seriesName(c *check.Column) string { return label(&c.Quantity) }
