package export

import (
	"math"
	"strconv"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// Sizes of a chart. A page of A4 fits whole charts at the scale of the tab,
// with a reserve for other fonts.
const (
	chartWidth  = 470                         // pixels
	chartHeight = (chartRows - 1) * rowPixels // a row is left between two
	rowPixels   = 18                          // height of a row by which excelize finds the last one of a chart
	chartRows   = 17                          // rows from one chart to the next
	chartsTop   = 3                           // the first one's row
	secondChart = 9                           // the column of a chart beside another
	chartColumn = 8.8
	chartsScale = 70 // percent
	titleHigh   = 26 // height of a tab's title in points
	perPage     = 8
)

// chartPlace returns the cell of the i-th chart: two are side by side.
func chartPlace(i int) string { return at(1+i%2*(secondChart-1), chartsTop+i/2*chartRows) }

// seriesColours differ in darkness, and seriesDashes in pattern, to distinguish
// lines in black and white.
var (
	seriesColours = []string{"1F4E79", "C0504D", "5B8C5A", "8064A2", "B8860B", "4B6B75"}
	seriesDashes  = []excelize.LineDashType{
		excelize.LineDashUnset, excelize.LineDashDash, excelize.LineDashSysDot,
		excelize.LineDashLgDashDot, excelize.LineDashSysDash, excelize.LineDashLgDashDotDot,
	}
)

// plot is a chart of columns in one unit: a chart line with several units
// becomes several plots, one below the other.
type plot struct {
	title string
	x     *check.Column
	ys    []*check.Column
}

// plots returns the charts of a sheet in reading order.
func plots(m *check.Model) []plot {
	var out []plot
	for _, c := range m.Charts {
		var units []string
		byUnit := map[string][]*check.Column{}
		for _, y := range c.Y {
			u := symbol(y.Unit)
			if byUnit[u] == nil {
				units = append(units, u)
			}
			byUnit[u] = append(byUnit[u], y)
		}
		for _, u := range units {
			p := plot{title: c.Title, x: c.X, ys: byUnit[u]}
			if len(units) > 1 && u != "" {
				p.title += ", " + u
			}
			out = append(out, p)
		}
	}
	return out
}

// named reports whether the x values are names: they get bars, not lines.
func (p plot) named() bool { return p.x.Type.Form != check.Number }

// columns returns the columns that a plot draws, x first.
func (p plot) columns() []*check.Column { return append([]*check.Column{p.x}, p.ys...) }

// The data of a chart are on a hidden tab if its table cannot be drawn
// directly: for a table of variable length, a number of points of the live
// rows, from the first to the last; for columns with blanks, #N/A for a blank,
// which is a gap. The heads there are the legend.
const (
	chartDataTab   = "Chart data"
	mostPoints     = 200
	chartDataFirst = 2 // the row of the first point
)

// points returns the number of points of a plot, which does not depend on the
// length of its table.
func (p plot) points() int { return min(p.x.Table.Rows, mostPoints) }

// copied reports whether a plot draws points from the tab of chart data.
func (b *book) copied(p plot) bool {
	if p.x.Table.Until != 0 {
		return true
	}
	for _, c := range p.columns() {
		if b.blank.columns[c.Index] {
			return true
		}
	}
	return false
}

// writeCharts draws every chart of the worksheet.
func (wb *workbook) writeCharts() error {
	all := plots(wb.m)
	if len(all) == 0 {
		return nil
	}
	if err := wb.writeChartData(all); err != nil {
		return err
	}
	var charts []*excelize.Chart
	column := 1
	for _, p := range all {
		charts = append(charts, wb.chart(p, column))
		column += 1 + len(p.columns())
	}
	return chartSheet(wb.f, &wb.styles, wb.m.Title, charts)
}

// chartSheet fills the tab of charts: whole ones on every page, two in a row.
func chartSheet(f *excelize.File, s *styles, title string, charts []*excelize.Chart) error {
	if err := chartsPaper(f, title); err != nil {
		return err
	}
	if err := setTitle(f, s, chartsTab, chartsTab); err != nil {
		return err
	}
	if err := f.SetColWidth(chartsTab, "A", letters(2*(secondChart-1)), chartColumn); err != nil {
		return err
	}
	for i, c := range charts {
		if i > 0 && i%perPage == 0 {
			if err := f.InsertPageBreak(chartsTab, at(1, chartsTop+i/2*chartRows)); err != nil {
				return err
			}
		}
		if err := f.AddChart(chartsTab, chartPlace(i), c); err != nil {
			return err
		}
	}
	return nil
}

// setTitle writes a tab's title.
func setTitle(f *excelize.File, s *styles, tab, title string) error {
	if err := f.SetCellStr(tab, "A1", clean(title)); err != nil {
		return err
	}
	if err := f.SetCellStyle(tab, "A1", "A1", s.of(titleLook, "", false)); err != nil {
		return err
	}
	return f.SetRowHeight(tab, 1, titleHigh)
}

func chartsPaper(f *excelize.File, title string) error {
	if err := paper(f, chartsTab, title, false, ""); err != nil {
		return err
	}
	hidden, scale := false, uint(chartsScale)
	if err := fitPages(f, chartsTab, false); err != nil {
		return err
	}
	if err := f.SetPageLayout(chartsTab, &excelize.PageLayoutOptions{AdjustTo: &scale}); err != nil {
		return err
	}
	return f.SetSheetView(chartsTab, -1, &excelize.ViewOptions{ShowGridLines: &hidden})
}

// writeChartData writes the tab of points. Each plot has a column for the drawn
// rows and one for each of its columns.
func (wb *workbook) writeChartData(all []plot) error {
	out, err := wb.stream(chartDataTab)
	if err != nil {
		return err
	}
	most := 0
	var heads []any
	for _, p := range all {
		if wb.copied(p) {
			most = max(most, p.points())
		}
		heads = append(heads, nil)
		for _, c := range p.columns() {
			heads = append(heads, clean(seriesName(c)))
		}
	}
	if err := out.SetRow("A1", heads); err != nil {
		return err
	}
	formulas := map[int]*repeated{}
	for k := range most {
		out.begin(chartDataFirst + k)
		column := 1
		for _, p := range all {
			wb.writePoint(out, p, k, column, formulas)
			column += 1 + len(p.columns())
		}
		out.end()
	}
	return out.Flush()
}

// notAvailable is the result of the formula of a missing point.
var notAvailable any = cachedValue{kind: 'e', text: "#N/A"}

// writePoint writes the k-th point of a plot: its row in the table, and the values
// there. The formulas of the columns are made with the first point.
func (wb *workbook) writePoint(out *rowWriter, p plot, k, column int, formulas map[int]*repeated) {
	if !wb.copied(p) || k >= p.points() {
		return
	}
	t := wb.tables[p.x.Table.Index]
	n, row := p.points(), k
	formula := strconv.Itoa(k + 1)
	live, ended := wb.r.Live(p.x.Table)
	switch {
	case t.rows == "":
	case p.named() && n == p.x.Table.Rows: // a bar for each live row
		formula = "IF(" + t.rows + ">" + strconv.Itoa(k) + "," + formula + ",NA())"
	default:
		share := strconv.Itoa(k) + "/" + strconv.Itoa(max(n-1, 1))
		formula = "1+ROUND((" + t.rows + "-1)*" + share + ",0)"
		row = int(math.Round(float64(live-1) * float64(k) / float64(max(n-1, 1))))
	}
	plain := wb.styles.of(shutLook, "", false)
	place := excelize.Cell{Formula: formula, StyleID: plain, Value: float64(row + 1)}
	if t.rows != "" && !ended || row >= live {
		place.Value = notAvailable
	}
	out.cell(column, place)
	for i, c := range p.columns() {
		own := column + 1 + i
		if formulas[own] == nil {
			text := t.pointText(c, "$"+letters(column)+thisRow)
			formulas[own] = out.repeat(text, quoteSheet(chartDataTab), false, own, chartDataFirst, chartDataFirst+n-1)
		}
		value := cachedOf(notAvailable)
		if c.Type.Form != check.Number { // no bar, no name
			value = cachedValue{kind: 's'}
		}
		if v := wb.pointOf(c, row, live); !v.IsBlank() && !v.IsFault() && place.Value != notAvailable {
			value = wb.cachedValue(&c.Quantity, v)
		}
		formulas[own].write(out.rowText, plain, value)
		wb.report.Formulas++
	}
}

// pointText returns the formula of a column's value in the row of a table that the
// cell here names.
func (t *tablePlan) pointText(c *check.Column, here string) string {
	entry := t.entry(t.names[t.columnOf(c)], here)
	if c.Type.Form != check.Number {
		return "IF(ISERROR(" + here + `),"",` + entry + `&"")`
	}
	return "IF(" + entry + `="",NA(),` + entry + ")"
}

func (wb *workbook) pointOf(c *check.Column, row, live int) sheet.Value {
	return wb.r.Entry(c, min(row, max(live-1, 0)))
}

// chart returns a plot as a chart; its heads on the tab of chart data begin in
// the given column.
func (wb *workbook) chart(p plot, column int) *excelize.Chart {
	out := lineChart(p.title, axisTitle([]*check.Column{p.x}), axisTitle(p.ys), wb.seen(p))
	out.XAxis, out.YAxis = numbered(out.XAxis, p.x), numbered(out.YAxis, p.ys...)
	if p.named() {
		out.Type, out.XAxis.MajorGridLines = excelize.Col, false
	}
	for i, y := range p.ys {
		s := lineSeries(i, quoteSheet(chartDataTab)+"!"+fixed(column+2+i, 1), wb.pointList(p, p.x, column+1), wb.pointList(p, y, column+2+i))
		if p.points() <= mostDotted && !p.named() {
			dotted(&s)
		}
		addSeries(out, s)
	}
	return out
}

// lineChart returns a chart without lines, in the style of all charts; seen
// describes it.
func lineChart(title, x, y, seen string) *excelize.Chart {
	return &excelize.Chart{
		Type:         excelize.Scatter,
		Dimension:    excelize.ChartDimension{Width: chartWidth, Height: chartHeight},
		Title:        chartText(clean(title), 13, true),
		Legend:       excelize.ChartLegend{Position: "none"},
		XAxis:        axis(clean(x)),
		YAxis:        axis(clean(y)),
		Format:       excelize.GraphicOptions{AltText: cutRunes(clean(seen), 1000)},
		Border:       excelize.LineOptions{Type: excelize.LineNone},
		ShowBlanksAs: "gap",
	}
}

// addSeries adds a line to a chart; several have a legend.
func addSeries(c *excelize.Chart, s excelize.ChartSeries) {
	if c.Series = append(c.Series, s); len(c.Series) > 1 {
		c.Legend.Position = "bottom"
		c.Legend.Font = &excelize.Font{Family: fontName, Size: smallestFont, Color: ink}
	}
}

// lineSeries returns the i-th line of a chart: its name, x and y as references.
func lineSeries(i int, name, x, y string) excelize.ChartSeries {
	colour := seriesColours[i%len(seriesColours)]
	// Some programs draw the first line on top: what it covers is wider.
	width := 2.25
	if i == 0 {
		width = 1.5
	}
	return excelize.ChartSeries{
		Name: name, Fill: tone(colour), Categories: x, Values: y,
		Line: excelize.LineOptions{
			Type: excelize.LineSolid, Width: width, Fill: tone(colour), Dash: seriesDashes[i%len(seriesDashes)],
		},
		Marker: excelize.ChartMarker{Symbol: "none", Fill: tone(colour), Border: excelize.LineOptions{Type: excelize.LineSolid, Fill: tone(colour)}},
	}
}

// mostDotted is how many points of a line are marked at most.
const mostDotted = 30

// dotted marks the points of a line with few points.
func dotted(s *excelize.ChartSeries) {
	s.Marker.Symbol, s.Marker.Size = "circle", 5
}

// scattered makes a line of points, which are in no order.
func scattered(s *excelize.ChartSeries) {
	s.Line.Type = excelize.LineNone
	dotted(s)
	s.Marker.Size = 3
}

// pointList returns the range of a column that a plot draws.
func (wb *workbook) pointList(p plot, c *check.Column, column int) string {
	if wb.copied(p) {
		return quoteSheet(chartDataTab) + "!" + fixed(column, chartDataFirst) + ":" + fixed(column, chartDataFirst+p.points()-1)
	}
	t := wb.tables[c.Table.Index]
	i := t.columnOf(c)
	return t.quoted + "!" + fixed(i, t.first) + ":" + fixed(i, t.first+c.Table.Rows-1)
}

// seen describes a plot.
func (wb *workbook) seen(p plot) string { return describe(wb.s, wb.r, p) }

// axis returns an axis whose labels are at the edge of the chart, where no line
// is, wherever the other axis crosses it.
func axis(title string) excelize.ChartAxis {
	return excelize.ChartAxis{
		MajorGridLines: true, TickLabelPosition: excelize.ChartTickLabelLow,
		Title: chartText(title, smallestFont, false),
		Font:  excelize.Font{Family: fontName, Size: smallestFont, Color: muted},
	}
}

// numbered gives an axis of percentages, whose cells hold fractions, the
// percent format.
func numbered(a excelize.ChartAxis, columns ...*check.Column) excelize.ChartAxis {
	for _, c := range columns {
		if !isPercent(c.Unit) {
			return a
		}
	}
	a.NumFmt = excelize.ChartNumFmt{CustomNumFmt: "0%"}
	return a
}

// chartText is a title, none for an empty text, because a run without a text is
// an error in the file.
func chartText(text string, size float64, bold bool) excelize.ChartTitle {
	if text == "" {
		return excelize.ChartTitle{}
	}
	return excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{
		Text: text, Font: &excelize.Font{Family: fontName, Size: size, Bold: bold, Color: ink},
	}}}
}

// axisTitle names the quantity of an axis, with its unit: the name of a single
// column, otherwise the common part of the columns' names.
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
