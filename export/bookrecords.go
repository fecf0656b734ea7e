package export

import (
	"cmp"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/passbook"
	"gearleaf/sheet/unit"
)

// faultWord replaces a result without a value in a book.
const faultWord = "fault"

// passesRecords has one row per pass. A column with numbers only is numeric;
// the last columns name its faults.
func passesRecords(b *passbook.Book, lines []passbook.Line) Records {
	taken := map[string]bool{}
	for _, name := range b.Head {
		taken[name] = true
	}
	r := Records{Fields: []Field{{Name: single("line", taken)}}}
	for _, l := range lines {
		row := make([]any, len(b.Head)+3)
		row[0] = float64(l.At)
		r.Rows = append(r.Rows, row)
	}
	fields := fieldsOf(b, lines)
	for c, name := range b.Head {
		field, numbers := Field{Name: name}, fields.allNumbers(c)
		if numbers {
			field = fields.field(c)
		}
		r.Fields = append(r.Fields, field)
		for i, l := range lines {
			r.Rows[i][c+1] = fields.value(l, c, numbers)
		}
	}
	r.Fields = append(r.Fields, Field{Name: single(faultWord, taken)}, Field{Name: single("problem", taken)})
	for i, l := range lines {
		if names := fields.faultsOf(l); len(names) > 0 {
			r.Rows[i][len(b.Head)+1] = strings.Join(names, ", ")
		}
		if l.Problem != "" || l.Missing != "" {
			r.Rows[i][len(b.Head)+2] = cmp.Or(l.Problem, l.Missing)
		}
	}
	return r
}

// bookFields finds the units of a book's columns.
type bookFields struct {
	book   *passbook.Book
	lines  []passbook.Line
	sheets map[string]*sheet.Sheet // by hash, those kept beside the book; nil for an unreadable one
}

func fieldsOf(b *passbook.Book, lines []passbook.Line) *bookFields {
	return &bookFields{b, lines, map[string]*sheet.Sheet{}}
}

// field returns the field of column c of numbers: the result of a sheet has the
// sheet's unit, any other column the last word of its name, if that is a unit.
// A capital letter in a name that no sheet has is a label, as in `tank A`.
func (f *bookFields) field(c int) Field {
	head := f.book.Head[c]
	at := strings.LastIndexByte(head, ' ')
	if at < 0 {
		return Field{Name: head}
	}
	if result, ok := f.result(c, head[:at], head[at+1:]); ok {
		return result
	}
	if u, err := unit.NewSystem().Parse(head[at+1:]); err == nil && !aLabel.MatchString(head[at+1:]) {
		return fieldIn(head[:at], u)
	}
	return Field{Name: head}
}

var aLabel = regexp.MustCompile(`^[A-Z]$`)

// result returns the field of column c if the sheet of the last pass with a
// value there has a number of that name and of the unit's measure.
func (f *bookFields) result(c int, name, symbol string) (Field, bool) {
	for _, l := range slices.Backward(f.lines) {
		if fieldAt(l, c) == "" {
			continue
		}
		s := f.kept(l)
		if s == nil {
			continue
		}
		p, d := s.Place(name)
		if d != nil || p.Quantity().Type.Form != check.Number {
			return Field{}, false
		}
		u, err := s.Model.Units.Parse(symbol)
		if err != nil || unit.Meets(u.Measure, p.Quantity().Unit.Measure) != "" {
			return Field{}, false
		}
		return fieldIn(name, u), true
	}
	return Field{}, false
}

// kept returns the sheet of a pass as it was then, nil if it cannot be read.
func (f *bookFields) kept(l passbook.Line) *sheet.Sheet {
	name, hash := f.of(l, "sheet"), f.of(l, "sheet sha256")
	if name == "" || !aHash.MatchString(hash) {
		return nil
	}
	s, known := f.sheets[hash]
	if !known {
		s, _ = sheet.Load(filepath.Join(passbook.Kept(f.book.Path, hash), filepath.Base(name)))
		f.sheets[hash] = s
	}
	return s
}

var aHash = regexp.MustCompile(`^[0-9a-f]{64}$`)

// of returns the field of a pass in the column of that name.
func (f *bookFields) of(l passbook.Line, name string) string {
	return fieldAt(l, slices.Index(f.book.Head, name))
}

// bookNumber matches a number in its usual notation: 007 is a text.
var bookNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?$`)

// isBookNumber reports whether a field is a number within range.
func isBookNumber(text string) bool {
	_, err := strconv.ParseFloat(text, 64)
	return err == nil && bookNumber.MatchString(text)
}

// allNumbers reports whether a column of a book holds only numbers, blanks and
// faults, and at least one number.
func (f *bookFields) allNumbers(c int) bool {
	some := false
	for _, l := range f.lines {
		switch text := fieldAt(l, c); {
		case isBookNumber(text):
			some = true
		case text != "" && !f.isFault(l, c):
			return false
		}
	}
	return some
}

// isFault reports whether a field is a result at fault, and not a remark of that
// word: the sheet of the pass has a value of the column's name. If the sheet
// cannot be read, every column but note counts as one of results.
func (f *bookFields) isFault(l passbook.Line, c int) bool {
	if fieldAt(l, c) != faultWord {
		return false
	}
	head := f.book.Head[c]
	s := f.kept(l)
	if s == nil {
		return head != "note"
	}
	_, d := s.Place(head)
	if at := strings.LastIndexByte(head, ' '); d != nil && at > 0 {
		_, d = s.Place(head[:at])
	}
	return d == nil
}

// fieldAt returns a field of a line; an altered line has none.
func fieldAt(l passbook.Line, c int) string {
	if l.Problem != "" || c < 0 || c >= len(l.Fields) {
		return ""
	}
	return l.Fields[c]
}

// value returns a field for a record; nil for a result at fault.
func (f *bookFields) value(l passbook.Line, c int, numbers bool) any {
	text := fieldAt(l, c)
	switch {
	case text == "" || f.isFault(l, c):
		return nil
	case !numbers:
		return text
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return nil
	}
	return v
}

// faultsOf names the columns of a line that are at fault.
func (f *bookFields) faultsOf(l passbook.Line) []string {
	var names []string
	for c, name := range f.book.Head {
		if f.isFault(l, c) {
			names = append(names, name)
		}
	}
	return names
}
