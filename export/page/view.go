package page

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"gearleaf/export/chart"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// The document of a page for its template: all values as exported. The script
// finds cells by the attribute data-c, tables by data-table and charts by
// data-chart.
type (
	view struct {
		Title, File, Hash, Confirmed string
		Policy                       string
		Site                         bool
		Style                        template.CSS
		Boot                         template.JS
		Data, Code, Packed           template.HTML // packed, in letters that need no escaping within a script
		Cautions, MoreCautions       []string
		Verdict, Set                 string
		Bad                          bool
		Limits                       []limitView
		KeptLimits                   int
		Failures                     []string
		Advices                      []string
		Givens, Results              []sectionView
		Charts                       []chartView
	}
	limitView struct {
		Index         int
		State, Word   string
		Message, Text string
		Kept          bool
	}
	sectionView struct {
		Name  string
		Items []itemView
	}
	itemView struct {
		Note  string
		Cell  *cellView
		Table *tableView
	}
	cellView struct {
		Place                      int // among the cells of the data
		Name, Label, Value, Remark string
		Fault, HasLabel            bool
	}
	tableView struct {
		Name, Label, Fault string
		Index              int
		Wide               bool
		Again              bool // the table is among the results too, with all its columns
		Columns            []columnView
		Rows               []rowView
		Live               int
		Sampled            bool
		Unended            bool
	}
	columnView struct{ Name, Unit, Label string }
	rowView    struct {
		Number int
		Values []valueView
	}
	valueView struct {
		Text          string
		Number, Fault bool
	}
	chartView struct {
		Index int
		Title string
		SVG   template.HTML
	}
)

// viewer makes the view of one page.
type viewer struct {
	in Input
	s  *sheet.Sheet
	r  *sheet.Result
}

// fewCautions is the number of cautions up to which all are above the verdict.
// If there are more, those of used worksheets, which would push the verdict off
// the screen of a phone, are below the results, and the sheet's own stay on
// top.
const fewCautions = 5

// cautions returns the cautions above the verdict, and those below the results.
func cautions(m *check.Model) (top, more []string) {
	own := m.Files[0].Cautions()
	if len(m.Cautions) <= fewCautions || len(own) == 0 {
		return m.Cautions, nil
	}
	for _, c := range m.Cautions {
		if slices.Contains(own, c) {
			top = append(top, c)
		} else {
			more = append(more, c)
		}
	}
	return top, more
}

func newView(in Input, d *pageData) *view {
	v := &viewer{in: in, s: in.Sheet, r: in.Result}
	out := &view{
		Title: in.Sheet.Model.Title, File: d.File, Hash: d.Hash, Confirmed: confirmedText(in.Result.Checked), Site: in.Site, Set: in.Set,
	}
	out.Cautions, out.MoreCautions = cautions(in.Sheet.Model)
	if out.Title == "" {
		out.Title = "Worksheet"
	}
	v.limits(out)
	for _, f := range v.r.Failures() {
		out.Failures = append(out.Failures, f.Origin+": "+f.Cause)
	}
	for _, a := range v.r.Advices() {
		out.Advices = append(out.Advices, a.Cell+": "+a.Text)
	}
	out.Verdict, out.Bad = verdict(out)
	out.Givens, out.Results = v.sections(true), v.sections(false)
	for i, c := range in.Charts {
		svg := chart.Inline(c, chartWidth, chartHeight)
		out.Charts = append(out.Charts, chartView{i, c.Title, template.HTML(svg)}) //nolint:gosec // chart escapes every text
	}
	return out
}

// Size of a chart without the script, which draws it in the available width.
const (
	chartWidth  = 440
	chartHeight = 300
)

// The words of a limit's state, as in words.js.
var stateWords = map[sheet.LimitState]string{
	sheet.Kept: "kept", sheet.Broken: "BROKEN", sheet.Advised: "advice", sheet.Waiting: "waits",
}

func (v *viewer) limits(out *view) {
	for i, l := range v.s.Model.Limits {
		state, row := v.r.Limit(l)
		text := l.Text
		switch {
		case l.Table != nil && state == sheet.Kept:
			text += ", in every row"
		case state != sheet.Waiting:
			if l.Table != nil && row >= 0 {
				text += fmt.Sprintf(", row %d", row+1)
			}
			text += ": " + v.r.LimitNumbers(l, row)
		}
		if f := v.r.LimitFault(l); f != nil {
			text += "; waits on " + sheet.OriginOf(f)
		}
		out.Limits = append(out.Limits, limitView{
			Index: i, State: state.String(), Word: stateWords[state], Message: l.Message, Text: text, Kept: state == sheet.Kept,
		})
		if state == sheet.Kept {
			out.KeptLimits++
		}
	}
}

// verdict sums up the state of the sheet's limits, as the script does.
func verdict(out *view) (string, bool) {
	broken, waiting, advised := 0, 0, len(out.Advices)
	for _, l := range out.Limits {
		switch l.State {
		case "broken":
			broken++
		case "waiting":
			waiting++
		case "advised":
			advised++
		}
	}
	var parts []string
	add := func(n int, one, many string) {
		if n == 1 {
			parts = append(parts, "1 "+one)
		} else if n > 1 {
			parts = append(parts, fmt.Sprintf("%d %s", n, many))
		}
	}
	add(broken, "limit broken", "limits broken")
	add(len(out.Failures), "fault", "faults")
	add(waiting, "limit waits", "limits wait")
	bad := len(parts) > 0
	if !bad && out.KeptLimits > 0 {
		parts = append(parts, "No limit broken")
	}
	add(advised, "advice", "advices")
	if len(parts) == 0 {
		parts = []string{"Nothing broken; the sheet has no limits"}
	}
	return strings.Join(parts, " · "), bad
}

// sections returns the sheet's sections with their givens, or with everything
// else.
func (v *viewer) sections(givens bool) []sectionView {
	var out []sectionView
	now := sectionView{}
	flush := func() {
		if len(now.Items) > 0 {
			out = append(out, now)
		}
	}
	for item := range v.s.Model.Outline() {
		if item.Section != "" {
			flush()
			now = sectionView{Name: item.Section}
			continue
		}
		if view, ok := v.item(item, givens); ok {
			now.Items = append(now.Items, view)
		}
	}
	flush()
	for i := range out {
		if out[i].Name == "" {
			out[i].Name = "At the top"
		}
	}
	return out
}

// item returns an entry of the outline if it belongs to the requested part.
func (v *viewer) item(item check.Item, givens bool) (itemView, bool) {
	switch {
	case item.Note != "":
		return itemView{Note: item.Note}, !givens
	case item.Cell != nil && !item.Cell.Plugged:
		return itemView{Cell: v.cell(item.Cell)}, item.Cell.Given == givens
	case item.Table != nil && !item.Table.Library:
		all := onlyGivens(item.Table)
		return itemView{Table: v.table(item.Table, givens && !all)}, givens == all || givens && hasGivens(item.Table)
	}
	return itemView{}, false
}

// onlyGivens reports whether nothing of t is computed.
func onlyGivens(t *check.Table) bool {
	for _, c := range t.Columns {
		if !c.Given {
			return false
		}
	}
	return true
}

// hasGivens reports whether somebody types values of t.
func hasGivens(t *check.Table) bool {
	for _, c := range t.Columns {
		if c.Given && t.From == "" {
			return true
		}
	}
	return false
}

func (v *viewer) cell(c *check.Cell) *cellView {
	q := &c.Quantity
	out := &cellView{Place: int(c.Index), Name: c.Name, Label: c.Origin.Label, HasLabel: c.Origin.Label != ""}
	if !out.HasLabel {
		out.Label = c.Name
	}
	out.Value, out.Fault = v.text(q, v.r.Cell(c), true)
	if tolerance := v.s.SpreadText(q); tolerance != "" {
		out.Remark = map[check.ToleranceForm]string{check.Limits: "± ", check.Deviation: "sd "}[q.Tolerance] + tolerance
	}
	if c.Given {
		out.Remark = joined(out.Remark, bounds(v.s, q))
	}
	return out
}

func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// bounds words the range or the choice of a given.
func bounds(s *sheet.Sheet, q *check.Quantity) string {
	switch {
	case q.Range != nil:
		low, _ := s.Shown(q, q.Range[0])
		return low + " to " + s.Text(q, q.Range[1])
	case len(q.Choice) > 0:
		texts := make([]string, len(q.Choice))
		for i, v := range q.Choice {
			texts[i], _ = s.Shown(q, v)
		}
		return strings.Join(texts, ", ")
	}
	return ""
}

// text returns a value as it is shown, and whether it is a fault.
func (v *viewer) text(q *check.Quantity, value sheet.Value, unit bool) (string, bool) {
	switch {
	case value.IsFault():
		return faultText(value), true
	case value.IsBlank():
		return "", false
	case unit:
		return v.s.Text(q, value.V), false
	}
	number, _ := v.s.Shown(q, value.V)
	return number, false
}

// faultText describes why a value is a fault, as in the JSON.
func faultText(value sheet.Value) string {
	f := value.Fault()
	switch {
	case f == nil:
		return "could not be computed"
	case f.WaitsOn != "":
		return "waits on " + f.Origin + ": " + f.Cause
	}
	return f.Cause
}

// Rows of a table that are shown: all of a short one, and of a longer one some
// between the ends.
const (
	shortTable   = 20
	sampledRows  = 5
	narrowColumn = 4 // columns up to which a table fits on a phone
)

func (v *viewer) table(t *check.Table, givens bool) *tableView {
	live, ended := v.r.Live(t)
	out := &tableView{
		Again: givens,
		Name:  t.Name, Label: t.Origin.Label, Fault: t.Fault, Index: t.Index, Live: live,
		Unended: t.Until != 0 && !ended,
	}
	var columns []*check.Column
	for _, c := range t.Columns {
		if givens && !c.Given {
			continue
		}
		columns = append(columns, c)
		out.Columns = append(out.Columns, columnView{c.Name, symbol(c.Unit.Symbol), c.Origin.Label})
	}
	out.Wide = len(columns) > narrowColumn
	rows := SampledRows(live)
	out.Sampled = len(rows) < live
	if out.Fault != "" || givens {
		rows = nil // given entries beside computed ones: the script lists them
	}
	for _, row := range rows {
		view := rowView{Number: row + 1}
		for _, c := range columns {
			view.Values = append(view.Values, v.entry(c, row))
		}
		out.Rows = append(out.Rows, view)
	}
	return out
}

// SampledRows returns the rows, from 0, that a page shows of a table with so
// many live ones.
func SampledRows(live int) []int {
	var out []int
	if live <= shortTable {
		for row := range live {
			out = append(out, row)
		}
		return out
	}
	for i := range sampledRows {
		out = append(out, i*(live-1)/(sampledRows-1))
	}
	return out
}

func (v *viewer) entry(c *check.Column, row int) valueView {
	value := v.r.Entry(c, row)
	out := valueView{
		Number: c.Type.Form == check.Number,
	}
	out.Text, out.Fault = v.text(&c.Quantity, value, false)
	if out.Fault && kernel.IsFault(value.V) {
		out.Text = "fault"
	}
	return out
}

// symbol returns a unit as it is beside a number.
func symbol(s string) string {
	if s == "1" {
		return ""
	}
	return s
}

// confirmedText gives the number of values that the second evaluator has
// confirmed.
func confirmedText(c sheet.Checked) string {
	if c.Whole() && c.Of == 1 {
		return "1 value, confirmed by the second evaluator"
	}
	if c.Whole() {
		return fmt.Sprintf("%d values, each confirmed by the second evaluator", c.Of)
	}
	return fmt.Sprintf("%d of %d values confirmed by the second evaluator, all limits too", c.Tasks, c.Of)
}

// value returns the value that a given has: of a setting, or of the text.
func (in Input) value(p sheet.Place) float64 {
	for i := len(in.Sheet.Settings) - 1; i >= 0; i-- {
		if s := in.Sheet.Settings[i]; s.Cell == p.Cell && s.Column == p.Column && (s.Cell != nil || s.Row == p.Row) {
			return s.Value
		}
	}
	if p.Cell != nil {
		return p.Cell.Value
	}
	return p.Column.Values[p.Row]
}
