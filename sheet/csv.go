package sheet

import (
	"errors"
	"fmt"

	"gearleaf/sheet/check"
	"gearleaf/sheet/passbook"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/source"
)

// csv reads the data file that a table of the worksheet at index names. An
// error of type check.CSVError is a mistake in the sheet or the file; any other
// error means that the file could not be read, which is a fault of the table.
func (l *loader) csv(index int, name string, heads []string) (*check.CSV, error) {
	p, err := l.resolve(l.paths[index], name)
	if err != nil {
		return nil, check.CSVError{Message: err.Error()}
	}
	data, err := l.text(p)
	if errors.Is(err, errOutside) {
		return nil, check.CSVError{Message: fmt.Sprintf("%s %v: %s", l.shown(p), err, moveInside)}
	}
	if err != nil {
		return nil, Unreadable(l.shown(p), err)
	}
	if len(data) > source.MaxFileBytes {
		return nil, check.CSVError{Message: fmt.Sprintf("%s is larger than %d MiB, the largest file that is read", l.shown(p), source.MaxFileBytes>>20)}
	}
	return readCSV(l.shown(p), []byte(data), heads)
}

// readCSV reads the file of a table with the reader of logs. A truncated line
// of a book of passes is left out: a number may have lost its last digits.
func readCSV(name string, data []byte, heads []string) (*check.CSV, error) {
	data, doubts := passbook.Trusted(name, data)
	t, err := runlog.ReadTable(name, data, heads, source.MaxRows)
	if err != nil {
		var m *runlog.Mistake
		if !errors.As(err, &m) {
			return nil, err
		}
		return nil, check.CSVError{Message: m.Located(), Help: m.Help}
	}
	out := &check.CSV{Name: name, Rows: t.Rows, Line: t.Line, Each: t.Each, Number: t.Layout.Number, Blank: runlog.IsBlank, Doubts: doubts}
	for _, h := range t.Layout.Heads {
		out.Heads = append(out.Heads, check.Head{Text: h.Text, Name: h.Name, Unit: h.Unit, Spelled: runlog.SpellUnit(h.Unit), Suffix: h.Suffix()})
	}
	return out, nil
}
