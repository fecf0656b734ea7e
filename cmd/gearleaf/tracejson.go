package main

import "gearleaf/sheet"

// traceJSON is what trace --json prints; its help says what the names mean.
type traceJSON struct {
	Format    string       `json:"format"`
	Version   int          `json:"version"`
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

func traceDocument(s *sheet.Sheet, w *sheet.Working) traceJSON {
	doc := traceJSON{Format: "gearleaf trace", Version: 1, Working: workingDocument(s, w), Functions: []calledJSON{}}
	for _, f := range called(w, map[string]bool{}) {
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
