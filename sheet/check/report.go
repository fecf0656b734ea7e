package check

import (
	"fmt"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/unit"
)

// report is a diagnostic being written; its methods add to it.
type report struct{ d *diag.Diagnostic }

// fail reports an error at span of the current file.
func (c *checker) fail(span source.Span, code diag.Code, format string, args ...any) report {
	return c.failIn(c.file, span, code, format, args...)
}

// failIn reports an error at span of file.
func (c *checker) failIn(file *source.File, span source.Span, code diag.Code, format string, args ...any) report {
	return c.put(diag.Diagnostic{Code: code, File: file, Span: span, Message: fmt.Sprintf(format, args...)})
}

// advise reports an advice at span of the current file.
func (c *checker) advise(span source.Span, code diag.Code, format string, args ...any) report {
	return c.put(diag.Diagnostic{Code: code, Severity: diag.Advice, File: c.file, Span: span, Message: fmt.Sprintf(format, args...)})
}

// put adds d to the list, up to a bound for each file: a mistake repeated in a
// thousand lines is not listed a thousand times.
func (c *checker) put(d diag.Diagnostic) report {
	c.reports++
	if d.Severity == diag.Error {
		c.m.wrong = append(c.m.wrong, wrongPlace{d.File, d.Span.Start})
	}
	if c.reported[d.File] >= source.MaxErrors {
		c.spare = d
		return report{&c.spare}
	}
	c.reported[d.File]++
	c.list.Add(d)
	return report{&c.list[len(c.list)-1]}
}

// muted reports whether r is discarded because the bound is reached; then there
// is no need to compute a correction.
func (c *checker) muted(r report) bool { return r.d == &c.spare }

// place puts d, which has no file yet, into the current file.
func (c *checker) place(d *diag.Diagnostic) {
	d.File = c.file
	if d.Code == diag.UnitAmbiguous && len(d.Repairs) > 0 {
		c.offerLine(d)
	}
	c.put(*d)
}

// offerLine adds to the report of an ambiguous unit the line that defines it
// for the whole sheet.
func (c *checker) offerLine(d *diag.Diagnostic) {
	edit := d.Repairs[0].Edits[0]
	line := "unit " + c.file.Slice(edit.Span) + " = 1 " + edit.New
	d.Repairs = append(d.Repairs, diag.Repair{
		Title: "write " + line + " at the top of the sheet",
		Edits: []diag.Edit{{Span: c.top(), New: line + "\n"}},
	})
}

// top is where a line can be inserted at the top of the current file: after
// the version.
func (c *checker) top() source.Span {
	at := int32(0)
	if text := c.file.Text; strings.HasPrefix(text, "gearleaf ") {
		if n := strings.IndexByte(text, '\n'); n >= 0 {
			at = int32(n + 1)
		}
	}
	return source.Span{Start: at, End: at}
}

func (r report) help(format string, args ...any) report {
	r.d.Help = fmt.Sprintf(format, args...)
	return r
}

// related adds a second place.
func (r report) related(file *source.File, span source.Span, format string, args ...any) report {
	r.d.Related = append(r.d.Related, diag.Related{File: file, Span: span, Message: fmt.Sprintf(format, args...)})
	return r
}

// repair offers an edit that replaces the text of span.
func (r report) repair(span source.Span, text, title string, args ...any) report {
	r.d.Repairs = append(r.d.Repairs, diag.Repair{
		Title: fmt.Sprintf(title, args...),
		Edits: []diag.Edit{{Span: span, New: text}},
	})
	return r
}

// repairs offers several edits that belong together.
func (r report) repairs(title string, edits ...diag.Edit) report {
	r.d.Repairs = append(r.d.Repairs, diag.Repair{Title: title, Edits: edits})
	return r
}

// quote returns the text of a node as written, on one line.
func (c *checker) quote(id NodeID) string { return quoteText(c.file, c.spans[id]) }

// longestQuote is the largest part of an operand that a message shows.
const longestQuote = 48

func quoteText(file *source.File, span source.Span) string {
	if span.Start < 0 || int(span.End) > len(file.Text) || span.End < span.Start {
		return "…"
	}
	text := strings.Join(strings.Fields(file.Slice(span)), " ")
	if runes := []rune(text); len(runes) > longestQuote {
		return string(runes[:longestQuote-1]) + "…"
	}
	return text
}

// badUnit reports the error in a unit written at span.
func badUnit(err *unit.ParseError, span source.Span) *diag.Diagnostic {
	at := span
	if err.Len > 0 && err.At+err.Len <= span.Len() {
		at.Start = span.Start + int32(err.At)
		at.End = at.Start + int32(err.Len)
	}
	d := &diag.Diagnostic{Code: diag.Code(err.Code), Span: at, Message: err.Message, Help: err.Help}
	for _, r := range err.Repairs {
		d.Repairs = append(d.Repairs, diag.Repair{
			Title: "write " + r,
			Edits: []diag.Edit{{Span: span, New: r}},
		})
	}
	return d
}
