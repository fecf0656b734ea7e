package main

import (
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/question"
)

const worthLong = `Show the effect of a little more of a given: by how much a value or a whole
column changes when one given at a time is changed by an amount.

An amount is a number in the given's unit or in another one of its dimension
(boost=5kPa), or a percentage of its value (for a given that is shown in %,
points). The given is changed up and down, and the effect is half of the
difference; whole teeth or links, and a given with a choice, are changed up
only. An amount that would give a fraction of a tooth, or
a value outside the choice, is refused.

--into names a column of givens for each amount: the effects are written there,
into the worksheet's own text. Rows are matched by their order, or by a given
column that both tables have. -o writes the answer to .csv, .xlsx, .json or
.parquet; --json prints format "gearleaf worth" with show, unit, and for each
step name, by, moves (null if a row has no value).

Exit status: 0 computed; 2 not computed.`

const worthExample = `  gearleaf worth bike.leaf rear_sprocket=1 shift_speed=1% --show gears.speed
  gearleaf new between-rounds                # has columns for the moves
  gearleaf worth between-rounds.leaf power_fit=1% head_wind=1mph \
      --show slip.elapsed --into times.power,times.wind`

type worthOptions struct {
	answerOptions
	show string
	into []string
}

func newWorth() *cobra.Command {
	var o worthOptions
	cmd := &cobra.Command{
		Use:               "worth SHEET NAME=AMOUNT...",
		Short:             "Show the effect of a little more of a given",
		Long:              worthLong,
		Example:           worthExample,
		Args:              cobra.MinimumNArgs(2),
		ValidArgsFunction: completeChange,
		RunE:              func(cmd *cobra.Command, args []string) error { return worth(cmd, args[0], args[1:], o) },
	}
	answerFlags(cmd, &o.answerOptions)
	cmd.Flags().StringVar(&o.show, "show", "", "the `value` or column that moves")
	cmd.Flags().StringArrayVar(&o.into, "into", nil, "write the moves into `columns` of givens")
	mustComplete(cmd, "show", completeNames)
	if err := cmd.MarkFlagRequired("show"); err != nil {
		panic(err)
	}
	return cmd
}

func worth(cmd *cobra.Command, path string, amounts []string, o worthOptions) error {
	s, err := ask(cmd, path, o.answerOptions)
	if err != nil {
		return err
	}
	show, d := s.Place(o.show)
	if d != nil {
		return refuse(cmd, *d)
	}
	steps, d := parseSteps(s, amounts)
	if d != nil {
		return refuse(cmd, *d)
	}
	w, err := question.WorthOf(s, steps, show)
	if err != nil {
		return err
	}
	settings, d := worthSettings(w, words(o.into))
	if d != nil {
		return refuse(cmd, *d)
	}
	answer := export.WorthAnswer(w)
	if o.json {
		err = printJSON(cmd, answer.Document)
	} else {
		worthPage(newPage(cmd.OutOrStdout()), w)
	}
	if err != nil {
		return err
	}
	if err := keepAnswer(cmd, s, o.answerOptions, answer); err != nil || len(settings) == 0 {
		return err
	}
	if err := s.Write(settings); err != nil {
		return err
	}
	if !o.json {
		fmt.Fprintf(cmd.OutOrStdout(), "wrote %s into %s\n", counted(len(settings), "value", "values"), s.Path)
	}
	return nil
}

func parseSteps(s *sheet.Sheet, amounts []string) ([]question.Step, *diag.Diagnostic) {
	var steps []question.Step
	for _, text := range amounts {
		step, d := question.ParseStep(s, text)
		if d != nil {
			return nil, d
		}
		steps = append(steps, step)
	}
	return steps, nil
}

// worthSettings are the settings that --into writes.
func worthSettings(w *question.Worth, into []string) ([]sheet.Setting, *diag.Diagnostic) {
	if len(into) > 0 && len(into) != len(w.Steps) {
		return nil, &diag.Diagnostic{Code: diag.SetRefused, Message: fmt.Sprintf("%s for %s: --into names one for each", counted(len(into), "column", "columns"), counted(len(w.Steps), "amount", "amounts"))}
	}
	var settings []sheet.Setting
	for i, name := range into {
		_, column := w.Sheet.Model.Resolve(name)
		if column == nil {
			return nil, &diag.Diagnostic{Code: diag.SetRefused, Message: fmt.Sprintf("there is no column %q in this sheet", name)}
		}
		more, d := w.Into(i, column)
		if d != nil {
			return nil, d
		}
		settings = append(settings, more...)
	}
	return settings, nil
}

// worthPage prints the moves, one column per amount.
func worthPage(p page, w *question.Worth) {
	p.heading(w.Sheet)
	fmt.Fprintln(p.w)
	q := w.Show.Quantity()
	rows := &gridColumn{head: "row"}
	base := &gridColumn{head: q.Name, unit: q.Unit.Symbol}
	grid := []*gridColumn{rows, base}
	for row := range w.Rows() {
		rows.fields = append(rows.fields, fmt.Sprint(row+1))
		number, _ := w.Sheet.Shown(q, w.Value(row).V)
		base.fields = append(base.fields, number)
	}
	for i, step := range w.Steps {
		g := &gridColumn{head: step.Name(), unit: step.Signed()}
		for _, move := range w.Moves[i] {
			g.fields = append(g.fields, moveText(q.Unit.Scale, move))
		}
		grid = append(grid, g)
	}
	p.grid(grid, indent)
	fmt.Fprintf(p.w, "\n%s\n", p.quiet("each given moved alone; every value confirmed by the second evaluator"))
}

// moveText is a move in the shown unit, in three digits.
func moveText(scale, move float64) string {
	if shown := move / scale; math.Abs(shown) >= 1e-12 {
		return fmt.Sprintf("%+.3g", shown)
	}
	return "0"
}
