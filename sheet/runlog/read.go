package runlog

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"gearleaf/sheet/source"
)

// Want is a requested column, by its head in the file.
type Want struct{ Name, Head string }

// Column is a requested column, in the file's own unit. It is NaN in rows
// without a value.
type Column struct {
	Want
	At     int // its place in the file, from 0
	Values []float64
}

// Log is a file that has been read. The first column is the time; it rises from
// row to row within a segment.
type Log struct {
	Name    string
	Layout  Layout
	Columns []Column
	// Segments are the rows at which the time starts again; the first is 0.
	Segments []int
	Findings []Finding
	lines    []lineMark
}

// Finding is a note about a file for the user.
type Finding struct {
	Line  int // of the first place; 0 for none
	Count int
	Text  string
}

// lineMark is the line of the file of a row; the rows after it follow line by
// line up to the next mark.
type lineMark struct{ row, line int }

// Rows returns the number of samples.
func (l *Log) Rows() int { return len(l.Columns[0].Values) }

// Line returns the line of the file that row is in.
func (l *Log) Line(row int) int { return lineOf(l.lines, row) }

// lineOf returns the line of a row, by the marks.
func lineOf(marks []lineMark, row int) int {
	lo, hi := 0, len(marks)
	for lo < hi {
		if mid := (lo + hi) / 2; marks[mid].row <= row {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	m := marks[lo-1]
	return m.line + row - m.row
}

// Progress receives the number of bytes read so far; an error stops the reading.
type Progress func(bytes int64) error

// maxLine bounds one line of a log.
const maxLine = 1 << 20

// ReadLayout returns the layout of a file from its beginning.
func ReadLayout(name string, r io.Reader) (Layout, error) {
	in, err := decoded(r)
	if err != nil {
		return Layout{}, err
	}
	sample, err := io.ReadAll(io.LimitReader(in, sampled))
	if err != nil {
		return Layout{}, err
	}
	return findLayout(name, sample, len(sample) < sampled)
}

// Read reads the columns of wants, the first of which is the time. size is the
// number of bytes, 0 if unknown.
func Read(name string, r io.Reader, size int64, wants []Want, progress Progress) (*Log, error) {
	in, err := decoded(r)
	if err != nil {
		return nil, err
	}
	sample, err := in.Peek(sampled)
	whole := errors.Is(err, io.EOF)
	if err != nil && !whole {
		return nil, err
	}
	layout, err := findLayout(name, sample, whole)
	if err != nil {
		return nil, err
	}
	rd := &reader{log: &Log{Name: name, Layout: layout}, in: in, progress: progress, text: make([]tally, len(wants))}
	if rd.fields, err = layout.find(name, wants); err != nil {
		return nil, err
	}
	room := 1024
	if lines := bytes.Count(sample, []byte{'\n'}); size > 0 && lines > 0 {
		room = int(float64(size)/float64(len(sample))*float64(lines)*1.02) + 1024
	}
	room = min(room, source.MaxSamples/len(wants))
	for i, w := range wants {
		rd.log.Columns = append(rd.log.Columns, Column{Want: w, Values: make([]float64, 0, room)})
		for at, want := range rd.fields {
			if want == i {
				rd.log.Columns[i].At = at
			}
		}
	}
	if err := rd.read(); err != nil {
		return nil, err
	}
	return rd.finish()
}

// find returns, for each column of the file, the index of its want, or -1.
func (l Layout) find(name string, wants []Want) ([]int, error) {
	out := make([]int, len(l.Heads))
	for i := range out {
		out[i] = -1
	}
	for k, w := range wants {
		at, err := l.column(name, w)
		if err != nil {
			return nil, err
		}
		if out[at] >= 0 {
			return nil, &Mistake{name, l.HeadLine, fmt.Sprintf("%s and %s both ask for the column %q", wants[out[at]].Name, w.Name, w.Head), "correct one of the two lines below log"}
		}
		out[at] = k
	}
	return out, nil
}

// column finds the column of w: by its whole head, otherwise by the head
// without its unit.
func (l Layout) column(name string, w Want) (int, error) {
	for _, text := range []func(Head) string{func(h Head) string { return h.Text }, func(h Head) string { return h.Name }} {
		var found []int
		for i, h := range l.Heads {
			if strings.TrimSpace(text(h)) == strings.TrimSpace(w.Head) {
				found = append(found, i)
			}
		}
		switch {
		case len(found) == 1:
			return found[0], nil
		case len(found) > 1:
			return 0, &Mistake{name, l.HeadLine, fmt.Sprintf("columns %d and %d are both headed %q", found[0]+1, found[1]+1, w.Head), "give one of them another name in the file"}
		}
	}
	help := "its headings are " + l.headList()
	if near := l.nearest(w.Head); near != "" {
		help = fmt.Sprintf("did you mean %q?", near)
	}
	return 0, &Mistake{name, l.HeadLine, fmt.Sprintf("no column is headed %q, which the worksheet reads as %s", w.Head, w.Name), help}
}

// headList names the heads, at most a dozen.
func (l Layout) headList() string {
	var names []string
	for i, h := range l.Heads {
		if i == 12 {
			names = append(names, "…")
			break
		}
		names = append(names, h.Text)
	}
	return strings.Join(names, ", ")
}

// nearest returns the head that text may have been meant to be: equal except
// for letters' case, blanks and signs, or one within the other.
func (l Layout) nearest(text string) string {
	plain := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r == ' ' || r == '_' || r == '-' || r == '.' {
				return -1
			}
			return r
		}, strings.ToLower(s))
	}
	want := plain(text)
	for _, h := range l.Heads {
		if plain(h.Text) == want || plain(h.Name) == want {
			return h.Text
		}
	}
	for _, h := range l.Heads {
		if n := plain(h.Name); len(n) > 2 && len(want) > 2 && (strings.Contains(n, want) || strings.Contains(want, n)) {
			return h.Text
		}
	}
	return ""
}

// tally counts one kind of finding and remembers its first place.
type tally struct {
	count, line int
	sample      string
}

func (t *tally) add(line int, sample []byte) {
	if t.count == 0 {
		t.line, t.sample = line, string(sample[:min(len(sample), 40)])
	}
	t.count++
}

// reader is a file being read.
type reader struct {
	log      *Log
	in       *bufio.Reader
	progress Progress
	fields   []int // the want of each column of the file, or -1
	line     int
	bytes    int64
	ragged   tally
	noTime   tally
	text     []tally
	cut      int // the truncated line at the end of the file
	next     int // rows kept so far
}

// every is the number of lines between two reports of progress.
const every = 1 << 14

func (r *reader) read() error {
	for {
		line, err := r.in.ReadSlice('\n')
		if errors.Is(err, bufio.ErrBufferFull) {
			return &Mistake{r.log.Name, r.line + 1, "this line is longer than a megabyte", "the file is not a log"}
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		if len(line) > 0 {
			r.line++
			r.bytes += int64(len(line))
			if r.line >= r.log.Layout.FirstLine {
				if r.full() {
					return &Mistake{r.log.Name, r.line, fmt.Sprintf("there are more than %d values up to here", source.MaxSamples), "cut the log in two, or map fewer of its columns"}
				}
				r.row(line, err != nil)
			}
		}
		if r.line%every == 0 && r.progress != nil {
			if stop := r.progress(r.bytes); stop != nil {
				return stop
			}
		}
		if err != nil {
			return nil
		}
	}
}

// row reads one line of samples; last says that no line end follows it.
func (r *reader) row(line []byte, last bool) {
	line = bytes.TrimRight(line, "\r\n")
	if len(line) == 0 {
		return
	}
	at, columns := 0, r.log.Columns
	point := r.log.Layout.Point
	for more := true; more; at++ {
		var field []byte
		field, line, more = nextField(line, r.log.Layout.Delimiter)
		if at >= len(r.fields) {
			continue
		}
		k := r.fields[at]
		if k < 0 {
			continue
		}
		v, ok := parseNumber(field, point)
		if !ok && k == 0 {
			v, ok = parseClock(field, point)
		}
		if !ok {
			v = math.NaN()
			if !isBlank(field) {
				r.text[k].add(r.line, field)
			}
		}
		columns[k].Values = append(columns[k].Values, v)
	}
	r.settle(at, last)
}

// settle keeps or drops the row just read, of n fields.
func (r *reader) settle(n int, last bool) {
	columns := r.log.Columns
	rows := len(columns[0].Values)
	switch {
	case n == len(r.fields):
		if rows > 0 && columns[0].Values[rows-1] == columns[0].Values[rows-1] {
			r.mark(rows - 1)
			return
		}
		r.noTime.add(r.line, nil)
		rows--
	case last:
		r.cut = r.line
		rows = r.next
	default:
		r.ragged.add(r.line, nil)
		rows = r.next
	}
	for k := range columns {
		columns[k].Values = columns[k].Values[:min(rows, len(columns[k].Values))]
	}
}

// full reports whether another row exceeds the bound of a log.
func (r *reader) full() bool { return r.next >= source.MaxSamples/len(r.log.Columns) }

// mark records the line of a row that does not follow the one before.
func (r *reader) mark(row int) {
	r.next = row + 1
	if n := len(r.log.lines); n > 0 {
		m := r.log.lines[n-1]
		if m.line+row-m.row == r.line {
			return
		}
	}
	r.log.lines = append(r.log.lines, lineMark{row, r.line})
}
