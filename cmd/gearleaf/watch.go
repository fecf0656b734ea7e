package main

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"gearleaf/sheet"
	"gearleaf/sheet/watch"
)

const watchLong = `Compute a worksheet again each time it is saved, and show what moved since the
last good state: givens, the results that follow, limits that break. Worksheets
that it uses and files of its tables are watched as well, even missing ones.

Errors are reported; the next good state is compared with the last good one.
Ctrl-C stops it.`

const watchExample = `  gearleaf watch bike.leaf
  gearleaf watch bike.leaf --show finish_engine_speed,gears.speed
  gearleaf watch bike.leaf --set rear_sprocket=44`

type watchOptions struct{ set, show []string }

func newWatch() *cobra.Command {
	var o watchOptions
	cmd := &cobra.Command{
		Use:               "watch SHEET",
		Short:             "Compute again at every save, and show what moved",
		Long:              watchLong,
		Example:           watchExample,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeSheet,
		RunE:              func(cmd *cobra.Command, args []string) error { return watchSheet(cmd, args[0], o) },
	}
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "compute with `name=quantity`, in this run only")
	cmd.Flags().StringArrayVar(&o.show, "show", nil, "show these `cells`, separated by commas, even if they did not move")
	mustComplete(cmd, "set", completeSettings)
	mustComplete(cmd, "show", completeNames)
	return cmd
}

// watchSheet computes the sheet at every save until the program is stopped. It
// waits for a missing sheet.
func watchSheet(cmd *cobra.Command, path string, o watchOptions) error {
	if err := admitWatch(cmd, path, o); err != nil {
		return err
	}
	ctx, release := interruptible()
	defer release()
	w, err := watch.New(ctx)
	if err != nil {
		return fmt.Errorf("files cannot be watched here: %w", err)
	}
	defer w.Wait()
	v := &watched{cmd: cmd, path: path, o: o, now: time.Now}
	w.Watch([]string{path})
	for {
		w.Watch(v.look())
		if lost(cmd.OutOrStdout()) {
			release()
			return errRefused
		}
		select {
		case <-ctx.Done():
			return nil
		case <-w.Changed():
		}
	}
}

// admitWatch refuses errors that no save can repair: a path that is not a
// worksheet's, and names that a worksheet without errors does not have.
func admitWatch(cmd *cobra.Command, path string, o watchOptions) error {
	if err := otherKind(cmd, path); err != nil {
		return err
	}
	if at, err := os.Stat(path); err == nil && at.IsDir() {
		return fmt.Errorf("%s is a folder, not a worksheet%s", path, helpHint(cmd))
	}
	s, _ := sheet.Load(path)
	if s == nil {
		return nil
	}
	if err := set(cmd, s, o.set); err != nil {
		return err
	}
	for _, name := range words(o.show) {
		if _, d := s.Place(name); d != nil {
			return refuse(cmd, *d)
		}
	}
	return nil
}

// watched is a sheet and its last good state.
type watched struct {
	cmd  *cobra.Command
	path string
	o    watchOptions
	now  func() time.Time
	good *sheet.Sheet
	when string // the good state was computed
}

// look computes the sheet and shows the result. It returns the files that the
// sheet depends on.
func (v *watched) look() []string {
	r := sheet.Read(sheet.Input{Path: v.path})
	files := slices.Concat([]string{v.path}, r.Read, r.Missed)
	diagnose(v.cmd, r.List)
	if r.List.Errors() || set(v.cmd, r.Sheet, v.o.set) != nil {
		v.keeps("errors")
		return files
	}
	if err := v.show(r.Sheet); err != nil {
		fmt.Fprintf(v.cmd.ErrOrStderr(), "gearleaf: %v\n", err)
		v.keeps("no values")
		return files
	}
	v.good, v.when = r.Sheet, v.clock()
	return files
}

func (v *watched) clock() string { return v.now().Format("15:04:05") }

// keeps selects the state with which the next one is compared.
func (v *watched) keeps(why string) {
	p := newPage(v.cmd.OutOrStdout())
	text := v.clock() + "  " + why
	if v.good != nil {
		text += "; the last good state is of " + v.when
	}
	fmt.Fprintln(p.w, p.warn(cut(text, p.width)))
}

// show writes the requested values, or those that moved since the good state.
func (v *watched) show(s *sheet.Sheet) error {
	p := newPage(v.cmd.OutOrStdout())
	if len(v.o.show) > 0 {
		return v.showCells(p, s)
	}
	if v.good == nil {
		r, err := s.Compute()
		if err != nil {
			return err
		}
		v.head(p, "computed, "+stateOf(r))
		(&report{page: p, sheet: s, result: r}).findings()
		return nil
	}
	c, err := sheet.Compare(v.good, s)
	if err != nil {
		return err
	}
	r := compareReport{page: p, c: c}
	v.head(p, fmt.Sprintf("%s since %s, %s", counted(len(c.Givens)+len(c.Results), "value moved", "values moved"), v.when, stateOf(c.B)))
	v.moves(p, r.lines(lastRows(slices.Concat(c.Givens, c.Results))))
	for _, l := range c.Limits {
		if l.B != nil {
			state, _ := c.B.Limit(l.B)
			p.finding(state.String(), p.bold, limitText(c.B, l.B))
		}
	}
	return nil
}

func (v *watched) head(p page, text string) {
	fmt.Fprintln(p.w, p.bold(cut(v.clock()+"  "+text, p.width)))
}

// stateOf describes the state of the limits and the values.
func stateOf(r *sheet.Result) string {
	broken := 0
	for _, l := range r.Sheet.Model.Limits {
		if state, _ := r.Limit(l); state == sheet.Broken {
			broken++
		}
	}
	switch faults := len(r.Failures()); {
	case broken > 0:
		return counted(broken, "limit broken", "limits broken")
	case faults > 0:
		return counted(faults, "fault", "faults")
	}
	return "no limit broken"
}

// lastRows returns pairs with only the last row of each column.
func lastRows(pairs []sheet.ValuePair) []sheet.ValuePair {
	var out []sheet.ValuePair
	for _, p := range pairs {
		if n := len(out); p.Column != nil && n > 0 && out[n-1].Column == p.Column {
			out[n-1] = p
			continue
		}
		out = append(out, p)
	}
	return out
}

// moves writes the lines that fit the terminal, and counts the others.
func (v *watched) moves(p page, lines []moveLine) {
	room := max(4, rowsOf(v.cmd)-6)
	left := 0
	if len(lines) > room {
		left = len(lines) - room
		lines = lines[:room]
	}
	var text strings.Builder
	page{w: &text, width: p.width, color: p.color}.moves(lines, moveWidths(lines))
	for line := range strings.Lines(text.String()) {
		fmt.Fprintln(p.w, cut(strings.TrimSuffix(line, "\n"), p.width))
	}
	if left > 0 {
		fmt.Fprintln(p.w, blanks(indent)+p.quiet(fmt.Sprintf("and %d more", left)))
	}
}

// pipedRows is the height of a page without a terminal.
const pipedRows = 24

// rowsOf returns the rows of the terminal that the command writes to.
func rowsOf(cmd *cobra.Command) int {
	if f := terminalOf(cmd.OutOrStdout()); f != nil {
		if _, rows, err := term.GetSize(int(f.Fd())); err == nil && rows > 0 {
			return rows
		}
	}
	return pipedRows
}

// showCells writes the requested cells, with their previous values.
func (v *watched) showCells(p page, s *sheet.Sheet) error {
	r, err := s.Compute()
	if err != nil {
		return err
	}
	var before *sheet.Result
	if v.good != nil {
		if before, err = v.good.Compute(); err != nil {
			return err
		}
	}
	v.head(p, "computed, "+stateOf(r))
	for _, name := range words(v.o.show) {
		place, d := s.Place(name)
		if d != nil {
			return &sheet.Refusal{Diagnostic: d}
		}
		v.cell(p, r, before, place)
	}
	return nil
}

// cell writes one value, a column by its ends, and the previous value if it
// moved.
func (v *watched) cell(p page, r, before *sheet.Result, place sheet.Place) {
	text := placeText(r, place)
	line := blanks(indent) + place.Name() + " = " + text
	if before != nil {
		if other, d := before.Sheet.Place(place.Name()); d == nil {
			if was := placeText(before, other); was != text {
				line += ", was " + was
			}
		}
	}
	fmt.Fprintln(p.w, cut(line, p.width))
}

// placeText is the shown value at p; for a column the first and the last.
func placeText(r *sheet.Result, p sheet.Place) string {
	if p.Column != nil && p.Row == sheet.Whole {
		live, _ := r.Live(p.Column.Table)
		if live == 0 {
			return "no rows"
		}
		first := placeText(r, sheet.Place{Column: p.Column, Row: 0})
		if live == 1 {
			return first
		}
		return first + " … " + placeText(r, sheet.Place{Column: p.Column, Row: live - 1})
	}
	v := r.At(p)
	switch f := v.Fault(); {
	case f != nil:
		return "fault: " + f.Cause
	case v.IsBlank():
		return "blank"
	}
	return r.Sheet.Text(p.Quantity(), v.V)
}
