package sheet

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/source"
)

// csv reads the file that a table of the file at index asks for. An error of
// type check.CSVError is a mistake in the sheet or the file; any other means
// that the file could not be read, which is a fault of the table.
func (l *loader) csv(index int, name string) (*check.CSV, error) {
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
	text, d := admitText(l.shown(p), data)
	if d != nil {
		return nil, check.CSVError{Message: l.shown(p) + ": " + d.Message}
	}
	return parseCSV(l.shown(p), []byte(text.Text))
}

// parseCSV reads RFC 4180 records; the first is the head.
func parseCSV(name string, data []byte) (*check.CSV, error) {
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))))
	r.FieldsPerRecord = -1
	out := &check.CSV{Name: name}
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			var p *csv.ParseError
			if errors.As(err, &p) {
				return nil, check.CSVError{Line: p.Line, Message: fmt.Sprintf("%s:%d:%d: %v", name, p.Line, p.Column, p.Err)}
			}
			return nil, err
		}
		line, _ := r.FieldPos(0)
		if out.Head == nil {
			if sign := otherSign(record); sign != "" {
				return nil, check.CSVError{Line: 1, Message: fmt.Sprintf("%s parts its fields by %s: save it with commas between them, and points in the numbers", name, sign)}
			}
			out.Head = record
			continue
		}
		if len(out.Rows) == source.MaxRows {
			return nil, check.CSVError{Line: line, Message: fmt.Sprintf("%s has more than %d rows", name, source.MaxRows)}
		}
		out.Rows = append(out.Rows, record)
		out.Lines = append(out.Lines, line)
	}
	if out.Head == nil {
		return nil, check.CSVError{Message: name + " is empty: its first line must name the columns"}
	}
	return out, nil
}

// otherSign names the sign, other than the comma, that parts the fields of a
// head; empty where it is one field, or several parted by commas.
func otherSign(head []string) string {
	switch {
	case len(head) != 1:
		return ""
	case strings.Contains(head[0], ";"):
		return "semicolons"
	case strings.Contains(head[0], "\t"):
		return "tabs"
	}
	return ""
}
