package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/question"
)

const solveLong = `Find the values of one given at which a computed cell equals a quantity.

The given is searched over its range or choice, or --within a..b (or v1,v2);
without either, from half its value to twice. A range is sampled at 257 points;
where the cell crosses its target between two of them, Brent's method finds the
solution to the last digit. All solutions are reported, and the points where the
cell jumps over its target. If the given is a whole number or has a choice, the
answer is the two neighbours and their results. Without a solution, the nearest
value is reported. The whole sheet is computed at every reported point and
confirmed by the second evaluator.

--json prints (and -o FILE.json writes):

  format, version  "gearleaf solve", 1
  cell, by         name, unit; target in the cell's unit
  solutions        by, to (the end of an interval), value, broken (conditions)
  neighbours       pairs, each as solutions
  jumps            pairs of by and value
  nearest          by, value; null where there is no value anywhere
  scanned, evaluations, holes (cause, count)

Exit status: 0 a solution, or a neighbour of one, keeps every limit; 1 none
does; 2 not computed.`

const solveExample = `  gearleaf solve bike.leaf "finish_engine_speed=11400 rpm" --by tyre_rollout
  gearleaf solve bike.leaf finish_engine_speed=11400 --by rear_sprocket
  gearleaf solve bike.leaf chain_reserve=4 --by mass_with_rider --within 500..900`

type solveOptions struct {
	answerOptions
	by, within string
}

func newSolve() *cobra.Command {
	var o solveOptions
	cmd := &cobra.Command{
		Use:               "solve SHEET CELL=QUANTITY --by NAME",
		Short:             "Find the value of a given that brings a cell to a quantity",
		Long:              solveLong,
		Example:           solveExample,
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: completeGoal,
		RunE:              func(cmd *cobra.Command, args []string) error { return solve(cmd, args[0], args[1], o) },
	}
	answerFlags(cmd, &o.answerOptions)
	cmd.Flags().StringVar(&o.by, "by", "", "the given to move, by its `name`")
	cmd.Flags().StringVar(&o.within, "within", "", "where to look: `a..b`, or a list of values")
	mustComplete(cmd, "by", completeGivens)
	mustComplete(cmd, "within", cobra.NoFileCompletions)
	if err := cmd.MarkFlagRequired("by"); err != nil {
		panic(err)
	}
	return cmd
}

// completeGoal offers the sheet, then its computed cells.
func completeGoal(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	switch {
	case len(args) == 0:
		return onlySheets()
	case len(args) > 1:
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return completeAims(cmd, args, typed)
}

// completeAims offers the computed numbers, each followed by =.
func completeAims(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	names, _ := completeTargets(cmd, args, typed)
	for i, name := range names {
		word, label, _ := strings.Cut(name, "\t")
		if !strings.HasSuffix(word, "[") {
			word += "="
		}
		names[i] = described(word, label)
	}
	return names, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

// completeTargets offers the computed numbers of the sheet on the line.
func completeTargets(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	s := quietly(args)
	if s == nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var out []string
	for _, p := range s.Names() {
		q := p.Quantity()
		if q.Given || q.Type.Form != check.Number || !strings.HasPrefix(p.Name(), typed) {
			continue
		}
		word := p.Name()
		if p.Column != nil {
			word += "["
		}
		out = append(out, described(word, q.Origin.Label))
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

func solve(cmd *cobra.Command, path, goal string, o solveOptions) error {
	s, err := ask(cmd, path, o.answerOptions)
	if err != nil {
		return err
	}
	g, d := question.ParseGoal(s, goal)
	if d != nil {
		return refuse(cmd, *d)
	}
	by, d := question.ParseWithin(s, o.by, o.within)
	if d != nil {
		return refuse(cmd, *d)
	}
	answer, err := question.Solve(s, g, by)
	if err != nil {
		return refused(cmd, err)
	}
	kept := export.SolveAnswer(answer)
	if o.json {
		err = printJSON(cmd, kept.Document)
	} else {
		r := solveReport{page: newPage(cmd.OutOrStdout()), answer: answer}
		r.write()
	}
	if err != nil {
		return err
	}
	if err := keepAnswer(cmd, s, o.answerOptions, kept); err != nil {
		return err
	}
	for _, f := range slices.Concat(answer.Found, besideOf(answer)) {
		if len(f.Result.BrokenLimits()) == 0 {
			return nil
		}
	}
	return errTrouble
}

// besideOf are the neighbours between which the target lies.
func besideOf(a *question.Solution) []question.Solved {
	if len(a.Between) == 0 {
		return nil
	}
	return a.Beside
}

// solveReport writes the answer on a page.
type solveReport struct {
	page
	answer *question.Solution
}

func (r *solveReport) write() {
	a := r.answer
	r.heading(a.Sheet)
	fmt.Fprintln(r.w)
	r.hang("", fmt.Sprintf("%s by %s%s", r.goalText(), a.By.Name(), r.where()))
	fmt.Fprintln(r.w)
	switch {
	case len(a.Found) > 0:
		for _, f := range a.Found {
			r.place(f, "")
		}
	case len(a.Between) > 0:
		fmt.Fprintf(r.w, "no value of %s gives it exactly; its neighbours:\n\n", a.By.Name())
	case len(a.Beside) > 0:
		fmt.Fprint(r.w, "no solution; the nearest is\n\n")
	default:
		fmt.Fprintln(r.w, "no solution: "+a.Goal.Place.Name()+" has no value anywhere")
	}
	r.beside()
	r.jumps()
	fmt.Fprintln(r.w)
	r.holes(a.Holes, counted(a.Scanned, "place", "places"))
	fmt.Fprintln(r.w, r.quiet(fmt.Sprintf("%s searched, %s in all", counted(a.Scanned, "place", "places"), counted(a.Evaluations, "evaluation", "evaluations"))))
}

func (r *solveReport) goalText() string {
	a := r.answer
	q := a.Goal.Place.Quantity()
	return a.Goal.Place.Name() + " = " + q.Unit.Format(a.Goal.Target, 0)
}

// where describes the searched values of the given.
func (r *solveReport) where() string {
	a := r.answer
	q := a.By.Quantity()
	if a.By.Values == nil {
		lo, hi := q.Unit.Format(a.By.Lo, 0), q.Unit.Format(a.By.Hi, 0)
		return " from " + lo + " to " + hi
	}
	return fmt.Sprintf(", which can be %s", r.valueList())
}

// valueList lists the values of a choice, a long one by its ends.
func (r *solveReport) valueList() string {
	a := r.answer
	var texts []string
	for i, v := range a.By.Values {
		if len(a.By.Values) > 10 && i == 3 {
			texts = append(texts, "…")
		}
		if len(a.By.Values) <= 10 || i < 3 || i == len(a.By.Values)-1 {
			number, _ := a.Sheet.Shown(a.By.Quantity(), v)
			texts = append(texts, number)
		}
	}
	text := strings.Join(texts, ", ")
	if u := a.By.Quantity().Unit.Symbol; u != "" && u != "1" {
		text += " " + u
	}
	return text
}

// beside writes the neighbours, pair by pair; one that ends a pair and begins
// the next is written once.
func (r *solveReport) beside() {
	for i, f := range r.answer.Beside {
		if i > 0 && i%2 == 0 {
			if f.X == r.answer.Beside[i-1].X {
				continue
			}
			fmt.Fprintln(r.w)
		}
		word := ""
		if f.X == r.answer.Nearest.X && len(r.answer.Between) > 0 {
			word = "  nearest"
		}
		r.place(f, word)
	}
}

// place writes one value of the given, its result, and the limits it breaks.
func (r *solveReport) place(f question.Solved, word string) {
	a := r.answer
	q := a.By.Quantity()
	text := exactText(a.Sheet, q, f.X)
	if f.Until != f.X {
		text = "anywhere from " + text + " to " + exactText(a.Sheet, q, f.Until)
	}
	fmt.Fprintln(r.w, blanks(indent)+r.bold(a.By.Name()+" = "+text)+r.gives(f)+word)
	r.brokenLimits(f.Result)
}

// gives writes the result of a point, if it is not the target.
func (r *solveReport) gives(f question.Solved) string {
	q := r.answer.Goal.Place.Quantity()
	if len(r.answer.Found) > 0 {
		return ""
	}
	off := signed(deltaNumber(q.Unit.Difference(f.Y, r.answer.Goal.Target), q.To))
	return fmt.Sprintf("  gives %s (%s)", r.answer.Sheet.Text(q, f.Y), off)
}

// exactText writes a value with its unit in up to eight digits: a solution
// needs more digits than a cell shows.
func exactText(s *sheet.Sheet, q *check.Quantity, v float64) string {
	if q.Type.Form != check.Number || q.Whole {
		return s.Text(q, v)
	}
	text := fineNumber(q.Unit.Clean(v))
	if q.Unit.Symbol == "" || q.Unit.Symbol == "1" {
		return text
	}
	return text + " " + q.Unit.Symbol
}

func (r *solveReport) jumps() {
	a := r.answer
	q, goal := a.By.Quantity(), a.Goal.Place.Quantity()
	for i, j := range a.Jumps {
		if i == 0 {
			fmt.Fprintln(r.w)
		}
		r.hang(blanks(indent), fmt.Sprintf("it jumps over %s at %s, from %s to %s", goal.Unit.Format(a.Goal.Target, 0),
			exactText(a.Sheet, q, j[0].X), sideText(a.Sheet, goal, j[0].Y), sideText(a.Sheet, goal, j[1].Y)))
	}
}

// sideText is the value on one side of a jump.
func sideText(s *sheet.Sheet, q *check.Quantity, v float64) string {
	if v != v {
		return "a fault"
	}
	return s.Text(q, v)
}
