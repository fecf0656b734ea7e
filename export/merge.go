package export

import (
	"errors"
	"fmt"
	"strconv"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// Merged is the effect of a returned workbook on the present worksheet.
type Merged struct {
	TextChanged bool            // since the workbook was written
	Settings    []sheet.Setting // of the worksheet, to be made
	Already     []sheet.Place   // changed in the same way in the workbook and in the text
	Conflicts   []Conflict
	Refused     []Entry
	Notes       []string // changes of the workbook that have no effect
}

// Blocked reports whether something prevents writing the values.
func (m *Merged) Blocked() bool { return len(m.Refused)+len(m.Conflicts) > 0 }

// Conflict is a given that was changed on both sides, or that the text no
// longer has.
type Conflict struct {
	Entry    Entry
	Exporter *sheet.Sheet // to which Entry and Exported belong
	Exported float64
	Place    sheet.Place // in the worksheet; not set where there is a Reason
	Text     float64
	Reason   string
}

// Merge compares three values of every given that was changed in the workbook:
// the exported one, the workbook's, and that of s.
func (b *Returned) Merge(s *sheet.Sheet) (*Merged, error) {
	m := &Merged{TextChanged: !b.SameText(s), Notes: b.Notes}
	if m.TextChanged {
		if err := b.related(m, s); err != nil {
			return nil, err
		}
	}
	for _, e := range b.Entries {
		if e.Refused != "" {
			m.Refused = append(m.Refused, e)
			continue
		}
		b.merge(m, s, e)
	}
	return m, nil
}

// related refuses the workbook of another worksheet, and warns of one that may
// be.
func (b *Returned) related(m *Merged, s *sheet.Sheet) error {
	names := b.Sheet.Names()
	shared := 0
	for _, p := range names {
		if _, d := s.Place(p.Name()); d == nil {
			shared++
		}
	}
	other := b.Sheet.Model.Title != s.Model.Title
	switch {
	case shared == 0:
		return errors.New("it was written from another worksheet: they have no name in common")
	case other && 2*shared < len(names):
		return fmt.Errorf("it was written from another worksheet, %q: of its %d givens this one has %d", b.Sheet.Model.Title, len(names), shared)
	case other:
		m.Notes = append(m.Notes, fmt.Sprintf("the workbook was written from %q, the worksheet is %q", b.Sheet.Model.Title, s.Model.Title))
	}
	return nil
}

// merge adds one entry to m.
func (b *Returned) merge(m *Merged, s *sheet.Sheet, e Entry) {
	q := e.Place.Quantity()
	t := Conflict{Entry: e, Exporter: b.Sheet, Exported: textValue(e.Place)}
	set, d := s.ParseSetting(e.Place.Name() + "=" + b.literal(s, e))
	if d != nil {
		if !m.TextChanged {
			e.Refused = d.Message
			m.Refused = append(m.Refused, e)
			return
		}
		t.Reason = "the text, which has changed, does not take it: " + d.Message
		m.Conflicts = append(m.Conflicts, t)
		return
	}
	t.Place = sheet.Place{Cell: set.Cell, Column: set.Column, Row: set.Row}
	t.Text = textValue(t.Place)
	switch {
	case b.equal(s, q, e.Setting.Value, t.Place, t.Text):
		m.Already = append(m.Already, t.Place)
	case b.equal(s, q, t.Exported, t.Place, t.Text):
		m.Settings = append(m.Settings, set)
	default:
		m.Conflicts = append(m.Conflicts, t)
	}
}

// textValue returns the value that a given has in the text.
func textValue(p sheet.Place) float64 {
	if p.Cell != nil {
		return p.Cell.Value
	}
	return p.Column.Values[p.Row]
}

// literal writes the value of an entry for the worksheet s, with its unit if s
// shows the given in another.
func (b *Returned) literal(s *sheet.Sheet, e Entry) string {
	p, d := s.Place(e.Place.Name())
	if d != nil || e.Place.Quantity().Type.Form != check.Number {
		return e.text
	}
	if unit := e.Place.Quantity().Unit; unit.Symbol != p.Quantity().Unit.Symbol && symbol(unit) != "" {
		if _, err := strconv.ParseFloat(e.text, 64); err == nil {
			return e.text + " " + unit.Symbol
		}
	}
	return e.text
}

// equal compares a value of the exported sheet with one of s.
func (b *Returned) equal(s *sheet.Sheet, q *check.Quantity, v float64, p sheet.Place, w float64) bool {
	other := p.Quantity()
	switch {
	case q.Type.Form != other.Type.Form:
		return false
	case v != v || w != w:
		return v != v && w != w
	case q.Type.Form == check.Text:
		return b.Sheet.Model.Texts[int(v)] == s.Model.Texts[int(w)]
	}
	return fifteen(shownUnit(q.Unit).Clean(v)) == fifteen(shownUnit(q.Unit).Clean(w))
}
