package export

import (
	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// changeJSON is what change --json prints.
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

// ChangeDocument is the output of change --json; it fails if ReportableChange
// does.
func ChangeDocument(c *sheet.Changed) (any, error) {
	if err := ReportableChange(c); err != nil {
		return nil, err
	}
	return changeDocument(c), nil
}

func changeDocument(c *sheet.Changed) changeJSON {
	doc := changeJSON{
		Format: "gearleaf change", Version: 1, Title: c.Before.Sheet.Model.Title,
		Settings: []settingJSON{}, Limits: []limitJSON{}, Values: []moveJSON{},
		Faults:    faultsJSON(c.After),
		Confirmed: c.After.Checked.Tasks, Evaluations: c.After.Checked.Of,
	}
	for _, s := range c.Settings {
		m := movement(c, sheet.Place{Cell: s.Cell, Column: s.Column, Row: s.Row})
		doc.Settings = append(doc.Settings, settingJSON{Name: m.Name, Unit: m.Unit, Before: m.Before, After: m.After})
	}
	for _, item := range c.Outline() {
		switch {
		case item.Cell != nil:
			doc.Values = append(doc.Values, movement(c, sheet.Place{Cell: item.Cell}))
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
			out = append(out, movement(c, sheet.Place{Column: column, Row: row}))
		}
	}
	return out
}

func movement(c *sheet.Changed, p sheet.Place) moveJSON {
	q, d := p.Quantity(), c.Difference(p)
	m := moveJSON{
		Name: p.Name(), Section: q.Origin.Section, Label: q.Origin.Label, Unit: q.Unit.Symbol,
		Before: plainValue(q, d.Before), After: plainValue(q, d.After), Moved: d.Moved,
	}
	if p.Column != nil {
		m.Section = p.Column.Table.Origin.Section
	}
	if d.Numeric {
		m.Difference = finite(d.Delta)
	}
	if d.Relative {
		m.Percent = finite(d.Percent)
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

// readbackJSON is what readback --json prints.
type readbackJSON struct {
	Format      string         `json:"format"`
	Version     int            `json:"version"`
	TextChanged bool           `json:"text_changed"`
	Already     []string       `json:"already"`
	Conflicts   []conflictJSON `json:"conflicts"`
	Refused     []refusedJSON  `json:"refused"`
	Notes       []string       `json:"notes"`
	Change      *changeJSON    `json:"change"`
}

type conflictJSON struct {
	Name     string `json:"name"`
	Unit     string `json:"unit,omitempty"`
	Exported any    `json:"exported"`
	Workbook any    `json:"workbook"`
	Text     any    `json:"text"`
	Reason   string `json:"reason,omitempty"`
}

type refusedJSON struct {
	Name   string `json:"name"`
	Tab    string `json:"tab"`
	Field  string `json:"field"`
	Reason string `json:"reason"`
	Asked  bool   `json:"asked"`
}

// ReadbackDocument is the output of readback --json: m of the worksheet s, and
// its change c, nil for none.
func ReadbackDocument(s *sheet.Sheet, m *Merged, c *sheet.Changed) (any, error) {
	doc := readbackJSON{
		Format: "gearleaf readback", Version: 1, TextChanged: m.TextChanged,
		Already: placeNames(m.Already), Conflicts: []conflictJSON{}, Refused: []refusedJSON{}, Notes: append([]string{}, m.Notes...),
	}
	for _, t := range m.Conflicts {
		q := t.Entry.Place.Quantity()
		one := conflictJSON{
			Name: t.Entry.Place.Name(), Unit: symbol(q.Unit), Reason: t.Reason,
			Exported: plainGiven(t.Exporter, q, t.Exported), Workbook: plainGiven(t.Exporter, q, t.Entry.Setting.Value),
		}
		if t.Reason == "" {
			one.Text = plainGiven(s, t.Place.Quantity(), t.Text)
		}
		doc.Conflicts = append(doc.Conflicts, one)
	}
	for _, e := range m.Refused {
		name := e.Field
		if e.Tab != "" {
			name = e.Place.Name()
		}
		doc.Refused = append(doc.Refused, refusedJSON{name, e.Tab, e.Field, e.Refused, e.Asked})
	}
	if c != nil {
		if err := ReportableChange(c); err != nil {
			return nil, err
		}
		change := changeDocument(c)
		doc.Change = &change
	}
	return doc, nil
}

// plainGiven is the value of a given for JSON.
func plainGiven(s *sheet.Sheet, q *check.Quantity, v float64) any {
	switch {
	case v != v:
		return nil
	case q.Type.Form == check.Text:
		return s.Model.Texts[int(v)]
	case q.Type.Form == check.Truth:
		return v != 0
	}
	return q.Unit.Number(v)
}
