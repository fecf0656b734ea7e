package export

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/question"
	"gearleaf/sheet/unit"
)

// whyWide is the least width of the column of broken limits; it fills the page.
const whyWide = 50

// book writes a sweep as a workbook.
func (s *sweepWriter) book(ctx context.Context, w io.Writer, progress func(int)) (tally question.Tally, err error) {
	b := s.recordBook()
	view := s.view(b.count)
	if view != nil {
		b.charts, b.legend = view.charts, view.legend()
	}
	err = b.write(w, func(row func([]any) error) error {
		row = view.observed(row)
		var err error
		tally, err = blocks(ctx, s.w, func(b *question.Block, rows *[][]any) {
			*rows = (*rows)[:0]
			for i := range b.N {
				*rows = append(*rows, s.record(b, i))
			}
		}, func(_ *question.Block, rows *[][]any) error {
			for _, values := range *rows {
				if err := row(values); err != nil {
					return err
				}
			}
			return nil
		}, progress)
		return err
	})
	return tally, err
}

// recordBook returns the plan of a sweep's workbook.
func (s *sweepWriter) recordBook() *recordBook {
	from, to := s.w.Part()
	title := s.sheet.Model.Title
	b := &recordBook{recordTab: recordTab{name: "Sweep", title: title, foot: title, count: to - from}}
	if title == "" {
		b.title = b.name
	}
	var inputs []string
	for i, f := range s.heads {
		q := s.quantities()[i]
		c := recordColumn{Field: f, width: numberWide, text: q.Type.Form != check.Number}
		if c.label = label(q); c.label == plainName(f.Name) {
			c.label = ""
		}
		if q.To != 0 {
			c.format = decimals(unit.Decimals(q.To))
		}
		if i < len(s.inputs) {
			inputs = append(inputs, f.Name)
		}
		b.columns = append(b.columns, c)
	}
	if s.limits != nil {
		b.state = len(b.columns) + 1
		b.columns = append(b.columns, recordColumn{Field: Field{Name: "limits"}, width: numberWide})
	}
	used := 0
	b.measure()
	for _, c := range b.columns {
		used += c.width
	}
	b.columns = append(b.columns, recordColumn{Field: Field{Name: "why"}, width: max(whyWide, portrait.chars()-used), text: true})
	b.why = len(b.columns)
	b.remark = joined(setRemark(SetText(s.sheet)), fmt.Sprintf("Sweep of %s: %d scenarios", strings.Join(inputs, ", "), b.count))
	return b
}

// quantities are what the columns hold: inputs, then what is shown.
func (s *sweepWriter) quantities() []*check.Quantity {
	return append(slices.Clone(s.inputs), s.shown...)
}

// record is one scenario as a row of a workbook: the state of its limits is in a
// word, and what breaks them or why a value is missing beside it.
func (s *sweepWriter) record(b *question.Block, i int) []any {
	var out []any
	for k, q := range s.inputs {
		out = append(out, plain(s.sheet, q, b.Inputs[k][i]))
	}
	for k, q := range s.shown {
		out = append(out, shownPlain(s.sheet, q, b.Shown[k][i]))
	}
	var why []string
	if s.limits != nil {
		word := kept
		if len(b.Waiting[i]) > 0 {
			word = waiting
			why = append(why, s.conditions(b.Waiting[i]))
		}
		if len(b.Broken[i]) > 0 {
			word = broken
			why = append([]string{s.conditions(b.Broken[i])}, why...)
		}
		out = append(out, word)
	}
	if b.Hole[i] != "" {
		why = append(why, b.Hole[i])
	}
	if len(why) > 0 {
		out = append(out, strings.Join(why, "; "))
	}
	return out
}

// shownPlain is a value as calc shows it, where a number format cannot: to the next
// ten or quarter.
func shownPlain(s *sheet.Sheet, q *check.Quantity, v float64) any {
	value := plain(s, q, v)
	if number, ok := value.(float64); ok && coarseStep(q) != "" {
		return trimmed(roundTo(number, q.To))
	}
	return value
}
