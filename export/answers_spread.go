package export

import (
	"strings"

	"gearleaf/sheet/question"
)

// spreadJSON is what spread --json prints.
type spreadJSON struct {
	documentHead
	Coverage     float64      `json:"coverage"`
	Draws        int          `json:"draws"`
	Seed         uint64       `json:"seed"`
	Results      []resultJSON `json:"results"`
	Correlations [][]*float64 `json:"correlations"`
}

type resultJSON struct {
	Name          string             `json:"name"`
	Unit          string             `json:"unit,omitempty"`
	Value         *float64           `json:"value"`
	FirstOrder    wayJSON            `json:"first_order"`
	Drawn         wayJSON            `json:"drawn"`
	Contributions []contributionJSON `json:"contributions"`
	Holes         []HoleCount        `json:"holes"`
}

type wayJSON struct {
	Mean      *float64 `json:"mean"`
	Deviation *float64 `json:"deviation"`
	Low       *float64 `json:"low"`
	High      *float64 `json:"high"`
	// Freedom belongs to first order, if it is stated; Shortest to the draws.
	Freedom  *float64   `json:"freedom,omitempty"`
	Shortest []*float64 `json:"shortest,omitempty"`
}

type contributionJSON struct {
	Given  string   `json:"given"`
	Share  *float64 `json:"share"`
	Effect *float64 `json:"effect"`
}

// SpreadAnswer is the answer of spread.
func SpreadAnswer(a *question.Spread) Answer {
	doc := spreadDocument(a)
	out := answerOf(a.Sheet, "Spread", doc, spreadRecords(doc))
	out.tab.Charts = shareCharts(doc)
	return out
}

// shareCharts draws the shares of the givens in the variance of each result, if
// there are several; the rows are those of spreadRecords.
func shareCharts(doc spreadJSON) []TabChart {
	const what, share = 2, 7
	var out []TabChart
	row := 0
	for _, r := range doc.Results {
		row += 2
		n := len(r.Contributions)
		if n > 1 && len(out) < mostCharted {
			out = append(out, TabChart{Title: "What makes " + strings.ReplaceAll(r.Name, "_", " ") + " uncertain", XName: "given", YName: "share of the variance", X: what, Y: []int{share}, from: row, to: row + n})
		}
		row += n
	}
	return out
}

func spreadDocument(a *question.Spread) spreadJSON {
	doc := spreadJSON{
		documentHead: headOf("spread", a.Sheet),
		Coverage:     a.Coverage, Draws: a.Draws, Seed: a.Seed, Results: []resultJSON{}, Correlations: [][]*float64{},
	}
	for i, u := range a.Results {
		doc.Results = append(doc.Results, resultOf(a, u))
		row := []*float64{}
		for j := range a.Results {
			row = append(row, finite(a.Together(i, j)))
		}
		doc.Correlations = append(doc.Correlations, row)
	}
	return doc
}

func resultOf(a *question.Spread, u question.Uncertain) resultJSON {
	q := u.Place.Quantity()
	at := func(v float64) *float64 { return finite(q.Unit.Number(v)) }
	size := func(v float64) *float64 { return finite(v / q.Unit.Scale) }
	low, high := u.Interval(a.Coverage)
	out := resultJSON{
		Name: u.Place.Name(), Unit: symbol(q.Unit), Value: at(u.Value),
		FirstOrder:    wayJSON{Mean: at(u.Value), Deviation: size(u.Deviation), Low: at(low), High: at(high)},
		Drawn:         wayJSON{Mean: at(u.Mean), Deviation: size(u.DrawnDeviation), Low: at(u.Low), High: at(u.High), Shortest: []*float64{at(u.ShortLow), at(u.ShortHigh)}},
		Contributions: []contributionJSON{}, Holes: HolesOf(u.Holes),
	}
	if u.Freedom > 0 {
		out.FirstOrder.Freedom = finite(u.Freedom)
	}
	for _, c := range u.Contributions {
		out.Contributions = append(out.Contributions, contributionJSON{c.Given.Name(), finite(c.Share), size(c.Effect)})
	}
	return out
}

// spreadRecords has a row for each result and way, and for each contribution.
func spreadRecords(doc spreadJSON) Records {
	r := Records{mixed: true}
	for _, name := range []string{"result", "unit", "what", "mean", "sd", "low", "high", "share", "effect of one sd"} {
		r.Fields = append(r.Fields, Field{Name: name})
	}
	for _, one := range doc.Results {
		way := func(what string, w wayJSON) {
			r.Rows = append(r.Rows, []any{one.Name, one.Unit, what, plainNumber(w.Mean), plainNumber(w.Deviation), plainNumber(w.Low), plainNumber(w.High), nil, nil})
		}
		way("first order", one.FirstOrder)
		way("draws", one.Drawn)
		for _, c := range one.Contributions {
			r.Rows = append(r.Rows, []any{one.Name, one.Unit, c.Given, nil, nil, nil, nil, plainNumber(c.Share), plainNumber(c.Effect)})
		}
	}
	return r
}

// worthJSON is what worth --json prints.
type worthJSON struct {
	documentHead
	Show  string      `json:"show"`
	Unit  string      `json:"unit"`
	Steps []worthStep `json:"steps"`
}

type worthStep struct {
	Name  string     `json:"name"`
	By    string     `json:"by"`
	Moves []*float64 `json:"moves"` // null past the end of a table
}

// WorthAnswer is the answer of worth.
func WorthAnswer(w *question.Worth) Answer {
	return answerOf(w.Sheet, "Worth", worthDocument(w), worthRecords(w))
}

func worthDocument(w *question.Worth) worthJSON {
	q := w.Show.Quantity()
	a := worthJSON{documentHead: headOf("worth", w.Sheet), Show: q.Name, Unit: q.Unit.Symbol}
	for i, step := range w.Steps {
		s := worthStep{Name: step.Name(), By: step.Text}
		for _, move := range w.Moves[i] {
			s.Moves = append(s.Moves, finite(move/q.Unit.Scale))
		}
		a.Steps = append(a.Steps, s)
	}
	return a
}

func worthRecords(w *question.Worth) Records {
	q := w.Show.Quantity()
	r := Records{Fields: []Field{{Name: "row"}, FieldOf(q.Name, q)}}
	for _, step := range w.Steps {
		r.Fields = append(r.Fields, Field{Name: step.Name() + " " + step.Signed(), Unit: symbol(q.Unit)})
	}
	for row := range w.Rows() {
		line := []any{float64(row + 1), plain(w.Sheet, q, w.Value(row).V)}
		for i := range w.Steps {
			line = append(line, plainNumber(finite(w.Moves[i][row]/q.Unit.Scale)))
		}
		r.Rows = append(r.Rows, line)
	}
	return r
}
