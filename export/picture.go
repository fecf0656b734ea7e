package export

import (
	"errors"
	"io"
	"math"

	"gearleaf/export/chart"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// writeSVG draws every chart of the sheet, one below the other.
func writeSVG(w io.Writer, s *sheet.Sheet, r *sheet.Result, _ Options) (Report, error) {
	return writeCharts(w, s, r, chart.WriteSVG)
}

// writePNG draws every chart of the sheet, one below the other.
func writePNG(w io.Writer, s *sheet.Sheet, r *sheet.Result, _ Options) (Report, error) {
	return writeCharts(w, s, r, chart.WritePNG)
}

func writeCharts(w io.Writer, s *sheet.Sheet, r *sheet.Result, write func(io.Writer, []chart.Chart) error) (Report, error) {
	drawn := Pictures(s, r)
	if len(drawn) == 0 {
		return Report{}, errors.New("this sheet has no charts, and .svg and .png hold nothing else: " + ChartHelp)
	}
	return Report{}, write(w, drawn)
}

// ChartHelp explains how to add a chart to a sheet.
const ChartHelp = `a chart is a line such as  chart "Speed"  x gears.gear  y gears.speed`

// Drawn returns the charts of a sheet with the values of r, in reading order:
// the live rows, in shown units. A blank or a fault is a gap in its line.
func Drawn(s *sheet.Sheet, r *sheet.Result) []chart.Chart {
	var out []chart.Chart
	for _, c := range s.Model.Charts {
		out = append(out, drawPlot(s, r, plot{title: c.Title, x: c.X, ys: c.Y}))
	}
	return out
}

// Pictures returns the charts of a sheet for separate drawings: one with
// columns in several units becomes several.
func Pictures(s *sheet.Sheet, r *sheet.Result) []chart.Chart {
	var out []chart.Chart
	for _, p := range plots(s.Model) {
		out = append(out, drawPlot(s, r, p))
	}
	return out
}

func drawPlot(s *sheet.Sheet, r *sheet.Result, p plot) chart.Chart {
	d := chart.Chart{Title: p.title, X: axisTitle([]*check.Column{p.x}), Y: axisTitle(p.ys), Seen: describe(s, r, p)}
	x := points(r, p.x)
	if p.named() {
		d.Places, x = places(s, r, p.x)
	}
	for _, y := range p.ys {
		d.Series = append(d.Series, chart.Series{Name: seriesName(y), X: x, Y: points(r, y)})
	}
	return d
}

// points returns the live values of a column in its shown unit.
func points(r *sheet.Result, c *check.Column) []float64 {
	rows, _ := r.Live(c.Table)
	out := make([]float64, rows)
	for i := range out {
		v := r.Entry(c, i)
		if out[i] = math.NaN(); v.V == v.V {
			out[i] = c.Unit.Shown(v.V)
		}
	}
	return out
}

// places returns the texts of a column, with a place for each.
func places(s *sheet.Sheet, r *sheet.Result, c *check.Column) (names []string, x []float64) {
	rows, _ := r.Live(c.Table)
	for i := range rows {
		names = append(names, s.Text(&c.Quantity, r.Entry(c, i).V))
		x = append(x, float64(i))
	}
	return names, x
}
