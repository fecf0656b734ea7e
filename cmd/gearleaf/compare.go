package main

import (
	"fmt"
	"maps"
	"slices"
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

const compareExample = `  gearleaf change bike.leaf rear_sprocket=44 -o taller.xlsx
  gearleaf compare bike.leaf taller.xlsx
  gearleaf new sprocket-change friday.leaf
  gearleaf compare bike.leaf friday.leaf -o differences.csv`

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
	cmd.Flags().StringVarP(&o.output, "output", "o", "", outputUsage)
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
	if err := keepAnswer(cmd, b, o, answer); err != nil {
		return err
	}
	return outcome(c.B)
}

// loadEither reads a worksheet or a workbook.
func loadEither(cmd *cobra.Command, path string) (*sheet.Sheet, error) {
	if !isWorkbook(path) {
		return load(cmd, path)
	}
	s, list, err := export.ReadWorkbook(path)
	diagnose(cmd, list)
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
		var moved []sheet.Place
		for _, d := range c.Givens {
			moved = append(moved, d.Place)
		}
		for _, p := range c.A.Sheet.Ends(moved) {
			r.hang(blanks(indent), p.Name()+" reaches nothing: no formula and no limit reads it")
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

// results writes computed values under their sections: cells a line each,
// tables as tables. Differences below the shown digits are counted.
func (r *compareReport) results() {
	if len(r.c.Results) == 0 {
		return
	}
	fmt.Fprintf(r.w, "\n%s\n", r.bold("Results that differ, A → B"))
	section, blurred, gap := "", 0, true
	for list := r.c.Results; len(list) > 0; {
		n := 1
		if list[0].Column != nil && list[0].Why == "" {
			n = ofTable(list)
		} else {
			n = ofSection(list)
		}
		part, origin := list[:n], originOf(list[0])
		list = list[n:]
		seen := slices.DeleteFunc(slices.Clone(part), func(d sheet.ValuePair) bool { return r.line(d).delta == about })
		blurred += len(part) - len(seen)
		if len(seen) == 0 {
			continue
		}
		head := ""
		if origin.Section != section {
			section, head = origin.Section, origin.Section
		}
		table := seen[0].Column != nil && seen[0].Why == ""
		r.sectionHead(head, table, gap)
		if gap = table; table {
			r.table(seen)
			continue
		}
		lines := r.lines(seen)
		widths := moveWidths(lines)
		for i, d := range seen {
			r.moves(lines[i:i+1], widths)
			r.why(d)
		}
	}
	if blurred > 0 {
		fmt.Fprintln(r.w)
		r.hang("", fmt.Sprintf("%s less than the shown digits; -o writes all", counted(blurred, "more differs by", "more differ by")))
	}
}

// originOf is the origin of a value; for an entry that of its table.
func originOf(d sheet.ValuePair) *check.Origin {
	if d.Column != nil {
		return &d.Column.Table.Origin
	}
	return d.Quantity().Origin
}

// ofTable counts the values at the beginning of list that are in one table.
func ofTable(list []sheet.ValuePair) int {
	n := 1
	for n < len(list) && list[n].Column != nil && list[n].Why == "" && list[n].Column.Table == list[0].Column.Table {
		n++
	}
	return n
}

// ofSection counts the values at the beginning of list that are lines of one
// section.
func ofSection(list []sheet.ValuePair) int {
	n := 1
	for n < len(list) && (list[n].Column == nil || list[n].Why != "") && originOf(list[n]).Section == originOf(list[0]).Section {
		n++
	}
	return n
}

// table writes the entries of one table that differ, rows down and columns
// across; if there are many rows, the first and the last.
func (r *compareReport) table(list []sheet.ValuePair) {
	t := list[0].Column.Table
	r.tableHead(t, "")
	var columns []*check.Column
	at := map[*check.Column]map[int]sheet.ValuePair{}
	differ := map[int]bool{}
	for _, d := range list {
		if at[d.Column] == nil {
			at[d.Column] = map[int]sheet.ValuePair{}
			columns = append(columns, d.Column)
		}
		at[d.Column][d.Row] = d
		differ[d.Row] = true
	}
	all := slices.Sorted(maps.Keys(differ))
	var rows []int
	for _, k := range tableRows(len(all), false) {
		if k >= 0 {
			k = all[k]
		}
		rows = append(rows, k)
	}
	grid := []*gridColumn{rowNumbers(rows)}
	if live, _ := r.c.A.Live(t); at[t.Columns[0]] == nil && len(rows) == len(all) && all[len(all)-1] < live {
		grid = tableGrid(r.c.A, t.Columns[:1], rows)
	}
	for _, c := range columns {
		var fields []twoFields
		for _, row := range rows {
			f := twoFields{left: row < 0}
			if d, differs := at[c][row]; differs {
				l := r.line(d)
				f.before, f.after = l.before, l.after
			}
			fields = append(fields, f)
		}
		grid = append(grid, arrowColumn(c, fields))
	}
	r.grid(grid, indent)
	if len(rows) < len(all) {
		fmt.Fprintln(r.w, blanks(indent)+r.quiet(fmt.Sprintf("%d of %d rows; -o writes all", len(rows)-1, len(all))))
	}
}

// why writes below a line that the two values have different measures.
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
