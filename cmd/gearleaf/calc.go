package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/export/chart"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

const calcLong = `Compute a worksheet and show all of it: broken limits and faults first, then
the sheet in its own order, its limits with their state, its advices, and the
cautions of used worksheets.

A given is marked ":" and a computed value "=", as in the worksheet. Long tables
are shown by their first and last rows; --full shows every row. --set replaces
the value of a given for this run; the file does not change. --own leaves out
used worksheets, except limits of theirs that are broken. --section shows only
the sections of that name and their limits, --table one table. --charts draws
the sheet's charts below it, in the characters of the terminal. --json prints
the result as export/JSON.md describes.

Exit status: 0 computed; 1 computed, but a limit is broken or a value is at
fault; 2 not computed.`

const calcExample = `  gearleaf calc bike.leaf
  gearleaf calc bike.leaf --set rear_sprocket=44 --set "gears.ratio[3]=1.52"
  gearleaf calc bike.leaf --cell chain_links --cell gears.speed
  gearleaf calc bike.leaf --section "Chain" --table gears
  gearleaf calc bike.leaf --charts
  gearleaf new set-up-book                   # a sheet that uses others
  gearleaf calc set-up-book.leaf --own`

func newCalc() *cobra.Command {
	var o calcOptions
	cmd := &cobra.Command{
		Use:               "calc SHEET",
		Short:             "Compute a worksheet and show it",
		Long:              calcLong,
		Example:           calcExample,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeSheet,
		RunE:              func(cmd *cobra.Command, args []string) error { return calc(cmd, args[0], o) },
	}
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "compute with `name=quantity`, in this run only")
	cmd.Flags().StringArrayVar(&o.cells, "cell", nil, "show only the cell, column or row of this `name`")
	cmd.Flags().StringArrayVar(&o.sections, "section", nil, "show only the section of this `name`, with its limits")
	cmd.Flags().StringArrayVar(&o.tables, "table", nil, "show only the table of this `name`")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the result as JSON")
	cmd.Flags().BoolVar(&o.full, "full", false, "show every row of long tables")
	cmd.Flags().BoolVar(&o.own, "own", false, "leave out used worksheets")
	cmd.Flags().BoolVar(&o.charts, "charts", false, "draw the charts too")
	cmd.MarkFlagsMutuallyExclusive("cell", "json")
	cmd.MarkFlagsMutuallyExclusive("charts", "json")
	for _, part := range []string{"section", "table"} {
		for _, other := range []string{"json", "cell", "own"} {
			cmd.MarkFlagsMutuallyExclusive(part, other)
		}
	}
	cmd.MarkFlagsMutuallyExclusive("own", "json", "cell")
	mustComplete(cmd, "set", completeSettings)
	mustComplete(cmd, "cell", completeNames)
	mustComplete(cmd, "section", completeSections)
	mustComplete(cmd, "table", completeTables)
	return cmd
}

type calcOptions struct {
	set, cells              []string
	sections, tables        []string
	json, full, charts, own bool
}

func calc(cmd *cobra.Command, path string, o calcOptions) error {
	s, err := load(cmd, path)
	if err != nil {
		return err
	}
	if err := set(cmd, s, o.set); err != nil {
		return err
	}
	r, err := s.Compute()
	if err != nil {
		return err
	}
	if o.full {
		if err := export.Reportable(r); err != nil {
			return err
		}
	}
	switch {
	case o.json:
		err = calcJSON(cmd, r)
	case len(o.cells) > 0:
		err = calcCells(cmd, r, o)
	case len(o.sections)+len(o.tables) > 0:
		err = calcParts(cmd, r, o)
	default:
		rep := report{page: newPage(cmd.OutOrStdout()), sheet: s, result: r, full: o.full, own: o.own}
		rep.write()
	}
	if err != nil {
		return err
	}
	if o.charts {
		drawCharts(newPage(cmd.OutOrStdout()), r)
	}
	return outcome(r)
}

// chartRows is the height of a chart in the terminal.
const chartRows = 20

// drawCharts draws every chart of the sheet in characters.
func drawCharts(p page, r *sheet.Result) {
	drawn := export.Drawn(r.Sheet, r)
	if len(drawn) == 0 {
		fmt.Fprintf(p.w, "\n%s\n", p.quiet("no chart: "+export.ChartHelp))
	}
	for _, c := range drawn {
		fmt.Fprintf(p.w, "\n%s", chart.Text(c, p.width, chartRows))
	}
}

// calcJSON prints r as the export format of that name does.
func calcJSON(cmd *cobra.Command, r *sheet.Result) error {
	format, err := chooseFormat("-", "json")
	if err != nil {
		return err
	}
	_, err = format.Write(data(cmd.OutOrStdout()), r.Sheet, r, export.Options{})
	return err
}

// outcome is the exit status of a computed sheet.
func outcome(r *sheet.Result) error {
	if r.Trouble() {
		return errTrouble
	}
	return nil
}

// calcCells shows only the selected cells.
func calcCells(cmd *cobra.Command, r *sheet.Result, o calcOptions) error {
	var places []sheet.Place
	for _, name := range o.cells {
		p, d := r.Sheet.Place(name)
		if d != nil {
			return refuse(cmd, *d)
		}
		places = append(places, p)
	}
	showPlaces(newPage(cmd.OutOrStdout()), r, places, o.full)
	return nil
}

// calcParts shows only the selected sections and tables, below broken limits
// and faults.
func calcParts(cmd *cobra.Command, r *sheet.Result, o calcOptions) error {
	want := parts{sections: map[string]bool{}, tables: map[string]bool{}}
	for _, name := range o.sections {
		have := matching(name, sectionNames(r.Sheet))
		if len(have) == 0 {
			return refuse(cmd, *sheet.Refuse("there is no section %q; there are %s", name, quotedList(sectionNames(r.Sheet))).Diagnostic)
		}
		for _, h := range have {
			want.sections[h] = true
		}
	}
	for _, name := range o.tables {
		have := matching(name, tableNames(r.Sheet))
		if len(have) == 0 {
			return refuse(cmd, *sheet.Refuse("there is no table %q; there are %s", name, quotedList(tableNames(r.Sheet))).Diagnostic)
		}
		for _, h := range have {
			want.tables[h] = true
		}
	}
	rep := report{page: newPage(cmd.OutOrStdout()), sheet: r.Sheet, result: r, full: o.full, parts: &want}
	rep.title()
	rep.verdict()
	rep.findings()
	rep.body()
	rep.limits()
	return nil
}

// showPlaces prints each place, the single values aligned among themselves.
func showPlaces(p page, r *sheet.Result, places []sheet.Place, full bool) {
	var lines []line
	for _, at := range places {
		if at.Row != sheet.Whole {
			lines = append(lines, placeLine(r, at))
		}
	}
	widths := measure(lines)
	for _, at := range places {
		if at.Row == sheet.Whole {
			wholeColumn(p, r, at, full)
			continue
		}
		p.print(lines[0], widths)
		lines = lines[1:]
	}
}

// placeLine is the line of a scalar or of one row of a column.
func placeLine(r *sheet.Result, at sheet.Place) line {
	if at.Cell != nil {
		return cellLine(r, at.Cell)
	}
	q := at.Quantity()
	l := line{name: at.Name(), mark: mark(q), note: q.Origin.Label}
	v := r.At(at)
	l.number, l.symbol, l.text = shown(r.Sheet, q, v)
	if f := v.Fault(); f != nil {
		l.note = faultNote(f)
	}
	return l
}

func wholeColumn(p page, r *sheet.Result, at sheet.Place, full bool) {
	live, _ := r.Live(at.Column.Table)
	rows := tableRows(live, full)
	columns := tableGrid(r, []*check.Column{at.Column}, rows)
	columns[0].head = at.Name()
	if live == 0 {
		fmt.Fprintf(p.w, "  %s has no rows\n", at.Name())
		return
	}
	p.grid(append([]*gridColumn{rowNumbers(rows)}, columns...), indent)
}
