// Package diag has the type in which every stage reports errors of a worksheet:
// terminal, editor and page print the same Diagnostic.
package diag

import (
	"slices"
	"sort"
	"strings"

	"gearleaf/sheet/source"
)

// Severity says whether a Diagnostic stops the computation.
type Severity uint8

const (
	// Error stops the computation; it is found before anything is computed.
	Error Severity = iota
	// Advice never stops anything.
	Advice
)

// Code names a kind of diagnostic. Every code has a row in codes.go.
type Code string

// Diagnostic is one error or advice, with its place and the correction.
type Diagnostic struct {
	Code     Code
	Severity Severity
	File     *source.File // nil if there is no place in a text
	Span     source.Span
	// Message describes the error and the correct form, in one sentence.
	Message string
	// Help is the correction, shown on a line of its own; empty if Message is
	// enough.
	Help string
	// Repairs are alternative edits, each of which removes the diagnostic.
	Repairs []Repair
	// Related are other places that are part of the cause.
	Related []Related
}

// Repair is one edit offered to the tuner.
type Repair struct {
	Title string
	Edits []Edit
	// Changes says that the repair changes the present value of the text;
	// another repair of the Diagnostic keeps it. It is never the only offer.
	Changes bool
}

// Edit replaces the text of Span by New. An empty Span inserts.
type Edit struct {
	Span source.Span
	New  string
}

// Apply returns text with edits applied, which must not overlap.
func Apply(text string, edits []Edit) string {
	edits = slices.Clone(edits)
	slices.SortStableFunc(edits, func(a, b Edit) int { return int(a.Span.Start) - int(b.Span.Start) })
	var out strings.Builder
	at := int32(0)
	for _, e := range edits {
		out.WriteString(text[at:e.Span.Start])
		out.WriteString(e.New)
		at = e.Span.End
	}
	out.WriteString(text[at:])
	return out.String()
}

// Related is a second place and its relation to the first.
type Related struct {
	File    *source.File
	Span    source.Span
	Message string
}

// List collects diagnostics in the order in which they are found.
type List []Diagnostic

// Add appends d.
func (l *List) Add(d Diagnostic) { *l = append(*l, d) }

// Errors reports whether l holds an Error.
func (l List) Errors() bool {
	for _, d := range l {
		if d.Severity == Error {
			return true
		}
	}
	return false
}

// Sort puts l in reading order: by file in the order of first mention, then
// by place; equal places keep their order.
func (l List) Sort() {
	order := map[*source.File]int{}
	for _, d := range l {
		if _, seen := order[d.File]; !seen {
			order[d.File] = len(order)
		}
	}
	sort.SliceStable(l, func(i, j int) bool {
		if a, b := order[l[i].File], order[l[j].File]; a != b {
			return a < b
		}
		return l[i].Span.Start < l[j].Span.Start
	})
}
