package export

import (
	"bytes"
	"hash/fnv"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// formulaStamp identifies the formulas of a workbook. It depends neither on the
// order of reading nor on the notation in which a spreadsheet saves them.
type formulaStamp uint64

// add takes the formula of one field; tab is the number of its tab, from 1.
func (s *formulaStamp) add(tab int, ref, formula string) {
	c, ok := parseCell(ref)
	if !ok {
		return
	}
	s.addForm(tab, c.column, c.row, formOf(formula, c.column, c.row))
}

// addForm takes a field whose formula has this form.
func (s *formulaStamp) addForm(tab, column, row int, form uint64) {
	if form == 0 {
		return
	}
	// The constants are odd and far apart; the mixing is that of SplitMix64
	// (Steele, Lea and Flood, OOPSLA 2014).
	h := form + uint64(tab)*0x9e3779b97f4a7c15 + uint64(column)*0xc2b2ae3d27d4eb4f + uint64(row)*0x165667b19e3779f9
	h = (h ^ h>>30) * 0xbf58476d1ce4e5b9
	h = (h ^ h>>27) * 0x94d049bb133111eb
	*s += formulaStamp(h ^ h>>31)
}

// formOf identifies a formula by its form, which is equal in all rows of a
// repeated formula. It is 0 for an entered logical value, which LibreOffice
// saves as a formula.
func formOf(formula string, column, row int) uint64 {
	form := spelling{columns: -column, rows: -row, relative: true}.spell(nil, formula)
	switch string(form) {
	case "TRUE", "FALSE":
		return 0
	}
	h := fnv.New64a()
	_, _ = h.Write(form)
	return h.Sum64() | 1
}

// String writes the stamp for the workbook's property.
func (s formulaStamp) String() string { return strconv.FormatUint(uint64(s), 16) }

// stampProperty holds the stamp; stampMark is there until all formulas
// are written.
const (
	stampProperty = "Stamp of the formulas"
	stampMark     = "the stamp of the formulas"
	customPart    = "docProps/custom.xml"
)

// stamp returns the stamp of the formulas that a workbook holds now.
func (o *opened) stamp() formulaStamp {
	var s formulaStamp
	for i, t := range o.tabs {
		for ref, c := range t.fields {
			if c.formula != "" {
				s.add(i+1, ref, c.formula)
			}
		}
	}
	return s
}

// stamp returns the stamp of all rows.
func (r *tabRows) stamp() formulaStamp {
	var s formulaStamp
	for _, w := range r.tabs {
		s += w.stamp
	}
	return s
}

// plainFormula returns a formula in a normal form: without spaces,
// numbers to nine digits, names of tabs in quotes, references moved by so many
// columns and rows.
func plainFormula(formula string, columns, rows int) string {
	return string(spelling{columns: columns, rows: rows}.spell(nil, formula))
}

// movedFormula returns a formula with its references moved by so many columns
// and rows, and nothing else changed.
func movedFormula(formula string, columns, rows int) string {
	return string(spelling{columns: columns, rows: rows, verbatim: true}.spell(nil, formula))
}

// spelling is the notation of references: moved by so many columns and rows, or
// relative to a place.
type spelling struct {
	columns, rows int
	relative      bool
	verbatim      bool // the rest as it is
}

// spell appends a formula in the notation.
func (sp spelling) spell(b []byte, formula string) []byte {
	for s := formula; s != ""; {
		var n int
		switch r, size := utf8.DecodeRuneInString(s); {
		case r == '"' || r == '\'':
			n = quotedLength(s, byte(r))
			b = append(b, s[:n]...)
		case r >= '0' && r <= '9' || r == '.':
			n = numberLength(s)
			if v, err := strconv.ParseFloat(s[:n], 64); err == nil && !sp.verbatim {
				b = strconv.AppendFloat(b, v, 'g', keptDigits(v), 64)
			} else {
				b = append(b, s[:n]...)
			}
		case isWord(r):
			n = wordLength(s)
			word := s[:n]
			b = sp.word(b, word, s[n:])
			if rest, one := strings.CutPrefix(s[n:], ":"); one && !sp.verbatim && strings.HasPrefix(rest, word) && wordLength(rest) == n {
				n += 1 + n // gnumeric writes a range of one cell as the cell
			}
			if call := s[n:]; !sp.verbatim && strings.HasPrefix(call, "()") && (bytes.HasSuffix(b, []byte("TRUE")) || bytes.HasSuffix(b, []byte("FALSE"))) {
				n += len("()")
			}
		case unicode.IsSpace(r) && !sp.verbatim:
			n = size
		default:
			n = size
			b = append(b, s[:n]...)
		}
		s = s[n:]
	}
	return b
}

func isWord(r rune) bool {
	return r == '_' || r == '$' || r == '\\' || r == '#' || unicode.IsLetter(r)
}

func wordLength(s string) int {
	for i, r := range s {
		if !isWord(r) && r != '.' && !unicode.IsDigit(r) {
			return i
		}
	}
	return len(s)
}

// quotedLength returns the length of a quoted text, doubled quotes in it
// included.
func quotedLength(s string, quote byte) int {
	for i := 1; i < len(s); i++ {
		if s[i] != quote {
			continue
		}
		if i+1 >= len(s) || s[i+1] != quote {
			return i + 1
		}
		i++
	}
	return len(s)
}

func numberLength(s string) int {
	n := 0
	digits := func() {
		for n < len(s) && (s[n] >= '0' && s[n] <= '9' || s[n] == '.') {
			n++
		}
	}
	digits()
	if n < len(s) && (s[n] == 'E' || s[n] == 'e') {
		mantissa := n
		n++
		if n < len(s) && (s[n] == '+' || s[n] == '-') {
			n++
		}
		exponent := n
		if digits(); n == exponent {
			n = mantissa
		}
	}
	return n
}

// word writes a word in the notation; rest is the text after it.
func (sp spelling) word(b []byte, word, rest string) []byte {
	c, ok := parseCell(word)
	switch {
	case ok && !strings.HasPrefix(rest, "!") && !strings.HasPrefix(rest, "("):
		return sp.reference(b, c)
	case sp.verbatim:
		return append(b, word...)
	case strings.HasPrefix(rest, "!"):
		return append(append(append(b, '\''), word...), '\'')
	case strings.HasPrefix(rest, "("):
		return append(b, strings.TrimPrefix(strings.ToUpper(word), "_XLFN.")...)
	}
	return append(b, strings.ToUpper(word)...) // names differ in more than their case
}

// reference writes a reference.
func (sp spelling) reference(b []byte, c cellRef) []byte {
	if !c.fixedColumn {
		c.column += sp.columns
	}
	if !c.fixedRow {
		c.row += sp.rows
	}
	if !sp.relative {
		if c.column < 1 || c.row < 1 {
			return append(b, "#REF!"...)
		}
		return c.append(b)
	}
	b = append(strconv.AppendInt(append(b, 'R'), int64(c.row), 10), fixedMark(c.fixedRow))
	return append(strconv.AppendInt(append(b, 'C'), int64(c.column), 10), fixedMark(c.fixedColumn))
}

func fixedMark(fixed bool) byte {
	if fixed {
		return '$'
	}
	return ' '
}

// cellRef is a reference to a cell.
type cellRef struct {
	column, row           int
	fixedColumn, fixedRow bool
}

// append writes c as in $B7.
func (c cellRef) append(b []byte) []byte {
	if c.fixedColumn {
		b = append(b, '$')
	}
	b = appendLetters(b, c.column)
	if c.fixedRow {
		b = append(b, '$')
	}
	return strconv.AppendInt(b, int64(c.row), 10)
}

// parseCell reads a reference such as $B7: up to three letters and seven digits.
func parseCell(s string) (c cellRef, ok bool) {
	s, c.fixedColumn = strings.CutPrefix(s, "$")
	n := 0
	for ; n < len(s) && (s[n]|0x20 >= 'a' && s[n]|0x20 <= 'z'); n++ {
		if n == 3 {
			return c, false
		}
		c.column = c.column*26 + int(s[n]|0x20-'a') + 1
	}
	if n == 0 || c.column > lastColumn {
		return c, false
	}
	s, c.fixedRow = strings.CutPrefix(s[n:], "$")
	if s == "" || len(s) > 7 {
		return c, false
	}
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return c, false
		}
		c.row = c.row*10 + int(s[i]-'0')
	}
	return c, true
}

// keptDigits returns the number of significant digits of a number in a formula
// that are compared: nine, or fewer for a small one, which LibreOffice saves
// with twenty decimals.
func keptDigits(v float64) int {
	if v == 0 {
		return 9
	}
	return min(9, max(1, 21+int(math.Floor(math.Log10(math.Abs(v))))))
}
