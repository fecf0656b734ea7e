package passbook

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet/disk"
)

// The columns that every book has: the first counts the passes, the last is
// the check sum of the line.
const (
	Number = "pass"
	Check  = "check"
)

// Line is one line of a book.
type Line struct {
	At     int      // line of the file, from 1
	Fields []string // as in the head, without the check sum
	// Problem describes an error of the line; empty if it is unchanged.
	Problem string
	// Missing names the passes that are missing above the line.
	Missing string
}

// Book is a book as it was read.
type Book struct {
	Path  string
	Head  []string // without the check sum
	Lines []Line
	// Torn says that the last line has no end: a crash truncated it.
	Torn bool
}

// The bounds of a book.
const (
	maxBytes  = 64 << 20
	maxLines  = 200_000
	maxFields = 1000 // of its head, and of one line
)

// Read reads the book at path.
func Read(path string) (*Book, error) {
	data, err := disk.ReadFile(path, maxBytes)
	if err != nil {
		return nil, err
	}
	return parse(path, data)
}

// Is reports whether the file at path begins as a book of passes does.
func Is(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	start := make([]byte, 1<<12)
	n, _ := io.ReadFull(f, start)
	line, _, _ := bytes.Cut(bytes.TrimPrefix(start[:n], []byte("\xEF\xBB\xBF")), []byte{'\n'})
	return isHead(line)
}

// isHead reports whether line is the first one of a book.
func isHead(line []byte) bool {
	head, err := fields(line)
	return err == nil && len(head) > 1 && head[0] == Number && head[len(head)-1] == Check
}

// parse reads the lines of a book, each independently: a broken one does not
// affect the others.
func parse(path string, data []byte) (*Book, error) {
	b := &Book{Path: path, Torn: len(data) > 0 && data[len(data)-1] != '\n'}
	if n := bytes.Count(data, []byte{'\n'}); n > maxLines {
		return nil, fmt.Errorf("%s has %d lines; the bound of a book is %d", path, n, maxLines)
	}
	lines := bytes.Split(bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF")), []byte{'\n'})
	if len(bytes.TrimSpace(lines[0])) == 0 {
		return nil, fmt.Errorf("%s is empty: it is not a book of passes", path)
	}
	head, err := fields(lines[0])
	if err != nil || len(head) < 2 || head[0] != Number || head[len(head)-1] != Check {
		return nil, fmt.Errorf("%s:1: the head of a book of passes begins with %s and ends with %s; start a new book", path, Number, Check)
	}
	b.Head = each(head[:len(head)-1], unguarded)
	for i, text := range lines[1:] {
		if len(bytes.TrimSpace(text)) == 0 {
			continue
		}
		b.Lines = append(b.Lines, b.line(i+2, text, b.Torn && i+2 == len(lines)))
	}
	b.counts()
	return b, nil
}

// fields reads one record.
func fields(text []byte) ([]string, error) {
	if bytes.Count(text, []byte{','}) > maxFields && bytes.Count(text, []byte{'"'}) == 0 || len(text) > 1<<20 {
		return nil, errors.New("the line is longer than any of a book")
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimRight(text, "\r")))
	r.FieldsPerRecord = -1
	return r.Read()
}

func (b *Book) line(at int, text []byte, torn bool) Line {
	l := Line{At: at}
	all, err := fields(text)
	if n := len(b.Head); err == nil && len(all) == n+1 {
		l.Fields = all[:n]
		whole := isSum(l.Fields, all[n])
		if l.Fields = each(l.Fields, unguarded); whole {
			return l // even if its line end was lost
		}
		l.Problem = changed
		torn = torn || len(all[n]) < len(sum(nil))
	} else {
		l.Problem = fmt.Sprintf("the line does not have the %d fields of the head", len(b.Head)+1)
		l.Fields = all
	}
	if torn {
		l.Problem = cutOff
	}
	return l
}

// Problems of lines.
const (
	changed = "the line has been changed since it was written"
	cutOff  = "the write of the line was interrupted"
)

// counts finds passes that are missing or occur twice. A broken line still counts
// as its pass.
func (b *Book) counts() {
	want := 1
	for i := range b.Lines {
		l := &b.Lines[i]
		if len(l.Fields) == 0 {
			continue
		}
		n, err := strconv.Atoi(l.Fields[0])
		switch {
		case l.Problem != "":
			if err == nil && n == want {
				want++
			}
		case err != nil:
			l.Problem = fmt.Sprintf("%q is not a number of a pass", l.Fields[0])
		case n < want:
			l.Problem = fmt.Sprintf("pass %d occurs twice or is out of order", n)
		default:
			if n == want+1 {
				l.Missing = fmt.Sprintf("pass %d is missing above", want)
			} else if n > want {
				l.Missing = fmt.Sprintf("passes %d to %d are missing above", want, n-1)
			}
			want = n + 1
		}
	}
}

// sum is the check sum of a line's fields.
func sum(fields []string) string {
	h := sha256.Sum256([]byte(strings.Join(fields, separator)))
	return hex.EncodeToString(h[:sumBytes])
}

const (
	separator = "\x1f"
	sumBytes  = 6
)

// isSum reports whether check is the sum of fields, or of those that the line
// had before columns were added: the fields of these are blank.
func isSum(fields []string, check string) bool {
	n := len(fields)
	for n > 1 && fields[n-1] == "" {
		n--
	}
	h := sha256.New()
	_, _ = io.WriteString(h, strings.Join(fields[:n], separator))
	for ; ; n++ {
		if hex.EncodeToString(h.Sum(nil)[:sumBytes]) == check {
			return true
		}
		if n >= len(fields) {
			return false
		}
		_, _ = io.WriteString(h, separator)
	}
}

// next returns the number of the next pass. A truncated line has used its
// number, if the number was written.
func (b *Book) next() int {
	last := 0
	for _, l := range b.Lines {
		if len(l.Fields) > 0 {
			if n, err := strconv.Atoi(l.Fields[0]); err == nil && n <= last+1000 {
				last = max(last, n)
			}
		}
	}
	return last + 1
}

// Added is the result of Add.
type Added struct {
	Pass int
	New  bool // the book was created
	// CutOff is the line that an earlier crash has truncated, 0 for none: it
	// was ended, and stays in the book.
	CutOff int
	// Columns are those that were added to the book; passes before this one
	// are blank there.
	Columns []string
}

// Add adds one line to the book at path: values by the names of its columns. A
// new book begins with head, to which the number and the check sum are added;
// an existing one gets the columns that it does not have. The line is on the
// disk when Add returns. Simultaneous writers wait for each other.
func Add(path string, head []string, values map[string]string) (out Added, err error) {
	if err := checkHead(head, values); err != nil {
		return out, err
	}
	end, columns, err := widen(path, head)
	if err != nil {
		return out, err
	}
	err = disk.Within(filepath.Dir(path), func() error {
		return disk.Append(path, maxBytes, func(old []byte) (text []byte, err error) {
			out, text, err = addition(path, old, head, values)
			return text, err
		})
	})
	out.CutOff, out.Columns = max(out.CutOff, end), columns
	return out, err
}

// checkHead refuses values without a column.
func checkHead(head []string, values map[string]string) error {
	var unknown []string
	for name := range values {
		if !slices.Contains(head, name) {
			unknown = append(unknown, name)
		}
	}
	if len(unknown) > 0 {
		slices.Sort(unknown)
		return fmt.Errorf("no column %s is in the head", strings.Join(unknown, ", "))
	}
	return nil
}

// addition returns the text to append to a book with the content data.
func addition(path string, data []byte, head []string, values map[string]string) (out Added, text []byte, err error) {
	whole := append(append([]string{Number}, head...), Check)
	text, b, err := begin(path, data, whole)
	if err != nil {
		return out, nil, err
	}
	if out.New = b == nil; out.New {
		b = &Book{Path: path, Head: whole[:len(whole)-1]}
	}
	if b.Torn {
		text = append(text, b.rest(data)...)
		if n := len(b.Lines); n > 0 && b.Lines[n-1].Problem != "" {
			out.CutOff = b.Lines[n-1].At
		}
	}
	out.Pass = b.next()
	return out, append(text, b.record(out.Pass, values)...), nil
}

// rest returns the end of a truncated line: blank fields up to the number of
// the head, so other programs can still read the book. The missing check sum
// marks the line.
func (b *Book) rest(data []byte) []byte {
	line := data[bytes.LastIndexByte(data, '\n')+1:]
	var out []byte
	if bytes.Count(line, []byte{'"'})%2 == 1 {
		out = append(out, '"')
	}
	have, err := fields(append(append([]byte{}, line...), out...))
	if err == nil {
		for n := len(have); n < len(b.Head)+1; n++ {
			out = append(out, ',')
		}
	}
	return append(out, '\n')
}

// begin returns the text to write before the line, and the existing book; nil
// for a new one. A truncated head is completed.
func begin(path string, data []byte, head []string) (text []byte, b *Book, err error) {
	line := encode(each(head, guarded))
	if bytes.IndexByte(data, '\n') < 0 {
		if !bytes.HasPrefix(line, data) {
			return nil, nil, fmt.Errorf("%s has no line end and does not begin as a book of passes does: nothing was written", path)
		}
		return line[len(data):], nil, nil
	}
	b, err = parse(path, data)
	return nil, b, err
}

// record makes a line of values.
func (b *Book) record(pass int, values map[string]string) []byte {
	line := make([]string, len(b.Head))
	for i, name := range b.Head {
		line[i] = guarded(plain(values[name]))
	}
	line[0] = strconv.Itoa(pass)
	return encode(append(line, sum(line)))
}

// plain keeps a value on one line.
func plain(text string) string {
	return strings.TrimSpace(strings.NewReplacer("\r\n", " ", "\n", " ", "\r", " ", "\x1f", " ").Replace(text))
}

func encode(line []string) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	_ = w.Write(line) // a buffer never fails
	w.Flush()
	return out.Bytes()
}
