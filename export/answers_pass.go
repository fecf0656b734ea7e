package export

import (
	"gearleaf/sheet/pass"
	"gearleaf/sheet/passbook"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/unit"
)

// loggedJSON is what log --json prints.
type loggedJSON struct {
	documentHead
	File   string      `json:"file"`
	Notes  []string    `json:"notes"`
	Launch launchJSON  `json:"launch"`
	Tables []tableJSON `json:"tables"`
}

type launchJSON struct {
	At    float64 `json:"at"`
	By    string  `json:"by"`
	Pass  int     `json:"pass"`
	Of    int     `json:"of"`
	Short float64 `json:"short"`
}

type tableJSON struct {
	Name   string  `json:"name"`
	Title  string  `json:"title"`
	Fields []Field `json:"fields"`
	Rows   [][]any `json:"rows"`
}

// LoggedDocument is what log --json prints.
func LoggedDocument(h *pass.Logged, tabs []Tab) any {
	doc := loggedJSON{
		documentHead: headOf("log", h.Sheet), File: h.File.Name, Notes: h.Notes,
		Launch: launchOf(h.Launch, h),
	}
	if doc.Notes == nil {
		doc.Notes = []string{}
	}
	for _, t := range tabs {
		doc.Tables = append(doc.Tables, tableJSON{t.Name, t.Title, t.Fields, t.Rows})
	}
	return doc
}

func launchOf(l runlog.Launch, h *pass.Logged) launchJSON {
	return launchJSON{At: l.At, By: l.By, Pass: h.Pass, Of: h.Passes, Short: l.Short}
}

// fitJSON is what fit --json prints.
type fitJSON struct {
	documentHead
	File     string           `json:"file"`
	Notes    []string         `json:"notes"`
	Givens   []fitGivenJSON   `json:"givens"`
	Channels []fitChannelJSON `json:"channels"`
	Pairs    []fitPairJSON    `json:"pairs"`
	Clock    clockJSON        `json:"clock"`
	Lag      float64          `json:"lag"`
	Limits   []string         `json:"limits"`
}

type clockJSON struct {
	Moved float64  `json:"moved"`
	Error *float64 `json:"error"`
}

type fitGivenJSON struct {
	Field
	Before  float64  `json:"before"`
	After   float64  `json:"after"`
	Error   *float64 `json:"error"`
	Bound   bool     `json:"bound"`
	Unknown bool     `json:"unknown"`
	Flat    bool     `json:"flat"`
	Below   *float64 `json:"below"`
	Above   *float64 `json:"above"`
	Start   *float64 `json:"start"`
}

type fitChannelJSON struct {
	Field
	Values int     `json:"values"`
	Before float64 `json:"before"`
	After  float64 `json:"after"`
	Worse  bool    `json:"worse"`
}

type fitPairJSON struct {
	A           string  `json:"a"`
	B           string  `json:"b"`
	Coefficient float64 `json:"coefficient"`
}

// FitAnswer is the answer of fit.
func FitAnswer(f *pass.Fitted) Answer {
	doc := fitDocument(f)
	return answerOf(f.Sheet, "Fit", doc, fitRecords(doc))
}

func fitDocument(f *pass.Fitted) fitJSON {
	doc := fitJSON{
		documentHead: headOf("fit", f.Sheet), File: f.Logged.File.Name,
		Notes: append([]string{}, f.Logged.Notes...), Pairs: []fitPairJSON{}, Limits: []string{},
		Clock: clockJSON{f.Clock, finite(f.ClockError)}, Lag: f.Lag,
	}
	for _, g := range f.Givens {
		q := g.Quantity()
		doc.Givens = append(doc.Givens, fitGivenJSON{
			Field: FieldOf(g.Name(), q), Before: q.Unit.Number(g.Before), After: q.Unit.Number(g.After),
			Error: finite(g.Error / q.Unit.Scale), Bound: g.AtBound, Unknown: g.Unknown,
			Flat: g.Spot.Flat, Below: finite(q.Unit.Number(g.Spot.Below)), Above: finite(q.Unit.Number(g.Spot.Above)), Start: finite(q.Unit.Number(g.Spot.Start)),
		})
	}
	for _, c := range f.Channels {
		u := c.Channel.Unit
		doc.Channels = append(doc.Channels, fitChannelJSON{Field{Name: c.Channel.Name, Unit: symbol(u)}, c.N, unit.Typed(c.Before / u.Scale), unit.Typed(c.After / u.Scale), c.Worse()})
	}
	for _, p := range f.Pairs {
		doc.Pairs = append(doc.Pairs, fitPairJSON(p))
	}
	for _, l := range f.After.BrokenLimits() {
		doc.Limits = append(doc.Limits, l.Text)
	}
	return doc
}

// fitRecords has one row per given.
func fitRecords(doc fitJSON) Records {
	r := Records{mixed: true, Fields: []Field{{Name: "given"}, {Name: "unit"}, {Name: "before"}, {Name: "after"}, {Name: "standard error"}, {Name: "determined"}}}
	for _, g := range doc.Givens {
		var deviation any
		if g.Error != nil {
			deviation = *g.Error
		}
		r.Rows = append(r.Rows, []any{g.Name, g.Unit, g.Before, g.After, deviation, !g.Unknown})
	}
	return r
}

// passesJSON is what passes list --json prints.
type passesJSON struct {
	Format  string         `json:"format"`
	Version int            `json:"version"`
	Head    []string       `json:"head"`
	Lines   []passLineJSON `json:"lines"`
}

type passLineJSON struct {
	Line    int               `json:"line"`
	Fields  map[string]string `json:"fields"`
	Faults  []string          `json:"faults,omitempty"` // names of results
	Problem string            `json:"problem,omitempty"`
	Missing string            `json:"missing,omitempty"`
}

// PassesAnswer is the answer of passes list: some lines of a book.
func PassesAnswer(b *passbook.Book, lines []passbook.Line) Answer {
	r := passesRecords(b, lines)
	return Answer{PassesDocument(b, lines), r, *passesTab(r)}
}

// PassesDocument is what passes list --json prints.
func PassesDocument(b *passbook.Book, lines []passbook.Line) any {
	doc := passesJSON{Format: "gearleaf passes", Version: 1, Head: b.Head, Lines: []passLineJSON{}}
	fields := fieldsOf(b, lines)
	for _, l := range lines {
		one := passLineJSON{Line: l.At, Fields: map[string]string{}, Faults: fields.faultsOf(l), Problem: l.Problem, Missing: l.Missing}
		for i, v := range l.Fields {
			if i < len(b.Head) {
				one.Fields[b.Head[i]] = v
			}
		}
		doc.Lines = append(doc.Lines, one)
	}
	return doc
}
