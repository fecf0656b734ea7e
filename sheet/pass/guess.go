package pass

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// Guess returns lines for the sheet that map the columns of the file at path,
// as far as its heads can be guessed. The sheet loads with them unchanged: for
// an ambiguous unit or pressure there is a comment with the lines to choose
// from.
func Guess(s *sheet.Sheet, path string) (lines []string, layout runlog.Layout, err error) {
	f, _, err := disk.Open(path, source.MaxLogBytes)
	if err != nil {
		return nil, layout, sheet.Unreadable(path, err)
	}
	defer f.Close()
	layout, err = runlog.ReadLayout(path, f)
	if err != nil {
		return nil, layout, err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, layout, err
	}
	g := guessing{s: s, guesses: runlog.GuessColumns(layout.Heads), table: passTable(s)}
	g.begin = beginning(path, f, g.guesses)
	return g.lines(), layout, nil
}

// guessing is the state of one guess.
type guessing struct {
	s       *sheet.Sheet
	guesses []runlog.Guess
	table   *check.Table // of the pass; nil if the sheet has none
	begin   map[string][]float64
}

// offer is a line to offer for a column of the file.
type offer struct{ name, head, unit string }

func (o offer) line(width int) string {
	return strings.TrimRight(fmt.Sprintf("%-*s : from %s %s", width, o.name, syntax.Quote(o.head), o.unit), " ")
}

// begun is the number of bytes of a file that are read to find its pressures at
// rest.
const begun = 256 << 10

// beginning returns the first values of every column guessed, in the file's
// own units; nothing of a file that cannot be read.
func beginning(path string, r io.Reader, guesses []runlog.Guess) map[string][]float64 {
	var wants []runlog.Want
	for _, g := range guesses {
		want := runlog.Want{Name: g.Name, Head: g.Head.Text}
		if g.Name == "time" {
			wants = append([]runlog.Want{want}, wants...)
		} else {
			wants = append(wants, want)
		}
	}
	out := map[string][]float64{}
	if len(wants) == 0 || wants[0].Name != "time" {
		return out
	}
	l, err := runlog.Read(path, io.LimitReader(r, begun), 0, wants, nil)
	if err != nil {
		return out
	}
	for _, c := range l.Columns {
		out[c.Name] = c.Values
	}
	return out
}

// lines writes the guess. Without a time, or a table to compare with, no line
// would load, so all are comments.
func (g *guessing) lines() []string {
	table, missing := "run", ""
	if g.table != nil {
		table = g.table.Name
	} else {
		missing = "# The worksheet has no table with a column time: the lines below need one."
	}
	if !slices.ContainsFunc(g.guesses, func(c runlog.Guess) bool { return c.Name == "time" }) {
		missing = "# No column looks like the time: without time : from \"head\" s the lines below do not load."
	}
	lines := append(g.ownUnits(), "log "+table)
	wide := 0
	for _, c := range g.guesses {
		for _, o := range g.offers(c) {
			wide = max(wide, len(o.name))
		}
	}
	for _, c := range g.guesses {
		lines = append(lines, g.column(c, wide)...)
	}
	if missing == "" {
		return lines
	}
	for i, line := range lines {
		lines[i] = "# " + line
	}
	return append([]string{missing}, lines...)
}

// ownUnits declares the units of the file that worksheets do not have.
func (g *guessing) ownUnits() []string {
	for _, c := range g.guesses {
		if _, err := g.s.Model.Units.Parse("krpm"); c.Unit == "krpm" && err != nil {
			return []string{"unit krpm = 1000 rpm"}
		}
	}
	return nil
}

// column writes the guess of one column: a line, or a choice of several.
func (g *guessing) column(c runlog.Guess, wide int) []string {
	offers := g.offers(c)
	switch len(offers) {
	case 0:
		return nil
	case 1:
		return []string{"  " + offers[0].line(wide)}
	}
	question := "in which unit?"
	if c.Named() {
		question = "above the outside air, or absolute?"
	}
	lines := []string{fmt.Sprintf("  # %s: %s Take one of:", syntax.Quote(c.Head.Text), question)}
	for _, o := range offers {
		lines = append(lines, "  #   "+o.line(wide))
	}
	return lines
}

// offers returns the lines that a column can have.
func (g *guessing) offers(c runlog.Guess) []offer {
	units := []string{c.Unit}
	switch {
	case c.Name == "time" && !c.Named():
		units = []string{g.timeUnit()}
	case !c.Named() && len(c.Usual) > 0:
		units = c.Usual
	}
	if c.Name == runlog.Boost || c.Name == "fuel_pressure" {
		return g.pressures(c, units)
	}
	var out []offer
	for _, u := range units {
		if g.measures(c, u) {
			out = append(out, offer{g.name(c.Name, u), c.Head.Text, u})
		}
	}
	return out
}

// timeUnit returns the unit of a time without one: a pass is logged many times
// a second, so steps of one or more are milliseconds.
func (g *guessing) timeUnit() string {
	t := g.begin["time"]
	if n := len(t); n > 1 && (t[n-1]-t[0])/float64(n-1) >= 1 {
		return "ms"
	}
	return "s"
}

// parse returns a unit of the sheet, or one that ownUnits declares.
func (g *guessing) parse(text string) (unit.Unit, bool) {
	if text == "" {
		return unit.Unit{Scale: 1}, true
	}
	if text == "krpm" {
		text = "rpm"
	}
	u, err := g.s.Model.Units.Parse(text)
	return u, err == nil
}

// measures reports whether u is a unit of the quantity that the column is
// guessed to be.
func (g *guessing) measures(c runlog.Guess, u string) bool {
	have, known := g.parse(u)
	if len(c.Usual) == 0 {
		return known && have.Scale == 1 && have.Measure.Dimensionless()
	}
	return slices.ContainsFunc(c.Usual, func(usual string) bool {
		want, ok := g.parse(usual)
		return ok && known && unit.Meets(want.Measure, have.Measure) == ""
	})
}

// name returns the name for a column: a different one if the guessed name has
// another meaning in the sheet.
func (g *guessing) name(name, symbol string) string {
	u, _ := g.parse(symbol)
	have, known := g.sheetHas(name)
	if known && (have.Form != check.Number || unit.Meets(have.Measure, u.Measure) != "") {
		return "logged_" + name
	}
	return name
}

// sheetHas returns the type of the column of the pass, or of the cell, that
// has a name.
func (g *guessing) sheetHas(name string) (check.Type, bool) {
	if g.table != nil {
		if c := column(g.table, name); c != nil {
			return c.Type, true
		}
	}
	if c, _ := g.s.Model.Resolve(name); c != nil {
		return c.Type, true
	}
	return check.Type{}, false
}

// pressures returns the lines of a column of pressures: one if unit, head or
// values show whether it is absolute, else both.
func (g *guessing) pressures(c runlog.Guess, units []string) []offer {
	var settled, open []offer
	for _, symbol := range units {
		gauge, absolute, ok := g.forms(symbol)
		if !ok {
			continue
		}
		above := offer{g.name(c.Name, gauge), c.Head.Text, gauge}
		whole := offer{g.name(absoluteName(c.Name), absolute), c.Head.Text, absolute}
		switch g.says(c, symbol, gauge) {
		case unit.Relative:
			settled = append(settled, above)
		case unit.Absolute:
			settled = append(settled, whole)
		default:
			open = append(open, above, whole)
		}
	}
	if len(settled) > 0 {
		return settled
	}
	return open
}

// absoluteName is the name of an absolute pressure: it must not be used as
// boost.
func absoluteName(name string) string {
	if name == runlog.Boost {
		return runlog.ManifoldPressure
	}
	return name
}

// says decides by unit, head or values whether a column is absolute; Plain if
// it cannot.
func (g *guessing) says(c runlog.Guess, symbol, gauge string) unit.Kind {
	u, _ := g.parse(gauge)
	switch {
	case symbol == "psia" || symbol == "bara" || c.Named() && c.Head.SaysAbsolute():
		return unit.Absolute
	case c.Named() && symbol == gauge:
		return unit.Relative
	}
	return atRest(g.begin[c.Name], u.Scale)
}

// forms returns the symbols of a pressure above the outside air's and of an
// absolute one in the scale of symbol.
func (g *guessing) forms(symbol string) (gauge, absolute string, ok bool) {
	for _, stem := range []string{symbol, symbol[:max(0, len(symbol)-1)]} {
		for _, absolute = range []string{stem + "a", stem} {
			a, here := g.parse(absolute)
			b, there := g.parse(stem + "g")
			if here && there && a.Measure.Kind == unit.Absolute && b.Measure.Kind == unit.Relative {
				return stem + "g", absolute, true
			}
		}
	}
	return "", "", false
}

// At rest an absolute pressure is the outside air's: 60 kPa is that of 4 km of
// altitude. Boost is near zero then, or below it in an idling engine, and no
// absolute pressure is.
const (
	thinnestAir = 60e3
	densestAir  = 110e3
	aboutNone   = 8e3
	steady      = 3e3
)

// atRest decides whether the first values of a log, a pressure in units of so
// many pascals, are absolute: Plain if that is not certain.
func atRest(v []float64, scale float64) unit.Kind {
	var si []float64
	for _, x := range v {
		if x == x {
			si = append(si, x*scale)
		}
	}
	if len(si) == 0 {
		return unit.Plain
	}
	if slices.Min(si) < -2e3 {
		return unit.Relative
	}
	first := si[:max(1, min(100, len(si)/4))]
	lowest, highest := slices.Min(first), slices.Max(first)
	switch {
	case lowest >= thinnestAir && highest <= densestAir && highest-lowest <= steady:
		return unit.Absolute
	case math.Max(math.Abs(lowest), math.Abs(highest)) <= aboutNone:
		return unit.Relative
	}
	return unit.Plain
}

// passTable returns the table that most likely is the pass: the longest one
// with a column time; nil if there is none.
func passTable(s *sheet.Sheet) *check.Table {
	var found *check.Table
	for _, t := range s.Model.Tables {
		if column(t, "time") != nil && !t.Library && (found == nil || t.Rows > found.Rows) {
			found = t
		}
	}
	return found
}
