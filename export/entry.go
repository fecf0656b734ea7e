package export

import (
	"math"
	"strconv"
	"strings"

	"gearleaf/sheet/unit"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// rule restricts the entries of a cell. Cells with equal rules share one.
type rule struct {
	kind   excelize.DataValidationType
	lo, hi float64
	list   string // a range of cells, or the items themselves
	say    string
	bounds string // shown when an entry is refused, in addition to say
	advice bool   // a warning, which can be dismissed
}

// validateCells guards every entry in the lines of a tab.
func (wb *workbook) validateCells(tab *leaf) error {
	var cells []guarded
	for i, l := range tab.lines {
		switch {
		case l.kind == givenLine:
			cells = append(cells, guarded{at(valueColumn, i+1), &l.cell.Quantity, []float64{l.cell.Value}, false})
		case l.kind == tableRowLine && l.row == 0:
			cells = append(cells, wb.guardedColumns(l.tab)...)
		}
	}
	if err := wb.allDigits(tab.name, cells); err != nil {
		return err
	}
	return wb.validate(tab.name, cells)
}

// guarded is a cell, or a run of cells, and the given entered there.
type guarded struct {
	ref    string
	q      *check.Quantity
	values []float64 // the worksheet's values, in SI
	tick   bool      // to be ticked
}

// validate adds the rules of a tab's cells, each rule once.
func (wb *workbook) validate(tab string, cells []guarded) error {
	var order []rule
	refs := map[rule][]string{}
	for _, c := range cells {
		r, ok := wb.ruleOf(c.q, c.values)
		if c.tick {
			r, ok = rule{kind: excelize.DataValidationTypeList, list: tickMark, say: "Tick with " + tickMark + ".", advice: true}, true
		}
		if !ok {
			continue
		}
		if refs[r] == nil {
			order = append(order, r)
		}
		refs[r] = append(refs[r], c.ref)
	}
	for _, r := range order {
		if err := wb.addRule(tab, r, strings.Join(refs[r], " ")); err != nil {
			return err
		}
	}
	return nil
}

// ruleOf returns the rule for entries; false if anything is allowed. A choice,
// a logical value and a whole number are enforced, as in the language; a range
// is an advice.
func (wb *workbook) ruleOf(q *check.Quantity, values []float64) (rule, bool) {
	in := ""
	if symbol(q.Unit) != "" {
		in = " " + symbol(q.Unit)
	}
	switch {
	case len(q.Choice) > 0:
		return rule{kind: excelize.DataValidationTypeList, list: wb.choices(q), say: "One of " + allowedChoices(wb.m, q) + strings.TrimSuffix(in, percentSign(q.Unit))}, true
	case q.Type.Form == check.Truth:
		return rule{kind: excelize.DataValidationTypeList, list: yesWord + "," + noWord, say: "yes or no"}, true
	case q.Type.Form == check.Text:
		return rule{}, false
	}
	r := rule{kind: excelize.DataValidationTypeDecimal, say: "A number"}
	if q.Whole {
		r.kind, r.say = excelize.DataValidationTypeWhole, "A whole number"
	}
	if q.Range != nil {
		u := shownUnit(q.Unit)
		lo, hi := trimmed(u.Shown(q.Range[0])), trimmed(u.Shown(q.Range[1]))
		r.lo, r.hi = trimmed(min(lo, hi)*cellFactor(q.Unit)), trimmed(max(lo, hi)*cellFactor(q.Unit))
		r.say += " from " + literal(min(lo, hi)) + " to " + literal(max(lo, hi)) + in
		r.advice = true
		return r, true
	}
	if in != "" {
		r.say += ", in" + in
	}
	r.lo, r.hi = soundBounds(q, values)
	r.bounds = ", from " + literal(trimmed(r.lo/cellFactor(q.Unit))) + " to " + literal(trimmed(r.hi/cellFactor(q.Unit)))
	return r, true
}

// cellFactor turns a number in the shown unit into that of the cell.
func cellFactor(u unit.Unit) float64 {
	if isPercent(u) {
		return 0.01
	}
	return 1
}

// soundBounds returns bounds for a given without a range: an entry beyond them
// is a mistake. They are some thousand times the present value, and not below
// absolute zero.
func soundBounds(q *check.Quantity, values []float64) (lo, hi float64) {
	u := cellUnit(q.Unit)
	largest, negative := 0.0, false
	for _, v := range values {
		if v == v {
			largest, negative = max(largest, math.Abs(u.Shown(v))), negative || v < 0
		}
	}
	hi = 1e6
	if largest > 0 {
		hi = math.Pow10(int(math.Ceil(float64(math.Log10(largest))-1e-12)) + 3)
	}
	if isPercent(q.Unit) {
		hi = max(10, 10*largest)
	}
	lo = -hi
	switch {
	case q.Whole && !negative:
		lo = 0
	case u.Measure.Kind == unit.Absolute:
		lo = trimmed(u.Shown(0))
	}
	return lo, max(hi, largest)
}

// choices returns the items of a list: written out if a spreadsheet reads them
// in the same way in every locale, otherwise as a range of steps.
func (b *book) choices(q *check.Quantity) string {
	if list, known := b.lists[q]; known {
		return list
	}
	items := make([]string, len(q.Choice))
	simple := true
	for i, v := range q.Choice {
		items[i] = choiceText(b.m, q, v)
		simple = simple && !strings.ContainsAny(items[i], `,."!`) && strings.TrimSpace(items[i]) == items[i] && items[i] != ""
	}
	list := clean(strings.Join(items, ","))
	if !simple || len(list) > 250 {
		list = b.listOf(q)
	}
	b.lists[q] = list
	return list
}

// listOf puts the items of a choice into steps below each other.
func (b *book) listOf(q *check.Quantity) string {
	first := stepsHead + len(b.steps) + 1
	for _, v := range q.Choice {
		text, format := "", ""
		switch q.Type.Form {
		case check.Text:
			text = quoteText(b.m.Texts[int(v)])
		case check.Truth:
			text = quoteText(yesNo(v))
		default:
			text = literal(trimmed(cellUnit(q.Unit).Shown(v)))
			if isPercent(q.Unit) {
				format = percentFormat(q, shownUnit(q.Unit).Clean(v))
			}
		}
		b.steps = append(b.steps, scalarStep{what: q.Name + ", a choice", text: text, format: format})
	}
	return b.stepsTab + "!" + fixed(stepsColumn, first) + ":" + fixed(stepsColumn, first+len(q.Choice)-1)
}

// addRule blocks entries that a rule does not allow and shows the rule.
func (wb *workbook) addRule(tab string, r rule, refs string) error {
	v := excelize.NewDataValidation(r.kind == excelize.DataValidationTypeDecimal || r.kind == excelize.DataValidationTypeWhole)
	v.AllowBlank = false
	v.Sqref = refs
	switch {
	case r.kind != excelize.DataValidationTypeList:
		if err := v.SetRange(typedNumber(r.lo), typedNumber(r.hi), r.kind, excelize.DataValidationOperatorBetween); err != nil {
			return err
		}
	case strings.Contains(r.list, "!"):
		v.SetSqrefDropList(r.list)
	default:
		if err := v.SetDropList(strings.Split(r.list, ",")); err != nil {
			return err
		}
	}
	say := clean(r.say)
	if r.advice {
		v.SetError(excelize.DataValidationErrorStyleWarning, "Outside the range", cutRunes("The worksheet expects "+lowerFirst(say)+".", 220))
	} else {
		v.SetError(excelize.DataValidationErrorStyleStop, "Not possible", cutRunes("The cell takes "+lowerFirst(say)+r.bounds+".", 220))
	}
	v.SetInput("", cutRunes(say, 250))
	return wb.f.AddDataValidation(tab, v)
}

// lowerFirst returns a phrase as it continues a sentence.
func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// stateOf returns the present state of a condition.
func (wb *workbook) stateOf(c *checkPlan) string {
	if c.limit != nil {
		state, _ := wb.r.Limit(c.limit)
		return state.String()
	}
	state, _ := wb.r.Advice(c.index)
	return state.String()
}

// placeOf returns the row in which a condition is broken now.
func (wb *workbook) placeOf(c *checkPlan) string {
	var state sheet.LimitState
	var row int
	if c.limit != nil {
		state, row = wb.r.Limit(c.limit)
	} else {
		state, row = wb.r.Advice(c.index)
	}
	if state == sheet.Kept || state == sheet.Waiting {
		return ""
	}
	return "row " + strconv.Itoa(row+1)
}

// isWhole reports whether a number is one that a spreadsheet's whole-number
// entry takes.
func isWhole(v float64) bool { return v == math.Trunc(v) }
