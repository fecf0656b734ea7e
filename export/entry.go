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

// rule is what may be entered in a cell. Cells of one rule share it.
type rule struct {
	kind   excelize.DataValidationType
	lo, hi float64
	list   string // a range of cells, or the items themselves
	say    string
}

// validateCells guards every entry of the front tab.
func (wb *workbook) validateCells() error {
	var cells []guarded
	for _, l := range wb.front {
		if l.kind == givenLine {
			cells = append(cells, guarded{at(valueColumn, wb.cells[l.cell.Index].row), &l.cell.Quantity})
		}
	}
	return wb.validate(wb.frontTab, cells)
}

// guarded is a cell, or a run of cells, with what may be entered there.
type guarded struct {
	ref string
	q   *check.Quantity
}

// validate adds the rules of a tab's cells, each rule once.
func (wb *workbook) validate(tab string, cells []guarded) error {
	var order []rule
	refs := map[rule][]string{}
	for _, c := range cells {
		r, ok := wb.ruleOf(c.q)
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

// ruleOf returns what may be entered; false where anything may.
func (wb *workbook) ruleOf(q *check.Quantity) (rule, bool) {
	u := shownUnit(q.Unit)
	in := symbol(u)
	if in != "" {
		in = " " + in
	}
	switch {
	case len(q.Choice) > 0:
		return rule{kind: excelize.DataValidationTypeList, list: wb.choices(q), say: "Choose one of " + allowed(wb.m, q) + in + "."}, true
	case q.Type.Form == check.Truth:
		return rule{kind: excelize.DataValidationTypeList, list: "TRUE,FALSE", say: "Choose TRUE or FALSE."}, true
	case q.Type.Form == check.Text:
		return rule{}, false
	}
	r := rule{kind: excelize.DataValidationTypeDecimal, lo: -1e30, hi: 1e30, say: "Enter a number" + in + "."}
	if q.Whole {
		r.kind, r.lo, r.hi, r.say = excelize.DataValidationTypeWhole, -1e9, 1e9, "Enter a whole number"+in+"."
	}
	if q.Range != nil {
		r.lo, r.hi = trimmed(u.Shown(q.Range[0])), trimmed(u.Shown(q.Range[1]))
		if r.lo > r.hi {
			r.lo, r.hi = r.hi, r.lo
		}
		r.say = strings.TrimSuffix(r.say, ".") + " from " + literal(r.lo) + " to " + literal(r.hi) + "."
	}
	return r, true
}

// trimmed removes the rounding error of a conversion from a number that was
// typed.
func trimmed(v float64) float64 { return unit.Significant(v, 15) }

// choices returns the items of a list: written out if a spreadsheet reads them
// the same in every locale, otherwise the range of steps that holds them.
func (b *book) choices(q *check.Quantity) string {
	if list, known := b.lists[q]; known {
		return list
	}
	items := make([]string, len(q.Choice))
	simple := true
	for i, v := range q.Choice {
		items[i] = choiceText(b.m, q, v)
		if q.Type.Form == check.Truth {
			items[i] = truthText(v)
		}
		simple = simple && !strings.ContainsAny(items[i], `,."!`) && strings.TrimSpace(items[i]) == items[i] && items[i] != ""
	}
	list := clean(strings.Join(items, ","))
	if !simple || len(list) > 250 {
		list = b.listOf(q)
	}
	b.lists[q] = list
	return list
}

// listOf puts the items of a choice into steps below one another.
func (b *book) listOf(q *check.Quantity) string {
	first := stepsHead + len(b.steps) + 1
	for _, v := range q.Choice {
		text := ""
		switch q.Type.Form {
		case check.Text:
			text = quoteText(b.m.Texts[int(v)])
		case check.Truth:
			text = truthText(v)
		default:
			text = literal(trimmed(shownUnit(q.Unit).Shown(v)))
		}
		b.steps = append(b.steps, scalarStep{what: q.Name + ", a choice", text: text})
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
		if err := v.SetRange(r.lo, r.hi, r.kind, excelize.DataValidationOperatorBetween); err != nil {
			return err
		}
	case strings.Contains(r.list, "!"):
		v.SetSqrefDropList(r.list)
	default:
		if err := v.SetDropList(strings.Split(r.list, ",")); err != nil {
			return err
		}
	}
	v.SetError(excelize.DataValidationErrorStyleStop, "Not possible", cutRunes(clean(r.say), 220))
	return wb.f.AddDataValidation(tab, v)
}

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
