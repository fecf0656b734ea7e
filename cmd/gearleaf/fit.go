package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/pass"
	"gearleaf/sheet/unit"
)

const fitLong = `Correct givens by a logged pass: find the values, within their ranges, for which
the sheet's pass is nearest to the log's.

The log is read and aligned as by "gearleaf log". The criterion is least squares
over every channel that sheet and log both have (--against names others),
weighted by its scatter, with outliers weighted less; the clock may shift a
little, too. Gear, and a distance that the logger has integrated, are left out.

The report shows each given before and after with its standard error, how far
the channels differ before and after (and which differ more than before), givens
that the log cannot separate (their errors are correlated), and givens that it
does not determine. If the log does not depend on a given at its value in the
sheet, such as grip when power is the limit, other values of its range are tried
as starts, and the report names the value from which it has an effect. A
standard error is the uncertainty from the log's scatter. It does not cover
effects that the sheet leaves out: if differences follow a trend instead of
scattering, it is widened, and the report says so.

The delay of a channel in the logger is a given of the sheet, named after the
channel: --by speed_delay fits it ("gearleaf log --help").

--write puts the values into the worksheet, rounded to a tenth of their
standard error; givens that the log does not determine are never written.

--json prints (and -o FILE.json writes) format "gearleaf fit" with givens (name,
unit, before, after, error, bound, unknown, flat, below, above, start: flat if
the log does not depend on it, up to the values below and above; start if the
fit began elsewhere), channels (name, unit, values, before, after, worse), pairs
(a, b, coefficient), clock, lag, limits.

Exit status: 0 every given is determined and every limit kept; 1 otherwise;
2 not fitted.`

const fitExample = `  gearleaf new quarter-mile
  gearleaf log quarter-mile.leaf run.csv --invent           # a log to try
  gearleaf fit quarter-mile.leaf run.csv --by drag_area,drive_efficiency
  gearleaf fit quarter-mile.leaf run.csv --by drag_area,speed_delay
  gearleaf fit quarter-mile.leaf run.csv --by tyre_growth,tyre_slip --write`

type fitOptions struct {
	logReading
	by, against []string
	write, json bool
	output      string
}

func newFit() *cobra.Command {
	var o fitOptions
	cmd := &cobra.Command{
		Use:               "fit SHEET RUN.csv --by NAMES",
		Short:             "Correct givens by a logged pass",
		Long:              fitLong,
		Example:           fitExample,
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: completeLog,
		RunE:              func(cmd *cobra.Command, args []string) error { return fit(cmd, args[0], args[1], o) },
	}
	o.flags(cmd)
	cmd.Flags().StringArrayVar(&o.by, "by", nil, "the givens to fit: `names`, separated by commas")
	cmd.Flags().StringArrayVar(&o.against, "against", nil, "the `channels` to fit to")
	cmd.Flags().BoolVar(&o.write, "write", false, "write the values into the worksheet")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the result as JSON")
	cmd.Flags().StringVarP(&o.output, "output", "o", "", outputUsage)
	mustComplete(cmd, "by", completeGivens)
	mustComplete(cmd, "against", completeChannels)
	if err := cmd.MarkFlagRequired("by"); err != nil {
		panic(err)
	}
	return cmd
}

func fit(cmd *cobra.Command, path, run string, o fitOptions) error {
	ask := answerOptions{set: o.set, output: o.output, json: o.json}
	s, err := askFit(cmd, path, run, ask)
	if err != nil {
		return err
	}
	by, d := pass.ParseFree(s, words(o.by))
	if d != nil {
		return refuse(cmd, *d)
	}
	h, err := holdLog(cmd, s, run, o.logReading)
	if err != nil {
		return err
	}
	ctx, stop := interruptible()
	defer stop()
	f, err := pass.Fit(ctx, s, pass.FitQuestion{Logged: h, By: by, Against: words(o.against)})
	if err != nil {
		return refused(cmd, interrupted(err))
	}
	answer := export.FitAnswer(f)
	if o.json {
		err = printJSON(cmd, answer.Document)
	} else {
		r := fitReport{page: newPage(cmd.OutOrStdout()), f: f}
		r.write()
	}
	if err != nil {
		return err
	}
	if err := keepAnswer(cmd, s, ask, answer); err != nil {
		return err
	}
	if err := writeFit(cmd, f, o); err != nil {
		return err
	}
	if !f.Determined() || len(f.After.BrokenLimits()) > 0 {
		return errTrouble
	}
	return nil
}

// askFit loads the sheet, after a check that the answer can be written.
func askFit(cmd *cobra.Command, path, run string, o answerOptions) (*sheet.Sheet, error) {
	if err := admitOutput(o.output, path, run); err != nil {
		return nil, err
	}
	return ask(cmd, path, o)
}

// writeFit writes the values that the log determines, if --write is given.
func writeFit(cmd *cobra.Command, f *pass.Fitted, o fitOptions) error {
	var notices io.Writer = cmd.OutOrStdout()
	if o.json {
		notices = cmd.ErrOrStderr()
	}
	if !o.write {
		if !o.json {
			fmt.Fprintln(notices, "nothing written; --write puts these values into the worksheet")
		}
		return nil
	}
	settings := f.Writable()
	if len(settings) == 0 {
		return fmt.Errorf("the log determines none of the givens; nothing was written")
	}
	if err := f.Sheet.Write(settings); err != nil {
		return err
	}
	fmt.Fprintf(notices, "wrote %s into %s\n", counted(len(settings), "value", "values"), f.Sheet.Path)
	return nil
}

// fitReport is the page of a fit.
type fitReport struct {
	page
	f *pass.Fitted
}

func (r *fitReport) write() {
	f := r.f
	r.heading(f.Sheet)
	lines := logReport{page: r.page, h: f.Logged}
	lines.intro()
	fmt.Fprintln(r.w)
	r.givens()
	fmt.Fprintln(r.w)
	r.channels()
	r.doubts()
	for _, l := range f.After.BrokenLimits() {
		r.finding("BROKEN", r.alarm, limitText(f.After, l))
	}
	fmt.Fprintln(r.w)
	fmt.Fprintln(r.w, r.quiet(fmt.Sprintf("%s compared, %s of the pass; %s", counted(f.Estimate.Count, "value", "values"), counted(f.Estimate.Evaluations, "evaluation", "evaluations"), confirmedText(f.After.Checked))))
}

// givens prints each given before and after.
func (r *fitReport) givens() {
	name, unitCol := &gridColumn{head: "given", left: true}, &gridColumn{head: "", left: true}
	before, after, deviation := &gridColumn{head: "before"}, &gridColumn{head: "after"}, &gridColumn{head: "std. error"}
	within := &gridColumn{head: "range", left: true}
	for _, g := range r.f.Givens {
		q := g.Quantity()
		name.fields = append(name.fields, g.Name())
		before.fields = append(before.fields, fineNumber(q.Unit.Clean(g.Before)))
		after.fields = append(after.fields, fineNumber(q.Unit.Clean(g.After)))
		deviation.fields = append(deviation.fields, errorText(g))
		unitCol.fields = append(unitCol.fields, symbolText(q.Unit))
		within.fields = append(within.fields, fineNumber(q.Unit.Clean(g.Lo))+".."+fineNumber(q.Unit.Clean(g.Hi)))
	}
	r.grid([]*gridColumn{name, before, after, deviation, unitCol, within}, indent)
}

// errorText writes a standard error in two digits.
func errorText(g pass.FittedGiven) string {
	if math.IsInf(g.Error, 0) || g.Error != g.Error {
		return "none"
	}
	return "± " + twoDigits(g.Error/g.Quantity().Unit.Scale)
}

// twoDigits writes a number in two digits.
func twoDigits(v float64) string {
	return fineNumber(unit.Significant(v, 2))
}

// channels prints the differences of sheet and log, before and after.
func (r *fitReport) channels() {
	name, values := &gridColumn{head: "channel", left: true}, &gridColumn{head: "values"}
	before, after, u := &gridColumn{head: "off by, before"}, &gridColumn{head: "after"}, &gridColumn{head: "", left: true}
	for _, c := range r.f.Channels {
		of := c.Channel.Unit
		name.fields, values.fields = append(name.fields, c.Channel.Name), append(values.fields, grouped(c.N))
		before.fields, after.fields = append(before.fields, threeDigits(c.Before/of.Scale)), append(after.fields, threeDigits(c.After/of.Scale))
		u.fields = append(u.fields, symbolText(of))
	}
	r.grid([]*gridColumn{name, values, before, after, u}, indent)
}

func threeDigits(v float64) string {
	if v != v {
		return "0"
	}
	return fineNumber(unit.Significant(v, 3))
}

// doubts writes the givens that the log does not determine.
func (r *fitReport) doubts() {
	f := r.f
	first := true
	say := func(text string) {
		if first {
			fmt.Fprintln(r.w)
			fmt.Fprintln(r.w, r.bold("What the log does not determine"))
			first = false
		}
		r.hang(blanks(indent), text)
	}
	for _, names := range f.Inseparable() {
		say(strings.Join(names, " and ") + ": the log depends on their combined effect only; fit one, measure the other")
	}
	for _, g := range f.Givens {
		if text := spotText(g); text != "" {
			say(text)
			continue
		}
		switch {
		case g.Unknown && !f.InOpen(g):
			say(g.Name() + ": the log determines it less closely than its range does; measure it, or leave it out of --by")
		case g.AtBound:
			say(g.Name() + ": the best value lies at the end of its range, or beyond")
		}
	}
	for _, c := range f.Channels {
		if c.Worse() {
			of := c.Channel.Unit
			say(fmt.Sprintf("%s fits worse after than before (%s, then %s %s): what was fitted cannot describe it; fit another given, or leave it out by --against",
				c.Channel.Name, threeDigits(c.Before/of.Scale), threeDigits(c.After/of.Scale), symbolText(of)))
		}
	}
	for _, p := range f.Pairs {
		text := fmt.Sprintf("%s and %s: correlation %.3f", p.A, p.B, p.Coefficient)
		if math.Abs(p.Coefficient) >= pass.Inseparable {
			text += "; the log cannot separate them, so fit one and measure the other"
		} else {
			text += "; an error of one is partly hidden by an error of the other"
		}
		say(text)
	}
	if f.Lag > 0.3 {
		say(fmt.Sprintf("the remaining differences are correlated (%.2f) instead of scattering: the sheet leaves something out; standard errors have been widened", f.Lag))
	}
}

// spotText describes the values of a given for which the log depends on it;
// empty if it does everywhere around its value.
func spotText(g pass.FittedGiven) string {
	u, spot := g.Quantity().Unit, g.Spot
	if spot.Everywhere() {
		return g.Name() + ": the log depends on it nowhere in its range; measure it, or leave it out of --by"
	}
	var from []string
	if spot.Below == spot.Below {
		from = append(from, "below "+u.Format(unit.Significant(spot.Below, 4), 0))
	}
	if spot.Above == spot.Above {
		from = append(from, "above "+u.Format(unit.Significant(spot.Above, 4), 0))
	}
	only := strings.Join(from, " and ")
	switch {
	case spot.Flat:
		return fmt.Sprintf("%s: at %s nothing in the log depends on it, only %s, which fits worse; measure it, or leave it out of --by", g.Name(), u.Format(g.After, 0), only)
	case only != "":
		return fmt.Sprintf("%s: at %s nothing in the log depends on it, only %s; the fit started from %s", g.Name(), u.Format(spot.Left, 0), only, u.Format(unit.Significant(spot.Start, 4), 0))
	}
	return ""
}
