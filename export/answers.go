package export

import (
	"cmp"
	"encoding/json"
	"io"
	"math"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// Answer is the answer to a question: Document is the output of --json, Records
// the same as a table. The help of each command explains the names in its
// document; the version changes when a name is removed or changes its meaning,
// not when one is added.
type Answer struct {
	Document any
	Records  Records
	tab      Tab // how a workbook shows the records
}

// answerOf returns the answer about s; name is that of the tab in a workbook.
func answerOf(s *sheet.Sheet, name string, doc any, r Records) Answer {
	r.set = SetText(s)
	return Answer{doc, r, Tab{Name: name, Title: cmp.Or(s.Model.Title, name), Records: r}}
}

// Write writes a as kind, one of AnswerKinds; o is additional metadata for
// Parquet.
func (a Answer) Write(w io.Writer, kind string, o Origin) error {
	switch kind {
	case ".json":
		return WriteDocument(w, a.Document)
	case ".xlsx":
		return WriteTabs(w, a.tab.Title, []Tab{a.tab})
	}
	return WriteRecords(w, kind, a.Records, o)
}

// WriteDocument writes doc as JSON, indented, with a last line end.
func WriteDocument(w io.Writer, doc any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(doc)
}

// finite returns v, or nil if JSON cannot represent it.
func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = unit.Typed(v)
	return &v
}

// plainNumber is v in a record, nil for none.
func plainNumber(v *float64) any {
	if v == nil {
		return nil
	}
	return *v
}

// plainValue is v for JSON: a number in the shown unit, a text, a logical
// value, null for a blank, or {"fault": cause}.
func plainValue(q *check.Quantity, v sheet.Value) any {
	if f := v.Fault(); f != nil {
		return map[string]string{"fault": f.Cause}
	}
	return v.Plain(q)
}

// placeNames returns the names of places, as a list that is never null.
func placeNames(places []sheet.Place) []string {
	out := []string{}
	for _, p := range places {
		out = append(out, p.Name())
	}
	return out
}
