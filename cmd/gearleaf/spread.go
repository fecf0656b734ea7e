package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/question"
	"gearleaf/sheet/unit"
)

const spreadLong = `Show how certain results are, from the tolerances of the givens: ± is a
rectangular distribution between the limits, sd one standard deviation of a
normal distribution, correlate lines give their coefficients.

Two methods are shown. First order adds the separate effects of the givens (JCGM
100); an effect is half the difference between the results one standard
deviation above and below the given, not a derivative. The draws compute the
sheet with random sets of values (Monte Carlo, JCGM 101): if the two differ, the
sheet is not linear within the tolerances, and the draws are right. Then come
the givens with their contributions, largest first: the share of the first-order
variance, and the change of the result for one standard deviation.

Without --draws there are 200,000, or fewer on long sheets (a pass of thousands
of steps), but never below 10,000. The interval contains the result with the
probability --coverage: one with equal tails, and the shortest one, which
differs if the draws are skewed. The same --seed gives the same draws on any
number of processors. Correlated limits keep their limits and their coefficient;
between limits and an sd the largest possible coefficient is 0.977.

--freedom gives the degrees of freedom of a tolerance (readings less one). The
first-order interval is then Student's, with the effective number of Welch and
Satterthwaite; the draws use the tolerance unchanged.

--drawn FILE writes one line per draw: the drawn givens, the results, and why
one is missing (fault). The same seed gives the same bytes.

--json prints (and -o FILE.json writes):

  format, version  "gearleaf spread", 1
  coverage, draws, seed
  results          name, unit, value; first_order and drawn (mean, deviation,
                   low, high; freedom or shortest); contributions (given,
                   share, effect); holes (cause, count)
  correlations     first-order coefficients between results, row by row

Deviations and effects are in the result's unit. Exit status: 0; 1 if draws have
no value, or the sheet itself breaks a limit; 2 not computed.`

const spreadExample = `  gearleaf new air-of-the-day                # its readings have tolerances
  gearleaf spread air-of-the-day.leaf --show altitude
  gearleaf spread air-of-the-day.leaf --show altitude,grains --coverage 0.99
  gearleaf spread air-of-the-day.leaf --show altitude --freedom humidity=4
  gearleaf spread air-of-the-day.leaf --show altitude --drawn draws.parquet`

type spreadOptions struct {
	answerOptions
	show     []string
	drawn    string
	draws    int
	seed     uint64
	coverage float64
	freedom  []string
}

func newSpread() *cobra.Command {
	var o spreadOptions
	cmd := &cobra.Command{
		Use:               "spread SHEET --show CELL...",
		Short:             "Show how certain results are, from the tolerances",
		Long:              spreadLong,
		Example:           spreadExample,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeSheet,
		RunE:              func(cmd *cobra.Command, args []string) error { return spreadOf(cmd, args[0], o) },
	}
	answerFlags(cmd, &o.answerOptions)
	cmd.Flags().StringArrayVar(&o.show, "show", nil, "the `cells` to show, separated by commas")
	cmd.Flags().IntVar(&o.draws, "draws", 0, "how `many` draws to make; 0 for the default above")
	cmd.Flags().StringVar(&o.drawn, "drawn", "", "write every draw to this `file`: .csv or .parquet")
	cmd.Flags().Uint64Var(&o.seed, "seed", 1, "the seed of the draws, any whole `number`")
	cmd.Flags().Float64Var(&o.coverage, "coverage", 0.95, "the `share` of the draws in the interval, 0 to 1")
	cmd.Flags().StringArrayVar(&o.freedom, "freedom", nil, "degrees of freedom of a tolerance: `given=n`")
	mustComplete(cmd, "show", completeNameList)
	if err := cmd.MarkFlagRequired("show"); err != nil {
		panic(err)
	}
	return cmd
}

func spreadOf(cmd *cobra.Command, path string, o spreadOptions) error {
	switch {
	case o.draws != 0 && o.draws < 100:
		return fmt.Errorf("--draws takes 100 or more, or 0")
	case !(o.coverage > 0 && o.coverage < 1):
		return fmt.Errorf("--coverage takes a number between 0 and 1, as in 0.95")
	}
	s, err := ask(cmd, path, o.answerOptions)
	if err != nil {
		return err
	}
	if err := o.admitDrawn(s); err != nil {
		return err
	}
	show, d := question.ParseShow(s, words(o.show))
	if d != nil {
		return refuse(cmd, *d)
	}
	freedom, err := freedomOf(cmd, s, o.freedom)
	if err != nil {
		return err
	}
	q := question.SpreadQuestion{Show: show, Draws: o.draws, Freedom: freedom, Seed: o.seed, Coverage: o.coverage}
	answer, err := o.answer(cmd, s, q)
	if err != nil {
		return refused(cmd, interrupted(err))
	}
	kept := export.SpreadAnswer(answer)
	if o.json {
		err = printJSON(cmd, kept.Document)
	} else {
		r := spreadReport{page: newPage(cmd.OutOrStdout()), answer: answer}
		r.write()
	}
	if err != nil {
		return err
	}
	if err := keepAnswer(cmd, s, o.answerOptions, kept); err != nil {
		return err
	}
	if o.drawn != "" {
		fmt.Fprintf(o.notices(cmd), "wrote %s: %s\n", o.drawn, counted(answer.Draws, "draw", "draws"))
	}
	for _, u := range answer.Results {
		if len(u.Holes) > 0 {
			return errTrouble
		}
	}
	return outcome(answer.Nominal)
}

// admitDrawn refuses a file of draws that must not or cannot be written.
func (o *spreadOptions) admitDrawn(s *sheet.Sheet) error {
	if o.drawn == "" {
		return nil
	}
	if _, err := export.DrawKind(o.drawn); err != nil {
		return err
	}
	if o.output != "" && sameFile(o.drawn, o.output) {
		return fmt.Errorf("%s is the file of -o as well: give the draws another", o.drawn)
	}
	return admitOutput(o.drawn, s.Reads()...)
}

// answer answers q, and writes the draws in a stream.
func (o *spreadOptions) answer(cmd *cobra.Command, s *sheet.Sheet, q question.SpreadQuestion) (*question.Spread, error) {
	ctx, stop := interruptible()
	defer stop()
	p := newProgress(cmd.ErrOrStderr(), 0)
	defer p.end()
	p.unit = "draws"
	q.Progress = p.part
	if o.drawn == "" {
		return question.SpreadOf(ctx, s, q)
	}
	kind, err := export.DrawKind(o.drawn)
	if err != nil {
		return nil, err
	}
	origin, err := provenance(cmd, s, o.drawn)
	if err != nil {
		return nil, err
	}
	origin.Format = "gearleaf draws"
	var answer *question.Spread
	err = disk.Write(o.drawn, func(file io.Writer) error {
		w := export.NewDrawWriter(file, kind, q.Show, origin)
		q.Each = w.Write
		if answer, err = question.SpreadOf(ctx, s, q); err != nil {
			return err
		}
		return w.Close()
	})
	return answer, err
}

// freedomOf reads --freedom CELL=NUMBER.
func freedomOf(cmd *cobra.Command, s *sheet.Sheet, texts []string) (map[sheet.Place]float64, error) {
	out := map[sheet.Place]float64{}
	for _, text := range words(texts) {
		name, number, _ := strings.Cut(text, "=")
		n, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if err != nil || !(n >= 1) || math.IsInf(n, 0) {
			return nil, fmt.Errorf("--freedom takes CELL=NUMBER with a number from 1, as in tyre_rollout=4; not %q", text)
		}
		places, d := question.ParseShow(s, []string{strings.TrimSpace(name)})
		if d != nil {
			return nil, refuse(cmd, *d)
		}
		for _, place := range places {
			out[place] = n
		}
	}
	return out, nil
}

// spreadReport writes the answer on a page.
type spreadReport struct {
	page
	answer *question.Spread
}

func (r *spreadReport) write() {
	a := r.answer
	r.heading(a.Sheet)
	if len(a.Nominal.BrokenLimits()) > 0 {
		fmt.Fprintln(r.w)
		r.brokenLimits(a.Nominal)
	}
	for _, u := range a.Results {
		r.result(u)
	}
	r.together()
	fmt.Fprintf(r.w, "\n%s, seed %d; the draws' interval holds %g %% of them\n", counted(a.Draws, "draw", "draws"), a.Seed, 100*a.Coverage)
	fmt.Fprintln(r.w, r.quiet("the values without spread confirmed by the second evaluator"))
}

// result writes one result: both methods, then the contributions.
func (r *spreadReport) result(u question.Uncertain) {
	a := r.answer
	q := u.Place.Quantity()
	head := r.bold(u.Place.Name() + " = " + a.Sheet.Text(q, u.Value))
	if u.Value != u.Value {
		head = r.bold(u.Place.Name() + " has no value with the givens unchanged")
	}
	if q.Origin.Label != "" {
		head += "  " + r.quiet(cut(q.Origin.Label, max(0, r.width-width(head)-2)))
	}
	fmt.Fprintf(r.w, "\n%s\n\n", head)
	if len(u.Contributions) == 0 && u.DrawnDeviation == 0 && len(u.Holes) == 0 {
		fmt.Fprintln(r.w, blanks(indent)+"no tolerance moves it")
		return
	}
	step := spreadStep(q, u)
	low, high := u.Interval(a.Coverage)
	interval := fmt.Sprintf("%g %% interval", 100*a.Coverage)
	columns := []*gridColumn{
		{left: true, fields: []string{"first order", "draws"}},
		{head: "mean", unit: symbolText(q.Unit), fields: []string{numberText(q.Unit.Shown(u.Value), step), numberText(q.Unit.Shown(u.Mean), step)}},
		{head: "sd", unit: symbolText(q.Unit), fields: []string{numberText(u.Deviation/q.Unit.Scale, step), numberText(u.DrawnDeviation/q.Unit.Scale, step)}},
		{head: interval, unit: symbolText(q.Unit), left: true, fields: []string{intervalText(q, low, high, step), intervalText(q, u.Low, u.High, step)}},
		{head: "shortest", unit: symbolText(q.Unit), left: true, fields: []string{"", intervalText(q, u.ShortLow, u.ShortHigh, step)}},
	}
	if u.Freedom > 0 {
		columns = slices.Insert(columns, 3, &gridColumn{head: "freedom", fields: []string{unit.FormatNumber(u.Freedom, 0.1), ""}})
	}
	r.grid(columns, indent)
	r.contributions(u)
	if len(u.Holes) > 0 {
		fmt.Fprintln(r.w)
		r.holes(u.Holes, counted(a.Draws, "draw", "draws"))
	}
}

// numberText writes a number, or — for a value that is not a number.
func numberText(v, step float64) string { return unit.FormatNumber(v, step) }

func intervalText(q *check.Quantity, low, high, step float64) string {
	if low != low || high != high {
		return "no value"
	}
	return numberText(q.Unit.Shown(low), step) + " to " + numberText(q.Unit.Shown(high), step)
}

// spreadStep is the step to which a result and its deviation are shown: two
// figures of the deviation (JCGM 100:2008, 7.2.6), and never coarser than the
// result.
func spreadStep(q *check.Quantity, u question.Uncertain) float64 {
	size := max(u.Deviation, u.DrawnDeviation) / q.Unit.Scale
	if !(size > 0) {
		return q.To
	}
	step := math.Pow(10, math.Floor(math.Log10(size))-1)
	if step < 1 {
		step = 1 / math.Round(1/step)
	}
	return step
}

// contributions writes the givens that u depends on, largest share first.
func (r *spreadReport) contributions(u question.Uncertain) {
	if len(u.Contributions) == 0 {
		return
	}
	q := u.Place.Quantity()
	given := &gridColumn{head: "given", left: true}
	tolerance := &gridColumn{head: "tolerance", left: true}
	share := &gridColumn{head: "share", unit: "%"}
	effect := &gridColumn{head: "effect of one sd", unit: symbolText(q.Unit)}
	for _, c := range u.Contributions {
		given.fields = append(given.fields, c.Given.Name())
		tolerance.fields = append(tolerance.fields, spread(r.answer.Sheet, c.Given.Quantity()))
		share.fields = append(share.fields, unit.FormatNumber(100*c.Share, 0.1))
		move := "no value"
		if c.Effect == c.Effect {
			move = signed(deltaNumber(c.Effect/q.Unit.Scale, 0))
		}
		effect.fields = append(effect.fields, move)
	}
	fmt.Fprintln(r.w)
	r.grid([]*gridColumn{given, tolerance, share, effect}, indent)
}

// together writes the correlation of several results.
func (r *spreadReport) together() {
	a := r.answer
	var lines []string
	for i := range a.Results {
		for j := range i {
			if c := a.Together(j, i); math.Abs(c) >= 0.005 {
				lines = append(lines, fmt.Sprintf("%s with %s: %s", a.Results[j].Place.Name(), a.Results[i].Place.Name(), unit.FormatNumber(c, 0.01)))
			}
		}
	}
	const most = 12
	if len(lines) == 0 || len(lines) > most {
		return // a larger matrix is for --json
	}
	fmt.Fprintf(r.w, "\n%s\n", r.bold("Correlation of these, from -1 to 1, first order"))
	for _, line := range lines {
		fmt.Fprintln(r.w, blanks(indent)+line)
	}
}
