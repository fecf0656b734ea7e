package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/question"
)

const bestLong = `Find the values of givens that make a computed cell largest or smallest, or
bring it nearest to a quantity, while every limit of the sheet is kept.

--by names the givens, each over its choice or range, or with values of its own
as in sweep: --by "shift_speed=10000..12000 rpm by 50 rpm". If all of them are
whole numbers or have a choice, every combination is computed, up to four
million (the answer says so). Otherwise a global search (CMA-ES) and a local one
(Nelder-Mead) over the other givens start from the most promising combinations.
They find a good value but cannot prove that there is no better one; the same
--seed repeats the same search. The ranking lists the combinations that keep
every limit first, then those that break fewest.

--json prints (and -o FILE.json writes):

  format, version  "gearleaf best", 1
  cell, by         name, unit; maximise; near in the cell's unit, with --near
  ranking          by (in that order), value, broken (conditions)
  exhaustive, combinations, looked, evaluations, holes (cause, count)

Exit status: 0 the best one keeps every limit; 1 no combination does, or none
has a value; 2 not computed.`

const bestExample = `  gearleaf best bike.leaf --max chain_reserve --by rear_sprocket,front_sprocket
  gearleaf best bike.leaf --near "finish_engine_speed=11400 rpm" \
      --by rear_sprocket,front_sprocket
  gearleaf best bike.leaf --max finish_engine_speed --by rear_sprocket \
      --by "shift_speed=10500..12000 rpm"`

type bestOptions struct {
	answerOptions
	largest, smallest, near string
	by                      []string
	seed                    uint64
	keep                    int
}

func newBest() *cobra.Command {
	var o bestOptions
	cmd := &cobra.Command{
		Use:               "best SHEET --max|--min CELL|--near CELL=QUANTITY --by NAME...",
		Short:             "Find the givens that make a cell largest, smallest or nearest",
		Long:              bestLong,
		Example:           bestExample,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeSheet,
		RunE:              func(cmd *cobra.Command, args []string) error { return best(cmd, args[0], o) },
	}
	answerFlags(cmd, &o.answerOptions)
	cmd.Flags().StringVar(&o.largest, "max", "", "the `cell` to make as large as possible")
	cmd.Flags().StringVar(&o.smallest, "min", "", "the `cell` to make as small as possible")
	cmd.Flags().StringVar(&o.near, "near", "", "the `aim` cell=quantity: bring the cell nearest to it")
	cmd.Flags().StringArrayVar(&o.by, "by", nil, "the givens to move: `names`, or one with its values")
	cmd.Flags().Uint64Var(&o.seed, "seed", 1, "the seed of the search, any whole `number`")
	cmd.Flags().IntVar(&o.keep, "show", 10, "how `many` places of the ranking to show")
	cmd.MarkFlagsMutuallyExclusive("max", "min", "near")
	cmd.MarkFlagsOneRequired("max", "min", "near")
	mustComplete(cmd, "max", completeTargets)
	mustComplete(cmd, "min", completeTargets)
	mustComplete(cmd, "near", completeAims)
	mustComplete(cmd, "by", completeGivens)
	if err := cmd.MarkFlagRequired("by"); err != nil {
		panic(err)
	}
	return cmd
}

func best(cmd *cobra.Command, path string, o bestOptions) error {
	if o.keep < 1 || o.keep > 1000 {
		return fmt.Errorf("--show takes a number from 1 to 1000")
	}
	s, err := ask(cmd, path, o.answerOptions)
	if err != nil {
		return err
	}
	q, d := o.question(s)
	if d != nil {
		return refuse(cmd, *d)
	}
	if q.By, err = readAxes(cmd, s, namesOrValues(o.by), true); err != nil {
		return err
	}
	ctx, stop := interruptible()
	defer stop()
	p := newProgress(cmd.ErrOrStderr(), 0)
	p.unit = "parts"
	q.Progress = p.part
	answer, err := question.BestOf(ctx, s, q)
	p.end()
	if err != nil {
		return refused(cmd, interrupted(err))
	}
	kept := export.BestAnswer(answer)
	if o.json {
		err = printJSON(cmd, kept.Document)
	} else {
		r := bestReport{page: newPage(cmd.OutOrStdout()), answer: answer}
		r.write()
	}
	if err != nil {
		return err
	}
	if err := keepAnswer(cmd, s, o.answerOptions, kept); err != nil {
		return err
	}
	if len(answer.Ranking) == 0 || len(answer.Ranking[0].Broken) > 0 {
		return errTrouble
	}
	return nil
}

// question reads the cell and its goal.
func (o *bestOptions) question(s *sheet.Sheet) (question.BestQuestion, *diag.Diagnostic) {
	q := question.BestQuestion{Maximise: o.largest != "", Seed: o.seed, Keep: o.keep}
	if o.near == "" {
		goal, d := question.ParseTarget(s, o.largest+o.smallest)
		q.Goal = goal
		return q, d
	}
	goal, d := question.ParseGoal(s, o.near)
	q.Goal, q.Near = goal.Place, &goal.Target
	return q, d
}

// namesOrValues cuts lists of names; a text with a = is one input.
func namesOrValues(texts []string) []string {
	var out []string
	for _, text := range texts {
		if strings.Contains(text, "=") {
			out = append(out, text)
		} else {
			out = append(out, words([]string{text})...)
		}
	}
	return out
}

// bestReport writes the ranking on a page.
type bestReport struct {
	page
	answer *question.Best
}

func (r *bestReport) write() {
	a := r.answer
	r.heading(a.Sheet)
	fmt.Fprintln(r.w)
	r.hang("", r.asked()+" by "+axisNames(a.By))
	fmt.Fprintln(r.w)
	if len(a.Ranking) == 0 {
		fmt.Fprintf(r.w, "%s has no value anywhere\n", a.Goal.Name())
	} else {
		r.ranking()
	}
	fmt.Fprintln(r.w)
	r.holes(a.Holes, counted(a.Evaluations, "evaluation", "evaluations"))
	r.hang("", r.quiet(r.looked()))
}

// asked describes the goal of the cell.
func (r *bestReport) asked() string {
	a := r.answer
	switch {
	case a.Near != nil:
		return a.Goal.Name() + " nearest to " + a.Goal.Quantity().Unit.Format(*a.Near, 0)
	case a.Maximise:
		return "largest " + a.Goal.Name()
	}
	return "smallest " + a.Goal.Name()
}

func axisNames(axes []question.Axis) string {
	var names []string
	for _, a := range axes {
		names = append(names, a.Name())
	}
	return strings.Join(names, ", ")
}

// ranking writes one line per candidate.
func (r *bestReport) ranking() {
	a := r.answer
	letters := newLetters(a.Sheet.Model.Limits, func(l *check.Limit) bool {
		for _, c := range a.Ranking {
			for _, b := range c.Broken {
				if b == l {
					return true
				}
			}
		}
		return false
	})
	place := &gridColumn{head: "place"}
	columns := []*gridColumn{place}
	for k, axis := range a.By {
		g := quantityColumn(axis.Name(), axis.Quantity())
		for _, c := range a.Ranking {
			g.fields = append(g.fields, r.input(axis, c.Inputs[k]))
		}
		columns = append(columns, g)
	}
	goal := quantityColumn(a.Goal.Name(), a.Goal.Quantity())
	limits := &gridColumn{head: "limits", left: true}
	for i, c := range a.Ranking {
		place.fields = append(place.fields, fmt.Sprint(i+1))
		goal.fields = append(goal.fields, fineShown(a.Sheet, a.Goal.Quantity(), c.Value))
		var broken []int
		for _, l := range c.Broken {
			broken = append(broken, l.Index)
		}
		state := "kept"
		if len(broken) > 0 {
			state = "breaks " + letters.marks(broken, nil)
		}
		limits.fields = append(limits.fields, state)
	}
	r.grid(append(columns, goal, limits), indent)
	r.legend(letters, func(*check.Limit) string { return "" })
}

// input writes the value of one given, in up to eight digits if it can have any
// value.
func (r *bestReport) input(axis question.Axis, v float64) string {
	if axis.Values == nil {
		return fineNumber(axis.Quantity().Unit.Clean(v))
	}
	return valueText(r.answer.Sheet, axis.Quantity(), v)
}

// fineShown writes a value with at least its shown digits: candidates often
// differ by less.
func fineShown(s *sheet.Sheet, q *check.Quantity, v float64) string {
	if q.Type.Form != check.Number {
		return valueText(s, q, v)
	}
	number, _ := s.Shown(&check.Quantity{Look: q.Look, Details: check.NoDetails}, v)
	return number
}

// looked describes the extent of the search.
func (r *bestReport) looked() string {
	a := r.answer
	evaluations := counted(a.Evaluations, "evaluation", "evaluations")
	switch {
	case a.Exhaustive:
		return fmt.Sprintf("every combination computed: %s", evaluations)
	case a.Combinations > a.Looked:
		return fmt.Sprintf("searched, not proved: %s of %s combinations computed, %s", grouped(a.Looked), grouped(a.Combinations), evaluations)
	}
	return fmt.Sprintf("searched, not proved: %s", evaluations)
}
