package export

import (
	"fmt"

	"gearleaf/sheet"
)

// traceJSON is what trace --json prints.
type traceJSON struct {
	documentHead
	Working   workingJSON  `json:"working"`
	Functions []calledJSON `json:"functions"`
}

type calledJSON struct {
	Name  string   `json:"name"`
	Usage string   `json:"usage"`
	Steps []string `json:"steps"`
}

type workingJSON struct {
	Name    string        `json:"name"`
	Label   string        `json:"label,omitempty"`
	Unit    string        `json:"unit,omitempty"`
	Given   bool          `json:"given"`
	Value   any           `json:"value"`
	Text    string        `json:"text"`
	Formula string        `json:"formula,omitempty"`
	Numbers string        `json:"numbers,omitempty"`
	From    string        `json:"from,omitempty"`
	Fault   *beganJSON    `json:"fault,omitempty"`
	Needs   []workingJSON `json:"needs"`
	Above   bool          `json:"above,omitempty"`
	Deeper  bool          `json:"deeper,omitempty"`
}

type beganJSON struct {
	Origin string `json:"origin"`
	Cause  string `json:"cause"`
}

// TraceDocument is what trace --json prints.
func TraceDocument(s *sheet.Sheet, w *sheet.Working) any {
	doc := traceJSON{documentHead: headOf("trace", s), Working: workingDocument(s, w), Functions: []calledJSON{}}
	for _, f := range w.Functions() {
		doc.Functions = append(doc.Functions, calledJSON{Name: f.Name, Usage: f.Usage, Steps: f.Steps})
	}
	return doc
}

func workingDocument(s *sheet.Sheet, w *sheet.Working) workingJSON {
	q := w.Quantity()
	doc := workingJSON{
		Name: w.Name(), Label: q.Origin.Label, Unit: q.Unit.Symbol, Given: q.Given,
		Formula: w.Formula, Numbers: w.Numbers, From: w.From, Needs: []workingJSON{},
		Above: w.Above, Deeper: w.Deeper,
	}
	if w.Row != sheet.Whole {
		if f := w.Value.Fault(); f != nil {
			doc.Fault = &beganJSON{Origin: sheet.OriginOf(f), Cause: f.Cause}
		} else {
			doc.Value = w.Value.Plain(q)
			doc.Text = s.Text(q, w.Value.V)
		}
	}
	for _, need := range w.Needs {
		doc.Needs = append(doc.Needs, workingDocument(s, need))
	}
	return doc
}

type functionJSON struct {
	Name     string        `json:"name"`
	Subject  string        `json:"subject"`
	Usage    string        `json:"usage"`
	Meaning  string        `json:"meaning"`
	Note     string        `json:"note,omitempty"`
	Sources  []string      `json:"sources"`
	Valid    []string      `json:"valid"`
	Steps    []string      `json:"steps"`
	Why      string        `json:"why,omitempty"`
	Examples []exampleJSON `json:"examples"`
}

type exampleJSON struct {
	Call   string `json:"call"`
	Result string `json:"result"`
}

// FunctionsDocument is the output of functions --json, with computed examples.
func FunctionsDocument(list []sheet.Function) (any, error) {
	type document struct {
		Format    string         `json:"format"`
		Version   int            `json:"version"`
		Functions []functionJSON `json:"functions"`
	}
	doc := document{Format: "gearleaf functions", Version: 1}
	for _, f := range list {
		one := functionJSON{
			Name: f.Name, Subject: f.Subject, Usage: f.Usage, Meaning: f.Meaning, Note: f.Note, Why: f.Why,
			Sources: append([]string{}, f.Sources...), Valid: append([]string{}, f.Valid...),
			Steps: append([]string{}, f.Steps...), Examples: []exampleJSON{},
		}
		for _, e := range f.Example {
			result, err := sheet.Worked(e)
			if err != nil {
				return nil, fmt.Errorf("example %s: %w", e, err)
			}
			one.Examples = append(one.Examples, exampleJSON{Call: e, Result: result})
		}
		doc.Functions = append(doc.Functions, one)
	}
	return doc, nil
}
