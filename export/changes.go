package export

import (
	"errors"
	"fmt"
	"math"
	"regexp"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

// Changes is a file of changes saved by a page: a worksheet that uses another
// one and changes some of its givens. Comments hold the hash of the export and
// the exported values.
type Changes struct {
	hash  string
	lines []changeLine
}

// changeLine is one given: its name, its value and the exported value, as
// texts.
type changeLine struct{ name, value, exported string }

// exportedMark begins the comments with exported values.
var exportedMark = regexp.MustCompile(`(?m)^\s*exported (.*)$`)

// OpenChanges reads a file of changes that a page has saved.
func OpenChanges(path string) (*Changes, error) {
	tree, list := sheet.ReadTree(path)
	if list.Errors() {
		return nil, fmt.Errorf("%s cannot be read as the changes of a page: %s", path, list[0].Message)
	}
	out := &Changes{}
	for _, s := range tree.Stmts {
		switch s := s.(type) {
		case *syntax.Use:
			out.hash = markOf(s.Note())
		case *syntax.Cell:
			if len(s.Values) != 1 || !s.Given {
				return nil, fmt.Errorf("%s was not saved by a page: %s is not a change of one given", path, s.Name.Text)
			}
			out.lines = append(out.lines, changeLine{nameOf(s), syntax.String(s.Values[0]), markOf(s.Note())})
		}
	}
	if out.hash == "" {
		return nil, fmt.Errorf("%s was not saved by a page: the line that names the worksheet is missing", path)
	}
	return out, nil
}

// markOf returns the exported value in a note.
func markOf(note string) string {
	found := exportedMark.FindStringSubmatch(note)
	if found == nil {
		return ""
	}
	return found[1]
}

// nameOf is the name of the changed given: "boost" or "gears.ratio[3]".
func nameOf(s *syntax.Cell) string {
	if s.Entry == nil {
		return s.Name.Text
	}
	return s.Name.Text + "." + s.Column.Text + "[" + syntax.String(s.Entry) + "]"
}

// Merge compares three values of every given in the file: the exported one, as
// it was shown, the page's, and that of s.
func (c *Changes) Merge(s *sheet.Sheet) (*Merged, error) {
	parts, err := s.Parts()
	if err != nil {
		return nil, err
	}
	m := &Merged{TextChanged: sheet.Hash(parts) != c.hash}
	known := 0
	for _, line := range c.lines {
		if _, d := s.Place(line.name); d == nil {
			known++
		}
		c.merge(m, s, line)
	}
	if len(c.lines) > 0 && known == 0 {
		return nil, errors.New("it was saved from the page of another worksheet: they have no name in common")
	}
	return m, nil
}

// merge adds one given to m.
func (c *Changes) merge(m *Merged, s *sheet.Sheet, line changeLine) {
	set, d := s.ParseSetting(line.name + "=" + line.value)
	if d != nil {
		place, _ := s.Place(line.name)
		m.Refused = append(m.Refused, Entry{Place: place, Field: line.name, Refused: d.Message})
		return
	}
	place := sheet.Place{Cell: set.Cell, Column: set.Column, Row: set.Row}
	now := textValue(place)
	switch {
	case sameGiven(set.Value, now):
		m.Already = append(m.Already, place)
	case shownGiven(s, place, now) == line.exported:
		m.Settings = append(m.Settings, set)
	default:
		m.Conflicts = append(m.Conflicts, Conflict{
			Entry: Entry{Place: place, Setting: set}, Exporter: s, Exported: exportedValue(s, line), Place: place, Text: now,
		})
	}
}

// sameGiven compares two values of one given.
func sameGiven(a, b float64) bool { return a == b || a != a && b != b }

// shownGiven is a given's value as a page shows it.
func shownGiven(s *sheet.Sheet, p sheet.Place, v float64) string {
	if text := s.Text(p.Quantity(), v); text != "" {
		return text
	}
	return "empty"
}

// exportedValue reads the exported value, with the digits that were shown.
func exportedValue(s *sheet.Sheet, line changeLine) float64 {
	text := line.exported
	if p, d := s.Place(line.name); d == nil && p.Quantity().Type.Form == check.Text {
		text = syntax.Quote(text)
	}
	if set, d := s.ParseSetting(line.name + "=" + text); d == nil {
		return set.Value
	}
	return math.NaN()
}
