package main

import (
	"fmt"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// report writes a computed sheet as a sheet of paper, in the order in which it
// is looked at: what is wrong, then the cautions, then the sheet as it reads.
type report struct {
	page
	sheet  *sheet.Sheet
	result *sheet.Result
	full   bool
}

func (r *report) write() {
	r.title()
	r.findings()
	r.cautions()
	r.body()
	r.limits()
	r.advices()
	r.confirmed()
}

func (r *report) title() {
	title := r.sheet.Model.Title
	if title == "" {
		title = r.sheet.Path
	}
	for _, part := range wrap(title, r.width) {
		fmt.Fprintln(r.w, r.bold(part))
	}
}

// word is the width of the words that stand left of findings.
const word = 9

// finding writes one thing to look at: a word, and text hanging beside it.
func (p page) finding(kind string, style func(string) string, text string) {
	head := style(kind) + blanks(word-width(kind))
	for _, part := range wrap(text, p.width-word) {
		fmt.Fprintln(p.w, head+part)
		head = blanks(word)
	}
}

// findings writes broken limits and faults.
func (r *report) findings() {
	var broken []*check.Limit
	for _, l := range r.sheet.Model.Limits {
		if state, _ := r.result.Limit(l); state == sheet.Broken {
			broken = append(broken, l)
		}
	}
	failures := r.result.Failures()
	if len(broken)+len(failures) == 0 {
		return
	}
	fmt.Fprintln(r.w)
	for _, l := range broken {
		r.finding("BROKEN", r.alarm, limitStory(r.result, l))
	}
	for _, f := range failures {
		r.finding("FAULT", r.alarm, failureText(f))
	}
}

// limitStory tells a limit with the values that stand in it.
func limitStory(r *sheet.Result, l *check.Limit) string {
	_, row := r.Limit(l)
	text := l.Text
	if values := limitValues(r, l, row); values != "" {
		text += " (" + values + ")"
	}
	if l.Message != "" {
		text = l.Message + ": " + text
	}
	return text
}

// limitValues names the values that a limit leans on: "top_speed 193.2 mph".
func limitValues(r *sheet.Result, l *check.Limit, row int) string {
	var parts []string
	for _, p := range r.Sheet.Mentioned(l, row) {
		if p.Row == sheet.Whole {
			continue
		}
		number, symbol, _ := shown(r.Sheet, p.Quantity(), r.At(p))
		parts = append(parts, strings.TrimRight(p.Name()+" "+number+" "+symbol, " "))
	}
	return strings.Join(parts, ", ")
}

func failureText(f sheet.Failure) string {
	text := f.Origin + ": " + f.Cause
	switch n := len(f.Waiting); {
	case n == 1:
		text += "; " + f.Waiting[0] + " waits on it"
	case n > 1 && n <= 3:
		text += "; " + strings.Join(f.Waiting, ", ") + " wait on it"
	case n > 3:
		text += fmt.Sprintf("; %s and %d more wait on it", strings.Join(f.Waiting[:2], ", "), n-2)
	}
	return text
}

func (r *report) cautions() {
	if len(r.sheet.Model.Cautions) == 0 {
		return
	}
	fmt.Fprintln(r.w)
	for _, c := range r.sheet.Model.Cautions {
		r.finding("caution", r.warn, c)
	}
}

// body writes sections, cells, tables and notes as they read. Lines of one
// sheet share their columns, so that the eye runs down them.
func (r *report) body() {
	var lines []line
	for _, item := range r.sheet.Model.Outline {
		if item.Cell != nil {
			lines = append(lines, cellLine(r.result, item.Cell))
		}
	}
	widths, next := measure(lines), 0
	gap := true
	for _, item := range r.sheet.Model.Outline {
		switch {
		case item.Section != "":
			fmt.Fprintf(r.w, "\n%s\n", r.bold(cut(item.Section, r.width)))
			gap = false
		case item.Note != "":
			r.note(item.Note)
		case item.Cell != nil:
			if gap {
				fmt.Fprintln(r.w)
			}
			r.print(lines[next], widths)
			next++
			gap = false
		case item.Table != nil:
			fmt.Fprintln(r.w)
			r.table(item.Table)
			gap = true
		}
	}
}

func (p page) note(text string) {
	for _, part := range wrap(text, p.width-indent) {
		fmt.Fprintln(p.w, blanks(indent)+part)
	}
}

// table writes t with a legend of its columns' labels.
func (r *report) table(t *check.Table) {
	head := t.Name
	if label := t.Origin.Label; label != "" {
		head += "  " + label
	}
	fmt.Fprintln(r.w, blanks(indent)+r.bold(cut(head, r.width-indent)))
	live, ended := r.result.Live(t)
	switch {
	case t.Fault != "":
		r.finding("  fault", r.alarm, t.Fault)
		return
	case live == 0:
		fmt.Fprintln(r.w, blanks(indent)+r.quiet("no rows"))
		return
	}
	rows := tableRows(live, r.full)
	columns := tableGrid(r.result, t.Columns, rows)
	if len(rows) < live {
		columns = append([]*gridColumn{rowNumbers(rows)}, columns...)
	}
	r.grid(columns, indent)
	if len(rows) < live {
		fmt.Fprintln(r.w, blanks(indent)+r.quiet(fmt.Sprintf("%d of %d rows; --full shows all", len(rows)-1, live)))
	}
	if t.Until != 0 && !ended {
		fmt.Fprintln(r.w, blanks(indent)+r.warn("its until never held: whole-column results are at fault"))
	}
	r.legend(t.Columns)
}

func (r *report) legend(columns []*check.Column) {
	for _, c := range columns {
		if c.Origin.Label == "" {
			continue
		}
		text := c.Name + ": " + c.Origin.Label
		for i, part := range wrap(text, r.width-2*indent-2) {
			fmt.Fprintln(r.w, blanks(indent+2*min(i, 1))+r.quiet(part))
		}
	}
}

// limits writes every limit with its state in a word.
func (r *report) limits() {
	var lines []*check.Limit
	for _, l := range r.sheet.Model.Limits {
		if !l.Advise {
			lines = append(lines, l)
		}
	}
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(r.w, "\n%s\n", r.bold("Limits"))
	for _, l := range lines {
		r.limit(l)
	}
}

func (r *report) limit(l *check.Limit) {
	state, _ := r.result.Limit(l)
	switch state {
	case sheet.Broken:
		r.finding("  BROKEN", r.alarm, limitStory(r.result, l))
	case sheet.Waiting:
		text := limitStory(r.result, l)
		if f := r.result.LimitFault(l); f != nil {
			text += "; waits on " + f.Origin
		}
		r.finding("  waits", r.warn, text)
	default:
		r.finding("  kept", plain, limitStory(r.result, l))
	}
}

// advices writes the advise lines that do not hold, and what cells advise.
func (r *report) advices() {
	var texts []string
	for _, l := range r.sheet.Model.Limits {
		if state, _ := r.result.Limit(l); l.Advise && state != sheet.Kept {
			texts = append(texts, limitStory(r.result, l))
		}
	}
	for _, a := range r.result.Advices() {
		texts = append(texts, a.Cell+": "+a.Text)
	}
	if len(texts) == 0 {
		return
	}
	fmt.Fprintf(r.w, "\n%s\n", r.bold("Advice"))
	for _, text := range texts {
		r.finding("  advice", r.warn, text)
	}
}

// confirmed says how much the second evaluator has confirmed.
func (r *report) confirmed() {
	fmt.Fprintln(r.w)
	fmt.Fprintln(r.w, r.quiet(confirmedText(r.result.Checked)))
}

func confirmedText(c sheet.Checked) string {
	if c.Whole() {
		return fmt.Sprintf("%d values, each confirmed by the second evaluator", c.Of)
	}
	return fmt.Sprintf("%d of %d values confirmed by the second evaluator, every limit among them", c.Tasks, c.Of)
}
