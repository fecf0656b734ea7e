package export

import (
	"fmt"
	"strconv"
	"strings"
)

// The tab of limits lists them in the sheet's order, with both sides and the
// margin. The front lists them in the order that this tab computes: broken,
// advised, waiting, kept.

// The columns of that tab; those from the exact values on are hidden.
const (
	limitColumn = iota + 1
	limitStateColumn
	limitMarginColumn
	limitUnitColumn
	limitIsColumn
	limitLeastColumn
	limitMostColumn
	limitValueUnitColumn // of these three; the other unit is that of the margin
	limitRowColumn
	limitReasonColumn
	limitFromColumn
	limitExactColumn // the value and its bounds, not rounded
	limitExactLeastColumn
	limitExactMostColumn
	limitExactMarginColumn
	limitDigitsColumn // to how many decimals they are shown
	limitKeyColumn
	limitOrderColumn
	limitWorstColumn  // the number of the worst row
	limitWaitedColumn // the reason, with what a limit waited on when it was written
	limitFrontColumn  // what the front says beside it
)

const (
	limitsHead = 3 // rows above the first limit
	mostListed = 8 // how many limits the front lists
	fewListed  = 5 // and at least, of a sheet that uses others
	leastOrder = 3 // how many the verdict names
)

// limits lays out the block of limits of the front.
func (y *layouter) limits() {
	n := len(y.m.Limits)
	if n == 0 {
		return
	}
	own, several := 0, false
	for i, l := range y.m.Limits {
		if l.Origin.File == 0 {
			own++
		} else {
			several = true
		}
		y.checks = append(y.checks, checkPlan{row: limitsHead + 1 + i, limit: l})
	}
	y.listed = min(n, mostListed)
	if several {
		y.listed = min(n, max(fewListed, min(own, mostListed)))
	}
	y.front.add(line{})
	y.front.add(line{kind: headLine, text: limitsTab})
	for k := range y.listed {
		y.front.add(line{kind: limitLine, chk: k})
		y.front.add(line{kind: whyLine, chk: k})
	}
	if y.listed < n {
		y.front.add(line{kind: moreLine})
	}
}

// limitCount returns the number of limits and of advise lines.
func (b *book) limitCount() (limits, advises int) {
	for _, l := range b.m.Limits {
		if l.Advise {
			advises++
		} else {
			limits++
		}
	}
	return limits, advises
}

// limitList returns the name of a column of the tab of limits: its rows, and an empty
// one at the end, because not every program can index a single cell.
func (b *book) limitList(column int) string { return b.limitNames[column] }

// nameLimits names these ranges, which the front reads.
func (b *book) nameLimits() {
	b.limitNames = map[int]string{}
	for column, name := range limitListNames {
		b.limitNames[column] = b.names.defined(name)
	}
}

var limitListNames = map[int]string{
	limitColumn: "limit_conditions", limitStateColumn: "limit_states", limitMarginColumn: "limit_margins", limitUnitColumn: "limit_margin_units",
	limitIsColumn: "limit_values", limitLeastColumn: "limit_leasts", limitMostColumn: "limit_mosts", limitValueUnitColumn: "limit_value_units",
	limitOrderColumn: "limit_order", limitFrontColumn: "limit_reasons",
}

// ranked returns a column's entry for the limit that is at place k of the
// order, counted from 0.
func (b *book) ranked(column, k int) string {
	return "INDEX(" + b.limitList(column) + ",INDEX(" + b.limitList(limitOrderColumn) + "," + strconv.Itoa(k+1) + "))"
}

// verdict is the formula that names the broken limits and their number, with
// its present text.
func (wb *workbook) verdict() (formula, now string) {
	limits, advises := wb.limitCount()
	all := strconv.Itoa(limits)
	count := func(word string) string { return "COUNTIF(" + wb.limitList(limitStateColumn) + `,"` + word + `")` }
	nb, na, nw := count(broken), count(advised), count(waiting)
	kept := `"All ` + all + ` limits are kept"`
	if limits == 1 {
		kept = `"The limit is kept"`
	}
	if limits == 0 {
		kept = `"This sheet has no limits"`
	}
	said := nb + `&" of ` + all + ` limits broken: "&`
	if limits == 1 {
		said = `"The limit is broken: "&`
	}
	formula = "IF(" + nb + ">0," + said + wb.ranked(limitColumn, 0)
	for k := 1; k < min(leastOrder, limits); k++ {
		formula += "&IF(" + nb + ">" + strconv.Itoa(k) + `,"; "&` + wb.ranked(limitColumn, k) + `,"")`
	}
	formula += "&IF(" + nb + `>3,"; and "&(` + nb + `-3)&" more","")` + `,IF(` + nb + "+" + nw + "=0," + kept + `,"No limit is seen to be broken"))`
	formula += "&IF(" + nw + `>0,". "&` + nw + `&" cannot be judged: "&` + wb.missingText() + `,"")`
	if advises > 0 {
		formula += "&IF(" + na + `>0,". "&` + na + `&" of ` + strconv.Itoa(advises) + ` advices not kept","")`
	}
	return formula, wb.verdictNow(limits, advises, strings.Trim(kept, `"`))
}

// missingText is the formula of why limits cannot be judged.
func (wb *workbook) missingText() string {
	const text = `"a value is missing or at fault"`
	if wb.missing == "" {
		return text
	}
	return "IF(" + place(wb.missing, "", 0) + `="",` + text + "," + place(wb.missing, "", 0) + ")"
}

func (wb *workbook) verdictNow(limits, advises int, allKept string) string {
	counts := map[string]int{}
	var names []string
	for _, i := range wb.order() {
		c := &wb.checks[i]
		state := wb.stateOf(c)
		counts[state]++
		if state == broken && len(names) < leastOrder {
			names = append(names, c.limit.Text)
		}
	}
	var out string
	switch n := counts[broken]; {
	case n > 0:
		said := fmt.Sprintf("%d of %d limits broken: ", n, limits)
		if limits == 1 {
			said = "The limit is broken: "
		}
		out = said + strings.Join(names, "; ")
		if n > 3 {
			out += fmt.Sprintf("; and %d more", n-3)
		}
	case counts[waiting] > 0:
		out = "No limit is seen to be broken"
	default:
		out = allKept
	}
	if n := counts[waiting]; n > 0 {
		out += fmt.Sprintf(". %d cannot be judged: a value is missing or at fault", n)
	}
	if n := counts[advised]; n > 0 && advises > 0 {
		out += fmt.Sprintf(". %d of %d advices not kept", n, advises)
	}
	return clean(out)
}

// weights order the states of limits.
var weights = map[string]int{broken: 0, advised: 1, waiting: 2, kept: 3}

// order returns the limits' checks, those that need attention first.
func (wb *workbook) order() []int {
	if wb.ordered != nil {
		return wb.ordered
	}
	out := make([]int, 0, len(wb.m.Limits))
	for _, word := range []string{broken, advised, waiting, kept} {
		for i := range wb.m.Limits {
			if wb.stateOf(&wb.checks[i]) == word {
				out = append(out, i)
			}
		}
	}
	wb.ordered = out
	return out
}
