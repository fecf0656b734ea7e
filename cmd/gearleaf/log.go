package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/export/chart"
	"gearleaf/sheet"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/pass"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

const logLong = `Compare a logged pass with the sheet's own.

The lines below "log TABLE" in the worksheet name the columns of the logger's
file; without them, or with --guess, the command offers lines to paste, made
from the file's headings. The command knows the names time, speed, distance,
engine_speed, wheel_speed and fuel_flow; any other is compared if the sheet has
it.

Commas, semicolons or tabs, decimal commas, lines above the headings and a row
of units below them are detected. Gaps, spikes, channels sampled more slowly and
odd rows are reported with their place. The clocks are aligned by the first
crossings of low speeds (--align distance: of short distances; any other
channel: by its best fit; --zero: at a given time).

A GPS speed is late (common practice, no source). A given of the sheet named
after the channel, speed_delay : 120 ms range 0..500, is its delay: the channel
is compared and aligned that much earlier. "gearleaf fit --by speed_delay" finds
it.

The offered lines load unchanged. If the file names no unit, or does not say
whether a pressure is absolute, its values at rest decide; if they cannot, a
comment contains the lines to choose from. A gauge pressure that shows the
outside air's pressure while the machine is at rest is absolute: it is refused.

The report shows splits, shift points, lock-up, effective rollout and slip by
speed, fuel from the flow, the difference of every channel, and charts. -o
writes all of it: .xlsx with charts, .svg or .png only the charts, .csv or
.parquet both passes side by side, .json everything.

--invent writes RUN.csv instead of reading it: the sheet's own pass as a
logger would record it, with noise, to try the command.

--json prints format "gearleaf log" with notes, launch (at, by, pass, of,
short), and tables: name, title, fields (name, unit), rows.

Exit status: 0 compared; 2 not compared, with the reason on standard error.`

const logExample = `  gearleaf new quarter-mile
  gearleaf log quarter-mile.leaf run.csv --invent --seed 7  # a log to try
  gearleaf log quarter-mile.leaf run.csv
  gearleaf log quarter-mile.leaf run.csv --set speed_delay=120ms
  gearleaf log quarter-mile.leaf run.csv --guess            # lines to paste
  gearleaf log quarter-mile.leaf run.csv -o run.xlsx --chart none`

// logReading are the flags of every command that reads a log.
type logReading struct {
	set   []string
	align string
	zero  string
	pass  int
}

func (o *logReading) flags(cmd *cobra.Command) {
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "compute with `name=quantity`, in this run only")
	cmd.Flags().StringVar(&o.align, "align", "", "align the clocks by this `channel`")
	cmd.Flags().StringVar(&o.zero, "zero", "", "the log's `seconds` at which the pass begins")
	cmd.Flags().IntVar(&o.pass, "pass", 1, "which pass of the log, a `number` from 1")
	mustComplete(cmd, "set", completeSettings)
	mustComplete(cmd, "align", completeChannels)
	mustComplete(cmd, "zero", cobra.NoFileCompletions)
	mustComplete(cmd, "pass", cobra.NoFileCompletions)
}

type logOptions struct {
	logReading
	output string
	charts []string
	json   bool
	guess  bool
	invent bool
	faults bool
	seed   uint64
	rate   float64
}

func newLog() *cobra.Command {
	var o logOptions
	cmd := &cobra.Command{
		Use:               "log SHEET RUN.csv",
		Short:             "Compare a logged pass with the sheet's own",
		Long:              logLong,
		Example:           logExample,
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: completeLog,
		RunE:              func(cmd *cobra.Command, args []string) error { return logRun(cmd, args[0], args[1], o) },
	}
	o.flags(cmd)
	cmd.Flags().StringVarP(&o.output, "output", "o", "", "write to this `file`: "+strings.Join(export.LoggedKinds, " "))
	cmd.Flags().StringSliceVar(&o.charts, "chart", nil, "`channels` to draw in the terminal, all or none")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the result as JSON")
	cmd.Flags().BoolVar(&o.guess, "guess", false, "only offer lines that map the file's columns")
	cmd.Flags().BoolVar(&o.invent, "invent", false, "write an invented log to RUN.csv")
	cmd.Flags().BoolVar(&o.faults, "faults", false, "with --invent: spikes, a gap, a slow channel")
	cmd.Flags().Uint64Var(&o.seed, "seed", 1, "with --invent: the seed of the noise, any whole `number`")
	cmd.Flags().Float64Var(&o.rate, "rate", 100, "with --invent: `samples` a second")
	mustComplete(cmd, "chart", completeChannels)
	for _, name := range []string{"seed", "rate"} {
		mustComplete(cmd, name, cobra.NoFileCompletions)
	}
	return cmd
}

// completeLog offers the sheet, then the file.
func completeLog(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	switch len(args) {
	case 0:
		return onlySheets()
	case 1:
		return []string{"csv", "txt", "log"}, cobra.ShellCompDirectiveFilterFileExt
	}
	return nil, cobra.ShellCompDirectiveNoFileComp
}

// completeChannels offers the channels that the sheet maps.
func completeChannels(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	s := quietly(args)
	if s == nil || pass.Mapping(s) == nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	before := typed[:strings.LastIndex(typed, ",")+1]
	var out []string
	for _, c := range pass.Mapping(s).Channels {
		if strings.HasPrefix(c.Name, typed[len(before):]) && c.Name != "time" {
			out = append(out, described(before+c.Name, c.Head))
		}
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

func logRun(cmd *cobra.Command, path, run string, o logOptions) error {
	s, err := load(cmd, path)
	if err != nil {
		return err
	}
	if err := set(cmd, s, o.set); err != nil {
		return err
	}
	if o.guess || pass.Mapping(s) == nil {
		return guessLog(cmd, s, run, o.guess)
	}
	if o.invent {
		return inventLog(cmd, s, run, o)
	}
	if err := o.check(append(s.Reads(), run)); err != nil {
		return err
	}
	h, err := holdLog(cmd, s, run, o.logReading)
	if err != nil {
		return err
	}
	tabs := export.LoggedTabs(h)
	if o.json {
		err = printJSON(cmd, export.LoggedDocument(h, tabs))
	} else {
		r := logReport{page: newPage(cmd.OutOrStdout()), h: h, tabs: tabs}
		err = r.write(o.charts)
	}
	if err != nil || o.output == "" {
		return err
	}
	if err := keepLogged(cmd, o.output, h, tabs); err != nil {
		return err
	}
	notices := cmd.OutOrStdout()
	if o.json {
		notices = cmd.ErrOrStderr()
	}
	fmt.Fprintf(notices, "wrote %s\n", o.output)
	return nil
}

// check refuses an output that cannot be written before anything is read.
func (o *logOptions) check(reads []string) error {
	if o.output == "" {
		return nil
	}
	if _, err := export.LoggedKind(o.output); err != nil {
		return err
	}
	return admitOutput(o.output, reads...)
}

// holdLog reads the log and aligns it.
func holdLog(cmd *cobra.Command, s *sheet.Sheet, run string, o logReading) (*pass.Logged, error) {
	if pass.Mapping(s) == nil {
		return nil, guessLog(cmd, s, run, false)
	}
	if o.pass < 1 {
		return nil, fmt.Errorf("--pass counts from 1")
	}
	q := pass.LogQuestion{Mapping: pass.Mapping(s), Align: o.align, Pass: o.pass}
	if o.zero != "" {
		set, d := pass.ParseSeconds(s, o.zero)
		if d != nil {
			return nil, refuse(cmd, *d)
		}
		q.Zero = &set
	}
	ctx, stop := interruptible()
	defer stop()
	bar := newProgress(cmd.ErrOrStderr(), 0)
	bar.unit = "bytes"
	file, err := pass.ReadLog(s, run, q.Mapping, func(done, of int64) error {
		bar.part(int(done), int(of))
		return ctx.Err()
	})
	bar.end()
	if err != nil {
		return nil, interrupted(err)
	}
	q.File = file
	h, err := pass.Hold(s, q)
	return h, refused(cmd, err)
}

// guessLog offers lines that map the columns of a file. Without --guess it also
// reports that nothing can be compared.
func guessLog(cmd *cobra.Command, s *sheet.Sheet, run string, asked bool) error {
	lines, layout, err := pass.Guess(s, run)
	if err != nil {
		return err
	}
	if !asked {
		fmt.Fprintf(cmd.ErrOrStderr(), "gearleaf: %s does not say which columns of a log are which; a first guess from the head of %s follows: paste it into the worksheet, correct it, and try again\n", s.Path, run)
	}
	w := pasted(cmd.OutOrStdout())
	for _, line := range lines {
		fmt.Fprintln(w, line)
	}
	var rest []string
	for _, h := range layout.Heads {
		if !strings.Contains(strings.Join(lines, "\n"), syntax.Quote(h.Text)) {
			rest = append(rest, h.Text)
		}
	}
	if len(rest) > 0 {
		fmt.Fprintf(w, "# not guessed: %s\n", strings.Join(rest, ", "))
	}
	if !asked {
		return errRefused
	}
	return nil
}

// inventLog writes a simulated log. It never overwrites a file that may be a
// real one.
func inventLog(cmd *cobra.Command, s *sheet.Sheet, run string, o logOptions) error {
	old, err := disk.ReadFile(run, source.MaxLogBytes)
	if err == nil && !bytes.HasPrefix(old, []byte("Invented by gearleaf")) {
		return fmt.Errorf("%s exists and was not written by --invent: name another file", run)
	}
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if !(o.rate >= 1 && o.rate <= 10000) {
		return fmt.Errorf("--rate is from 1 to 10000 samples a second")
	}
	q := pass.InventQuestion{
		Mapping: pass.Mapping(s), Seed: o.seed, Rate: o.rate, Noise: 1, Faults: o.faults,
		Delimiter: ',', Point: '.', Before: 3, After: 2,
	}
	if err := disk.Write(run, func(w io.Writer) error { return pass.Invent(s, w, q) }); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "wrote %s, invented from the sheet's own pass\n", run)
	return nil
}

// keepLogged writes a log compared with a sheet to a file.
func keepLogged(cmd *cobra.Command, file string, h *pass.Logged, tabs []export.Tab) error {
	kind, err := export.LoggedKind(file)
	if err != nil {
		return err
	}
	var drawn []chart.Chart
	for _, t := range tabs {
		drawn = append(drawn, t.Drawn()...)
	}
	origin, err := provenance(cmd, h.Sheet, file)
	if err != nil {
		return err
	}
	origin.More = append(origin.More, [2]string{"log", filepath.Base(h.File.Name)})
	return disk.Write(file, func(w io.Writer) error {
		switch kind {
		case ".xlsx":
			return export.WriteTabs(w, h.Sheet.Model.Title, tabs)
		case ".svg":
			return chart.WriteSVG(w, drawn)
		case ".png":
			return chart.WritePNG(w, drawn)
		case ".csv", ".parquet":
			return export.WriteRecords(w, kind, tabs[len(tabs)-1].Records, origin)
		}
		return export.WriteDocument(w, export.LoggedDocument(h, tabs))
	})
}
