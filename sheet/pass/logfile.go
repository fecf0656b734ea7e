package pass

import (
	"fmt"
	"io"
	"slices"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// Mapping returns the sheet's log, which names the columns of a logger's file:
// the sheet's own, or else that of a sheet it uses. It is nil if there is
// none.
func Mapping(s *sheet.Sheet) *check.Log {
	var found *check.Log
	for _, l := range s.Model.Logs {
		if found == nil || found.Origin.File != 0 || l.Origin.File == 0 {
			found = l
		}
	}
	return found
}

// column returns the column of t that has a name, nil if there is none.
func column(t *check.Table, name string) *check.Column {
	for _, c := range t.Columns {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// ReadLog reads the columns of the file at path that l maps. progress is
// called with the number of bytes that have been read.
func ReadLog(s *sheet.Sheet, path string, l *check.Log, progress func(done, of int64) error) (*runlog.Log, error) {
	f, info, err := disk.Open(path, source.MaxLogBytes)
	if err != nil {
		return nil, sheet.Unreadable(path, err)
	}
	defer f.Close()
	layout, err := runlog.ReadLayout(path, f)
	if err != nil {
		return nil, err
	}
	if err := sameUnits(s, path, layout, l); err != nil {
		return nil, err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return runlog.Read(path, f, info.Size(), wants(l), func(n int64) error {
		if progress == nil {
			return nil
		}
		return progress(n, info.Size())
	})
}

// wants lists the columns of l, the time first.
func wants(l *check.Log) []runlog.Want {
	out := []runlog.Want{{Name: "time", Head: l.Channel("time").Head}}
	for _, c := range l.Channels {
		if c.Name != "time" {
			out = append(out, runlog.Want{Name: c.Name, Head: c.Head})
		}
	}
	return out
}

// sameUnits refuses a file that names another unit than the sheet does: the
// logger's settings have changed, or the line below log is wrong.
func sameUnits(s *sheet.Sheet, path string, layout runlog.Layout, l *check.Log) error {
	line := max(layout.HeadLine, layout.UnitLine)
	for _, c := range l.Channels {
		for _, h := range layout.Heads {
			if h.Text != c.Head && h.Name != c.Head {
				continue
			}
			head := check.Head{Text: h.Text, Name: h.Name, Unit: h.Unit, Spelled: runlog.SpellUnit(h.Unit), Suffix: h.Suffix()}
			if offers := offersFor(s, c, s.Model.HeadUnit(head, c.Unit)); offers != nil {
				return &runlog.Mistake{
					File: path, Line: line,
					Message: fmt.Sprintf("the file gives %q in %s, the worksheet takes %s for %s", h.Text, head.Says(), c.Name, symbolOf(c.Unit)),
					Help:    s.Model.ToRead(c.Name, c.Head, offers[0]) + " below log, or correct the logger's setting",
				}
			}
		}
	}
	return nil
}

// offersFor puts the units first that have the measure of the sheet's c: a line
// with another one would not load.
func offersFor(s *sheet.Sheet, c check.Channel, offers []string) []string {
	meets := func(text string) bool {
		u, err := s.Model.Units.Parse(text)
		return err == nil && unit.Meets(c.Type.Measure, u.Measure) == ""
	}
	slices.SortStableFunc(offers, func(a, b string) int {
		switch x, y := meets(a), meets(b); {
		case x == y:
			return 0
		case x:
			return -1
		}
		return 1
	})
	return offers
}

func symbolOf(u unit.Unit) string {
	if u.Symbol == "" {
		return "a plain number"
	}
	return u.Symbol
}

// ParseSeconds reads a time of a log, in seconds or with a unit.
func ParseSeconds(s *sheet.Sheet, text string) (float64, *diag.Diagnostic) {
	expr, d := sheet.ReadQuantity("time", text)
	if d != nil {
		return 0, d
	}
	n, ok := expr.(*syntax.Number)
	if !ok {
		return 0, sheet.Refuse("%q is not a time: write seconds, as in 3.2", text).Diagnostic
	}
	if n.Unit == nil {
		return n.Value, nil
	}
	u, err := s.Model.Units.Parse(n.Unit.Text)
	if err != nil || u.Measure.Dim != (unit.Dimension{unit.Time: {Num: 1}}) {
		return 0, sheet.Refuse("%q is not a time: write seconds, as in 3.2", text).Diagnostic
	}
	return u.SI(n.Value), nil
}
