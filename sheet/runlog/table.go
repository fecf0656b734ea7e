package runlog

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"
)

// Table is the file of a worksheet's table. It has one of the layouts of a
// log; its fields may hold texts, and quoted ones may span several lines.
type Table struct {
	Name   string
	Layout Layout
	Rows   int
	text   []byte // from the first row on
	lines  []lineMark
}

// maxColumns bounds the columns of a table's file.
const maxColumns = 20_000

// headLines is the largest number of lines up to the end of a table's head.
const headLines = 60

// ReadTable reads the file of a table from data. wants are the heads of the
// columns that the table takes: the line that has most of them is the head.
// rows bounds the number of rows.
func ReadTable(name string, data []byte, wants []string, rows int) (*Table, error) {
	data, err := decodedText(data)
	if err != nil {
		return nil, &Mistake{name, 0, "the file is not text: " + err.Error(), ""}
	}
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return nil, &Mistake{name, 0, "the file is empty", "its first line must name the columns"}
	case bytes.IndexByte(data[:min(len(data), sampled)], 0) >= 0:
		return nil, &Mistake{name, 0, "the file is not text", "save it as CSV"}
	}
	t := &Table{Name: name}
	if t.text, err = t.layOut(data, wants); err != nil {
		return nil, err
	}
	return t, t.measure(rows)
}

// layOut finds the layout of data and returns the text of its rows.
func (t *Table) layOut(data []byte, wants []string) ([]byte, error) {
	var best Layout
	most, end := -1, 0
	for _, delimiter := range []byte{',', ';', '\t'} {
		at, line := 0, 1
		for n := 0; n < headLines && at < len(data); n++ {
			r := cutRecord(nil, data[at:], delimiter)
			if r.open || r.size > maxLine || len(r.fields) > maxColumns {
				break
			}
			l := Layout{Delimiter: delimiter, Heads: heads(r.fields, nil), HeadLine: line, FirstLine: line + r.lines}
			if score := l.score(wants); len(r.fields) > 0 && score > most {
				best, most, end = l, score, at+r.size
			}
			at, line = at+r.size, line+r.lines
		}
	}
	if t.Layout = best; most < 0 {
		t.Layout = Layout{Delimiter: ',', HeadLine: 1, FirstLine: 1}
	}
	end += t.takeUnits(data[end:])
	var doubt string
	if t.Layout.Point, doubt = t.point(data[end:]); doubt != "" {
		return nil, &Mistake{t.Name, t.Layout.FirstLine, doubtMessage(doubt), doubtHelp}
	}
	return data[end:], nil
}

// score rates a line as the head: by the number of wants in it, then by the
// number of fields.
func (l Layout) score(wants []string) int {
	has := make(map[string]bool, len(l.Heads))
	for _, h := range l.Heads {
		has[strings.TrimSpace(h.Text)], has[h.Name] = true, true
	}
	found := 0
	for _, want := range wants {
		if has[strings.TrimSpace(want)] {
			found++
		}
	}
	return found<<20 + min(len(l.Heads), 1<<20-1)
}

// takeUnits reads a row of units below the head and returns its size, 0 if
// there is none: each of its fields is a unit above a number.
func (t *Table) takeUnits(data []byte) int {
	r := cutRecord(nil, data, t.Layout.Delimiter)
	if r.size > maxLine || len(t.Layout.Heads) == 0 {
		return 0
	}
	units, below := r.fields, cutRecord(nil, data[r.size:], t.Layout.Delimiter).fields
	if len(units) != len(t.Layout.Heads) || len(below) != len(units) {
		return 0
	}
	filled := 0
	for i, u := range units {
		if len(u) == 0 {
			continue
		}
		_, number := parseNumber(u, '.')
		_, numberBelow := parseNumber(below[i], '.')
		_, commaBelow := parseNumber(below[i], ',')
		if number || SpellUnit(string(u)) == "" || !numberBelow && !commaBelow && !isBlank(below[i]) {
			return 0
		}
		filled++
	}
	if filled == 0 {
		return 0
	}
	for i, u := range units {
		if len(u) > 0 {
			t.Layout.Heads[i].Unit = string(bytes.Trim(u, "[](){} "))
		}
	}
	t.Layout.UnitLine = t.Layout.FirstLine
	t.Layout.FirstLine += r.lines
	return r.size
}

// point finds the sign before the decimals of numbers: a comma, if no field
// says otherwise. doubt is a number where commas also separate the columns and
// every number with one may have a thousands separator.
func (t *Table) point(data []byte) (point byte, doubt string) {
	points, commas, apart := 0, 0, 0
	for n := 0; n < sampledLines && len(data) > 0; n++ {
		r := cutRecord(nil, data, t.Layout.Delimiter)
		data = data[r.size:]
		for _, f := range r.fields {
			_, byPoint := parseNumber(f, '.')
			_, byComma := parseNumber(f, ',')
			switch {
			case byPoint && !byComma:
				points++
			case byComma && !byPoint:
				commas++
				if doubt = cmp.Or(doubt, string(f)); thousands(f) {
					apart++
				}
			}
		}
	}
	switch {
	case commas == 0 || points > 0:
		return '.', ""
	case t.Layout.Delimiter != ',' || apart < commas:
		return ',', ""
	}
	return ',', doubt
}

// measure counts the rows, which must have as many fields as the head, and
// records their lines.
func (t *Table) measure(most int) error {
	data, line := t.text, t.Layout.FirstLine
	odd, oddFields := tally{}, 0
	var r record
	for ; len(data) > 0; data, line = data[r.size:], line+r.lines {
		r = cutRecord(r.fields[:0], data, t.Layout.Delimiter)
		switch {
		case r.open:
			return &Mistake{t.Name, line, "a quote is not closed", ""}
		case r.size > maxLine:
			return &Mistake{t.Name, line, "this line is longer than a megabyte", ""}
		case len(r.fields) == 0:
			continue
		case t.Rows == most:
			return &Mistake{t.Name, line, fmt.Sprintf("a table can have %d rows, and this file has more", most), ""}
		case len(r.fields) != len(t.Layout.Heads):
			if odd.add(line, nil); odd.count == 1 {
				oddFields = len(r.fields)
			}
		}
		t.lines = appendMark(t.lines, t.Rows, line)
		t.Rows++
	}
	if odd.count == 0 {
		return nil
	}
	m := &Mistake{t.Name, odd.line, fmt.Sprintf("this line has %s, and the head has %d", fieldCount(oddFields), len(t.Layout.Heads)), ""}
	if odd.count > 1 {
		m.Help = fmt.Sprintf("%d lines of this file have other fields than its head", odd.count)
	}
	return m
}

func fieldCount(n int) string {
	if n == 1 {
		return "one field"
	}
	return fmt.Sprintf("%d fields", n)
}

// Line returns the line of the file in which a row starts.
func (t *Table) Line(row int) int { return lineOf(t.lines, row) }

// Each calls f for every row with the fields of all columns, until f returns
// false. The fields are f's until it returns.
func (t *Table) Each(f func(row int, fields [][]byte) bool) {
	var r record
	row := 0
	for data := t.text; len(data) > 0; data = data[r.size:] {
		r = cutRecord(r.fields[:0], data, t.Layout.Delimiter)
		if len(r.fields) == 0 {
			continue
		}
		if !f(row, r.fields) {
			return
		}
		row++
	}
}

// Number reads a number in the notation of the file: with its decimal sign, or
// a time of day in seconds.
func (l Layout) Number(field []byte) (float64, bool) {
	if v, ok := parseNumber(field, l.Point); ok {
		return v, true
	}
	return parseClock(field, l.Point)
}

// IsBlank reports whether a field among numbers says that there is no value.
func IsBlank(field []byte) bool { return isBlank(field) }

// record is one record of a file: its fields, none for an empty line, and its
// size in the text.
type record struct {
	fields      [][]byte
	size, lines int
	open        bool // a quote is not closed
}

// cutRecord splits the first record off data and appends its fields to list. A
// field in quotes may hold delimiters and line ends.
func cutRecord(list [][]byte, data []byte, delimiter byte) record {
	r := record{fields: list}
	data = data[:min(len(data), maxLine+1)]
	line := data
	if end := bytes.IndexByte(data, '\n'); end >= 0 {
		line = data[:end+1]
	}
	if len(bytes.TrimSpace(line)) == 0 {
		r.size, r.lines = len(line), 1
		return r
	}
	for more := true; more; {
		var field []byte
		var size int
		field, size, more, r.open = cutField(data[r.size:], delimiter)
		r.fields = append(r.fields, field)
		r.size += size
	}
	r.lines = max(bytes.Count(data[:r.size], []byte{'\n'}), 1)
	return r
}

// cutField splits the first field off b and returns its size with the byte that
// ends it. more reports that this is a delimiter.
func cutField(b []byte, delimiter byte) (field []byte, size int, more, open bool) {
	at := 0
	for at < len(b) && b[at] == ' ' {
		at++
	}
	if at < len(b) && b[at] == '"' {
		field, at, open = unquote(b, at+1)
		if open {
			return field, len(b), false, true
		}
	}
	start := at
	for at < len(b) && b[at] != delimiter && b[at] != '\n' {
		at++
	}
	if field == nil {
		field = trim(b[start:at])
	}
	if at == len(b) {
		return field, at, false, false
	}
	return field, at + 1, b[at] == delimiter, false
}

// unquote returns the text from at to the quote that closes it, and the place
// after that quote.
func unquote(b []byte, at int) (field []byte, end int, open bool) {
	field = []byte{}
	for {
		n := bytes.IndexByte(b[at:], '"')
		if n < 0 {
			return field, len(b), true
		}
		field = append(field, b[at:at+n]...)
		at += n + 1
		if at >= len(b) || b[at] != '"' {
			return trim(field), at, false
		}
		field, at = append(field, '"'), at+1
	}
}
