package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

const compareLong = `Compare two worksheets, or a worksheet and a workbook that Gearleaf has written
(with the present values of its yellow fields): the givens that differ, then the
results that differ, in reading order, then what only one of them has. Values
are matched by name; differences are in the unit of the first.

--json prints (and -o FILE.json writes):

  format, version   "gearleaf compare", 1
  a, b              file, title
  givens, results   name, unit, a, b, difference, percent; where the two do not
                    measure the same, unit_b and why instead
  limits            condition, message, advise, a, b (kept, broken, advised,
                    waiting; null where the sheet does not have it)
  only_a, only_b    names
  same              how many values do not differ

a and b are a number in the unit of the first, a text, true, false, null for a
blank, or {"fault": cause}.

Exit status: 0 computed, whether they differ or not; 1 computed, but in the
second a limit is broken or a value at fault; 2 not computed.`

const compareExample = `  gearleaf compare friday.leaf saturday.leaf
  gearleaf compare bike.leaf bike.xlsx
  gearleaf compare friday.leaf saturday.leaf -o differences.csv`

func newCompare() *cobra.Command {
	var o answerOptions
	cmd := &cobra.Command{
		Use:               "compare A B",
		Short:             "Compare two worksheets: givens, then results that differ",
		Long:              compareLong,
		Example:           compareExample,
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: completeCompared,
		RunE:              func(cmd *cobra.Command, args []string) error { return compare(cmd, args[0], args[1], o) },
	}
	cmd.Flags().StringVarP(&o.output, "output", "o", "", "write the answer to this `file`: .csv, .xlsx or .json")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the answer as JSON")
	return cmd
}

// completeCompared offers worksheets and workbooks, twice.
func completeCompared(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 1 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return []string{"leaf", "xlsx"}, cobra.ShellCompDirectiveFilterFileExt
}

func compare(cmd *cobra.Command, first, second string, o answerOptions) error {
	if o.output != "" {
		if _, err := export.AnswerKind(o.output); err != nil {
			return err
		}
		if err := admitOutput(o.output, first, second); err != nil {
			return err
		}
	}
	a, errA := loadEither(cmd, first)
	b, errB := loadEither(cmd, second)
	switch {
	case errA != nil:
		return errA
	case errB != nil:
		return errB
	}
	if err := admitOutput(o.output, append(a.Reads(), b.Reads()...)...); err != nil {
		return err
	}
	c, err := sheet.Compare(a, b)
	if err != nil {
		return err
	}
	answer := export.CompareAnswer(c)
	if o.json {
		err = printJSON(cmd, answer.Document)
	} else {
		r := compareReport{page: newPage(cmd.OutOrStdout()), c: c}
		r.write()
	}
	if err != nil {
		return err
	}
	if err := keepAnswer(cmd, o, answer); err != nil {
		return err
	}
	return outcome(c.B)
}

// loadEither reads a worksheet or a workbook.
func loadEither(cmd *cobra.Command, path string) (*sheet.Sheet, error) {
	if !strings.HasSuffix(strings.ToLower(path), ".xlsx") {
		return load(cmd, path)
	}
	s, list, err := export.ReadWorkbook(path)
	tell(cmd, list)
	if err != nil {
		return nil, err
	}
	if s == nil {
		return nil, errRefused
	}
	return s, nil
}

// compareReport writes a comparison on a page.
type compareReport struct {
	page
	c *sheet.Comparison
}

func (r *compareReport) write() {
	c := r.c
	r.hang("", r.bold("A  "+nameOf(c.A.Sheet)))
	r.hang("", r.bold("B  "+nameOf(c.B.Sheet)))
	r.limits()
	if len(c.Givens)+len(c.Results)+len(c.Limits)+len(c.OnlyA)+len(c.OnlyB) == 0 {
		fmt.Fprintf(r.w, "\nThey are the same: %s alike\n", counted(c.Same, "value", "values"))
		return
	}
	lines := r.lines(c.Givens)
	if len(lines) > 0 {
		fmt.Fprintf(r.w, "\n%s\n", r.bold("Givens that differ, A → B"))
		widths := moveWidths(lines)
		for i, d := range c.Givens {
			r.moves(lines[i:i+1], widths)
			r.why(d)
		}
	}
	r.results()
	r.only("Only in A", c.OnlyA)
	r.only("Only in B", c.OnlyB)
	fmt.Fprintf(r.w, "\n%s, %s; %s alike\n", counted(len(c.Givens), "given differs", "givens differ"), counted(len(c.Results), "result differs", "results differ"), counted(c.Same, "value", "values"))
	fmt.Fprintln(r.w, r.quiet("A: "+confirmedText(c.A.Checked)))
	fmt.Fprintln(r.w, r.quiet("B: "+confirmedText(c.B.Checked)))
}

// nameOf is a sheet's file with its title.
func nameOf(s *sheet.Sheet) string {
	if s.Model.Title == "" {
		return s.Path
	}
	return s.Path + "  " + s.Model.Title
}

// limits writes those whose state differs.
func (r *compareReport) limits() {
	for i, p := range r.c.Limits {
		if i == 0 {
			fmt.Fprintln(r.w)
		}
		l := p.Limit()
		text := fmt.Sprintf("%s in A, %s in B: %s", r.state(r.c.A, p.A), r.state(r.c.B, p.B), l.Text)
		if l.Message != "" {
			text += ": " + l.Message
		}
		kind, style := "limit", r.bold
		if l.Advise {
			kind = "advise"
		}
		if p.B != nil {
			if state, _ := r.c.B.Limit(p.B); state == sheet.Broken {
				kind, style = "BROKEN", r.alarm
			}
		}
		r.finding(kind, style, text)
	}
}

func (r *compareReport) state(result *sheet.Result, l *check.Limit) string {
	if l == nil {
		return "not there"
	}
	state, _ := result.Limit(l)
	return state.String()
}

// lines makes a line of every difference.
func (r *compareReport) lines(list []sheet.ValuePair) []moveLine {
	var out []moveLine
	for _, d := range list {
		out = append(out, r.line(d))
	}
	return out
}

func (r *compareReport) line(d sheet.ValuePair) moveLine {
	l := moveLine{name: d.Name()}
	var symbol string
	var words bool
	l.before, l.symbol, l.text = shown(r.c.A.Sheet, d.Quantity(), d.Before)
	l.after, symbol, words = shown(r.c.B.Sheet, d.ShownInB(), d.After)
	if symbol != "" && symbol != l.symbol && l.symbol != "" {
		l.before, l.after, l.symbol, symbol = l.before+" "+l.symbol, l.after+" "+symbol, "", ""
		l.text = true
	}
	l.text = l.text || words
	if l.symbol == "" {
		l.symbol = symbol
	}
	l.delta, l.percent = deltaText(d.Difference)
	l.blur()
	return l
}

// longColumn is how many rows of one column are shown; the others are counted.
const longColumn = 14

// results writes computed values under their sections.
func (r *compareReport) results() {
	if len(r.c.Results) == 0 {
		return
	}
	fmt.Fprintf(r.w, "\n%s\n", r.bold("Results that differ, A → B"))
	lines := r.lines(r.c.Results)
	widths := moveWidths(lines)
	section, column, rows := "", "", 0
	leave := func() {
		if rows > longColumn {
			fmt.Fprintln(r.w, blanks(indent)+r.quiet(fmt.Sprintf("and %d more rows of %s; -o writes all", rows-longColumn, column)))
		}
	}
	for i, d := range r.c.Results {
		name, origin := "", d.Quantity().Origin
		if d.Column != nil {
			name, origin = d.Column.Table.Name+"."+d.Column.Name, &d.Column.Table.Origin
		}
		if name != column || d.Column == nil {
			leave()
			column, rows = name, 0
		}
		if origin.Section != section {
			section = origin.Section
			fmt.Fprintf(r.w, "\n%s\n", r.bold(cut(section, r.width)))
		}
		if rows++; d.Column == nil || rows <= longColumn {
			r.moves(lines[i:i+1], widths)
			r.why(d)
		}
	}
	leave()
}

// why writes below a line that the two values measure different things.
func (r *compareReport) why(d sheet.ValuePair) {
	if d.Why != "" {
		r.hang(blanks(2*indent), d.Why)
	}
}

func (r *compareReport) only(head string, places []sheet.Place) {
	if len(places) == 0 {
		return
	}
	var names []string
	for _, p := range places {
		names = append(names, p.Name())
	}
	fmt.Fprintf(r.w, "\n%s\n", r.bold(head))
	r.hang(blanks(indent), strings.Join(names, ", "))
}
