package main

import (
	"encoding/json"
	"io"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// changeJSON is what change --json prints; its help says what the names mean.
// Version counts up when a name goes or changes its meaning, not when one is
// added.
type changeJSON struct {
	Format      string        `json:"format"`
	Version     int           `json:"version"`
	Title       string        `json:"title"`
	Settings    []settingJSON `json:"settings"`
	Limits      []limitJSON   `json:"limits"`
	Values      []moveJSON    `json:"values"`
	Faults      []faultJSON   `json:"faults"`
	Reached     int           `json:"reached"`
	Of          int           `json:"of"`
	Moved       int           `json:"moved"`
	Confirmed   int           `json:"confirmed"`
	Evaluations int           `json:"evaluations"`
}

type settingJSON struct {
	Name   string `json:"name"`
	Unit   string `json:"unit,omitempty"`
	Before any    `json:"before"`
	After  any    `json:"after"`
}

type limitJSON struct {
	Condition string `json:"condition"`
	Message   string `json:"message,omitempty"`
	Advise    bool   `json:"advise"`
	Before    string `json:"before"`
	After     string `json:"after"`
}

type moveJSON struct {
	Name       string   `json:"name"`
	Section    string   `json:"section,omitempty"`
	Label      string   `json:"label,omitempty"`
	Unit       string   `json:"unit,omitempty"`
	Before     any      `json:"before"`
	After      any      `json:"after"`
	Difference *float64 `json:"difference,omitempty"`
	Percent    *float64 `json:"percent,omitempty"`
	Moved      bool     `json:"moved"`
}

type faultJSON struct {
	Origin  string   `json:"origin"`
	Cause   string   `json:"cause"`
	Waiting []string `json:"waiting"`
}

// changeDocument turns c into its JSON.
func changeDocument(c *sheet.Changed) changeJSON {
	doc := changeJSON{
		Format: "gearleaf change", Version: 1, Title: c.Before.Sheet.Model.Title,
		Settings: []settingJSON{}, Limits: []limitJSON{}, Values: []moveJSON{},
		Faults:    faultsJSON(c.After),
		Confirmed: c.After.Checked.Tasks, Evaluations: c.After.Checked.Of,
	}
	for _, s := range c.Settings {
		m := moved(c, sheet.Place{Cell: s.Cell, Column: s.Column, Row: s.Row})
		doc.Settings = append(doc.Settings, settingJSON{Name: m.Name, Unit: m.Unit, Before: m.Before, After: m.After})
	}
	for _, item := range c.Outline() {
		switch {
		case item.Cell != nil:
			doc.Values = append(doc.Values, moved(c, sheet.Place{Cell: item.Cell}))
		case item.Table != nil:
			doc.Values = append(doc.Values, movedRows(c, item.Table)...)
		case item.Limit != nil:
			doc.Limits = append(doc.Limits, limitStates(c, item.Limit))
		}
	}
	doc.Reached, doc.Of, doc.Moved = c.Count()
	return doc
}

func movedRows(c *sheet.Changed, t *check.Table) []moveJSON {
	before, _ := c.Before.Live(t)
	after, _ := c.After.Live(t)
	var out []moveJSON
	for _, column := range c.Columns(t) {
		for row := range max(before, after) {
			out = append(out, moved(c, sheet.Place{Column: column, Row: row}))
		}
	}
	return out
}

func moved(c *sheet.Changed, p sheet.Place) moveJSON {
	q, d := p.Quantity(), c.Difference(p)
	m := moveJSON{
		Name: p.Name(), Section: q.Origin.Section, Label: q.Origin.Label, Unit: q.Unit.Symbol,
		Before: plainValue(q, d.Before), After: plainValue(q, d.After), Moved: d.Moved,
	}
	if p.Column != nil {
		m.Section = p.Column.Table.Origin.Section
	}
	if d.Numeric {
		m.Difference = &d.Delta
	}
	if d.Relative {
		m.Percent = &d.Percent
	}
	return m
}

func limitStates(c *sheet.Changed, l *check.Limit) limitJSON {
	before, _ := c.Before.Limit(l)
	after, _ := c.After.Limit(l)
	return limitJSON{Condition: l.Text, Message: l.Message, Advise: l.Advise, Before: before.String(), After: after.String()}
}

func faultsJSON(r *sheet.Result) []faultJSON {
	out := []faultJSON{}
	for _, f := range r.Failures() {
		waiting := append([]string{}, f.Waiting...)
		out = append(out, faultJSON{Origin: f.Origin, Cause: f.Cause, Waiting: waiting})
	}
	return out
}

// plainValue is v as JSON has it: a number in the shown unit, a text, a truth,
// null for a blank, or {"fault": cause}.
func plainValue(q *check.Quantity, v sheet.Value) any {
	if f := v.Fault(); f != nil {
		return map[string]string{"fault": f.Cause}
	}
	return v.Plain(q)
}

// writeJSON writes doc with an indent and a last line end.
func writeJSON(w io.Writer, doc any) error {
	enc := json.NewEncoder(data(w))
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(doc)
}
