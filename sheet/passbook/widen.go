package passbook

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"

	"gearleaf/sheet/disk"
)

// maxTries bounds how often a book is read again because another writer was
// first.
const maxTries = 100

// widen adds the columns of head to the book at path that it does not have. The
// whole book is rewritten, and replaces the old one atomically: a crash leaves
// one or the other. It returns the line that a crash has truncated and the
// names of the columns added.
func widen(path string, head []string) (cut int, columns []string, err error) {
	for range maxTries {
		old, err := disk.ReadFile(path, maxBytes)
		if errors.Is(err, fs.ErrNotExist) || err == nil && bytes.IndexByte(old, '\n') < 0 {
			return 0, nil, nil // the book only begins
		}
		if err != nil {
			return 0, nil, err
		}
		b, err := parse(path, old)
		if err != nil {
			return 0, nil, err
		}
		if columns = b.lacks(head); len(columns) == 0 {
			return 0, nil, nil
		}
		if n := len(b.Head) + len(columns); n >= maxFields {
			return 0, nil, fmt.Errorf("%s would have %d columns; the bound of a book is %d: nothing was written", path, n, maxFields)
		}
		text, cut := b.widened(old, columns)
		if len(text) > maxBytes {
			return 0, nil, fmt.Errorf("%s would be larger than %d MiB, the bound of a book: nothing was written", path, maxBytes>>20)
		}
		err = disk.Replace(path, string(old), string(text))
		if !errors.Is(err, disk.ErrChanged) {
			return cut, columns, err
		}
	}
	return 0, nil, fmt.Errorf("%s is locked by other programs too long: nothing was written", path)
}

// lacks returns the names of head without a column in the book, each once.
func (b *Book) lacks(head []string) []string {
	var out []string
	for _, name := range head {
		if !slices.Contains(b.Head, name) && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

// widened returns the text of a book with more columns, blank in every line.
// Fields and check sums stay as written; so does a line that does not have the
// fields of the head. cut is the last line, if it has no end and is not whole.
func (b *Book) widened(old []byte, columns []string) (text []byte, cut int) {
	if b.Torn {
		old = append(slices.Clip(old), b.rest(old)...)
		if n := len(b.Lines); n > 0 && b.Lines[n-1].Problem != "" {
			cut = b.Lines[n-1].At
		}
	}
	mark := []byte("\xEF\xBB\xBF")
	if bytes.HasPrefix(old, mark) {
		text, old = append(text, mark...), old[len(mark):]
	}
	_, lines, _ := bytes.Cut(old, []byte{'\n'})
	head := append(append(append([]string{}, b.Head...), columns...), Check)
	text = append(text, encode(each(head, guarded))...)
	blank := bytes.Repeat([]byte{','}, len(columns))
	for line := range bytes.Lines(lines) {
		text = append(text, b.widerLine(line, blank)...)
	}
	return text, cut
}

// widerLine returns line with blank before its check sum.
func (b *Book) widerLine(line, blank []byte) []byte {
	all, err := fields(bytes.TrimSuffix(line, []byte{'\n'}))
	if n := len(b.Head); err != nil || len(all) != n+1 {
		return line
	}
	at := bytes.LastIndexByte(line, ',')
	return slices.Concat(line[:at], blank, line[at:])
}

// Trusted returns the text of a book in which truncated lines have only the
// number of their pass, and the problems of the book. Any other text is
// returned unchanged.
func Trusted(name string, data []byte) (text []byte, doubts []string) {
	head, _, _ := bytes.Cut(bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF")), []byte{'\n'})
	if !isHead(head) {
		return data, nil
	}
	b, err := parse(name, data)
	if err != nil {
		return data, nil
	}
	lines, last, lost := bytes.Split(data, []byte{'\n'}), 0, false
	for _, l := range b.Lines {
		n, err := strconv.Atoi(slices.Concat(l.Fields, []string{""})[0])
		switch {
		case l.Problem == cutOff:
			doubts = append(doubts, fmt.Sprintf("line %d is truncated: only its pass is read", l.At))
			lines[l.At-1], lost = nil, true
			if err == nil && n > last { // a number that has lost digits is smaller
				lines[l.At-1] = append([]byte(l.Fields[0]), bytes.Repeat([]byte{','}, len(b.Head))...)
			}
		case l.Problem != "":
			doubts = append(doubts, fmt.Sprintf("line %d: %s", l.At, l.Problem))
		case l.Missing != "":
			doubts = append(doubts, fmt.Sprintf("line %d: %s", l.At, l.Missing))
		}
		last = max(last, n)
	}
	if lost {
		data = bytes.Join(lines, []byte{'\n'})
	}
	return data, doubts
}
