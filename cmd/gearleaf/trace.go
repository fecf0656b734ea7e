package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
)

const traceLong = `Show how one number was computed: its formula, the formula with numbers, the
result, and below it the same for every value in the formula, down to the
givens. A value at fault shows the origin of the fault.

CELL is a name (top_speed), one row of a column (gears.speed[3], rows counted
from 1), or a column (gears.speed) for its last live row. A value that is
already shown above is not shown again. --depth goes down to 24 levels.

--json prints the working as JSON:

  format, version   "gearleaf trace", 1
  working           name, label, unit, given, value, text, formula, numbers,
                    from (the used worksheet that has it), fault (origin,
                    cause), needs (workings, in order of mention), above, deeper
  functions         name, usage, steps of the functions that are called

value is a number in the shown unit, a text, true, false or null; above says
that the needs are already shown above, deeper that they were left out.

Exit status: 0; 1 if the value is at fault; 2 not computed.`

const traceExample = `  gearleaf trace bike.leaf chain_links
  gearleaf trace bike.leaf "gears.speed[3]" --depth 1`

type traceOptions struct {
	set   []string
	depth int
	json  bool
}

// traceDepth is the default number of levels of a trace.
const traceDepth = 4

// deepestTrace is the largest number of levels: deeper branches would not fit
// on the page.
const deepestTrace = 24

func newTrace() *cobra.Command {
	var o traceOptions
	cmd := &cobra.Command{
		Use:               "trace SHEET CELL",
		Short:             "Show how one number was computed",
		Long:              traceLong,
		Example:           traceExample,
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: completeTrace,
		RunE:              func(cmd *cobra.Command, args []string) error { return trace(cmd, args[0], args[1], o) },
	}
	cmd.Flags().IntVar(&o.depth, "depth", traceDepth, "go down `n` levels, 0 to 24")
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "compute with `name=quantity`, in this run only")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the working as JSON")
	mustComplete(cmd, "set", completeSettings)
	return cmd
}

func trace(cmd *cobra.Command, path, name string, o traceOptions) error {
	if o.depth < 0 {
		return fmt.Errorf("--depth is from 0 to %d", deepestTrace)
	}
	s, err := load(cmd, path)
	if err != nil {
		return err
	}
	if err := set(cmd, s, o.set); err != nil {
		return err
	}
	p, d := s.Place(name)
	if d != nil {
		return refuse(cmd, *d)
	}
	r, err := s.Compute()
	if err != nil {
		return err
	}
	if p, err = lastRow(r, p); err != nil {
		return err
	}
	w := r.Work(p, min(o.depth, deepestTrace))
	if o.json {
		err = printJSON(cmd, export.TraceDocument(s, w))
	} else {
		t := tracer{page: newPage(cmd.OutOrStdout()), sheet: s, result: r}
		t.write(w, "", "")
		t.functions(w)
	}
	if err == nil && w.Value.IsFault() {
		return errTrouble
	}
	return err
}

// lastRow turns a whole column into its last live row.
func lastRow(r *sheet.Result, p sheet.Place) (sheet.Place, error) {
	if p.Row != sheet.Whole {
		return p, nil
	}
	live, _ := r.Live(p.Column.Table)
	if live == 0 {
		return p, fmt.Errorf("%s has no rows to trace", p.Name())
	}
	p.Row = live - 1
	return p, nil
}

// tracer writes a working as a tree.
type tracer struct {
	page
	sheet  *sheet.Sheet
	result *sheet.Result
}

// write prints w; first is the branch before its first line, rest that before
// the lines below.
func (t *tracer) write(w *sheet.Working, first, rest string) {
	t.branch(first, rest, t.bold(w.Name())+" "+mark(w.Quantity())+" "+t.valueText(w))
	inner := rest
	if len(w.Needs) > 0 {
		inner += "│ "
	} else {
		inner += "  "
	}
	if w.Formula != "" && !w.Above {
		t.branch(inner, inner, "= "+w.Formula)
	}
	if w.Numbers != w.Formula && !w.Above {
		t.branch(inner, inner, "= "+w.Numbers)
	}
	if f := w.Value.Fault(); f != nil {
		t.branch(inner, inner, t.alarm("fault")+": "+faultNote(f))
	}
	for i, need := range w.Needs {
		if i == len(w.Needs)-1 {
			t.write(need, rest+"└ ", rest+"  ")
		} else {
			t.write(need, rest+"├ ", rest+"│ ")
		}
	}
}

// valueText is the value of w with its remarks.
func (t *tracer) valueText(w *sheet.Working) string {
	q := w.Quantity()
	var notes []string
	if q.Origin.Label != "" {
		notes = append(notes, q.Origin.Label)
	}
	if s := spread(t.sheet, q); s != "" {
		notes = append(notes, s)
	}
	if w.From != "" {
		notes = append(notes, "from "+w.From)
	}
	if w.Above {
		notes = append(notes, "worked out above")
	}
	if w.Deeper {
		notes = append(notes, "more below")
	}
	text := t.columnText(w)
	if w.Row != sheet.Whole {
		number, symbol, _ := shown(t.sheet, q, w.Value)
		text = strings.TrimRight(number+" "+symbol, " ")
	}
	if len(notes) > 0 {
		text += " — " + t.quiet(strings.Join(notes, "; "))
	}
	return text
}

// columnText lists the values of a whole column, or the ends of a long one.
func (t *tracer) columnText(w *sheet.Working) string {
	if w.Row != sheet.Whole {
		return ""
	}
	live, _ := t.result.Live(w.Column.Table)
	var fields []string
	for _, row := range tableRows(live, false) {
		fields = append(fields, strings.Replace(entryText(t.result, w.Column, row), "⋮", "…", 1))
	}
	text := strings.Join(fields, ", ")
	if symbol := w.Column.Unit.Symbol; symbol != "1" {
		text += " " + symbol
	}
	return strings.TrimSpace(text)
}

// functions writes the formulas of the functions that the working calls, each
// once.
func (t *tracer) functions(w *sheet.Working) {
	list := w.Functions()
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(t.w, "\n%s\n", t.bold("Functions"))
	for _, f := range list {
		t.branch("  ", "  ", f.Usage)
		for _, s := range f.Steps {
			t.branch("    ", "    ", s)
		}
	}
}

// branch writes text after the lines of the tree, wrapped.
func (t *tracer) branch(first, rest, text string) {
	room := max(t.width-width(rest)-2, leastNote)
	for i, part := range wrap(text, room) {
		if i > 0 {
			first = rest + "  "
		}
		fmt.Fprintln(t.w, first+part)
	}
}
