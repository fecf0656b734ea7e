package main

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

// report writes a computed sheet in the order in which it is read: broken
// limits and faults, then the cautions, then the sheet in its own order.
type report struct {
	page
	sheet  *sheet.Sheet
	result *sheet.Result
	full   bool
	own    bool   // leave out used worksheets
	parts  *parts // the parts to show, nil for all
}

func (r *report) write() {
	r.title()
	r.verdict()
	r.findings()
	r.settings()
	r.cautions()
	r.body()
	r.limits()
	r.advices(nil)
	r.usedCautions()
	r.confirmed()
	r.partsHint()
}

// partsHint names the flags that show part of a long report, such as that of a
// book.
func (r *report) partsHint() {
	if len(r.sheet.Model.Files) > 1 && !r.own && len(sectionNames(r.sheet)) > 1 {
		r.hang("", r.quiet("--section NAME or --table NAME shows a part, --own leaves out the worksheets that this one uses"))
	}
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

// verdict writes the number of broken limits, of all limits and of faults
// first. The findings follow.
func (r *report) verdict() {
	text, trouble := r.result.Verdict()
	if text == "" {
		return
	}
	if trouble {
		text = r.alarm(text)
	}
	fmt.Fprintf(r.w, "\n%s\n", text)
}

// settings writes the values that --set has replaced: paper must show that it
// is not the worksheet alone.
func (r *report) settings() {
	for i, set := range r.sheet.Overrides() {
		if i == 0 {
			fmt.Fprintln(r.w)
		}
		text := fmt.Sprintf("%s %s in this run", set.Name(), r.sheet.Text(set.Quantity(), set.Value))
		if set.Was == set.Was {
			text += ", " + r.sheet.Text(set.Quantity(), set.Was) + " in the worksheet"
		}
		r.finding("set", r.warn, text)
	}
}

// word is the width of the words to the left of findings.
const word = 9

// finding writes one finding: a word, and a text beside it.
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
		r.broken("BROKEN", "", r.result, l)
	}
	for _, f := range failures {
		r.finding("FAULT", r.alarm, failureText(f))
	}
}

// broken writes a limit that does not hold: its message, and below it the
// condition.
func (p page) broken(kind, when string, r *sheet.Result, l *check.Limit) {
	if l.Message == "" {
		p.finding(kind, p.alarm, when+limitText(r, l))
		return
	}
	p.finding(kind, p.alarm, when+l.Message)
	p.finding("", plain, limitText(r, l))
}

// sectionHead separates the next item: by the section's name if a section
// begins, by an empty line before a table or a gap.
func (p page) sectionHead(section string, table, gap bool) {
	if section != "" {
		fmt.Fprintf(p.w, "\n%s\n", p.bold(cut(section, p.width)))
	}
	if table || section == "" && gap {
		fmt.Fprintln(p.w)
	}
}

// limitText is the condition of a limit, then the same with numbers.
func limitText(r *sheet.Result, l *check.Limit) string {
	state, row := r.Limit(l)
	text := l.Text
	if l.Table != nil && state != sheet.Kept && row >= 0 {
		text += fmt.Sprintf(", row %d", row+1)
	}
	if l.Table != nil && state == sheet.Kept {
		return text + ", in every row"
	}
	if numbers := r.LimitNumbers(l, row); state != sheet.Waiting && numbers != l.Text {
		text += ":  " + numbers
	}
	return text
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

// cautions writes the cautions of the worksheet itself.
func (r *report) cautions() { r.cautionList(ownCautions(r.sheet)) }

// usedCautions writes those of the worksheets that it uses: below the results,
// which many cautions would push off the screen.
func (r *report) usedCautions() {
	if r.own {
		return
	}
	own := ownCautions(r.sheet)
	var used []string
	for _, c := range r.sheet.Model.Cautions {
		if !slices.Contains(own, c) {
			used = append(used, c)
		}
	}
	r.cautionList(used)
}

// cautionList writes cautions, each once: worksheets that are used together
// share some.
func (r *report) cautionList(cautions []string) {
	if len(cautions) == 0 {
		return
	}
	fmt.Fprintln(r.w)
	written := map[string]bool{}
	for _, c := range cautions {
		if !written[c] {
			r.finding("caution", r.warn, c)
		}
		written[c] = true
	}
}

// ownCautions are the cautions of the worksheet itself.
func ownCautions(s *sheet.Sheet) []string {
	var own []string
	for _, stmt := range s.Model.Files[0].Tree().Stmts {
		if c, ok := stmt.(*syntax.Caution); ok {
			own = append(own, c.Text.Text)
		}
	}
	return own
}

// outline yields the shown items of the sheet's outline.
func (r *report) outline(yield func(check.Item) bool) {
	section := ""
	for item := range r.sheet.Model.Outline() {
		if item.Section != "" {
			section = item.Section
			if r.parts != nil && !r.sectionShown(section) {
				continue
			}
		}
		shown := item.Section != "" || r.parts.shows(item, section)
		if shown && (!r.own || item.File == 0) && !yield(item) {
			return
		}
	}
}

// sectionShown reports whether anything of a section is shown.
func (r *report) sectionShown(name string) bool {
	if r.parts.sections[name] {
		return true
	}
	section := ""
	for item := range r.sheet.Model.Outline() {
		if item.Section != "" {
			section = item.Section
		}
		if section == name && item.Table != nil && r.parts.tables[item.Table.Name] {
			return true
		}
	}
	return false
}

// body writes sections, cells, tables and notes in reading order. Lines of one
// sheet have the same columns. A section with only limits is left out: all
// limits are at the end.
func (r *report) body() {
	var lines []line
	for item := range r.outline {
		if item.Cell != nil {
			lines = append(lines, cellLine(r.result, item.Cell))
		}
	}
	widths := measure(lines)
	section, gap := "", true
	for item := range r.outline {
		if item.Section != "" {
			section = item.Section
			continue
		}
		if item.Cell == nil && item.Table == nil && item.Note == "" {
			continue
		}
		r.sectionHead(section, item.Table != nil, gap)
		section, gap = "", item.Table != nil
		switch {
		case item.Note != "":
			r.note(item.Note)
			gap = true
		case item.Cell != nil:
			r.print(lines[0], widths)
			lines = lines[1:]
		default:
			r.table(item.Table)
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
	r.tableHead(t, "")
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
		fmt.Fprintln(r.w, blanks(indent)+r.warn("its until did not end it: whole-column results are at fault"))
	}
	r.legend(t.Columns)
}

// tableHead writes the name of t, its state, and its label beside it.
func (p page) tableHead(t *check.Table, state string) {
	name := t.Name + state
	if t.Origin.Label == "" {
		fmt.Fprintln(p.w, blanks(indent)+p.bold(name))
		return
	}
	head, at := blanks(indent)+p.bold(name)+"  ", indent+width(name)+2
	for _, part := range wrap(t.Origin.Label, p.width-at) {
		fmt.Fprintln(p.w, head+part)
		head = blanks(at)
	}
}

func (r *report) legend(columns []*check.Column) {
	for _, c := range columns {
		if c.Origin.Label == "" {
			continue
		}
		for i, part := range wrap(c.Name+": "+c.Origin.Label, r.width-2*indent-2) {
			fmt.Fprintln(r.w, blanks(indent+2*min(i, 1))+r.quiet(part))
		}
	}
}

// limits writes every limit with its state in a word.
func (r *report) limits() {
	var lines []*check.Limit
	kept := 0
	for _, l := range r.sheet.Model.Limits {
		state, _ := r.result.Limit(l)
		switch {
		case l.Advise, r.parts != nil && !r.parts.sections[l.Origin.Section]:
		case r.own && l.Origin.File != 0 && state == sheet.Kept:
			kept++
		default:
			lines = append(lines, l)
		}
	}
	if len(lines)+kept == 0 {
		return
	}
	fmt.Fprintf(r.w, "\n%s\n", r.bold("Limits"))
	for _, l := range lines {
		r.limit(l)
	}
	if kept > 0 {
		r.finding("  kept", plain, fmt.Sprintf("%d more in the worksheets that it uses", kept))
	}
}

func (r *report) limit(l *check.Limit) {
	text := limitText(r.result, l)
	switch state, _ := r.result.Limit(l); state {
	case sheet.Broken:
		r.finding("  BROKEN", r.alarm, text)
	case sheet.Waiting:
		if f := r.result.LimitFault(l); f != nil {
			text += "; waits on " + sheet.OriginOf(f)
		}
		r.finding("  waits", r.warn, text)
	default:
		r.finding("  kept", plain, text)
	}
}

// advices writes the advise lines that do not hold and are not written yet, and
// the advices of cells.
func (r *report) advices(written map[*check.Limit]bool) {
	head := func() { fmt.Fprintf(r.w, "\n%s\n", r.bold("Advice")) }
	headed := sync.OnceFunc(head)
	for _, l := range r.sheet.Model.Limits {
		state, _ := r.result.Limit(l)
		if !l.Advise || state == sheet.Kept || written[l] {
			continue
		}
		headed()
		if state == sheet.Waiting {
			r.limit(l)
			continue
		}
		text := l.Message
		if text == "" {
			text = limitText(r.result, l)
		}
		r.finding("  advice", r.warn, text)
		if l.Message != "" {
			r.finding("", plain, limitText(r.result, l))
		}
	}
	for _, a := range r.result.Advices() {
		headed()
		r.finding("  advice", r.warn, a.Cell+": "+a.Text)
	}
}

// confirmed writes the number of values that the second evaluator has
// confirmed.
func (r *report) confirmed() {
	fmt.Fprintln(r.w)
	fmt.Fprintln(r.w, r.quiet(confirmedText(r.result.Checked)))
}

func confirmedText(c sheet.Checked) string {
	if c.Whole() && c.Of == 1 {
		return "1 value, confirmed by the second evaluator"
	}
	if c.Whole() {
		return fmt.Sprintf("%d values, each confirmed by the second evaluator", c.Of)
	}
	return fmt.Sprintf("%d of %d values confirmed by the second evaluator, all limits too", c.Tasks, c.Of)
}
