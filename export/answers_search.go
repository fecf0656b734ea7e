package export

import (
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/question"
)

// bestJSON is what best --json prints.
type bestJSON struct {
	documentHead
	Cell         Field        `json:"cell"`
	Maximise     bool         `json:"maximise"`
	Near         any          `json:"near,omitempty"`
	By           []Field      `json:"by"`
	Ranking      []rankedJSON `json:"ranking"`
	Exhaustive   bool         `json:"exhaustive"`
	Combinations int          `json:"combinations"`
	Looked       int          `json:"looked"`
	Evaluations  int          `json:"evaluations"`
	Holes        []HoleCount  `json:"holes"`
}

type rankedJSON struct {
	By     []any    `json:"by"`
	Value  any      `json:"value"`
	Broken []string `json:"broken"`
}

// BestAnswer is the answer of best.
func BestAnswer(a *question.Best) Answer {
	doc := bestDocument(a)
	return answerOf(a.Sheet, "Best", doc, bestRecords(doc))
}

func bestDocument(a *question.Best) bestJSON {
	doc := bestJSON{
		documentHead: headOf("best", a.Sheet),
		Cell:         FieldOf(a.Goal.Name(), a.Goal.Quantity()), Maximise: a.Maximise, Ranking: []rankedJSON{},
		Exhaustive: a.Exhaustive, Combinations: a.Combinations, Looked: a.Looked,
		Evaluations: a.Evaluations, Holes: HolesOf(a.Holes),
	}
	if a.Near != nil {
		doc.Near = a.Sheet.Value(*a.Near).Plain(a.Goal.Quantity())
	}
	for _, axis := range a.By {
		doc.By = append(doc.By, FieldOf(axis.Name(), axis.Quantity()))
	}
	for _, c := range a.Ranking {
		one := rankedJSON{Value: a.Sheet.Value(c.Value).Plain(a.Goal.Quantity()), Broken: []string{}}
		for k, axis := range a.By {
			one.By = append(one.By, a.Sheet.Value(c.Inputs[k]).Plain(axis.Quantity()))
		}
		for _, l := range c.Broken {
			one.Broken = append(one.Broken, l.Text)
		}
		doc.Ranking = append(doc.Ranking, one)
	}
	return doc
}

// bestRecords is the ranking, one row per candidate.
func bestRecords(doc bestJSON) Records {
	r := Records{Fields: append(append([]Field{{Name: "place"}}, doc.By...), doc.Cell, Field{Name: "limits"})}
	for i, c := range doc.Ranking {
		limits := "kept"
		if len(c.Broken) > 0 {
			limits = "broken: " + strings.Join(c.Broken, "; ")
		}
		r.Rows = append(r.Rows, append(append([]any{i + 1}, c.By...), c.Value, limits))
	}
	return r
}

// solveJSON is what solve --json prints.
type solveJSON struct {
	documentHead
	Cell        Field         `json:"cell"`
	Target      any           `json:"target"`
	By          Field         `json:"by"`
	Solutions   []placeJSON   `json:"solutions"`
	Neighbours  [][]placeJSON `json:"neighbours"`
	Jumps       [][]placeJSON `json:"jumps"`
	Nearest     *placeJSON    `json:"nearest"`
	Scanned     int           `json:"scanned"`
	Evaluations int           `json:"evaluations"`
	Holes       []HoleCount   `json:"holes"`
}

type placeJSON struct {
	By     any      `json:"by"`
	To     any      `json:"to,omitempty"`
	Value  any      `json:"value"`
	Broken []string `json:"broken,omitempty"`
}

// SolveAnswer is the answer of solve.
func SolveAnswer(a *question.Solution) Answer {
	doc := solveDocument(a)
	return answerOf(a.Sheet, "Solve", doc, solveRecords(doc))
}

func solveDocument(a *question.Solution) solveJSON {
	by, goal := a.By.Quantity(), a.Goal.Place.Quantity()
	plain := func(q *check.Quantity, v float64) any { return a.Sheet.Value(v).Plain(q) }
	doc := solveJSON{
		documentHead: headOf("solve", a.Sheet),
		Cell:         FieldOf(a.Goal.Place.Name(), goal), Target: plain(goal, a.Goal.Target), By: FieldOf(a.By.Name(), by),
		Solutions: []placeJSON{}, Neighbours: [][]placeJSON{}, Jumps: [][]placeJSON{},
		Scanned: a.Scanned, Evaluations: a.Evaluations, Holes: HolesOf(a.Holes),
	}
	place := func(p question.Point) placeJSON { return placeJSON{By: plain(by, p.X), Value: plain(goal, p.Y)} }
	full := func(f question.Solved) placeJSON {
		out := place(f.Point)
		if f.Until != f.X {
			out.To = plain(by, f.Until)
		}
		for _, l := range f.Result.BrokenLimits() {
			out.Broken = append(out.Broken, l.Text)
		}
		return out
	}
	for _, f := range a.Found {
		doc.Solutions = append(doc.Solutions, full(f))
	}
	for i := range a.Between {
		if 2*i+1 < len(a.Beside) {
			doc.Neighbours = append(doc.Neighbours, []placeJSON{full(a.Beside[2*i]), full(a.Beside[2*i+1])})
		}
	}
	for _, j := range a.Jumps {
		doc.Jumps = append(doc.Jumps, []placeJSON{place(j[0]), place(j[1])})
	}
	if a.Nearest.X == a.Nearest.X {
		p := place(a.Nearest)
		doc.Nearest = &p
	}
	return doc
}

// solveRecords has one row per reported place.
func solveRecords(doc solveJSON) Records {
	by := doc.By
	by.step = 0 // a solution has more digits than what is given
	r := Records{Fields: []Field{{Name: "kind"}, by, {Name: by.Name + " to", Unit: by.Unit}, doc.Cell, {Name: "limits"}}}
	add := func(kind string, p placeJSON) {
		limits := "kept"
		if len(p.Broken) > 0 {
			limits = "broken: " + strings.Join(p.Broken, "; ")
		}
		r.Rows = append(r.Rows, []any{kind, p.By, p.To, p.Value, limits})
	}
	for _, p := range doc.Solutions {
		add("solution", p)
	}
	for _, pair := range doc.Neighbours {
		for _, p := range pair {
			add("neighbour", p)
		}
	}
	if len(r.Rows) == 0 && doc.Nearest != nil {
		add("nearest", *doc.Nearest)
	}
	return r
}
