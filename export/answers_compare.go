package export

import (
	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// compareJSON is what compare --json prints.
type compareJSON struct {
	Format  string         `json:"format"`
	Version int            `json:"version"`
	A       fileJSON       `json:"a"`
	B       fileJSON       `json:"b"`
	Givens  []comparedJSON `json:"givens"`
	Results []comparedJSON `json:"results"`
	Limits  []pairJSON     `json:"limits"`
	OnlyA   []string       `json:"only_a"`
	OnlyB   []string       `json:"only_b"`
	Same    int            `json:"same"`
}

type fileJSON struct {
	File  string `json:"file"`
	Title string `json:"title"`
}

type comparedJSON struct {
	Name       string   `json:"name"`
	Unit       string   `json:"unit,omitempty"`
	A          any      `json:"a"`
	B          any      `json:"b"`
	Difference *float64 `json:"difference,omitempty"`
	Percent    *float64 `json:"percent,omitempty"`
	UnitB      string   `json:"unit_b,omitempty"` // if it differs
	Why        string   `json:"why,omitempty"`
}

type pairJSON struct {
	Condition string  `json:"condition"`
	Message   string  `json:"message,omitempty"`
	Advise    bool    `json:"advise"`
	A         *string `json:"a"`
	B         *string `json:"b"`
}

// CompareAnswer is the answer of compare.
func CompareAnswer(c *sheet.Comparison) Answer {
	doc := compareDocument(c)
	return answerOf(c.A.Sheet, "Compare", doc, compareRecords(doc))
}

func compareDocument(c *sheet.Comparison) compareJSON {
	doc := compareJSON{
		Format: "gearleaf compare", Version: 1,
		A: fileJSON{c.A.Sheet.Path, c.A.Sheet.Model.Title}, B: fileJSON{c.B.Sheet.Path, c.B.Sheet.Model.Title},
		Givens: compared(c.Givens), Results: compared(c.Results), Limits: []pairJSON{},
		OnlyA: placeNames(c.OnlyA), OnlyB: placeNames(c.OnlyB), Same: c.Same,
	}
	for _, p := range c.Limits {
		l := p.Limit()
		one := pairJSON{Condition: l.Text, Message: l.Message, Advise: l.Advise}
		for _, side := range []struct {
			l  *check.Limit
			r  *sheet.Result
			at **string
		}{{p.A, c.A, &one.A}, {p.B, c.B, &one.B}} {
			if side.l != nil {
				state, _ := side.r.Limit(side.l)
				word := state.String()
				*side.at = &word
			}
		}
		doc.Limits = append(doc.Limits, one)
	}
	return doc
}

func compared(list []sheet.ValuePair) []comparedJSON {
	out := []comparedJSON{}
	for _, d := range list {
		one := comparedJSON{Name: d.Name(), Unit: symbol(d.Quantity().Unit), A: plainValue(d.Quantity(), d.Before), B: plainValue(d.ShownInB(), d.After)}
		if d.Numeric {
			one.Difference = finite(d.Delta)
		}
		if d.Relative {
			one.Percent = finite(d.Percent)
		}
		if one.Why = d.Why; d.Why != "" {
			one.UnitB = symbol(d.InB.Quantity().Unit)
		}
		out = append(out, one)
	}
	return out
}

// compareRecords has a row for every difference.
func compareRecords(doc compareJSON) Records {
	r := Records{mixed: true}
	for _, name := range []string{"kind", "name", "unit", "a", "b", "difference", "percent"} {
		r.Fields = append(r.Fields, Field{Name: name})
	}
	add := func(kind string, list []comparedJSON) {
		for _, d := range list {
			r.Rows = append(r.Rows, []any{kind, d.Name, d.Unit, recorded(d.A), recorded(d.B), plainNumber(d.Difference), plainNumber(d.Percent)})
		}
	}
	add("given", doc.Givens)
	add("result", doc.Results)
	for _, l := range doc.Limits {
		r.Rows = append(r.Rows, []any{"limit", l.Condition, nil, stateWord(l.A), stateWord(l.B), nil, nil})
	}
	for _, name := range doc.OnlyA {
		r.Rows = append(r.Rows, []any{"only in a", name, nil, nil, nil, nil, nil})
	}
	for _, name := range doc.OnlyB {
		r.Rows = append(r.Rows, []any{"only in b", name, nil, nil, nil, nil, nil})
	}
	return r
}

// recorded is a value of the JSON for a record.
func recorded(v any) any {
	if fault, ok := v.(map[string]string); ok {
		return "fault: " + fault["fault"]
	}
	return v
}

// stateWord is the state of a limit in a record.
func stateWord(state *string) any {
	if state == nil {
		return "not there"
	}
	return *state
}
