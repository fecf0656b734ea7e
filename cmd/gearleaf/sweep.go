package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/question"
)

const sweepLong = `Compute a worksheet at every combination of values of its givens. An input is

  name=a..b by step    values from a to b
  name=a..b            all whole numbers, or 10 equal steps
  name=v1,v2           these values
  name                 the given's choice, or its range as above

and a name may be one row of a column, gears.ratio[3]. One input is shown as a
table, two as a grid for each cell: the first down, the second across, letters
where a limit is broken. More inputs go to a file, one line per scenario; the
last input changes fastest. A value at fault is a hole; its cause is counted.

--random N draws N scenarios from ranges and lists instead, as a Latin
hypercube: each of N equal slices of every range has one value. The same --seed
gives the same scenarios.

--shard i/n computes the i-th of n parts, as CSV or Parquet: any job runner can
distribute a sweep. Only the first part of CSV has the line of names, so the
concatenated parts equal the whole file byte for byte; readers of Parquet take
all parts together (part-*.parquet).

-o FILE.parquet writes the numbers, texts and blanks of the CSV for programs
that read Apache Parquet, in row groups, with the unit and the kind of each
column. Combinations take a hundredth of the CSV's size or less if results
repeat, draws a third.

Files name the givens that --set has changed, CSV in a last column, set.

A file is written whole or not at all, even after Ctrl-C. The first, the last
and some other scenarios are confirmed by the second evaluator.

--json prints (and -o FILE.json writes) one scenario per line between a head
(format "gearleaf sweep", version 1, set, inputs, shown, limits) and a tail:

  scenarios     inputs and shown in the order of the head, null for a hole;
                broken and waiting (places in limits, from 0), fault
  count, breaking, broken, waiting, faulty, holes (cause, count)

Exit status: 0 computed; 1 computed, with values at fault; 2 not computed.`

const sweepExample = `  gearleaf sweep bike.leaf rear_sprocket --show finish_engine_speed
  gearleaf sweep bike.leaf front_sprocket rear_sprocket --show chain_reserve
  gearleaf sweep bike.leaf "shift_speed=9000..12000 rpm by 250 rpm" \
      rear_sprocket tyre_rollout --show finish_gear,chain_links -o all.csv
  gearleaf sweep bike.leaf finish_speed tyre_rollout --random 10000 --seed 7 \
      --show finish_engine_speed -o drawn.parquet`

type sweepOptions struct {
	answerOptions
	show   []string
	random int
	seed   uint64
	shard  string
	full   bool
}

func newSweep() *cobra.Command {
	var o sweepOptions
	cmd := &cobra.Command{
		Use:               "sweep SHEET INPUT... --show CELL",
		Short:             "Compute a worksheet at many values of its givens",
		Long:              sweepLong,
		Example:           sweepExample,
		Args:              cobra.MinimumNArgs(2),
		ValidArgsFunction: completeInputs,
		RunE:              func(cmd *cobra.Command, args []string) error { return sweep(cmd, args[0], args[1:], o) },
	}
	answerFlags(cmd, &o.answerOptions)
	cmd.Flags().StringArrayVar(&o.show, "show", nil, "the `cells` to show, separated by commas")
	cmd.Flags().IntVar(&o.random, "random", 0, "draw `N` scenarios instead of combining values")
	cmd.Flags().Uint64Var(&o.seed, "seed", 1, "the seed of --random, any whole `number`")
	cmd.Flags().StringVar(&o.shard, "shard", "", "compute part `i/n` only, into .csv or .parquet")
	cmd.Flags().BoolVar(&o.full, "full", false, "show every row of long tables")
	cmd.MarkFlagsMutuallyExclusive("json", "shard")
	mustComplete(cmd, "show", completeNameList)
	if err := cmd.MarkFlagRequired("show"); err != nil {
		panic(err)
	}
	return cmd
}

// completeInputs offers the sheet, then its givens.
func completeInputs(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return onlySheets()
	}
	if strings.Contains(typed, "=") {
		return completeSettings(cmd, args, typed)
	}
	return completeGivens(cmd, args, typed)
}

func sweep(cmd *cobra.Command, path string, inputs []string, o sweepOptions) error {
	w, err := planSweep(cmd, path, inputs, o)
	if err != nil {
		return err
	}
	ctx, stop := interruptible()
	defer stop()
	tally, err := runSweep(ctx, cmd, w, o)
	if err != nil {
		return interrupted(err)
	}
	if tally.Faulty > 0 {
		return errTrouble
	}
	return nil
}

// planSweep reads the inputs and the values to show.
func planSweep(cmd *cobra.Command, path string, inputs []string, o sweepOptions) (*question.Sweep, error) {
	switch {
	case cmd.Flags().Changed("random") && o.random < 1:
		return nil, fmt.Errorf("--random takes a number above 0; without it every combination is computed")
	case o.shard != "" && o.output == "":
		return nil, fmt.Errorf("--shard needs a file: -o part.csv")
	}
	s, err := ask(cmd, path, o.answerOptions)
	if err != nil {
		return nil, err
	}
	axes, err := readAxes(cmd, s, inputs, o.random > 0)
	if err != nil {
		return nil, err
	}
	show, d := question.ParseShow(s, words(o.show))
	if d != nil {
		return nil, refuse(cmd, *d)
	}
	w, d := question.NewSweep(s, axes, show)
	if d != nil {
		return nil, refuse(cmd, *d)
	}
	if o.random > 0 {
		w.Draw(o.random, o.seed)
	}
	reportIdle(cmd, w)
	if o.shard != "" {
		if w.Shard, w.Shards, err = readShard(o.shard); err != nil {
			return nil, err
		}
	}
	if n, ok := w.Size(); !ok {
		return nil, fmt.Errorf("these inputs make more than %s scenarios", grouped(n))
	}
	return w, nil
}

// reportIdle names the inputs on which no shown result depends.
func reportIdle(cmd *cobra.Command, w *question.Sweep) {
	var moved []sheet.Place
	for _, a := range w.Axes {
		moved = append(moved, sheet.Place{Cell: a.Cell, Column: a.Column, Row: a.Row})
	}
	for _, p := range w.Sheet.Idle(moved, w.Show, w.Watched) {
		fmt.Fprintf(cmd.ErrOrStderr(), "%s reaches none of the results shown, and no limit\n", p.Name())
	}
}

// readAxes reads every input and reports all errors.
func readAxes(cmd *cobra.Command, s *sheet.Sheet, inputs []string, free bool) ([]question.Axis, error) {
	var axes []question.Axis
	var list diag.List
	for _, text := range inputs {
		a, d := question.ParseAxis(s, text, free)
		if d != nil {
			list.Add(*d)
			continue
		}
		axes = append(axes, a)
	}
	if len(list) > 0 {
		diagnose(cmd, list)
		return nil, errRefused
	}
	return axes, nil
}

// readShard reads i/n, counted from 1.
func readShard(text string) (shard, shards int, err error) {
	i, n, _ := strings.Cut(text, "/")
	shard, errI := strconv.Atoi(i)
	shards, errN := strconv.Atoi(n)
	if errI != nil || errN != nil || shard < 1 || shards < shard {
		return 0, 0, fmt.Errorf("--shard %s: write the part and how many there are, as in 1/8", text)
	}
	return shard - 1, shards, nil
}

// onPage bounds the scenarios on a page.
const onPage = 10_000

// runSweep computes w and shows or writes it.
func runSweep(ctx context.Context, cmd *cobra.Command, w *question.Sweep, o sweepOptions) (question.Tally, error) {
	from, to := w.Part()
	p := newProgress(cmd.ErrOrStderr(), to-from)
	defer p.end()
	switch {
	case o.output != "":
		return writeSweep(ctx, cmd, w, o, p)
	case o.json:
		return export.WriteSweep(ctx, data(cmd.OutOrStdout()), ".json", w, export.Origin{}, p.at)
	case len(w.Axes) > 2 || o.random > 0:
		return question.Tally{}, fmt.Errorf("%s go to a file, not on a page: -o sweep.csv, .parquet, or --json", sweepKind(len(w.Axes), o.random))
	case to-from > onPage:
		return question.Tally{}, fmt.Errorf("%s scenarios are too many for a page: -o sweep.csv, .parquet, or --json", grouped(to-from))
	}
	t := newSweepTable(w)
	tally, err := t.run(ctx, p)
	if err != nil {
		return tally, err
	}
	p.end()
	r := sweepReport{page: newPage(cmd.OutOrStdout()), table: t, tally: tally, full: o.full}
	r.write()
	return tally, nil
}

func sweepKind(inputs, random int) string {
	if random > 0 {
		return "drawn scenarios"
	}
	return fmt.Sprintf("%d inputs", inputs)
}

// writeSweep writes w to a file, whole or not at all.
func writeSweep(ctx context.Context, cmd *cobra.Command, w *question.Sweep, o sweepOptions, p *progress) (tally question.Tally, err error) {
	kind, err := export.AnswerKind(o.output)
	if err != nil {
		return tally, err
	}
	origin, err := provenance(cmd, w.Sheet, o.output)
	if err != nil {
		return tally, err
	}
	if w.Shards > 1 {
		origin.More = append(origin.More, [2]string{"shard", o.shard})
	}
	err = disk.Write(o.output, func(file io.Writer) error {
		var err error
		tally, err = export.WriteSweep(ctx, file, kind, w, origin, p.at)
		return err
	})
	p.end()
	if err != nil {
		return tally, err
	}
	out := newPage(cmd.OutOrStdout())
	if o.json {
		out = newPage(cmd.ErrOrStderr())
	}
	out.holes(tally.Holes, counted(tally.Scenarios, "scenario", "scenarios"))
	fmt.Fprintln(out.w, "wrote "+o.output+": "+tallyText(w, tally))
	return tally, nil
}

// tallyText writes the broken limits and faults of a sweep.
func tallyText(w *question.Sweep, t question.Tally) string {
	text := counted(t.Scenarios, "scenario", "scenarios")
	if w.Shards > 1 {
		n, _ := w.Size()
		text += " of " + grouped(n)
	}
	if len(w.Watched) > 0 {
		text += fmt.Sprintf(", %s with a broken limit", grouped(t.Breaking))
	}
	if t.Faulty > 0 {
		text += fmt.Sprintf(", %s at fault", grouped(t.Faulty))
	}
	return text
}
