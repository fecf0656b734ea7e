package export

import (
	"cmp"
	"regexp"
	"strconv"
	"strings"

	"gearleaf/sheet/pass"
	"gearleaf/sheet/passbook"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/unit"
)

// loggedJSON is what log --json prints.
type loggedJSON struct {
	Format  string      `json:"format"`
	Version int         `json:"version"`
	Title   string      `json:"title"`
	File    string      `json:"file"`
	Notes   []string    `json:"notes"`
	Launch  launchJSON  `json:"launch"`
	Tables  []tableJSON `json:"tables"`
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
		Format: "gearleaf log", Version: 1, Title: h.Sheet.Model.Title, File: h.File.Name, Notes: h.Notes,
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
	Format   string           `json:"format"`
	Version  int              `json:"version"`
	Title    string           `json:"title"`
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
	return Answer{Document: doc, Records: fitRecords(doc)}
}

func fitDocument(f *pass.Fitted) fitJSON {
	doc := fitJSON{
		Format: "gearleaf fit", Version: 1, Title: f.Sheet.Model.Title, File: f.Logged.File.Name,
		Notes: append([]string{}, f.Logged.Notes...), Pairs: []fitPairJSON{}, Limits: []string{},
		Clock: clockJSON{f.Clock, finite(f.ClockError)}, Lag: f.Lag,
	}
	for _, g := range f.Givens {
		q := g.Quantity()
		doc.Givens = append(doc.Givens, fitGivenJSON{
			Field: FieldOf(g.Name(), q), Before: q.Unit.Clean(g.Before), After: q.Unit.Clean(g.After),
			Error: finite(g.Error / q.Unit.Scale), Bound: g.AtBound, Unknown: g.Unknown,
			Flat: g.Spot.Flat, Below: finite(q.Unit.Clean(g.Spot.Below)), Above: finite(q.Unit.Clean(g.Spot.Above)), Start: finite(q.Unit.Clean(g.Spot.Start)),
		})
	}
	for _, c := range f.Channels {
		u := c.Channel.Unit
		doc.Channels = append(doc.Channels, fitChannelJSON{Field{Name: c.Channel.Name, Unit: symbol(u)}, c.N, c.Before / u.Scale, c.After / u.Scale, c.Worse()})
	}
	for _, p := range f.Pairs {
		doc.Pairs = append(doc.Pairs, fitPairJSON(p))
	}
	for _, l := range f.After.BrokenLimits() {
		doc.Limits = append(doc.Limits, l.Text)
	}
	return doc
}

// fitRecords are the givens, a row each.
func fitRecords(doc fitJSON) Records {
	r := Records{Fields: []Field{{Name: "given"}, {Name: "unit"}, {Name: "before"}, {Name: "after"}, {Name: "standard error"}, {Name: "determined"}}}
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
	Problem string            `json:"problem,omitempty"`
	Missing string            `json:"missing,omitempty"`
}

// PassesAnswer is the answer of passes list: some lines of a book.
func PassesAnswer(b *passbook.Book, lines []passbook.Line) Answer {
	r := passesRecords(b, lines)
	return Answer{passesDocument(b, lines), r, passesTab(r)}
}

func passesDocument(b *passbook.Book, lines []passbook.Line) passesJSON {
	doc := passesJSON{Format: "gearleaf passes", Version: 1, Head: b.Head, Lines: []passLineJSON{}}
	for _, l := range lines {
		one := passLineJSON{Line: l.At, Fields: map[string]string{}, Problem: l.Problem, Missing: l.Missing}
		for i, v := range l.Fields {
			if i < len(b.Head) {
				one.Fields[b.Head[i]] = v
			}
		}
		doc.Lines = append(doc.Lines, one)
	}
	return doc
}

// faultWord is in a book instead of a result that has no value.
const faultWord = "fault"

// passesRecords has a row a pass. A column of nothing but numbers holds
// numbers; of what is at fault there, the last columns tell.
func passesRecords(b *passbook.Book, lines []passbook.Line) Records {
	r := Records{Fields: []Field{{Name: "line"}}}
	for _, l := range lines {
		row := make([]any, len(b.Head)+3)
		row[0] = float64(l.At)
		r.Rows = append(r.Rows, row)
	}
	for c, name := range b.Head {
		numbers := allNumbers(lines, c)
		r.Fields = append(r.Fields, bookField(name, numbers))
		for i, l := range lines {
			r.Rows[i][c+1] = bookValue(l, c, numbers)
		}
	}
	r.Fields = append(r.Fields, Field{Name: faultWord}, Field{Name: "problem"})
	for i, l := range lines {
		if causes := faultsOf(b, l); causes != "" {
			r.Rows[i][len(b.Head)+1] = causes
		}
		if l.Problem != "" || l.Missing != "" {
			r.Rows[i][len(b.Head)+2] = cmp.Or(l.Problem, l.Missing)
		}
	}
	return r
}

// bookField returns the field of a column of a book. The unit of numbers is the
// last word of its name, if that is one; a capital letter may as well be a label, as
// in `tank A`, and stays in the name.
func bookField(head string, numbers bool) Field {
	if at := strings.LastIndexByte(head, ' '); at > 0 && numbers && !aLabel.MatchString(head[at+1:]) {
		if u, err := unit.NewSystem().Parse(head[at+1:]); err == nil {
			return fieldIn(head[:at], u)
		}
	}
	return Field{Name: head}
}

var aLabel = regexp.MustCompile(`^[A-Z]$`)

// bookNumber knows a number that is as it would be written: 007 is a text.
var bookNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?$`)

// isBookNumber reports whether a field is a number, and none that is out of range.
func isBookNumber(text string) bool {
	_, err := strconv.ParseFloat(text, 64)
	return err == nil && bookNumber.MatchString(text)
}

// allNumbers reports whether a column of a book holds numbers and nothing else
// but blanks and faults.
func allNumbers(lines []passbook.Line, c int) bool {
	some := false
	for _, l := range lines {
		switch text := fieldAt(l, c); {
		case isBookNumber(text):
			some = true
		case text != "" && text != faultWord:
			return false
		}
	}
	return some
}

// fieldAt returns a field of a line; one that was altered has none.
func fieldAt(l passbook.Line, c int) string {
	if l.Problem != "" || c >= len(l.Fields) {
		return ""
	}
	return l.Fields[c]
}

// bookValue returns a field as a record has it.
func bookValue(l passbook.Line, c int, numbers bool) any {
	text := fieldAt(l, c)
	if text == "" {
		return nil
	}
	if !numbers {
		return text
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return nil
	}
	return v
}

// faultsOf names the columns of a line that are at fault.
func faultsOf(b *passbook.Book, l passbook.Line) string {
	var names []string
	for c, name := range b.Head {
		if fieldAt(l, c) == faultWord {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}
